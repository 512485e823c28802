//! Equipment: what there is, how it was proved, where it stands.

use super::parts::{self, Field, Form};
use super::{Page, View};
use crate::look::{self, Tone};
use maud::{Markup, html};
use stonewear_lab::decide::items::procedures_for;
use stonewear_lab::fact::Standing;
use stonewear_lab::ready::{jar_height, jar_height_of};
use stonewear_lab::request::ChangeStanding;
use stonewear_lab::state::{CheckState, Item};
use stonewear_procedure::{ItemKind, Procedure};

const REGISTER: &str = "register-item";
const START: &str = "start-check";
const INTERVAL: &str = "set-interval";
const CHANGE: &str = "change-standing";

pub(super) fn list(view: &View<'_>) -> Page {
    let count =
        |is: &dyn Fn(&Item) -> bool| view.lab.items.values().filter(|item| is(item)).count();
    let standings = [Standing::BeingProved, Standing::InService, Standing::Held, Standing::Retired]
        .map(|one| {
            (one.in_words(), parts::capital(one.in_words()), count(&|item| item.standing() == one))
        });
    let kinds = ItemKind::ALL.map(|kind| {
        let words = parts::capital(&plural(kind));
        (kind.as_str(), words, count(&|item| item.kind == kind))
    });
    let is_shown = |item: &Item| {
        parts::is_of(view, "standing", item.standing().in_words())
            && parts::is_of(view, "kind", item.kind.as_str())
            && parts::has_words(view, &[item.code.as_str(), &item.name, &item.maker_and_serial])
    };
    let body = html! {
        (parts::go("Register an item", "/equipment/new"))
        @if view.lab.items.is_empty() {
            (parts::lead("No equipment yet", "A coarse test needs an apparatus, a jar, a ball charge, a balance and the sieve of the method.", "/equipment/new?kind=apparatus", "Register the apparatus"))
        } @else {
            (parts::filters(view, "Code, name or maker", &[
                parts::Part { name: "standing", every: "Every standing", options: standings.to_vec() },
                parts::Part { name: "kind", every: "Every kind", options: kinds.to_vec() },
            ]))
            @if !view.lab.items.values().any(is_shown) { (parts::nothing_of_it(view)) }
        }
        @for kind in ItemKind::ALL {
            @let items: Vec<&Item> = view.lab.items_of(kind).filter(|item| is_shown(item)).collect();
            @if !items.is_empty() { (of_kind(view, kind, &items)) }
        }
    };
    Page::new("Equipment", body)
}

/// Several of a kind.
fn plural(kind: ItemKind) -> String {
    match kind {
        ItemKind::Apparatus => kind.in_words().to_owned(),
        ItemKind::Stopwatch => format!("{}es", kind.in_words()),
        _ => format!("{}s", kind.in_words()),
    }
}

fn of_kind(view: &View<'_>, kind: ItemKind, items: &[&Item]) -> Markup {
    let rows = items.iter().map(|item| {
        vec![
            html! { a.code href={ "/equipment/" (item.code) } { (item.code) } },
            html! { (item.name) },
            html! { (parts::standing(item.standing())) },
            html! { (proved(view, item)) },
        ]
    });
    let title = parts::capital(&plural(kind));
    parts::section(
        &title,
        parts::table(&title, &["Item", "Name", "Standing", "Proved"], &[], rows.collect()),
    )
}

/// Since when and until when an item is proved.
fn proved(view: &View<'_>, item: &Item) -> Markup {
    let proof = view.lab.proof_of(&item.code);
    html! {
        @match proof.and_then(|check| Some((check, check.ended.as_ref()?))) {
            Some((check, ended)) => {
                (parts::day(view, ended.at)) " by " a.code href={ "/checks/" (check.code) } { (check.code) }
                @if let Some(until) = view.lab.proves_until(check) {
                    @if until < view.now { ", " strong { "ran out " (parts::day(view, until)) } } @else { ", until " (parts::day(view, until)) }
                }
            },
            None => span.quiet { "not yet" },
        }
    }
}

