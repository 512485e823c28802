//! A plot of y over x: points, fitted curves, the bands around them, and the limits they meet.

mod frame;

use crate::Colour;
use crate::draw::{self, canvas, disc, line, path, px, rect, shape, text, width_of};
use frame::{BOTTOM, Frame, RIGHT, TOP, WIDTH};
use maud::{Markup, html};

/// A plot of y over x. What is not finite is left out of the drawing.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Plot {
    /// What is drawn, such as `Mass of charge C-1`.
    pub title: String,
    /// The plot in words, for those who do not see it.
    pub description: String,
    /// What x is, with its unit; may be empty.
    pub x_label: String,
    /// What y is, with its unit; may be empty.
    pub y_label: String,
    /// Single observations.
    pub points: Vec<(f64, f64)>,
    /// Lines through the plot, drawn whole.
    pub curves: Vec<Curve>,
    /// Bands, the widest first.
    pub bands: Vec<Band>,
    /// Values of y that matter, such as a limit.
    pub levels: Vec<Level>,
    /// Places that matter, such as where a line meets its limit.
    pub marks: Vec<Mark>,
    /// Values of x at which something was changed.
    pub cuts: Vec<Cut>,
}

/// A line with its name.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Curve {
    /// What it is, such as `fitted line`.
    pub name: String,
    /// Its points in order of x.
    pub points: Vec<(f64, f64)>,
}

/// A band between two lines.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Band {
    /// What lies inside, such as `one result (95 %)`.
    pub name: String,
    /// x, lower and upper edge, in order of x.
    pub edges: Vec<(f64, f64, f64)>,
}

/// A value of y that matters.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Level {
    /// What it is, such as `limit`.
    pub name: String,
    /// The value.
    pub y: f64,
}

/// A place that matters, with the interval of x in which it may lie.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Mark {
    /// What it is, such as `meets the limit at 726`.
    pub name: String,
    /// Its x.
    pub x: f64,
    /// Its y.
    pub y: f64,
    /// Where its x may lie.
    pub within: Option<(f64, f64)>,
}

/// A value of x at which something was changed, such as balls that were added.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Cut {
    /// What was changed, in a word or two.
    pub name: String,
    /// Its x.
    pub x: f64,
}

impl Plot {
    /// The drawing, to stand on a page.
    pub fn markup(&self) -> Markup {
        let frame = Frame::of(self);
        let keys = self.keys();
        let shapes = html! {
            @for (n, band) in self.bands.iter().enumerate() { (draw_band(&frame, n, band)) }
            (draw_axes(&frame, self))
            @for level in &self.levels { (draw_level(&frame, level)) }
            @for (n, cut) in self.cuts.iter().enumerate() { (draw_cut(&frame, n, cut)) }
            @for (n, curve) in self.curves.iter().enumerate() { (draw_curve(&frame, n, curve)) }
            @for (x, y) in &self.points {
                @if let Some(spot) = frame.spot(*x, *y) {
                    @let says = format!("{}: {}; {}: {}", self.x_label, draw::short(*x), self.y_label, draw::short(*y));
                    (draw::readable(spot, &says, "", html! {
                        (disc(spot, 5.0, Colour::Surface))
                        (disc(spot, 3.5, Colour::Ink))
                    }))
                }
            }
            @for (n, mark) in self.marks.iter().enumerate() { (draw_mark(&frame, n, mark)) }
            (keys)
        };
        let below = if self.bands.is_empty() && self.curves.is_empty() { 44.0 } else { 70.0 };
        let size = (WIDTH, BOTTOM + below);
        canvas("picture plot", size, &self.title, &self.description, &shapes)
    }

    /// The drawing as a file.
    pub fn svg(&self) -> String {
        self.markup().into_string()
    }

    /// What the lines and bands are, below the plot.
    fn keys(&self) -> Markup {
        let y = BOTTOM + 58.0;
        let mut x = 8.0;
        let mut place = |name: &str| {
            let here = x;
            x += 30.0 + width_of(name, 13.0) + 12.0;
            here
        };
        html! {
            @for (n, curve) in self.curves.iter().enumerate() {
                @let x = place(&curve.name);
                g stroke-dasharray=[dash(n)] {
                    (line((x, y - 4.5), (x + 22.0, y - 4.5), 2.0, Colour::Accent))
                }
                (text((x + 28.0, y), 13.0, "start", 400, Colour::Quiet, &curve.name))
            }
            @for (n, band) in self.bands.iter().enumerate() {
                @let x = place(&band.name);
                (rect((x, y - 10.0), (x + 22.0, y + 1.0), band_colour(n)))
                (text((x + 28.0, y), 13.0, "start", 400, Colour::Quiet, &band.name))
            }
        }
    }
}

