//! The grading curve: percent passing over the opening of the sieve, on a logarithmic axis.

use crate::Colour;
use crate::draw::{canvas, disc, figure, float, line, path, px, quantity, shape, text, width_of};
use maud::{Markup, html};
use rust_decimal::Decimal;

const WIDTH: f64 = 640.0;
const LEFT: f64 = 48.0;
const RIGHT: f64 = WIDTH - 24.0;
/// Upper end of the y axis; above it stand the words of the size.
const TOP: f64 = 48.0;
const BOTTOM: f64 = TOP + 240.0;
const HEIGHT: f64 = BOTTOM + 62.0;
const LETTERS: f64 = 13.0;

/// What passes each sieve of an analysis, with the nominal maximum size marked.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct GradingCurve {
    /// What is drawn, such as `Grading of sample S26-031`.
    pub title: String,
    /// The sieves in any order.
    pub points: Vec<GradingPoint>,
    /// The nominal maximum size, mm.
    pub nominal_maximum_mm: Option<Decimal>,
}

/// What passes one sieve.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct GradingPoint {
    /// Opening of the sieve, mm; greater than zero, or the point is left out.
    pub opening_mm: Decimal,
    /// Passing it, %, as it is shown.
    pub passing_percent: Decimal,
}

impl GradingCurve {
    /// The drawing, to stand on a page.
    pub fn markup(&self) -> Markup {
        let axis = Axis::of(self);
        let points = self.sorted();
        let spots: Vec<(f64, f64)> =
            points.iter().map(|one| axis.spot(one.opening_mm, one.passing_percent)).collect();
        let shapes = html! {
            (draw_shares())
            (draw_openings(&axis, &points))
            (draw_size(&axis, self.nominal_maximum_mm))
            (path(&way(&spots), 2.0, Colour::Accent))
            @for spot in &spots {
                (disc(*spot, 5.0, Colour::Surface))
                (disc(*spot, 3.5, Colour::Ink))
            }
            (draw_size_sign(&axis, self))
        };
        canvas("picture grading", (WIDTH, HEIGHT), &self.title, &self.sentence(), &shapes)
    }

    /// The drawing as a file.
    pub fn svg(&self) -> String {
        self.markup().into_string()
    }

    /// The curve in words: every sieve, coarsest first, and the size.
    pub fn sentence(&self) -> String {
        let point = |one: &GradingPoint| {
            let (opening, share) = (quantity(one.opening_mm, "mm"), figure(one.passing_percent));
            format!("{opening}: {share} % passing")
        };
        let mut points = self.sorted();
        points.reverse();
        let mut said: Vec<String> = points.iter().map(point).collect();
        if let Some(size) = self.nominal_maximum_mm {
            said.push(format!("nominal maximum size {}", quantity(size, "mm")));
        }
        if said.is_empty() { "no sieve".to_owned() } else { said.join("; ") }
    }

    /// What can be drawn, finest first.
    fn sorted(&self) -> Vec<GradingPoint> {
        let mut points: Vec<GradingPoint> =
            self.points.iter().copied().filter(|one| one.opening_mm > Decimal::ZERO).collect();
        points.sort_by_key(|one| one.opening_mm);
        points
    }
}

/// Where openings stand: equal ratios are equally far apart.
struct Axis {
    least: f64,
    greatest: f64,
}

impl Axis {
    fn of(curve: &GradingCurve) -> Self {
        let sizes = curve.points.iter().map(|one| one.opening_mm).chain(curve.nominal_maximum_mm);
        let logs = sizes.filter(|mm| *mm > Decimal::ZERO).map(|mm| float(mm).ln());
        let span = logs.fold(None, |span, log| {
            let (least, greatest) = span.unwrap_or((log, log));
            Some((log.min(least), log.max(greatest)))
        });
        let (least, greatest) = span.unwrap_or((0.0, 1.0));
        // One sieve alone stands in the middle of an axis that is there.
        let room = if greatest - least < 1e-9 { 0.5 } else { (greatest - least) * 0.04 };
        Self { least: least - room, greatest: greatest + room }
    }