pub(super) fn register(view: &View<'_>) -> Page {
    let asked =
        view.typed.value(REGISTER, "kind").map(str::to_owned).or_else(|| view.asked("kind"));
    let kind = asked.and_then(|kind| kind.parse::<ItemKind>().ok());
    let body = match kind {
        None => html! {
            div.actions { @for kind in ItemKind::ALL {
                (look::link_button(parts::capital(kind.in_words()), &format!("/equipment/new?kind={}", kind.as_str())))
            } }
        },
        Some(kind) => Form::new(view, REGISTER, "Register it").hidden("kind", kind.as_str()).body(html! {
            (Field::text(view, REGISTER, "code", "Code marked on it").hint("up to 16 letters and digits, like JAR-3").focus())
            (Field::text(view, REGISTER, "name", "What people call it"))
            (Field::text(view, REGISTER, "maker_and_serial", "Maker and number").optional())
            @if kind == ItemKind::Sieve {
                (Field::number(view, REGISTER, "opening_mm", "Opening").unit("mm")
                    .default(&view.asked("opening").unwrap_or_default()))
            }
            @if let Some(unit) = kind.unit_read() {
                (Field::number(view, REGISTER, "resolution", "Smallest step that it shows").unit(unit).optional()
                    .hint("shown where it is read; a balance too coarse for a method is said to be"))
            }
            @if kind == ItemKind::Apparatus { (super::apparatus_form::fields(view, REGISTER)) }
        }),
    };
    let title = kind.map_or_else(
        || "What is to be registered?".to_owned(),
        |kind| format!("Register {}", parts::article(kind.in_words())),
    );
    Page::new(title, body).below("Equipment", "/equipment")
}

pub(super) fn one(view: &View<'_>, code: &str) -> Option<Page> {
    let item = view.lab.items.get(code)?;
    let opening = item.opening_mm.map(|mm| format!("{mm} mm"));
    let body = html! {
        p.standing-line { (parts::standing(item.standing())) " since " (parts::day(view, item.since())) }
        (next_step(view, item))
        (look::facts(&[
            ("Kind", html! { (parts::capital(item.kind.in_words())) @if let Some(opening) = &opening { ", opening " (opening) } }),
            ("Maker and number", html! { (parts::or_none(&item.maker_and_serial)) }),
            ("Smallest step", html! {
                @match (item.resolution, item.kind.unit_read()) {
                    (Some(step), Some(unit)) => { (step) " " (unit) },
                    (None, Some(_)) => "not recorded",
                    _ => "it shows no numbers",
                }
            }),
            ("Proved", proved(view, item)),
            ("Registered", html! { (parts::day(view, item.registered.at)) ", by " (parts::person(view, item.registered.by.as_str())) }),
        ]))
        (super::imports::origin_of_item(view, code))
        (super::wear::section(view, item))
        @if item.standing() != Standing::Retired {
            (parts::section("Checks to do", procedures(view, item)))
            (parts::section("If it turned out wrong", parts::go("Which results stand on it?", &format!("/doubts/new?item={}", item.code))))
            (parts::section("Change where it stands", change(view, item)))
        }
        (super::control::of_item(view, item))
        (super::studies::of_item(view, item))
        (super::corrections::of_item(view, item))
        (super::attachments::section(view, code))
        (parts::label_link(code))
        (parts::go("Dossier as PDF: all that proves it", &format!("/equipment/{code}/dossier.pdf")))
        (parts::section("History", history(view, item)))
    };
    Some(
        Page::new(item.code.to_string(), body)
            .lead(item.name.clone())
            .below("Equipment", "/equipment"),
    )
}

/// What comes next for an item that is new here, so that nobody has to look for it.
fn next_step(view: &View<'_>, item: &Item) -> Markup {
    match item.standing() {
        Standing::BeingProved if missing_for_service(view, item).is_empty() => html! {
            section.panel {
                p { (look::mark(Tone::Good, "every check that it needs is passed")) }
                form method="post" action=(view.path) {
                    (parts::key())
                    input type="hidden" name="request" value=(CHANGE);
                    input type="hidden" name="item" value=(item.code);
                    input type="hidden" name="standing" value="in-service";
                    (look::actions(&look::button("Put it into service")))
                }
            }
        },
        Standing::InService if view.lab.results.is_empty() => {
            parts::go("On with the way to your first loss", "/")
        }
        _ => html! {},
    }
}

