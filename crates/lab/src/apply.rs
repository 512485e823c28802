//! Folding a fact into the laboratory. It never refuses and never panics: what it is given has
//! already happened. A fact about something unknown (which no decision makes) changes nothing.

mod authorisations;
mod control;
mod corrections;
mod experiments;
mod imports;
mod papers;
mod rounds;
mod runs;
mod specimens;
mod studies;

use crate::code::{ItemCode, SpecimenCode};
use crate::fact::{
    Deviation, Fact, FileAttached, Recorded, SampleHandedOver, SensitivityRecorded, SievingRecorded,
};
use crate::state::{
    Attachment, Check, Confirmation, IntervalChange, Item, Lab, MethodInUse, Noted, Observation,
    Person, Release, ResultVersion, Sample, Sensitivity, StandingChange, TestResult,
};
use crate::state::{
    CheckEnd, Custody, Doubt, Identity, OutsideResult, PolicyDecision, Sieving, SievingRules, Use,
};
use std::collections::BTreeMap;
use std::sync::Arc;
use stonewear_method::MethodId;
use stonewear_procedure::Procedure;

impl Lab {
    /// Folds one fact in.
    pub fn apply(&mut self, recorded: &Recorded) {
        let note = Noter(recorded);
        self.forget_what_changes(&recorded.fact);
        self.position = recorded.position;
        match &recorded.fact {
            Fact::LaboratoryFounded { name, address, invented, time_zone } => {
                self.identity = Some(Identity {
                    name: name.clone(),
                    address: address.clone(),
                    invented: *invented,
                    time_zone: time_zone.clone(),
                });
            }
            Fact::PersonAdded { person, name, rights } => {
                let added = Person {
                    code: person.clone(),
                    name: name.clone(),
                    rights: rights.clone(),
                    since: note.that(String::new()),
                };
                self.people.insert(person.clone(), added);
            }
            Fact::RightsSet { person, rights, reason } => {
                if let Some(person) = self.people.get_mut(person) {
                    person.rights.clone_from(rights);
                    person.since = note.that(reason.clone());
                }
            }
            Fact::AuthorisationGranted(_)
            | Fact::AuthorisationChanged(_)
            | Fact::SupervisionBegun(_) => self.apply_authorisation(&note),
            Fact::MethodAdopted { method } => {
                let id = method.key();
                let in_use = MethodInUse {
                    id: id.clone(),
                    method: (**method).clone(),
                    adopted: note.that(()),
                    versions: vec![(recorded.position, (**method).clone())],
                    confirmations: Vec::new(),
                };
                self.methods.insert(id, in_use);
            }
            Fact::FigureConfirmed { method, figure, value, against } => {
                self.confirm_figure(&note, method, figure, value.as_deref(), against);
            }
            Fact::ItemRegistered {
                item,
                item_kind,
                name,
                maker_and_serial,
                opening_mm,
                resolution,
                apparatus,
            } => {
                let registered = Item {
                    code: item.clone(),
                    kind: *item_kind,
                    name: name.clone(),
                    maker_and_serial: maker_and_serial.clone(),
                    opening_mm: *opening_mm,
                    resolution: *resolution,
                    apparatus: apparatus.as_deref().cloned(),
                    registered: note.that(()),
                    corrections: Vec::new(),
                    standings: Vec::new(),
                };
                self.items.insert(item.clone(), registered);
            }
            Fact::IntervalSet { procedure, months, reason } => {
                let change = IntervalChange { months: *months, reason: reason.clone() };
                self.intervals.entry(procedure.clone()).or_default().push(note.that(change));
            }
            Fact::StandingChanged { item, standing, reason } => {
                if let Some(item) = self.items.get_mut(item) {
                    let change = StandingChange { standing: *standing, reason: reason.clone() };
                    item.standings.push(note.that(change));
                }
            }
            Fact::CheckStarted { .. } | Fact::StepObserved { .. } | Fact::CheckEnded { .. } => {
                self.apply_check(&note);
            }
            Fact::SampleReceived { .. } => self.apply_sample(&note),
            Fact::SampleHandedOver(_) => self.apply_custody(&note),
            Fact::SpecimenBegun { .. }
            | Fact::MassWeighed { .. }
            | Fact::DryingWeighed(_)
            | Fact::SoakStarted { .. } => self.apply_specimen(&note),
            Fact::ReadingTaken(_) => self.apply_reading(&note),
            Fact::RunStarted { .. }
            | Fact::RunInterrupted { .. }
            | Fact::RunResumed { .. }
            | Fact::RunStopped { .. } => self.apply_run(&note),
            Fact::ItemCorrected { .. }
            | Fact::ObservationCorrected { .. }
            | Fact::SampleCorrected { .. }
            | Fact::RunCorrected { .. } => self.apply_correction(&note),
            Fact::SensitivityRecorded(SensitivityRecorded {
                condition,
                method,
                percent_of_loss,
                uncertainty,
                experiment,
            }) => {
                self.sensitivities.push(note.that(Sensitivity {
                    condition: *condition,
                    method: method.clone(),
                    percent_of_loss: *percent_of_loss,
                    uncertainty: *uncertainty,
                    experiment: experiment.clone(),
                }));
            }
            Fact::ResultWorkedOut { .. }
            | Fact::ResultRevised { .. }
            | Fact::ResultReleased { .. } => self.apply_result(&note),
            Fact::DoubtOpened { .. } | Fact::DoubtClosed { .. } => self.apply_doubt(&note),
            Fact::SievingRulesSet { definition, closing, reason } => {
                let rules = SievingRules {
                    definition: *definition,
                    closing: *closing,
                    reason: reason.clone(),
                };
                self.sieving_rules.push(note.that(rules));
            }
            Fact::SievingRecorded(_) => self.apply_sieving(&note),
            Fact::Paper(fact) => self.apply_paper(&note, fact),
            Fact::Round(fact) => self.apply_round(&note, fact),
            Fact::Proficiency(fact) => self.apply_proficiency(&note, fact),
            Fact::FileAttached(FileAttached { to, step, name, media_type, sha256, bytes }) => {
                let attached = Attachment {
                    step: step.clone(),
                    name: name.clone(),
                    media_type: media_type.clone(),
                    sha256: sha256.clone(),
                    bytes: *bytes,
                };
                self.attachments.entry(to.clone()).or_default().push(note.that(attached));
            }
            Fact::StudyPlanned(_)
            | Fact::StudyRunAssigned(_)
            | Fact::StudyValuesImported(_)
            | Fact::StudyConcluded(_) => self.apply_study(&note),
            Fact::PolicySet { policy, value, reason } => {
                let decision = PolicyDecision { value: value.clone(), reason: reason.clone() };
                self.policies.entry(*policy).or_default().push(note.that(decision));
            }
            Fact::LotRegistered(_)
            | Fact::SampleLinked(_)
            | Fact::StockCounted(_)
            | Fact::ReferenceImported(_)
            | Fact::BaselineFrozen(_)
            | Fact::LotTakenOver(_)
            | Fact::EventNoted(_)
            | Fact::InvestigationOpened(_)
            | Fact::FindingRecorded(_)
            | Fact::InvestigationClosed(_) => self.apply_control(&note),
            Fact::ChargeChanged(changed) => {
                let changes = self.charge_changes.entry(changed.charge.clone()).or_default();
                changes.push(note.that(changed.clone()));
            }
            Fact::ExperimentPlanned(_)
            | Fact::ExperimentAssigned(_)
            | Fact::ExperimentRunLeftOut(_)
            | Fact::ExperimentImported(_) => self.apply_experiment(&note),
            Fact::FileImported(_) | Fact::PastTestsImported(_) | Fact::PastSievingsImported(_) => {
                self.apply_import(&note);
            }
            Fact::OutsideResultRecorded(found) => {
                if let Some(sample) = self.samples.get_mut(&found.sample) {
                    sample.outside.push(note.that(OutsideResult {
                        method: found.method.clone(),
                        laboratory: found.laboratory.clone(),
                        loss_percent: found.loss_percent,
                        document: found.document.clone(),
                        reason: found.reason.clone(),
                    }));
                }
            }
        }
    }

