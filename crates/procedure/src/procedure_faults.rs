//! What is wrong with a procedure although every key of it could be read.

use crate::model::{Difference, Expect, Jars, Procedure, Step, TAKES_JARS_OUT};
use std::collections::BTreeMap;

/// A fault of a procedure.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ProcedureFault {
    /// Which step, from 0; absent when it concerns the procedure as a whole.
    pub step: Option<usize>,
    /// What is wrong.
    pub wrong: String,
    /// What would be right.
    pub right: String,
}

/// Every fault of a procedure: names that are not unique, ways back that lead forward, limits
/// without a source, and above all a step with an empty machine while jars may still lie in it.
pub fn procedure_faults(procedure: &Procedure) -> Vec<ProcedureFault> {
    let mut found = Faults(Vec::new());
    if !is_id(&procedure.id) {
        let wrong = format!("“{}” is not a name for a procedure", procedure.id);
        found.note(None, wrong, "write letters, digits and hyphens, like charge-mass");
    }
    if procedure.proves.is_empty() {
        found.note(
            None,
            "the procedure proves nothing",
            "write proves = [\"mass\"] or another attribute",
        );
    }
    if procedure.interval_months.as_ref().is_some_and(|interval| interval.value == 0) {
        found.note(None, "the interval is 0 months", "write 1 or more, or leave it away");
    }
    if procedure.steps.is_empty() {
        found.note(None, "the procedure has no step", "write at least one [[step]]");
    }
    let mut earlier = BTreeMap::new();
    for (at, step) in procedure.steps.iter().enumerate() {
        if !is_id(&step.id) {
            let wrong = format!("“{}” is not a name for a step", step.id);
            found.note(Some(at), wrong, "write letters, digits and hyphens, like mass");
        }
        if earlier.insert(step.id.as_str(), step).is_some() {
            let wrong = format!("two steps are called “{}”", step.id);
            found.note(Some(at), wrong, "give each step its own id");
        }
        back(&mut found, at, step, &earlier);
        limits(&mut found, at, &step.expect);
        difference(&mut found, at, step, &earlier);
        if step.jars == Jars::In && step.caution.is_none() {
            let wrong = format!("the step “{}” has jars in the machine and no caution", step.id);
            found.note(Some(at), wrong, "write caution = { text = \"…\", source = \"…\" }");
        }
    }
    jars(&mut found, &procedure.steps);
    found.0
}

struct Faults(Vec<ProcedureFault>);

impl Faults {
    fn note(&mut self, step: Option<usize>, wrong: impl Into<String>, right: impl Into<String>) {
        self.0.push(ProcedureFault { step, wrong: wrong.into(), right: right.into() });
    }
}

/// Letters and digits of any script, and single hyphens between them.
pub(crate) fn is_id(text: &str) -> bool {
    !text.is_empty()
        && text.split('-').all(|part| !part.is_empty() && part.chars().all(char::is_alphanumeric))
}

/// A way back must lead to this step or an earlier one, and never from jars to an empty machine.
fn back(found: &mut Faults, at: usize, step: &Step, so_far: &BTreeMap<&str, &Step>) {
    let Some(back) = &step.back_to else { return };
    match so_far.get(back.as_str()) {
        None => {
            let wrong =
                format!("the step “{}” goes back to “{back}”, which is no step before it", step.id);
            let known: Vec<&str> = so_far.keys().copied().collect();
            found.note(Some(at), wrong, format!("write one of {}", known.join(", ")));
        }
        Some(target) if step.jars == Jars::In && target.jars != Jars::In => {
            let wrong = format!(
                "the step “{}” has jars in the machine and goes back to “{back}”, which has none",
                step.id
            );
            found.note(
                Some(at),
                wrong,
                "go back to a step with jars in the machine, or leave back_to away",
            );
        }
        Some(_) => {}
    }
}

fn limits(found: &mut Faults, at: usize, expect: &Expect) {
    let Expect::Number { what, limits, source, .. } = expect else { return };
    if let (Some(lower), Some(upper)) = (limits.lower, limits.upper)
        && lower > upper
    {
        let wrong = format!("“{what}” must be at least {lower} and at most {upper}");
        found.note(Some(at), wrong, "write the smaller one as lower");
    }
    if (limits.lower.is_some() || limits.upper.is_some()) && source.is_empty() {
        let wrong = format!("the limits of “{what}” have no source");
        found.note(
            Some(at),
            wrong,
            "name the document, or write `common practice, no published source`",
        );
    }
}

/// A difference to an earlier step wants a number that was read there, in the same unit.
fn difference(found: &mut Faults, at: usize, step: &Step, so_far: &BTreeMap<&str, &Step>) {
    let Expect::Number { unit, difference: Some(Difference::From { from, .. }), .. } = &step.expect
    else {
        return;
    };
    let is_read = |step: &Step| matches!(&step.expect, Expect::Number { unit: its, difference: None, .. } if its == unit);
    if from == &step.id || !so_far.get(from.as_str()).is_some_and(|earlier| is_read(earlier)) {
        let wrong = format!(
            "the step “{}” takes its difference from “{from}”, which is no step before it that reads a number in “{unit}”",
            step.id
        );
        let known: Vec<&str> = so_far
            .values()
            .filter(|earlier| earlier.id != step.id && is_read(earlier))
            .map(|earlier| earlier.id.as_str())
            .collect();
        let right = match known.as_slice() {
            [] => "write less = \"…\", and both are read in this step".to_owned(),
            known => format!("write one of {}", known.join(", ")),
        };
        found.note(Some(at), wrong, right);
    }
}

/// After jars were in the machine, the step that takes them out comes before any other place.
fn jars(found: &mut Faults, steps: &[Step]) {
    let mut inside = false;
    for (at, step) in steps.iter().enumerate() {
        match step.jars {
            Jars::In => inside = step.id != TAKES_JARS_OUT,
            Jars::Out | Jars::NotInvolved if inside => {
                let wrong =
                    format!("the step “{}” comes while jars still lie in the machine", step.id);
                let right = format!("put a step “{TAKES_JARS_OUT}” with jars = \"in\" before it");
                found.note(Some(at), wrong, right);
                inside = false;
            }
            Jars::Out | Jars::NotInvolved => {}
        }
    }
}
