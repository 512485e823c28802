//! Positions on the tolerance strip.
//!
//! The strip is drawn by the template; what it shows is worked out here, where it can be tested.
//! Positions run from 0 at the left end of the band to 1 at its right end. They are for drawing
//! only, so binary floats do: nothing reported is read off them.

use serde::Serialize;
use stonewear_report::{CellStrip, Decision, ReportedLoss, Strip, Uncertainty};

/// Share of the band left free beyond the outermost mark.
const MARGIN: f64 = 0.14;

/// Where everything stands on the band.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub(crate) struct StripDrawing {
    /// The value.
    value: f64,
    /// Both ends of the whisker.
    whisker: Option<[f64; 2]>,
    /// The part of the band that the requirement allows.
    allowed: [f64; 2],
    /// Guard bands, hatched.
    guards: Vec<[f64; 2]>,
    /// Limits, with their text.
    ticks: Vec<Tick>,
}

/// A limit on the band.
#[derive(Debug, Clone, PartialEq, Serialize)]
struct Tick {
    at: f64,
    text: String,
}

/// Works out the strip; `None` when there is no limit, or a text that should be a number is not.
pub(crate) fn draw(loss: &ReportedLoss, decision: &Decision) -> Option<StripDrawing> {
    let strip = &decision.strip;
    let value = number(&loss.value)?;
    let lower = optional(strip.lower.as_deref())?;
    let upper = optional(strip.upper.as_deref())?;
    if lower.is_none() && upper.is_none() {
        return None;
    }
    let accepted_lower = optional(strip.acceptance_lower.as_deref())?;
    let accepted_upper = optional(strip.acceptance_upper.as_deref())?;
    let spread = match &loss.uncertainty {
        Some(uncertainty) => Some(number(&uncertainty.expanded)?.abs()),
        None => None,
    };

    let ends = spread.map(|spread| [value - spread, value + spread]);
    let marks = [Some(value), lower, upper, accepted_lower, accepted_upper];
    let marks = marks.into_iter().flatten().chain(ends.into_iter().flatten());
    let axis = Axis::around(marks, lower.is_none());
    let band = |from: f64, to: f64| [axis.at(from.min(to)), axis.at(from.max(to))];
    let guard = |accepted: Option<f64>, limit: Option<f64>| Some(band(accepted?, limit?));
    let tick = |limit: Option<f64>, text: &Option<String>| {
        Some(Tick { at: axis.at(limit?), text: text.clone()? })
    };
    Some(StripDrawing {
        value: axis.at(value),
        whisker: ends.map(|[from, to]| band(from, to)),
        allowed: [lower.map_or(0.0, |at| axis.at(at)), upper.map_or(1.0, |at| axis.at(at))],
        guards: [guard(accepted_lower, lower), guard(accepted_upper, upper)]
            .into_iter()
            .flatten()
            .collect(),
        ticks: [tick(lower, &strip.lower), tick(upper, &strip.upper)]
            .into_iter()
            .flatten()
            .collect(),
    })
}

/// Works out the small strip of a cell.
pub(crate) fn small(cell: &CellStrip) -> Option<StripDrawing> {
    let loss = ReportedLoss {
        value: cell.value.clone(),
        uncertainty: cell
            .expanded
            .clone()
            .map(|expanded| Uncertainty { expanded, ..Uncertainty::default() }),
        ..ReportedLoss::default()
    };
    let strip = Strip { lower: cell.lower.clone(), upper: cell.upper.clone(), ..Strip::default() };
    draw(&loss, &Decision { strip, ..Decision::default() })
}

/// The scale under the band.
struct Axis {
    from: f64,
    to: f64,
}