fn procedures(view: &View<'_>, item: &Item) -> Markup {
    let procedures = procedures_for(view.laboratory.procedures(), item);
    // A check that stands for another, for a charge of another mass, say, is folded away until it
    // has been done here once.
    let fits_some = procedures.iter().any(|one| !methods_of(view, one).is_empty());
    let is_usual = |one: &&Procedure| {
        let is_first = match jar_height(one) {
            // Which jar is right, the methods in use say.
            Some(_) if fits_some => !methods_of(view, one).is_empty(),
            _ => one.stands_for.is_none(),
        };
        is_first || view.lab.last_passed(&item.code, &one.id).is_some()
    };
    let (usual, others): (Vec<&Procedure>, Vec<&Procedure>) =
        procedures.iter().partition(|one| is_usual(one));
    let open =
        view.lab.checks_of(&item.code).find(|check| matches!(check.state(), CheckState::At(_)));
    html! {
        @if let Some(check) = open {
            (parts::go(&format!("Go on with {}, {}", check.code, check.procedure.title), &format!("/checks/{}", check.code)))
        }
        ul.tasks { @for procedure in &usual { li { (offer(view, item, procedure)) } } }
        @if !others.is_empty() {
            details {
                summary { "The same for another use" }
                ul.tasks { @for procedure in &others { li { (offer(view, item, procedure)) } } }
            }
        }
        (intervals(view, &procedures))
    }
}

/// The methods in use whose jar an inspection proves.
fn methods_of(view: &View<'_>, procedure: &Procedure) -> Vec<String> {
    let Some(limits) = jar_height(procedure) else { return Vec::new() };
    let methods = view.lab.methods.values().map(|in_use| &in_use.method);
    let fitting = methods.filter(|method| jar_height_of(method) == Some(limits));
    fitting.map(stonewear_method::Method::dated).collect()
}

/// On what grounds the interval of a procedure stands.
fn grounds(view: &View<'_>, procedure: &Procedure) -> String {
    let decided = view.lab.intervals.get(&procedure.id).and_then(|changes| changes.last());
    let written = procedure.interval_months.as_ref();
    match (decided, written) {
        (Some(change), _) => format!("decided by {}: {}", change.by, change.value.reason),
        (None, Some(interval)) => interval.source.clone(),
        (None, None) => String::new(),
    }
}

/// Where the laboratory decides how often a check is due.
fn intervals(view: &View<'_>, procedures: &[Procedure]) -> Markup {
    let options: parts::Options =
        procedures.iter().map(|one| (one.id.clone(), one.title.clone())).collect();
    let first = options.first().map(|(id, _)| id.clone()).unwrap_or_default();
    html! {
        details open[view.typed.was_refused(INTERVAL)] {
            summary { "Decide how often a check is due" }
            (Form::new(view, INTERVAL, "Decide it").body(html! {
                (parts::select(view, INTERVAL, "procedure", "Check", options, &first))
                (Field::number(view, INTERVAL, "months", "Months that a pass is good for"))
                (Field::text(view, INTERVAL, "reason", "On what grounds"))
            }))
        }
    }
}

fn offer(view: &View<'_>, item: &Item, procedure: &Procedure) -> Markup {
    let last =
        view.lab.last_passed(&item.code, &procedure.id).and_then(|check| check.ended.as_ref());
    let methods = methods_of(view, procedure);
    // One that stands for it is needed where its methods are in use.
    let is_needed =
        procedure.needed_for_service || procedure.stands_for.is_some() && !methods.is_empty();
    let needed = is_needed.then(|| "needed for service".to_owned());
    let methods = (!methods.is_empty())
        .then(|| format!("for jars of {}", stonewear_lab::words::listed(methods)));
    let passed = last.map(|last| format!("last passed {}", parts::day_text(view, last.at)));
    let due = view
        .lab
        .interval_months(procedure)
        .map(|months| format!("every {months} months ({})", grounds(view, procedure)));
    let said: Vec<String> = [methods, needed, passed, due].into_iter().flatten().collect();
    let facts = html! { span.quiet { " " (said.join(", ")) } };
    html! {
        @if view.laboratory.is_for_reading_only() {
            (procedure.title) (facts)
        } @else {
            form.offer method="post" action=(view.path) {
                (parts::key())
                input type="hidden" name="request" value=(START);
                input type="hidden" name="item" value=(item.code);
                input type="hidden" name="procedure" value=(procedure.id);
                (look::button(format!("Begin the {}", procedure.title)))
                (facts)
            }
        }
    }
}

