//! Planning experiments, giving their runs specimens, and recording experiments from a table.

use super::Desk;
use super::form::Form;
use super::runs::{HEAVIEST_CHARGE_G, MOST_LITRES, MOST_REVOLUTIONS};
use super::specimens::grading_of;
use crate::code::{ExperimentCode, numbered};
use crate::experiment::{nominal, read_table};
use crate::fact::{
    Condition, ExperimentAssigned, ExperimentImported, ExperimentPlanned, ExperimentRunLeftOut,
    Fact, Right,
};
use crate::refusal::Refusal;
use crate::request::{AssignToExperiment, ImportExperiment, LeaveOutOfExperiment, PlanExperiment};
use crate::state::{Experiment, ExperimentRun, MethodInUse};
use stonewear_measure::Decimal;
use stonewear_method::Grading;
use stonewear_stats::random_order;

/// Warmer water scalds, and no method comes near.
const HOTTEST_C: Decimal = Decimal::from_parts(45, 0, 0, false, 0);
/// More runs than this are not one experiment.
const MOST_RUNS: usize = 200;
const MOST_REPLICATES: u32 = 20;
/// Fewer runs than this leave nothing to judge a line by.
const FEWEST_RUNS: usize = 3;

impl<'a> Desk<'a> {
    pub(super) fn plan_experiment(&self, request: &PlanExperiment) -> Result<Vec<Fact>, Refusal> {
        self.person_who_may(Right::Manage)?;
        let mut form = Form::new();
        let title = form.text("title", &request.title, "what the experiment is to tell");
        let condition = condition(&mut form, &request.condition);
        let rules = self.of_experiment(&mut form, condition, &request.method, &request.grading);
        let sample = if request.sample.trim().is_empty() {
            None
        } else {
            self.sample(&mut form, &request.sample)
        };
        let levels =
            condition.map(|one| levels(&mut form, one, &request.levels)).unwrap_or_default();
        let replicates = whole(&mut form, "replicates", &request.replicates, 1, MOST_REPLICATES);
        let seed = whole(&mut form, "seed", &request.seed, 0, u32::MAX);
        if let (Some(condition), Some((in_use, grading))) = (condition, rules)
            && let (Some(low), Some(high)) = (levels.first(), levels.last())
            && let Some(nominal) = nominal(&in_use.method, condition, &grading.name)
            && (nominal < *low || nominal > *high)
        {
            let unit = condition.unit();
            let message = format!(
                "the {nominal} {unit} of the method lie outside of the levels {low} to {high} {unit}"
            );
            form.wrong(
                "levels",
                "levels-beside-nominal",
                message,
                "choose levels on both sides of it",
            );
        }
        let (Some(condition), Some((in_use, grading)), Some(replicates), Some(seed)) =
            (condition, rules, replicates, seed)
        else {
            return form.refuse();
        };
        let each = usize::try_from(replicates).unwrap_or(usize::MAX);
        let count = levels.len().saturating_mul(each);
        if levels.len() >= 2 && !(FEWEST_RUNS..=MOST_RUNS).contains(&count) {
            let message =
                format!("{} levels with {replicates} runs each make {count} runs", levels.len());
            let hint = format!("plan at least {FEWEST_RUNS} and at most {MOST_RUNS} runs");
            form.wrong("replicates", "input-impossible", message, hint);
        }
        if count > MOST_RUNS {
            return form.refuse();
        }
        let each_run: Vec<Decimal> =
            levels.iter().flat_map(|level| std::iter::repeat_n(*level, each)).collect();
        let order = random_order(each_run.len(), u64::from(seed));
        let runs = order.into_iter().filter_map(|place| each_run.get(place).copied()).collect();
        form.facts(vec![Fact::ExperimentPlanned(ExperimentPlanned {
            experiment: self.next_experiment(),
            title,
            condition,
            method: in_use.id.clone(),
            grading: grading.name.clone(),
            sample: sample.map(|sample| sample.code.clone()),
            levels,
            replicates,
            seed,
            runs,
        })])
    }

