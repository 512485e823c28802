//! What every command that changes a laboratory does: open it, ask, say what happened.

use super::field::as_argument;
use super::round_words;
use crate::answer::{Answer, Failure};
use crate::arguments::Asking;
use serde_json::json;
use stonewear_lab::fact::{
    DryingWeighed, FileAttached, PropertyValue, ReadingTaken, SampleHandedOver,
    SensitivityRecorded, SievingRecorded, Stage,
};
use stonewear_lab::state::{CheckState, Specimen};
use stonewear_lab::{Fact, Lab, Refusal, Request, SpecimenCode};
use stonewear_measure::Decimal;
use stonewear_measure::balance::shown;
use stonewear_runtime::{OpenError, OpenLaboratory, Receipt, SubmitError};

/// Opens the laboratory for work and asks it for something.
pub(crate) fn ask(asking: &Asking, request: impl Into<Request>) -> Result<Answer, Failure> {
    let request = request.into();
    // Only founding makes a folder: a mistyped one must not become an empty laboratory.
    let (mut laboratory, by) = if matches!(request, Request::FoundLaboratory(_)) {
        (OpenLaboratory::open(&asking.folder.place()?)?, asking.by.trim().to_uppercase())
    } else {
        open(asking)?
    };
    let receipt = laboratory.submit(&by, None, &request);
    answered(laboratory.lab(), &request.name(), receipt)
}

/// Opens a laboratory that is there for work, and says who asks.
pub(super) fn open(asking: &Asking) -> Result<(OpenLaboratory, String), Failure> {
    let (dir, place) = (&asking.folder.dir, asking.folder.place()?);
    if place.database().is_none() && !dir.is_dir() {
        return Err(OpenError::NotThere(dir.clone()).into());
    }
    Ok((OpenLaboratory::open(&place)?, asking.by.trim().to_uppercase()))
}

/// What became of the request with this name, in words and for programs.
pub(super) fn answered(
    lab: &Lab,
    request: &str,
    receipt: Result<Receipt, SubmitError>,
) -> Result<Answer, Failure> {
    let receipt = receipt.map_err(|error| match error {
        SubmitError::Refused(refusal) => in_arguments(request, refusal).into(),
        other => Failure::surroundings(other),
    })?;
    let said: Vec<String> = receipt.facts.iter().map(|fact| in_words(lab, fact)).collect();
    Ok(Answer::new(
        said.join("\n"),
        json!({
            "facts": receipt.facts,
            "positions": receipt.positions,
            "head": receipt.head,
        }),
    ))
}

/// The refusal with the arguments of the command in place of the fields of the request.
fn in_arguments(request: &str, mut refusal: Refusal) -> Refusal {
    for problem in &mut refusal.problems {
        problem.field = as_argument(request, &problem.field);
    }
    refusal
}

