//! Investigations: opened, gone through step by step, finished by a result that is in control.

use crate::code::ResultCode;
use crate::control::StepState;
use crate::decide::Desk;
use crate::decide::form::{Form, yes_or_no};
use crate::fact::{Fact, FindingRecorded, InvestigationClosed, Right, Standing};
use crate::policy::Policy;
use crate::refusal::Refusal;
use crate::request::{CloseInvestigation, OpenInvestigation, RecordFinding};
use crate::state::Investigation;

impl Desk<'_> {
    pub(in crate::decide) fn open_investigation(
        &self,
        request: &OpenInvestigation,
    ) -> Result<Vec<Fact>, Refusal> {
        self.person_who_may(Right::Test)?;
        let mut form = Form::new();
        let reason = form.text("reason", &request.reason, "why it is investigated");
        let code = ResultCode::from(request.result.trim().to_uppercase());
        let Some((result, lot, apparatus)) = self.lab.charted(&code) else {
            let message = format!("“{code}” is no result of a lot of reference aggregate");
            form.wrong("result", "result-unknown", message, "look at the charts under control");
            return form.refuse();
        };
        if let Some(open) = self.lab.open_investigation_of(apparatus) {
            let message = format!("{} of {apparatus} is still open", open.code);
            form.wrong("result", "investigation-open", message, "go on with it");
        }
        let chart = self.lab.chart_with(lot, apparatus, None);
        let holds = self.lab.policy(Policy::OutOfControl).value == "hold"
            && chart.point(code.as_str()).is_some_and(crate::control::Point::is_signal);
        form.facts(self.opened(&chart, &result.code, reason, holds))
    }

    pub(in crate::decide) fn record_finding(
        &self,
        request: &RecordFinding,
    ) -> Result<Vec<Fact>, Refusal> {
        self.person_who_may(Right::Test)?;
        let mut form = Form::new();
        let finding = form.text("finding", &request.finding, "what was found");
        let fault = match request.fault.trim() {
            "" => Some(false),
            typed => yes_or_no(typed),
        };
        if fault.is_none() {
            let message = format!("“{}” is neither yes nor no", request.fault.trim());
            form.wrong("fault", "input-choice", message, "write yes where something was wrong");
        }
        let Some(investigation) = self.open_one(&mut form, &request.investigation) else {
            return form.refuse();
        };
        let steps = self.lab.steps_of(investigation);
        let typed = request.step.trim().to_lowercase();
        let Some(step) = steps.iter().find(|step| step.id == typed) else {
            let known = crate::words::listed(steps.iter().map(|step| step.id.clone()));
            let message = format!("{} has no step “{typed}”", investigation.code);
            form.wrong("step", "step-unknown", message, format!("known: {known}"));
            return form.refuse();
        };
        if let StepState::Going { check } = &step.state {
            let message = format!("{check} is not finished");
            form.wrong("step", "check-open", message, "finish the check, or give it up");
        }
        form.facts(vec![Fact::FindingRecorded(FindingRecorded {
            investigation: investigation.code.clone(),
            step: step.id.clone(),
            finding,
            fault: fault.unwrap_or_default(),
        })])
    }

    pub(in crate::decide) fn close_investigation(
        &self,
        request: &CloseInvestigation,
    ) -> Result<Vec<Fact>, Refusal> {
        self.person_who_may(Right::Manage)?;
        let mut form = Form::new();
        let cause = form.text("cause", &request.cause, "the cause, or that none was found");
        let done = form.text("done", &request.done, "what was done about it");
        let past_results = form.text(
            "past_results",
            &request.past_results,
            "what became of the results since the last one that was in control",
        );
        let Some(investigation) = self.open_one(&mut form, &request.investigation) else {
            return form.refuse();
        };
        let steps = self.lab.steps_of(investigation);
        let open = steps.iter().filter(|step| !step.state.is_done());
        let open: Vec<String> = open.map(|step| step.title.clone()).collect();
        if !open.is_empty() {
            let message = format!("not gone through yet: {}", crate::words::listed(open));
            let hint = "do each check, or record what was found or why it was left out";
            form.wrong("investigation", "step-open", message, hint);
        }
        for check in self.lab.not_passed_since(investigation) {
            let message = format!("{} of {} was not passed", check.procedure.title, check.item);
            form.wrong("investigation", "check-not-passed", message, "pass it again first");
        }
        let repeat = self.lab.repeat_of(investigation);
        if repeat.is_none() {
            let message =
                format!("no later reference result shows {} in control", investigation.apparatus);
            let hint = "run another specimen of the reference aggregate; a run of nothing else is no \
                        departure while this is open";
            form.wrong("investigation", "repeat-missing", message, hint);
        }
        let Some(repeat) = repeat else { return form.refuse() };
        let mut facts = vec![Fact::InvestigationClosed(InvestigationClosed {
            investigation: investigation.code.clone(),
            cause,
            done,
            past_results,
            repeat: ResultCode::from(repeat.as_str()),
        })];
        if self.lab.is_held_by(investigation) {
            facts.push(Fact::StandingChanged {
                item: investigation.apparatus.clone(),
                standing: Standing::InService,
                reason: format!("{repeat} is in control again ({})", investigation.code),
            });
        }
        form.facts(facts)
    }

    /// An investigation that goes on.
    fn open_one(&self, form: &mut Form, typed: &str) -> Option<&Investigation> {
        let typed = typed.trim().to_uppercase();
        let Some(found) = self.lab.investigations.get(typed.as_str()) else {
            let message = format!("there is no investigation “{typed}”");
            form.wrong("investigation", "investigation-unknown", message, "look under control");
            return None;
        };
        if !found.is_open() {
            let message = format!("{} is finished", found.code);
            form.wrong("investigation", "investigation-closed", message, "open another");
            return None;
        }
        Some(found)
    }

    /// Notes that an item is not put into service past an investigation.
    pub(in crate::decide) fn not_past_investigation(
        &self,
        form: &mut Form,
        item: &crate::state::Item,
    ) {
        if let Some(open) = self.lab.open_investigation_of(&item.code) {
            let message = format!("{} is open: {}", open.code, open.opened.value);
            let hint = "finish the investigation; a reference result in control releases it";
            form.wrong("standing", "investigation-open", message, hint);
        }
    }
}
