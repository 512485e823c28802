//! `stonewear ready`: may I test now?

use crate::answer::{Answer, Failure};
use crate::arguments::Folder;
use serde_json::json;
use stonewear_lab::ready::Readiness;
use stonewear_runtime::LaboratoryView;

/// Say for each apparatus and method whether it can be tested now, until when, or what is missing.
/// Exit status 1 when something is not ready.
#[derive(Debug, clap::Args)]
#[command(after_help = "\
Example:\n\
\x20 stonewear ready --dir demo-laboratory --apparatus MILL-1")]
pub(crate) struct Ready {
    #[command(flatten)]
    folder: Folder,
    /// Only this apparatus.
    #[arg(long, value_name = "ITEM")]
    apparatus: Option<String>,
    /// Only this method.
    #[arg(long, value_name = "METHOD")]
    method: Option<String>,
}

pub(crate) fn run(ready: &Ready) -> Result<Answer, Failure> {
    let view = LaboratoryView::open(&ready.folder.place()?).map_err(Failure::surroundings)?;
    let wanted = |one: &Readiness| {
        let apparatus = ready.apparatus.as_deref().map(str::to_uppercase);
        apparatus.is_none_or(|code| one.apparatus.as_str() == code)
            && ready.method.as_deref().is_none_or(|method| one.method.answers_to(method))
    };
    let all: Vec<Readiness> = view.lab().readiness(view.now()).into_iter().filter(wanted).collect();
    if all.is_empty() {
        return Err(Failure::WrongInput(
            "there is no such apparatus, or no such method in use; `stonewear show` lists both"
                .to_owned(),
        ));
    }
    let mut text = String::new();
    for one in &all {
        let until = one.until.map(|until| format!(" until {}", view.lab().local(until).date()));
        let state = if one.ready { "ready" } else { "not ready" };
        let until = until.filter(|_| one.ready).unwrap_or_default();
        text.push_str(&format!("{} by {}: {state}{until}\n", one.apparatus, one.method));
        for lack in &one.lacks {
            text.push_str(&format!("  {}: {}; {}\n", lack.what, lack.why, lack.mend));
        }
        for soon in &one.warnings {
            text.push_str(&format!("  soon: {}: {}; {}\n", soon.what, soon.why, soon.mend));
        }
    }
    let is_no = all.iter().any(|one| !one.ready);
    Ok(Answer { text, json: json!({ "at": view.now(), "readiness": all }), is_no })
}
