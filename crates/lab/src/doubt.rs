//! This check failed: which results stand on what it was to prove, and by how much can they be
//! wrong?
//!
//! The question needs no preparation: every use of every item is in the facts. What is found goes
//! in as a number whose meaning follows from the attribute ([`Attribute`]); where no sensitivity is
//! known, the answer says so instead of guessing.

use crate::code::{CheckCode, ItemCode, ResultCode, SampleCode, SpecimenCode};
use crate::fact::Condition;
use crate::state::{Check, Lab, Noted, Run, Sensitivity, Specimen, TestResult};
use jiff::Timestamp;
use serde::Serialize;
use std::collections::BTreeSet;
use stonewear_measure::{Decimal, Exact, Limits};
use stonewear_method::Weighed;
use stonewear_method::loss::loss;
use stonewear_procedure::ItemKind;
use stonewear_procedure::apparatus::Control;

/// What of an item is in doubt, as far as its effect on a loss can be worked out.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Attribute {
    /// A balance shows this many grams too much.
    Indication,
    /// A timer is this many percent slow: it shows less time than has passed.
    Timer,
    /// A counter shows this many percent too few.
    Counter,
    /// The jars turn at this many revolutions per minute.
    Speed,
    /// A ball charge weighs this many grams.
    ChargeMass,
    /// A thermometer shows this many degrees too much.
    WaterTemperature,
    /// Something whose effect on a loss nobody has published.
    Other,
}

impl Attribute {
    fn of(kind: ItemKind, name: &str) -> Self {
        match (kind, name) {
            (ItemKind::Balance, "indication") => Self::Indication,
            (ItemKind::Apparatus, "timer") => Self::Timer,
            (ItemKind::Apparatus | ItemKind::Drum, "counter") => Self::Counter,
            (ItemKind::Apparatus | ItemKind::Drum, "speed") => Self::Speed,
            (ItemKind::BallCharge, "mass") => Self::ChargeMass,
            (ItemKind::Thermometer, "indication") => Self::WaterTemperature,
            _ => Self::Other,
        }
    }
}

/// What the number that was found means for an attribute of a kind of item, in words.
pub fn meaning_of_found(kind: ItemKind, attribute: &str) -> &'static str {
    match Attribute::of(kind, attribute) {
        Attribute::Indication => "grams that the balance shows too much (negative: too little)",
        Attribute::Timer => "percent that the timer is slow (negative: fast)",
        Attribute::Counter => "percent that the counter shows too few (negative: too many)",
        Attribute::Speed => "revolutions per minute that the jars really turn",
        Attribute::ChargeMass => "grams that the charge really weighs",
        Attribute::WaterTemperature => {
            "degrees Celsius that the thermometer shows too much (negative: too little)"
        }
        Attribute::Other => "the value as found; its effect on a loss is not known",
    }
}

/// How much a result can be wrong.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
#[serde(tag = "effect", rename_all = "kebab-case")]
pub enum Effect {
    /// It would be this.
    Moves {
        /// The loss as it would be, %, rounded like the result.
        would_be_percent: Decimal,
        /// The same before rounding, %, to twelve places.
        would_be_unrounded: String,
        /// How that is worked out, and how sure it is.
        basis: String,
    },
    /// Nothing changes, for this reason.
    Untouched {
        /// Why.
        why: &'static str,
    },
    /// Nobody knows.
    NotKnown {
        /// Why not.
        why: &'static str,
    },
}

/// A result that stands on what is in doubt.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Doubtful {
    /// The result.
    pub result: ResultCode,
    /// Its sample.
    pub sample: SampleCode,
    /// The loss as reported, %; absent where the test gives none.
    pub loss_percent: Option<Decimal>,
    /// Everything as reported, in words.
    pub reported: String,
    /// Whether it was released.
    pub released: bool,
    /// When the item was first used for it within the doubt.
    pub used_at: Timestamp,
    /// How much it can be wrong.
    #[serde(flatten)]
    pub effect: Effect,
    /// Whether the decision against the sample's limit would be the other one; absent where there
    /// is no limit or the effect is not known.
    pub decision_flips: Option<bool>,
}

