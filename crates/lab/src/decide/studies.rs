//! Planning designed studies, giving their runs specimens or values, and concluding them.

mod figures;
mod table;

use super::Desk;
use super::form::{Form, yes_or_no};
use crate::code::{StudyCode, numbered, scanned};
use crate::fact::{
    Design, Fact, ImportedValue, PlannedRun, Question, Right, StudyConcluded, StudyFactor,
    StudyFigures, StudyPlanned, StudyRunAssigned, StudyValuesImported,
};
use crate::refusal::Refusal;
use crate::request::{AssignStudyRun, ConcludeStudy, FactorForm, ImportStudyValues, PlanStudy};
use crate::state::Study;
use crate::study::LOSS;
use crate::study::design::{choose, recognise, runs};
use crate::study::power::{MOST_RUNS, Size};
use crate::words::listed;
use stonewear_procedure::ItemKind;

/// More levels than this belong into several studies.
const MOST_LEVELS: usize = 20;

/// How a study is laid out.
struct Layout {
    factors: Vec<StudyFactor>,
    design: Design,
    why: Vec<String>,
    runs: Vec<PlannedRun>,
    seed: Option<u64>,
    values: Vec<ImportedValue>,
}

impl<'a> Desk<'a> {
    pub(super) fn plan_study(&self, request: &PlanStudy) -> Result<Vec<Fact>, Refusal> {
        self.person_who_may(Right::Manage)?;
        let mut form = Form::new();
        let came_along = !request.table.trim().is_empty();
        let title = form.text("title", &request.title, "what the study is to tell");
        let item = self.item_of_study(&mut form, &request.item);
        let needed = |typed: &str| !came_along || !typed.trim().is_empty();
        let method =
            needed(&request.method).then(|| self.method_of_study(&mut form, request)).flatten();
        let sample =
            needed(&request.sample).then(|| self.sample(&mut form, &request.sample)).flatten();
        let typed_unit = form.optional("unit", &request.unit);
        let unit = if typed_unit.is_empty() { LOSS.to_owned() } else { typed_unit };
        if unit != LOSS && !came_along {
            let message = format!("the runs of a plan give losses, not {unit}");
            form.wrong("unit", "input-unknown", message, "leave the unit out");
        }
        let document = if came_along {
            form.text("document", &request.document, "where the values come from")
        } else {
            String::new()
        };
        let Some(question) = question(&mut form, &request.question) else { return form.refuse() };
        let mut figures =
            self.figures_of_study(&mut form, request, question, method.map(|used| &used.method));
        if form.is_hopeless() {
            return form.refuse();
        }
        let layout = if came_along {
            table::layout(&mut form, request, question, &unit)
        } else {
            self.layout(&mut form, request, question, &mut figures)
        };
        let Some(layout) = layout else { return form.refuse() };
        let (year, number) = self.lab.next_number('Y', self.context.at);
        let study = StudyCode::from(numbered('Y', year, number));
        let mut facts = vec![Fact::StudyPlanned(Box::new(StudyPlanned {
            study: study.clone(),
            title,
            question,
            design: layout.design,
            why: layout.why,
            item: item.map(|item| item.code.clone()),
            method: method.map(|used| used.id.clone()),
            sample: sample.map(|sample| sample.code.clone()),
            unit,
            factors: layout.factors,
            runs: layout.runs,
            figures,
            seed: layout.seed,
            document: document.clone(),
        }))];
        if came_along {
            facts.push(Fact::StudyValuesImported(StudyValuesImported {
                study,
                values: layout.values,
                document,
                reason: String::new(),
            }));
        }
        form.facts(facts)
    }