impl Axis {
    /// Holds all marks with some air. Where nothing bounds the value from below the band starts at
    /// zero, so that the distance to the limit is seen in proportion: a loss is never negative.
    fn around(marks: impl Iterator<Item = f64>, from_zero: bool) -> Self {
        let (least, most) = marks
            .fold((f64::INFINITY, f64::NEG_INFINITY), |(least, most), mark| {
                (least.min(mark), most.max(mark))
            });
        let least = if from_zero { least.min(0.0) } else { least };
        let width = if most > least { most - least } else { 1.0 };
        let from = if from_zero && least == 0.0 { 0.0 } else { least - MARGIN * width };
        Self { from, to: most + MARGIN * width }
    }

    fn at(&self, mark: f64) -> f64 {
        ((mark - self.from) / (self.to - self.from)).clamp(0.0, 1.0)
    }
}

/// A decimal text as a number to draw with; spaces that group digits are allowed.
fn number(text: &str) -> Option<f64> {
    let plain: String = text.chars().filter(|character| !character.is_whitespace()).collect();
    plain.replace('−', "-").parse().ok().filter(|number: &f64| number.is_finite())
}

/// As [`number`], where leaving the text out is fine and writing nonsense is not.
fn optional(text: Option<&str>) -> Option<Option<f64>> {
    match text {
        None => Some(None),
        Some(text) => number(text).map(Some),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn loss(value: &str, expanded: Option<&str>) -> ReportedLoss {
        ReportedLoss {
            value: value.into(),
            uncertainty: expanded.map(|expanded| Uncertainty {
                expanded: expanded.into(),
                ..Uncertainty::default()
            }),
            ..ReportedLoss::default()
        }
    }

    fn limits(lower: Option<&str>, upper: Option<&str>, accepted: Option<&str>) -> Decision {
        Decision {
            strip: Strip {
                lower: lower.map(Into::into),
                upper: upper.map(Into::into),
                acceptance_upper: accepted.map(Into::into),
                acceptance_lower: None,
            },
            ..Decision::default()
        }
    }

    #[test]
    fn an_upper_limit_is_seen_from_zero() {
        let drawing = draw(&loss("10", Some("2")), &limits(None, Some("20"), Some("18"))).unwrap();
        // The band runs from 0 to 20 and 14 % beyond: 22.8.
        let near = |a: f64, b: f64| (a - b).abs() < 1e-12;
        assert!(near(drawing.value, 10.0 / 22.8));
        let whisker = drawing.whisker.unwrap();
        assert!(near(whisker[0], 8.0 / 22.8) && near(whisker[1], 12.0 / 22.8));
        assert!(near(drawing.guards[0][0], 18.0 / 22.8) && near(drawing.guards[0][1], 20.0 / 22.8));
        assert!(near(drawing.allowed[0], 0.0) && near(drawing.allowed[1], 20.0 / 22.8));
        assert_eq!(drawing.ticks.len(), 1);
        assert_eq!(drawing.ticks[0].text, "20");
    }

    #[test]
    fn a_failing_value_lies_beyond_the_allowed_part() {
        let drawing = draw(&loss("31.5", None), &limits(None, Some("17.0"), None)).unwrap();
        assert!(drawing.value > drawing.allowed[1] && drawing.value < 1.0);
        assert_eq!((drawing.whisker, drawing.guards), (None, vec![]));
    }

    #[test]
    fn two_limits_leave_air_on_both_sides() {
        let drawing = draw(&loss("19", None), &limits(Some("17.5"), Some("20.7"), None)).unwrap();
        assert!(drawing.allowed[0] > 0.1 && drawing.allowed[1] < 0.9);
    }

    #[test]
    fn without_numbers_there_is_no_strip() {
        for (value, lower, upper) in [
            ("14.8", None, None),
            ("", None, Some("17")),
            ("14.8", None, Some("about 17")),
            ("inf", None, Some("17")),
        ] {
            assert_eq!(draw(&loss(value, None), &limits(lower, upper, None)), None, "{value}");
        }
    }

    #[test]
    fn a_value_of_zero_on_a_limit_of_zero_can_be_drawn() {
        let drawing = draw(&loss("0", Some("0")), &limits(None, Some("0"), None)).unwrap();
        assert!(drawing.value.is_finite() && drawing.allowed[1].is_finite());
    }
}
