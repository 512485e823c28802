//! Judging a loss against the limit of its sample, by the laboratory's decision rule
//! (ILAC-G8:09/2019; JCGM 106:2012; ISO/IEC 17025:2017, 7.8.6).
//!
//! A judgement is kept with the release that it was made for, so that a rule that changes later
//! changes nothing that was said. All of it is decimals; the probability is a statistic and comes
//! out of the statistics room.

use crate::policy::{Comparison, DecisionRule, UncertaintyFrom};
use crate::state::{Lab, TestResult};
use serde::{Deserialize, Serialize};
use stonewear_measure::{Decimal, Exact, Rounding};
use stonewear_method::model::Conditions;
use stonewear_method::{Confidence, Method, PrecisionAt, Worked};
use stonewear_stats::conformity::probability_above;

/// A precision limit over a standard deviation: 2.8 (ASTM C670, d2s, from memory; the published
/// lines of BRE-MDrvals stand in the same ratio, seen).
pub(crate) const LIMIT_OVER_DEVIATION: Decimal = Decimal::from_parts(28, 0, 0, false, 1);
/// Coverage factor of the expanded uncertainty: about 95 % for a normal distribution.
pub const COVERAGE_FACTOR: Decimal = Decimal::TWO;
/// Decimals that a standard uncertainty from a precision statement keeps; it is rounded up, so
/// that no guard band is narrower than the statement says.
const UNCERTAINTY_DECIMALS: u32 = 2;

/// What is said about a loss and its limit.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Verdict {
    /// It conforms by the rule.
    Conforms,
    /// Within the limit, by less than the guard band.
    ConformsInGuardBand,
    /// Beyond the limit, by no more than the guard band.
    FailsInGuardBand,
    /// It does not conform by the rule.
    DoesNotConform,
    /// The rule needs an uncertainty that is not known.
    NotDecided,
}

impl Verdict {
    /// In words, as page, command and paper say it.
    pub fn in_words(self) -> &'static str {
        match self {
            Self::Conforms => "conforms",
            Self::ConformsInGuardBand => "conforms, within the guard band",
            Self::FailsInGuardBand => "does not conform, within the guard band",
            Self::DoesNotConform => "does not conform",
            Self::NotDecided => "not decided",
        }
    }

    /// Whether it says that the material conforms; `None` where nothing is decided.
    pub fn accepts(self) -> Option<bool> {
        match self {
            Self::Conforms | Self::ConformsInGuardBand => Some(true),
            Self::DoesNotConform | Self::FailsInGuardBand => Some(false),
            Self::NotDecided => None,
        }
    }
}

/// How well a loss is known.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(tag = "known", rename_all = "kebab-case")]
pub enum Uncertainty {
    /// This well.
    Yes {
        /// Standard uncertainty, % loss.
        standard_percent: Decimal,
        /// Where it comes from, in words.
        source: String,
        /// How sure the figures are that it rests on; absent for the laboratory's own.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        confidence: Option<Confidence>,
    },
    /// It is not.
    No {
        /// Why not.
        why: String,
    },
}

/// A loss judged against a limit.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Judgement {
    /// By which rule.
    pub rule: DecisionRule,
    /// Which value was compared.
    pub comparison: Comparison,
    /// The most loss that is allowed, %, as the document writes it.
    pub limit_percent: Decimal,
    /// The value that was compared, %.
    pub compared_percent: Decimal,
    /// How well it is known.
    pub uncertainty: Uncertainty,
    /// The most loss that the rule accepts, %; absent where a guard band is wanted and not known.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub acceptance_percent: Option<Decimal>,
    /// What is said.
    pub verdict: Verdict,
}

impl Judgement {
    /// Judges a value, %, against the most that is allowed, %.
    pub fn of(
        rule: DecisionRule,
        comparison: Comparison,
        compared_percent: Decimal,
        limit_percent: Decimal,
        uncertainty: Uncertainty,
    ) -> Self {
        let guard = match (rule, &uncertainty) {
            (DecisionRule::Simple, _) => Some(Decimal::ZERO),
            (_, Uncertainty::Yes { standard_percent, .. }) => Some(expanded(*standard_percent)),
            (_, Uncertainty::No { .. }) => None,
        };
        let acceptance_percent = guard.map(|guard| limit_percent.saturating_sub(guard));
        let is_within = compared_percent <= limit_percent;
        let verdict = match (rule, guard, acceptance_percent) {
            (_, _, Some(accepted)) if compared_percent <= accepted => Verdict::Conforms,
            (DecisionRule::GuardedConditional, Some(guard), _) => {
                if is_within {
                    Verdict::ConformsInGuardBand
                } else if compared_percent <= limit_percent.saturating_add(guard) {
                    Verdict::FailsInGuardBand
                } else {
                    Verdict::DoesNotConform
                }
            }
            (_, Some(_), _) => Verdict::DoesNotConform,
            // Whatever the guard band is, it accepts nothing beyond the limit itself.
            (DecisionRule::Guarded, None, _) if !is_within => Verdict::DoesNotConform,
            (_, None, _) => Verdict::NotDecided,
        };
        Self {
            rule,
            comparison,
            limit_percent,
            compared_percent,
            uncertainty,
            acceptance_percent,
            verdict,
        }
    }