    /// The layout of runs that are to be made: the smallest with the wanted power, or as often
    /// repeated as is said.
    fn layout(
        &self,
        form: &mut Form,
        request: &PlanStudy,
        question: Question,
        figures: &mut StudyFigures,
    ) -> Option<Layout> {
        let factors = self.factors(form, &request.factors);
        let nested = is_yes(form, "nested", &request.nested);
        let seed = request.seed.trim().parse::<u64>().ok();
        if seed.is_none() {
            let message =
                format!("“{}” is not a whole number to draw the order from", request.seed.trim());
            form.wrong("seed", "input-number", message, "write any whole number from 0");
        }
        if form.is_hopeless() {
            return None;
        }
        let mut chosen = |repetitions: u32| match choose(question, &factors, nested, repetitions) {
            Ok(chosen) => Some(chosen),
            Err((message, hint)) => {
                form.wrong("factors", "study-factors", message, hint);
                None
            }
        };
        let (once, _) = chosen(1)?;
        let needed = Size::new(question, once, &factors, 1).repetitions_needed(figures);
        let repetitions = repetitions(form, &request.repetitions, once, question, needed)?;
        let (design, why) = choose(question, &factors, nested, repetitions).ok()?;
        let size = Size::new(question, design, &factors, repetitions);
        if size.runs() > MOST_RUNS {
            let message = format!("the plan has {} runs", size.runs());
            let hint = format!("plan at most {MOST_RUNS}: fewer levels, or fewer repetitions");
            form.wrong("repetitions", "input-impossible", message, hint);
            return None;
        }
        let Some(power) = size.power(figures) else {
            let message = format!("{} runs leave nothing to judge a difference by", size.runs());
            form.wrong("repetitions", "input-impossible", message, "repeat each run more often");
            return None;
        };
        figures.planned_power_percent = Some(power);
        figures.planned_difference = size.seen(figures);
        figures.runs_needed = needed.map(|needed| size.repeated(needed).runs());
        Some(Layout {
            why: [vec![why], figures::in_words(question, size.runs(), figures)].concat(),
            runs: runs(design, &factors, repetitions, seed.unwrap_or_default()),
            factors,
            design,
            seed,
            values: Vec::new(),
        })
    }

    pub(super) fn assign_study_run(&self, request: &AssignStudyRun) -> Result<Vec<Fact>, Refusal> {
        self.person_who_may(Right::Test)?;
        let mut form = Form::with_reason(&request.deviation);
        let study = self.open_study(&mut form, &request.study);
        let specimen = self.specimen(&mut form, &request.specimen);
        let reason = form.optional("reason", &request.reason);
        let (Some(study), Some(specimen)) = (study, specimen) else { return form.refuse() };
        let plan = &study.plan.value;
        if !plan.document.is_empty() {
            let message = format!("the runs of {} were carried out elsewhere", plan.study);
            form.wrong("study", "study-imported", message, "plan a study for new runs");
            return form.refuse();
        }
        let Some(planned) = run_to_fill(&mut form, study, &request.run) else {
            return form.refuse();
        };
        if let Some(there) = study.specimen_of(planned.run).filter(|_| reason.is_empty()) {
            let message = format!("run {} has the specimen {}", planned.run, there.value.specimen);
            let hint = "give the reason for replacing it; it stays on record";
            form.wrong("reason", "replaces-record", message, hint);
        }
        if let Some(method) = plan.method.as_ref().filter(|method| **method != specimen.method) {
            let message = format!(
                "{} is by {}, the study by {}",
                specimen.code,
                self.lab.dated(specimen.method.as_str()),
                self.lab.dated(method.as_str())
            );
            form.wrong("specimen", "specimens-differ", message, "make one up by the plan");
        }
        if let Some(sample) = plan.sample.as_ref().filter(|sample| **sample != specimen.sample) {
            let message =
                format!("{} is of {}, the study of {sample}", specimen.code, specimen.sample);
            form.wrong("specimen", "specimens-differ", message, "make one up of that sample");
        }
        if let Some((other, run)) = self.lab.study_of_specimen(&specimen.code) {
            let other = &other.plan.value.study;
            let message = format!("{} is the specimen of run {run} of {other}", specimen.code);
            form.wrong("specimen", "specimen-of-study", message, "make up another specimen");
        }
        for departure in self.lab.study_departures(study, planned, specimen) {
            let message = format!("run {} departs from the plan: {departure}", planned.run);
            let hint = "choose the run that it is, or record why it counts all the same";
            form.departs("specimen", "study-departure", message, hint);
        }
        Ok(vec![Fact::StudyRunAssigned(StudyRunAssigned {
            study: plan.study.clone(),
            run: planned.run,
            specimen: specimen.code.clone(),
            reason,
            deviations: form.deviations()?,
        })])
    }