    pub(super) fn import_experiment(
        &self,
        request: &ImportExperiment,
    ) -> Result<Vec<Fact>, Refusal> {
        self.person_who_may(Right::Manage)?;
        let mut form = Form::new();
        let title = form.text("title", &request.title, "what the experiment is to tell");
        let source = form.text("source", &request.source, "where the figures are on record");
        let condition = condition(&mut form, &request.condition);
        let rules = self.of_experiment(&mut form, condition, &request.method, &request.grading);
        let Some(condition) = condition else { return form.refuse() };
        let rows = match read_table(&request.table, highest(condition)) {
            Ok(rows) => rows,
            Err(faults) => {
                for fault in faults {
                    form.wrong("table", "input-table", fault, "");
                }
                return form.refuse();
            }
        };
        if rows.len() < FEWEST_RUNS {
            let message = format!("the table has {}", crate::words::counted(rows.len(), "row"));
            let hint = format!("an experiment has at least {FEWEST_RUNS} losses");
            form.wrong("table", "input-table", message, hint);
        }
        let first = rows.first().map(|row| row.level);
        if rows.iter().all(|row| Some(row.level) == first) {
            let message = "all losses were found at one level";
            form.wrong("table", "input-table", message, "an experiment has at least two levels");
        }
        let Some((in_use, grading)) = rules else { return form.refuse() };
        form.facts(vec![Fact::ExperimentImported(ExperimentImported {
            experiment: self.next_experiment(),
            title,
            condition,
            method: in_use.id.clone(),
            grading: grading.name.clone(),
            source,
            rows,
        })])
    }

    pub(super) fn assign_to_experiment(
        &self,
        request: &AssignToExperiment,
    ) -> Result<Vec<Fact>, Refusal> {
        self.person_who_may(Right::Test)?;
        let mut form = Form::new();
        let experiment = self.experiment(&mut form, &request.experiment);
        let specimen = self.specimen(&mut form, &request.specimen);
        let reason = form.optional("reason", &request.reason);
        let (Some(experiment), Some(specimen)) = (experiment, specimen) else {
            return form.refuse();
        };
        let Some(run) = run_to_fill(&mut form, experiment, &request.run) else {
            return form.refuse();
        };
        if !run.specimens.is_empty() && reason.is_empty() {
            let there = run.specimen().map(ToString::to_string).unwrap_or_default();
            let message = format!("run {} has the specimen {there}", run.number);
            form.wrong(
                "reason",
                "replaces-record",
                message,
                "give the reason for replacing it; it stays a specimen of the experiment",
            );
        }
        if (&specimen.method, &specimen.grading) != (&experiment.method, &experiment.grading) {
            let message = format!(
                "{} is by {}, grading {}; the experiment is by {}, grading {}",
                specimen.code,
                specimen.method,
                specimen.grading,
                experiment.method,
                experiment.grading
            );
            form.wrong("specimen", "specimens-differ", message, "make one up by the plan");
        }
        if let Some(sample) = experiment.sample.as_ref().filter(|one| **one != specimen.sample) {
            let message =
                format!("{} is of {}, the experiment of {sample}", specimen.code, specimen.sample);
            form.wrong("specimen", "specimens-differ", message, "make one up of that sample");
        }
        if let Some(turned) = &specimen.run {
            let message = format!("{} was already run in {turned}", specimen.code);
            form.wrong("specimen", "specimen-run", message, "assign it before its run");
        }
        if let Some((other, run)) = self.lab.experiment_of(&specimen.code) {
            let message = format!(
                "{} is the specimen of run {} of {}",
                specimen.code, run.number, other.code
            );
            form.wrong("specimen", "specimen-of-experiment", message, "make up another specimen");
        }
        form.facts(vec![Fact::ExperimentAssigned(ExperimentAssigned {
            experiment: experiment.code.clone(),
            run: run.number,
            specimen: specimen.code.clone(),
            reason,
        })])
    }

    pub(super) fn leave_out_of_experiment(
        &self,
        request: &LeaveOutOfExperiment,
    ) -> Result<Vec<Fact>, Refusal> {
        self.person_who_may(Right::Manage)?;
        let mut form = Form::new();
        let experiment = self.experiment(&mut form, &request.experiment);
        let reason = form.text("reason", &request.reason, "the reason");
        let Some(experiment) = experiment else { return form.refuse() };
        let Some(run) = run_named(&mut form, experiment, &request.run) else {
            return form.refuse();
        };
        if run.left_out.is_some() {
            let message = format!("run {} is already left out", run.number);
            form.wrong("run", "run-left-out", message, "nothing needs to be done");
        }
        form.facts(vec![Fact::ExperimentRunLeftOut(ExperimentRunLeftOut {
            experiment: experiment.code.clone(),
            run: run.number,
            reason,
        })])
    }

    fn next_experiment(&self) -> ExperimentCode {
        let (year, number) = self.lab.next_number('X', self.context.at);
        ExperimentCode::from(numbered('X', year, number))
    }

