//! `stonewear policy`: what the laboratory decides where methods and standards leave it open.

use super::asking::ask;
use crate::answer::{Answer, Failure};
use crate::arguments::{Asking, Folder};
use serde_json::json;
use stonewear_lab::policy::Policy;
use stonewear_lab::request::SetPolicy;
use stonewear_runtime::LaboratoryView;

#[derive(Debug, clap::Subcommand)]
pub(crate) enum PolicyVerb {
    /// List the policies: what is in force, who decided it, and what else it could be.
    #[command(after_help = "\
Example:\n\
\x20 stonewear policy list --dir demo-laboratory")]
    List {
        #[command(flatten)]
        folder: Folder,
    },
    /// Decide a policy. What was judged before keeps the rule it was judged by.
    #[command(after_help = "\
Example:\n\
\x20 stonewear policy set --by AB decision-rule guarded --reason 'agreed with our clients'\n\
\x20 stonewear policy set --by AB uncertainty 0.45 --reason 'budget of May'")]
    Set {
        #[command(flatten)]
        asking: Asking,
        /// The policy, as `stonewear policy list` names it.
        policy: String,
        /// Its value from now on.
        #[arg(allow_negative_numbers = true)]
        value: String,
        /// On what grounds.
        #[arg(long)]
        reason: String,
    },
}

pub(crate) fn run(policy: PolicyVerb) -> Result<Answer, Failure> {
    match policy {
        PolicyVerb::List { folder } => list(&folder),
        PolicyVerb::Set { asking, policy, value, reason } => {
            ask(&asking, SetPolicy { policy, value, reason })
        }
    }
}

fn list(folder: &Folder) -> Result<Answer, Failure> {
    let view = LaboratoryView::open(&folder.place()?)?;
    let lab = view.lab();
    let mut text = String::new();
    let mut json = Vec::new();
    for policy in Policy::ALL {
        let in_force = lab.policy(policy);
        let by = match in_force.decided {
            None => "default, not decided".to_owned(),
            Some(decision) => format!(
                "{}, {}: {}",
                lab.local(decision.at).date(),
                decision.by,
                decision.value.reason
            ),
        };
        text.push_str(&format!(
            "{:20} {:24} {}\n{:20} {by}\n",
            policy.name(),
            in_force.value,
            in_force.words,
            ""
        ));
        for choice in policy.choices().iter().filter(|choice| choice.value != in_force.value) {
            text.push_str(&format!("{:20} or {:21} {}\n", "", choice.value, choice.words));
        }
        if let Some(pattern) = policy.pattern() {
            text.push_str(&format!("{:20} or {pattern}\n", ""));
        }
        if let Some(number) = policy.number() {
            text.push_str(&format!("{:20} or {:21} {number}, {}\n", "", "a number", policy.unit()));
        }
        text.push_str(&format!("{:20} {}\n", "", policy.source()));
        json.push(json!({
            "policy": policy,
            "question": policy.question(),
            "value": in_force.value,
            "words": in_force.words,
            "decided": in_force.decided,
            "default": policy.default_value(),
            "source": policy.source(),
            "values": policy.choices().iter().map(|choice| choice.value).collect::<Vec<_>>(),
            "number": policy.number(),
            "pattern": policy.pattern(),
        }));
    }
    Ok(Answer::new(text, json!({ "policies": json })))
}