/// The results in doubt.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct DoubtAnswer {
    /// The item.
    pub item: ItemCode,
    /// What of it is in doubt.
    pub attribute: String,
    /// Since when: the last proof, or what was asked for; absent when it was never proved.
    pub since: Option<Timestamp>,
    /// The check that was the last proof, where the doubt begins with it.
    pub last_proof: Option<CheckCode>,
    /// The results, oldest use first.
    pub results: Vec<Doubtful>,
}

const EXACT: &str = "exact: the masses without the error of the balance";
const PROPORTIONAL: &str =
    "derived: loss taken as proportional to revolutions near the end of the run; not published";

const NO_SENSITIVITY: &str =
    "no sensitivity of the loss to it is published; an experiment of the laboratory would tell";

/// What the loss is multiplied with when a condition grows by `more`, in the unit of the
/// sensitivity: 1 + s · more / 100.
fn follows(own: &Noted<Sensitivity>, more: &Exact) -> Option<Exact> {
    let percent = Exact::from(own.value.percent_of_loss).times(more);
    let share = percent.divided_by(&Exact::from(Decimal::ONE_HUNDRED))?;
    Some(share.plus(&Exact::from(Decimal::ONE)))
}

/// How much more than one a ratio is, %.
fn more_percent(ratio: &Exact) -> Option<Exact> {
    let hundred = Exact::from(Decimal::ONE_HUNDRED);
    Some(ratio.times(&hundred).plus(&Exact::from(-Decimal::ONE_HUNDRED)))
}

fn basis_of(own: &Noted<Sensitivity>) -> String {
    let Sensitivity { condition, percent_of_loss, uncertainty, experiment, .. } = &own.value;
    let within = uncertainty.map_or_else(String::new, |u| format!(" ± {u} (k = 2)"));
    format!(
        "the laboratory's own experiment ({experiment}): {percent_of_loss}{within} % of the loss {}",
        condition.per()
    )
}

impl Lab {
    /// Whether what is recorded of a specimen, as it is known now, rests on an item.
    pub(crate) fn stands_on(&self, specimen: &SpecimenCode, item: &ItemCode) -> bool {
        let Some(specimen) = self.specimens.get(specimen) else { return false };
        let weighings = specimen.fractions.values().chain([&specimen.before, &specimen.after]);
        let weighed = weighings.filter_map(|masses| masses.last()).any(|mass| {
            let mass = &mass.value;
            mass.balance == *item
                || [&mass.sieve, &mass.guard_sieve, &mass.oven]
                    .into_iter()
                    .any(|used| used.as_ref() == Some(item))
        });
        let read = specimen.readings.values().filter_map(|taken| taken.last());
        let mut read_with = read.filter_map(|taken| taken.value.instrument.as_ref());
        let run = specimen.run.as_ref().and_then(|run| self.runs.get(run));
        weighed
            || read_with.any(|used| used == item)
            || run.is_some_and(|run| {
                run.apparatus == *item
                    || run.thermometer.as_ref() == Some(item)
                    || run.placed(&specimen.code).is_some_and(|placed| {
                        placed.jar.as_ref() == Some(item) || placed.charge.as_ref() == Some(item)
                    })
            })
    }

    /// The results that rest on an item between the pass before this check and the pass after it:
    /// those that nothing proves any longer when this check was not passed after all.
    pub(crate) fn standing_on_pass(&self, check: &Check) -> Vec<ResultCode> {
        let ended = |one: &Check| one.ended.as_ref().map(|ended| ended.position);
        let this = ended(check).unwrap_or_default();
        let others: Vec<u64> = self
            .checks_of(&check.item)
            .filter(|one| one.code != check.code && one.passed())
            .filter(|one| one.procedure.proves.iter().any(|of| check.procedure.proves.contains(of)))
            .filter_map(ended)
            .collect();
        let from = others.iter().copied().filter(|at| *at < this).max().unwrap_or_default();
        let until = others.iter().copied().filter(|at| *at > this).min().unwrap_or(u64::MAX);
        let uses = self.uses.get(&check.item).map(Vec::as_slice).unwrap_or_default();
        let within = uses
            .iter()
            .filter(|one| one.position > from && one.position < until)
            .filter(|one| self.stands_on(&one.specimen, &check.item));
        let mut results: Vec<ResultCode> = Vec::new();
        for result in within.filter_map(|one| self.result_of(&one.specimen)) {
            if !results.contains(&result.code) {
                results.push(result.code.clone());
            }
        }
        results
    }

