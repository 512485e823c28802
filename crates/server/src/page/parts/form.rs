//! A form that makes a request: sent to its own page, shown again with what is wrong.

use crate::look;
use crate::page::View;
use crate::people::organisation_path;
use crate::signing::{self, Signing};
use maud::{Markup, html};
use stonewear_lab::Problem;

/// A form that makes one kind of request.
pub(crate) struct Form<'a> {
    view: &'a View<'a>,
    request: &'static str,
    button: &'a str,
    path: String,
    hidden: Vec<(&'a str, String)>,
    has_button: bool,
    part: Option<String>,
}

/// What is done with open eyes on the laboratory as it is: it does not wait for the line.
const NOT_WHILE_AWAY: [&str; 4] =
    ["release-result", "issue-paper", "found-laboratory", "attach-file"];

impl<'a> Form<'a> {
    /// A form for this request, with the words on its button.
    pub(crate) fn new(view: &'a View<'_>, request: &'static str, button: &'a str) -> Self {
        let path = view.path.to_owned();
        Self { view, request, button, path, hidden: Vec::new(), has_button: true, part: None }
    }

    /// Sends it to another page than the one that it stands on: there it is shown again if it is
    /// refused, and under that page its draft is kept.
    pub(crate) fn at(mut self, path: String) -> Self {
        self.path = path;
        self
    }

    /// A value that goes with the request.
    pub(crate) fn hidden(mut self, name: &'a str, value: &str) -> Self {
        self.hidden.push((name, value.to_owned()));
        self
    }

    /// One of several forms of this request on the page, such as that of one step: its draft is
    /// kept apart.
    pub(crate) fn part(mut self, part: &str) -> Self {
        self.part = Some(part.to_owned());
        self
    }

    /// The body brings its own buttons.
    pub(crate) fn no_button(mut self) -> Self {
        self.has_button = false;
        self
    }

    /// The whole form around its fields.
    pub(crate) fn body(self, fields: Markup) -> Markup {
        let Self { view, request, button, .. } = self;
        let path = &self.path;
        if view.laboratory.is_for_reading_only() {
            return html! { p.quiet { "Nothing can be recorded; the top of the page says why." } };
        }
        let draft = crate::form::draft(path, request, self.part.as_deref());
        let signing = view.seat.signing;
        let is_signed = signing != Signing::Open && signing::is_signed(request);
        // A phrase is kept nowhere, so what is signed does not wait.
        let waits = !NOT_WHILE_AWAY.contains(&request) && !is_signed;
        // A reason that was typed stays, also while something else is wrong that it cannot excuse.
        let asks_why = view.typed.is_excusable(request)
            || view.typed.value(request, "deviation").is_some_and(|why| !why.is_empty());
        let fields = html! {
            (fields)
            @if asks_why { (reason(view, request)) }
            @if is_signed && signing.asks().is_some() { (phrase(view, request)) }
        };
        html! {
            form method="post" action=(path) novalidate autocomplete="off" data-draft=(draft) data-waits[waits] data-bench {
                (key())
                input type="hidden" name="request" value=(request);
                @for (name, value) in &self.hidden { input type="hidden" name=(name) value=(value); }
                (refusal(view, request, &fields))
                (fields)
                @if self.has_button { (look::actions(&look::button(button))) }
            }
        }
    }
}

/// What makes a form that is sent twice, by a nervous finger or after a lost answer, happen once.
pub(crate) fn key() -> Markup {
    html! { input type="hidden" name="_key" value=(uuid::Uuid::new_v4()); }
}

/// Where everything that is wrong could be excused: the reason, and the same button again.
fn reason(view: &View<'_>, request: &'static str) -> Markup {
    let typed = view.typed.value(request, "deviation").unwrap_or_default();
    let problem = view.typed.problem(request, "deviation");
    html! {
        (look::Field::new("deviation", "Do it all the same, as a deviation: why?")
            .scope(request).lines().value(typed).hint("The report prints this reason.")
            .problem(problem.map(|problem| problem_of(problem, id_of(request, "deviation")))))
    }
}

/// The phrase of whoever signs, asked for once more.
fn phrase(view: &View<'_>, request: &'static str) -> Markup {
    let problem = view.typed.problem(request, signing::FIELD);
    html! {
        (look::Field::new(signing::FIELD, "Your pass phrase").scope(request).secret("current-password")
            .hint("Signs this with your name. It is not asked for again for five minutes.")
            .problem(problem.map(|problem| problem_of(problem, id_of(request, signing::FIELD)))))
        (instead_of_the_phrase(view))
    }
}

/// What may be shown instead of the phrase. It holds for five minutes, as the phrase does, so the form is
/// sent as it is afterwards.
pub(crate) fn instead_of_the_phrase(view: &View<'_>) -> Markup {
    let means = view.seat.signing.asks().unwrap_or_default();
    html! {
        @if means.passkey {
            div.actions data-passkey="prove" hidden data-say-proved="It is you. What is signed in the next five minutes needs no pass phrase: send the form now."
                data-say-not-used="No passkey was used. Try again, or type your pass phrase."
                data-say-refused="This passkey was not taken. Try again, or type your pass phrase." {
                button class="button second" type="button" { "Use a passkey instead" }
                p role="status" {}
            }
        }
        @if means.organisation {
            (look::actions(&look::link_button("Show it to your organisation instead", &organisation_path(view.path, true))))
        }
    }
}

/// Everything that is wrong with the form of this request, with links to those of its `fields`
/// that can be seen: some are hidden, such as the specimen that a mass belongs to.
pub(crate) fn refusal(view: &View<'_>, request: &str, fields: &Markup) -> Markup {
    if !view.typed.was_refused(request) {
        return html! {};
    }
    let at_the_bench = |problem: &Problem| problem.field == "by";
    let problems: Vec<look::Problem<'_>> = view
        .typed
        .problems
        .iter()
        .map(|problem| {
            let id = id_of(request, &problem.field);
            let is_shown = fields.0.contains(&format!("id=\"{id}\""));
            problem_of(problem, if is_shown { id } else { String::new() })
        })
        .collect();
    html! {
        (look::problem_summary(&problems))
        @if view.typed.problems.iter().any(at_the_bench) {
            (look::actions(&look::link_button("Say who is at the bench", &format!("/who?back={}", view.path))))
        }
    }
}

/// A problem that stands away from its form.
pub(crate) fn problem_alone(problem: &Problem) -> look::Problem<'static> {
    problem_of(problem, String::new())
}

/// A problem as the look shows it.
pub(crate) fn problem_of(problem: &Problem, id: String) -> look::Problem<'static> {
    look::Problem {
        id: id.into(),
        message: sentence(&problem.message).into(),
        hint: if problem.hint.is_empty() { "".into() } else { sentence(&problem.hint).into() },
    }
}

/// The id of a field's input, as the look makes it.
pub(super) fn id_of(request: &str, field: &str) -> String {
    look::Field::new(field, "").scope(request).id()
}

/// What is wrong and what would be right, in one sentence.
pub(crate) fn words(problem: &Problem) -> String {
    if problem.hint.is_empty() {
        problem.message.clone()
    } else {
        format!("{}; {}", problem.message, problem.hint)
    }
}

/// A clause as a sentence of its own.
fn sentence(clause: &str) -> String {
    let text = super::capital(clause);
    if text.ends_with(['.', '?', '!']) { text } else { format!("{text}.") }
}
