//! Policies: what the laboratory decides where methods and standards leave it open.

use super::parts::{self, Field, Form};
use super::{Page, View};
use crate::look::{self, Tone};
use maud::{Markup, html};
use stonewear_lab::policy::{InForce, Policy};

const SET: &str = "set-policy";

pub(super) fn list(view: &View<'_>) -> Page {
    let rows = Policy::ALL.map(|policy| {
        let in_force = view.lab.policy(policy);
        vec![
            html! { a href={ "/policies/" (policy) } { (policy.question()) } },
            html! { strong { (parts::capital(&in_force.words)) } },
            decided(view, &in_force),
        ]
    });
    let head = ["Question", "In force", "Decided"];
    Page::new("Policies", parts::table_below_heading("Policies", &head, &[], rows.to_vec()))
        .lead("What the laboratory decides where methods and standards leave it open. What was judged keeps the rule it was judged by.")
        .below("Methods", "/methods")
}

fn decided(view: &View<'_>, in_force: &InForce<'_>) -> Markup {
    html! {
        @match in_force.decided {
            Some(decision) => {
                (parts::day(view, decision.at)) ", " (parts::person(view, decision.by.as_str()))
                br; (decision.value.reason)
            },
            None => (look::mark(Tone::Plain, "not decided; the default holds")),
        }
    }
}

pub(super) fn one(view: &View<'_>, name: &str) -> Option<Page> {
    let policy: Policy = name.parse().ok()?;
    let in_force = view.lab.policy(policy);
    let body = html! {
        section.panel {
            p { "In force: " strong { (in_force.words) } }
            p { (decided(view, &in_force)) }
            p.quiet { "Default:" " " b { (policy.in_words(policy.default_value())) } }
            p.quiet { (policy.source()) }
        }
        (parts::section("Decide", Form::new(view, SET, "Decide it so").hidden("policy", policy.name()).body(html! {
            (value_field(view, policy, in_force.value))
            (Field::text(view, SET, "reason", "On what grounds").hint("like our manual, clause 7.8"))
        })))
        (history(view, policy))
    };
    Some(
        Page::new(policy.question(), body)
            .below("Methods", "/methods")
            .below("Policies", "/policies"),
    )
}

/// One of a few; or a word or a number, where the laboratory may have a number of its own.
fn value_field(view: &View<'_>, policy: Policy, now: &str) -> Markup {
    let words = |value: &str, words: &str| (value.to_owned(), format!("{value}: {words}"));
    let options: parts::Options =
        policy.choices().iter().map(|choice| words(choice.value, choice.words)).collect();
    if let Some(pattern) = policy.pattern() {
        return html! {
            ul { @for (_, words) in &options { li { (words) } } li { "or " (pattern) } }
            (Field::text(view, SET, "value", "Value").default(now).hint(pattern))
        };
    }
    match policy.number() {
        None => {
            let named = policy.choices().iter();
            let named = named.map(|one| (one.value.to_owned(), parts::capital(one.words)));
            html! { (parts::radios(view, SET, "value", "Rule", named.collect(), Some(now))) }
        }
        Some(number) => html! {
            ul { @for (_, words) in &options { li { (words) } } li { "a number: " (number) ", " (policy.unit()) } }
            (Field::text(view, SET, "value", "Value").default(now).hint("a word of the list above, or a number"))
        },
    }
}

fn history(view: &View<'_>, policy: Policy) -> Markup {
    let Some(decisions) = view.lab.policies.get(&policy) else { return html! {} };
    let rows = decisions.iter().rev().map(|decision| {
        vec![
            html! { (parts::moment(view, decision.at)) },
            html! { (policy.in_words(&decision.value.value)) },
            html! { (parts::person(view, decision.by.as_str())) },
            html! { (decision.value.reason) },
        ]
    });
    let head = ["When", "Value", "By", "Because"];
    parts::section(
        "Every decision",
        parts::table("Decisions, newest first", &head, &[], rows.collect()),
    )
}