    fn confirm_figure(
        &mut self,
        note: &Noter<'_>,
        method: &MethodId,
        figure: &str,
        value: Option<&str>,
        against: &str,
    ) {
        let Some(in_use) = self.methods.get_mut(method) else { return };
        let changed = match value {
            None => stonewear_method::figures::confirm(&in_use.method, figure).ok(),
            Some(value) => {
                // Whatever rules come later, what was recorded stands.
                stonewear_method::figures::correct_as_recorded(&in_use.method, figure, value).ok()
            }
        };
        if let Some(changed) = changed {
            in_use.method = changed.clone();
            in_use.versions.push((note.0.position, changed));
        }
        in_use.confirmations.push(note.that(Confirmation {
            figure: figure.to_owned(),
            corrected_to: value.map(str::to_owned),
            against: against.to_owned(),
        }));
        self.derive_rules(method);
    }

    fn apply_check(&mut self, note: &Noter<'_>) {
        match &note.0.fact {
            Fact::CheckStarted { check, item, procedure } => {
                self.count('C', note);
                let started = Check {
                    code: check.clone(),
                    item: item.clone(),
                    procedure: self.shared(procedure),
                    started: note.that(()),
                    observations: Vec::with_capacity(procedure.steps.len()),
                    ended: None,
                    next: 0,
                };
                self.checks_by_item.entry(started.item.clone()).or_default().push(check.clone());
                self.checks.insert(check.clone(), started);
            }
            Fact::StepObserved {
                check,
                step,
                seen,
                passed,
                instrument,
                uncertainty,
                note: remark,
                as_read,
            } => {
                let Some(check) = self.checks.get_mut(check) else { return };
                let steps = &check.procedure.steps;
                let here = steps.iter().position(|known| known.id == *step);
                check.next = match (here, passed) {
                    // A second observation that agrees leaves the check where it is.
                    (Some(here), true) => check.next.max(here + 1),
                    (Some(here), false) => {
                        let back_to = steps[here].back_to.as_deref();
                        steps
                            .iter()
                            .position(|known| Some(known.id.as_str()) == back_to)
                            .unwrap_or(here)
                    }
                    (None, _) => check.next,
                };
                check.observations.push(note.that(Observation {
                    step: step.clone(),
                    seen: seen.clone(),
                    passed: *passed,
                    instrument: instrument.clone(),
                    uncertainty: *uncertainty,
                    note: remark.clone(),
                    corrected: None,
                    as_read: as_read.clone(),
                }));
            }
            Fact::CheckEnded { check, passed, reason } => {
                let Some(check) = self.checks.get_mut(check) else { return };
                let end = note.that(CheckEnd { passed: *passed, reason: reason.clone() });
                let ends = self.ends_by_item.entry(check.item.clone()).or_default();
                if check.ended.replace(end).is_some() {
                    ends.retain(|(_, code)| *code != check.code);
                }
                ends.push((note.0.position, check.code.clone()));
            }
            _ => {}
        }
    }

