//! How an apparatus is built, as far as its checks depend on it.

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
            doors: Vec::new(),
            interlock: true,
            separate_stop: true,
        }
    }
}
