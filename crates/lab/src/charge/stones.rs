//! Which kind of stone wears a charge how fast: one rate a kind, fitted together.

use super::history::MassReading;
use super::trend::thousands;
use super::{History, LEVEL};
use crate::estimate::double;
use stonewear_measure::Decimal;
use stonewear_stats::regression::{
    Design, Fit, Interval, NestedTest, Residual, extra_sum_of_squares, fit,
};
use stonewear_stats::{StatsError, Undefined};

/// Kinds with fewer runs than this are taken together: a rate of their own would say nothing.
const FEWEST_RUNS: usize = 3;
/// More kinds than this are taken together, those with the fewest revolutions first.
const MOST_KINDS: usize = 8;
/// Below this probability the kinds are said to differ.
const DIFFERENT: f64 = 0.05;

/// How fast one kind of stone wears the charge.
#[derive(Debug, Clone, PartialEq)]
pub struct StoneWear {
    /// The kind, as samples name it.
    pub kind: String,
    /// Runs with it.
    pub runs: usize,
    /// Revolutions turned with it.
    pub revolutions: Decimal,
    /// Grams lost in a thousand revolutions with it; the reason where that cannot be said.
    pub rate: Result<f64, String>,
    /// Interval of the rate at the level of this module.
    pub interval: Option<Interval>,
}

/// The kinds of stone side by side.
#[derive(Debug, Clone, PartialEq)]
pub struct Stones {
    /// Each kind, the one with the most revolutions first.
    pub kinds: Vec<StoneWear>,
    /// The test of one rate for all against a rate for each; absent where it cannot be made.
    pub test: Option<NestedTest>,
    /// What the data say of the kinds, in a plain sentence.
    pub verdict: String,
}

impl Stones {
    /// The rates of the kinds of stone in a history.
    pub(super) fn of(history: &History) -> Self {
        let mut kinds = kinds(history);
        match kinds.len() {
            0 => return Self::without(kinds, "the charge has not turned yet".to_owned()),
            1 => {
                let words = format!("all runs were with one kind of stone, {}", kinds[0].kind);
                return Self::without(kinds, words);
            }
            _ => {}
        }
        let y: Vec<f64> = history.readings.iter().map(|reading| double(reading.mass_g)).collect();
        let levels = levels(history);
        let turned: Vec<Vec<f64>> =
            kinds.iter().map(|kind| turned_with(history, &kinds, &kind.kind)).collect();
        let all: Vec<f64> = history.readings.iter().map(|one| thousands(one.turned)).collect();
        let together = fitted(&levels, &[("all kinds", &all)], &y);
        let named: Vec<(&str, &[f64])> = kinds
            .iter()
            .zip(&turned)
            .map(|(kind, turned)| (kind.kind.as_str(), turned.as_slice()))
            .collect();
        let apart = match fitted(&levels, &named, &y) {
            Ok(apart) if apart.degrees_of_freedom > 0 => apart,
            Ok(_) | Err(StatsError::TooFew { .. }) => {
                let words = format!(
                    "there are {} of the mass, too few to give each of {} kinds a rate of its own",
                    crate::words::counted(y.len(), "reading"),
                    kinds.len()
                );
                return Self::without(kinds, words);
            }
            Err(StatsError::Dependent { name }) => {
                let words = format!(
                    "the readings do not separate the kinds of stone: none of them tells what was turned with {name} from the rest"
                );
                return Self::without(kinds, words);
            }
            Err(other) => return Self::without(kinds, other.to_string()),
        };
        for (n, kind) in kinds.iter_mut().enumerate() {
            let place = levels.len() + n;
            kind.rate = match apart.coefficients.get(place).map(|one| one.estimate.clone()) {
                Some(Ok(slope)) => Ok(-slope),
                Some(Err(why)) => Err(why.to_string()),
                None => Err("not fitted".to_owned()),
            };
            kind.interval = apart
                .interval(place, LEVEL)
                .ok()
                .and_then(Result::ok)
                .map(|one| Interval { lower: -one.upper, upper: -one.lower });
        }
        let test = together.ok().and_then(|together| nested(&together, &apart).ok());
        let verdict = verdict(test.as_ref());
        Self { kinds, test, verdict }
    }

    fn without(kinds: Vec<StoneWear>, verdict: String) -> Self {
        Self { kinds, test: None, verdict }
    }
}