    /// The procedure as it is known already, or from now on.
    fn shared(&mut self, procedure: &Procedure) -> Arc<Procedure> {
        let editions = self.followed.entry(procedure.id.clone()).or_default();
        if let Some(known) = editions.iter().rev().find(|known| ***known == *procedure) {
            return known.clone();
        }
        let new = Arc::new(procedure.clone());
        editions.push(new.clone());
        new
    }

    fn apply_sample(&mut self, note: &Noter<'_>) {
        let Fact::SampleReceived {
            sample,
            source,
            client,
            project,
            material,
            intended_use,
            nominal_maximum_mm,
            condition,
            limit_percent,
            limit_document,
            limit_method,
            received_on,
            reference,
            received_g,
            received_as_read,
            bags,
            sampled_by,
            client_address,
            client_reference,
            sampling_plan,
            sampled_on,
            delivered_by,
            place,
        } = &note.0.fact
        else {
            return;
        };
        self.count('S', note);
        let received = Sample {
            code: sample.clone(),
            source: source.clone(),
            client: client.clone(),
            project: project.clone(),
            material: material.clone(),
            intended_use: intended_use.clone(),
            nominal_maximum_mm: *nominal_maximum_mm,
            condition: condition.clone(),
            limit_percent: *limit_percent,
            limit_document: limit_document.clone(),
            limit_method: limit_method.clone(),
            received_on: *received_on,
            reference: *reference,
            received: note.that(()),
            corrections: Vec::new(),
            specimens: Vec::new(),
            sievings: Vec::new(),
            received_g: *received_g,
            received_as_read: received_as_read.clone(),
            bags: *bags,
            sampled_by: sampled_by.clone(),
            client_address: client_address.clone(),
            client_reference: client_reference.clone(),
            sampling_plan: sampling_plan.clone(),
            sampled_on: *sampled_on,
            delivered_by: delivered_by.clone(),
            place: place.clone(),
            custody: Vec::new(),
            outside: Vec::new(),
        };
        self.samples.insert(sample.clone(), received);
    }