    fn experiment(&self, form: &mut Form, typed: &str) -> Option<&'a Experiment> {
        let found = self.lab.experiments.get(crate::code::scanned(typed).as_str());
        if found.is_none() {
            let message = self.is_no("experiment", typed);
            form.wrong("experiment", "experiment-unknown", message, "plan it first");
        }
        found
    }

    /// The method in use and the grading that an experiment is about.
    fn of_experiment(
        &self,
        form: &mut Form,
        condition: Option<Condition>,
        method: &str,
        grading: &str,
    ) -> Option<(&'a MethodInUse, &'a Grading)> {
        let Some(in_use) = self.lab.method_in_use(method.trim()) else {
            let message = format!("the method “{}” is not in use here", method.trim());
            form.wrong("method", "method-not-in-use", message, "take it into use first");
            return None;
        };
        if !in_use.method.weighs_before_and_after() {
            let message = format!("{} takes no loss of one specimen", in_use.method.designation);
            form.wrong(
                "method",
                "method-without-loss",
                message,
                "choose a method that weighs before and after a run",
            );
        }
        if let Some(condition) = condition.filter(|one| !one.is_of(&in_use.method)) {
            let message = format!("{} has no {}", in_use.method.designation, condition.in_words());
            form.wrong("condition", "condition-other", message, "the loss cannot follow it");
        }
        Some((in_use, grading_of(form, &in_use.method, grading, None)?))
    }
}

/// The condition that is typed.
pub(super) fn condition(form: &mut Form, typed: &str) -> Option<Condition> {
    let typed = typed.trim();
    let condition = Condition::ALL.into_iter().find(|one| one.as_str() == typed);
    if condition.is_none() {
        let known = crate::words::listed(Condition::ALL.map(Condition::as_str));
        let message = format!("“{typed}” is not a condition of a run that is known here");
        form.wrong("condition", "input-unknown", message, format!("known: {known}"));
    }
    condition
}

/// Beyond this a level is a slip of the hand.
fn highest(condition: Condition) -> Decimal {
    match condition {
        Condition::Revolutions => MOST_REVOLUTIONS,
        Condition::Charge => HEAVIEST_CHARGE_G,
        Condition::WaterTemperature => HOTTEST_C,
        Condition::WaterVolume => MOST_LITRES,
    }
}

/// The levels, lowest first.
fn levels(form: &mut Form, condition: Condition, typed: &[String]) -> Vec<Decimal> {
    let mut levels: Vec<Decimal> = Vec::new();
    for (index, typed) in typed.iter().enumerate().filter(|(_, typed)| !typed.trim().is_empty()) {
        let field = format!("levels.{index}");
        let Some(level) = form.positive(&field, typed, condition.unit(), highest(condition)) else {
            continue;
        };
        if levels.contains(&level) {
            let message = format!("the level {level} is named twice");
            form.wrong(
                &field,
                "named-twice",
                message,
                "say with the replicates how often it is run",
            );
        }
        levels.push(level);
    }
    levels.sort();
    if levels.len() < 2 && !form.is_hopeless() {
        form.wrong(
            "levels",
            "input-missing",
            "fewer than two levels are named",
            "name at least two",
        );
    }
    levels
}

fn whole(form: &mut Form, field: &str, typed: &str, least: u32, most: u32) -> Option<u32> {
    let typed = typed.trim();
    let number = typed.parse::<u32>().ok().filter(|number| (least..=most).contains(number));
    if number.is_none() {
        let message = format!("“{typed}” is not a whole number from {least} to {most}");
        form.wrong(field, "input-number", message, "");
    }
    number
}

/// The run of this number.
fn run_named<'e>(
    form: &mut Form,
    experiment: &'e Experiment,
    typed: &str,
) -> Option<&'e ExperimentRun> {
    let found = typed.trim().parse::<u32>().ok().and_then(|number| experiment.run(number));
    if found.is_none() {
        let message = format!("{} has no run “{}”", experiment.code, typed.trim());
        form.wrong(
            "run",
            "run-unknown",
            message,
            format!("it has the runs 1 to {}", experiment.runs.len()),
        );
    }
    found
}

/// The run that a specimen is for: the one that is named, or the next without one.
fn run_to_fill<'e>(
    form: &mut Form,
    experiment: &'e Experiment,
    typed: &str,
) -> Option<&'e ExperimentRun> {
    if experiment.is_imported() {
        let message = format!("the losses of {} came from a table", experiment.code);
        form.wrong(
            "experiment",
            "experiment-imported",
            message,
            "plan a new experiment for new runs",
        );
        return None;
    }
    if !typed.trim().is_empty() {
        return run_named(form, experiment, typed);
    }
    let next =
        experiment.runs.iter().find(|run| run.specimens.is_empty() && run.left_out.is_none());
    if next.is_none() {
        let message = format!("every run of {} has a specimen", experiment.code);
        form.wrong("run", "input-missing", message, "say which run is to have another");
    }
    next
}