    fn x(&self, opening_mm: Decimal) -> f64 {
        let part = (float(opening_mm).ln() - self.least) / (self.greatest - self.least);
        LEFT + part.clamp(0.0, 1.0) * (RIGHT - LEFT)
    }

    fn spot(&self, opening_mm: Decimal, passing_percent: Decimal) -> (f64, f64) {
        (self.x(opening_mm), height_of(float(passing_percent)))
    }
}

fn height_of(percent: f64) -> f64 {
    BOTTOM - percent.clamp(0.0, 100.0) / 100.0 * (BOTTOM - TOP)
}

fn way(spots: &[(f64, f64)]) -> String {
    let step = |(n, (x, y)): (usize, &(f64, f64))| {
        format!("{}{} {}", if n == 0 { "M" } else { "L" }, px(*x), px(*y))
    };
    spots.iter().enumerate().map(step).collect()
}

fn draw_shares() -> Markup {
    html! {
        @for percent in [0_u8, 20, 40, 60, 80, 100] {
            @let y = height_of(f64::from(percent));
            (line((LEFT, y), (RIGHT, y), 1.0, Colour::Line))
            (text((LEFT - 9.0, y + 4.5), LETTERS, "end", 400, Colour::Quiet, &percent.to_string()))
        }
        (line((LEFT, TOP), (LEFT, BOTTOM), 1.5, Colour::Quiet))
        (text((4.0, TOP - 14.0), LETTERS, "start", 400, Colour::Quiet, "passing, %"))
    }
}

/// A stroke at every sieve; its figure where there is room for it, on the second line if not on
/// the first.
fn draw_openings(axis: &Axis, points: &[GradingPoint]) -> Markup {
    let mut free_from = [f64::MIN; 2];
    let mut place = |x: f64, words: &str| {
        let half = width_of(words, LETTERS) / 2.0;
        let row = (0..2).find(|row| free_from[*row] <= x - half)?;
        free_from[row] = x + half + 6.0;
        Some(BOTTOM + 20.0 + 16.0 * row as f64)
    };
    html! {
        @for one in points {
            @let (x, words) = (axis.x(one.opening_mm), figure(one.opening_mm));
            (line((x, TOP), (x, BOTTOM), 1.0, Colour::Line))
            (line((x, BOTTOM), (x, BOTTOM + 5.0), 1.5, Colour::Quiet))
            @if let Some(y) = place(x, &words) {
                (text((x, y), LETTERS, "middle", 400, Colour::Quiet, &words))
            }
        }
        (line((LEFT, BOTTOM), (RIGHT, BOTTOM), 1.5, Colour::Quiet))
        (text((RIGHT, HEIGHT - 6.0), LETTERS, "end", 400, Colour::Quiet, "opening of the sieve, mm (logarithmic)"))
    }
}

/// A dashed line at the size, told from the grid without its colour.
fn draw_size(axis: &Axis, size: Option<Decimal>) -> Markup {
    html! {
        @if let Some(x) = size.filter(|mm| *mm > Decimal::ZERO).map(|mm| axis.x(mm)) {
            g stroke-dasharray="7 4" { (line((x, TOP - 8.0), (x, BOTTOM), 2.0, Colour::Ink)) }
        }
    }
}

