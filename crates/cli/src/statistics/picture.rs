//! Pictures, written to a file that `--svg` names.

use crate::answer::Failure;
use std::path::Path;
use stonewear_picture::{Limits, Point, SeriesChart};

/// One plotted value: its label, the value, and the words of its signal.
pub(super) type Mark = (String, f64, Option<String>);

/// Values in their order, with a centre line and limits for action.
pub(super) fn series(
    title: &str,
    marks: impl IntoIterator<Item = Mark>,
    centre: f64,
    (lower, upper): (f64, f64),
) -> SeriesChart {
    let points = marks.into_iter().zip(1i64..);
    SeriesChart {
        title: title.to_owned(),
        points: points
            .map(|((when, value, signal), at)| Point {
                at,
                when,
                value,
                signal,
                ..Point::default()
            })
            .collect(),
        centre: Some(centre),
        action: Some(Limits { lower, upper }),
        ..SeriesChart::default()
    }
}

/// Writes a picture where one is asked for.
pub(crate) fn write(svg: impl FnOnce() -> String, path: Option<&Path>) -> Result<(), Failure> {
    let Some(path) = path else { return Ok(()) };
    std::fs::write(path, svg())
        .map_err(|error| Failure::Surroundings(format!("{}: {error}", path.display())))
}

/// `count` places from the least to the greatest value, as a curve needs them.
pub(super) fn steps(low: f64, high: f64, count: u32) -> impl Iterator<Item = f64> {
    let step = (high - low) / f64::from(count.max(2) - 1);
    (0..count).map(move |n| low + step * f64::from(n))
}

/// The least and the greatest of finite values.
pub(super) fn span(values: impl IntoIterator<Item = f64>) -> Option<(f64, f64)> {
    values.into_iter().fold(None, |span, value| {
        let (low, high) = span.unwrap_or((value, value));
        Some((value.min(low), value.max(high)))
    })
}

/// A level as per cent, for a name: `95 %`.
pub(super) fn percent(level: f64) -> String {
    format!("{} %", super::table::short(100.0 * level))
}
