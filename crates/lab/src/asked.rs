//! Of whom something is asked: who began it, who alone may do it, or anybody who may. Worked out
//! from what waits ([`Lab::next`]), the rights and the authorisations, so that a person is shown
//! what is theirs to do, and of the rest with whom it lies.

use crate::authorisation::{Activity, AuthorisationRule};
use crate::code::PersonCode;
use crate::fact::Right;
use crate::next::Next;
use crate::state::{Lab, Specimen};
use jiff::Timestamp;
use serde::Serialize;
use stonewear_method::MethodId;

/// Why something is asked of these people.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Because {
    /// They began it, and may go on with it.
    Began,
    /// Each of them may do it, and nobody has begun it.
    May,
    /// Nobody may do it as things stand.
    NobodyMay,
}

/// Something that waits, and of whom it is asked.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Asked {
    /// What waits.
    #[serde(flatten)]
    pub next: Next,
    /// Of whom it is asked; empty where nobody may do it.
    pub of: Vec<PersonCode>,
    /// Why of them.
    pub because: Because,
}

impl Asked {
    /// Whether it is asked of this person.
    pub fn is_of(&self, person: &str) -> bool {
        self.of.iter().any(|code| code.as_str() == person)
    }

    /// Of whom, in words: `CD, who began it`, `AB or EF`, `nobody may do it`.
    pub fn in_words(&self) -> String {
        let codes: Vec<&str> = self.of.iter().map(PersonCode::as_str).collect();
        match self.because {
            Because::Began => format!("{}, who began it", codes.join(" or ")),
            Because::May => codes.join(" or "),
            Because::NobodyMay => "nobody may do it".to_owned(),
        }
    }
}

/// What somebody must be allowed to do for something that waits, and who began it.
struct Needs<'a> {
    right: Right,
    /// The authorisation, where it is work by a method.
    activity: Option<(&'a MethodId, Activity)>,
    began: Option<&'a PersonCode>,
}

impl<'a> Needs<'a> {
    fn test(began: Option<&'a PersonCode>) -> Self {
        Self { right: Right::Test, activity: None, began }
    }

    fn of(specimen: &'a Specimen, activity: Activity, began: &'a PersonCode) -> Self {
        let activity = Some((&specimen.method, activity));
        Self { right: Right::Test, activity, began: Some(began) }
    }
}

impl Lab {
    /// Everything that waits at this instant and of whom it is asked, what is nearest to a released
    /// result first.
    pub fn asked(&self, at: Timestamp) -> Vec<Asked> {
        self.next().into_iter().map(|next| self.asked_for(next, at)).collect()
    }

    fn asked_for(&self, next: Next, at: Timestamp) -> Asked {
        let (people, began) = match &next {
            Next::Release { result } => (self.asked_to_release(result.as_str(), at), None),
            other => {
                let needs = self.needs(other);
                (self.who_may(&needs, at), needs.began)
            }
        };
        if let Some(began) = began.filter(|code| people.contains(code)) {
            return Asked { of: vec![began.clone()], because: Because::Began, next };
        }
        let because = if people.is_empty() { Because::NobodyMay } else { Because::May };
        Asked { of: people.into_iter().cloned().collect(), because, next }
    }

    fn needs<'a>(&'a self, next: &'a Next) -> Needs<'a> {
        let specimen = |code| self.specimens.get(code);
        match next {
            Next::StopRun { run } => {
                let run = self.runs.get(run);
                let method = run
                    .and_then(|run| run.placed.first())
                    .and_then(|placed| specimen(&placed.specimen))
                    .map(|specimen| (&specimen.method, Activity::Run));
                let began = run.map(|run| &run.started.by);
                Needs { right: Right::Test, activity: method, began }
            }
            Next::WeighAfter { specimen: code } => specimen(code).map_or_else(
                || Needs::test(None),
                |one| {
                    let run = one.run.as_ref().and_then(|run| self.runs.get(run));
                    let began = run.map_or(&one.begun.by, |run| &run.started.by);
                    Needs::of(one, Activity::WeighAfter, began)
                },
            ),
            Next::StartRun { specimen: code } => specimen(code).map_or_else(
                || Needs::test(None),
                |one| {
                    let weighed = one.before.last().map(|mass| &mass.by);
                    Needs::of(one, Activity::Run, weighed.unwrap_or(&one.begun.by))
                },
            ),
            Next::WeighBefore { specimen: code } | Next::MakeUp { specimen: code } => {
                specimen(code).map_or_else(
                    || Needs::test(None),
                    |one| Needs::of(one, Activity::MakeUp, &one.begun.by),
                )
            }
            Next::TakeReading { specimen: code, reading } => specimen(code).map_or_else(
                || Needs::test(None),
                |one| {
                    let known = self.rules_of(one).and_then(|(method, _)| method.reading(reading));
                    let activity = known
                        .map_or(Activity::WeighAfter, |reading| Activity::of_reading(reading.when));
                    Needs::of(one, activity, &one.begun.by)
                },
            ),
            Next::GoOn { check } => {
                Needs::test(self.checks.get(check).map(|check| &check.started.by))
            }
            Next::BeginSpecimen { .. } | Next::Prove { .. } | Next::Release { .. } => {
                Needs::test(None)
            }
        }
    }

    /// Who may do it: with the right and, where the laboratory asks for authorisations, with one.
    /// Where it takes a reason instead, those with the right are asked if nobody is authorised.
    fn who_may(&self, needs: &Needs<'_>, at: Timestamp) -> Vec<&PersonCode> {
        let with_right = self.people.values().filter(|person| person.may(needs.right));
        self.authorised_among(with_right.map(|person| &person.code).collect(), needs.activity, at)
    }

    fn asked_to_release(&self, result: &str, at: Timestamp) -> Vec<&PersonCode> {
        let Some(result) = self.results.get(result) else { return Vec::new() };
        let may = self.may_release(result).into_iter().map(|person| &person.code).collect();
        self.authorised_among(may, Some((&result.method, Activity::Release)), at)
    }

    fn authorised_among<'a>(
        &self,
        people: Vec<&'a PersonCode>,
        activity: Option<(&MethodId, Activity)>,
        at: Timestamp,
    ) -> Vec<&'a PersonCode> {
        let rule = self.authorisation_rule();
        let Some((method, activity)) = activity.filter(|_| rule != AuthorisationRule::NotRequired)
        else {
            return people;
        };
        let is_covered =
            |person: &&&PersonCode| self.cover(person, method, activity, at, u64::MAX).holds();
        let covered: Vec<&PersonCode> = people.iter().filter(is_covered).copied().collect();
        if covered.is_empty() && rule == AuthorisationRule::Reason { people } else { covered }
    }
}