/// A diamond where the size meets the curve, and its words above the plot.
fn draw_size_sign(axis: &Axis, curve: &GradingCurve) -> Markup {
    let Some(size) = curve.nominal_maximum_mm.filter(|mm| *mm > Decimal::ZERO) else {
        return html! {};
    };
    let words = format!("nominal maximum size {}", quantity(size, "mm"));
    let x = axis.x(size);
    let half = width_of(&words, LETTERS) / 2.0;
    let at = x.clamp(LEFT + half + 60.0, (RIGHT - half).max(LEFT + half + 60.0));
    let here = curve.points.iter().find(|one| one.opening_mm == size);
    html! {
        (text((at, TOP - 14.0), LETTERS, "middle", 600, Colour::Ink, &words))
        @if let Some((x, y)) = here.map(|one| axis.spot(one.opening_mm, one.passing_percent)) {
            @let d = format!("M{} {}l7 7l-7 7l-7 -7Z", px(x), px(y - 7.0));
            (shape(&d, Colour::Surface))
            (path(&d, 2.5, Colour::Ink))
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn curve(points: &[(&str, &str)], size: Option<&str>) -> GradingCurve {
        let point = |(opening, passing): &(&str, &str)| GradingPoint {
            opening_mm: opening.parse().unwrap(),
            passing_percent: passing.parse().unwrap(),
        };
        GradingCurve {
            title: "Grading".into(),
            points: points.iter().map(point).collect(),
            nominal_maximum_mm: size.map(|size| size.parse().unwrap()),
        }
    }

    #[test]
    fn equal_ratios_are_equally_far_apart_and_more_passing_is_higher() {
        let drawn = curve(&[("1", "10"), ("2", "40"), ("4", "90")], None);
        let axis = Axis::of(&drawn);
        let spots: Vec<(f64, f64)> =
            drawn.points.iter().map(|one| axis.spot(one.opening_mm, one.passing_percent)).collect();
        let [one, two, four] = spots[..] else { panic!("{spots:?}") };
        assert!(((two.0 - one.0) - (four.0 - two.0)).abs() < 1e-9, "{spots:?}");
        assert!(one.0 < two.0 && one.1 > two.1 && two.1 > four.1);
        assert!((height_of(100.0) - TOP).abs() < 1e-9 && (height_of(0.0) - BOTTOM).abs() < 1e-9);
    }

    #[test]
    fn the_curve_is_told_in_words_and_the_size_is_marked() {
        let drawn = curve(&[("9.5", "40.0"), ("25.0", "100"), ("19.0", "96.0")], Some("19.0"));
        assert_eq!(
            drawn.sentence().replace('\u{a0}', " "),
            "25.0 mm: 100 % passing; 19.0 mm: 96.0 % passing; 9.5 mm: 40.0 % passing; nominal maximum size 19.0 mm"
        );
        let svg = drawn.svg().replace('\u{a0}', " ");
        assert!(svg.contains(">nominal maximum size 19.0 mm</text>"), "{svg}");
        assert!(svg.contains("l7 7l-7 7l-7 -7Z"), "no diamond on the curve");
        // A size that is no sieve of the analysis has a line and no place on the curve.
        let elsewhere = curve(&[("9.5", "40.0")], Some("19.0")).svg();
        assert!(elsewhere.contains("stroke-dasharray") && !elsewhere.contains("l7 7l-7 7l-7 -7Z"));
    }

    #[test]
    fn every_opening_that_is_written_has_room() {
        let crowded = ["8", "7.1", "6.3", "5.6", "5", "4.5", "4", "3.55", "0.063"];
        let points: Vec<(&str, &str)> = crowded.iter().map(|opening| (*opening, "50")).collect();
        let svg = curve(&points, None).svg();
        assert!(svg.contains(">8</text>") || svg.contains(">7.1</text>"));
        assert!(svg.contains(">0.063</text>"));
    }

    proptest! {
        #[test]
        fn every_curve_is_a_drawing_of_numbers(
            points in proptest::collection::vec((any::<i64>(), 0_u32..28, any::<i64>()), 0..9),
            size in proptest::option::of(any::<i64>()),
        ) {
            let points = points.iter().map(|(opening, scale, passing)| GradingPoint {
                opening_mm: Decimal::new(*opening, *scale),
                passing_percent: Decimal::from(*passing),
            });
            let svg = GradingCurve {
                title: "any".into(),
                points: points.collect(),
                nominal_maximum_mm: size.map(Decimal::from),
            }
            .svg();
            prop_assert!(!svg.contains("NaN") && !svg.contains("inf"), "{}", svg);
        }
    }
}
