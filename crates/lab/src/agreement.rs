//! Whether losses of one sample agree: the specimens within a result, the results of the sample by
//! one method and grading, and what other laboratories found on a split sample.
//!
//! Each pair is held against the limit that the method states at that level; what the method does
//! not say is not known, and says so. What follows is the laboratory's policy.

use crate::judgement::not_below;
use crate::state::{Lab, Noted, OutsideResult, ResultVersion, TestResult};
use crate::words::listed;
use serde::Serialize;
use stonewear_measure::{Decimal, Exact};
use stonewear_method::model::Conditions;
use stonewear_method::{Confidence, Method, PrecisionAt};

/// What a pair of losses is a pair of.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Of {
    /// Two specimens of one result.
    Specimens,
    /// Two results of one sample, by one method and grading, of this laboratory.
    Results,
    /// A result of this laboratory and one of another, of a split sample.
    Laboratories,
}

/// Whether the two losses of a pair agree.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
#[serde(tag = "verdict", rename_all = "kebab-case")]
pub enum Agree {
    /// They lie apart by no more than the limit.
    Yes(Limit),
    /// They lie further apart.
    No(Limit),
    /// There is no limit to hold them against.
    NotKnown {
        /// Why not.
        why: String,
    },
}

/// How far two losses may lie apart.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Limit {
    /// The most that is expected in about 19 cases of 20, % loss.
    pub limit_percent: Decimal,
    /// Where it comes from, in words.
    pub source: String,
    /// How sure the figures are that it rests on; absent for the laboratory's own.
    pub confidence: Option<Confidence>,
}

/// Two losses of one material.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Pair {
    /// What they are losses of.
    pub of: Of,
    /// The code of the first.
    pub one: String,
    /// Its loss, %.
    pub one_percent: Decimal,
    /// The code of the second, or the name of the other laboratory.
    pub other: String,
    /// Its loss, %.
    pub other_percent: Decimal,
    /// How far they lie apart, % loss.
    pub difference_percent: Decimal,
    /// Whether that is within the limit.
    #[serde(flatten)]
    pub agree: Agree,
}

/// All pairs of a result, and what follows from them.
#[derive(Debug, Clone, PartialEq, Eq, Default, Serialize)]
pub struct Agreement {
    /// The pairs: specimens first, then results, then other laboratories.
    pub pairs: Vec<Pair>,
    /// What follows by the laboratory's policy, a sentence each.
    pub next: Vec<String>,
}

impl Pair {
    /// Whether the two are known to lie too far apart.
    pub fn differs(&self) -> bool {
        matches!(self.agree, Agree::No(_))
    }

    /// The pair in one sentence.
    pub fn in_words(&self) -> String {
        let Self { one, one_percent, other, other_percent, difference_percent, .. } = self;
        let pair = format!(
            "{one} ({one_percent} %) and {other} ({other_percent} %) differ by {difference_percent} % loss"
        );
        match &self.agree {
            Agree::Yes(limit) => format!("{pair}, within the limit of {}", limit.in_words()),
            Agree::No(limit) => format!("{pair}, more than the limit of {}", limit.in_words()),
            Agree::NotKnown { why } => {
                format!("{pair}; whether that is too far is not known: {why}")
            }
        }
    }
}

impl Limit {
    /// The limit with its source: `0.93 % loss (repeatability of EN 1097-1 (2011) at 11.7 %)`.
    pub fn in_words(&self) -> String {
        let sure = match self.confidence {
            Some(confidence) if !confidence.is_sure() => format!("; {}", confidence.in_words()),
            _ => String::new(),
        };
        format!("{} % loss ({}{sure})", self.limit_percent.round_dp(2).normalize(), self.source)
    }
}

impl Agreement {
    /// The pairs that stand in the way of a release where the laboratory wants another pair tested:
    /// specimens of the result that lie too far apart, and other results that do, unless the result
    /// agrees with one of them: then another pair was tested, and it is part of it.
    pub fn in_the_way(&self) -> Vec<&Pair> {
        let of = |of: Of| self.pairs.iter().filter(move |pair| pair.of == of);
        let agrees_with_one = of(Of::Results).any(|pair| matches!(pair.agree, Agree::Yes(_)));
        of(Of::Specimens)
            .chain(of(Of::Results).filter(|_| !agrees_with_one))
            .filter(|pair| pair.differs())
            .collect()
    }
}

impl Lab {
    /// How far a result agrees with what else is known of its sample, as things stand now.
    pub fn agreement(&self, result: &TestResult) -> Agreement {
        self.agreement_before(result, u64::MAX)
    }

    /// The same as it was known when the result was released; as things stand now while it is not.
    pub fn agreement_at_release(&self, result: &TestResult) -> Agreement {
        self.agreement_before(result, result.release().map_or(u64::MAX, |release| release.position))
    }

