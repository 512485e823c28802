//! The part of `stonewear person` about authorisations: grant, change, watch, show.

use super::asking::ask;
use crate::answer::{Answer, Failure};
use crate::arguments::{Asking, Folder};
use serde_json::json;
use stonewear_lab::Fact;
use stonewear_lab::authorisation::Activity;
use stonewear_lab::request::{ChangeAuthorisation, GrantAuthorisation, SuperviseWork};
use stonewear_lab::words::listed;
use stonewear_runtime::LaboratoryView;

/// Authorise a person for activities by a method, on evidence.
#[derive(Debug, clap::Args)]
#[command(after_help = "\
Example:\n\
\x20 stonewear person authorise --by AB CD --method astm-d6928 --for make-up,run,weigh-after \\\n\
\x20     --training 'training record 7' --evidence S26-001-1,S26-002-1 --until 2027-11-30")]
pub(crate) struct Authorise {
    #[command(flatten)]
    asking: Asking,
    /// Initials.
    person: String,
    /// The method; the authorisation is for the edition in use.
    #[arg(long)]
    method: String,
    /// For what: make-up, run, weigh-after, release; several with commas.
    #[arg(long = "for", value_name = "ACTIVITY", value_delimiter = ',')]
    activities: Vec<String>,
    /// Where the record of the training is, or what was seen of it.
    #[arg(long, default_value = "")]
    training: String,
    /// Codes of what was witnessed: specimens, results, runs, checks; several with commas.
    #[arg(long, value_name = "CODES", default_value = "")]
    evidence: String,
    /// The last day on which it holds, YYYY-MM-DD; without it, what the laboratory decided.
    #[arg(long, value_name = "DAY", default_value = "")]
    until: String,
}

impl Authorise {
    pub(super) fn ask(self) -> Result<Answer, Failure> {
        let Self { asking, person, method, activities, training, evidence, until } = self;
        let request = GrantAuthorisation { person, method, activities, training, evidence, until };
        ask(&asking, request)
    }
}

/// Which authorisation changes, and why.
#[derive(Debug, clap::Args)]
pub(crate) struct Change {
    #[command(flatten)]
    asking: Asking,
    /// The authorisation.
    authorisation: String,
    /// On what grounds.
    #[arg(long)]
    reason: String,
}

impl Change {
    pub(super) fn ask(self, standing: &str) -> Result<Answer, Failure> {
        let Self { asking, authorisation, reason } = self;
        let standing = standing.to_owned();
        ask(&asking, ChangeAuthorisation { authorisation, standing, reason })
    }
}

/// Record that one watches the work of a person who is not authorised.
#[derive(Debug, clap::Args)]
#[command(after_help = "\
Example:\n\
\x20 stonewear person supervise --by AB CD --method astm-d6928 --for make-up,run")]
pub(crate) struct Supervise {
    #[command(flatten)]
    asking: Asking,
    /// Initials of whose work is watched.
    person: String,
    /// The method.
    #[arg(long)]
    method: String,
    /// Which work: make-up, run, weigh-after; several with commas.
    #[arg(long = "for", value_name = "ACTIVITY", value_delimiter = ',')]
    activities: Vec<String>,
    /// The last day of it, YYYY-MM-DD; without it, today.
    #[arg(long, value_name = "DAY", default_value = "")]
    until: String,
}

impl Supervise {
    pub(super) fn ask(self) -> Result<Answer, Failure> {
        let Self { asking, person, method, activities, until } = self;
        ask(&asking, SuperviseWork { person, method, activities, until })
    }
}

pub(super) fn show(folder: &Folder, person: &str) -> Result<Answer, Failure> {
    let view = LaboratoryView::open(&folder.place()?)?;
    let lab = view.lab();
    let Some(known) = lab.people.get(person.trim().to_uppercase().as_str()) else {
        let codes = lab.people.keys().map(stonewear_lab::PersonCode::as_str);
        return Err(super::unknown("nobody here has the initials", person.trim(), codes));
    };
    let all: Vec<_> = lab.authorisations_of(&known.code).collect();
    let mut text = format!("{} {}\n", known.code, known.name);
    for one in &all {
        text.push_str(&format!(
            "{} {}: {}; {}\n",
            one.code,
            one.method,
            names(&one.activities),
            lab.authorisation_in_words(one, view.now())
        ));
        for (what, said) in [("training", &one.training), ("witnessed", &listed(&one.evidence))] {
            if !said.is_empty() {
                text.push_str(&format!("  {what}: {said}\n"));
            }
        }
    }
    if all.is_empty() {
        text.push_str("no authorisations\n");
    }
    Ok(Answer::new(text, json!({ "person": known, "authorisations": all })))
}

fn names(activities: &[Activity]) -> String {
    listed(activities.iter().map(|activity| activity.name()))
}

/// A fact about authorisations in a short sentence.
pub(super) fn in_words(fact: &Fact) -> String {
    match fact {
        Fact::AuthorisationGranted(granted) => {
            let until = granted.until.map_or(String::new(), |until| format!(" until {until}"));
            format!(
                "{}: {} is authorised for {} by {}{until}",
                granted.authorisation,
                granted.person,
                names(&granted.activities),
                granted.method
            )
        }
        Fact::AuthorisationChanged(changed) => {
            format!("{} is {}", changed.authorisation, changed.standing.in_words())
        }
        Fact::SupervisionBegun(begun) => format!(
            "the work of {} by {} is watched until {}: {}",
            begun.person,
            begun.method,
            begun.until,
            names(&begun.activities)
        ),
        _ => String::new(),
    }
}