    /// Standard uncertainty of the loss, % loss, where it is known.
    pub fn standard_percent(&self) -> Option<Decimal> {
        match &self.uncertainty {
            Uncertainty::Yes { standard_percent, .. } => Some(*standard_percent),
            Uncertainty::No { .. } => None,
        }
    }

    /// Expanded uncertainty of the loss (k = 2, about 95 %), % loss, where it is known.
    pub fn expanded_percent(&self) -> Option<Decimal> {
        self.standard_percent().map(expanded)
    }

    /// Width of the guard band, % loss: zero by simple acceptance.
    pub fn guard_percent(&self) -> Option<Decimal> {
        self.acceptance_percent.map(|accepted| self.limit_percent.saturating_sub(accepted))
    }

    /// Probability that the true loss is above the limit, as a share to four decimals, where the
    /// uncertainty is known: Φ((y − TL) / u), JCGM 106:2012, clause 7.
    pub fn probability_above_limit(&self) -> Option<Decimal> {
        probability_above(self.compared_percent, self.standard_percent()?, self.limit_percent)
    }

    /// Probability that the verdict is wrong, as a share to four decimals, where something was
    /// decided and the uncertainty is known.
    pub fn probability_wrong(&self) -> Option<Decimal> {
        let above = self.probability_above_limit()?;
        match self.verdict.accepts()? {
            true => Some(above),
            false => Some(Decimal::ONE.saturating_sub(above)),
        }
    }

    /// The requirement: `at most 17.0 %`.
    pub fn requirement(&self) -> String {
        format!("at most {} %", self.limit_percent)
    }

    /// The rule with its risk, what it accepts and what was compared, as ISO/IEC 17025:2017, 7.8.6
    /// has it stated.
    pub fn rule_in_words(&self) -> String {
        let accepted = match (self.rule, self.acceptance_percent) {
            (DecisionRule::Simple, _) | (_, None) => String::new(),
            (_, Some(accepted)) => format!("; accepted: at most {accepted} %"),
        };
        let (rule, compared) = (self.rule.in_words(), self.comparison.in_words());
        format!("{rule}{accepted}; compared: {compared}")
    }

    /// The risk in words: how probable it is that the verdict is wrong, or why that is not known.
    pub fn risk_in_words(&self) -> String {
        match (self.probability_wrong(), &self.uncertainty) {
            (Some(wrong), _) => {
                format!("probability that the verdict is wrong: {}", percent_in_words(wrong))
            }
            (None, Uncertainty::No { why }) => {
                format!("probability that the verdict is wrong: not known, {why}")
            }
            (None, Uncertainty::Yes { .. }) => "nothing is decided".to_owned(),
        }
    }
}

impl DecisionRule {
    /// In words, with the largest risk that it leaves.
    pub fn in_words(self) -> &'static str {
        match self {
            Self::Simple => {
                "simple acceptance, risk of a wrong acceptance up to 50 % at the limit \
                 (ILAC-G8:09/2019)"
            }
            Self::Guarded => {
                "guarded by the expanded uncertainty (k = 2), risk of a wrong acceptance at most \
                 2.5 % (ILAC-G8:09/2019)"
            }
            Self::GuardedConditional => {
                "guarded by the expanded uncertainty (k = 2), risk of a wrong acceptance at most \
                 2.5 %, within the guard band up to 50 % (ILAC-G8:09/2019)"
            }
        }
    }
}

impl Comparison {
    /// In words, to follow “compared”.
    pub fn in_words(self) -> &'static str {
        match self {
            Self::AsReported => "the loss as reported",
            Self::DigitsOfTheLimit => "the loss rounded to the digits of the limit",
            Self::Unrounded => "the unrounded loss",
        }
    }
}

/// `2.3 %`, `less than 0.01 %`.
fn percent_in_words(share: Decimal) -> String {
    let least = Decimal::new(1, 4);
    if share < least {
        return "less than 0.01 %".to_owned();
    }
    if share > Decimal::ONE - least {
        return "more than 99.99 %".to_owned();
    }
    format!("{} %", (share * Decimal::ONE_HUNDRED).round_dp(2).normalize())
}

