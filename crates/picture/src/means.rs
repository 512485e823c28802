//! Means of many members in the order of their size, each with its interval, against a centre and
//! limits; one of them may be one's own.

use crate::Colour;
use crate::draw::{canvas, disc, line, path, plain, px, shape, text, width_of};
use crate::ticks::Ticks;
use maud::{Markup, html};

const WIDTH: f64 = 820.0;
const TOP: f64 = 52.0;
const ROW: f64 = 20.0;

/// Means beneath each other, the smallest first.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct MeansChart {
    /// What is drawn, such as `Means of granite`.
    pub title: String,
    /// What the scale is, with its unit.
    pub scale: String,
    /// The means, in any order.
    pub means: Vec<Mean>,
    /// The value that they are held against, with its name.
    pub centre: Option<(f64, String)>,
    /// Values beyond which a mean stands apart, each with its name.
    pub limits: Vec<(f64, String)>,
}

/// One mean.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Mean {
    /// Whose it is; empty where that is not said.
    pub name: String,
    /// The mean.
    pub value: f64,
    /// How far its interval reaches to each side.
    pub reach: Option<f64>,
    /// Whether it is one's own: drawn as a diamond.
    pub own: bool,
    /// What is said of it, such as `questionable`; may be empty.
    pub remark: String,
}

impl MeansChart {
    /// The means in the order in which they are drawn.
    fn ordered(&self) -> Vec<&Mean> {
        let mut ordered: Vec<&Mean> = self.means.iter().filter(|m| m.value.is_finite()).collect();
        ordered.sort_by(|a, b| a.value.total_cmp(&b.value).then_with(|| a.name.cmp(&b.name)));
        ordered
    }

    /// The drawing, to stand on a page.
    pub fn markup(&self) -> Markup {
        let means = self.ordered();
        let reach = |mean: &Mean| mean.reach.filter(|r| r.is_finite() && *r >= 0.0);
        let ends = means.iter().flat_map(|mean| {
            let r = reach(mean).unwrap_or(0.0);
            [mean.value - r, mean.value + r]
        });
        let lines = self.centre.iter().chain(&self.limits).map(|(value, _)| *value);
        let mut span = None;
        for value in ends.chain(lines).filter(|value| value.is_finite()) {
            let (low, high): (f64, f64) = span.unwrap_or((value, value));
            span = Some((low.min(value), high.max(value)));
        }
        let (low, high) = span.unwrap_or((0.0, 1.0));
        let ticks = Ticks::around(low, high, 8);
        let (floor, ceiling) = ticks.span();
        let widest = |words: &dyn Fn(&Mean) -> &str, size: f64| {
            means.iter().map(|mean| width_of(words(mean), size)).fold(0.0, f64::max)
        };
        let left = (widest(&|mean| &mean.name, 14.0) + 16.0).clamp(24.0, WIDTH / 3.0);
        let right = WIDTH - (widest(&|mean| &mean.remark, 14.0) + 16.0).clamp(24.0, WIDTH / 3.0);
        let x = |value: f64| {
            left + ((value - floor) / (ceiling - floor)).clamp(0.0, 1.0) * (right - left)
        };
        let bottom = TOP + means.len() as f64 * ROW + 6.0;
        let shapes = html! {
            (text((4.0, 18.0), 14.0, "start", 400, Colour::Quiet, &self.scale))
            @for value in &ticks.values {
                (line((x(*value), bottom), (x(*value), bottom + 5.0), 1.5, Colour::Quiet))
                (text((x(*value), bottom + 20.0), 14.0, "middle", 400, Colour::Quiet, &ticks.label(*value)))
            }
            (line((left, bottom), (right, bottom), 1.5, Colour::Quiet))
            @for (value, name) in self.limits.iter().filter(|(value, _)| value.is_finite()) {
                g stroke-dasharray="9 4" { (line((x(*value), TOP - 8.0), (x(*value), bottom), 1.8, Colour::Bad)) }
                (text((x(*value), TOP - 14.0), 14.0, "middle", 400, Colour::Bad, name))
            }
            @if let Some((value, name)) = self.centre.as_ref().filter(|(value, _)| value.is_finite()) {
                (line((x(*value), TOP - 8.0), (x(*value), bottom), 1.8, Colour::Accent))
                (text((x(*value), TOP - 14.0), 14.0, "middle", 500, Colour::Ink, name))
            }
            @for (n, mean) in means.iter().enumerate() {
                @let y = TOP + (n as f64 + 0.5) * ROW;
                (text((left - 10.0, y + 4.5), 14.0, "end", if mean.own { 700 } else { 400 }, Colour::Ink, &mean.name))
                @if let Some(r) = reach(mean) {
                    @let (from, to) = (x(mean.value - r), x(mean.value + r));
                    (line((from, y), (to, y), 1.8, Colour::Ink))
                    (line((from, y - 4.0), (from, y + 4.0), 1.8, Colour::Ink))
                    (line((to, y - 4.0), (to, y + 4.0), 1.8, Colour::Ink))
                }
                @if mean.own {
                    @let d = format!("M{x} {t}l8 8l-8 8l-8 -8Z", x = px(x(mean.value)), t = px(y - 8.0));
                    (shape(&d, Colour::Surface))
                    (path(&d, 3.0, Colour::Accent))
                } @else {
                    (disc((x(mean.value), y), 4.5, Colour::Ink))
                }
                (text((right + 10.0, y + 4.0), 14.0, "start", 400, Colour::Quiet, &mean.remark))
            }
        };
        let size = (WIDTH, bottom + 30.0);
        canvas("picture means-chart", size, &self.title, &self.sentence(), &shapes)
    }

