//! What every command that changes a laboratory does: open it, ask, say what happened.

use crate::answer::{Answer, Failure};
use crate::arguments::Asking;
use serde_json::json;
use stonewear_lab::{Fact, Request};
use stonewear_runtime::{OpenLaboratory, SubmitError};

/// Opens the laboratory for work and asks it for something.
pub(crate) fn ask(asking: &Asking, request: impl Into<Request>) -> Result<Answer, Failure> {
    let mut laboratory = OpenLaboratory::open(&asking.folder.dir).map_err(Failure::surroundings)?;
    let receipt = laboratory
        .submit(&asking.by.trim().to_uppercase(), None, &request.into())
        .map_err(failure)?;
    let said = receipt.facts.iter().map(in_words).collect::<Vec<_>>().join("\n");
    Ok(Answer::new(
        said,
        json!({
            "facts": receipt.facts,
            "positions": receipt.positions,
            "head": receipt.head,
        }),
    ))
}

fn failure(error: SubmitError) -> Failure {
    match error {
        SubmitError::Refused(refusal) => refusal.into(),
        other => Failure::surroundings(other),
    }
}

/// A fact in a short sentence.
fn in_words(fact: &Fact) -> String {
    match fact {
        Fact::LaboratoryFounded { name, .. } => format!("founded {name}"),
        Fact::PersonAdded { person, name, .. } => format!("added {person}, {name}"),
        Fact::RightsSet { person, .. } => format!("changed the rights of {person}"),
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
        Fact::StepObserved { step, passed, .. } => {
            format!("{step}: {}", if *passed { "as it must be" } else { "not as it must be" })
        }
        Fact::CheckEnded { check, passed, .. } => {
            format!("{check} {}", if *passed { "passed" } else { "not passed" })
        }
        Fact::StandingChanged { item, standing, .. } => {
            format!("{item} is {}", standing.in_words())
        }
        Fact::SampleReceived { sample, .. } => format!("received {sample}"),
        Fact::SpecimenBegun { specimen, .. } => format!("began {specimen}"),
        Fact::MassWeighed { specimen, mass_g, .. } => format!("{specimen}: {mass_g} g"),
        Fact::RunStarted { run, revolutions_wanted, .. } => {
            format!("started {run}, to {revolutions_wanted} revolutions")
        }
        Fact::RunStopped { run, .. } => format!("{run} has ended"),
        Fact::ResultWorkedOut { result, loss_percent, .. } => {
            format!("{result}: loss {loss_percent} %")
        }
        Fact::ResultRevised { result, loss_percent, .. } => {
            format!("{result} worked out again: loss {loss_percent} %")
        }
        Fact::ResultReleased { result, loss_percent, .. } => {
            format!("{result} released: loss {loss_percent} %")
        }
    }
}
