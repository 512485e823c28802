//! Programs that may ask in somebody's name, and programs that are told of facts.

use super::{Page, View, parts};
use crate::look::{self, Tone};
use jiff::Timestamp;
use maud::{Markup, html};
use stonewear_access::{Access, AccessError, Hook, HookState, Token};
use stonewear_runtime::Clock;

pub(super) fn page(view: &View<'_>) -> Page {
    let body = match read(view) {
        Ok((tokens, hooks)) => html! {
            (parts::section("Tokens", of_tokens(view, &tokens)))
            (parts::section("Webhooks", of_hooks(view, &hooks)))
        },
        Err(error) => {
            html! { p role="alert" { (look::mark(Tone::Bad, "cannot be read")) " " (error) } }
        }
    };
    Page::new("Programs", body)
        .lead("Programs that ask in the name of a person, and programs that are told of new facts.")
        .below("People", "/people")
}

fn read(view: &View<'_>) -> Result<(Vec<Token>, Vec<Hook>), AccessError> {
    let access = Access::open(view.laboratory.path())?;
    Ok((access.tokens()?, access.hooks()?))
}

fn of_tokens(view: &View<'_>, tokens: &[Token]) -> Markup {
    let rows = tokens.iter().map(|token| {
        let standing = token.standing(view.now);
        let tone = if standing == "in force" { Tone::Good } else { Tone::Plain };
        let revoked = token.revoked_by.as_deref().zip(token.revoked_at);
        vec![
            html! { (token.id) },
            html! { (token.name) },
            parts::person(view, &token.person),
            html! { (token.scope) },
            html! {
                (look::mark(tone, standing))
                @if let Some((by, at)) = revoked { " " (parts::day(view, at)) " by " (by) }
            },
            when(view, token.until, "it is revoked"),
            when(view, token.used_at, "never"),
            html! { (when(view, token.made_at, "")) " by " (token.made_by) },
        ]
    });
    let head = [
        "Token",
        "What uses it",
        "In the name of",
        "Scope",
        "Stands",
        "Until",
        "Last used",
        "Made",
    ];
    html! {
        @if tokens.is_empty() {
            p { "No program may ask yet." }
        } @else {
            (parts::table("Tokens, oldest first", &head, &[], rows.collect()))
        }
        p { "A token is made on this machine, and shown once:" }
        p { code { "stonewear token new --by AB --person AB --scope read --name 'results screen'" } }
    }
}

fn of_hooks(view: &View<'_>, hooks: &[Hook]) -> Markup {
    // Hooks wait by the clock of the machine, whatever the calendar of the laboratory is.
    let now = Clock::Machine.now();
    let last = view.laboratory.head().position;
    let rows = hooks.iter().map(|hook| {
        let state = hook.state(now);
        let tone = match state {
            HookState::Well => Tone::Good,
            HookState::Waiting => Tone::Edge,
            HookState::Dead => Tone::Bad,
        };
        let kinds = if hook.kinds.is_empty() { "every fact".to_owned() } else { hook.kinds.join(", ") };
        vec![
            html! { (hook.id) },
            html! { code { (hook.url) } },
            html! { (kinds) },
            html! {
                (look::mark(tone, state.in_words()))
                @if let Some(since) = hook.failing_since {
                    " since " (parts::moment(view, since)) ": " (hook.trouble) "; tried " (hook.failures) " times"
                    @if let Some(next) = hook.next_at { ", next " (parts::moment(view, next)) }
                }
            },
            html! { (hook.position) " of " (last) },
            when(view, hook.told_at, "never"),
        ]
    });
    let head = ["Webhook", "Address", "Is told of", "Stands", "Place in the journal", "Last told"];
    html! {
        @if hooks.is_empty() {
            p { "No program is told of facts yet." }
        } @else {
            (parts::table("Webhooks, oldest first", &head, &[], rows.collect()))
        }
        p { "An address is added on this machine:" }
        p { code { "stonewear webhook add --by AB https://example.org/news --facts result-released" } }
    }
}

fn when(view: &View<'_>, at: Option<Timestamp>, otherwise: &str) -> Markup {
    at.map_or_else(|| html! { (otherwise) }, |at| parts::moment(view, at))
}
