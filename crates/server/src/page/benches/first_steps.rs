//! A laboratory without a result yet is led by the hand, step by step, to its first one.

use super::asked;
use crate::look::{self, StepAhead};
use crate::page::View;
use maud::{Markup, html};
use stonewear_lab::next::Next;
use stonewear_lab::state::{CheckState, Item};
use stonewear_procedure::ItemKind;

/// One step of the way: what it is, whether it is behind us, and where it goes on now.
struct Step {
    words: String,
    is_done: bool,
    button: String,
    href: String,
}

/// Whether everything on the way to the first run is in service.
pub(super) fn is_equipped(view: &View<'_>) -> bool {
    let is_run = |step: &Step| step.href.starts_with("/samples");
    steps(view).iter().take_while(|step| !is_run(step)).all(|step| step.is_done)
}

pub(super) fn section(view: &View<'_>) -> Markup {
    let steps = steps(view);
    let now = steps.iter().find(|step| !step.is_done);
    let is_alone = view.lab.people.len() < 2 && view.lab.methods.is_empty();
    let empty = look::Empty {
        heading: "The way to your first loss".into(),
        words:
            "Each step leads to the next. You can stop at any time: what you have begun waits here."
                .into(),
        steps: steps
            .iter()
            .map(|step| StepAhead { words: step.words.clone().into(), is_done: step.is_done })
            .collect(),
        action: html! {
            @if let Some(step) = now {
                a.button href=(step.href) { (step.button) }
            }
            @if is_alone { (look::link_button("I work alone: choose the method", "/methods")) }
            (look::link_button("The guide: your first proved machine", "/guide/first-machine"))
        },
    };
    html! { (empty) }
}

fn steps(view: &View<'_>) -> Vec<Step> {
    let lab = view.lab;
    let step = |words: &str, is_done, button: &str, href: &str| Step {
        words: words.to_owned(),
        is_done,
        button: button.to_owned(),
        href: href.to_owned(),
    };
    let item = |kind, words: &str| {
        let (button, href) = on_with(view, kind);
        let is_done = lab.in_service(kind).next().is_some();
        Step { words: words.to_owned(), is_done, button, href }
    };
    let of_specimen = || {
        let next = lab.next().into_iter().find(|next| {
            !matches!(next, Next::GoOn { .. } | Next::Prove { .. } | Next::Release { .. })
        });
        next.map_or_else(
            || ("Receive a sample".to_owned(), "/samples/new".to_owned()),
            |next| {
                let (href, code, what) = asked::said(view, &next);
                (format!("{code}: {what}"), href)
            },
        )
    };
    let (button, href) = of_specimen();
    let has_run = lab.specimens.values().any(|one| one.run.is_some());
    vec![
        step(
            "Add the people who test with you",
            lab.people.len() > 1 || !lab.methods.is_empty(),
            "Add the people",
            "/people",
        ),
        step(
            "Take the method into use that you test by",
            !lab.methods.is_empty(),
            "Choose the method",
            "/methods",
        ),
        item(
            ItemKind::Apparatus,
            "Register the apparatus, pass its function check, put it into service",
        ),
        item(ItemKind::Balance, "The same for the balance"),
        item(ItemKind::Oven, "The same for the drying oven"),
        sieve(view),
        item(ItemKind::Jar, "The same for a jar"),
        item(ItemKind::BallCharge, "The same for its ball charge"),
        step("Receive a sample", !lab.samples.is_empty(), "Receive a sample", "/samples/new"),
        Step {
            words: "Make up a specimen, weigh it and run it".to_owned(),
            is_done: has_run,
            button: button.clone(),
            href: href.clone(),
        },
        Step {
            words: "Weigh what is left: the loss is there".to_owned(),
            is_done: !lab.results.is_empty(),
            button,
            href,
        },
        release(view),
    ]
}

/// The first loss goes out with a name under it.
fn release(view: &View<'_>) -> Step {
    let result = view.lab.results.values().next();
    let code = result.map(|result| result.code.as_str()).unwrap_or_default();
    Step {
        words: "Look at it and release it with your name".to_owned(),
        is_done: is_released(view),
        button: format!("Release {code}"),
        href: format!("/results/{code}"),
    }
}

/// Whether a loss was ever released here.
pub(super) fn is_released(view: &View<'_>) -> bool {
    view.lab.results.values().any(|result| result.release().is_some())
}

/// The sieve on which the loss is judged: one of another opening does not do.
fn sieve(view: &View<'_>) -> Step {
    let kind = ItemKind::Sieve;
    let (button, href) = on_with(view, kind);
    let wanted = view.lab.methods.values().find_map(|in_use| in_use.method.loss_sieve_mm());
    let Some(mm) = wanted else {
        let is_done = view.lab.in_service(kind).next().is_some();
        let words = "The same for the sieve of your method".to_owned();
        return Step { words, is_done, button, href };
    };
    let fits = |item: &&Item| item.opening_mm == Some(mm);
    let (button, href) = if view.lab.items_of(kind).any(|item| fits(&item)) {
        (button, href)
    } else {
        let href = format!("/equipment/new?kind={}&opening={mm}", kind.as_str());
        (format!("Register the sieve of {mm} mm"), href)
    };
    Step {
        words: format!("The same for the sieve of {mm} mm, on which the loss is judged"),
        is_done: view.lab.in_service(kind).any(|item| fits(&item)),
        button,
        href,
    }
}

/// Where it goes on with an item of a kind: to its open check, to the item, or to registering one.
fn on_with(view: &View<'_>, kind: ItemKind) -> (String, String) {
    let lab = view.lab;
    let Some(item) = lab.items_of(kind).max_by_key(|item| item.registered.position) else {
        let article = if kind == ItemKind::Jar { "a" } else { "the" };
        return (
            format!("Register {article} {}", kind.in_words()),
            format!("/equipment/new?kind={}", kind.as_str()),
        );
    };
    let Item { code, .. } = item;
    let open = lab.checks_of(code).find(|check| matches!(check.state(), CheckState::At(_)));
    match open {
        Some(check) => {
            (format!("Go on with the check of {code}"), format!("/checks/{}", check.code))
        }
        None => (format!("Go on proving {code}"), format!("/equipment/{code}")),
    }
}