fn verdict(test: Option<&NestedTest>) -> String {
    match test {
        Some(test) if test.p < DIFFERENT => format!(
            "the kinds of stone wear the charge at different rates (F = {:.2} with {} and {} degrees of freedom, p = {:.3})",
            test.f, test.numerator, test.denominator, test.p
        ),
        Some(test) => format!(
            "the readings do not show that the kinds of stone wear the charge at different rates (F = {:.2} with {} and {} degrees of freedom, p = {:.2}); the rate of all together is the one to use",
            test.f, test.numerator, test.denominator, test.p
        ),
        None => "whether the kinds of stone differ cannot be tested".to_owned(),
    }
}

fn nested(smaller: &Fit, larger: &Fit) -> Result<NestedTest, Undefined> {
    let residual = |fit: &Fit| Residual {
        squares: fit.residual_sum_of_squares,
        degrees_of_freedom: fit.degrees_of_freedom,
    };
    extra_sum_of_squares(residual(smaller), residual(larger))
        .map_err(|_| Undefined::Because("the sums cannot be compared"))?
}

/// One level for each stretch between changes, and these columns.
fn fitted(levels: &[Vec<f64>], columns: &[(&str, &[f64])], y: &[f64]) -> Result<Fit, StatsError> {
    let all: Vec<(&str, &[f64])> = levels
        .iter()
        .map(|level| ("a stretch between changes", level.as_slice()))
        .chain(columns.iter().copied())
        .collect();
    fit(Design::predictors(&all, false)?, y)
}

/// For each stretch with readings: 1 at its readings, 0 elsewhere.
fn levels(history: &History) -> Vec<Vec<f64>> {
    let is_in = |n: usize| move |one: &MassReading| f64::from(u8::from(one.segment == n));
    (0..history.stretches)
        .filter(|n| history.readings.iter().any(|one| one.segment == *n))
        .map(|n| history.readings.iter().map(is_in(n)).collect())
        .collect()
}

/// What samples call a stone, alike however it is capitalised.
fn same_kind(one: &str, other: &str) -> bool {
    one.trim().to_lowercase() == other.trim().to_lowercase()
}

/// The name of what is taken together.
const OTHERS: &str = "other kinds";

/// The kinds of a history, the rare ones taken together.
fn kinds(history: &History) -> Vec<StoneWear> {
    let mut kinds: Vec<StoneWear> = Vec::new();
    for turning in &history.turnings {
        let known = kinds.iter_mut().find(|kind| same_kind(&kind.kind, &turning.material));
        match known {
            Some(kind) => {
                kind.runs += 1;
                kind.revolutions = kind.revolutions.saturating_add(turning.revolutions);
            }
            None => kinds.push(StoneWear {
                kind: turning.material.trim().to_owned(),
                runs: 1,
                revolutions: turning.revolutions,
                rate: Err("the readings do not tell".to_owned()),
                interval: None,
            }),
        }
    }
    kinds.sort_by(|a, b| b.revolutions.cmp(&a.revolutions).then(a.kind.cmp(&b.kind)));
    let (mut own, rare): (Vec<StoneWear>, Vec<StoneWear>) =
        kinds.into_iter().partition(|kind| kind.runs >= FEWEST_RUNS);
    let more = if own.len() > MOST_KINDS { own.split_off(MOST_KINDS) } else { Vec::new() };
    let mut rest = more.into_iter().chain(rare);
    if let Some(first) = rest.next() {
        let others =
            rest.fold(StoneWear { kind: OTHERS.to_owned(), ..first }, |sum, kind| StoneWear {
                runs: sum.runs + kind.runs,
                revolutions: sum.revolutions.saturating_add(kind.revolutions),
                ..sum
            });
        own.push(others);
    }
    own
}

/// Thousands of revolutions turned with a kind before each reading.
fn turned_with(history: &History, kinds: &[StoneWear], kind: &str) -> Vec<f64> {
    let has_own = |material: &str| kinds.iter().any(|one| same_kind(&one.kind, material));
    let belongs =
        |material: &str| same_kind(material, kind) || (kind == OTHERS && !has_own(material));
    let mut sum = Decimal::ZERO;
    let mut sums = vec![sum];
    for turning in &history.turnings {
        if belongs(&turning.material) {
            sum = sum.saturating_add(turning.revolutions);
        }
        sums.push(sum);
    }
    let at = |one: &MassReading| sums.get(one.runs_before).copied().unwrap_or(sum);
    history.readings.iter().map(|one| thousands(at(one))).collect()
}
