//! Policies: what a laboratory decides for itself where methods and standards leave it open, with
//! the default that holds until somebody decides, and where that default comes from.

use crate::state::{Lab, Noted, PolicyDecision};
use serde::{Deserialize, Serialize};
use std::fmt;
use std::str::FromStr;
use stonewear_measure::Decimal;

/// What a laboratory decides for itself.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Policy {
    /// How a loss is held against a limit.
    DecisionRule,
    /// Which value is compared with the limit.
    Comparison,
    /// Where the uncertainty of a loss comes from.
    Uncertainty,
    /// How far two results of one sample may lie apart where the method does not say.
    RepeatabilityLimit,
    /// What follows when results of one sample lie further apart.
    ResultsDiffer,
    /// Whether another person than those who tested has to release.
    ReleaseByAnother,
    /// What is asked of work without an authorisation.
    Authorisation,
    /// For how long an authorisation holds where no day is named.
    AuthorisationMonths,
    /// By which rules control charts are judged.
    ControlRules,
    /// What follows when a reference result is out of control.
    OutOfControl,
    /// When the reference aggregate is tested again.
    ReferenceInterval,
    /// What a baseline of a control chart needs.
    BaselineResults,
    /// How many results of both lots are compared when a new lot takes the place of an old one.
    OverlapResults,
}

/// One value that a policy can have.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Choice {
    /// As it is typed and kept.
    pub value: &'static str,
    /// In words.
    pub words: &'static str,
}

/// An authorisation that nobody looks at for longer is none.
const MOST_MONTHS: Decimal = Decimal::from_parts(120, 0, 0, false, 0);

const fn choice(value: &'static str, words: &'static str) -> Choice {
    Choice { value, words }
}

impl Policy {
    /// Every policy, in the order in which page and command list them.
    pub const ALL: [Self; 13] = [
        Self::DecisionRule,
        Self::Comparison,
        Self::Uncertainty,
        Self::RepeatabilityLimit,
        Self::ResultsDiffer,
        Self::ReleaseByAnother,
        Self::Authorisation,
        Self::AuthorisationMonths,
        Self::ControlRules,
        Self::OutOfControl,
        Self::ReferenceInterval,
        Self::BaselineResults,
        Self::OverlapResults,
    ];