    pub(super) fn import_study_values(
        &self,
        request: &ImportStudyValues,
    ) -> Result<Vec<Fact>, Refusal> {
        self.person_who_may(Right::Manage)?;
        let mut form = Form::new();
        let study = self.open_study(&mut form, &request.study);
        let document = form.text("document", &request.document, "where the values come from");
        let reason = form.optional("reason", &request.reason);
        let Some(study) = study else { return form.refuse() };
        let plan = &study.plan.value;
        let values = table::values_of_runs(&mut form, &request.table, plan);
        let standing = self.lab.study_runs(study);
        let replaced = values.iter().filter(|one| {
            standing.iter().any(|run| run.planned.run == one.run && run.value.is_some())
        });
        let replaced = listed(replaced.map(|one| one.run.to_string()));
        if !replaced.is_empty() && reason.is_empty() {
            let message = format!("these runs have a value already: {replaced}");
            let hint = "give the reason for replacing it; it stays on record";
            form.wrong("reason", "replaces-record", message, hint);
        }
        form.facts(vec![Fact::StudyValuesImported(StudyValuesImported {
            study: plan.study.clone(),
            values,
            document,
            reason,
        })])
    }

    pub(super) fn conclude_study(&self, request: &ConcludeStudy) -> Result<Vec<Fact>, Refusal> {
        self.person_who_may(Right::Release)?;
        let mut form = Form::with_reason(&request.deviation);
        let study = self.open_study(&mut form, &request.study);
        let withdrawn = is_yes(&mut form, "withdraw", &request.withdraw);
        let what = if withdrawn { "why it is withdrawn" } else { "what follows from it" };
        let remark = form.text("remark", &request.remark, what);
        let Some(study) = study else { return form.refuse() };
        let code = study.plan.value.study.clone();
        let (mut verdict, mut kept) = (Vec::new(), Vec::new());
        if !withdrawn {
            self.is_complete(&mut form, study);
            match self.lab.study_analysis(study) {
                Ok(analysis) => {
                    kept = figures::of_conclusion(&analysis);
                    verdict = analysis.verdict;
                }
                Err(why) => {
                    let hint = "complete its runs, or withdraw it and say why";
                    form.wrong("study", "study-not-analysable", why, hint);
                }
            }
        }
        Ok(vec![Fact::StudyConcluded(StudyConcluded {
            study: code,
            withdrawn,
            verdict,
            figures: kept,
            remark,
            deviations: form.deviations()?,
        })])
    }

    /// Notes everything that makes a study other than it was planned.
    fn is_complete(&self, form: &mut Form, study: &Study) {
        let runs = self.lab.study_runs(study);
        let missing = runs.iter().filter(|run| run.value.is_none());
        let missing = listed(missing.map(|run| run.planned.run.to_string()));
        if !missing.is_empty() {
            let message = format!("these runs have no value: {missing}");
            form.departs("study", "study-incomplete", message, "make them, or record why not");
        }
        for run in runs.iter().filter(|run| run.value.is_some()) {
            let number = run.planned.run;
            for departure in run.departures.iter().filter(|_| run.excused.is_none()) {
                let message = format!("run {number} departs from the plan: {departure}");
                let hint = "record why it counts all the same";
                form.departs("study", "study-departure", message, hint);
            }
            for doubt in &run.doubts {
                let message = format!("run {number} stands on something in doubt: {doubt}");
                form.departs("study", "study-in-doubt", message, "settle the doubt first");
            }
        }
    }

