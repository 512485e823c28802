//! `stonewear show`: what a laboratory holds, read while it is being served or not.

use super::readable::readable;
use crate::answer::{Answer, Failure};
use crate::arguments::Folder;
use jiff::Timestamp;
use serde::Serialize;
use serde_json::{Value, json};
use stonewear_lab::next::Next;
use stonewear_lab::{
    CheckCode, ItemCode, Lab, PersonCode, ResultCode, RunCode, SampleCode, SpecimenCode,
};
use stonewear_runtime::LaboratoryView;

/// Show what a laboratory holds, or one thing of it by its code.
#[derive(Debug, clap::Args)]
#[command(after_help = "\
Example:\n\
\x20 stonewear show\n\
\x20 stonewear show L26-001 --json")]
pub(crate) struct Show {
    #[command(flatten)]
    folder: Folder,
    /// The code of an item, check, sample, specimen, run, result or person.
    code: Option<String>,
}

pub(crate) fn run(show: &Show) -> Result<Answer, Failure> {
    let view = LaboratoryView::open(&show.folder.place()?)?;
    let lab = view.lab();
    match &show.code {
        None => Ok(overview(lab, view.now())),
        Some(code) => one(lab, &code.trim().to_uppercase())
            .map(|value| Answer::new(readable(&value), value))
            .ok_or_else(|| super::unknown("nothing here has the code", code.trim(), codes(lab))),
    }
}

fn overview(lab: &Lab, at: Timestamp) -> Answer {
    let name =
        lab.identity.as_ref().map_or("nobody has founded it", |identity| identity.name.as_str());
    let released = lab.results.values().filter(|result| result.release().is_some()).count();
    let counts = [
        counted(lab.people.len(), "person", "people"),
        counted(lab.items.len(), "item", "items"),
        counted(lab.methods.len(), "method in use", "methods in use"),
        counted(lab.checks.len(), "check", "checks"),
        counted(lab.samples.len(), "sample", "samples"),
        counted(lab.runs.len(), "run", "runs"),
        counted(lab.results.len(), "result", "results"),
    ];
    let mut text = format!(
        "{name}: {}, {released} released ({} in the journal)\n",
        counts.join(", "),
        counted(usize::try_from(lab.position).unwrap_or(usize::MAX), "fact", "facts"),
    );
    for item in lab.items.values() {
        text.push_str(&format!(
            "{:16} {:12} {}, {}\n",
            item.code.as_str(),
            item.kind.in_words(),
            item.name,
            item.standing().in_words()
        ));
    }
    let next = lab.asked(at);
    for waits in &next {
        let (what, whom) = (in_words(&waits.next), waits.in_words());
        text.push_str(&format!("next: {what} (asked of {whom})\n"));
    }
    let results: Vec<Value> = lab
        .results
        .values()
        .map(|result| {
            json!({
                "result": result.code,
                "sample": result.sample,
                "method": result.method,
                "loss_percent": result.current().and_then(|version| version.value.loss_percent).map(|loss| loss.to_string()),
                "properties": result.current().map(|version| &version.value.properties),
                "released_by": result.release().map(|release| release.by.clone()),
            })
        })
        .collect();
    let json = json!({
        "name": name,
        "facts": lab.position,
        "people": lab.people.keys().collect::<Vec<_>>(),
        "items": lab.items.values().map(|item| json!({ "item": item.code, "kind": item.kind, "standing": item.standing() })).collect::<Vec<_>>(),
        "samples": lab.samples.keys().collect::<Vec<_>>(),
        "results": results,
        "next": next,
    });
    Answer::new(text, json)
}

fn counted(count: usize, one: &str, more: &str) -> String {
    format!("{count} {}", if count == 1 { one } else { more })
}

/// What waits to be done, with the command that does it.
fn in_words(next: &Next) -> String {
    match next {
        Next::Release { result } => format!("release {result}"),
        Next::StopRun { run } => format!("run stop {run}, when it has ended"),
        Next::WeighAfter { specimen } => format!("weigh after {specimen}"),
        Next::StartRun { specimen } => format!("run start, with {specimen}"),
        Next::WeighBefore { specimen } => format!("weigh before {specimen}"),
        Next::TakeReading { specimen, reading } => format!("reading {specimen} {reading}"),
        Next::MakeUp { specimen } => format!("specimen make-up {specimen}"),
        Next::BeginSpecimen { sample } => format!("specimen begin {sample}"),
        Next::GoOn { check } => format!("check show {check}"),
        Next::Prove { item } => format!("check start {item}"),
    }
}

/// Every code that [`one`] finds.
pub(super) fn codes(lab: &Lab) -> Vec<&str> {
    let items = lab.items.keys().map(ItemCode::as_str);
    items
        .chain(lab.checks.keys().map(CheckCode::as_str))
        .chain(lab.samples.keys().map(SampleCode::as_str))
        .chain(lab.specimens.keys().map(SpecimenCode::as_str))
        .chain(lab.runs.keys().map(RunCode::as_str))
        .chain(lab.people.keys().map(PersonCode::as_str))
        .chain(lab.results.keys().map(ResultCode::as_str))
        .collect()
}

/// Whatever has this code.
fn one(lab: &Lab, code: &str) -> Option<Value> {
    let found = [
        lab.items.get(code).map(|item| with(item, "standing", &item.standing())),
        lab.checks.get(code).map(serde_json::to_value),
        lab.samples.get(code).map(|sample| {
            let specimens = lab.specimens_of(&sample.code).map(|specimen| &specimen.code);
            with(sample, "specimens", &specimens.collect::<Vec<_>>())
        }),
        lab.specimens.get(code).map(serde_json::to_value),
        lab.runs.get(code).map(serde_json::to_value),
        lab.people.get(code).map(serde_json::to_value),
        lab.results.get(code).map(|result| {
            let mut value = serde_json::to_value(result)?;
            if let (Some(fields), Ok(worked)) = (value.as_object_mut(), lab.outcome_of(result)) {
                let lines: Vec<&String> = worked.iter().flat_map(|one| &one.lines).collect();
                fields.insert("worked".to_owned(), json!(lines));
                fields.insert("evidence".to_owned(), serde_json::to_value(lab.evidence(result))?);
            }
            Ok(value)
        }),
    ];
    let mut thing = found.into_iter().flatten().find_map(Result::ok)?;
    let files = lab.attachments_of(code);
    if let (false, Some(fields)) = (files.is_empty(), thing.as_object_mut()) {
        fields.insert("files".to_owned(), serde_json::to_value(files).ok()?);
    }
    Some(thing)
}

/// Something of the laboratory with one more field, worked out from the rest.
fn with(thing: &impl Serialize, name: &str, value: &impl Serialize) -> serde_json::Result<Value> {
    let mut thing = serde_json::to_value(thing)?;
    thing[name] = serde_json::to_value(value)?;
    Ok(thing)
}
