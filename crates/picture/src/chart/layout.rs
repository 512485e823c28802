//! Where the parts of a chart stand.

use super::{Event, Point, SeriesChart};
use crate::draw::width_of;
use crate::ticks::Ticks;

pub(super) const WIDTH: f64 = 640.0;
pub(super) const RIGHT: f64 = WIDTH - 68.0;
/// Upper end of the value axis; above it stand the signals' words.
pub(super) const TOP: f64 = 74.0;
const PLOT: f64 = 196.0;
const ROW: f64 = 17.0;
/// Rows of words above the plot, and of events below it.
const SIGNAL_ROWS: usize = 3;
const EVENT_ROWS: usize = 3;

/// A finite value and its place.
#[derive(Debug)]
pub(super) struct Spot<'a> {
    pub(super) x: f64,
    pub(super) y: f64,
    pub(super) point: &'a Point,
}

/// Words that belong to a place on the time axis.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Label<'a> {
    /// The place that they belong to.
    pub(super) at: f64,
    /// Where they begin.
    pub(super) x: f64,
    pub(super) y: f64,
    pub(super) words: &'a str,
    /// Whether they end at their place; otherwise they begin at `x`.
    pub(super) leads_up: bool,
}

impl Label<'_> {
    /// The place of the text, and which part of the text stands there.
    pub(super) fn anchor(&self) -> ((f64, f64), &'static str) {
        if self.leads_up { ((self.at + 4.0, self.y), "end") } else { ((self.x, self.y), "start") }
    }
}

#[derive(Debug)]
pub(super) struct Layout<'a> {
    pub(super) left: f64,
    pub(super) bottom: f64,
    pub(super) height: f64,
    pub(super) ticks: Ticks,
    pub(super) spots: Vec<Spot<'a>>,
}

impl<'a> Layout<'a> {
    pub(super) fn of(chart: &'a SeriesChart) -> Self {
        let limits = [chart.warning, chart.action].into_iter().flatten();
        let drawn = chart.points.iter().map(|point| point.value).chain(chart.centre);
        let drawn = drawn.chain(limits.flat_map(|limits| [limits.lower, limits.upper]));
        let (low, high) = drawn
            .filter(|value| value.is_finite())
            .fold(None, |span: Option<(f64, f64)>, value| match span {
                None => Some((value, value)),
                Some((low, high)) => Some((low.min(value), high.max(value))),
            })
            .unwrap_or((0.0, 1.0));
        let ticks = Ticks::around(low, high, 5);
        let widest =
            ticks.values.iter().map(|v| width_of(&ticks.label(*v), 13.0)).fold(0.0, f64::max);
        let left = (widest + 16.0).min(WIDTH / 3.0);
        let mut layout = Self { left, bottom: TOP + PLOT, height: 0.0, ticks, spots: Vec::new() };
        let finite: Vec<&Point> =
            chart.points.iter().filter(|point| point.value.is_finite()).collect();
        let step = (RIGHT - left) / finite.len().max(1) as f64;
        layout.spots = finite
            .iter()
            .enumerate()
            .filter_map(|(n, point)| {
                let y = layout.y(point.value)?;
                Some(Spot { x: left + (n as f64 + 0.5) * step, y, point })
            })
            .collect();
        let lowest = layout.events(&chart.events).iter().map(|label| label.y).fold(0.0, f64::max);
        layout.height = (layout.bottom + 26.0).max(lowest + 6.0);
        layout
    }

    /// The height of a value; nothing where it is not finite.
    pub(super) fn y(&self, value: f64) -> Option<f64> {
        let (low, high) = self.ticks.span();
        let part = ((value - low) / (high - low)).clamp(-0.05, 1.05);
        value.is_finite().then_some(self.bottom - part * PLOT)
    }