    fn apply_sieving(&mut self, note: &Noter<'_>) {
        let Fact::SievingRecorded(SievingRecorded {
            sample,
            retained,
            pan_g,
            before_g,
            after_wash_g,
            received_g,
            as_read,
            definition,
            closing,
            nominal_maximum_mm,
            balance,
            reason,
            deviations,
        }) = &note.0.fact
        else {
            return;
        };
        let Some(sample) = self.samples.get_mut(sample) else { return };
        sample.sievings.push(note.that(Sieving {
            retained: retained.clone(),
            pan_g: *pan_g,
            before_g: *before_g,
            after_wash_g: *after_wash_g,
            received_g: *received_g,
            as_read: as_read.clone(),
            definition: *definition,
            closing: *closing,
            nominal_maximum_mm: *nominal_maximum_mm,
            balance: balance.clone(),
            reason: reason.clone(),
            deviations: note.each(deviations),
        }));
    }

    fn apply_custody(&mut self, note: &Noter<'_>) {
        let Fact::SampleHandedOver(handed) = &note.0.fact else { return };
        let SampleHandedOver { sample, step, to, place, condition, note: remark } = handed;
        if let Some(sample) = self.samples.get_mut(sample) {
            let custody = Custody {
                step: *step,
                from: sample.holder(),
                to: to.clone(),
                place: place.clone(),
                condition: condition.clone(),
                note: remark.clone(),
            };
            sample.custody.push(note.that(custody));
        }
    }

    fn apply_result(&mut self, note: &Noter<'_>) {
        match &note.0.fact {
            Fact::ResultWorkedOut {
                result,
                sample,
                specimens,
                loss_percent,
                properties,
                deviations,
            } => {
                self.count('L', note);
                for specimen in specimens {
                    self.result_by_specimen.insert(specimen.clone(), result.clone());
                }
                let method = specimens
                    .first()
                    .and_then(|specimen| self.specimens.get::<SpecimenCode>(specimen))
                    .map_or_else(|| MethodId::from(""), |specimen| specimen.method.clone());
                let version = ResultVersion {
                    loss_percent: *loss_percent,
                    properties: properties.clone(),
                    reason: String::new(),
                    release: None,
                };
                let worked_out = TestResult {
                    code: result.clone(),
                    sample: sample.clone(),
                    specimens: specimens.clone(),
                    method,
                    deviations: note.each(deviations),
                    versions: vec![note.that(version)],
                };
                self.results.insert(result.clone(), worked_out);
            }
            Fact::ResultRevised { result, loss_percent, properties, reason } => {
                if let Some(result) = self.results.get_mut(result) {
                    let version = ResultVersion {
                        loss_percent: *loss_percent,
                        properties: properties.clone(),
                        reason: reason.clone(),
                        release: None,
                    };
                    result.versions.push(note.that(version));
                }
            }
            Fact::ResultReleased { result, remark, external, judgement, deviations, .. } => {
                let version =
                    self.results.get_mut(result).and_then(|result| result.versions.last_mut());
                if let Some(version) = version {
                    version.value.release = Some(note.that(Release {
                        remark: remark.clone(),
                        external: external.clone(),
                        judgement: judgement.clone(),
                        deviations: note.each(deviations),
                    }));
                }
            }
            _ => {}
        }
    }

