//! Finding out why a reference result is out of control, step by step: what is quick to look at
//! first. The order is common practice; no source that was read gives one.

use crate::code::{CheckCode, ItemCode};
use crate::fact::Standing;
use crate::state::{Check, Investigation, Lab};
use serde::Serialize;
use std::collections::BTreeSet;
use stonewear_procedure::ItemKind;

/// What a step asks for.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
#[serde(tag = "ask", rename_all = "kebab-case")]
pub enum StepKind {
    /// A check of an item that proves this of it; a finding may stand in for it.
    Check {
        /// The item.
        item: ItemCode,
        /// What the check proves.
        attribute: String,
    },
    /// Something to look at and to write down.
    Look,
}

/// How far a step is.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
#[serde(tag = "state", rename_all = "kebab-case")]
pub enum StepState {
    /// Nothing was done yet.
    Open,
    /// A check of it is not finished.
    Going {
        /// The check.
        check: CheckCode,
    },
    /// Nothing was wrong.
    Right {
        /// The check or the finding that says so.
        by: String,
    },
    /// Something was wrong.
    Wrong {
        /// The check or the finding that says so.
        by: String,
    },
}

impl StepState {
    /// Whether nothing more is to be done.
    pub fn is_done(&self) -> bool {
        matches!(self, Self::Right { .. } | Self::Wrong { .. })
    }
}

/// A step of an investigation.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Step {
    /// Short name.
    pub id: String,
    /// What it is about.
    pub title: String,
    /// What to do.
    pub ask: String,
    /// What it asks for.
    pub kind: StepKind,
    /// How far it is.
    pub state: StepState,
}

/// What is looked at: short name, title, what to do.
const LOOKS: [(&str, &str, &str); 4] = [
    (
        "record",
        "The record of the run",
        "Compare what was written down with what was weighed: specimen, masses, jar, position, count.",
    ),
    (
        "grading",
        "Grading and make-up",
        "Was the specimen sieved, washed and made up by the grading of the lot, out of its own bin?",
    ),
    (
        "water",
        "Water",
        "Measure the volume of the water as it is filled in, and its temperature in the jar.",
    ),
    (
        "drying",
        "Washing and drying",
        "Was it washed until the water ran clear over the sieve of the method, and dried to constant mass?",
    ),
];

/// What is checked: the kind of item, what its check proves, the title.
const CHECKS: [(ItemKind, &str, &str); 8] = [
    (ItemKind::BallCharge, "mass", "Mass of the ball charge"),
    (ItemKind::BallCharge, "ball size", "Size of the balls"),
    (ItemKind::Apparatus, "speed", "Speed of the jars"),
    (ItemKind::Apparatus, "counter", "Count"),
    (ItemKind::Thermometer, "indication", "Thermometer"),
    (ItemKind::Sieve, "openings", "Sieve"),
    (ItemKind::Balance, "indication", "Balance"),
    (ItemKind::Oven, "temperature", "Oven"),
];

/// What to do at a check of one of the machines that can hurt.
const TURNING: &str = "Jars turn: keep the guard closed and hands away, and take what stands open out \
                       of service first. Local codes and licensed practice come first.";

impl Lab {
    /// The investigation of an apparatus that is still open.
    pub fn open_investigation_of(&self, apparatus: &ItemCode) -> Option<&Investigation> {
        self.investigations.values().find(|one| one.apparatus == *apparatus && one.is_open())
    }

    /// Whether an apparatus is held by nothing but this investigation.
    pub fn is_held_by(&self, investigation: &Investigation) -> bool {
        let item = self.items.get(&investigation.apparatus);
        let last = item.and_then(|item| item.standings.last());
        // The hold is the very next fact of the request that opened the investigation.
        last.is_some_and(|last| {
            last.value.standing == Standing::Held
                && last.position == investigation.opened.position + 1
        })
    }

