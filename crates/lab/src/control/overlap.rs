//! A new lot beside the old one: the step between them, from the results of the time in which both
//! were tested.

use super::list;
use super::points::Known;
use crate::code::{ItemCode, LotCode};
use crate::estimate::{double, rounded};
use crate::policy::Policy;
use crate::state::{Lab, ReferenceLot};
use serde::Serialize;
use stonewear_measure::Decimal;
use stonewear_stats::comparison::verification;

/// The step between two lots.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Overlap {
    /// The old lot.
    pub old: LotCode,
    /// The new lot.
    pub new: LotCode,
    /// The apparatus.
    pub apparatus: ItemCode,
    /// How many results of the old and of the new lot are compared.
    pub results: (usize, usize),
    /// How many of each the laboratory wants.
    pub wanted: u32,
    /// Mean of the new less mean of the old, % loss; absent with fewer than two results of either.
    pub difference_percent: Option<Decimal>,
    /// The 95 % interval of it, % loss.
    pub interval_percent: Option<(Decimal, Decimal)>,
    /// In plain words.
    pub verdict: String,
}

impl Overlap {
    /// Whether there are as many results of each as the laboratory wants.
    pub fn is_enough(&self) -> bool {
        let wanted = usize::try_from(self.wanted).unwrap_or(usize::MAX);
        self.results.0 >= wanted && self.results.1 >= wanted
    }
}

impl Lab {
    /// The step from an old lot to a new one on an apparatus.
    ///
    /// Compared are the results of the new lot with as many of the old one that lie nearest before
    /// or among them: only these were made under the same conditions.
    pub fn overlap(&self, old: &ReferenceLot, new: &ReferenceLot, apparatus: &ItemCode) -> Overlap {
        let value = self.policy(Policy::OverlapResults).value;
        let wanted = list::read(value, ["results"]).and_then(|[results]| results).unwrap_or(5);
        let mut of_old = self.known_losses(old, apparatus).to_vec();
        let mut of_new = self.known_losses(new, apparatus).to_vec();
        // The new lot goes on to be tested after the old one has come to its end.
        if let Some(end) = of_old.last().map(|last| last.at) {
            let among = of_new.iter().filter(|one| one.at <= end).count();
            of_new.truncate(among.max(usize::try_from(wanted).unwrap_or(5)));
        }
        let most = of_new.len().max(usize::try_from(wanted).unwrap_or(5));
        of_old.drain(..of_old.len().saturating_sub(most));
        let step = step(&of_old, &of_new);
        Overlap {
            old: old.code.clone(),
            new: new.code.clone(),
            apparatus: apparatus.clone(),
            results: (of_old.len(), of_new.len()),
            wanted,
            difference_percent: step.map(|(difference, _)| difference),
            interval_percent: step.map(|(_, interval)| interval),
            verdict: verdict(step),
        }
    }
}

/// The difference of the means and its 95 % interval, variances apart (B. L. Welch 1947).
fn step(old: &[Known], new: &[Known]) -> Option<(Decimal, (Decimal, Decimal))> {
    let values =
        |known: &[Known]| known.iter().map(|one| double(one.loss_percent)).collect::<Vec<f64>>();
    let compared = verification(&values(new), &values(old), 0.05).ok()?;
    let half = compared.welch.critical * compared.welch.standard_error;
    let difference = compared.difference();
    let at = |value: f64| rounded(value, 2);
    Some((at(difference)?, (at(difference - half)?, at(difference + half)?)))
}

fn verdict(step: Option<(Decimal, (Decimal, Decimal))>) -> String {
    let Some((difference, (lower, upper))) = step else {
        return "the step is not known: it needs at least two results of each lot that vary"
            .to_owned();
    };
    let side = if difference < Decimal::ZERO { "less" } else { "more" };
    let by = difference.abs();
    let interval = format!("95 % interval {lower} to {upper} % loss");
    if lower > Decimal::ZERO || upper < Decimal::ZERO {
        format!("the new lot loses {by} % {side} than the old one ({interval}): the step is real")
    } else {
        format!(
            "the new lot loses {by} % {side} than the old one ({interval}): the step may be nothing"
        )
    }
}