    /// The name by which it is typed.
    pub fn name(self) -> &'static str {
        match self {
            Self::DecisionRule => "decision-rule",
            Self::Comparison => "comparison",
            Self::Uncertainty => "uncertainty",
            Self::RepeatabilityLimit => "repeatability-limit",
            Self::ResultsDiffer => "results-differ",
            Self::ReleaseByAnother => "release-by-another",
            Self::Authorisation => "authorisation",
            Self::AuthorisationMonths => "authorisation-months",
            Self::ControlRules => "control-rules",
            Self::OutOfControl => "out-of-control",
            Self::ReferenceInterval => "reference-interval",
            Self::BaselineResults => "baseline-results",
            Self::OverlapResults => "overlap-results",
        }
    }

    /// What it decides, as a question.
    pub fn question(self) -> &'static str {
        match self {
            Self::DecisionRule => "How is a loss held against a limit?",
            Self::Comparison => "Which value is compared with the limit?",
            Self::Uncertainty => "Where does the uncertainty of a loss come from?",
            Self::RepeatabilityLimit => {
                "How far may two results of one sample lie apart where the method does not say?"
            }
            Self::ResultsDiffer => "What follows when results of one sample lie further apart?",
            Self::ReleaseByAnother => "Has another person than those who tested to release?",
            Self::Authorisation => "What is asked of work without an authorisation?",
            Self::AuthorisationMonths => {
                "For how long does an authorisation hold where no day is named?"
            }
            Self::ControlRules => "By which rules are control charts judged?",
            Self::OutOfControl => "What follows when a reference result is out of control?",
            Self::ReferenceInterval => "When is the reference aggregate tested again?",
            Self::BaselineResults => "What does a baseline of a control chart need?",
            Self::OverlapResults => {
                "How many results of both lots are compared before a new lot \
                                     takes the place of an old one?"
            }
        }
    }

    /// The values that it can have, beside a number where [`Policy::number`] says so.
    pub fn choices(self) -> &'static [Choice] {
        const DECISION_RULE: [Choice; 3] = [
            choice("simple", "simple acceptance: within the limit conforms"),
            choice("guarded", "guarded: within the limit by the expanded uncertainty conforms"),
            choice(
                "guarded-conditional",
                "guarded, and nearer to the limit than the expanded uncertainty is said to be so",
            ),
        ];
        const COMPARISON: [Choice; 3] = [
            choice("as-reported", "the loss as it is reported"),
            choice(
                "digits-of-the-limit",
                "the loss rounded once to the digits in which the limit is written",
            ),
            choice("unrounded", "the loss before any rounding (absolute method)"),
        ];
        const UNCERTAINTY: [Choice; 3] = [
            choice("none", "nobody has stated one"),
            choice("method-reproducibility", "the method's reproducibility at that loss"),
            choice("method-repeatability", "the method's repeatability at that loss"),
        ];
        const REPEATABILITY_LIMIT: [Choice; 1] =
            [choice("none", "not known where the method does not say")];
        const RESULTS_DIFFER: [Choice; 2] = [
            choice("report-with-remark", "the report says so"),
            choice(
                "test-another-pair",
                "another pair is tested before a result that agrees with no other is released",
            ),
        ];
        const RELEASE_BY_ANOTHER: [Choice; 2] = [
            choice("not-required", "whoever may release may release what they tested"),
            choice("required", "who tested does not release"),
        ];
        const AUTHORISATION: [Choice; 3] = [
            choice("not-required", "nothing: who has the right may work by every method"),
            choice(
                "reason",
                "a reason, which the report prints, unless one who is authorised watches",
            ),
            choice("required", "it is refused, unless one who is authorised watches"),
        ];
        const AUTHORISATION_MONTHS: [Choice; 1] = [choice("none", "until it is withdrawn")];
        const CONTROL_RULES: [Choice; 5] = [
            choice("1 2", "one result beyond 3 s, or two of three beyond 2 s on one side"),
            choice("1", "one result beyond 3 s"),
            choice("1 2 3 4", "these two, four of five beyond 1 s, and eight in a row on one side"),
            choice("1 ewma 0.2 3", "one beyond 3 s, and a weighted average for small shifts"),
            choice("1 cusum 0.5 5", "one beyond 3 s, and cumulative sums for small shifts"),
        ];
        const OUT_OF_CONTROL: [Choice; 3] = [
            choice("hold", "the apparatus is held and the result is investigated"),
            choice("investigate", "the result is investigated; the apparatus stays in service"),
            choice("say", "page, paper and command say so; people decide what follows"),
        ];
        const REFERENCE_INTERVAL: [Choice; 2] = [
            choice("10 samples 7 days", "every 10 samples, or each week in which tests are run"),
            choice("7 days", "each week in which tests are run"),
        ];
        const BASELINE_RESULTS: [Choice; 1] = [choice(
            "20 results 14 days 2 operators",
            "at least 20 results over at least two weeks by at least two operators",
        )];
        const OVERLAP_RESULTS: [Choice; 1] =
            [choice("5 results", "at least 5 results of each lot")];
        match self {
            Self::ControlRules => &CONTROL_RULES,
            Self::OutOfControl => &OUT_OF_CONTROL,
            Self::ReferenceInterval => &REFERENCE_INTERVAL,
            Self::BaselineResults => &BASELINE_RESULTS,
            Self::OverlapResults => &OVERLAP_RESULTS,
            Self::DecisionRule => &DECISION_RULE,
            Self::Comparison => &COMPARISON,
            Self::Uncertainty => &UNCERTAINTY,
            Self::RepeatabilityLimit => &REPEATABILITY_LIMIT,
            Self::ResultsDiffer => &RESULTS_DIFFER,
            Self::ReleaseByAnother => &RELEASE_BY_ANOTHER,
            Self::Authorisation => &AUTHORISATION,
            Self::AuthorisationMonths => &AUTHORISATION_MONTHS,
        }
    }

    /// What a number means as its value; `None` where a number is no answer.
    pub fn number(self) -> Option<&'static str> {
        match self {
            Self::Uncertainty => Some("the laboratory's own standard uncertainty"),
            Self::RepeatabilityLimit => Some("the laboratory's own limit"),
            Self::AuthorisationMonths => Some("from the day on which it is granted"),
            Self::DecisionRule
            | Self::Comparison
            | Self::ResultsDiffer
            | Self::ReleaseByAnother
            | Self::Authorisation
            | Self::ControlRules
            | Self::OutOfControl
            | Self::ReferenceInterval
            | Self::BaselineResults
            | Self::OverlapResults => None,
        }
    }

    /// The unit of that number.
    pub fn unit(self) -> &'static str {
        match self {
            Self::AuthorisationMonths => "months",
            _ => "% loss",
        }
    }

    /// Whether a number can be its value.
    fn can_be(self, value: Decimal) -> bool {
        let (is_whole, most) = match self {
            Self::AuthorisationMonths => (value.is_integer(), MOST_MONTHS),
            _ => (true, Decimal::TEN),
        };
        is_whole && value > Decimal::ZERO && value <= most
    }

    /// What its number must be.
    fn number_wanted(self) -> String {
        match self {
            Self::AuthorisationMonths => format!("a whole number from 1 to {MOST_MONTHS}"),
            _ => "a number above 0 and at most 10".to_owned(),
        }
    }

    /// How a value of one's own is written where the choices are only examples; `None` where they
    /// are all that there is.
    pub fn pattern(self) -> Option<&'static str> {
        match self {
            Self::ControlRules => Some(
                "numbers of rules from 1 to 4, and where wanted `ewma WEIGHT WIDTH` or \
                 `cusum ALLOWANCE INTERVAL`, like 1 2 cusum 0.5 5",
            ),
            Self::ReferenceInterval => Some("counts, like 10 samples 7 days"),
            Self::BaselineResults => Some("counts, like 20 results 14 days 2 operators"),
            Self::OverlapResults => Some("a count, like 5 results"),
            _ => None,
        }
    }

    /// A value by its pattern, in the form in which it is kept.
    fn by_pattern(self, typed: &str) -> Option<String> {
        use crate::control::{BaselineRule, DueRule, Rules, list};
        match self {
            Self::ControlRules => Rules::read(typed).map(|rules| rules.text()),
            Self::ReferenceInterval => {
                DueRule::read(typed)?;
                list::read(typed, DueRule::UNITS).map(|counts| list::write(counts, DueRule::UNITS))
            }
            Self::BaselineResults => {
                BaselineRule::read(typed)?;
                let units = BaselineRule::UNITS;
                list::read(typed, units).map(|counts| list::write(counts, units))
            }
            Self::OverlapResults => {
                let [results] = list::read(typed, ["results"])?;
                // A spread needs two.
                results.filter(|results| *results >= 2).map(|results| format!("{results} results"))
            }
            _ => None,
        }
    }

    /// What holds until the laboratory decides.
    pub fn default_value(self) -> &'static str {
        self.choices().first().map_or("", |choice| choice.value)
    }

    /// Where the default and its alternatives come from, with how sure we are of it.
    pub fn source(self) -> &'static str {
        match self {
            Self::DecisionRule => {
                "ILAC-G8:09/2019, pages 9 and 10 (seen): simple acceptance shares the risk, up to \
                 50 % at the limit; a guard band of the expanded uncertainty, k = 2, holds it at \
                 2.5 %. The rule is agreed with the client before the test (ISO/IEC 17025:2017, 7.1.3)."
            }
            Self::Comparison => {
                "ASTM E29 (seen): names a rounding and an absolute method, and binds nobody unless \
                 one is named. The default, the loss as reported, is common practice."
            }
            Self::Uncertainty => {
                "Nothing is claimed by default. A precision limit is 2.8 standard deviations (ASTM \
                 C670, from memory; so too the figures of BRE-MDrvals, seen)."
            }
            Self::RepeatabilityLimit => {
                "Nothing is claimed by default; a laboratory finds its own limit with its reference \
                 aggregate."
            }
            Self::ResultsDiffer => {
                "Common practice, no published source: no source that was read says what follows."
            }
            Self::ReleaseByAnother => {
                "ISO/IEC 17025:2017 asks that somebody authorises a report (7.8.2.1, from memory), \
                 not that it is another person; requiring one is common practice."
            }
            Self::Authorisation => {
                "ISO/IEC 17025:2017 asks that people are authorised for the work that they do, with \
                 records of it (6.2.5 and 6.2.6, from memory). Nothing is blocked by default: the \
                 laboratory first records who is authorised."
            }
            Self::AuthorisationMonths => {
                "ISO/IEC 17025:2017 asks that competence is monitored and names no interval (6.2.5, \
                 from memory); an interval is common practice, no published source."
            }
            Self::ControlRules => {
                "W. A. Shewhart's action limits at 3 s and warning limits at 2 s, as in ISO 7870-2 \
                 and NIST/SEMATECH e-Handbook 6.3.2 (from memory); what they cost: C. W. Champ and \
                 W. H. Woodall, Technometrics 29 (1987) 393-399, worked out anew here."
            }
            Self::OutOfControl => {
                "Common practice, no published source: nothing is reported until the cause is \
                 found. ISO/IEC 17025:2017, 7.10, asks that work which does not conform is dealt \
                 with (from memory)."
            }
            Self::ReferenceInterval => {
                "Every 10 samples or each week in which tests are run, whichever comes first: from \
                 memory of ASTM D6928 and AASHTO T 327, unconfirmed."
            }
            Self::BaselineResults => {
                "Common practice, no published source: 20 results are the fewest from which limits \
                 are usually set; two weeks and two operators let them hold what will vary later."
            }
            Self::OverlapResults => "Common practice, no published source.",
        }
    }

    /// Reads a value as it is typed, into the form in which it is kept.
    ///
    /// # Errors
    /// In words: what would be right.
    pub fn read(self, typed: &str) -> Result<String, String> {
        let typed = typed.trim();
        if let Some(choice) = self.choices().iter().find(|choice| choice.value == typed) {
            return Ok(choice.value.to_owned());
        }
        if let Some(kept) = self.by_pattern(typed) {
            return Ok(kept);
        }
        let names: Vec<&str> = self.choices().iter().map(|choice| choice.value).collect();
        let Some(number) = self.number() else {
            return Err(match self.pattern() {
                Some(pattern) => format!("write {pattern}"),
                None => format!("write {}", names.join(" or ")),
            });
        };
        match stonewear_measure::read(typed) {
            Ok(value) if self.can_be(value) && self.unit() == "months" => {
                Ok(value.trunc().to_string())
            }
            Ok(value) if self.can_be(value) => Ok(value.to_string()),
            _ => Err(format!(
                "write {}, or {}: {number}, {}",
                names.join(", "),
                self.number_wanted(),
                self.unit()
            )),
        }
    }

    /// A value of this policy in words.
    pub fn in_words(self, value: &str) -> String {
        match (self.choices().iter().find(|choice| choice.value == value), self.number()) {
            (Some(choice), _) => choice.words.to_owned(),
            (None, Some(number)) => format!("{number}, {value} {}", self.unit()),
            (None, None) if self == Self::ControlRules => crate::control::Rules::read(value)
                .map_or_else(|| value.to_owned(), |rules| rules.in_words()),
            (None, None) => value.to_owned(),
        }
    }
}

