//! Correcting what was recorded: always with the reason, never without a trace, and everything
//! that stands on it follows.

use super::Desk;
use super::drum::{ball_count, not_wanted};
use super::form::{Form, code};
use super::observations::{self, Read, Typed};
use super::runs::{HEAVIEST_CHARGE_G, MOST_LITRES};
use crate::code::{DoubtCode, numbered};
use crate::fact::{Fact, Placed, Right, SampleChanges, Seen, SensitivityRecorded, Standing};
use crate::refusal::Refusal;
use crate::request::{
    CorrectItem, CorrectObservation, CorrectRun, CorrectSample, RecordSensitivity,
};
use crate::state::{Check, CheckState, Run, Sample, TestResult};
use stonewear_measure::Decimal;
use stonewear_procedure::ItemKind;

/// A resolution coarser than this is a slip of the hand.
const COARSEST: Decimal = Decimal::from_parts(1_000, 0, 0, false, 0);

impl Desk<'_> {
    pub(super) fn correct_run(&self, request: &CorrectRun) -> Result<Vec<Fact>, Refusal> {
        self.person_who_may(Right::Test)?;
        let mut form = Form::with_reason(&request.deviation);
        let Some(run) = self.run(&mut form, &request.run) else { return form.refuse() };
        let reason = form.text("reason", &request.reason, "the reason for the correction");
        let Some(former) = placed_in(&mut form, run, &request.specimen) else {
            return form.refuse();
        };
        let Some(specimen) = self.lab.specimens.get(&former.specimen) else {
            return form.refuse();
        };
        let Some((method, grading)) = self.rules(&mut form, specimen) else {
            return form.refuse();
        };
        let mut placed = former.clone();
        let named = |typed: &str| !typed.trim().is_empty();
        if named(&request.jar)
            && let Some(jar) = self.jar(&mut form, "jar", &request.jar, method)
        {
            placed.jar = Some(jar);
        }
        match &grading.charge_g {
            None => {
                for (field, typed) in [("charge", &request.charge), ("charge_g", &request.charge_g)]
                {
                    not_wanted::<()>(&mut form, field, typed, method, "balls");
                }
            }
            Some(rule) => {
                if named(&request.charge) {
                    let (typed, kind) = (request.charge.as_str(), ItemKind::BallCharge);
                    placed.charge = code(form.item(self, "charge", typed, kind, |_| true));
                }
                if named(&request.charge_g)
                    && let Some(mass) =
                        form.mass(self, "charge_g", &request.charge_g, HEAVIEST_CHARGE_G)
                {
                    self.within_charge(&mut form, "charge_g", mass.mass_g, rule.limits());
                    placed.charge_g = Some(mass.mass_g);
                    placed.charge_as_read = mass.as_read;
                }
            }
        }
        let others: Vec<&Placed> =
            run.placed.iter().filter(|other| other.specimen != placed.specimen).collect();
        let in_its_jar = |other: &&&Placed| other.jar.is_some() && other.jar == placed.jar;
        if let (Some(jar), Some(other)) = (&placed.jar, others.iter().find(in_its_jar)) {
            let message = format!("{jar} held {} in this run", other.specimen);
            form.wrong("jar", "placed-twice", message, "correct the other one first");
        }
        let is_taken = |other: &&&Placed| other.charge.is_some() && other.charge == placed.charge;
        if let Some(other) = others.iter().find(is_taken) {
            let message = format!("{} ran with this charge in this run", other.specimen);
            form.wrong("charge", "placed-twice", message, "correct the other one first");
        }
        if named(&request.charge_balls) {
            let typed = request.charge_balls.as_str();
            let counted = ball_count(&mut form, "charge_balls", typed, grading);
            placed.charge_balls = counted.or(placed.charge_balls);
        }
        let typed = request.water_l.as_str();
        match &method.water {
            None => {
                not_wanted::<()>(&mut form, "water_l", typed, method, "water");
            }
            Some(rule) => {
                if let Some(water_l) = form.optional_positive("water_l", typed, "L", MOST_LITRES) {
                    let limits = rule.volume_l.limits();
                    form.within("water_l", "water-volume", "the water", water_l, "L", limits);
                    placed.water_l = Some(water_l);
                }
            }
        }
        if named(&request.soaked_h)
            && let Some(hours) = self.soaked(&mut form, "soaked_h", &request.soaked_h, method, None)
        {
            placed.soaked_h = Some(hours);
        }
        let mut water_c = run.water_c;
        if method.water.is_none() {
            not_wanted::<()>(&mut form, "water_c", &request.water_c, method, "water");
        } else if named(&request.water_c)
            && let Some(celsius) = form.number("water_c", &request.water_c)
        {
            self.within_temperature(&mut form, celsius, method);
            water_c = Some(celsius);
        }
        if placed == *former && water_c == run.water_c && !form.is_hopeless() {
            nothing_changes(&mut form);
        }
        let deviations = form.deviations()?;
        let results: Vec<&TestResult> = if water_c == run.water_c {
            self.lab.result_of(&placed.specimen).into_iter().collect()
        } else {
            self.results_of_run(run)
        };
        let revised = self.on_other_evidence(results, &reason);
        let corrected =
            Fact::RunCorrected { run: run.code.clone(), placed, water_c, reason, deviations };
        Ok(std::iter::once(corrected).chain(revised).collect())
    }

    /// Every result that a specimen of a run is part of, each once.
    pub(super) fn results_of_run(&self, run: &Run) -> Vec<&TestResult> {
        let mut results: Vec<&TestResult> =
            run.placed.iter().filter_map(|placed| self.lab.result_of(&placed.specimen)).collect();
        results.sort_by(|one, other| one.code.cmp(&other.code));
        results.dedup_by(|one, other| one.code == other.code);
        results
    }

    /// The same numbers on other evidence: new versions that somebody must release again.
    pub(super) fn on_other_evidence(&self, results: Vec<&TestResult>, reason: &str) -> Vec<Fact> {
        let revised = |result: &TestResult| {
            let current = &result.current()?.value;
            Some(Fact::ResultRevised {
                result: result.code.clone(),
                loss_percent: current.loss_percent,
                properties: current.properties.clone(),
                reason: reason.to_owned(),
            })
        };
        results.into_iter().filter_map(revised).collect()
    }

    pub(super) fn correct_sample(&self, request: &CorrectSample) -> Result<Vec<Fact>, Refusal> {
        self.person_who_may(Right::Test)?;
        let mut form = Form::new();
        let Some(sample) = self.sample(&mut form, &request.sample) else { return form.refuse() };
        let reason = form.text("reason", &request.reason, "the reason for the correction");
        let limit_method = self.limit_method(&mut form, &request.limit_method);
        let changes = sample_changes(&mut form, request, sample, limit_method);
        if changes.is_empty() && !form.is_hopeless() {
            nothing_changes(&mut form);
        }
        let results: Vec<&TestResult> =
            self.lab.results.values().filter(|result| result.sample == sample.code).collect();
        let revised = self.on_other_evidence(results, &reason);
        let corrected = Fact::SampleCorrected {
            sample: sample.code.clone(),
            changes: Box::new(changes),
            reason,
        };
        form.facts(std::iter::once(corrected).chain(revised).collect())
    }

    pub(super) fn correct_item(&self, request: &CorrectItem) -> Result<Vec<Fact>, Refusal> {
        self.person_who_may(Right::Manage)?;
        let mut form = Form::new();
        let Some(item) = self.any_item(&mut form, &request.item) else { return form.refuse() };
        let item = item.clone();
        let reason = form.text("reason", &request.reason, "the reason for the correction");
        let name = other_text(&mut form, "name", &request.name, &item.name);
        let maker_and_serial = other_text(
            &mut form,
            "maker_and_serial",
            &request.maker_and_serial,
            &item.maker_and_serial,
        );
        let resolution = resolution(&mut form, item.kind, &request.resolution)
            .filter(|new| item.resolution != Some(*new));
        if name.is_none() && maker_and_serial.is_none() && resolution.is_none() {
            nothing_changes(&mut form);
        }
        form.facts(vec![Fact::ItemCorrected {
            item: item.code,
            name,
            maker_and_serial,
            resolution,
            reason,
        }])
    }

    pub(super) fn correct_observation(
        &self,
        request: &CorrectObservation,
    ) -> Result<Vec<Fact>, Refusal> {
        self.person_who_may(Right::Test)?;
        let mut form = Form::new();
        let typed = request.check.trim();
        let Some(check) = self.lab.checks.get(typed.to_uppercase().as_str()) else {
            let message = format!("there is no check “{typed}”");
            form.wrong("check", "check-unknown", message, "its code is on the page of the item");
            return form.refuse();
        };
        let reason = form.text("reason", &request.reason, "the reason for the correction");
        let named = request.step.trim();
        let (Some(step), Some(last)) = (check.procedure.step(named), check.last_observation(named))
        else {
            let message = format!("nothing is recorded at the step “{named}” of {}", check.code);
            form.wrong("step", "step-unknown", message, "name a step that was observed");
            return form.refuse();
        };
        let uncertainty = last.value.uncertainty;
        let typed = Typed { seen: &request.seen, less: &request.less };
        let read = observations::read(&mut form, check, step, typed, uncertainty);
        let Some(read) = read else { return form.refuse() };
        if read.seen == *last.value.known() {
            nothing_changes(&mut form);
        }
        let is_open = matches!(check.state(), CheckState::At(_));
        if is_open && read.passed && !last.value.holds() {
            let message = "the step failed and is to be repeated; it cannot be passed afterwards";
            form.wrong("seen", "step-not-passed", message, "repeat the step");
        }
        let corrected = |step: &str, read: Read| Fact::ObservationCorrected {
            check: check.code.clone(),
            step: step.to_owned(),
            seen: read.seen,
            as_read: read.as_read,
            passed: read.passed,
            reason: reason.clone(),
        };
        let mut failed = (!read.passed).then_some(step);
        let mut facts = Vec::new();
        // What was worked out from this reading follows it.
        if let (Seen::Number(former), Seen::Number(now)) = (last.value.known(), &read.seen) {
            for other in &check.procedure.steps {
                let follows = observations::following(check, other, &step.id, *former, *now);
                if let Some(follows) = follows {
                    failed = failed.or((!follows.passed).then_some(other));
                    facts.push(corrected(&other.id, follows));
                }
            }
        }
        facts.insert(0, corrected(&step.id, read));
        if let Some(failed) = failed.filter(|_| check.passed()) {
            facts.extend(self.without_the_pass(check, &failed.title, &reason));
        }
        form.facts(facts)
    }

    /// What follows when a check turns out not to have been passed: the item is held, and the
    /// results that stand on it are in doubt.
    fn without_the_pass(&self, check: &Check, step: &str, reason: &str) -> Vec<Fact> {
        let why = format!("{} ({step}) was corrected: {reason}", check.code);
        let mut facts = vec![Fact::CheckEnded {
            check: check.code.clone(),
            passed: false,
            reason: why.clone(),
        }];
        let standing = self.lab.items.get(&check.item).map(crate::state::Item::standing);
        let is_last = self
            .lab
            .last_passed(&check.item, &check.procedure.id)
            .is_none_or(|last| last.code == check.code);
        if is_last && standing.is_some_and(|now| !matches!(now, Standing::Held | Standing::Retired))
        {
            facts.push(Fact::StandingChanged {
                item: check.item.clone(),
                standing: Standing::Held,
                reason: why.clone(),
            });
        }
        let results = self.lab.standing_on_pass(check);
        if let (Some(attribute), false) = (check.procedure.proves.first(), results.is_empty()) {
            let (year, number) = self.lab.next_number('D', self.context.at);
            facts.push(Fact::DoubtOpened {
                doubt: DoubtCode::from(numbered('D', year, number)),
                item: check.item.clone(),
                attribute: attribute.clone(),
                found: None,
                results,
                reason: why,
            });
        }
        facts
    }

    pub(super) fn record_sensitivity(
        &self,
        request: &RecordSensitivity,
    ) -> Result<Vec<Fact>, Refusal> {
        self.person_who_may(Right::Manage)?;
        let mut form = Form::new();
        let condition = super::experiments::condition(&mut form, &request.condition);
        let method = self.lab.method_in_use(request.method.trim());
        if method.is_none() {
            let message = format!("the method “{}” is not in use here", request.method.trim());
            form.wrong("method", "method-not-in-use", message, "take it into use first");
        }
        if let (Some(condition), Some(method)) = (condition, method)
            && !condition.is_of(&method.method)
        {
            let message = format!("{} has no {}", method.method.designation, condition.in_words());
            form.wrong("condition", "condition-other", message, "the loss cannot follow it");
        }
        let percent_of_loss = form.number("percent_of_loss", &request.percent_of_loss);
        if let Some(percent) = percent_of_loss.filter(|one| one.abs() > Decimal::ONE_HUNDRED) {
            let message = format!("{percent} % of the loss cannot be");
            form.wrong("percent_of_loss", "input-impossible", message, "it lies within ± 100 %");
        }
        let hundred = Decimal::ONE_HUNDRED;
        let uncertainty = form.optional_positive("uncertainty", &request.uncertainty, "%", hundred);
        let experiment =
            form.text("experiment", &request.experiment, "the record of the experiment");
        let (Some(condition), Some(method), Some(percent_of_loss)) =
            (condition, method, percent_of_loss)
        else {
            return form.refuse();
        };
        form.facts(vec![Fact::SensitivityRecorded(SensitivityRecorded {
            condition,
            method: method.id.clone(),
            percent_of_loss,
            uncertainty,
            experiment,
        })])
    }
}