    fn open_study(&self, form: &mut Form, typed: &str) -> Option<&'a Study> {
        let found = self.lab.studies.get(scanned(typed).as_str());
        let Some(study) = found else {
            let message = self.is_no("study", typed);
            form.wrong("study", "study-unknown", message, "plan it first");
            return None;
        };
        if !study.is_open() {
            let message = format!("{} is {}", study.plan.value.study, study.in_words());
            form.wrong("study", "study-closed", message, "plan a new study");
            return None;
        }
        Some(study)
    }

    fn item_of_study(&self, form: &mut Form, typed: &str) -> Option<&'a crate::state::Item> {
        if typed.trim().is_empty() {
            return None;
        }
        let found = self.lab.items.get(scanned(typed).as_str());
        if found.is_none() {
            let message = self.is_no("item", typed);
            form.wrong("item", "item-unknown", message, "register it first");
        }
        found
    }

    fn method_of_study(
        &self,
        form: &mut Form,
        request: &PlanStudy,
    ) -> Option<&'a crate::state::MethodInUse> {
        let typed = request.method.trim();
        let Some(used) = self.lab.method_in_use(typed) else {
            let message = format!("the method “{typed}” is not in use here");
            form.wrong("method", "method-not-in-use", message, "take it into use first");
            return None;
        };
        if !used.method.weighs_before_and_after() {
            let message = format!("{} takes no loss of one specimen", used.method.designation);
            let hint = "choose a method that weighs before and after a run";
            form.wrong("method", "method-without-loss", message, hint);
            return None;
        }
        Some(used)
    }

    /// The factors, with everything that is wrong with them at their place.
    fn factors(&self, form: &mut Form, typed: &[FactorForm]) -> Vec<StudyFactor> {
        let mut factors: Vec<StudyFactor> = Vec::new();
        let said = |one: &FactorForm| !one.name.trim().is_empty() || !one.levels.trim().is_empty();
        for (index, one) in typed.iter().enumerate().filter(|(_, one)| said(one)) {
            let place = format!("factors.{index}.levels");
            let named = format!("factors.{index}.name");
            let name = form.text(&named, &one.name, "the name of the factor").to_lowercase();
            if factors.iter().any(|other| other.name == name) {
                let message = format!("the factor {name} is named twice");
                form.wrong(&named, "named-twice", message, "name each factor once");
            }
            let mut levels: Vec<String> = Vec::new();
            let parts = one.levels.split([',', ';', '\n']).map(str::trim);
            for level in parts.filter(|level| !level.is_empty()) {
                let level = form.optional(&place, level);
                let level = self.level(form, &place, &name, level);
                if levels.contains(&level) {
                    let message = format!("the level {level} is named twice");
                    form.wrong(
                        &place,
                        "named-twice",
                        message,
                        "say with the repetitions how often it is run",
                    );
                } else {
                    levels.push(level);
                }
            }
            if !(2..=MOST_LEVELS).contains(&levels.len()) {
                let message =
                    format!("{name} has {}", crate::words::counted(levels.len(), "level"));
                let hint = format!("name 2 to {MOST_LEVELS}, with commas between them");
                form.wrong(&place, "study-factors", message, hint);
            }
            factors.push(StudyFactor { name, levels });
        }
        factors
    }

    /// A level as it is kept: what the laboratory has is named by its code.
    fn level(&self, form: &mut Form, place: &str, factor: &str, typed: String) -> String {
        let code = scanned(&typed);
        let kinds: &[ItemKind] = match factor {
            "jar" => &[ItemKind::Jar],
            "charge" => &[ItemKind::BallCharge],
            "machine" => &[ItemKind::Apparatus, ItemKind::Drum],
            "operator" => {
                if let Some(person) =
                    self.lab.people.keys().find(|one| one.as_str().eq_ignore_ascii_case(&code))
                {
                    return person.to_string();
                }
                let message = format!("nobody here has the initials “{typed}”");
                form.wrong(place, "person-unknown", message, format!("known: {}", self.initials()));
                return typed;
            }
            _ => return typed,
        };
        let known = |kind: &ItemKind| self.lab.items_of(*kind);
        if let Some(item) = kinds.iter().flat_map(known).find(|item| item.code.as_str() == code) {
            return item.code.to_string();
        }
        let message = self.is_no(factor, &typed);
        let hint = listed(kinds.iter().flat_map(known).map(|item| item.code.to_string()));
        form.wrong(place, "item-unknown", message, format!("known: {hint}"));
        typed
    }
}