    /// The drawing as a file.
    pub fn svg(&self) -> String {
        self.markup().into_string()
    }

    /// The chart in words: how many, the centre, one's own place, and what is said of each.
    pub fn sentence(&self) -> String {
        let means = self.ordered();
        let mut words = format!("{} means", means.len());
        if let Some((value, name)) = &self.centre {
            words += &format!("; {name} {value:.3}");
        }
        for (place, mean) in (1..).zip(&means) {
            if mean.own {
                words += &format!("; your own is number {place} from below: {:.3}", mean.value);
            } else if !mean.remark.is_empty() && !mean.name.is_empty() {
                words += &format!("; {} {:.3}: {}", mean.name, mean.value, mean.remark);
            }
        }
        plain(&words)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn mean(name: &str, value: f64, own: bool) -> Mean {
        Mean { name: name.into(), value, reach: Some(0.2), own, remark: String::new() }
    }

    #[test]
    fn means_stand_in_order_and_the_own_one_is_named() {
        let chart = MeansChart {
            means: vec![mean("b", 12.0, false), mean("a", 11.0, true), mean("c", 10.0, false)],
            centre: Some((11.0, "assigned".into())),
            ..MeansChart::default()
        };
        assert_eq!(
            chart.sentence(),
            "3 means; assigned 11.000; your own is number 2 from below: 11.000"
        );
        let svg = chart.svg();
        let place = |name: &str| svg.find(&format!(">{name}<")).unwrap_or_default();
        assert!(place("c") < place("a") && place("a") < place("b"), "{svg}");
    }

    #[test]
    fn every_value_makes_a_drawing_of_numbers() {
        for values in [vec![], vec![f64::NAN, f64::INFINITY, f64::MAX, -f64::MAX], vec![0.0; 60]] {
            let means = values.iter().map(|value| mean("m", *value, false)).collect();
            let limits = vec![(f64::NAN, "limit".to_owned())];
            let svg = MeansChart { means, limits, ..MeansChart::default() }.svg();
            let drawing = svg.split_once("</desc>").map_or("", |(_, drawing)| drawing);
            assert!(!drawing.contains("NaN") && !drawing.contains("inf"), "{drawing}");
        }
    }
}
