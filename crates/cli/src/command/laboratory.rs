//! `stonewear show`: what a laboratory holds, read while it is being served or not.

use crate::answer::{Answer, Failure};
use crate::arguments::Folder;
use serde_json::{Value, json};
use stonewear_lab::Lab;
use stonewear_runtime::LaboratoryView;

/// Show what a laboratory holds, or one thing of it by its code.
#[derive(Debug, clap::Args)]
pub(crate) struct Show {
    #[command(flatten)]
    folder: Folder,
    /// The code of an item, check, sample, specimen, run, result or person.
    code: Option<String>,
}

pub(crate) fn run(show: &Show) -> Result<Answer, Failure> {
    let view = LaboratoryView::open(&show.folder.dir).map_err(Failure::surroundings)?;
    match &show.code {
        None => Ok(overview(view.lab())),
        Some(code) => one(view.lab(), &code.trim().to_uppercase())
            .map(|value| Answer::new(format!("{value:#}"), value))
            .ok_or_else(|| {
                Failure::WrongInput(format!("nothing here has the code “{}”", code.trim()))
            }),
    }
}

fn overview(lab: &Lab) -> Answer {
    let name =
        lab.identity.as_ref().map_or("nobody has founded it", |identity| identity.name.as_str());
    let released = lab.results.values().filter(|result| result.release().is_some()).count();
    let text = format!(
        "{name}: {} facts, {} people, {} items, {} methods in use, {} checks, {} samples, {} runs, {} results ({released} released)",
        lab.position,
        lab.people.len(),
        lab.items.len(),
        lab.methods.len(),
        lab.checks.len(),
        lab.samples.len(),
        lab.runs.len(),
        lab.results.len(),
    );
    let results: Vec<Value> = lab
        .results
        .values()
        .map(|result| {
            json!({
                "result": result.code,
                "sample": result.sample,
                "method": result.method,
                "loss_percent": result.current().map(|version| version.value.loss_percent.to_string()),
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
    });
    Answer::new(text, json)
}

/// Whatever has this code.
fn one(lab: &Lab, code: &str) -> Option<Value> {
    let found = [
        lab.items.get(code).map(serde_json::to_value),
        lab.checks.get(code).map(serde_json::to_value),
        lab.samples.get(code).map(serde_json::to_value),
        lab.specimens.get(code).map(serde_json::to_value),
        lab.runs.get(code).map(serde_json::to_value),
        lab.people.get(code).map(serde_json::to_value),
        lab.results.get(code).map(|result| {
            let mut value = serde_json::to_value(result)?;
            if let (Some(fields), Ok(loss)) = (value.as_object_mut(), lab.loss_of(result)) {
                fields.insert("worked".to_owned(), json!(loss.worked()));
                fields.insert("evidence".to_owned(), serde_json::to_value(lab.evidence(result))?);
            }
            Ok(value)
        }),
    ];
    found.into_iter().flatten().find_map(Result::ok)
}
