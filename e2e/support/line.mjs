// The line between a tablet and the laboratory, which can be cut and mended, and can lose an answer
// after the question has arrived.
import { createServer, connect } from "node:net";
import { once } from "node:events";

/** A line to the server at `url`; gives the address that a tablet opens. */
export async function line(url) {
  let { hostname, port } = new URL(url);
  const open = new Set();
  let isCut = false;
  let losesAnswers = false;
  const listener = createServer((tablet) => {
    if (isCut) {
      tablet.destroy();
      return;
    }
    const laboratory = connect(Number(port), hostname);
    const both = [tablet, laboratory];
    for (const end of both) {
      open.add(end);
      end.on("error", () => {});
      end.on("close", () => {
        open.delete(end);
        both.forEach((other) => other.destroy());
      });
    }
    tablet.pipe(laboratory);
    laboratory.on("data", (answer) => {
      // The laboratory has answered, so it has done what was asked.
      if (losesAnswers) tablet.destroy();
      else tablet.write(answer);
    });
  });
  listener.listen(0, "127.0.0.1");
  await once(listener, "listening");
  return {
    url: `http://127.0.0.1:${listener.address().port}`,
    cut: () => {
      isCut = true;
      open.forEach((end) => end.destroy());
    },
    mend: () => {
      isCut = false;
      losesAnswers = false;
    },
    loseAnswers: () => {
      losesAnswers = true;
    },
    leadTo: (other) => {
      ({ hostname, port } = new URL(other));
      open.forEach((end) => end.destroy());
    },
    close: () => {
      open.forEach((end) => end.destroy());
      listener.close();
    },
  };
}
