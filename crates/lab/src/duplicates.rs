//! Duplicates: pairs of specimens of one sample, tested by one person within a few days, found
//! among the laboratory's own results. They show how far each person repeats, and whether people
//! differ.
//!
//! About 15 pairs of one's own samples are wanted for each person (BRE repeatability check, seen).
//! A pair counts for a person only where nobody else had either specimen in hand.

use crate::code::{PersonCode, SampleCode, SpecimenCode};
use crate::state::{Lab, Specimen};
use jiff::{SignedDuration, Timestamp};
use serde::Serialize;
use std::collections::BTreeMap;
use stonewear_method::MethodId;
use stonewear_method::model::Conditions;
use stonewear_stats::comparison::{paired, spread_over_known, spread_over_other};

/// Pairs that each person should have by a method: BRE repeatability check, “about 15” (seen).
pub const PAIRS_WANTED: usize = 15;
/// How long after the first the second specimen of a pair may be weighed, days: repeatability is
/// of results within a short time; how short is common practice, no published source.
pub const DAYS_APART: i64 = 7;
/// Two-sided, for every interval here.
const ALPHA: f64 = 0.05;
/// Values of a range.
const PAIR: usize = 2;
/// How far out the limit of the range chart lies, standard deviations (Shewhart; ISO 7870-2, from
/// memory, unconfirmed).
const LIMIT_WIDTH: f64 = 3.0;

/// Two specimens of one sample, tested by one person.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct DuplicatePair {
    /// Of which sample.
    pub sample: SampleCode,
    /// The first specimen.
    pub one: SpecimenCode,
    /// The second.
    pub other: SpecimenCode,
    /// When the second was weighed after its run.
    pub at: Timestamp,
    /// Their mean loss, %.
    pub mean_percent: f64,
    /// How far they lie apart, % loss.
    pub range_percent: f64,
    /// The standard deviation of one specimen that the method lets expect at that loss, % loss;
    /// absent where it is not known.
    pub expected_percent: Option<f64>,
    /// How far they lie apart, in standard deviations of one specimen: those that the method lets
    /// expect, or else those within the people here; absent where there is neither.
    pub range_deviations: Option<f64>,
    /// Whether they lie further apart than the upper limit of the range chart.
    pub is_far: bool,
}

/// A spread over another, with its interval at 95 %.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Ratio {
    /// The ratio of the standard deviations.
    pub ratio: f64,
    /// The lower end of its interval.
    pub lower: f64,
    /// The upper end of its interval.
    pub upper: f64,
}

/// How far the losses of a person lie above those of others on the same samples.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Bias {
    /// Samples that both have tested.
    pub samples: usize,
    /// Mean difference, % loss.
    pub percent: f64,
    /// The lower end of its interval, % loss.
    pub lower: f64,
    /// The upper end of its interval, % loss.
    pub upper: f64,
}

/// What the duplicates of one person by one method say.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct OfPerson {
    /// Who.
    pub person: PersonCode,
    /// Their pairs, oldest first.
    pub pairs: Vec<DuplicatePair>,
    /// How many more are wanted.
    pub missing: usize,
    /// Their standard deviation within a pair, % loss: the root of the mean of half the squares.
    pub within_percent: Option<f64>,
    /// That over what the method lets expect, where it says something at every pair's loss.
    pub over_method: Option<Ratio>,
    /// That over the standard deviation of all others together.
    pub over_others: Option<Ratio>,
    /// Whether their losses lie higher or lower than those of others on the same samples.
    pub bias: Option<Bias>,
    /// All that in plain sentences.
    pub words: Vec<String>,
}

/// What the duplicates by one method say.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Duplicates {
    /// The method.
    pub method: MethodId,
    /// Everybody who tested by it.
    pub people: Vec<OfPerson>,
    /// Specimens that several people had in hand, and that so count for nobody.
    pub several_hands: usize,
    /// Pooled standard deviation within a person, % loss.
    pub within_percent: Option<f64>,
    /// Samples that two people or more have tested, the first specimen of each taken.
    pub shared_samples: usize,
    /// Standard deviation between people, beyond that within, % loss; zero where none is seen.
    pub between_percent: Option<f64>,
    /// The upper limit of the range chart as a multiple of the standard deviation of one.
    pub upper_limit: f64,
    /// Its centre line, likewise.
    pub centre: f64,
}

