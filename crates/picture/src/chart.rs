//! The series chart: values one after the other, with the limits that watch them.

mod layout;

use crate::Colour;
use crate::draw::{self, canvas, disc, line, path, px, shape, text};
use layout::{Layout, RIGHT, Spot, TOP};
use maud::{Markup, html};

/// Values in the order in which they were found, with a centre line and limits.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct SeriesChart {
    /// What is drawn, such as `Loss of reference aggregate RA-1`.
    pub title: String,
    /// The unit of the values; may be empty.
    pub unit: String,
    /// The values in order. One that is not finite is left out.
    pub points: Vec<Point>,
    /// The centre line.
    pub centre: Option<f64>,
    /// The limits that call for attention.
    pub warning: Option<Limits>,
    /// The limits that call for action.
    pub action: Option<Limits>,
    /// What happened between the values.
    pub events: Vec<Event>,
}

/// One value.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Point {
    /// When, on any scale that grows with time, the same as that of the events.
    pub at: i64,
    /// When, in words short enough for an axis.
    pub when: String,
    /// The value, in the chart's unit.
    pub value: f64,
    /// The rule that this value breaks, in a few words.
    pub signal: Option<String>,
    /// How it is drawn.
    pub mark: PointMark,
    /// The value in words, to be read off on a page; may be empty.
    pub says: String,
    /// The page of what the value is of; may be empty.
    pub href: String,
}

/// How a value without a signal is drawn: what it is for.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub enum PointMark {
    /// A whole disc: a value that is judged.
    #[default]
    Whole,
    /// A ring: a value that the limits stand on, or that is not judged.
    Ring,
    /// A cross: a value that was left out.
    Cross,
}

/// A pair of limits around the centre, in the chart's unit.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Limits {
    /// The lower one.
    pub lower: f64,
    /// The upper one.
    pub upper: f64,
}

/// Something that happened, marked on the time axis.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Event {
    /// When, on the scale of the points.
    pub at: i64,
    /// What, in a word or two, such as `new charge`.
    pub name: String,
}

impl SeriesChart {
    /// The drawing, to stand on a page.
    pub fn markup(&self) -> Markup {
        let layout = Layout::of(self);
        let shapes = html! {
            (draw_axis(&layout, &self.unit))
            (self.draw_limits(&layout))
            (self.draw_events(&layout))
            (draw_values(&layout))
            (draw_signals(&layout))
        };
        let size = (layout::WIDTH, layout.height);
        canvas("picture series-chart", size, &self.title, &self.sentence(), &shapes)
    }

    /// The drawing as a file.
    pub fn svg(&self) -> String {
        self.markup().into_string()
    }

    /// The chart in words: how many values, the limits, every signal.
    pub fn sentence(&self) -> String {
        let unit = if self.unit.is_empty() { String::new() } else { format!(" {}", self.unit) };
        let mut words = match self.points.iter().filter(|point| point.value.is_finite()).count() {
            0 => "no values yet".to_owned(),
            1 => "1 value".to_owned(),
            many => format!("{many} values"),
        };
        let say = |value: f64| format!("{}{unit}", draw::short(value));
        for (mark, name) in [(PointMark::Ring, "not judged"), (PointMark::Cross, "left out")] {
            let count = self.points.iter().filter(|point| point.mark == mark).count();
            if count > 0 {
                words += &format!("; {count} of them {name}");
            }
        }
        if let Some(centre) = self.centre {
            words += &format!("; centre {}", say(centre));
        }
        for (name, limits) in [("warning", self.warning), ("action", self.action)] {
            if let Some(Limits { lower, upper }) = limits {
                words += &format!("; {name} limits {} and {}", say(lower), say(upper));
            }
        }
        for point in &self.points {
            if let Some(signal) = &point.signal {
                words += &format!("; {} on {}: {signal}", say(point.value), point.when);
            }
        }
        for event in &self.events {
            words += &format!("; event: {}", event.name);
        }
        words
    }

    /// Centre whole, warning dashed, action heavier and dashed longer, each with its name.
    fn draw_limits(&self, layout: &Layout<'_>) -> Markup {
        let both = |limits: Option<Limits>| {
            limits.into_iter().flat_map(|limits| [limits.lower, limits.upper])
        };
        html! {
            @for value in both(self.action) {
                (limit(layout, value, "action", Some("9 4"), 1.8, Colour::Bad))
            }
            @for value in both(self.warning) {
                (limit(layout, value, "warning", Some("3 4"), 1.5, Colour::Edge))
            }
            @if let Some(value) = self.centre { (limit(layout, value, "centre", None, 1.5, Colour::Good)) }
        }
    }

