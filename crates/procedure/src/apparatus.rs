//! How an apparatus is built, as far as its checks depend on it.

mod faults;
mod time_step;

pub use faults::{DescriptionFault, description_faults, faults};
pub use time_step::{TimeStep, TimeStepError, TimeUnit};

use serde::{Deserialize, Serialize};
use stonewear_measure::Decimal;

/// What makes a run end.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
pub enum Control {
    /// A timer.
    #[serde(rename = "time")]
    Time,
    /// A revolution counter.
    #[serde(rename = "revolutions")]
    Revolutions,
}

impl Control {
    /// Every value, as a description writes it.
    pub const WORDS: &[(&str, Self)] = &[("time", Self::Time), ("revolutions", Self::Revolutions)];

    /// The value as a description writes it.
    pub fn as_str(self) -> &'static str {
        match self {
            Self::Time => "time",
            Self::Revolutions => "revolutions",
        }
    }
}

/// What the revolution counter senses.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub enum CounterSenses {
    /// A mark on the lid of a jar: an empty machine counts nothing.
    #[serde(rename = "jar lid")]
    JarLid,
    /// The shaft of a roller: an empty machine counts too.
    #[serde(rename = "roller")]
    Roller,
    /// There is no counter.
    #[serde(rename = "nothing")]
    Nothing,
}

impl CounterSenses {
    /// Every value, as a description writes it.
    pub const WORDS: &[(&str, Self)] =
        &[("jar lid", Self::JarLid), ("roller", Self::Roller), ("nothing", Self::Nothing)];

    /// The value as a description writes it.
    pub fn as_str(self) -> &'static str {
        match self {
            Self::JarLid => "jar lid",
            Self::Roller => "roller",
            Self::Nothing => "nothing",
        }
    }
}

/// How the control is changed between time and revolutions.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub enum ModeChange {
    /// Switch the power off and on again.
    #[serde(rename = "power off and on")]
    PowerOffAndOn,
    /// At the panel, under power.
    #[serde(rename = "at the panel")]
    AtThePanel,
}

impl ModeChange {
    /// Every value, as a description writes it.
    pub const WORDS: &[(&str, Self)] =
        &[("power off and on", Self::PowerOffAndOn), ("at the panel", Self::AtThePanel)];

    /// The value as a description writes it.
    pub fn as_str(self) -> &'static str {
        match self {
            Self::PowerOffAndOn => "power off and on",
            Self::AtThePanel => "at the panel",
        }
    }
}

/// What a power interruption does to the count.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub enum AfterPowerLoss {
    /// It starts again from zero.
    #[serde(rename = "count lost")]
    CountLost,
    /// It goes on.
    #[serde(rename = "count kept")]
    CountKept,
}

impl AfterPowerLoss {
    /// Every value, as a description writes it.
    pub const WORDS: &[(&str, Self)] =
        &[("count lost", Self::CountLost), ("count kept", Self::CountKept)];

    /// The value as a description writes it.
    pub fn as_str(self) -> &'static str {
        match self {
            Self::CountLost => "count lost",
            Self::CountKept => "count kept",
        }
    }
}

/// One pair of rollers and the jars that lie on it.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Tier {
    /// What people call it: `upper`.
    pub name: String,
    /// Jars that it takes.
    pub positions: u32,
}

/// A door of the guard.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Door {
    /// What people call it: `lower`.
    pub name: String,
    /// In which order it is closed, from 1.
    #[serde(default = "one")]
    pub close: u32,
    /// Whether it has a latch.
    #[serde(default)]
    pub latch: bool,
}

fn one() -> u32 {
    1
}

/// The description of an apparatus. Every key has a default.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct Apparatus {
    /// What people call it.
    pub name: String,
    /// How a run can be made to end.
    pub control: Vec<Control>,
    /// Resolution of the timer, as the machine gives it: `1 min`.
    pub time_step: String,
    /// What the counter senses.
    pub counter_senses: CounterSenses,
    /// How the mode of control is changed.
    pub mode_change: ModeChange,
    /// What a power interruption does to the count.
    pub after_power_loss: AfterPowerLoss,
    /// Nominal speed, revolutions per minute.
    pub nominal_rpm: Decimal,
    /// The tiers, top first.
    pub tiers: Vec<Tier>,
    /// The doors of the guard.
    pub doors: Vec<Door>,
    /// Whether an open door stops the drive.
    pub interlock: bool,
    /// Whether start and stop are two separate buttons.
    pub separate_stop: bool,
}

impl Default for Apparatus {
    fn default() -> Self {
        Self {
            name: "jar mill".to_owned(),
            control: vec![Control::Revolutions],
            time_step: "1 min".to_owned(),
            counter_senses: CounterSenses::Roller,
            mode_change: ModeChange::AtThePanel,
            after_power_loss: AfterPowerLoss::CountLost,
            nominal_rpm: Decimal::ONE_HUNDRED,
            tiers: vec![Tier { name: "only".to_owned(), positions: 1 }],
            // A guard that is assumed and is not there is noticed at the first step that
            // opens it; one that is there and was not assumed would go unproved.
            doors: vec![Door { name: "guard".to_owned(), close: 1, latch: false }],
            interlock: true,
            separate_stop: true,
        }
    }
}

impl Apparatus {
    /// An abrasion drum: one place, ended by its counter. It turns at 30 to 33 revolutions per
    /// minute (sheet after INEN 0860), of which this is the middle.
    pub fn drum() -> Self {
        Self {
            name: "abrasion drum".to_owned(),
            nominal_rpm: Decimal::from_parts(315, 0, 0, false, 1),
            tiers: vec![Tier { name: "drum".to_owned(), positions: 1 }],
            ..Self::default()
        }
    }

    /// Jars that it takes, on all tiers together.
    pub fn positions(&self) -> u32 {
        self.tiers.iter().fold(0, |sum, tier| sum.saturating_add(tier.positions))
    }

    /// Every place for a jar: its tier and its number on the tier, from 1, top tier first.
    pub fn places(&self) -> impl Iterator<Item = (&Tier, u32)> {
        self.tiers
            .iter()
            .flat_map(|tier| (1..=tier.positions).map(move |position| (tier, position)))
    }

    /// The doors in the order in which they are closed.
    pub fn doors_as_closed(&self) -> Vec<&Door> {
        let mut doors: Vec<&Door> = self.doors.iter().collect();
        doors.sort_by_key(|door| door.close);
        doors
    }

    /// True when it has a revolution counter, whatever ends its runs.
    pub fn has_counter(&self) -> bool {
        self.counter_senses != CounterSenses::Nothing
    }
}