    /// The checks of the apparatus that were not passed since an investigation was opened, and not
    /// passed again.
    pub(crate) fn not_passed_since<'a>(
        &'a self,
        investigation: &'a Investigation,
    ) -> Vec<&'a Check> {
        let since: Vec<&Check> = self
            .checks_of(&investigation.apparatus)
            .filter(|check| check.started.position > investigation.opened.position)
            .collect();
        let passed_again = |failed: &Check| {
            since.iter().any(|later| {
                later.procedure.id == failed.procedure.id
                    && later.passed()
                    && later.started.position > failed.started.position
            })
        };
        let failed = since.iter().filter(|check| check.ended.is_some() && !check.passed());
        failed.filter(|check| !passed_again(check)).copied().collect()
    }

    /// Whether an apparatus may be run with reference aggregate to find out what is wrong with it,
    /// although it is held.
    pub(crate) fn may_repeat_on(&self, apparatus: &ItemCode) -> bool {
        self.open_investigation_of(apparatus)
            .is_some_and(|open| self.is_held_by(open) && self.not_passed_since(open).is_empty())
    }

    /// The steps of an investigation as they stand. Checks are asked of the items that the result in
    /// question stands on.
    pub fn steps_of(&self, investigation: &Investigation) -> Vec<Step> {
        let used = self.items_under(investigation);
        let look = |(id, title, ask): (&str, &str, &str)| {
            let kind = StepKind::Look;
            self.step(investigation, id.to_owned(), title.to_owned(), ask.to_owned(), kind)
        };
        let [record, grading, water, drying] = LOOKS.map(look);
        let mut steps = vec![record, grading];
        for (kind, attribute, title) in CHECKS {
            if kind == ItemKind::Thermometer {
                steps.push(water.clone());
            }
            if kind == ItemKind::Balance {
                steps.push(drying.clone());
            }
            for item in used.iter().filter(|item| self.proves(item, kind, attribute)) {
                let id =
                    format!("{}-{}", attribute.replace(' ', "-"), item.as_str().to_lowercase());
                let turns =
                    if kind == ItemKind::Apparatus { format!(" {TURNING}") } else { String::new() };
                let ask = format!("Do the check of {item} that proves its {attribute}.{turns}");
                let ask_for =
                    StepKind::Check { item: item.clone(), attribute: attribute.to_owned() };
                let title = format!("{title}: {item}");
                steps.push(self.step(investigation, id, title, ask, ask_for));
            }
        }
        steps
    }

    /// The later reference result on the same apparatus that shows it in control again: the last one,
    /// if no rule speaks against it.
    pub fn repeat_of(&self, investigation: &Investigation) -> Option<String> {
        let charts = self.lots.values().filter(|lot| {
            let of = self.lots.get(&investigation.lot).map(|lot| &lot.method);
            of == Some(&lot.method)
        });
        charts
            .flat_map(|lot| self.chart_with(lot, &investigation.apparatus, None).points)
            .filter(|point| !point.imported && point.position > investigation.opened.position)
            .max_by_key(|point| point.position)
            .filter(|point| point.role == super::Role::Judged && !point.is_signal())
            .map(|point| point.name)
    }

    /// The items that the result in question stands on, the apparatus among them.
    pub(crate) fn items_under(&self, investigation: &Investigation) -> BTreeSet<ItemCode> {
        let mut items = BTreeSet::from([investigation.apparatus.clone()]);
        if let Some(result) = self.results.get(&investigation.point) {
            for item in self.items.keys() {
                if result.specimens.iter().any(|specimen| self.stands_on(specimen, item)) {
                    items.insert(item.clone());
                }
            }
        }
        items
    }

    /// Whether an item is of this kind and has been or can be proved to be right in this.
    fn proves(&self, item: &ItemCode, kind: ItemKind, attribute: &str) -> bool {
        let Some(item) = self.items.get(item).filter(|item| item.kind == kind) else {
            return false;
        };
        // A machine without a counter has no count to check.
        let has_counter = item.apparatus.as_ref().is_none_or(|apparatus| {
            apparatus.counter_senses != stonewear_procedure::apparatus::CounterSenses::Nothing
        });
        attribute != "counter" || has_counter
    }

    fn step(
        &self,
        investigation: &Investigation,
        id: String,
        title: String,
        ask: String,
        kind: StepKind,
    ) -> Step {
        let state = self.state_of(investigation, &id, &kind);
        Step { id, title, ask, kind, state }
    }

    /// The last that was said of a step: by a check begun since, or by a person.
    fn state_of(&self, investigation: &Investigation, id: &str, kind: &StepKind) -> StepState {
        let check = match kind {
            StepKind::Look => None,
            StepKind::Check { item, attribute } => self
                .checks_of(item)
                .filter(|check| check.started.position > investigation.opened.position)
                .filter(|check| check.procedure.proves.iter().any(|proved| proved == attribute))
                .max_by_key(|check| check.started.position),
        };
        let finding = investigation.finding(id);
        let said = |finding: &crate::state::Noted<crate::fact::FindingRecorded>| {
            let by = finding.value.finding.clone();
            if finding.value.fault { StepState::Wrong { by } } else { StepState::Right { by } }
        };
        let checked = |check: &Check| match &check.ended {
            None => StepState::Going { check: check.code.clone() },
            Some(ended) if ended.value.passed => StepState::Right { by: check.code.to_string() },
            Some(_) => StepState::Wrong { by: check.code.to_string() },
        };
        match (check, finding) {
            (None, None) => StepState::Open,
            (None, Some(finding)) => said(finding),
            (Some(check), Some(finding)) if finding.position > check.started.position => {
                said(finding)
            }
            (Some(check), _) => checked(check),
        }
    }
}
