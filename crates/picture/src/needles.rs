//! Values of many members in groups, each as a needle from a base line: h and k of the
//! laboratories at every material.

use crate::Colour;
use crate::draw::{canvas, disc, line, path, plain, px, shape, text, width_of};
use crate::ticks::Ticks;
use maud::{Markup, html};

const WIDTH: f64 = 820.0;
const RIGHT: f64 = WIDTH - 68.0;
const TOP: f64 = 44.0;
const BOTTOM: f64 = TOP + 230.0;
const GAP: f64 = 1.5;

/// Needles side by side.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct NeedleChart {
    /// What is drawn, such as `h of the laboratories`.
    pub title: String,
    /// What the height means.
    pub scale: String,
    /// The groups, left to right.
    pub groups: Vec<NeedleGroup>,
    /// Values beyond which a needle stands apart.
    pub limits: Vec<f64>,
}

/// Needles that belong together.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct NeedleGroup {
    /// What they have in common.
    pub name: String,
    /// The needles, left to right.
    pub needles: Vec<Needle>,
}

/// One value.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Needle {
    /// Whose it is.
    pub name: String,
    /// The value, from zero.
    pub value: f64,
    /// Whether it stands beyond a limit.
    pub beyond: bool,
}

impl NeedleChart {
    /// The drawing, to stand on a page.
    pub fn markup(&self) -> Markup {
        let values = self.groups.iter().flat_map(|g| g.needles.iter().map(|n| n.value));
        let all = values.chain(self.limits.iter().copied()).filter(|v| v.is_finite());
        let (low, high) =
            all.fold((0.0, 0.0), |(low, high): (f64, f64), v| (low.min(v), high.max(v)));
        let ticks = Ticks::around(low, high, 6);
        let widest =
            ticks.values.iter().map(|v| width_of(&ticks.label(*v), 14.0)).fold(0.0, f64::max);
        let left = (widest + 16.0).min(WIDTH / 3.0);
        let (floor, ceiling) = ticks.span();
        let y = |value: f64| {
            let part = ((value - floor) / (ceiling - floor)).clamp(0.0, 1.0);
            BOTTOM - part * (BOTTOM - TOP)
        };
        let count: usize = self.groups.iter().map(|g| g.needles.len()).sum();
        let step = (RIGHT - left) / (count as f64 + GAP * self.groups.len() as f64).max(1.0);
        let begins: Vec<f64> = self
            .groups
            .iter()
            .scan(left + GAP * step / 2.0, |next, group| {
                let begin = *next;
                *next += (group.needles.len() as f64 + GAP) * step;
                Some(begin)
            })
            .collect();
        let shapes = html! {
            @for value in &ticks.values {
                (line((left - 5.0, y(*value)), (left, y(*value)), 1.5, Colour::Quiet))
                (text((left - 9.0, y(*value) + 4.5), 14.0, "end", 400, Colour::Quiet, &ticks.label(*value)))
            }
            (line((left, TOP), (left, BOTTOM), 1.5, Colour::Quiet))
            (line((left, y(0.0)), (RIGHT, y(0.0)), 1.0, Colour::Quiet))
            (text((4.0, TOP - 16.0), 14.0, "start", 400, Colour::Quiet, &self.scale))
            @for limit in self.limits.iter().filter(|l| l.is_finite()) {
                g stroke-dasharray="9 4" { (line((left, y(*limit)), (RIGHT, y(*limit)), 1.8, Colour::Bad)) }
                (text((RIGHT + 6.0, y(*limit) + 4.5), 14.0, "start", 400, Colour::Bad, "critical"))
            }
            @for (group, from) in self.groups.iter().zip(&begins) {
                @let to = from + group.needles.len() as f64 * step;
                (draw_group(group, *from, step, y(0.0), &y))
                (line((*from, BOTTOM + 22.0), (to, BOTTOM + 22.0), 1.0, Colour::Line))
                (text((f64::midpoint(*from, to), BOTTOM + 38.0), 14.0, "middle", 500, Colour::Ink,
                    &group.name))
            }
        };
        canvas(
            "picture needle-chart",
            (WIDTH, BOTTOM + 48.0),
            &self.title,
            &self.sentence(),
            &shapes,
        )
    }

    /// The drawing as a file.
    pub fn svg(&self) -> String {
        self.markup().into_string()
    }

    /// The chart in words: how many, and which stand apart.
    pub fn sentence(&self) -> String {
        let count: usize = self.groups.iter().map(|g| g.needles.len()).sum();
        let mut words = format!("{count} values");
        for group in &self.groups {
            for needle in group.needles.iter().filter(|n| n.beyond) {
                words +=
                    &format!("; {} of {} is beyond: {:.2}", needle.name, group.name, needle.value);
            }
        }
        plain(&words)
    }
}

/// The needles of a group, and the names of their owners where there is room.
fn draw_group(
    group: &NeedleGroup,
    from: f64,
    step: f64,
    base: f64,
    y: &dyn Fn(f64) -> f64,
) -> Markup {
    let widest = group.needles.iter().map(|n| width_of(&n.name, 14.0)).fold(0.0, f64::max);
    let fits = widest <= step - 1.0;
    html! {
        @for (n, needle) in group.needles.iter().enumerate().filter(|(_, n)| n.value.is_finite()) {
            @let x = from + (n as f64 + 0.5) * step;
            @let top = y(needle.value);
            @let wide = (step * 0.5).clamp(1.0, 7.0);
            (line((x, base), (x, top), wide, if needle.beyond { Colour::Bad } else { Colour::Accent }))
            @if needle.beyond {
                @let d = format!("M{x} {t}l6 6l-6 6l-6 -6Z", x = px(x), t = px(top - 6.0));
                (shape(&d, Colour::Surface))
                (path(&d, 2.0, Colour::Bad))
                @let above = if needle.value < 0.0 { top + 20.0 } else { top - 10.0 };
                (text((x, above), 14.0, "middle", 600, Colour::Bad, &needle.name))
            } @else if needle.value == 0.0 {
                (disc((x, base), 2.0, Colour::Accent))
            }
            @if fits { (text((x, BOTTOM + 16.0), 14.0, "middle", 400, Colour::Quiet, &needle.name)) }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn chart(values: &[f64]) -> NeedleChart {
        let needles = values
            .iter()
            .enumerate()
            .map(|(n, value)| Needle { name: format!("L{n}"), value: *value, beyond: *value > 2.0 })
            .collect();
        NeedleChart {
            title: "h".into(),
            groups: vec![NeedleGroup { name: "level 1".into(), needles }],
            limits: vec![-2.0, 2.0],
            ..NeedleChart::default()
        }
    }

    #[test]
    fn what_stands_beyond_is_named() {
        let chart = chart(&[0.4, -1.0, 2.6]);
        assert_eq!(chart.sentence(), "3 values; L2 of level 1 is beyond: 2.60");
        assert_eq!(chart.svg().matches(">critical<").count(), 2);
    }

    #[test]
    fn every_value_makes_a_drawing_of_numbers() {
        for values in [vec![], vec![f64::NAN, f64::INFINITY, f64::MAX, -f64::MAX], vec![0.0; 300]] {
            let svg = chart(&values).svg();
            let drawing = svg.split_once("</desc>").map_or("", |(_, drawing)| drawing);
            assert!(!drawing.contains("NaN") && !drawing.contains("inf"), "{drawing}");
        }
    }
}
