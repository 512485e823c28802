//! The axes of a plot: which values are shown, and where each stands.

use super::Plot;
use crate::draw::width_of;
use crate::ticks::Ticks;

pub(super) const WIDTH: f64 = 640.0;
pub(super) const RIGHT: f64 = WIDTH - 68.0;
/// Upper end of the y axis; above it stand the words of marks.
pub(super) const TOP: f64 = 64.0;
/// Lower end of the y axis.
pub(super) const BOTTOM: f64 = TOP + 240.0;

/// Both axes.
#[derive(Debug)]
pub(super) struct Frame {
    pub(super) left: f64,
    pub(super) across: Ticks,
    pub(super) down: Ticks,
}

impl Frame {
    pub(super) fn of(plot: &Plot) -> Self {
        let points = plot.points.iter().copied();
        let curves = plot.curves.iter().flat_map(|curve| curve.points.iter().copied());
        let edges = plot.bands.iter().flat_map(|band| band.edges.iter());
        let edges = edges.flat_map(|&(x, lower, upper)| [(x, lower), (x, upper)]);
        let marks = plot.marks.iter().flat_map(|mark| {
            let (lower, upper) = mark.within.unwrap_or((mark.x, mark.x));
            [mark.x, lower, upper].map(|x| (x, mark.y))
        });
        let shown: Vec<(f64, f64)> = points
            .chain(curves)
            .chain(edges)
            .chain(marks)
            .filter(|(x, y)| x.is_finite() && y.is_finite())
            .collect();
        let levels = plot.levels.iter().map(|level| level.y);
        let cuts = plot.cuts.iter().map(|cut| cut.x);
        let across = ticks(shown.iter().map(|(x, _)| *x).chain(cuts), 6);
        let down = ticks(shown.iter().map(|(_, y)| *y).chain(levels), 5);
        let widest =
            down.values.iter().map(|v| width_of(&down.label(*v), 13.0)).fold(0.0, f64::max);
        Self { left: (widest + 16.0).min(WIDTH / 3.0), across, down }
    }

    pub(super) fn x(&self, value: f64) -> Option<f64> {
        share(value, &self.across).map(|part| self.left + part * (RIGHT - self.left))
    }

    pub(super) fn y(&self, value: f64) -> Option<f64> {
        share(value, &self.down).map(|part| BOTTOM - part * (BOTTOM - TOP))
    }

    /// Where a point stands; nothing where it is not finite.
    pub(super) fn spot(&self, x: f64, y: f64) -> Option<(f64, f64)> {
        Some((self.x(x)?, self.y(y)?))
    }
}

fn ticks(values: impl Iterator<Item = f64>, wanted: u8) -> Ticks {
    let span = values.filter(|value| value.is_finite()).fold(None, |span, value| {
        let (low, high) = span.unwrap_or((value, value));
        Some((value.min(low), value.max(high)))
    });
    let (low, high) = span.unwrap_or((0.0, 1.0));
    Ticks::around(low, high, wanted)
}

fn share(value: f64, axis: &Ticks) -> Option<f64> {
    let (low, high) = axis.span();
    value.is_finite().then(|| ((value - low) / (high - low)).clamp(-0.02, 1.02))
}
