//! Who is authorised for what, by which method, on what evidence: a laboratory authorises people
//! for the work that they do (ISO/IEC 17025:2017, 6.2.5 and 6.2.6, from memory, unconfirmed).

use crate::code::{AuthorisationCode, PersonCode};
use crate::policy::Policy;
use crate::state::{Authorisation, Lab, Noted, Supervision};
use jiff::Timestamp;
use jiff::civil::Date;
use serde::{Deserialize, Serialize};
use std::fmt;
use std::str::FromStr;
use stonewear_method::MethodId;
use stonewear_method::model::When;

/// What a person can be authorised for by a method. There are few on purpose: each is a part of
/// the work that one learns, and is watched at, as a whole.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Activity {
    /// Make up specimens and weigh them before the run.
    MakeUp,
    /// Run them.
    Run,
    /// Wash, dry and weigh what is left, and read what the method reads after the run.
    WeighAfter,
    /// Judge and release results.
    Release,
}

impl Activity {
    /// All of them, in the order of the work.
    pub const ALL: [Self; 4] = [Self::MakeUp, Self::Run, Self::WeighAfter, Self::Release];

    /// The name by which it is typed.
    pub fn name(self) -> &'static str {
        match self {
            Self::MakeUp => "make-up",
            Self::Run => "run",
            Self::WeighAfter => "weigh-after",
            Self::Release => "release",
        }
    }

    /// In words, to follow “may”.
    pub fn in_words(self) -> &'static str {
        match self {
            Self::MakeUp => "make up specimens",
            Self::Run => "run specimens",
            Self::WeighAfter => "wash and weigh after the run",
            Self::Release => "judge and release results",
        }
    }

    /// The work that a reading belongs to.
    pub fn of_reading(when: When) -> Self {
        match when {
            When::Before => Self::MakeUp,
            When::During => Self::Run,
            When::After => Self::WeighAfter,
        }
    }
}

impl fmt::Display for Activity {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.name())
    }
}

impl FromStr for Activity {
    type Err = String;
    /// By its name; the error names all of them.
    fn from_str(typed: &str) -> Result<Self, String> {
        Self::ALL
            .into_iter()
            .find(|activity| activity.name() == typed.trim())
            .ok_or_else(|| format!("write {}", crate::words::listed(Self::ALL.map(Self::name))))
    }
}

/// How an authorisation stands, the day aside.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum AuthorisationStanding {
    /// It holds.
    InForce,
    /// It does not hold for now.
    Suspended,
    /// It holds no longer; a new one would have to be granted.
    Withdrawn,
}

impl AuthorisationStanding {
    /// The name by which it is typed.
    pub fn name(self) -> &'static str {
        match self {
            Self::InForce => "in-force",
            Self::Suspended => "suspended",
            Self::Withdrawn => "withdrawn",
        }
    }

    /// In words.
    pub fn in_words(self) -> &'static str {
        match self {
            Self::InForce => "in force",
            Self::Suspended => "suspended",
            Self::Withdrawn => "withdrawn",
        }
    }
}

impl FromStr for AuthorisationStanding {
    type Err = &'static str;
    fn from_str(typed: &str) -> Result<Self, &'static str> {
        [Self::InForce, Self::Suspended, Self::Withdrawn]
            .into_iter()
            .find(|standing| standing.name() == typed.trim())
            .ok_or("write suspended, withdrawn or in-force")
    }
}

/// What the laboratory asks of work without an authorisation.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum AuthorisationRule {
    /// Nothing.
    NotRequired,
    /// A reason, which the report prints.
    Reason,
    /// It is refused.
    Required,
}

/// What stands behind the work of a person at some instant.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
#[serde(tag = "cover", rename_all = "kebab-case")]
pub enum Cover {
    /// They are authorised.
    Authorised {
        /// By which authorisation.
        authorisation: AuthorisationCode,
        /// Since when.
        since: Timestamp,
        /// The last day on which it holds; absent when it holds until it is withdrawn.
        until: Option<Date>,
    },
    /// Somebody who is authorised watches.
    Supervised {
        /// Who.
        by: PersonCode,
        /// Since when.
        since: Timestamp,
        /// The last day of it.
        until: Date,
    },
    /// Nothing.
    Nothing {
        /// Why not.
        why: String,
    },
}

impl Cover {
    /// Whether somebody stands behind the work: the person's own authorisation, or who watches.
    pub fn holds(&self) -> bool {
        !matches!(self, Self::Nothing { .. })
    }
}

impl Lab {
    /// What the laboratory asks of work without an authorisation, as decided before this place in
    /// the journal.
    pub fn authorisation_rule_before(&self, before: u64) -> AuthorisationRule {
        match self.policy_before(Policy::Authorisation, before).value {
            "reason" => AuthorisationRule::Reason,
            "required" => AuthorisationRule::Required,
            _ => AuthorisationRule::NotRequired,
        }
    }

