//! Why nothing can be recorded now, while everything can be read: in words, with what to do.

use crate::replay::Damage;
use jiff::{SignedDuration, Timestamp};
use std::fmt;
use stonewear_journal::StoreError;

/// How far the clock of the machine may stand before the last fact. Clocks are set right by seconds
/// now and then; until they have caught up, the time of the last fact is taken.
pub(crate) const CLOCKS_DIFFER: SignedDuration = SignedDuration::from_mins(2);

/// Why nothing can be recorded now.
#[derive(Debug, Clone, PartialEq, Eq)]
#[non_exhaustive]
pub enum Hindrance {
    /// The journal is damaged.
    Damaged(Damage),
    /// Nothing can be written in the folder of the laboratory.
    OnlyReadable,
    /// The disk is full.
    DiskFull,
    /// The disk fails, in the words of the system.
    DiskFails(String),
    /// The database does not answer, in the words of the system.
    DatabaseAway(String),
    /// The clock of the machine shows a time well before the last fact.
    ClockBehind {
        /// What it shows.
        clock: Timestamp,
        /// When the last fact was recorded.
        last: Timestamp,
    },
}

impl Hindrance {
    /// What a store's error says about the entries that follow; nothing where only this one entry
    /// could not be kept.
    pub(crate) fn of(error: &StoreError) -> Option<Self> {
        match error {
            StoreError::DiskFull => Some(Self::DiskFull),
            StoreError::ReadOnly => Some(Self::OnlyReadable),
            StoreError::Failing(what) | StoreError::Damaged(what) => {
                Some(Self::DiskFails(what.clone()))
            }
            StoreError::Unreachable(what) => Some(Self::DatabaseAway(what.clone())),
            _ => None,
        }
    }

    /// Whether asking again would wait for somebody who does not answer.
    pub(crate) fn is_away(&self) -> bool {
        matches!(self, Self::DatabaseAway(_))
    }

    /// Whether entries can be sent all the same: it may pass while somebody types.
    pub fn may_pass(&self) -> bool {
        matches!(
            self,
            Self::DiskFull | Self::DiskFails(_) | Self::DatabaseAway(_) | Self::ClockBehind { .. }
        )
    }

    /// What to do about it.
    pub fn remedy(&self) -> &'static str {
        match self {
            Self::Damaged(_) => {
                "Stop the program, keep a copy of the folder as it is, and return to a backup: \
                 stonewear restore."
            }
            Self::OnlyReadable => {
                "Let the program write in this folder and start it again, or move the folder to a disk \
                 that can be written."
            }
            Self::DiskFull => {
                "Make room on the disk; recording goes on by itself. What was typed stays on the page: \
                 send it again."
            }
            Self::DiskFails(_) => {
                "Look at the disk, its quota and its cables; recording goes on by itself when it takes \
                 entries again. What was typed stays on the page: send it again."
            }
            Self::DatabaseAway(_) => {
                "Look at the line to the database and at its server; recording goes on by itself when it \
                 answers again. What was typed stays on the page: send it again."
            }
            Self::ClockBehind { .. } => {
                "Set the clock of the machine; recording goes on by itself. If the clock is right and \
                 the last fact carries a wrong time, start with stonewear serve --clock-is-right."
            }
        }
    }
}

impl fmt::Display for Hindrance {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Damaged(damage) => write!(
                f,
                "The journal is damaged; what comes before the damage can be read. {damage}."
            ),
            Self::OnlyReadable => f.write_str("The folder of the laboratory can only be read."),
            Self::DiskFull => f.write_str("The disk is full."),
            Self::DiskFails(what) => write!(f, "The disk does not take what is written: {what}."),
            Self::DatabaseAway(what) => write!(f, "The database does not answer: {what}."),
            Self::ClockBehind { clock, last } => write!(
                f,
                "The clock of the machine shows {clock:.0}, but the last fact was recorded at {last:.0}."
            ),
        }
    }
}