/// The smallest step that an instrument shows; nothing typed means that it is not known.
pub(super) fn resolution(form: &mut Form, kind: ItemKind, typed: &str) -> Option<Decimal> {
    let unit = kind.unit_read();
    if unit.is_none() && !typed.trim().is_empty() {
        let message = format!("{} shows no numbers", kind.with_article());
        form.wrong("resolution", "input-impossible", message, "leave the resolution out");
        return None;
    }
    form.optional_positive("resolution", typed, unit.unwrap_or_default(), COARSEST)
}

fn nothing_changes(form: &mut Form) {
    let message = "nothing changes";
    form.wrong("reason", "nothing-changes", message, "fill in what is to be corrected");
}

/// What lies with the specimen named, or with the only one there is.
fn placed_in<'a>(form: &mut Form, run: &'a Run, typed: &str) -> Option<&'a Placed> {
    let typed = typed.trim().to_uppercase();
    let only = run.placed.first().filter(|_| run.placed.len() == 1 && typed.is_empty());
    let found = only.or_else(|| run.placed.iter().find(|one| one.specimen.as_str() == typed));
    if found.is_none() {
        let message = if typed.is_empty() {
            "no specimen is named".to_owned()
        } else {
            format!("{typed} was not in {}", run.code)
        };
        let known = run.placed.iter().map(|placed| placed.specimen.to_string());
        let hint = format!("there were: {}", crate::words::listed(known));
        form.wrong("specimen", "specimen-unknown", message, hint);
    }
    found
}