/// Lines after the first are told apart by their dashes, not by a colour.
fn dash(n: usize) -> Option<&'static str> {
    [None, Some("7 4"), Some("2 4")][n.min(2)]
}

/// The widest band is the palest.
fn band_colour(n: usize) -> Colour {
    if n == 0 { Colour::Sunken } else { Colour::GoodPale }
}

fn way(frame: &Frame, points: impl Iterator<Item = (f64, f64)>) -> String {
    let mut d = String::new();
    for spot in points.filter_map(|(x, y)| frame.spot(x, y)) {
        d += &format!("{}{} {}", if d.is_empty() { "M" } else { "L" }, px(spot.0), px(spot.1));
    }
    d
}

/// A pale shape with a thin edge, because two pale shapes on each other are hard to tell apart.
fn draw_band(frame: &Frame, n: usize, band: &Band) -> Markup {
    let lower = || band.edges.iter().map(|(x, lower, _)| (*x, *lower));
    let upper = || band.edges.iter().map(|(x, _, upper)| (*x, *upper));
    let d = way(frame, lower().chain(upper().rev()));
    html! {
        @if band.edges.len() > 1 && !d.is_empty() {
            (shape(&format!("{d}Z"), band_colour(n)))
            @let edge = if n == 0 { Colour::Line } else { Colour::Good };
            (path(&way(frame, lower()), 1.0, edge))
            (path(&way(frame, upper()), 1.0, edge))
        }
    }
}

fn draw_curve(frame: &Frame, n: usize, curve: &Curve) -> Markup {
    let d = way(frame, curve.points.iter().copied());
    html! { @if !d.is_empty() { g stroke-dasharray=[dash(n)] { (path(&d, 2.0, Colour::Accent)) } } }
}

fn draw_level(frame: &Frame, level: &Level) -> Markup {
    html! {
        @if let Some(y) = frame.y(level.y) {
            g stroke-dasharray="9 4" { (line((frame.left, y), (RIGHT, y), 1.8, Colour::Bad)) }
            (text((RIGHT + 6.0, y + 4.5), 13.0, "start", 400, Colour::Bad, &level.name))
        }
    }
}

/// A diamond at the place, a bar over the interval, the words above the plot.
fn draw_mark(frame: &Frame, n: usize, mark: &Mark) -> Markup {
    let Some((x, y)) = frame.spot(mark.x, mark.y) else { return html! {} };
    let d = format!("M{x} {t}l7 7l-7 7l-7 -7Z", x = px(x), t = px(y - 7.0));
    let words = (TOP - 12.0 - 18.0 * n as f64).max(14.0);
    let wide = width_of(&mark.name, 13.0);
    let from = (x - wide / 2.0).clamp(4.0, (WIDTH - 4.0 - wide).max(4.0));
    html! {
        (line((x, words + 5.0), (x, y - 8.0), 1.0, Colour::Bad))
        @if let Some((lower, upper)) = mark.within {
            @if let (Some(l), Some(u)) = (frame.x(lower), frame.x(upper)) {
                (line((l, y), (u, y), 3.0, Colour::Bad))
                (line((l, y - 7.0), (l, y + 7.0), 2.0, Colour::Bad))
                (line((u, y - 7.0), (u, y + 7.0), 2.0, Colour::Bad))
            }
        }
        (shape(&d, Colour::Surface))
        (path(&d, 2.5, Colour::Bad))
        (text((from, words), 13.0, "start", 600, Colour::Bad, &mark.name))
    }
}

/// A dotted upright with its words at the foot, in three rows so that neighbours can be read.
fn draw_cut(frame: &Frame, n: usize, cut: &Cut) -> Markup {
    let Some(x) = frame.x(cut.x) else { return html! {} };
    let words = BOTTOM - 8.0 - 16.0 * (n % 3) as f64;
    let wide = width_of(&cut.name, 13.0);
    let is_near_the_end = x + 6.0 + wide > WIDTH;
    let (from, anchor) = if is_near_the_end { (x - 6.0, "end") } else { (x + 6.0, "start") };
    html! {
        g stroke-dasharray="2 4" { (line((x, TOP), (x, BOTTOM), 1.5, Colour::Ink)) }
        (text((from, words), 13.0, anchor, 400, Colour::Ink, &cut.name))
    }
}