fn question(form: &mut Form, typed: &str) -> Option<Question> {
    let typed = typed.trim();
    let found = Question::ALL.iter().find(|(_, name, _)| *name == typed).map(|(one, ..)| *one);
    if found.is_none() {
        let known = listed(Question::ALL.map(|(_, name, words)| format!("{name} ({words})")));
        let message = format!("“{typed}” is not a question of a study");
        form.wrong("question", "input-unknown", message, format!("known: {known}"));
    }
    found
}

fn is_yes(form: &mut Form, field: &str, typed: &str) -> bool {
    if typed.trim().is_empty() {
        return false;
    }
    yes_or_no(typed).unwrap_or_else(|| {
        let message = format!("“{}” is neither yes nor no", typed.trim());
        form.wrong(field, "input-unknown", message, "write yes or no");
        false
    })
}

/// How often the design is repeated: as typed, or as often as the power needs.
fn repetitions(
    form: &mut Form,
    typed: &str,
    design: Design,
    question: Question,
    needed: Option<u32>,
) -> Option<u32> {
    // Blocks are what repeats a comparison of two in pairs.
    let in_pairs = question == Question::Equivalent && design == Design::RandomizedBlocks;
    let typed = typed.trim();
    if !typed.is_empty() {
        let number = typed.parse::<u32>().ok().filter(|number| (1..=MOST_RUNS).contains(number));
        if number.is_none() {
            let message = format!("“{typed}” is not a whole number from 1 to {MOST_RUNS}");
            form.wrong("repetitions", "input-number", message, "");
        }
        if in_pairs && number.is_some_and(|number| number > 1) {
            let message = "each block holds one pair";
            form.wrong("repetitions", "input-impossible", message, "name more blocks instead");
            return None;
        }
        return number;
    }
    match design {
        Design::RandomizedBlocks if in_pairs => Some(1),
        // What lies within is not seen with one result; more results do not make more of what is nested.
        Design::Nested => Some(2),
        _ => {
            if needed.is_none() {
                let message = format!("no plan of at most {MOST_RUNS} runs has the wanted power");
                let hint =
                    "ask for a larger difference or less power, or say how often to repeat it";
                form.wrong("repetitions", "study-power", message, hint);
            }
            needed
        }
    }
}

/// The planned run of this number; nothing typed means the next without a specimen.
fn run_to_fill<'s>(form: &mut Form, study: &'s Study, typed: &str) -> Option<&'s PlannedRun> {
    let plan = &study.plan.value;
    let typed = typed.trim();
    if typed.is_empty() {
        let empty = |run: &&PlannedRun| {
            study.specimen_of(run.run).is_none() && study.imported_of(run.run).is_none()
        };
        let next = plan.runs.iter().find(empty);
        if next.is_none() {
            let message = format!("every run of {} has a specimen or a value", plan.study);
            form.wrong("run", "input-missing", message, "say which run is to have another");
        }
        return next;
    }
    let found = typed.parse::<u32>().ok();
    let found = found.and_then(|number| plan.runs.iter().find(|run| run.run == number));
    if found.is_none() {
        let message = format!("{} has no run “{typed}”", plan.study);
        form.wrong(
            "run",
            "run-unknown",
            message,
            format!("it has the runs 1 to {}", plan.runs.len()),
        );
    }
    found
}
