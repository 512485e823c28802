//! The bar chart: what contributes how much, the largest first.

use crate::Colour;
use crate::draw::{canvas, hatch, path, rect, text, width_of};
use maud::{Markup, html};

const WIDTH: f64 = 640.0;
const ROW: f64 = 30.0;
const TOP: f64 = 34.0;

/// Contributions side by side, in the order in which they are given.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct BarChart {
    /// What is drawn, such as `What the uncertainty is made of`.
    pub title: String,
    /// What the length of a bar means, with its unit.
    pub scale: String,
    /// The bars, top to bottom.
    pub bars: Vec<Bar>,
}

/// One contribution.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Bar {
    /// Whose it is.
    pub name: String,
    /// How much, not below zero; nothing where it is not known. A bar that is not known is hatched
    /// over the whole width, because nobody can say how long it is.
    pub value: Option<f64>,
    /// The value in words.
    pub words: String,
}

impl BarChart {
    /// The drawing, to stand on a page.
    pub fn markup(&self) -> Markup {
        let names = self.bars.iter().map(|bar| width_of(&bar.name, 14.0)).fold(60.0, f64::max);
        let words = self.bars.iter().map(|bar| width_of(&bar.words, 13.0)).fold(40.0, f64::max);
        let left = (names + 16.0).min(WIDTH / 3.0);
        let room = (WIDTH - left - words.min(WIDTH / 3.0) - 16.0).max(60.0);
        let known = self.bars.iter().filter_map(|bar| bar.value.filter(|v| v.is_finite()));
        let most = known.fold(0.0, f64::max);
        let shapes = html! {
            (text((4.0, 18.0), 13.0, "start", 400, Colour::Quiet, &self.scale))
            @for (n, bar) in self.bars.iter().enumerate() {
                @let y = TOP + n as f64 * ROW;
                (text((left - 10.0, y + 17.0), 14.0, "end", 500, Colour::Ink, &bar.name))
                @let value = bar.value.filter(|v| v.is_finite());
                @let long = value.map_or(room, |v| if most > 0.0 { (v / most).clamp(0.0, 1.0) * room } else { 0.0 });
                @if value.is_some() {
                    (rect((left, y + 3.0), (left + long.max(1.0), y + 21.0), Colour::Accent))
                } @else {
                    (path(&hatch((left, y + 3.0), (left + long, y + 21.0), 9.0), 1.0, Colour::Line))
                }
                (text((left + long + 8.0, y + 17.0), 13.0, "start", 400, Colour::Ink, &bar.words))
            }
        };
        let size = (WIDTH, TOP + self.bars.len() as f64 * ROW + 8.0);
        canvas("picture bar-chart", size, &self.title, &self.sentence(), &shapes)
    }

    /// The drawing as a file.
    pub fn svg(&self) -> String {
        self.markup().into_string()
    }

    /// The chart in words.
    pub fn sentence(&self) -> String {
        let each: Vec<String> =
            self.bars.iter().map(|bar| format!("{}: {}", bar.name, bar.words)).collect();
        if each.is_empty() { "nothing contributes".to_owned() } else { each.join("; ") }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_bar_twice_as_large_is_twice_as_long_and_what_is_not_known_is_hatched() {
        let bar = |name: &str, value: Option<f64>| Bar {
            name: name.into(),
            value,
            words: value.map_or("not known".into(), |v| v.to_string()),
        };
        let chart = BarChart {
            bars: vec![bar("a", Some(2.0)), bar("b", Some(1.0)), bar("c", None)],
            ..BarChart::default()
        };
        let svg = chart.svg();
        let widths: Vec<f64> = svg
            .split("<rect ")
            .skip(1)
            .map(|r| {
                r.split("width=\"").nth(1).unwrap().split('"').next().unwrap().parse().unwrap()
            })
            .collect();
        assert_eq!(widths.len(), 2);
        assert!((widths[0] - 2.0 * widths[1]).abs() < 0.02, "{widths:?}");
        assert_eq!(chart.sentence(), "a: 2; b: 1; c: not known");
        assert!(svg.contains("<path"));
    }

    #[test]
    fn nothing_and_nonsense_are_drawings_too() {
        for value in [f64::NAN, f64::INFINITY, 0.0, -1.0, f64::MAX] {
            let bars = vec![Bar { value: Some(value), ..Bar::default() }];
            let svg = BarChart { bars, ..BarChart::default() }.svg();
            assert!(!svg.contains("NaN") && !svg.contains("inf"), "{svg}");
        }
        assert!(BarChart::default().svg().contains("nothing contributes"));
    }
}
