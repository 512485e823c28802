//! Scores over the years: one series for a method and a quantity, its running mean, its bias and
//! whether it drifts.

use super::score::{ScoreKind, ScoreVerdict, Scored};
use crate::state::{Lab, Score};
use std::collections::BTreeMap;
use stonewear_stats::describe::describe;
use stonewear_stats::regression::straight_line;
use stonewear_stats::uncertainty::expanded;

/// Coverage of the intervals.
const LEVEL: f64 = 0.95;

/// All scores of one method and quantity, oldest first.
#[derive(Debug, Clone)]
pub struct Series<'a> {
    /// The method.
    pub method: &'a str,
    /// The quantity.
    pub quantity: &'a str,
    /// The scores.
    pub points: Vec<SeriesPoint<'a>>,
    /// Mean of the z and z' scores: the bias, in standard deviations for assessment.
    pub mean: Option<f64>,
    /// Interval (95 %, t) of that mean.
    pub interval: Option<(f64, f64)>,
    /// How the scores change in a year, with the interval (95 %, t) of the slope.
    pub slope: Option<(f64, f64, f64)>,
}

/// One score of a series.
#[derive(Debug, Clone)]
pub struct SeriesPoint<'a> {
    /// The score as it is kept.
    pub score: &'a Score,
    /// Its values and its verdict.
    pub scored: Scored,
    /// Mean of the z and z' scores up to here.
    pub running_mean: Option<f64>,
}

/// Every series of the laboratory; scores that were replaced are left out.
pub fn series(lab: &Lab) -> Vec<Series<'_>> {
    let mut groups = BTreeMap::<(&str, &str), Vec<(&Score, Scored)>>::new();
    for score in lab.scores.values().filter(|score| score.replaced_by.is_none()) {
        if let Some(scored) = score.scored() {
            let told = &score.told.value;
            groups.entry((&told.method, &told.quantity)).or_default().push((score, scored));
        }
    }
    groups.into_iter().map(|((method, quantity), scores)| one(method, quantity, scores)).collect()
}

fn one<'a>(method: &'a str, quantity: &'a str, mut scores: Vec<(&'a Score, Scored)>) -> Series<'a> {
    let order = |score: &Score| (score.told.value.on, score.code().clone());
    scores.sort_by_key(|(score, _)| order(score));
    let mut years = Vec::new();
    let mut values = Vec::new();
    let mut points = Vec::new();
    for (score, scored) in scores {
        // E_n and ζ are on other scales: a mean with them would mean nothing.
        let counts = matches!(scored.kind, ScoreKind::Z | ScoreKind::ZPrime);
        if counts {
            let on = score.told.value.on;
            years.push(f64::from(on.year()) + f64::from(on.day_of_year()) / 365.25);
            values.push(scored.value);
        }
        let running_mean = describe(&values).ok().and_then(|all| all.mean.ok());
        points.push(SeriesPoint { score, scored, running_mean });
    }
    let summary = describe(&values).ok();
    let mean = summary.as_ref().and_then(|all| all.mean.clone().ok());
    let spread = summary.and_then(|all| all.standard_deviation.ok());
    let interval = mean.zip(spread).and_then(|(mean, spread)| {
        let n = values.len() as f64;
        let reach = expanded(spread / n.sqrt(), Some(n - 1.0), LEVEL).ok()?.uncertainty;
        Some((mean - reach, mean + reach))
    });
    Series { method, quantity, points, mean, interval, slope: slope(&years, &values) }
}

/// The slope of the line through the scores, with its interval; at least four are wanted, since a
/// line through three always looks like a trend.
fn slope(years: &[f64], values: &[f64]) -> Option<(f64, f64, f64)> {
    if values.len() < 4 {
        return None;
    }
    let line = straight_line(years, values).ok()?;
    let freedom = line.degrees_of_freedom as f64;
    let error = (line.residual_squares / freedom / line.x_squares).sqrt();
    let reach = expanded(error, Some(freedom), LEVEL).ok()?.uncertainty;
    Some((line.slope, line.slope - reach, line.slope + reach))
}

impl Series<'_> {
    /// What the series says, in plain words.
    pub fn sentence(&self) -> String {
        let bad =
            |verdict| self.points.iter().filter(|point| point.scored.verdict == verdict).count();
        let (questionable, unsatisfactory) =
            (bad(ScoreVerdict::Questionable), bad(ScoreVerdict::Unsatisfactory));
        let mut words = format!(
            "{}; {questionable} questionable, {unsatisfactory} unsatisfactory.",
            crate::words::counted(self.points.len(), "score")
        );
        if let (Some(mean), Some((low, high))) = (self.mean, self.interval) {
            let what = if low > 0.0 {
                "the results lie high beside others"
            } else if high < 0.0 {
                "the results lie low beside others"
            } else {
                "no bias is seen"
            };
            words += &format!(" Mean {mean:.2} (95 % interval {low:.2} to {high:.2}): {what}.");
        }
        if let Some((slope, low, high)) = self.slope {
            let what = if low > 0.0 || high < 0.0 { "they drift" } else { "no drift is seen" };
            words += &format!(" Change in a year {slope:.2} ({low:.2} to {high:.2}): {what}.");
        }
        words
    }
}