    /// Whether both are runs of one study: it varies on purpose what repeatability holds fixed, and
    /// compares its runs itself.
    fn of_one_study(&self, one: &TestResult, other: &TestResult) -> bool {
        let study = |result: &TestResult| {
            let specimen = result.specimens.first()?;
            Some(&self.study_of_specimen(specimen)?.0.plan.value.study)
        };
        study(one).is_some_and(|code| study(other) == Some(code))
    }

    /// From what was recorded before this place in the journal.
    fn agreement_before(&self, result: &TestResult, before: u64) -> Agreement {
        let Some(version) = result.current() else { return Agreement::default() };
        let in_use = self.methods.get(&result.method);
        let Some(method) = in_use.map(|in_use| in_use.at(version.position)) else {
            return Agreement::default();
        };
        let mut pairs = self.pairs_of_specimens(result, method);
        // Where the test gives no loss there is none to differ.
        let (Some(mine), Some(reported)) =
            (self.side_of(result, version), version.value.loss_percent)
        else {
            return Agreement::default();
        };
        let grading = self.grading_of(result);
        let others = self.results.values().filter(|other| {
            other.code != result.code
                && (&other.sample, &other.method) == (&result.sample, &result.method)
                && self.grading_of(other) == grading
                && !self.of_one_study(result, other)
        });
        for other in others {
            let Some(known) = version_before(other, before) else { continue };
            let Some(other) = self.side_of(other, known) else { continue };
            let limit = self.limit(method, Conditions::Repeatability, &mine, &other);
            pairs.extend(pair(Of::Results, &mine, &other, limit));
        }
        // What another laboratory found is known as it reported it, so ours is taken so, too.
        let mine = Side::reported(result.code.as_str(), reported);
        let sample = self.samples.get(&result.sample);
        for outside in sample.map(|sample| sample.outside_before(before)).unwrap_or_default() {
            let outside = &outside.value;
            let other = Side::reported(&outside.laboratory, outside.loss_percent);
            let limit = if outside.method == result.method {
                self.limit(method, Conditions::Reproducibility, &mine, &other)
            } else {
                Err(format!("it was tested by another method, {}", outside.method))
            };
            pairs.extend(pair(Of::Laboratories, &mine, &other, limit));
        }
        let mut agreement = Agreement { pairs, next: Vec::new() };
        agreement.next = self.what_follows(&agreement, result.release().is_some());
        agreement
    }

    fn grading_of(&self, result: &TestResult) -> Option<&str> {
        let first = result.specimens.first().and_then(|code| self.specimens.get(code));
        first.map(|specimen| specimen.grading.as_str())
    }

    /// Every pair of the specimens whose mean the result is, from their exact losses.
    fn pairs_of_specimens(&self, result: &TestResult, method: &Method) -> Vec<Pair> {
        let Ok(loss) = self.loss_of(result) else { return Vec::new() };
        let limit = match &method.specimen.differ_at_most_percent {
            Some(figure) => Ok(Limit {
                limit_percent: figure.value,
                source: format!("specimens of one result, {}", edition(method)),
                confidence: Some(figure.confidence),
            }),
            None => Err(format!(
                "{} does not say how far the specimens of one result may lie apart",
                edition(method)
            )),
        };
        let sides: Vec<Side> = result
            .specimens
            .iter()
            .zip(loss.specimens)
            .map(|(code, one)| Side::exact(code.as_str(), one.exact_percent))
            .collect();
        let mut pairs = Vec::new();
        for (index, one) in sides.iter().enumerate() {
            for other in &sides[index + 1..] {
                pairs.extend(pair(Of::Specimens, one, other, limit.clone()));
            }
        }
        pairs
    }

    /// A version of a result, before it was rounded for reporting: a method that reports whole
    /// numbers states its precision for what they were rounded from. Of a version that counts no
    /// longer, the masses are not at hand, and the reported loss stands for it.
    fn side_of(&self, result: &TestResult, version: &Noted<ResultVersion>) -> Option<Side> {
        let reported = version.value.loss_percent?;
        let counts = result.current().is_some_and(|now| now.position == version.position);
        Some(match self.worked_loss(result) {
            Some(loss) if counts => Side::exact(result.code.as_str(), loss.exact),
            _ => Side::reported(result.code.as_str(), reported),
        })
    }

    /// The limit for two results, at the mean of both: of the method, or else the laboratory's own.
    fn limit(
        &self,
        method: &Method,
        conditions: Conditions,
        one: &Side,
        other: &Side,
    ) -> Result<Limit, String> {
        let level = (one.shown.saturating_add(other.shown) / Decimal::TWO).normalize();
        self.limit_at(method, conditions, level)
    }