/// A text that is typed and differs from the one that holds.
fn other_text(form: &mut Form, field: &str, typed: &str, holds: &str) -> Option<String> {
    let text = form.optional(field, typed);
    (!text.is_empty() && text != holds).then_some(text)
}

fn sample_changes(
    form: &mut Form,
    request: &CorrectSample,
    sample: &Sample,
    limit_method: Option<String>,
) -> SampleChanges {
    let mut text = |field: &str, typed: &str, holds: &str| other_text(form, field, typed, holds);
    let mut changes = SampleChanges {
        source: text("source", &request.source, &sample.source),
        client: text("client", &request.client, &sample.client),
        project: text("project", &request.project, &sample.project),
        material: text("material", &request.material, &sample.material),
        intended_use: text("intended_use", &request.intended_use, &sample.intended_use),
        client_address: text("client_address", &request.client_address, &sample.client_address),
        client_reference: text(
            "client_reference",
            &request.client_reference,
            &sample.client_reference,
        ),
        sampling_plan: text("sampling_plan", &request.sampling_plan, &sample.sampling_plan),
        condition: text("condition", &request.condition, &sample.condition),
        limit_document: text("limit_document", &request.limit_document, &sample.limit_document),
        ..SampleChanges::default()
    };
    let typed = request.nominal_maximum_mm.as_str();
    changes.nominal_maximum_mm = form
        .optional_positive("nominal_maximum_mm", typed, "mm", Decimal::from(200))
        .filter(|new| *new != sample.nominal_maximum_mm);
    changes.limit_method = limit_method.filter(|new| *new != sample.limit_method);
    let typed = request.limit_percent.as_str();
    changes.limit_percent = form
        .optional_positive("limit_percent", typed, "%", Decimal::ONE_HUNDRED)
        // “4” and “4.0” are other limits: they are compared at their digits.
        .filter(|new| {
            sample.limit_percent.is_none_or(|old| (*new, new.scale()) != (old, old.scale()))
        });
    let has_document = !sample.limit_document.is_empty() || changes.limit_document.is_some();
    if changes.limit_percent.is_some() && !has_document {
        let message = "a limit is given, but not the document that sets it";
        let hint = "name the contract or specification";
        form.wrong("limit_document", "input-missing", message, hint);
    }
    changes
}

/// The balance of a specimen must show as much as the method weighs to.
pub(super) fn judge_resolution(
    form: &mut Form,
    field: &str,
    balance: &crate::state::Item,
    wanted_g: Decimal,
) {
    if let Some(shows) = balance.resolution.filter(|shows| *shows > wanted_g) {
        let message =
            format!("{} shows steps of {shows} g; the method weighs to {wanted_g} g", balance.code);
        let hint = "weigh on a finer balance, or record why this one is used";
        form.departs(field, "resolution-too-coarse", message, hint);
    }
}