/// A specimen that one person alone tested, with its loss.
#[derive(Debug, Clone)]
struct Tested {
    specimen: SpecimenCode,
    person: PersonCode,
    at: Timestamp,
    position: u64,
    loss: f64,
}

/// All specimens of one sample, by one method and grading.
type BySample = BTreeMap<(SampleCode, String), Vec<Tested>>;

impl Lab {
    /// What the duplicates say, for every method by which something was tested.
    pub fn duplicates(&self) -> Vec<Duplicates> {
        self.methods.keys().filter_map(|method| self.duplicates_by(method)).collect()
    }

    /// What the duplicates by one method say; `None` where nothing was tested by it.
    pub fn duplicates_by(&self, method: &MethodId) -> Option<Duplicates> {
        let (tested, several_hands) = self.tested_alone(method);
        if tested.is_empty() && several_hands == 0 {
            return None;
        }
        let mut pairs: BTreeMap<PersonCode, Vec<DuplicatePair>> = BTreeMap::new();
        for ((sample, _), specimens) in &tested {
            for one in specimens {
                pairs.entry(one.person.clone()).or_default();
            }
            for (person, pair) in self.pairs_of(method, sample, specimens) {
                pairs.entry(person).or_default().push(pair);
            }
        }
        let all: Vec<&DuplicatePair> = pairs.values().flatten().collect();
        let within_percent = pooled(&all);
        let factors = stonewear_stats::chart::Constants::new(PAIR, LIMIT_WIDTH).ok()?;
        let (centre, upper_limit) = (factors.d2, factors.d2 * factors.upper_d4);
        let mut people: Vec<OfPerson> = Vec::new();
        for (person, own) in &pairs {
            let others: Vec<&DuplicatePair> =
                pairs.iter().filter(|(other, _)| *other != person).flat_map(|(_, p)| p).collect();
            let mut own = own.clone();
            own.sort_by_key(|pair| pair.at);
            for pair in &mut own {
                let deviation = pair.expected_percent.or(within_percent);
                pair.range_deviations = deviation
                    .filter(|deviation| *deviation > 0.0)
                    .map(|deviation| pair.range_percent / deviation);
                pair.is_far = pair.range_deviations.is_some_and(|apart| apart > upper_limit);
            }
            people.push(of_person(person, own, &others, bias_of(&tested, person)));
        }
        let shared: Vec<Apart> =
            tested.values().filter_map(|specimens| between(specimens)).collect();
        let between_percent = within_percent.filter(|_| !shared.is_empty()).map(|within| {
            let squares: f64 = shared.iter().map(|apart| apart.squares).sum();
            let freedom: f64 = shared.iter().map(|apart| apart.freedom).sum();
            (squares / freedom - within * within).max(0.0).sqrt()
        });
        Some(Duplicates {
            method: method.clone(),
            people,
            several_hands,
            within_percent,
            shared_samples: shared.len(),
            between_percent,
            upper_limit,
            centre,
        })
    }

    /// The specimens with a loss that one person alone had in hand, and how many several had.
    fn tested_alone(&self, method: &MethodId) -> (BySample, usize) {
        let mut alone = BySample::new();
        let mut several = 0;
        for result in self.results.values().filter(|result| result.method == *method) {
            let Ok(loss) = self.loss_of(result) else { continue };
            for (code, one) in result.specimens.iter().zip(loss.specimens) {
                let Some(specimen) = self.specimens.get(code) else { continue };
                let hands = self.hands_on(specimen);
                let (Some(person), true) = (hands.first(), hands.len() == 1) else {
                    several += 1;
                    continue;
                };
                let (Some(last), Some(loss)) = (specimen.after.last(), number(&one.exact_percent))
                else {
                    continue;
                };
                let key = (specimen.sample.clone(), specimen.grading.clone());
                alone.entry(key).or_default().push(Tested {
                    specimen: code.clone(),
                    person: person.clone(),
                    at: last.at,
                    position: first_weighed_after(specimen),
                    loss,
                });
            }
        }
        for specimens in alone.values_mut() {
            specimens.sort_by_key(|one| one.position);
        }
        (alone, several)
    }

