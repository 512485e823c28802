//! Choosing: from a list, from a few, and among the items of the laboratory.

use super::form::{id_of, problem_of};
use crate::look::{self, Choice, Select};
use crate::page::View;
use maud::{Markup, html};
use stonewear_lab::fact::Standing;
use stonewear_measure::Decimal;
use stonewear_method::Method;
use stonewear_procedure::ItemKind;

/// What is sent, and its words.
pub(crate) type Options = Vec<(String, String)>;

/// A choice that leads to another page, not to a request.
pub(crate) fn plain_select(name: &str, label: &str, options: Options, chosen: &str) -> Markup {
    let select = Select::new(name.to_owned(), label.to_owned()).chosen(chosen.to_owned());
    html! { (with_options(select, options)) }
}

/// Methods: those in use first, then those that can be taken into use.
pub(crate) fn method_select(view: &View<'_>, methods: &[&Method], chosen: &str) -> Markup {
    let is_in_use = |method: &&&Method| view.lab.methods.contains_key(&method.key());
    let (used, others): (Vec<&Method>, Vec<&Method>) =
        methods.iter().copied().partition(|method| is_in_use(&method));
    let select = Select::new("method", "Method").chosen(chosen.to_owned());
    let groups = [("In use here", used), ("Can be taken into use", others)];
    let groups = groups.into_iter().filter(|(_, methods)| !methods.is_empty());
    let select = groups.fold(select, |select, (words, methods)| {
        methods.into_iter().fold(select.group(words), |select, one| {
            select.option(one.key().to_string(), one.dated())
        })
    });
    html! { (select) }
}

/// A choice from a list.
pub(crate) fn select(
    view: &View<'_>,
    request: &'static str,
    name: &str,
    label: &str,
    options: Options,
    chosen: &str,
) -> Markup {
    select_in(view, (request, request), name, label, options, chosen)
}

fn select_in(
    view: &View<'_>,
    (request, scope): (&'static str, &str),
    name: &str,
    label: &str,
    options: Options,
    chosen: &str,
) -> Markup {
    let chosen = view.typed.value(request, name).unwrap_or(chosen);
    let problem = view.typed.problem(request, name);
    let select = Select::new(name.to_owned(), label.to_owned())
        .scope(scope.to_owned())
        .chosen(chosen.to_owned())
        .problem(problem.map(|problem| problem_of(problem, id_of(request, name))));
    html! { (with_options(select, options)) }
}

fn with_options<'a>(select: Select<'a>, options: Options) -> Select<'a> {
    options.into_iter().fold(select, |select, (value, words)| select.option(value, words))
}

/// An item of a kind: those in service first, the others said to be what they are.
pub(crate) fn item_select(
    view: &View<'_>,
    request: &'static str,
    name: &str,
    label: &str,
    kind: ItemKind,
) -> Markup {
    choose_item(view, (request, request), name, label, kind, 0, |_| true)
}

/// Like [`item_select`], in one of several forms of this request: `scope` sets its id apart.
pub(crate) fn item_select_in(
    view: &View<'_>,
    request: &'static str,
    scope: &str,
    name: &str,
    label: &str,
    kind: ItemKind,
) -> Markup {
    choose_item(view, (request, scope), name, label, kind, 0, |_| true)
}

/// Like [`item_select`], with the item of this number proposed: each place has its own jar.
pub(crate) fn nth_item_select(
    view: &View<'_>,
    request: &'static str,
    name: &str,
    label: &str,
    kind: ItemKind,
    proposed: usize,
) -> Markup {
    choose_item(view, (request, request), name, label, kind, proposed, |_| true)
}

/// An item of a kind, where the laboratory keeps any: what it is not asked for is left out.
pub(crate) fn item_if_there_is_one(
    view: &View<'_>,
    request: &'static str,
    name: &str,
    label: &str,
    kind: ItemKind,
) -> Markup {
    let is_there = view.lab.in_service(kind).next().is_some();
    html! { @if is_there { (item_select(view, request, name, label, kind)) } }
}

