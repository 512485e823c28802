// Values are read off a chart: by the pointer, or with Tab into the chart and the arrow keys along
// it; Enter opens the page of the value. The server has drawn the chart and written the words of
// each value beside it; without this file the chart and its table say the same.
"use strict";

(() => {
  const SVG = "http://www.w3.org/2000/svg";
  const say = (key, otherwise) => document.body.dataset[key] || otherwise;

  const read = (svg) => {
    const points = [...svg.querySelectorAll("[data-says]")].sort((a, b) => a.dataset.x - b.dataset.x);
    if (!points.length) return;
    const place = (point) => ({ x: Number(point.dataset.x), y: Number(point.dataset.y) });

    // A picture has no parts for a listener; a group has.
    svg.setAttribute("role", "group");
    const frame = svg.closest(".scroll") ?? svg;
    const words = document.createElement("p");
    words.className = "reading-off";
    words.append(Object.assign(document.createElement("span"), { textContent: say("sayRead", "Arrow keys move from value to value.") }));
    frame.after(words);
    const ring = document.createElementNS(SVG, "circle");
    ring.setAttribute("class", "cursor-ring");
    ring.setAttribute("r", "9");
    ring.setAttribute("visibility", "hidden");
    svg.append(ring);

    points.forEach((point, n) => {
      point.setAttribute("role", point.dataset.href ? "link" : "img");
      point.setAttribute("aria-label", point.dataset.says);
      // One stop for Tab: the newest value; the arrow keys lead to the rest.
      point.setAttribute("tabindex", n === points.length - 1 ? "0" : "-1");
    });

    let shown;
    const show = (point) => {
      if (point === shown) return;
      shown = point;
      const { x, y } = place(point);
      ring.setAttribute("cx", x);
      ring.setAttribute("cy", y);
      ring.setAttribute("visibility", "visible");
      const said = Object.assign(document.createElement("span"), { textContent: point.dataset.says });
      words.replaceChildren(said);
      if (point.dataset.href) {
        const link = document.createElement("a");
        link.href = point.dataset.href;
        link.textContent = `${say("sayOpenPoint", "Open")} ${point.dataset.href.split("/").pop()}`;
        // The keyboard opens it from the value itself.
        link.tabIndex = -1;
        words.append(link);
      }
    };
    const goTo = (n) => {
      const point = points[Math.max(0, Math.min(points.length - 1, n))];
      for (const other of points) other.setAttribute("tabindex", other === point ? "0" : "-1");
      point.focus();
    };

    for (const point of points) {
      point.addEventListener("focus", () => show(point));
      point.addEventListener("keydown", (event) => {
        const at = points.indexOf(point);
        const to = { ArrowRight: at + 1, ArrowUp: at + 1, ArrowLeft: at - 1, ArrowDown: at - 1, Home: 0, End: points.length - 1 }[event.key];
        if (to !== undefined) goTo(to);
        else if (event.key === "Enter" && point.dataset.href) location.assign(point.dataset.href);
        else return;
        event.preventDefault();
      });
    }

    // The nearest value within reach of the pointer; a finger is not as sharp as a mark.
    const REACH = 24;
    const nearest = (event) => {
      const matrix = svg.getScreenCTM();
      if (!matrix) return undefined;
      const at = new DOMPoint(event.clientX, event.clientY).matrixTransform(matrix.inverse());
      const far = (point) => Math.hypot(place(point).x - at.x, place(point).y - at.y);
      const best = points.reduce((best, point) => (far(point) < far(best) ? point : best));
      return far(best) <= REACH ? best : undefined;
    };
    svg.addEventListener("pointermove", (event) => {
      const point = nearest(event);
      if (point) show(point);
    });
    svg.addEventListener("click", (event) => {
      const point = nearest(event);
      if (!point) return;
      // The first touch reads it, the second opens it; a pointer has read it on its way.
      if (point === shown && event.pointerType !== "touch" && point.dataset.href) {
        location.assign(point.dataset.href);
      } else goTo(points.indexOf(point));
    });
  };

  for (const svg of document.querySelectorAll("svg")) read(svg);
})();
