//! `stonewear due`: everything that falls due, what is most urgent first.

use crate::answer::{Answer, Failure};
use crate::arguments::Folder;
use jiff::civil::Date;
use serde_json::{Value, json};
use std::path::PathBuf;
use stonewear_lab::due::{Due, Sure, Urgency, Wanted, calendar};
use stonewear_lab::{ItemCode, PersonCode};
use stonewear_runtime::LaboratoryView;

/// List everything that falls due: checks, reference runs, charges, lots, authorisations, doubts,
/// investigations, rounds, scores. With --strict, exit status 1 when something is overdue.
#[derive(Debug, clap::Args)]
#[command(
    name = "due",
    after_help = "\
Example:\n\
\x20 stonewear due --dir demo-laboratory --until 2026-12-31 --ics due.ics"
)]
pub(crate) struct DueList {
    #[command(flatten)]
    folder: Folder,
    /// Only up to this day; what has no day is listed all the same.
    #[arg(long, value_name = "DATE")]
    until: Option<String>,
    /// Only what this person can do, or what is about them.
    #[arg(long, value_name = "CODE")]
    person: Option<String>,
    /// Only what is about this item.
    #[arg(long, value_name = "ITEM")]
    item: Option<String>,
    /// Exit status 1 when something is overdue.
    #[arg(long)]
    strict: bool,
    /// Write a calendar (iCalendar, RFC 5545) to this file.
    #[arg(long, value_name = "FILE")]
    ics: Option<PathBuf>,
}

pub(crate) fn run(list: &DueList) -> Result<Answer, Failure> {
    let until = list.until.as_deref().map(|typed| {
        typed.trim().parse::<Date>().map_err(|_| {
            Failure::WrongInput(format!("--until “{typed}” is no day; write it like 2026-12-31"))
        })
    });
    let until = until.transpose()?;
    let view = LaboratoryView::open(&list.folder.dir)?;
    let (lab, now) = (view.lab(), view.now());
    let person = list.person.as_deref().map(|code| code.trim().to_uppercase());
    if let Some(code) = person.as_deref().filter(|code| !lab.people.contains_key(*code)) {
        let known = lab.people.keys().map(PersonCode::as_str);
        return Err(super::unknown("nobody here has the initials", code, known));
    }
    let item = list.item.as_deref().map(|code| code.trim().to_uppercase());
    if let Some(code) = item.as_deref().filter(|code| !lab.items.contains_key(*code)) {
        let known = lab.items.keys().map(ItemCode::as_str);
        return Err(super::unknown("there is no item", code, known));
    }
    let wanted = Wanted {
        person: person.as_deref().map(PersonCode::from),
        item: item.as_deref().map(ItemCode::from),
        until,
        ..Wanted::default()
    };
    let all = lab.due(now, &wanted);
    if let Some(file) = &list.ics {
        std::fs::write(file, calendar(lab, &all, "")).map_err(|error| {
            Failure::Surroundings(format!("{} cannot be written: {error}", file.display()))
        })?;
    }
    let mut text = String::new();
    for due in &all {
        let urgency = due.urgency(lab, now).in_words();
        let forecast = match &due.sure {
            Sure::Certain => String::new(),
            Sure::Forecast { basis } => format!("; forecast {basis}"),
        };
        let when = due.when_in_words(lab);
        text.push_str(&format!("{urgency}: {}\n  {when}; {}{forecast}\n", due.what, due.why));
    }
    if all.is_empty() {
        text.push_str("nothing falls due\n");
    }
    let overdue = all.iter().any(|due| due.urgency(lab, now) == Urgency::Overdue);
    let listed: Vec<Value> = all.iter().map(|due| entry(due, due.urgency(lab, now))).collect();
    Ok(Answer { text, json: json!({ "at": now, "due": listed }), is_no: list.strict && overdue })
}

fn entry(due: &Due, urgency: Urgency) -> Value {
    let mut value = json!(due);
    value["urgency"] = json!(urgency);
    value
}
