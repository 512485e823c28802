//! What is wrong with a description although every key of it could be read.

use super::{Apparatus, Control, CounterSenses, TimeStep};
use std::collections::BTreeSet;
use stonewear_measure::Decimal;

/// The least speed that a description may name, revolutions per minute: the methods allow ± 5,
/// and what is left must still turn.
const LEAST_RPM: i64 = 6;
/// The greatest speed that a description may name. The methods ask for 100 (AASHTO T 327-12(2020)
/// §6.1); three times that is a slip of the pen.
const GREATEST_RPM: i64 = 300;
/// The most positions on one tier; more is a slip of the pen.
const MOST_POSITIONS: u32 = 24;

/// A contradiction in a description.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct DescriptionFault {
    /// The key that it concerns: `tiers`.
    pub key: &'static str,
    /// Which entry of the list, from 0.
    pub entry: Option<usize>,
    /// What is wrong.
    pub wrong: String,
    /// What would be right.
    pub right: String,
}

/// Every contradiction in words, each with what would be right; empty when it can be used.
pub fn faults(apparatus: &Apparatus) -> Vec<String> {
    let described = |fault: DescriptionFault| format!("{}; {}", fault.wrong, fault.right);
    description_faults(apparatus).into_iter().map(described).collect()
}

/// Every contradiction with the key that it concerns; empty when the description can be used.
pub fn description_faults(apparatus: &Apparatus) -> Vec<DescriptionFault> {
    let mut found = Faults(Vec::new());
    if apparatus.name.trim().is_empty() {
        found.note("name", None, "the apparatus has no name", "write what people call it");
    }
    control(&mut found, apparatus);
    if let Err(error) = TimeStep::read(&apparatus.time_step) {
        let wrong = format!("time_step is “{}”: {error}", apparatus.time_step);
        found.note("time_step", None, wrong, "write it like \"1 min\", \"30 s\" or \"0.1 h\"");
    }
    let rpm = apparatus.nominal_rpm;
    if rpm < Decimal::from(LEAST_RPM) || rpm > Decimal::from(GREATEST_RPM) {
        let wrong = format!("nominal_rpm is {rpm}");
        let right = format!(
            "write the speed of a jar in revolutions per minute, {LEAST_RPM} to {GREATEST_RPM}; the methods ask for 100"
        );
        found.note("nominal_rpm", None, wrong, right);
    }
    tiers(&mut found, apparatus);
    doors(&mut found, apparatus);
    found.0
}

struct Faults(Vec<DescriptionFault>);

impl Faults {
    fn note(
        &mut self,
        key: &'static str,
        entry: Option<usize>,
        wrong: impl Into<String>,
        right: impl Into<String>,
    ) {
        let (wrong, right) = (wrong.into(), right.into());
        self.0.push(DescriptionFault { key, entry, wrong, right });
    }

    /// Notes names that are empty or not unique; case does not make a difference to a reader.
    fn names<'a>(&mut self, key: &'static str, names: impl Iterator<Item = &'a str>) {
        let mut seen = BTreeSet::new();
        let one = key.trim_end_matches('s');
        for (entry, name) in names.enumerate() {
            if !name.chars().any(char::is_alphanumeric) {
                let wrong = format!("{one} {} has no name with a letter or a digit", entry + 1);
                self.note(key, Some(entry), wrong, "write what people call it");
            } else if !seen.insert(name.trim().to_lowercase()) {
                let wrong = format!("two {key} are called “{name}”");
                self.note(key, Some(entry), wrong, "give each its own name");
            }
        }
    }
}

fn control(found: &mut Faults, apparatus: &Apparatus) {
    if apparatus.control.is_empty() {
        let right = "write control = [\"time\"], [\"revolutions\"] or both";
        found.note("control", None, "nothing can make a run end", right);
    }
    let different: BTreeSet<Control> = apparatus.control.iter().copied().collect();
    if different.len() < apparatus.control.len() {
        let right = "write each way to end a run once";
        found.note("control", None, "control names one way twice", right);
    }
    if different.contains(&Control::Revolutions)
        && apparatus.counter_senses == CounterSenses::Nothing
    {
        let wrong = "a run is to end by revolutions, but the counter senses nothing";
        let right = "write control = [\"time\"], or counter_senses = \"jar lid\" or \"roller\"";
        found.note("counter_senses", None, wrong, right);
    }
}

fn tiers(found: &mut Faults, apparatus: &Apparatus) {
    if apparatus.tiers.is_empty() {
        let right = "write tiers = [{ name = \"only\", positions = 1 }]";
        found.note("tiers", None, "the apparatus has no tier", right);
    }
    found.names("tiers", apparatus.tiers.iter().map(|tier| tier.name.as_str()));
    for (entry, tier) in apparatus.tiers.iter().enumerate() {
        if tier.positions == 0 || tier.positions > MOST_POSITIONS {
            let wrong = format!("tier “{}” has {} positions", tier.name, tier.positions);
            let right = format!("write how many jars lie on it, 1 to {MOST_POSITIONS}");
            found.note("tiers", Some(entry), wrong, right);
        }
    }
}

fn doors(found: &mut Faults, apparatus: &Apparatus) {
    found.names("doors", apparatus.doors.iter().map(|door| door.name.as_str()));
    let mut order = BTreeSet::new();
    for (entry, door) in apparatus.doors.iter().enumerate() {
        let wrong = if door.close == 0 {
            format!("door “{}” is closed as number 0", door.name)
        } else if !order.insert(door.close) {
            format!("two doors are closed as number {}", door.close)
        } else {
            continue;
        };
        let right = "number the doors from 1 in the order in which they are closed";
        found.note("doors", Some(entry), wrong, right);
    }
    if apparatus.interlock && apparatus.doors.is_empty() {
        let wrong = "there is an interlock, but no door that could stop the drive";
        found.note("interlock", None, wrong, "describe the doors, or write interlock = false");
    }
}
