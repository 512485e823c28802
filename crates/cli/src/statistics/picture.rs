//! Pictures of a series with its limits, written to a file that `--svg` names.

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
            .map(|((when, value, signal), at)| Point { at, when, value, signal })
            .collect(),
        centre: Some(centre),
        action: Some(Limits { lower, upper }),
        ..SeriesChart::default()
    }
}

/// Writes a picture where one is asked for.
pub(super) fn write(picture: &SeriesChart, path: Option<&Path>) -> Result<(), Failure> {
    let Some(path) = path else { return Ok(()) };
    std::fs::write(path, picture.svg())
        .map_err(|error| Failure::Surroundings(format!("{}: {error}", path.display())))
}