    /// The same at a level, % loss.
    pub(crate) fn limit_at(
        &self,
        method: &Method,
        conditions: Conditions,
        level: Decimal,
    ) -> Result<Limit, String> {
        let own = match conditions {
            Conditions::Repeatability => self.own_repeatability_limit(),
            Conditions::Reproducibility => None,
        };
        match (method.precision_at(conditions, level), own) {
            (PrecisionAt::Limit(limit), _) => Ok(Limit {
                limit_percent: limit.difference_percent,
                source: format!("{conditions} of {} at {level} %", edition(method)),
                confidence: Some(limit.confidence),
            }),
            (_, Some(limit_percent)) => {
                let source = "the laboratory's own limit".to_owned();
                Ok(Limit { limit_percent, source, confidence: None })
            }
            (PrecisionAt::NotStated, None) => {
                Err(format!("{} states no {conditions}", edition(method)))
            }
            (PrecisionAt::OutsideLevels { lowest, highest }, None) => Err(format!(
                "{} states its {conditions} for losses from {lowest} to {highest} % only",
                edition(method)
            )),
        }
    }

    fn what_follows(&self, agreement: &Agreement, is_released: bool) -> Vec<String> {
        let mut next = Vec::new();
        let in_the_way = agreement.in_the_way();
        let differ = |of: Of| agreement.pairs.iter().any(|pair| pair.of == of && pair.differs());
        if !in_the_way.is_empty() {
            let others = listed(in_the_way.iter().map(|pair| pair.other.clone()));
            next.push(match (self.wants_another_pair(), is_released) {
                (true, true) => format!(
                    "Test another pair: it lies too far from {others}. It was released without one."
                ),
                (true, false) => format!(
                    "Test another pair: it lies too far from {others}. To release it without one \
                     needs a reason, which the report prints."
                ),
                (false, _) => format!("The report says that it lies too far from {others}."),
            });
        } else if differ(Of::Results) {
            next.push(
                "Another pair was tested, and it is part of it; the report shows all.".into(),
            );
        }
        if differ(Of::Laboratories) {
            next.push(
                "Compare equipment and procedure with the other laboratory; the report shows both \
                 losses."
                    .into(),
            );
        }
        next
    }
}

fn edition(method: &Method) -> String {
    format!("{} ({})", method.designation, method.edition)
}

fn version_before(result: &TestResult, before: u64) -> Option<&Noted<ResultVersion>> {
    result.versions.iter().rev().find(|version| version.position < before)
}

/// One loss of a pair.
struct Side {
    name: String,
    /// What is held against the limit, %.
    exact: Exact,
    /// What is shown of it, %.
    shown: Decimal,
}

impl Side {
    fn exact(name: &str, exact: Exact) -> Self {
        let shown = not_below(&exact).unwrap_or_default().round_dp(2).normalize();
        Self { name: name.to_owned(), exact, shown }
    }

    fn reported(name: &str, loss_percent: Decimal) -> Self {
        Self { name: name.to_owned(), exact: Exact::from(loss_percent), shown: loss_percent }
    }
}

/// The pair, judged by the exact difference; `None` only for losses that no specimen can have.
fn pair(of: Of, one: &Side, other: &Side, limit: Result<Limit, String>) -> Option<Pair> {
    let (a, b) = (&one.exact, &other.exact);
    let apart = not_below(&if a < b { b.minus(a) } else { a.minus(b) })?;
    let agree = match limit {
        Ok(limit) if apart <= limit.limit_percent => Agree::Yes(limit),
        Ok(limit) => Agree::No(limit),
        Err(why) => Agree::NotKnown { why },
    };
    Some(Pair {
        of,
        one: one.name.clone(),
        one_percent: one.shown,
        other: other.name.clone(),
        other_percent: other.shown,
        difference_percent: apart.round_dp(2).normalize(),
        agree,
    })
}

impl crate::state::Sample {
    /// What other laboratories found, recorded before this place in the journal; of what was
    /// recorded twice from one document, the last.
    pub fn outside_before(&self, before: u64) -> Vec<&Noted<OutsideResult>> {
        let known = || self.outside.iter().filter(|outside| outside.position < before);
        known()
            .filter(|outside| {
                !known().any(|later| {
                    later.position > outside.position
                        && later.value.is_of_same_document(&outside.value)
                })
            })
            .collect()
    }
}

impl OutsideResult {
    /// Whether both are what one document of one laboratory says by one method.
    pub fn is_of_same_document(&self, other: &Self) -> bool {
        (&self.laboratory, &self.document, &self.method)
            == (&other.laboratory, &other.document, &other.method)
    }
}
