//! Equipment and its checks.

use super::{Column, Kind, Value, column, day};
use stonewear_lab::fact::Seen;
use stonewear_lab::{ItemCode, Lab};
use stonewear_procedure::Expect;

pub(super) const ITEMS: [Column; 10] = [
    column("item", "Item", "", Kind::Text, "The code marked on it."),
    column("kind", "Kind", "", Kind::Text, "What it is."),
    column("name", "Name", "", Kind::Text, "What people call it."),
    column("maker_and_serial", "Maker and number", "", Kind::Text, "Who made it, its number."),
    column("opening_mm", "Opening", "mm", Kind::Number, "Opening of a sieve."),
    column(
        "resolution",
        "Smallest step",
        "",
        Kind::Number,
        "The smallest step that an instrument shows, in the unit that it reads.",
    ),
    column("standing", "Standing", "", Kind::Text, "Where it stands now."),
    column("standing_since", "Since", "", Kind::Day, "Since when it stands there."),
    column(
        "proved_by",
        "Proved by",
        "",
        Kind::Text,
        "The last passed check that lets it be in service.",
    ),
    column(
        "proved_until",
        "Proved until",
        "",
        Kind::Day,
        "Until when; empty where a proof does not run out.",
    ),
];

pub(super) fn items(lab: &Lab) -> Vec<Vec<Value>> {
    let row = |item: &stonewear_lab::state::Item| {
        let proof = lab.proof_of(&item.code);
        let until = proof.and_then(|check| lab.proves_until(check));
        vec![
            item.code.as_str().into(),
            item.kind.as_str().into(),
            item.name.as_str().into(),
            item.maker_and_serial.as_str().into(),
            item.opening_mm.into(),
            item.resolution.into(),
            item.standing().in_words().into(),
            day(lab, item.since()),
            proof.map(|check| check.code.to_string()).into(),
            until.map_or(Value::Empty, |until| day(lab, until)),
        ]
    };
    lab.items.values().map(row).collect()
}

pub(super) const CHECKS: [Column; 17] = [
    column("check", "Check", "", Kind::Text, "Code of the check."),
    column("item", "Item", "", Kind::Text, "The item that was checked."),
    column("procedure", "Procedure", "", Kind::Text, "By which procedure."),
    column("step", "Step", "", Kind::Text, "The step."),
    column("observed_at", "Observed", "", Kind::Moment, "When it was seen or read."),
    column("observed_by", "By", "", Kind::Text, "Initials of who saw or read it."),
    column("asked", "What was looked for", "", Kind::Text, "What must be so, or what is read."),
    column(
        "as_expected",
        "As expected",
        "",
        Kind::YesNo,
        "Where something is seen: as it must be.",
    ),
    column("value", "Value", "", Kind::Number, "The number that was read, as known now."),
    column("unit", "Unit", "", Kind::Text, "The unit of the number."),
    column("lower_limit", "At least", "", Kind::Number, "The lower limit, in the same unit."),
    column("upper_limit", "At most", "", Kind::Number, "The upper limit, in the same unit."),
    column("passed", "Passed", "", Kind::YesNo, "Whether the step was as it must be."),
    column("instrument", "Read with", "", Kind::Text, "The item that the number was read with."),
    column("corrected", "Corrected", "", Kind::YesNo, "Whether the first record was corrected."),
    column("note", "Note", "", Kind::Text, "What was noted."),
    column(
        "check_passed",
        "Check passed",
        "",
        Kind::YesNo,
        "How the whole check ended; empty while it goes on.",
    ),
];

pub(super) fn checks(lab: &Lab) -> Vec<Vec<Value>> {
    let mut rows = Vec::new();
    for check in lab.checks.values() {
        for observation in &check.observations {
            let seen = &observation.value;
            let step = check.procedure.steps.iter().find(|step| step.id == seen.step);
            let (asked, unit, limits) = match step.map(|step| &step.expect) {
                Some(Expect::Seen { what }) => (what.as_str(), "", None),
                Some(Expect::Number { what, unit, limits, .. }) => {
                    (what.as_str(), unit.as_str(), Some(limits))
                }
                None => ("", "", None),
            };
            let (as_expected, value) = match seen.known() {
                Seen::AsExpected(yes) => (Some(*yes), None),
                Seen::Number(number) => (None, Some(*number)),
            };
            rows.push(vec![
                check.code.as_str().into(),
                check.item.as_str().into(),
                check.procedure.id.as_str().into(),
                seen.step.as_str().into(),
                observation.at.into(),
                observation.by.as_str().into(),
                asked.into(),
                as_expected.into(),
                value.into(),
                unit.into(),
                limits.and_then(|limits| limits.lower).into(),
                limits.and_then(|limits| limits.upper).into(),
                seen.holds().into(),
                seen.instrument.as_ref().map(ItemCode::as_str).into(),
                seen.corrected.is_some().into(),
                seen.note.as_str().into(),
                check.ended.as_ref().map(|ended| ended.value.passed).into(),
            ]);
        }
    }
    rows
}