    /// What the laboratory asks of work without an authorisation.
    pub fn authorisation_rule(&self) -> AuthorisationRule {
        self.authorisation_rule_before(u64::MAX)
    }

    /// For how many months an authorisation holds where no day is named; `None` for as long as it
    /// is not withdrawn.
    pub fn authorisation_months(&self) -> Option<u32> {
        self.policy(Policy::AuthorisationMonths).value.parse().ok()
    }

    /// The authorisations of a person, the newest first.
    pub fn authorisations_of<'a>(
        &'a self,
        person: &'a PersonCode,
    ) -> impl Iterator<Item = &'a Authorisation> {
        let mut all: Vec<&Authorisation> =
            self.authorisations.values().filter(|one| one.person == *person).collect();
        all.sort_by_key(|one| std::cmp::Reverse(one.granted.position));
        all.into_iter()
    }

    /// Whether an authorisation holds at this instant, by what was recorded before this place.
    pub fn is_in_force(&self, one: &Authorisation, at: Timestamp, before: u64) -> bool {
        let today = self.local(at).date();
        one.granted.position < before
            && one.standing_before(before) == AuthorisationStanding::InForce
            && one.until.is_none_or(|until| today <= until)
    }

    /// How an authorisation stands at this instant: `in force until 2026-11-30`.
    pub fn authorisation_in_words(&self, one: &Authorisation, at: Timestamp) -> String {
        match (one.change_before(u64::MAX), one.until) {
            (Some(change), _) if change.value.standing != AuthorisationStanding::InForce => {
                let day = self.local(change.at).date();
                format!("{} on {day}: {}", change.value.standing.in_words(), change.value.reason)
            }
            (_, Some(until)) if self.local(at).date() > until => format!("ran out on {until}"),
            (_, Some(until)) => format!("in force until {until}"),
            (_, None) => "in force until it is withdrawn".to_owned(),
        }
    }

    /// What stands behind an activity of a person by a method at this instant, by what was
    /// recorded before this place in the journal.
    pub fn cover(
        &self,
        person: &PersonCode,
        method: &MethodId,
        activity: Activity,
        at: Timestamp,
        before: u64,
    ) -> Cover {
        let mine: Vec<&Authorisation> = self
            .authorisations_of(person)
            .filter(|one| {
                one.method == *method
                    && one.activities.contains(&activity)
                    && one.granted.position < before
            })
            .collect();
        let holding = mine.iter().filter(|one| self.is_in_force(one, at, before));
        if let Some(one) = holding.max_by_key(|one| one.until.unwrap_or(Date::MAX)) {
            return Cover::Authorised {
                authorisation: one.code.clone(),
                since: one.granted.at,
                until: one.until,
            };
        }
        if let Some(watched) = self.supervision(person, method, activity, at, before) {
            return Cover::Supervised {
                by: watched.by.clone(),
                since: watched.at,
                until: watched.value.until,
            };
        }
        let why = match mine.first() {
            Some(last) => format!("{} {}", last.code, self.not_in_force(last, before)),
            None => self.never_authorised(person, method, activity),
        };
        Cover::Nothing { why }
    }

    fn supervision(
        &self,
        person: &PersonCode,
        method: &MethodId,
        activity: Activity,
        at: Timestamp,
        before: u64,
    ) -> Option<&Noted<Supervision>> {
        let today = self.local(at).date();
        self.supervisions.iter().rev().find(|one| {
            (&one.value.person, &one.value.method) == (person, method)
                && one.value.activities.contains(&activity)
                && one.position < before
                && today <= one.value.until
        })
    }

    /// Why an authorisation did not hold, by what was recorded before this place.
    fn not_in_force(&self, one: &Authorisation, before: u64) -> String {
        match (one.change_before(before), one.until) {
            (Some(change), _) if change.value.standing != AuthorisationStanding::InForce => {
                let day = self.local(change.at).date();
                format!("was {} on {day}", change.value.standing.in_words())
            }
            (_, Some(until)) => format!("ran out on {until}"),
            (_, None) => "does not hold".to_owned(),
        }
    }

    fn never_authorised(
        &self,
        person: &PersonCode,
        method: &MethodId,
        activity: Activity,
    ) -> String {
        let base = method.name();
        let other = self.authorisations_of(person).find(|one| {
            one.method != *method
                && one.method.answers_to(base)
                && one.activities.contains(&activity)
        });
        match other {
            Some(other) => format!("{} is for the edition {}", other.code, other.method),
            None => "nobody has authorised them".to_owned(),
        }
    }

    /// Who is authorised for an activity by a method at this instant, with the last day.
    pub fn authorised_for(
        &self,
        method: &MethodId,
        activity: Activity,
        at: Timestamp,
    ) -> Vec<(&PersonCode, Option<Date>)> {
        self.people
            .keys()
            .filter_map(|person| match self.cover(person, method, activity, at, u64::MAX) {
                Cover::Authorised { until, .. } => Some((person, until)),
                Cover::Supervised { .. } | Cover::Nothing { .. } => None,
            })
            .collect()
    }
}
