//! Guided checks: begun, observed step by step in order, ended.

use super::Desk;
use super::form::{Form, yes_or_no};
use super::observations::{self, Read, Typed};
use crate::code::{CheckCode, ItemCode, numbered};
use crate::fact::{Fact, Right, Standing};
use crate::refusal::Refusal;
use crate::request::{GiveUpCheck, Observe, SetInterval, StartCheck};
use crate::state::{Check, CheckState, Lab};
use stonewear_measure::Decimal;
use stonewear_procedure::{Expect, ItemKind, Step};

impl<'a> Desk<'a> {
    pub(super) fn start_check(&self, request: &StartCheck) -> Result<Vec<Fact>, Refusal> {
        self.person_who_may(Right::Test)?;
        let mut form = Form::new();
        let Some(item) = self.any_item(&mut form, &request.item) else { return form.refuse() };
        if item.standing() == Standing::Retired {
            let message = format!("{} is retired", item.code);
            form.wrong("item", "item-retired", message, "check another");
        }
        let procedures = self.procedures_for(item);
        let wanted = request.procedure.trim();
        let Some(procedure) = procedures.iter().find(|procedure| procedure.id == wanted) else {
            let known =
                crate::words::listed(procedures.iter().map(|procedure| procedure.id.clone()));
            let message =
                format!("there is no procedure “{wanted}” for {}", item.kind.with_article());
            form.wrong("procedure", "procedure-unknown", message, format!("known: {known}"));
            return form.refuse();
        };
        let open = self.lab.checks_of(&item.code).find(|check| {
            check.procedure.id == wanted && matches!(check.state(), CheckState::At(_))
        });
        if let Some(open) = open {
            let message = format!("{} of {} is not finished", open.code, item.code);
            form.wrong(
                "procedure",
                "check-open",
                message,
                "go on with it, or give it up with a reason",
            );
        }
        if item.kind == ItemKind::Apparatus && self.lab.turning_in(&item.code).is_some() {
            let message = format!("jars are turning in {}", item.code);
            form.wrong("item", "apparatus-turning", message, "wait until the run has ended");
        }
        let (year, number) = self.lab.next_number('C', self.context.at);
        form.facts(vec![Fact::CheckStarted {
            check: CheckCode::from(numbered('C', year, number)),
            item: item.code.clone(),
            procedure: Box::new(procedure.clone()),
        }])
    }

    pub(super) fn observe(&self, request: &Observe) -> Result<Vec<Fact>, Refusal> {
        self.person_who_may(Right::Test)?;
        let mut form = Form::new();
        let Some((check, step)) = self.step_at_hand(&mut form, request) else {
            return form.refuse();
        };
        let note = form.optional("note", &request.note);
        let uncertainty = read_uncertainty(&mut form, step, &request.uncertainty);
        let typed = Typed { seen: &request.seen, less: &request.less };
        let read = observations::read(&mut form, check, step, typed, uncertainty);
        let Some(Read { seen, passed, as_read }) = read else { return form.refuse() };
        let instrument = self.instrument(&mut form, step, &request.instrument);
        let mut facts = vec![Fact::StepObserved {
            check: check.code.clone(),
            step: step.id.clone(),
            seen,
            passed,
            instrument,
            uncertainty,
            note,
            as_read,
        }];
        let is_last = check.procedure.steps.last().is_some_and(|last| last.id == step.id);
        if passed && is_last {
            let reason = String::new();
            facts.push(Fact::CheckEnded { check: check.code.clone(), passed: true, reason });
        }
        form.facts(facts)
    }

    pub(super) fn give_up_check(&self, request: &GiveUpCheck) -> Result<Vec<Fact>, Refusal> {
        self.person_who_may(Right::Test)?;
        let mut form = Form::new();
        let reason = form.text("reason", &request.reason, "the reason");
        let Some(check) = open_check(self.lab, &mut form, &request.check) else {
            return form.refuse();
        };
        let mut facts = vec![Fact::CheckEnded {
            check: check.code.clone(),
            passed: false,
            reason: reason.clone(),
        }];
        if self.lab.item(&check.item).is_some_and(|item| item.standing() != Standing::Held) {
            facts.push(Fact::StandingChanged {
                item: check.item.clone(),
                standing: Standing::Held,
                reason: format!(
                    "{} ({}) was not passed: {reason}",
                    check.procedure.title, check.code
                ),
            });
        }
        form.facts(facts)
    }