/// A sieve of this opening.
pub(crate) fn sieve_select(
    view: &View<'_>,
    request: &'static str,
    opening_mm: Option<Decimal>,
) -> Markup {
    choose_item(view, (request, request), "sieve", "Sieve", ItemKind::Sieve, 0, |opening| {
        opening == opening_mm
    })
}

fn choose_item(
    view: &View<'_>,
    (request, scope): (&'static str, &str),
    name: &str,
    label: &str,
    kind: ItemKind,
    proposed: usize,
    fits: impl Fn(Option<Decimal>) -> bool,
) -> Markup {
    let mut items: Vec<_> = view
        .lab
        .items_of(kind)
        .filter(|item| item.standing() != Standing::Retired && fits(item.opening_mm))
        .collect();
    items.sort_by_key(|item| item.standing() != Standing::InService);
    if items.is_empty() {
        let href = format!("/equipment/new?kind={}", kind.as_str());
        return html! {
            div.field id=(id_of(scope, name)) tabindex="-1" {
                p { (label) ": none that fits is registered." }
                (look::link_button(format!("Register {}", super::article(kind.in_words())), &href))
            }
        };
    }
    let options: Options = items
        .iter()
        .map(|item| {
            let state = match item.standing() {
                Standing::InService => String::new(),
                other => format!(", {}", other.in_words()),
            };
            let shows = match (item.resolution, kind.unit_read()) {
                (Some(step), Some(unit)) => format!(", shows steps of {step} {unit}"),
                _ => String::new(),
            };
            (item.code.to_string(), format!("{} ({}{shows}{state})", item.code, item.name))
        })
        .collect();
    let proposed = options.get(proposed).or(options.first()).map(|(value, _)| value.clone());
    select_in(view, (request, scope), name, label, options, &proposed.unwrap_or_default())
}

/// One of a few, each a big target.
pub(crate) fn radios(
    view: &View<'_>,
    request: &'static str,
    name: &str,
    label: &str,
    options: Options,
    chosen: Option<&str>,
) -> Markup {
    let chosen = view.typed.value(request, name).or(chosen).unwrap_or_default();
    let problem = view.typed.problem(request, name);
    let choice = Choice::new(name.to_owned(), label.to_owned())
        .scope(request)
        .chosen(chosen.to_owned())
        .problem(problem.map(|problem| problem_of(problem, id_of(request, name))));
    let choice =
        options.into_iter().fold(choice, |choice, (value, words)| choice.option(value, words, ""));
    html! { (choice) }
}

/// Several of a few.
pub(crate) fn tick_boxes(
    view: &View<'_>,
    request: &'static str,
    name: &str,
    label: &str,
    options: &[(&str, &str)],
) -> Markup {
    let options: Vec<_> = options.iter().map(|(value, words)| (*value, *words, false)).collect();
    tick_boxes_with(view, request, name, label, &options)
}

/// Like [`tick_boxes`], some ticked until somebody has sent the form.
pub(crate) fn tick_boxes_with(
    view: &View<'_>,
    request: &'static str,
    name: &str,
    label: &str,
    options: &[(&str, &str, bool)],
) -> Markup {
    let is_new = !view.typed.was_refused(request);
    let mut choice = Choice::new(name.to_owned(), label.to_owned()).scope(request).many();
    for (index, (value, words, is_ticked)) in options.iter().enumerate() {
        choice = choice.option((*value).to_owned(), (*words).to_owned(), "");
        let is_typed = view.typed.value(request, &format!("{name}.{index}")).is_some();
        if is_typed || is_new && *is_ticked {
            choice = choice.chosen((*value).to_owned());
        }
    }
    html! { (choice) }
}

/// Yes, or nothing.
pub(crate) fn tick_box(view: &View<'_>, request: &'static str, name: &str, label: &str) -> Markup {
    html! {
        fieldset.choice {
            div.options {
                label {
                    input type="checkbox" name=(name) value="yes" checked[view.typed.value(request, name).is_some()];
                    span { (label) }
                }
            }
        }
    }
}