    /// One person's specimens of a sample two by two, in the order in which they were weighed; no
    /// specimen is in two pairs.
    fn pairs_of(
        &self,
        method: &MethodId,
        sample: &SampleCode,
        specimens: &[Tested],
    ) -> Vec<(PersonCode, DuplicatePair)> {
        let mut waiting: BTreeMap<&PersonCode, &Tested> = BTreeMap::new();
        let mut pairs = Vec::new();
        for specimen in specimens {
            let close = |one: &&Tested| {
                specimen.at.duration_since(one.at) <= SignedDuration::from_hours(24 * DAYS_APART)
            };
            match waiting.remove(&specimen.person).filter(close) {
                None => {
                    waiting.insert(&specimen.person, specimen);
                }
                Some(one) => {
                    let mean_percent = f64::midpoint(one.loss, specimen.loss);
                    let pair = DuplicatePair {
                        sample: sample.clone(),
                        one: one.specimen.clone(),
                        other: specimen.specimen.clone(),
                        at: specimen.at,
                        mean_percent,
                        range_percent: (one.loss - specimen.loss).abs(),
                        expected_percent: self.expected_deviation(method, mean_percent),
                        range_deviations: None,
                        is_far: false,
                    };
                    pairs.push((specimen.person.clone(), pair));
                }
            }
        }
        pairs
    }

    /// The standard deviation of one specimen that the method's repeatability, or else the
    /// laboratory's own limit, lets expect: the limit over 2.8; where a result is the mean of
    /// several specimens, times the root of their number (derived: specimens are taken as
    /// independent).
    fn expected_deviation(&self, method: &MethodId, loss: f64) -> Option<f64> {
        let method = &self.methods.get(method)?.method;
        let level = stonewear_measure::Decimal::try_from(loss).ok()?.round_dp(2);
        let limit = self.limit_at(method, Conditions::Repeatability, level).ok()?;
        let over = crate::judgement::LIMIT_OVER_DEVIATION;
        let of_result: f64 = limit.limit_percent.checked_div(over)?.try_into().ok()?;
        Some(of_result * f64::from(method.specimen.count.value).sqrt())
    }
}

/// A corrected mass does not change the order in which specimens were tested.
fn first_weighed_after(specimen: &Specimen) -> u64 {
    specimen.after.first().map_or(0, |mass| mass.position)
}

fn number(exact: &stonewear_measure::Exact) -> Option<f64> {
    crate::judgement::not_below(exact)?.try_into().ok()
}

/// Half the mean square of differences: the variance of one of two.
fn half_mean_square(differences: impl ExactSizeIterator<Item = f64>) -> f64 {
    let n = differences.len() as f64;
    differences.map(|difference| difference * difference).sum::<f64>() / (2.0 * n)
}

fn pooled(pairs: &[&DuplicatePair]) -> Option<f64> {
    let ranges = pairs.iter().map(|pair| pair.range_percent);
    (!pairs.is_empty()).then(|| half_mean_square(ranges).sqrt())
}

/// How far the first specimens of everybody who tested a sample lie from their mean.
struct Apart {
    squares: f64,
    freedom: f64,
}

/// Everybody's first specimen of one sample, where two people or more have tested it.
fn between(specimens: &[Tested]) -> Option<Apart> {
    let mut firsts: BTreeMap<&PersonCode, f64> = BTreeMap::new();
    for one in specimens {
        firsts.entry(&one.person).or_insert(one.loss);
    }
    let freedom = (firsts.len() as f64) - 1.0;
    let mean = firsts.values().sum::<f64>() / firsts.len() as f64;
    let squares = firsts.values().map(|loss| (loss - mean).powi(2)).sum();
    (freedom > 0.0).then_some(Apart { squares, freedom })
}

fn mean_of<'a>(of: impl Iterator<Item = &'a Tested>) -> Option<f64> {
    let losses: Vec<f64> = of.map(|one| one.loss).collect();
    stonewear_stats::describe::describe(&losses).ok()?.mean.ok()
}