impl fmt::Display for Policy {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.name())
    }
}

impl FromStr for Policy {
    type Err = String;
    /// By its name; the error names all of them.
    fn from_str(typed: &str) -> Result<Self, String> {
        Self::ALL.into_iter().find(|policy| policy.name() == typed.trim()).ok_or_else(|| {
            let names = crate::words::listed(Self::ALL.map(Self::name));
            format!("known: {names}")
        })
    }
}

/// A policy as it is in force.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct InForce<'a> {
    /// The policy.
    pub policy: Policy,
    /// Its value.
    pub value: &'a str,
    /// The value in words.
    pub words: String,
    /// Who decided, when and why; `None` while the default holds.
    pub decided: Option<&'a Noted<PolicyDecision>>,
}

/// How a loss is held against a limit (ILAC-G8:09/2019).
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum DecisionRule {
    /// Within the limit conforms: the guard band is zero.
    Simple,
    /// Within the limit by at least the guard band conforms; all else does not.
    Guarded,
    /// As guarded, with two verdicts more for what lies within the guard band of the limit.
    GuardedConditional,
}

/// Which value is compared with the limit (ASTM E29).
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Comparison {
    /// The loss as the method has it reported.
    AsReported,
    /// The exact loss, rounded once to the digits in which the limit is written.
    DigitsOfTheLimit,
    /// The exact loss.
    Unrounded,
}