    /// The results that stand on an attribute of an item since it was last proved (or since an
    /// instant), and how much each can be wrong when the attribute was found to be `found`.
    ///
    /// `None` when there is no such item.
    pub fn doubt(
        &self,
        item: &ItemCode,
        attribute: &str,
        found: Option<Decimal>,
        since: Option<Timestamp>,
    ) -> Option<DoubtAnswer> {
        let kind = self.items.get(item)?.kind;
        let proof = self.last_proof_of(item, attribute);
        let is_asked = since.is_some();
        let since_position = proof.map_or(0, |(position, ..)| position);
        let since = since.or(proof.map(|(_, at, _)| at));
        let is_after = |position: u64, at: Timestamp| match since {
            Some(since) if proof.is_none_or(|(_, proved, _)| proved != since) => at >= since,
            _ => position > since_position,
        };
        let question = Question {
            lab: self,
            item,
            attribute: Attribute::of(kind, attribute),
            found,
            is_after: &is_after,
        };
        Some(DoubtAnswer {
            item: item.clone(),
            attribute: attribute.to_owned(),
            since,
            last_proof: proof.filter(|_| !is_asked).map(|(.., check)| check.clone()),
            results: question.results(),
        })
    }

    /// The last check that proved this attribute of an item: its end, and its code.
    fn last_proof_of<'a>(
        &'a self,
        item: &'a ItemCode,
        attribute: &str,
    ) -> Option<(u64, Timestamp, &'a CheckCode)> {
        let check = self
            .passed_before(item, u64::MAX)
            .find(|check| check.procedure.proves.iter().any(|proved| proved == attribute))?;
        check.ended.as_ref().map(|ended| (ended.position, ended.at, &check.code))
    }
}

struct Question<'a> {
    lab: &'a Lab,
    item: &'a ItemCode,
    attribute: Attribute,
    found: Option<Decimal>,
    is_after: &'a dyn Fn(u64, Timestamp) -> bool,
}