/// A person's mean less that of the others, over the samples that both have tested.
fn bias_of(tested: &BySample, person: &PersonCode) -> Option<Bias> {
    let both = tested.values().filter_map(|specimens| {
        let own = mean_of(specimens.iter().filter(|one| one.person == *person))?;
        let others = mean_of(specimens.iter().filter(|one| one.person != *person))?;
        Some((own, others))
    });
    let (own, others): (Vec<f64>, Vec<f64>) = both.unzip();
    let compared = paired(&own, &others, ALPHA).ok()?;
    let percent = compared.difference;
    let half = compared.test.critical * compared.test.standard_error;
    Some(Bias { samples: compared.n, percent, lower: percent - half, upper: percent + half })
}

fn of_person(
    person: &PersonCode,
    pairs: Vec<DuplicatePair>,
    others: &[&DuplicatePair],
    bias: Option<Bias>,
) -> OfPerson {
    let own: Vec<&DuplicatePair> = pairs.iter().collect();
    let within_percent = pooled(&own);
    let squares: Option<f64> = pairs
        .iter()
        .map(|pair| Some((pair.range_percent / pair.expected_percent?).powi(2) / 2.0))
        .sum();
    let ratio = |found: Result<stonewear_stats::comparison::SpreadRatio, _>| {
        found.ok().map(|found| Ratio { ratio: found.ratio, lower: found.lower, upper: found.upper })
    };
    let over_method =
        squares.and_then(|squares| ratio(spread_over_known(squares, pairs.len(), ALPHA)));
    let over_others = within_percent.zip(pooled(others)).and_then(|(own, other)| {
        let (own, other) = ((own * own, pairs.len()), (other * other, others.len()));
        ratio(spread_over_other(own, other, ALPHA))
    });
    let missing = PAIRS_WANTED.saturating_sub(pairs.len());
    let mut found = OfPerson {
        person: person.clone(),
        pairs,
        missing,
        within_percent,
        over_method,
        over_others,
        bias,
        words: Vec::new(),
    };
    found.words = in_words(&found);
    found
}

fn in_words(found: &OfPerson) -> Vec<String> {
    let who = &found.person;
    let mut words = Vec::new();
    if found.missing > 0 {
        words.push(format!(
            "{} of about {PAIRS_WANTED} pairs; {} more are wanted.",
            found.pairs.len(),
            found.missing
        ));
    } else {
        words.push(format!("{}: enough.", crate::words::counted(found.pairs.len(), "pair")));
    }
    let against =
        [("the method lets expect", found.over_method), ("all others", found.over_others)];
    for (whom, ratio) in against {
        let Some(Ratio { ratio, lower, upper }) = ratio else { continue };
        let times = format!("{ratio:.2} times what {whom} ({lower:.2} to {upper:.2})");
        let times =
            if whom == "all others" { times.replace("what all", "that of all") } else { times };
        words.push(if lower > 1.0 {
            format!("The spread of {who} is {times}: it is larger. Look for the cause.")
        } else if upper < 1.0 {
            format!("The spread of {who} is {times}: it is smaller.")
        } else {
            format!("The spread of {who} is {times}: no difference is seen.")
        });
    }
    if found.over_method.is_none() && !found.pairs.is_empty() {
        words.push(
            "The method says nothing of its repeatability at these losses, and the laboratory has \
             no limit of its own."
                .to_owned(),
        );
    }
    let far = found.pairs.iter().filter(|pair| pair.is_far).count();
    if far > 0 {
        words.push(format!(
            "{} further apart than the upper limit of the range chart.",
            if far == 1 { "1 pair lies".to_owned() } else { format!("{far} pairs lie") }
        ));
    }
    if let Some(Bias { samples, percent, lower, upper }) = found.bias {
        let apart = if lower > 0.0 {
            "they lie higher"
        } else if upper < 0.0 {
            "they lie lower"
        } else {
            "no difference is seen"
        };
        words.push(format!(
            "On {samples} shared samples the losses of {who} differ from those of others by \
             {percent:+.2} % loss ({lower:+.2} to {upper:+.2}): {apart}."
        ));
    }
    words
}
