//! The grading curve of a sample, ready to be drawn on page or paper.

use stonewear_lab::state::Sieving;
use stonewear_picture::{GradingCurve, GradingPoint};
use stonewear_sieving::analysis::Line;
use stonewear_sieving::shown_percent;

/// The curve of a sieve analysis, with the nominal maximum size that was recorded with it.
pub fn grading_curve(title: &str, sieving: &Sieving) -> GradingCurve {
    let point = |line: Line| {
        Some(GradingPoint {
            opening_mm: line.sieve.in_mm().parse().ok()?,
            passing_percent: shown_percent(&line.passing_percent).parse().ok()?,
        })
    };
    let lines = sieving.analysis().map(|analysis| analysis.lines()).unwrap_or_default();
    GradingCurve {
        title: title.to_owned(),
        points: lines.into_iter().filter_map(point).collect(),
        nominal_maximum_mm: sieving.nominal_maximum_mm,
    }
}
