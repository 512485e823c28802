//! `stonewear doubt`: this check failed; which results are in doubt, and by how much?

use super::asking::ask;
use crate::answer::{Answer, Failure};
use crate::arguments::Asking;
use jiff::civil::Date;
use serde_json::json;
use stonewear_lab::ItemCode;
use stonewear_lab::doubt::{DoubtAnswer, Effect, meaning_of_found};
use stonewear_lab::request::{CloseDoubt, OpenDoubt};
use stonewear_measure::read;
use stonewear_runtime::LaboratoryView;

/// List every result that stands on an attribute of an item since it was last proved, and how much
/// each can be wrong. With --open the results are marked until a person closes each with
/// `stonewear close-doubt`.
#[derive(Debug, clap::Args)]
#[command(after_help = "\
Example:\n\
\x20 stonewear doubt BAL-1 indication --found 1.5 --dir demo-laboratory")]
pub(crate) struct Doubt {
    #[command(flatten)]
    asking: Asking,
    /// The item.
    item: String,
    /// What of it, in the words of its procedures: indication, timer, counter, speed, mass, …
    attribute: String,
    /// The value as found. Balance: grams too much. Timer: percent slow. Counter: percent too few.
    /// Speed: revolutions per minute.
    #[arg(long, value_name = "VALUE", allow_negative_numbers = true)]
    found: Option<String>,
    /// Since this day, YYYY-MM-DD, instead of since the last proof.
    #[arg(long, value_name = "DAY")]
    since: Option<String>,
    /// Mark the results, for this reason.
    #[arg(long, value_name = "REASON")]
    open: Option<String>,
}

/// Close a doubt for one result, with what was decided and why.
#[derive(Debug, clap::Args)]
#[command(after_help = "\
Example:\n\
\x20 stonewear close-doubt D26-001 L26-027 --by TR --reason 'less than a digit'")]
pub(crate) struct Close {
    #[command(flatten)]
    asking: Asking,
    /// The doubt.
    doubt: String,
    /// The result.
    result: String,
    /// What was decided, and why.
    #[arg(long)]
    reason: String,
}

pub(crate) fn close(close: Close) -> Result<Answer, Failure> {
    let Close { asking, doubt, result, reason } = close;
    ask(&asking, CloseDoubt { doubt, result, reason })
}

pub(crate) fn run(doubt: Doubt) -> Result<Answer, Failure> {
    if let Some(reason) = doubt.open {
        return ask(
            &doubt.asking,
            OpenDoubt {
                item: doubt.item,
                attribute: doubt.attribute,
                found: doubt.found.unwrap_or_default(),
                since: doubt.since.unwrap_or_default(),
                reason,
            },
        );
    }
    let view =
        LaboratoryView::open(&doubt.asking.folder.place()?).map_err(Failure::surroundings)?;
    let lab = view.lab();
    let found = match &doubt.found {
        None => None,
        Some(typed) => {
            Some(read(typed).map_err(|error| Failure::WrongInput(format!("--found: {error}")))?)
        }
    };
    let since = match &doubt.since {
        None => None,
        Some(typed) => {
            let zone = lab.local(view.now()).time_zone().clone();
            let day = typed.parse::<Date>().ok().and_then(|day| day.to_zoned_datetime(zone).ok());
            let day = day.ok_or_else(|| {
                Failure::WrongInput(format!(
                    "--since: “{typed}” is not a day; write it like 2026-03-18"
                ))
            })?;
            Some(day.timestamp())
        }
    };
    let code = ItemCode::from(doubt.item.trim().to_uppercase());
    let Some(item) = lab.items.get(&code) else {
        return Err(Failure::WrongInput(format!("there is no item “{}”", doubt.item.trim())));
    };
    let attribute = doubt.attribute.trim();
    let procedures = stonewear_procedure::built_in_procedures();
    let known = stonewear_lab::decide::items::attributes_of(&procedures, item);
    if !known.iter().any(|one| one == attribute) {
        return Err(Failure::WrongInput(format!(
            "no check proves “{attribute}” of {code}; known: {}",
            stonewear_lab::words::listed(known)
        )));
    }
    let Some(answer) = lab.doubt(&code, attribute, found, since) else {
        return Err(Failure::WrongInput(format!("there is no item “{code}”")));
    };
    let mut text = said(&answer, |at| lab.local(at).date().to_string());
    text.push_str(&format!("--found means: {}\n", meaning_of_found(item.kind, attribute)));
    let mut json = json!(answer);
    json["found"] = json!(found.map(|found| found.to_string()));
    json["found_means"] = json!(meaning_of_found(item.kind, attribute));
    Ok(Answer::new(text, json))
}

fn said(answer: &DoubtAnswer, day: impl Fn(jiff::Timestamp) -> String) -> String {
    let since = match (&answer.last_proof, answer.since) {
        (Some(check), Some(since)) => format!("since {} ({check})", day(since)),
        (None, Some(since)) => format!("since {}", day(since)),
        _ => "since ever: it was never proved".to_owned(),
    };
    let mut text = format!(
        "{} of {}, {since}: {}\n",
        answer.attribute,
        answer.item,
        stonewear_lab::words::counted(answer.results.len(), "result")
    );
    for one in &answer.results {
        let effect = match &one.effect {
            Effect::Moves { would_be_percent, basis, .. } => {
                format!("would be {would_be_percent} % ({basis})")
            }
            Effect::Untouched { why } => format!("untouched: {why}"),
            Effect::NotKnown { why } => format!("effect not known: {why}"),
        };
        let flips = match one.decision_flips {
            Some(true) => "; THE DECISION WOULD BE THE OTHER ONE",
            Some(false) => "; the decision stays",
            None => "",
        };
        let released = if one.released { "" } else { ", not released" };
        text.push_str(&format!(
            "  {} ({}, used {}{released}): {}, {effect}{flips}\n",
            one.result,
            one.sample,
            day(one.used_at),
            one.reported
        ));
    }
    text
}