/// Where the uncertainty of a loss comes from.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum UncertaintyFrom {
    /// Nobody has stated one.
    Nowhere,
    /// The reproducibility that the method states.
    Reproducibility,
    /// The repeatability that the method states.
    Repeatability,
    /// The laboratory's own standard uncertainty, % loss.
    Laboratory(Decimal),
}

impl Lab {
    /// A policy as it is in force now: as decided last, or its default.
    pub fn policy(&self, policy: Policy) -> InForce<'_> {
        self.policy_before(policy, u64::MAX)
    }

    /// A policy as it was in force before this place in the journal.
    pub fn policy_before(&self, policy: Policy, before: u64) -> InForce<'_> {
        let decisions = self.policies.get(&policy);
        let decided = decisions
            .and_then(|decisions| decisions.iter().rfind(|decision| decision.position < before));
        let value = decided.map_or(policy.default_value(), |decided| decided.value.value.as_str());
        InForce { policy, value, words: policy.in_words(value), decided }
    }

    /// How a loss is held against a limit.
    pub fn decision_rule(&self) -> DecisionRule {
        match self.policy(Policy::DecisionRule).value {
            "guarded" => DecisionRule::Guarded,
            "guarded-conditional" => DecisionRule::GuardedConditional,
            _ => DecisionRule::Simple,
        }
    }

    /// Which value is compared with the limit.
    pub fn comparison(&self) -> Comparison {
        match self.policy(Policy::Comparison).value {
            "digits-of-the-limit" => Comparison::DigitsOfTheLimit,
            "unrounded" => Comparison::Unrounded,
            _ => Comparison::AsReported,
        }
    }

    /// Where the uncertainty of a loss comes from.
    pub fn uncertainty_from(&self) -> UncertaintyFrom {
        match self.policy(Policy::Uncertainty).value {
            "method-reproducibility" => UncertaintyFrom::Reproducibility,
            "method-repeatability" => UncertaintyFrom::Repeatability,
            value => value.parse().map_or(UncertaintyFrom::Nowhere, UncertaintyFrom::Laboratory),
        }
    }

    /// The laboratory's own limit for the difference of two results, % loss, if it has one.
    pub fn own_repeatability_limit(&self) -> Option<Decimal> {
        self.policy(Policy::RepeatabilityLimit).value.parse().ok()
    }

    /// Whether another pair is tested before a result that agrees with no other is released.
    pub fn wants_another_pair(&self) -> bool {
        self.policy(Policy::ResultsDiffer).value == "test-another-pair"
    }

    /// Whether who tested does not release.
    pub fn wants_release_by_another(&self) -> bool {
        self.policy(Policy::ReleaseByAnother).value == "required"
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::authorisation::AuthorisationRule;

    /// Each policy's default is one of its values, and reads back as itself; so does every value.
    #[test]
    fn every_value_reads_back_as_itself() {
        for policy in Policy::ALL {
            assert_eq!(policy.name().parse(), Ok(policy));
            let json = serde_json::to_value(policy).unwrap();
            assert_eq!(json, policy.name(), "the journal and people use one name");
            assert!(!policy.source().is_empty(), "{policy}");
            for choice in policy.choices() {
                assert_eq!(policy.read(choice.value).as_deref(), Ok(choice.value), "{policy}");
            }
        }
    }

    #[test]
    fn what_a_policy_cannot_be_is_said_with_what_it_can() {
        for (policy, typed, said) in [
            (Policy::DecisionRule, "0.5", "write simple or guarded or guarded-conditional"),
            (Policy::ResultsDiffer, "", "write report-with-remark or test-another-pair"),
            (
                Policy::RepeatabilityLimit,
                "0",
                "write none, or a number above 0 and at most 10: the laboratory's own limit, % loss",
            ),
            (
                Policy::Uncertainty,
                "-0.4",
                "write none, method-reproducibility, method-repeatability, or a number above 0 and \
                 at most 10: the laboratory's own standard uncertainty, % loss",
            ),
        ] {
            assert_eq!(policy.read(typed), Err(said.to_owned()), "{typed}");
        }
        assert_eq!(Policy::AuthorisationMonths.read("24.0").as_deref(), Ok("24"));
        for typed in ["0", "1.5", "121", "-3"] {
            let right = "write none, or a whole number from 1 to 120: from the day on which it is \
                         granted, months";
            assert_eq!(Policy::AuthorisationMonths.read(typed), Err(right.to_owned()), "{typed}");
        }
        assert_eq!(Policy::Uncertainty.read(" 0,45 ").as_deref(), Ok("0.45"));
        assert_eq!("rule".parse::<Policy>().unwrap_err().split(',').count(), 12);
    }

    #[test]
    fn the_defaults_claim_nothing_and_block_nothing() {
        let lab = Lab::new();
        assert_eq!(lab.decision_rule(), DecisionRule::Simple);
        assert_eq!(lab.comparison(), Comparison::AsReported);
        assert_eq!(lab.uncertainty_from(), UncertaintyFrom::Nowhere);
        assert_eq!(lab.own_repeatability_limit(), None);
        assert_eq!(lab.authorisation_rule(), AuthorisationRule::NotRequired);
        assert_eq!(lab.authorisation_months(), None);
        assert!(!lab.wants_another_pair() && !lab.wants_release_by_another());
    }
}
