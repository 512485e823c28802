//! `stonewear check list` and `stonewear check show`: checks as they stand.

use crate::answer::{Answer, Failure};
use crate::arguments::Folder;
use serde_json::{Value, json};
use stonewear_lab::fact::Seen;
use stonewear_lab::state::{Check, CheckState};
use stonewear_lab::{CheckCode, ItemCode, Lab};
use stonewear_procedure::{Difference, Expect, Step, expect_in_words, step_json};
use stonewear_runtime::LaboratoryView;

pub(super) fn list(folder: &Folder, of: Option<&str>, open: bool) -> Result<Answer, Failure> {
    let view = LaboratoryView::open(&folder.place()?)?;
    let lab = view.lab();
    let of = of.map(|typed| known_item(lab, typed)).transpose()?;
    let mut checks: Vec<&Check> = lab
        .checks
        .values()
        .filter(|check| of.as_deref().is_none_or(|item| check.item.as_str() == item))
        .filter(|check| !open || matches!(check.state(), CheckState::At(_)))
        .collect();
    checks.sort_by_key(|check| std::cmp::Reverse(check.started.position));
    let lines = checks.iter().map(|check| {
        format!(
            "{:9} {:16} {:22} {}",
            check.code.as_str(),
            check.item.as_str(),
            check.procedure.id,
            standing(check)
        )
    });
    let text = lines.collect::<Vec<_>>().join("\n");
    let text = if text.is_empty() { "no such checks".to_owned() } else { text };
    Ok(Answer::new(
        text,
        json!({ "checks": checks.iter().map(|check| in_short(check)).collect::<Vec<_>>() }),
    ))
}

pub(super) fn show(folder: &Folder, typed: &str) -> Result<Answer, Failure> {
    let view = LaboratoryView::open(&folder.place()?)?;
    let checks = &view.lab().checks;
    let typed = typed.trim();
    let check = checks.get(typed.to_uppercase().as_str()).ok_or_else(|| {
        super::unknown("there is no check", typed, checks.keys().map(CheckCode::as_str))
    })?;
    let mut text = format!(
        "{}: {} of {}, {}\n",
        check.code,
        check.procedure.title,
        check.item,
        standing(check)
    );
    let mut document = in_short(check);
    document["next"] = Value::Null;
    if let CheckState::At(step) = check.state() {
        text.push_str(&asked(check, step));
        document["next"] = step_json(step);
    }
    for seen in &check.observations {
        let verdict = if seen.value.passed { "" } else { "   not as it must be" };
        let seen_words = seen_in_words(&seen.value.seen);
        text.push_str(&format!(
            "{} {:4} {}: {seen_words}{verdict}\n",
            seen.at,
            seen.by.as_str(),
            seen.value.step
        ));
    }
    document["observations"] = json!(check.observations);
    Ok(Answer::new(text, document))
}

fn known_item(lab: &Lab, typed: &str) -> Result<String, Failure> {
    let code = typed.trim().to_uppercase();
    if lab.items.contains_key(code.as_str()) {
        return Ok(code);
    }
    let known = lab.items.keys().map(ItemCode::as_str);
    Err(super::unknown("--of: there is no item", typed.trim(), known))
}

fn in_short(check: &Check) -> Value {
    json!({
        "check": check.code,
        "item": check.item,
        "procedure": check.procedure.id,
        "title": check.procedure.title,
        "state": match check.state() {
            CheckState::At(_) => "open",
            CheckState::Ended { passed: true } => "passed",
            CheckState::Ended { passed: false } => "not-passed",
        },
        "steps_done": check.steps_done(),
        "steps": check.procedure.steps.len(),
    })
}

fn standing(check: &Check) -> String {
    let ended = check.ended.as_ref();
    let by = ended.map_or(String::new(), |ended| format!(" ({}, {})", ended.at, ended.by));
    match check.state() {
        CheckState::At(_) => {
            format!("step {} of {}", check.steps_done() + 1, check.procedure.steps.len())
        }
        CheckState::Ended { passed: true } => format!("passed{by}"),
        CheckState::Ended { passed: false } => {
            let reason = ended.map_or("", |ended| ended.value.reason.as_str());
            format!("not passed{by}: {reason}")
        }
    }
}

/// What a step asks, and the command that answers it.
fn asked(check: &Check, step: &Step) -> String {
    let mut text = format!("{}: {}\n  {}\n", step.id, step.title, step.instruction);
    if let Some(caution) = &step.caution {
        text.push_str(&format!("  Caution: {} ({})\n", caution.text, caution.source));
    }
    let (answer, with) = match &step.expect {
        Expect::Seen { .. } => ("yes|no", ""),
        Expect::Number { instrument: None, .. } => ("NUMBER", ""),
        Expect::Number { instrument: Some(_), .. } => ("NUMBER", " --with ITEM"),
    };
    let less = match &step.expect {
        Expect::Number { difference: Some(difference), .. } => {
            text.push_str(&format!("  to be read: {}", difference.read()));
            match difference {
                Difference::Less { less, .. } => {
                    text.push_str(&format!("; and {less}\n"));
                    " --less NUMBER"
                }
                Difference::From { from, .. } => {
                    text.push_str(&format!("; it is taken off what was read at {from}\n"));
                    ""
                }
            }
        }
        _ => "",
    };
    text.push_str(&format!("  wanted: {}\n", expect_in_words(&step.expect)));
    text.push_str(&format!("  if it is not so: {}\n", step.on_failure));
    text.push_str(&format!(
        "  answer with: stonewear check observe {} {} {answer}{less}{with}\n",
        check.code, step.id
    ));
    text
}

fn seen_in_words(seen: &Seen) -> String {
    match seen {
        Seen::AsExpected(true) => "yes".to_owned(),
        Seen::AsExpected(false) => "no".to_owned(),
        Seen::Number(number) => number.to_string(),
    }
}