    pub(super) fn set_interval(&self, request: &SetInterval) -> Result<Vec<Fact>, Refusal> {
        self.person_who_may(Right::Manage)?;
        let mut form = Form::new();
        let procedure = request.procedure.trim().to_owned();
        // The function check is generated, so it stands in no file.
        let known =
            self.context.procedures.iter().map(|one| one.id.as_str()).chain(["function-check"]);
        if !known.clone().any(|id| id == procedure) {
            let known = crate::words::listed(known.map(str::to_owned));
            let message = format!("there is no procedure “{procedure}”");
            form.wrong("procedure", "procedure-unknown", message, format!("known: {known}"));
        }
        let reason = form.text("reason", &request.reason, "the grounds for the interval");
        let typed = request.months.trim();
        let months = match typed.parse::<u32>() {
            Ok(months) if (1..=120).contains(&months) => months,
            _ => {
                let message = format!("“{typed}” is not a number of months");
                form.wrong("months", "input-number", message, "write a whole number from 1 to 120");
                return form.refuse();
            }
        };
        form.facts(vec![Fact::IntervalSet { procedure, months, reason }])
    }

    /// The open check and its next step, if that is the step that the request is about. A step
    /// that is not next cannot be observed: that is what keeps jars out of an unproved machine.
    fn step_at_hand(&self, form: &mut Form, request: &Observe) -> Option<(&'a Check, &'a Step)> {
        let check = open_check(self.lab, form, &request.check)?;
        let CheckState::At(step) = check.state() else { return None };
        let named = request.step.trim();
        if named == step.id {
            return Some((check, step));
        }
        let second = request.second.trim();
        let is_second = yes_or_no(second).unwrap_or_else(|| {
            if !second.is_empty() {
                let message = format!("“{second}” does not say whether it is a second observation");
                form.wrong("second", "input-unknown", message, "answer yes or no");
            }
            false
        });
        let (message, hint) = match check.procedure.step(named) {
            None => (
                format!("{} has no step “{named}”", check.procedure.title),
                format!("the next step is “{}”", step.id),
            ),
            Some(past) if check.is_passed(named) => {
                if is_second {
                    return Some((check, past));
                }
                (
                    format!("the step “{named}” has been passed already"),
                    "record it as a second observation, or let it go".to_owned(),
                )
            }
            Some(_) => (
                format!("the step “{named}” is not next"),
                format!("first comes “{}”: {}", step.id, step.title),
            ),
        };
        form.wrong("step", "step-not-next", message, hint);
        None
    }

    fn instrument(&self, form: &mut Form, step: &Step, typed: &str) -> Option<ItemCode> {
        let Expect::Number { instrument: Some(kind), .. } = &step.expect else { return None };
        if typed.trim().is_empty() {
            let mut candidates = self.lab.in_service(*kind);
            return match (candidates.next(), candidates.next()) {
                (Some(only), None) => Some(only.code.clone()),
                _ => None,
            };
        }
        super::form::code(form.item(self, "instrument", typed, *kind, |_| true))
    }
}

fn open_check<'a>(lab: &'a Lab, form: &mut Form, typed: &str) -> Option<&'a Check> {
    let typed = typed.trim();
    let Some(check) = lab.checks.get(typed.to_uppercase().as_str()) else {
        form.wrong(
            "check",
            "check-unknown",
            format!("there is no check “{typed}”"),
            "look under the item",
        );
        return None;
    };
    if let CheckState::Ended { .. } = check.state() {
        let message = format!("{} has ended", check.code);
        form.wrong("check", "check-ended", message, "begin a new one if it is needed");
        return None;
    }
    Some(check)
}

/// The uncertainty that a verdict is to be guarded with, if one is given.
fn read_uncertainty(form: &mut Form, step: &Step, typed: &str) -> Option<Decimal> {
    let Expect::Number { limits, .. } = &step.expect else { return None };
    let most = Decimal::from(1_000_000);
    let uncertainty = form.optional_positive("uncertainty", typed, "", most)?;
    let inside = observations::guarded(*limits, Some(uncertainty));
    if let (Some(lower), Some(upper)) = (inside.lower, inside.upper)
        && lower > upper
    {
        let message = format!(
            "with an uncertainty of {uncertainty} no reading could be shown to be {limits}"
        );
        form.wrong("uncertainty", "input-impossible", message, "read it with a better instrument");
    }
    Some(uncertainty)
}
