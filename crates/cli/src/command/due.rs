//! `stonewear due`: what falls due, as a list and as a calendar.

use crate::answer::{Answer, Failure};
use crate::arguments::Folder;
use jiff::civil::Date;
use serde_json::json;
use std::path::PathBuf;
use stonewear_lab::due::{Urgency, Wanted, calendar};
use stonewear_runtime::LaboratoryView;

/// List what falls due, the most urgent first; or write it as a calendar (iCalendar, RFC 5545).
#[derive(Debug, clap::Args)]
#[command(after_help = "\
Example:\n\
\x20 stonewear due --until 2026-12-31 --strict\n\
\x20 stonewear due --ics due.ics --base http://bench:7007")]
pub(crate) struct Due {
    #[command(flatten)]
    folder: Folder,
    /// Only up to this day, YYYY-MM-DD; what waits now, and what has no day, is always listed.
    #[arg(long, value_name = "DAY")]
    until: Option<Date>,
    /// Only what this person can do, or what is about them.
    #[arg(long, value_name = "CODE")]
    person: Option<String>,
    /// Only what is about this item.
    #[arg(long, value_name = "ITEM")]
    item: Option<String>,
    /// Exit status 1 when something is overdue.
    #[arg(long)]
    strict: bool,
    /// Write a calendar to this file.
    #[arg(long, value_name = "FILE")]
    ics: Option<PathBuf>,
    /// Address of the laboratory's page, like http://bench:7007, for the links of the calendar.
    #[arg(long, value_name = "URL", default_value = "")]
    base: String,
}

pub(crate) fn run(due: &Due) -> Result<Answer, Failure> {
    let view = LaboratoryView::open(&due.folder.place()?)?;
    let (lab, now) = (view.lab(), view.now());
    let person = due.person.as_deref().map(|typed| typed.trim().to_uppercase());
    if let Some(code) = person.as_deref().filter(|code| !lab.people.contains_key(*code)) {
        let codes = lab.people.keys().map(stonewear_lab::PersonCode::as_str);
        return Err(super::unknown("nobody here has the initials", code, codes));
    }
    let item = due.item.as_deref().map(|typed| typed.trim().to_uppercase());
    if let Some(code) = item.as_deref().filter(|code| !lab.items.contains_key(*code)) {
        let codes = lab.items.keys().map(stonewear_lab::ItemCode::as_str);
        return Err(super::unknown("there is no item", code, codes));
    }
    let wanted = Wanted {
        person: person.as_deref().map(Into::into),
        right: None,
        item: item.as_deref().map(Into::into),
        until: due.until,
    };
    let all = lab.due(now, &wanted);
    let mut text = String::new();
    let mut listed = Vec::new();
    for one in &all {
        let urgency = one.urgency(lab, now);
        let mark = if urgency == Urgency::Overdue { "OVERDUE " } else { "" };
        text.push_str(&format!(
            "{mark}{}  {}\n    {}; {}\n",
            one.when_in_words(lab),
            one.what,
            one.why,
            one.path
        ));
        listed.push(json!({ "due": one, "day": one.day(lab), "urgency": urgency }));
    }
    if all.is_empty() {
        text.push_str("nothing falls due\n");
    }
    if let Some(file) = &due.ics {
        std::fs::write(file, calendar(lab, &all, &due.base)).map_err(|error| {
            Failure::Surroundings(format!("{} cannot be written: {error}", file.display()))
        })?;
        text = format!(
            "{}: {} events\n",
            file.display(),
            all.iter().filter_map(|one| one.day(lab)).count()
        );
    }
    let overdue = all.iter().any(|one| one.urgency(lab, now) == Urgency::Overdue);
    Ok(Answer { text, json: json!({ "at": now, "due": listed }), is_no: due.strict && overdue })
}