/// A fact in a short sentence.
fn in_words(lab: &Lab, fact: &Fact) -> String {
    match fact {
        Fact::LaboratoryFounded { name, .. } => format!("founded {name}"),
        Fact::PersonAdded { person, name, .. } => format!("added {person}, {name}"),
        Fact::RightsSet { person, .. } => format!("changed the rights of {person}"),
        Fact::AuthorisationGranted(_)
        | Fact::AuthorisationChanged(_)
        | Fact::SupervisionBegun(_) => super::authorisation::in_words(fact),
        Fact::MethodAdopted { method } => format!("took {} into use", method.key()),
        Fact::FigureConfirmed { method, figure, value, .. } => match value {
            Some(value) => format!("corrected {figure} of {method} to {value}"),
            None => format!("confirmed {figure} of {method}"),
        },
        Fact::ItemRegistered { item, item_kind, .. } => {
            format!("registered the {} {item}", item_kind.in_words())
        }
        Fact::CheckStarted { check, item, procedure } => {
            let first = procedure.steps.first();
            let next = first
                .map_or(String::new(), |step| format!("; first step {}: {}", step.id, step.title));
            format!("began {check}, {} of {item}{next}", procedure.title)
        }
        Fact::StepObserved { check, step, passed, .. } => {
            let check = lab.checks.get(check);
            let verdict = match check.and_then(|check| check.procedure.step(step)) {
                Some(step) if !passed => format!("not as it must be. {}", step.on_failure),
                _ => "as it must be".to_owned(),
            };
            match check.map(|check| check.state()) {
                Some(CheckState::At(next)) => {
                    format!("{step}: {verdict}\nnext is {}: {}", next.id, next.title)
                }
                _ => format!("{step}: {verdict}"),
            }
        }
        Fact::CheckEnded { check, passed, .. } => {
            format!("{check} {}", if *passed { "passed" } else { "not passed" })
        }
        Fact::StandingChanged { item, standing, .. } => {
            format!("{item} is {}", standing.in_words())
        }
        Fact::SampleReceived { sample, .. } => format!("received {sample}"),
        Fact::SampleHandedOver(SampleHandedOver { sample, step, to, place, .. }) => {
            let to = to.as_ref().map_or(String::new(), |to| format!(" to {to}"));
            let place = if place.is_empty() { String::new() } else { format!(", {place}") };
            format!("{sample} {}{to}{place}", step.in_words())
        }
        Fact::SievingRulesSet { definition, closing, .. } => {
            format!(
                "the nominal maximum size is {}; closing check by {closing}",
                definition.in_words()
            )
        }
        Fact::SievingRecorded(SievingRecorded {
            sample, nominal_maximum_mm, definition, ..
        }) => match nominal_maximum_mm {
            Some(mm) => format!("{sample}: nominal maximum size {mm} mm ({definition})"),
            None => format!("{sample}: the sieves give no nominal maximum size ({definition})"),
        },
        Fact::SpecimenBegun { specimen, grading, grading_reason, .. } => {
            let why = if grading_reason.is_empty() {
                String::new()
            } else {
                format!(", grading {grading}: {grading_reason}")
            };
            format!("began {specimen}{why}")
        }
        Fact::MassWeighed { specimen, mass_g, as_read, .. } => {
            let read =
                if as_read.is_empty() { String::new() } else { format!(" (read as {as_read})") };
            format!("{specimen}: {} g{read}", shown(*mass_g))
        }
        Fact::RunStarted { run, revolutions_wanted, .. } => {
            format!("started {run}, to {revolutions_wanted} revolutions")
        }
        Fact::RunStopped { run, .. } => format!("{run} has ended"),
        Fact::ReadingTaken(ReadingTaken {
            specimen, reading, fraction, value, as_read, ..
        }) => {
            let key = Specimen::reading_key(reading, *fraction);
            let read =
                if as_read.is_empty() { String::new() } else { format!(" (read as {as_read})") };
            format!("{specimen}: {key} is {value}{read}")
        }
        Fact::ResultWorkedOut { result, loss_percent, properties, .. } => {
            format!("{result}: {}", found(*loss_percent, properties))
        }
        Fact::ResultRevised { result, loss_percent, properties, .. } => {
            format!("{result} worked out again: {}", found(*loss_percent, properties))
        }
        Fact::IntervalSet { procedure, months, .. } => {
            format!("a pass of {procedure} is good for {months} months")
        }
        Fact::DoubtOpened { doubt, results, .. } => {
            format!("opened {doubt}; results in doubt: {}", results.len())
        }
        Fact::DoubtClosed { doubt, result, .. } => format!("closed {doubt} for {result}"),
        Fact::FileAttached(FileAttached { to, step, name, sha256, .. }) => {
            let step = step.as_ref().map_or(String::new(), |step| format!(", step {step}"));
            format!("attached “{name}” to {to}{step}: SHA-256 {sha256}")
        }
        Fact::ItemCorrected { item, .. } => format!("corrected how {item} is described"),
        Fact::ObservationCorrected { check, step, passed, .. } => {
            let verdict = if *passed { "as it must be" } else { "not as it must be" };
            format!("corrected {step} of {check}: {verdict}")
        }
        Fact::SampleCorrected { sample, .. } => format!("corrected {sample}"),
        Fact::RunCorrected { run, placed, .. } => {
            format!("corrected {run} for {}", placed.specimen)
        }
        Fact::DryingWeighed(DryingWeighed { specimen, stage, mass_g, .. }) => {
            format!("{specimen}: {mass_g} g; {}", constancy(lab, specimen, *stage))
        }
        Fact::SoakStarted { specimen, .. } => format!("{specimen} lies in its water"),
        Fact::RunInterrupted { run, .. } => format!("{run} is interrupted"),
        Fact::RunResumed { run, .. } => format!("{run} goes on"),
        Fact::SensitivityRecorded(SensitivityRecorded {
            condition,
            method,
            percent_of_loss,
            ..
        }) => {
            format!("{method}: {percent_of_loss} % of the loss {}", condition.per())
        }
        Fact::ResultReleased { result, loss_percent, properties, judgement, .. } => {
            let verdict = judgement.as_ref().map_or(String::new(), |judgement| {
                format!(", {}: {}", judgement.verdict.in_words(), judgement.requirement())
            });
            let found = found(*loss_percent, properties);
            format!("{result} released: {found}{verdict}")
        }
        Fact::PolicySet { policy, value, .. } => {
            format!("{policy} is {value} from now on: {}", policy.in_words(value))
        }
        Fact::Paper(fact) => super::paper::in_words(fact),
        Fact::Round(fact) => round_words::of_round(fact),
        Fact::Proficiency(fact) => round_words::of_proficiency(lab, fact),
        Fact::ChargeChanged(_)
        | Fact::ExperimentPlanned(_)
        | Fact::ExperimentAssigned(_)
        | Fact::ExperimentRunLeftOut(_)
        | Fact::ExperimentImported(_) => super::experiment::in_words(fact).unwrap_or_default(),
        Fact::FileImported(_) | Fact::PastTestsImported(_) | Fact::PastSievingsImported(_) => {
            super::import::in_words(fact)
        }
        Fact::OutsideResultRecorded(found) => {
            format!("{} found {} % of {}", found.laboratory, found.loss_percent, found.sample)
        }
        Fact::StudyPlanned(_)
        | Fact::StudyRunAssigned(_)
        | Fact::StudyValuesImported(_)
        | Fact::StudyConcluded(_) => super::study::in_words(fact).unwrap_or_default(),
        Fact::LotRegistered(_)
        | Fact::SampleLinked(_)
        | Fact::StockCounted(_)
        | Fact::ReferenceImported(_)
        | Fact::BaselineFrozen(_)
        | Fact::LotTakenOver(_)
        | Fact::EventNoted(_)
        | Fact::InvestigationOpened(_)
        | Fact::FindingRecorded(_)
        | Fact::InvestigationClosed(_) => super::control_words::in_words(fact),
    }
}

/// What a result gives, in words.
fn found(loss_percent: Option<Decimal>, properties: &[PropertyValue]) -> String {
    let words = stonewear_lab::state::in_words(loss_percent, properties);
    if loss_percent.is_some() { format!("loss {words}") } else { words }
}

/// Whether a drying specimen has come to constant mass, in words.
fn constancy(lab: &Lab, specimen: &SpecimenCode, stage: Stage) -> String {
    let verdict = lab.specimens.get(specimen).and_then(|specimen| lab.constancy(specimen, stage));
    verdict.map_or_else(String::new, |verdict| verdict.to_string())
}