fn draw_axes(frame: &Frame, plot: &Plot) -> Markup {
    html! {
        @for value in &frame.down.values {
            @if let Some(y) = frame.y(*value) {
                (line((frame.left - 5.0, y), (frame.left, y), 1.5, Colour::Quiet))
                (text((frame.left - 9.0, y + 4.5), 13.0, "end", 400, Colour::Quiet,
                    &frame.down.label(*value)))
            }
        }
        @for value in &frame.across.values {
            @if let Some(x) = frame.x(*value) {
                (line((x, BOTTOM), (x, BOTTOM + 5.0), 1.5, Colour::Quiet))
                (text((x, BOTTOM + 20.0), 13.0, "middle", 400, Colour::Quiet,
                    &frame.across.label(*value)))
            }
        }
        (line((frame.left, TOP), (frame.left, BOTTOM), 1.5, Colour::Quiet))
        (line((frame.left, BOTTOM), (RIGHT, BOTTOM), 1.5, Colour::Quiet))
        @if plot.marks.is_empty() || frame.left > width_of(&plot.y_label, 13.0) {
            (text((4.0, TOP - 12.0), 13.0, "start", 400, Colour::Quiet, &plot.y_label))
        } @else {
            (text((frame.left + 8.0, TOP + 12.0), 13.0, "start", 400, Colour::Quiet, &plot.y_label))
        }
        (text((RIGHT, BOTTOM + 38.0), 13.0, "end", 400, Colour::Quiet, &plot.x_label))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn plot() -> Plot {
        Plot {
            points: vec![(0.0, 5006.0), (300.0, 4994.0)],
            levels: vec![Level { name: "limit".into(), y: 4975.0 }],
            marks: vec![Mark {
                name: "meets the limit at 726".into(),
                x: 726.0,
                y: 4975.0,
                within: Some((691.0, 766.0)),
            }],
            ..Plot::default()
        }
    }

    #[test]
    fn larger_x_stands_further_right_and_larger_y_higher() {
        let frame = Frame::of(&plot());
        let (one, other) = (frame.spot(0.0, 5006.0).unwrap(), frame.spot(300.0, 4994.0).unwrap());
        assert!(one.0 < other.0 && one.1 < other.1, "{one:?} {other:?}");
        // The limit and the interval of the crossing have room in the frame.
        assert!(frame.x(766.0).is_some_and(|x| x <= RIGHT));
        assert!(frame.y(4975.0).is_some_and(|y| y <= BOTTOM));
    }

    #[test]
    fn a_change_is_an_upright_with_its_words_inside_the_drawing() {
        let cut = |x, name: &str| Cut { x, name: name.into() };
        let cuts = vec![cut(150.0, "balls added"), cut(760.0, "charge renewed")];
        let svg = Plot { cuts, ..plot() }.svg();
        let uprights = svg.matches("stroke-dasharray=\"2 4\"").count();
        assert_eq!(uprights, 2, "{svg}");
        let anchor = |words: &str| {
            let before = svg.split(&format!(">{words}<")).next().unwrap();
            before.rsplit("text-anchor=\"").next().unwrap().split('"').next().unwrap().to_owned()
        };
        assert_eq!(anchor("balls added"), "start");
        assert_eq!(anchor("charge renewed"), "end");
    }

    #[test]
    fn what_matters_is_written() {
        let svg = plot().svg();
        assert!(svg.contains(">limit<") && svg.contains(">meets the limit at 726<"), "{svg}");
    }

    proptest! {
        #[test]
        fn every_plot_is_a_drawing_of_numbers(
            points in proptest::collection::vec(any::<(f64, f64)>(), 0..9),
            edges in proptest::collection::vec(any::<(f64, f64, f64)>(), 0..4),
            y in any::<f64>(),
        ) {
            let svg = Plot {
                points: points.clone(),
                curves: vec![Curve { name: "line".into(), points }],
                bands: vec![Band { name: "band".into(), edges }],
                levels: vec![Level { name: "limit".into(), y }],
                cuts: vec![Cut { name: "change".into(), x: y }],
                ..Plot::default()
            }
            .svg();
            prop_assert!(!svg.contains("NaN") && !svg.contains("inf"), "{}", svg);
        }
    }
}