impl Question<'_> {
    fn results(&self) -> Vec<Doubtful> {
        let uses = self.lab.uses.get(self.item).map(Vec::as_slice).unwrap_or_default();
        // Uses are in the order of the journal: the first that is in doubt is found by halving.
        let first = uses.partition_point(|one| !(self.is_after)(one.position, one.at));
        let mut judged: BTreeSet<&ResultCode> = BTreeSet::new();
        uses[first..]
            .iter()
            .filter(|one| self.lab.stands_on(&one.specimen, self.item))
            .filter_map(|one| Some((self.lab.result_of(&one.specimen)?, one.at)))
            .filter(|(result, _)| judged.insert(&result.code))
            .filter_map(|(result, used_at)| self.judge(result, used_at))
            .collect()
    }

    fn judge(&self, result: &TestResult, used_at: Timestamp) -> Option<Doubtful> {
        let version = result.current()?;
        let effect = self.effect(result);
        let reported = version.value.loss_percent;
        let decision_flips = match (&effect, self.lab.limit_for(result).zip(reported)) {
            (Effect::Moves { would_be_percent, .. }, Some((limit, reported))) => {
                let limits = Limits::at_most(limit);
                Some(limits.hold(*would_be_percent) != limits.hold(reported))
            }
            (Effect::Untouched { .. }, Some(_)) => Some(false),
            _ => None,
        };
        Some(Doubtful {
            result: result.code.clone(),
            sample: result.sample.clone(),
            loss_percent: reported,
            reported: version.value.in_words(),
            released: version.value.release.is_some(),
            used_at,
            effect,
            decision_flips,
        })
    }

    fn effect(&self, result: &TestResult) -> Effect {
        let Some(found) = self.found else {
            return Effect::NotKnown { why: "no value as found is given" };
        };
        let position = result.current().map_or(0, |version| version.position);
        let method = self.lab.methods.get(&result.method).map(|in_use| in_use.at(position));
        if method.is_some_and(|method| !method.weighs_before_and_after()) {
            return Effect::NotKnown {
                why: "the result is put together from readings; work it out again with each put right",
            };
        }
        match self.attribute {
            Attribute::Indication => self.without_the_error(result, found),
            Attribute::Timer | Attribute::Counter | Attribute::Speed => {
                self.at_the_wanted_count(result, found)
            }
            Attribute::ChargeMass => self.by_own_experiment(result, Condition::Charge, found),
            Attribute::WaterTemperature => {
                self.by_own_experiment(result, Condition::WaterTemperature, found)
            }
            Attribute::Other => Effect::NotKnown { why: NO_SENSITIVITY },
        }
    }

    /// The loss from the masses without what the balance showed too much.
    fn without_the_error(&self, result: &TestResult, error_g: Decimal) -> Effect {
        let corrected = |specimen: &Specimen| {
            let mass = |masses: &[crate::state::Noted<crate::state::WeighedMass>]| {
                let last = masses.last()?;
                let is_in_doubt =
                    last.value.balance == *self.item && (self.is_after)(last.position, last.at);
                let error = if is_in_doubt { error_g } else { Decimal::ZERO };
                last.value.mass_g.checked_sub(error)
            };
            Some(Weighed { before_g: mass(&specimen.before)?, after_g: mass(&specimen.after)? })
        };
        let specimens: Vec<Weighed> = self.specimens(result).filter_map(corrected).collect();
        let position = result.current().map_or(0, |version| version.position);
        let method = self.lab.methods.get(&result.method).map(|in_use| in_use.at(position));
        match method.and_then(|method| loss(method, &specimens).ok()) {
            Some(loss) => Effect::Moves {
                would_be_percent: loss.percent,
                would_be_unrounded: loss.exact_percent.to_decimals(12),
                basis: EXACT.to_owned(),
            },
            None => Effect::NotKnown { why: "without this error the masses are impossible" },
        }
    }

    /// The loss at the wanted count, when the jars really turned another.
    fn at_the_wanted_count(&self, result: &TestResult, found: Decimal) -> Effect {
        let mut ratios = Vec::new();
        for run in self.specimens(result).filter_map(|one| self.lab.runs.get(one.run.as_ref()?)) {
            match self.wanted_by_turned(run, found) {
                Some(ratio) => ratios.push(ratio),
                None => return Effect::NotKnown { why: "the run does not say how long it turned" },
            }
        }
        if ratios.iter().all(|ratio| *ratio == Exact::from(Decimal::ONE)) {
            return Effect::Untouched {
                why: "the run was not ended by it, or its count was read on its own",
            };
        }
        match self.lab.sensitivity(Condition::Revolutions, &result.method) {
            None => self.scaled(result, &ratios, PROPORTIONAL.to_owned()),
            Some(own) => {
                let followed: Option<Vec<Exact>> =
                    ratios.iter().map(|ratio| follows(own, &more_percent(ratio)?)).collect();
                match followed {
                    Some(factors) => self.scaled(result, &factors, basis_of(own)),
                    None => Effect::NotKnown { why: "the loss cannot be scaled" },
                }
            }
        }
    }

    /// The loss under the condition as it was meant to be, by the laboratory's own experiment.
    fn by_own_experiment(
        &self,
        result: &TestResult,
        condition: Condition,
        found: Decimal,
    ) -> Effect {
        let Some(own) = self.lab.sensitivity(condition, &result.method) else {
            return Effect::NotKnown { why: NO_SENSITIVITY };
        };
        let factors: Option<Vec<Exact>> = self
            .specimens(result)
            .map(|specimen| follows(own, &self.off_by(specimen, condition, found)?))
            .collect();
        match factors {
            Some(factors) => self.scaled(result, &factors, basis_of(own)),
            None => Effect::NotKnown { why: "the run does not say under which condition it ran" },
        }
    }

    /// How much more the condition was meant to be than it was, in the unit of the sensitivity.
    fn off_by(&self, specimen: &Specimen, condition: Condition, found: Decimal) -> Option<Exact> {
        let run = self.lab.runs.get(specimen.run.as_ref()?)?;
        if !(self.is_after)(run.started.position, run.started.at) {
            return Some(Exact::from(Decimal::ZERO));
        }
        match condition {
            Condition::Revolutions | Condition::WaterVolume => None,
            // It was as much colder than read as the thermometer shows too much.
            Condition::WaterTemperature => {
                let is_read_with_it = run.thermometer.as_ref() == Some(self.item);
                Some(Exact::from(if is_read_with_it { found } else { Decimal::ZERO }))
            }
            Condition::Charge => {
                let placed = run.placed(&specimen.code)?;
                if placed.charge.as_ref() != Some(self.item) {
                    return Some(Exact::from(Decimal::ZERO));
                }
                let ratio = Exact::from(placed.charge_g?).divided_by(&Exact::from(found))?;
                more_percent(&ratio)
            }
        }
    }

    /// The loss with each specimen's loss multiplied by its factor.
    fn scaled(&self, result: &TestResult, factors: &[Exact], basis: String) -> Effect {
        let position = result.current().map_or(0, |version| version.position);
        let Some(method) = self.lab.methods.get(&result.method).map(|in_use| in_use.at(position))
        else {
            return Effect::NotKnown { why: "the method is not in use" };
        };
        let Ok(loss) = self.lab.loss_of(result) else {
            return Effect::NotKnown { why: "the masses are impossible" };
        };
        let scaled: Vec<Exact> = loss
            .specimens
            .iter()
            .zip(factors)
            .map(|(one, factor)| one.exact_percent.times(factor))
            .collect();
        let rounded = Exact::mean(&scaled).and_then(|mean| {
            Some((method.loss.as_ref()?.rounding().ok()?.apply(&mean)?, mean.to_decimals(12)))
        });
        match rounded {
            Some((would_be_percent, would_be_unrounded)) => {
                Effect::Moves { would_be_percent, would_be_unrounded, basis }
            }
            None => Effect::NotKnown { why: "the loss cannot be scaled" },
        }
    }

    /// The wanted count over the count that the jars really turned.
    fn wanted_by_turned(&self, run: &Run, found: Decimal) -> Option<Exact> {
        let one = Exact::from(Decimal::ONE);
        let stopped = run.in_all()?;
        let hundred = Decimal::ONE_HUNDRED;
        let of_hundred = |percent: Decimal| {
            let shown = hundred.checked_sub(percent)?;
            Exact::from(shown).divided_by(&Exact::from(hundred))
        };
        if !(self.is_after)(run.started.position, run.started.at) {
            return Some(one);
        }
        match (self.attribute, run.ended_by) {
            // What the timer shows too little, the jars turn too long, unless the count was read.
            (Attribute::Timer, Control::Time) if stopped.revolutions.is_none() => of_hundred(found),
            (Attribute::Counter, _) if stopped.revolutions.is_some() => of_hundred(found),
            (Attribute::Speed, Control::Time) if stopped.revolutions.is_none() => {
                let turned = Exact::from(stopped.minutes?).times(&Exact::from(found));
                Exact::from(run.revolutions_wanted).divided_by(&turned)
            }
            _ => Some(one),
        }
    }

    fn specimens<'b>(&'b self, result: &'b TestResult) -> impl Iterator<Item = &'b Specimen> {
        result.specimens.iter().filter_map(|code: &SpecimenCode| self.lab.specimens.get(code))
    }
}