    fn apply_doubt(&mut self, note: &Noter<'_>) {
        match &note.0.fact {
            Fact::DoubtOpened { doubt, item, attribute, found, results, reason } => {
                self.count('D', note);
                let opened = Doubt {
                    code: doubt.clone(),
                    item: item.clone(),
                    attribute: attribute.clone(),
                    found: *found,
                    results: results.clone(),
                    opened: note.that(reason.clone()),
                    closed: BTreeMap::new(),
                };
                self.doubts.insert(doubt.clone(), opened);
            }
            Fact::DoubtClosed { doubt, result, reason } => {
                if let Some(doubt) = self.doubts.get_mut(doubt) {
                    doubt.closed.insert(result.clone(), note.that(reason.clone()));
                }
            }
            _ => {}
        }
    }

    /// Counts a code as used: one more of this letter in the year of the fact.
    fn count(&mut self, letter: char, note: &Noter<'_>) {
        let year = self.local(note.0.at).year();
        *self.numbers.entry(format!("{letter}{year}")).or_default() += 1;
    }

    /// The next number of this letter in the year of `at`.
    pub(crate) fn next_number(&self, letter: char, at: jiff::Timestamp) -> (i16, usize) {
        let year = self.local(at).year();
        let used = self.numbers.get(&format!("{letter}{year}")).copied().unwrap_or_default();
        (year, used + 1)
    }

    /// The item with this code.
    pub(crate) fn item(&self, code: &ItemCode) -> Option<&Item> {
        self.items.get(code)
    }
}

/// Adds to a list of which there are many and which mostly stay short: a list that grows by itself takes the
/// memory of four for its first.
fn keep<T>(list: &mut Vec<T>, value: T) {
    if list.len() == list.capacity() {
        list.reserve_exact((list.len() / 2).max(1));
    }
    list.push(value);
}

/// Marks values with the place, time and person of the fact at hand.
pub(super) struct Noter<'a>(&'a Recorded);

impl Noter<'_> {
    fn that<T>(&self, value: T) -> Noted<T> {
        Noted { value, at: self.0.at, by: self.0.by.clone(), position: self.0.position }
    }

    /// When it happened: when it was entered, where the entry waited on a tablet. A clock that is
    /// ahead of the laboratory's is not believed.
    fn happened(&self, made: Option<jiff::Timestamp>) -> jiff::Timestamp {
        made.map_or(self.0.at, |made| made.min(self.0.at))
    }

    /// Notes the use of items for a specimen.
    fn uses<const N: usize>(
        &self,
        uses: &mut BTreeMap<ItemCode, Vec<Use>>,
        items: [Option<&ItemCode>; N],
        specimen: &SpecimenCode,
    ) {
        for item in items.into_iter().flatten() {
            let one = Use { position: self.0.position, at: self.0.at, specimen: specimen.clone() };
            uses.entry(item.clone()).or_default().push(one);
        }
    }

    fn each(&self, deviations: &[Deviation]) -> Vec<Noted<Deviation>> {
        deviations.iter().cloned().map(|deviation| self.that(deviation)).collect()
    }
}