    /// Where an instant stands between the values, which are evenly spaced.
    fn x(&self, at: i64) -> f64 {
        let after = self.spots.iter().position(|spot| spot.point.at > at);
        match after {
            Some(0) => f64::midpoint(self.left, self.spots[0].x),
            Some(n) => {
                let (before, after) = (&self.spots[n - 1], &self.spots[n]);
                let whole = after.point.at as f64 - before.point.at as f64;
                let part = (at as f64 - before.point.at as f64) / whole.max(1.0);
                before.x + (after.x - before.x) * part.clamp(0.0, 1.0)
            }
            None => self.spots.last().map_or(f64::midpoint(self.left, RIGHT), |last| {
                if last.point.at == at { last.x } else { f64::midpoint(last.x, RIGHT) }
            }),
        }
    }

    /// As many dates as have room.
    pub(super) fn dates(&self) -> Vec<Label<'a>> {
        let places = self.spots.iter().map(|spot| (spot.x, spot.point.when.as_str()));
        rows(places, self.left - 20.0, 1, 12.0)
            .into_iter()
            .flatten()
            .map(|(label, _)| label)
            .collect()
    }

    /// Every signal with its words, above the plot.
    pub(super) fn signals(&self) -> Vec<(&Spot<'a>, Label<'a>)> {
        let marked: Vec<(&Spot<'a>, &'a str)> = self
            .spots
            .iter()
            .filter_map(|spot| Some((spot, spot.point.signal.as_deref()?)))
            .collect();
        let places = marked.iter().map(|(spot, words)| (spot.x, *words));
        let placed = stairs(places, 70.0, SIGNAL_ROWS);
        marked
            .into_iter()
            .zip(placed)
            .map(|((spot, _), (label, row))| {
                (spot, Label { y: TOP - 18.0 - row as f64 * ROW, ..label })
            })
            .collect()
    }

    /// Every event with its words, below the dates.
    pub(super) fn events(&self, events: &'a [Event]) -> Vec<Label<'a>> {
        let mut places: Vec<(f64, &'a str)> =
            events.iter().map(|event| (self.x(event.at), event.name.as_str())).collect();
        places.sort_by(|a, b| a.0.total_cmp(&b.0));
        stairs(places.into_iter(), 4.0, EVENT_ROWS)
            .into_iter()
            .map(|(label, row)| Label { y: self.bottom + 38.0 + row as f64 * ROW, ..label })
            .collect()
    }
}

/// Words that end where they belong to, one row further out where they would lie under a line
/// that leads to words placed before. Where no row is free they take the outermost.
fn stairs<'a>(
    places: impl Iterator<Item = (f64, &'a str)>,
    least: f64,
    rows: usize,
) -> Vec<(Label<'a>, usize)> {
    let mut ends = vec![f64::MIN; rows];
    places
        .map(|(at, words)| {
            let width = width_of(words, 13.0) * 0.95;
            let x = (at + 4.0 - width).max(least);
            // Lines to the rows beyond pass through the nearer ones.
            let is_free = |row: &usize| ends.iter().skip(*row).all(|end| x >= end + 8.0);
            let row = (0..rows).find(is_free).unwrap_or(rows - 1);
            ends[row] = (x + width).max(at);
            (Label { at, x, y: 0.0, words, leads_up: x > least }, row)
        })
        .collect()
}

/// Words centred on a place, as far as the drawing's sides allow.
fn beside(at: f64, words: &str, least: f64) -> Label<'_> {
    let width = width_of(words, 13.0);
    let x = (at - width / 2.0).min(WIDTH - 4.0 - width).max(least);
    Label { at, x, y: 0.0, words, leads_up: false }
}

/// Puts each word into the first row in which it touches no other, with that row; none where
/// every row is full. The places come in order.
fn rows<'a>(
    places: impl Iterator<Item = (f64, &'a str)>,
    least: f64,
    rows: usize,
    gap: f64,
) -> Vec<Option<(Label<'a>, usize)>> {
    let mut ends = vec![f64::MIN; rows];
    places
        .map(|(at, words)| {
            let label = beside(at, words, least);
            let row = ends.iter().position(|end| label.x >= end + gap)?;
            ends[row] = label.x + width_of(words, 13.0);
            Some((label, row))
        })
        .collect()
}
