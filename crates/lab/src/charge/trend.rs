//! How fast a charge wears: a line of mass over revolutions, with a step wherever the charge was
//! changed.

use super::{History, LEVEL};
use crate::estimate::double;
use stonewear_stats::regression::{
    Interval, Line, NestedTest, Prediction, Residual, extra_sum_of_squares, parallel_lines,
    straight_line,
};
use stonewear_stats::{Figure, StatsError, Undefined};

/// Readings that a line needs so that something is left to judge it by.
const FEWEST: usize = 3;
/// Below this probability the stretches between changes do not wear at one rate.
const DIFFERENT: f64 = 0.05;

/// What a rate rests on.
#[derive(Debug, Clone, PartialEq)]
pub enum Basis {
    /// All readings: the charge was never changed.
    OneStretch,
    /// One rate for all stretches between changes, each with a level of its own.
    AllStretches {
        /// How many of them have readings.
        stretches: usize,
    },
    /// Only the readings since the last change: before, the charge wore at another rate.
    SinceLastChange {
        /// The test that told.
        test: NestedTest,
    },
}

/// How fast a charge wears.
#[derive(Debug, Clone, PartialEq)]
pub struct Trend {
    /// The line of the stretch that the charge is in now: grams over thousand revolutions.
    pub line: Line,
    /// Grams that it loses in a thousand revolutions.
    pub rate: f64,
    /// Standard error of that.
    pub standard_error: Figure,
    /// Interval of the rate at the level of this module.
    pub interval: Result<Interval, Undefined>,
    /// Readings that it rests on.
    pub readings: usize,
    /// What it rests on.
    pub basis: Basis,
}

/// The readings of a stretch between two changes: thousands of revolutions, grams.
type Stretch = (Vec<f64>, Vec<f64>);

impl Trend {
    /// The trend of a history; the reason in words where there is none.
    pub(super) fn of(history: &History) -> Result<Self, String> {
        let stretches = stretches(history);
        let count = history.readings.len();
        if count < FEWEST {
            return Err(format!(
                "a rate needs at least {FEWEST} readings of the mass; there are {count}"
            ));
        }
        let said = |error: StatsError| match error {
            StatsError::Undefined(Undefined::NoVariation { .. }) => {
                "the charge has not turned between its readings".to_owned()
            }
            StatsError::TooFew { need, got, .. } => format!(
                "with its changes a rate needs at least {need} readings of the mass; there are {got}"
            ),
            other => other.to_string(),
        };
        if let Some(test) = other_rate_before(&stretches)
            && let Some((x, y)) = stretches.last()
        {
            let own = parallel_lines(&[(x, y)]).map_err(said)?;
            return Self::from(own, Basis::SinceLastChange { test }, x.len());
        }
        let groups: Vec<(&[f64], &[f64])> =
            stretches.iter().map(|(x, y)| (x.as_slice(), y.as_slice())).collect();
        let all = parallel_lines(&groups).map_err(said)?;
        let with_readings = stretches.iter().filter(|(x, _)| !x.is_empty()).count();
        let basis = if with_readings > 1 {
            Basis::AllStretches { stretches: with_readings }
        } else {
            Basis::OneStretch
        };
        Self::from(all, basis, count)
    }

    fn from(
        lines: stonewear_stats::regression::ParallelLines,
        basis: Basis,
        readings: usize,
    ) -> Result<Self, String> {
        let interval = lines.slope_interval(LEVEL).map_err(|error| error.to_string())?;
        let Some(Some(line)) = lines.lines.last() else {
            return Err("since its last change the mass was not read".to_owned());
        };
        Ok(Self {
            line: line.clone(),
            rate: -lines.slope,
            standard_error: lines.slope_standard_error.clone(),
            interval: interval.map(|one| Interval { lower: -one.upper, upper: -one.lower }),
            readings,
            basis,
        })
    }

    /// The mass after so many thousand revolutions of the charge, with its intervals.
    pub fn mass_after(&self, thousands: f64) -> Option<Prediction> {
        self.line.predict(thousands, LEVEL).ok()
    }

    /// Whether it is sure, at the level of this module, that the mass changes at all.
    pub fn is_seen(&self) -> bool {
        self.interval.as_ref().is_ok_and(|one| one.lower > 0.0 || one.upper < 0.0)
    }

    /// What the rate rests on, in words.
    pub fn basis_in_words(&self) -> String {
        let readings = crate::words::counted(self.readings, "reading");
        match &self.basis {
            Basis::OneStretch => format!("one line through {readings}"),
            Basis::AllStretches { stretches } => format!(
                "one rate through {readings} of {stretches} stretches between changes of the charge, each with its own level"
            ),
            Basis::SinceLastChange { test } => format!(
                "{readings} since the last change alone: before it the charge wore at another rate (F = {:.2}, p = {:.3})",
                test.f, test.p
            ),
        }
    }
}

/// Thousands of revolutions that had been turned at a reading.
pub(super) fn thousands(turned: stonewear_measure::Decimal) -> f64 {
    double(turned) / 1000.0
}

/// The stretches between changes, the one that the charge is in now last, each perhaps empty.
fn stretches(history: &History) -> Vec<Stretch> {
    let mut stretches = vec![(Vec::new(), Vec::new()); history.stretches];
    for reading in &history.readings {
        if let Some((x, y)) = stretches.get_mut(reading.segment) {
            x.push(thousands(reading.turned));
            y.push(double(reading.mass_g));
        }
    }
    stretches
}

/// The test that shows that the stretches do not wear at one rate; `None` where nothing shows it, or
/// the last stretch has too few readings to stand alone.
fn other_rate_before(stretches: &[Stretch]) -> Option<NestedTest> {
    let has_slope = |one: &&Stretch| one.0.len() >= FEWEST && straight_line(&one.0, &one.1).is_ok();
    stretches.last().filter(has_slope)?;
    let with_slopes: Vec<&Stretch> = stretches.iter().filter(has_slope).collect();
    let groups: Vec<(&[f64], &[f64])> =
        with_slopes.iter().map(|(x, y)| (x.as_slice(), y.as_slice())).collect();
    if groups.len() < 2 {
        return None;
    }
    let parallel = parallel_lines(&groups).ok()?;
    let own: Vec<Line> = groups.iter().filter_map(|(x, y)| straight_line(x, y).ok()).collect();
    let smaller = Residual {
        squares: parallel.residual_squares,
        degrees_of_freedom: parallel.degrees_of_freedom,
    };
    let larger = Residual {
        squares: own.iter().map(|line| line.residual_squares).sum(),
        degrees_of_freedom: own.iter().map(|line| line.degrees_of_freedom).sum(),
    };
    let test = extra_sum_of_squares(smaller, larger).ok()?.ok()?;
    (test.p < DIFFERENT).then_some(test)
}