fn change(view: &View<'_>, item: &Item) -> Markup {
    let mut choices = vec![("held", "Held: not to be used"), ("retired", "Retired for ever")];
    let missing = missing_for_service(view, item);
    if item.standing() != Standing::InService && missing.is_empty() {
        choices.insert(0, ("in-service", "In service"));
    }
    let choices: Vec<(String, String)> = choices
        .into_iter()
        .filter(|(value, _)| *value != "held" || item.standing() != Standing::Held)
        .map(|(value, label)| (value.to_owned(), label.to_owned()))
        .collect();
    let first = choices.first().map(|(value, _)| value.clone());
    html! {
        @for words in &missing { p { (look::mark(Tone::Edge, "not yet ready for service")) " " (words) } }
        (Form::new(view, CHANGE, "Change it").hidden("item", item.code.as_str()).body(html! {
        (parts::radios(view, CHANGE, "standing", "It is from now on", choices, first.as_deref()))
        (Field::text(view, CHANGE, "reason", "Reason").optional().hint("needed to hold and to retire"))
        }))
    }
}

/// What stands against putting an item into service: the words of the decision itself.
fn missing_for_service(view: &View<'_>, item: &Item) -> Vec<String> {
    if item.standing() == Standing::InService {
        return Vec::new();
    }
    let request = ChangeStanding {
        item: item.code.to_string(),
        standing: "in-service".to_owned(),
        reason: String::new(),
    };
    let refusal = view.laboratory.consider(&view.seat.code, &request.into()).err();
    let problems = refusal.map(|refusal| refusal.problems).unwrap_or_default();
    problems
        .iter()
        .filter(|problem| matches!(problem.rule, "check-not-passed" | "investigation-open"))
        .map(parts::words)
        .collect()
}

fn history(view: &View<'_>, item: &Item) -> Markup {
    let standings = item.standings.iter().map(|change| {
        let what = format!("{}{}", change.value.standing.in_words(), reason(&change.value.reason));
        (
            change.position,
            html! { (parts::moment(view, change.at)) },
            html! { (what) },
            change.by.to_string(),
        )
    });
    let corrections = item.corrections.iter().map(|correction| {
        let what = format!("its description corrected: {}", correction.value);
        let when = html! { (parts::moment(view, correction.at)) };
        (correction.position, when, html! { (what) }, correction.by.to_string())
    });
    let checks = view.lab.checks_of(&item.code).map(|check| {
        let state = match check.state() {
            CheckState::At(_) => "not finished",
            CheckState::Ended { passed: true } => "passed",
            CheckState::Ended { passed: false } => "not passed",
        };
        let what = html! { a.code href={ "/checks/" (check.code) } { (check.code) } " " (check.procedure.title) ": " (state) };
        (check.started.position, html! { (parts::moment(view, check.started.at)) }, what, check.started.by.to_string())
    });
    let mut events: Vec<_> = standings.chain(corrections).chain(checks).collect();
    events.sort_by_key(|(position, ..)| std::cmp::Reverse(*position));
    if events.is_empty() {
        return html! { p.quiet { "Nothing has happened to it since it was registered." } };
    }
    let rows =
        events.into_iter().map(|(_, when, what, by)| vec![when, what, parts::person(view, &by)]);
    parts::table_below_heading(
        "History, newest first",
        &["When", "What", "By"],
        &[],
        rows.collect(),
    )
}

fn reason(reason: &str) -> String {
    if reason.is_empty() { String::new() } else { format!(": {reason}") }
}
