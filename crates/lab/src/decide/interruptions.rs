//! Runs that are interrupted: the jars stand, and turn again. What turned before and after adds up.

use super::Desk;
use super::form::Form;
use super::runs::{MOST_MINUTES, MOST_REVOLUTIONS};
use crate::fact::{Fact, Right};
use crate::refusal::Refusal;
use crate::request::{InterruptRun, ResumeRun};
use crate::state::Run;
use stonewear_measure::Decimal;
use stonewear_procedure::Apparatus;
use stonewear_procedure::apparatus::Control;

/// Minutes are read off whole: one more is no contradiction.
const READ_TO_THE_MINUTE: Decimal = Decimal::ONE;

impl<'a> Desk<'a> {
    pub(super) fn interrupt_run(&self, request: &InterruptRun) -> Result<Vec<Fact>, Refusal> {
        self.person_who_may(Right::Test)?;
        let mut form = Form::new();
        let Some(run) = self.turning(&mut form, &request.run) else { return form.refuse() };
        if run.is_interrupted() {
            let message = format!("{} is already interrupted", run.code);
            form.wrong("run", "run-interrupted", message, "resume it, or record how it ended");
        }
        let reason = form.text("reason", &request.reason, "what happened");
        let (revolutions, minutes) =
            self.turned(&mut form, run, &request.revolutions, &request.minutes);
        let run = run.code.clone();
        form.facts(vec![Fact::RunInterrupted { run, revolutions, minutes, reason }])
    }

    pub(super) fn resume_run(&self, request: &ResumeRun) -> Result<Vec<Fact>, Refusal> {
        self.person_who_may(Right::Test)?;
        let mut form = Form::new();
        let Some(run) = self.turning(&mut form, &request.run) else { return form.refuse() };
        if !run.is_interrupted() {
            let message = format!("{} is not interrupted", run.code);
            form.wrong("run", "run-not-interrupted", message, "nothing needs to be done");
        }
        let typed = request.counter.trim();
        let counter =
            if typed.is_empty() { Some(Decimal::ZERO) } else { form.number("counter", typed) };
        if counter.is_some_and(|shown| shown < Decimal::ZERO || shown > MOST_REVOLUTIONS) {
            let hint = format!("it is between 0 and {MOST_REVOLUTIONS}");
            form.wrong("counter", "input-impossible", format!("{typed} cannot be"), hint);
        }
        let run = run.code.clone();
        let (counter, made) = (counter.unwrap_or_default(), self.context.made);
        form.facts(vec![Fact::RunResumed { run, counter, made }])
    }

    /// A run by its code.
    pub(super) fn run(&self, form: &mut Form, typed: &str) -> Option<&'a Run> {
        let typed = typed.trim();
        let found = self.lab.runs.get(typed.to_uppercase().as_str());
        if found.is_none() {
            let message = format!("there is no run “{typed}”");
            let now: Vec<String> = self
                .lab
                .runs
                .values()
                .filter(|run| run.stopped.is_none())
                .map(|run| run.code.to_string())
                .collect();
            let hint = if now.is_empty() {
                "no run is going on".to_owned()
            } else {
                format!("going on now: {}", crate::words::listed(now))
            };
            form.wrong("run", "run-unknown", message, hint);
        }
        found
    }

    fn turning(&self, form: &mut Form, typed: &str) -> Option<&'a Run> {
        let run = self.run(form, typed)?;
        if run.stopped.is_some() {
            let message = format!("{} has ended", run.code);
            form.wrong("run", "run-ended", message, "correct how it ended, if that is wrong");
        }
        Some(run)
    }

    /// Count and minutes of one turning, as far as the machine shows them.
    pub(super) fn turned(
        &self,
        form: &mut Form,
        run: &Run,
        revolutions: &str,
        minutes: &str,
    ) -> (Option<Decimal>, Option<Decimal>) {
        let counts = self
            .lab
            .item(&run.apparatus)
            .and_then(|item| item.apparatus.as_ref())
            .is_none_or(Apparatus::has_counter);
        let shown = if counts {
            form.positive("revolutions", revolutions, "revolutions", MOST_REVOLUTIONS)
        } else {
            None
        };
        let before = run.interruptions.last().and_then(|last| last.value.resumed.as_ref());
        if let (Some(shown), Some(before)) = (shown, before)
            && shown < before.value
        {
            let message =
                format!("the counter showed {} when the jars began to turn again", before.value);
            form.wrong("revolutions", "input-impossible", message, "read it once more");
        }
        let may_be_left_out = counts && run.ended_by == Control::Revolutions;
        let minutes = if may_be_left_out && minutes.trim().is_empty() {
            None
        } else {
            form.positive("minutes", minutes, "min", MOST_MINUTES)
        };
        (shown, minutes)
    }

    /// What was read off a run cannot have turned in less time than it took by the laboratory's own
    /// clock: either the run has not ended, or its beginning was recorded late, which is said.
    pub(super) fn clock_agrees(
        &self,
        form: &mut Form,
        run: &Run,
        revolutions: Option<Decimal>,
        minutes: Option<Decimal>,
    ) {
        // Once an end is on record a correction is about a reading, not about the time.
        let Some(since) = run.turning_since() else { return };
        let seconds = self.entered_at().duration_since(since).as_secs().max(0);
        let elapsed = Decimal::from(seconds) / Decimal::from(60);
        let before = run.interruptions.last().and_then(|last| last.value.resumed.as_ref());
        let counted_before = before.map_or(Decimal::ZERO, |resumed| resumed.value);
        let by_count = || {
            let turned = revolutions?.checked_sub(counted_before)?;
            turned.checked_div(self.fastest(run)?).map(|minutes| minutes.trunc())
        };
        let (field, needed) = match (minutes, by_count()) {
            (Some(minutes), _) => ("minutes", minutes),
            (None, Some(needed)) => ("revolutions", needed),
            (None, None) => return,
        };
        if needed > elapsed + READ_TO_THE_MINUTE {
            let whole = elapsed.trunc();
            let message = match field {
                "minutes" => format!(
                    "{} began to turn {whole} min ago, and {needed} min are read off",
                    run.code
                ),
                _ => format!(
                    "{} began to turn {whole} min ago; so many revolutions take {needed} min",
                    run.code
                ),
            };
            let hint =
                "record the end when the jars stand; if the beginning was recorded late, say so";
            form.departs(field, "run-not-over", message, hint);
        }
    }

    /// The fastest that a method lets the jars of a run turn.
    fn fastest(&self, run: &Run) -> Option<Decimal> {
        let specimen = self.lab.specimens.get(&run.placed.first()?.specimen)?;
        let (method, _) = self.lab.rules_of(specimen)?;
        method.speed_rpm.as_ref()?.limits().upper.filter(|rpm| *rpm > Decimal::ZERO)
    }
}
