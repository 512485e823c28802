//! What falls due, in one list: what, when, why, and where to go. Worked out from the state, so
//! that nobody keeps a list; the same list is given to calendars ([`calendar`]).

mod calendar;
mod sources;
mod studied;
mod watched;

pub use calendar::calendar;

use crate::code::{ItemCode, PersonCode};
use crate::fact::Right;
use crate::state::Lab;
use jiff::Timestamp;
use jiff::civil::Date;
use serde::Serialize;

/// What kind of thing falls due.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum DueKind {
    /// A check of an item.
    Check,
    /// An authorisation of a person.
    Authorisation,
    /// A result in doubt, with which nobody has dealt.
    Doubt,
    /// A specimen that has soaked long enough.
    Soak,
    /// A run of reference aggregate on an apparatus.
    Reference,
    /// A lot of reference aggregate that runs out.
    Lot,
    /// An investigation of a reference result.
    Investigation,
    /// A ball charge that leaves its tolerance.
    Charge,
    /// A round between laboratories that closes.
    Round,
    /// A proficiency score that waits for somebody.
    Score,
    /// An experiment with runs to go.
    Experiment,
}

impl DueKind {
    /// In a word.
    pub fn in_words(self) -> &'static str {
        match self {
            Self::Check => "check",
            Self::Authorisation => "authorisation",
            Self::Doubt => "doubt",
            Self::Soak => "soak",
            Self::Reference => "reference run",
            Self::Lot => "lot",
            Self::Investigation => "investigation",
            Self::Charge => "ball charge",
            Self::Round => "round",
            Self::Score => "score",
            Self::Experiment => "experiment",
        }
    }
}

/// When it falls due.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(tag = "when", rename_all = "kebab-case")]
pub enum When {
    /// It waits, since this instant.
    Now {
        /// Since when.
        since: Timestamp,
    },
    /// At the latest on this day, by the laboratory's calendar.
    Day {
        /// The day.
        day: Date,
    },
    /// At this instant.
    At {
        /// The instant.
        at: Timestamp,
    },
    /// After so many more; no day is known.
    After {
        /// How many.
        count: u32,
        /// Of what: `sample`, `run`, `result`.
        of: &'static str,
    },
    /// Before the first test, where none was run yet; before the first after a day, where one is
    /// named. An apparatus that rests owes nothing.
    NextTest {
        /// The day.
        after: Option<Date>,
    },
    /// It was planned, and no day was set.
    Open {
        /// Since when.
        since: Timestamp,
    },
}

/// How sure it is when something falls due.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
#[serde(tag = "sure", rename_all = "kebab-case")]
pub enum Sure {
    /// It follows from what is recorded and decided.
    Certain,
    /// It is forecast.
    Forecast {
        /// Between which days, or from what, in words.
        basis: String,
    },
}

/// Something that falls due.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Due {
    /// What names it for as long as it is the same duty, also when its day moves:
    /// `check.MILL-1.function-check`.
    pub key: String,
    /// Its kind.
    pub kind: DueKind,
    /// When.
    #[serde(flatten)]
    pub when: When,
    /// What is to be done: `MILL-1: function check`.
    pub what: String,
    /// Why it falls due then.
    pub why: String,
    /// The page where it is done.
    pub path: String,
    /// The item that it is about.
    pub item: Option<ItemCode>,
    /// The person whom it is about.
    pub person: Option<PersonCode>,
    /// Who can do it: people with this right.
    pub right: Right,
    /// How sure the day is.
    #[serde(flatten)]
    pub sure: Sure,
    /// When the fact was recorded from which the day follows.
    pub noted: Timestamp,
    /// Its place in the journal: it grows whenever the day moves.
    pub position: u64,
}

/// Which part of the list is wanted; what is absent holds nothing back.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Wanted {
    /// What this person can do, or what is about them.
    pub person: Option<PersonCode>,
    /// What people with this right can do.
    pub right: Option<Right>,
    /// What is about this item.
    pub item: Option<ItemCode>,
    /// Up to this day.
    pub until: Option<Date>,
}

/// How something that falls due stands on a day.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Urgency {
    /// It should have been done.
    Overdue,
    /// It waits now, or today is its last day.
    Now,
    /// Within a week.
    Soon,
    /// Later, or after more samples.
    Later,
}

impl Urgency {
    /// In a word or two.
    pub fn in_words(self) -> &'static str {
        match self {
            Self::Overdue => "overdue",
            Self::Now => "now",
            Self::Soon => "within a week",
            Self::Later => "later",
        }
    }
}

/// How long before its day something is soon, days.
const SOON_DAYS: i32 = 7;

impl Due {
    /// The day that it is entered on, by the laboratory's calendar; `None` where none is known.
    pub fn day(&self, lab: &Lab) -> Option<Date> {
        match self.when {
            When::Now { since } => Some(lab.local(since).date()),
            When::Day { day } => Some(day),
            When::At { at } => Some(lab.local(at).date()),
            When::NextTest { after } => after,
            When::After { .. } | When::Open { .. } => None,
        }
    }

    /// How it stands at this instant.
    pub fn urgency(&self, lab: &Lab, at: Timestamp) -> Urgency {
        let today = lab.local(at).date();
        match (self.when, self.day(lab)) {
            (When::Now { .. } | When::After { count: 0, .. }, _) => Urgency::Now,
            (When::NextTest { after }, _) if after.is_none_or(|day| day <= today) => Urgency::Now,
            (When::At { at: due }, _) if due <= at => Urgency::Now,
            (_, Some(day)) if day < today => Urgency::Overdue,
            (_, Some(day)) if day == today => Urgency::Now,
            (_, Some(day)) if (day - today).get_days() <= SOON_DAYS => Urgency::Soon,
            _ => Urgency::Later,
        }
    }

    /// When, in words: `2026-11-30`, `now, since 2026-11-02`, `after 4 more samples`.
    pub fn when_in_words(&self, lab: &Lab) -> String {
        match self.when {
            When::Now { since } => format!("now, since {}", lab.local(since).date()),
            When::Day { day } => day.to_string(),
            When::At { at } => lab.local(at).strftime("%Y-%m-%d %H:%M").to_string(),
            When::After { count, of } => {
                format!("after {}", crate::words::counted_more(count as usize, of))
            }
            When::NextTest { after: None } => "before the next test".to_owned(),
            When::NextTest { after: Some(day) } => format!("before the first test after {day}"),
            When::Open { since } => format!("open since {}", lab.local(since).date()),
        }
    }

    fn is_wanted(&self, lab: &Lab, wanted: &Wanted) -> bool {
        let by_person = wanted.person.as_ref().is_none_or(|code| {
            let can = lab.people.get(code).is_some_and(|person| person.may(self.right));
            can || self.person.as_ref() == Some(code)
        });
        by_person
            && wanted.right.is_none_or(|right| right == self.right)
            && (wanted.item.is_none() || wanted.item == self.item)
            && wanted.until.is_none_or(|until| self.day(lab).is_none_or(|day| day <= until))
    }
}

impl Lab {
    /// Everything that falls due, what is most urgent first.
    pub fn due(&self, at: Timestamp, wanted: &Wanted) -> Vec<Due> {
        let every = self
            .worked_out
            .due
            .get((), || sources::ALL.iter().flat_map(|source| source(self)).collect());
        let mut all: Vec<Due> =
            every.iter().filter(|due| due.is_wanted(self, wanted)).cloned().collect();
        all.sort_by_cached_key(|due| {
            (due.urgency(self, at), due.day(self).unwrap_or(Date::MAX), due.key.clone())
        });
        all
    }
}