    fn draw_events(&self, layout: &Layout<'_>) -> Markup {
        html! {
            @for label in layout.events(&self.events) {
                (line((label.at, TOP), (label.at, label.y - 11.0), 1.0, Colour::Line))
                (shape(&format!("M{x} {t}l5 8h-10Z", x = px(label.at), t = px(layout.bottom)),
                    Colour::Ink))
                (text(label.anchor().0, 13.0, label.anchor().1, 500, Colour::Ink, label.words))
            }
        }
    }
}

fn limit(
    layout: &Layout<'_>,
    value: f64,
    name: &str,
    dash: Option<&str>,
    width: f64,
    colour: Colour,
) -> Markup {
    let Some(y) = layout.y(value) else { return html! {} };
    html! {
        g stroke-dasharray=[dash] {
            (line((layout.left, y), (RIGHT, y), width, colour))
        }
        (text((RIGHT + 6.0, y + 4.5), 13.0, "start", 400, colour, name))
    }
}

fn draw_axis(layout: &Layout<'_>, unit: &str) -> Markup {
    html! {
        @for value in &layout.ticks.values {
            @if let Some(y) = layout.y(*value) {
                (line((layout.left - 5.0, y), (layout.left, y), 1.5, Colour::Quiet))
                (text((layout.left - 9.0, y + 4.5), 13.0, "end", 400, Colour::Quiet,
                    &layout.ticks.label(*value)))
            }
        }
        (line((layout.left, TOP), (layout.left, layout.bottom), 1.5, Colour::Quiet))
        (line((layout.left, layout.bottom), (RIGHT, layout.bottom), 1.5, Colour::Quiet))
        (text((4.0, TOP - 12.0), 13.0, "start", 400, Colour::Quiet, unit))
        @for label in layout.dates() {
            (line((label.at, layout.bottom), (label.at, layout.bottom + 5.0), 1.5, Colour::Quiet))
            (text((label.x, layout.bottom + 20.0), 13.0, "start", 400, Colour::Quiet, label.words))
        }
    }
}

fn draw_values(layout: &Layout<'_>) -> Markup {
    let mut way = String::new();
    for (n, spot) in layout.spots.iter().enumerate() {
        way += &format!("{}{} {}", if n == 0 { "M" } else { "L" }, px(spot.x), px(spot.y));
    }
    html! {
        @if layout.spots.len() > 1 { (path(&way, 1.5, Colour::Quiet)) }
        @for spot in &layout.spots {
            @if spot.point.signal.is_none() {
                (readable(spot, draw_mark(spot.x, spot.y, spot.point.mark)))
            }
        }
    }
}

fn readable(spot: &Spot<'_>, mark: Markup) -> Markup {
    draw::readable((spot.x, spot.y), &spot.point.says, &spot.point.href, mark)
}

fn draw_mark(x: f64, y: f64, mark: PointMark) -> Markup {
    html! {
        (disc((x, y), 5.5, Colour::Surface))
        @match mark {
            PointMark::Whole => (disc((x, y), 4.0, Colour::Ink)),
            PointMark::Ring => {
                (disc((x, y), 4.0, Colour::Ink))
                (disc((x, y), 2.2, Colour::Surface))
            }
            PointMark::Cross => {
                @let (l, r, t, b) = (px(x - 4.0), px(x + 4.0), px(y - 4.0), px(y + 4.0));
                (path(&format!("M{l} {t}L{r} {b}M{l} {b}L{r} {t}"), 2.0, Colour::Ink))
            }
        }
    }
}

/// A diamond at the value and the broken rule's words above the chart, joined by a thin line.
fn draw_signals(layout: &Layout<'_>) -> Markup {
    html! {
        @for (spot, label) in layout.signals() {
            (line((spot.x, label.y + 4.0), (spot.x, spot.y - 9.0), 1.0, Colour::Bad))
            @let d = format!("M{x} {t}l8 8l-8 8l-8 -8Z", x = px(spot.x), t = px(spot.y - 8.0));
            (readable(spot, html! { (shape(&d, Colour::Surface)) (path(&d, 2.5, Colour::Bad)) }))
            (text(label.anchor().0, 13.0, label.anchor().1, 600, Colour::Bad, label.words))
        }
    }
}

#[cfg(test)]
mod tests;