fn expanded(standard_percent: Decimal) -> Decimal {
    standard_percent.saturating_mul(COVERAGE_FACTOR)
}

impl Lab {
    /// A result judged against the limit of its sample: as it was when its version that counts was
    /// released, or else by the policies in force now. `None` where no limit was agreed for
    /// its method, or where the test gives no loss.
    pub fn judgement(&self, result: &TestResult) -> Option<Judgement> {
        match result.release() {
            None => self.judgement_now(result),
            Some(release) => match &release.value.judgement {
                Some(judgement) => Some((**judgement).clone()),
                None => self.judgement_of_old(result),
            },
        }
    }

    /// A result judged by the policies in force now.
    pub(crate) fn judgement_now(&self, result: &TestResult) -> Option<Judgement> {
        let limit = self.limit_for(result)?;
        let version = result.current()?;
        let method = self.methods.get(&result.method)?.at(version.position);
        let reported = version.value.loss_percent?;
        let compared = match (self.comparison(), self.worked_loss(result)) {
            (Comparison::AsReported, _) | (_, None) => reported,
            (Comparison::DigitsOfTheLimit, Some(loss)) => {
                to_digits_of(limit, &loss).unwrap_or(reported)
            }
            (Comparison::Unrounded, Some(loss)) => not_below(&loss.exact).unwrap_or(reported),
        };
        let uncertainty = uncertainty(self.uncertainty_from(), method, reported);
        Some(Judgement::of(self.decision_rule(), self.comparison(), compared, limit, uncertainty))
    }

    /// What was said of a result that was released before judgements were kept: the reported loss
    /// by simple acceptance.
    fn judgement_of_old(&self, result: &TestResult) -> Option<Judgement> {
        let limit = self.limit_for(result)?;
        let reported = result.current()?.value.loss_percent?;
        let uncertainty =
            Uncertainty::No { why: "no uncertainty was kept with the release".to_owned() };
        Some(Judgement::of(
            DecisionRule::Simple,
            Comparison::AsReported,
            reported,
            limit,
            uncertainty,
        ))
    }
}

/// The uncertainty of a loss, %, by the laboratory's policy and what the method says at that loss.
pub fn uncertainty(from: UncertaintyFrom, method: &Method, loss_percent: Decimal) -> Uncertainty {
    let conditions = match from {
        UncertaintyFrom::Nowhere => {
            let why = "the laboratory states no uncertainty".to_owned();
            return Uncertainty::No { why };
        }
        UncertaintyFrom::Laboratory(standard_percent) => {
            let source = "the laboratory's own standard uncertainty".to_owned();
            return Uncertainty::Yes { standard_percent, source, confidence: None };
        }
        UncertaintyFrom::Reproducibility => Conditions::Reproducibility,
        UncertaintyFrom::Repeatability => Conditions::Repeatability,
    };
    match method.precision_at(conditions, loss_percent) {
        PrecisionAt::Limit(limit) => Uncertainty::Yes {
            standard_percent: rounded_up(limit.difference_percent / LIMIT_OVER_DEVIATION),
            source: format!(
                "{conditions} limit of {} ({}) at this loss, {limit} %, over {LIMIT_OVER_DEVIATION}",
                method.designation, method.edition
            ),
            confidence: Some(limit.confidence),
        },
        unknown => Uncertainty::No { why: unknown.to_string() },
    }
}

fn rounded_up(value: Decimal) -> Decimal {
    let steps = Decimal::new(1, UNCERTAINTY_DECIMALS);
    ((value / steps).ceil() * steps).normalize()
}

/// The exact loss, rounded once, to the digits in which the limit is written.
fn to_digits_of(limit: Decimal, loss: &Worked) -> Option<Decimal> {
    let place = Decimal::new(1, limit.scale());
    Rounding::new(place, loss.rule).ok()?.apply(&loss.exact)
}

/// An exact value as a decimal that is never below it: itself where six decimals hold it, else the
/// next. What is above a limit of up to six decimals so stays above it, and what is not does not.
pub(crate) fn not_below(exact: &Exact) -> Option<Decimal> {
    const MILLION: Decimal = Decimal::from_parts(1_000_000, 0, 0, false, 0);
    let millionths = exact.times(&Exact::from(MILLION));
    let whole = millionths.floor();
    let more = if whole == millionths { Decimal::ZERO } else { Decimal::ONE };
    Some((whole.as_decimal()?.checked_add(more)? / MILLION).normalize())
}
