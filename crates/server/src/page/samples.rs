//! What was received, and what is made of it.

use super::parts::{self, Field, Form};
use super::{Page, View};
use crate::look;
use maud::{Markup, html};
use stonewear_lab::state::{Sample, Specimen};
use stonewear_method::Method;
use stonewear_method::model::Vessel;

const RECEIVE: &str = "receive-sample";
const BEGIN: &str = "begin-specimen";

pub(super) fn list(view: &View<'_>) -> Page {
    let shown: Vec<&Sample> = view
        .lab
        .samples
        .values()
        .rev()
        .filter(|sample| parts::is_of(view, "state", State::of(view, sample).name()))
        .filter(|sample| {
            let texts = [
                sample.code.as_str(),
                &sample.source,
                &sample.material,
                &sample.client,
                &sample.project,
            ];
            parts::has_words(view, &texts)
        })
        .collect();
    let (leaf, leaves) = parts::leaf(view, &shown);
    let rows = leaf.iter().map(|sample| {
        vec![
            html! { a.code href={ "/samples/" (sample.code) } { (sample.code) } },
            html! { (sample.source) @if sample.reference { " " span.quiet { "(reference)" } } },
            html! { (sample.client) },
            html! { span.whole { (sample.received_on) } },
            html! { (state_of(view, sample)) },
        ]
    });
    let all: Vec<State> = view.lab.samples.values().map(|sample| State::of(view, sample)).collect();
    let count = |state: State| all.iter().filter(|one| **one == state).count();
    let states =
        State::ALL.map(|state| (state.name(), parts::capital(state.words()), count(state)));
    let body = html! {
        (parts::go("Receive a sample", "/samples/new"))
        @if view.lab.samples.is_empty() {
            (parts::lead("No sample yet", "A bag of stone and a job sheet is all that is needed.", "/samples/new", "Receive the first sample"))
        } @else {
            (parts::filters(view, "Code, source, client or works", &[
                parts::Part { name: "state", every: "Every state", options: states.to_vec() },
            ]))
            @if shown.is_empty() { (parts::nothing_of_it(view)) }
            @else { (parts::table_below_heading("Samples, newest first", &["Sample", "Source", "Client", "Received", "State"], &[], rows.collect())) (leaves) }
        }
    };
    Page::new("Samples", body)
}

/// How far a sample has come.
#[derive(Clone, Copy, PartialEq, Eq)]
enum State {
    Received,
    AtTheBench,
    ToBeReleased,
    Released,
}

impl State {
    const ALL: [Self; 4] = [Self::Received, Self::AtTheBench, Self::ToBeReleased, Self::Released];

    fn of(view: &View<'_>, sample: &Sample) -> Self {
        match view.lab.result_of_sample(&sample.code) {
            Some(result) if result.release().is_none() => Self::ToBeReleased,
            Some(_) => Self::Released,
            None if view.lab.specimens_of(&sample.code).next().is_some() => Self::AtTheBench,
            None => Self::Received,
        }
    }

    /// As it stands in an address.
    fn name(self) -> &'static str {
        match self {
            Self::Received => "received",
            Self::AtTheBench => "at-the-bench",
            Self::ToBeReleased => "to-be-released",
            Self::Released => "released",
        }
    }

    fn words(self) -> &'static str {
        match self {
            Self::Received => "received",
            Self::AtTheBench => "at the bench",
            Self::ToBeReleased => "to be released",
            Self::Released => "released",
        }
    }
}

/// Where a sample stands, with its loss if it has one.
fn state_of(view: &View<'_>, sample: &Sample) -> Markup {
    let result = view.lab.result_of_sample(&sample.code);
    let state = State::of(view, sample);
    html! {
        @match result {
            Some(result) => {
                a href={ "/results/" (result.code) } {
                    @if let Some(version) = result.current() { (version.value.in_words()) }
                }
                @if state == State::ToBeReleased { " " span.quiet { (state.words()) } }
            },
            None => (state.words()),
        }
    }
}

pub(super) fn receive(view: &View<'_>) -> Page {
    let field = |name, label| Field::text(view, RECEIVE, name, label);
    let body = Form::new(view, RECEIVE, "Receive the sample").body(html! {
        (field("source", "Where it comes from").hint("quarry and face, or pit").focus())
        (field("material", "What it is").hint("like crushed dolerite 10/20"))
        (Field::number(view, RECEIVE, "nominal_maximum_mm", "Nominal maximum size").unit("mm")
            .hint("the size by which the method picks its grading"))
        // All that follows may stay empty; a sample that is here should not wait for it.
        fieldset {
            legend { h2 { "Client and works" } }
            div.pair {
                (field("client", "Client").optional())
                (field("client_address", "Client's address").optional())
                (field("client_reference", "Client's reference").optional())
                (field("project", "Works").optional())
                (field("intended_use", "Intended use").optional())
            }
        }
        fieldset {
            legend { h2 { "How it came" } }
            div.pair {
                (field("condition", "Condition on arrival").optional())
                (Field::number(view, RECEIVE, "received_g", "Mass received").unit("g").optional()
                    .hint("or as the balance shows it, like 25.4 kg"))
                (field("bags", "Bags or boxes").optional())
                (field("sampled_by", "Taken by").optional().hint("who took the sample; the report says so"))
                (field("sampling_plan", "Sampling plan and method").optional())
                (field("sampled_on", "Taken on").date().optional())
                (field("delivered_by", "Brought by").optional())
                (field("place", "Where it is kept").optional().hint("shelf, bay or room"))
                (field("received_on", "Received on").date().optional().hint("left empty, today"))
            }
        }
        fieldset {
            legend { h2 { "A limit to judge it by" } }
            div.pair {
                (Field::number(view, RECEIVE, "limit_percent", "Most loss that is allowed").unit("%").optional()
                    .hint("left empty, no decision is made"))
                (field("limit_document", "Document that sets this limit").optional().hint("needed where there is a limit"))
                (field("limit_method", "Method that this limit is for").optional()
                    .hint("like astm-c131; left empty, the tests of wear in water"))
            }
        }
        (parts::tick_box(view, RECEIVE, "reference", "It is of the reference aggregate"))
        @if !view.lab.lots.is_empty() {
            (field("lot", "Lot of reference aggregate that it is of").optional()
                .default(&view.asked("lot").unwrap_or_default()).hint("then its losses stand on the chart of that lot"))
        }
    });
    Page::new("Receive a sample", body).below("Samples", "/samples")
}

pub(super) fn one(view: &View<'_>, code: &str) -> Option<Page> {
    let sample = view.lab.samples.get(code)?;
    let specimens: Vec<&Specimen> = view.lab.specimens_of(&sample.code).collect();
    let results: Vec<_> =
        view.lab.results.values().filter(|result| result.sample == sample.code).collect();
    let body = html! {
        (look::facts(&[
            ("Source", html! { (sample.source) }),
            ("Material", html! { (sample.material) }),
            ("Nominal maximum size", html! { (sample.nominal_maximum_mm) " mm, as received" }),
            ("By sieving", html! { (super::sieving::size(sample)) " " a href={ "/samples/" (sample.code) "/sieving" } { "Sieve analysis" } }),
            ("Client", html! { (parts::or_none(&sample.client)) }),
            ("Client's address", html! { (parts::or_none(&sample.client_address)) }),
            ("Client's reference", html! { (parts::or_none(&sample.client_reference)) }),
            ("Works", html! { (parts::or_none(&sample.project)) }),
            ("Intended use", html! { (parts::or_none(&sample.intended_use)) }),
            ("Condition", html! { (parts::or_none(&sample.condition)) }),
            ("How much came", how_much(sample)),
            ("Taken", taken(sample)),
            ("Sampling plan", html! { (parts::or_none(&sample.sampling_plan)) }),
            ("Limit", limit(view, sample)),
            ("Received", html! { (sample.received_on) ", by " (parts::person(view, sample.received.by.as_str())) }),
            ("Now with", super::custody::now(view, sample)),
        ]))
        @for result in results {
            (parts::go(&format!("Result {}", result.code), &format!("/results/{}", result.code)))
        }
        @if !specimens.is_empty() { (parts::section("Specimens", specimen_table(view, &specimens))) }
        (parts::section(
            if specimens.is_empty() { "Make up the first specimen" } else { "Make up another specimen" },
            begin(view, sample),
        ))
        (super::control::of_sample(view, sample))
        (super::corrections::of_sample(view, sample))
        (super::custody::section(view, sample))
        (super::outside::section(view, sample))
        (super::attachments::section(view, code))
        (parts::label_link(code))
    };
    Some(
        Page::new(format!("Sample {}", sample.code), body)
            .lead(sample.source.clone())
            .below("Samples", "/samples"),
    )
}

fn how_much(sample: &Sample) -> Markup {
    html! {
        @match sample.received_g {
            Some(mass_g) => {
                (parts::grams(Some(mass_g)))
                @if !sample.received_as_read.is_empty() { " (read as " (sample.received_as_read) ")" }
            },
            None => "mass not recorded",
        }
        @if let Some(bags) = sample.bags { ", " (bags) @if bags == 1 { " bag" } @else { " bags" } }
    }
}

fn taken(sample: &Sample) -> Markup {
    html! {
        @match (&sample.sampled_on, sample.sampled_by.as_str()) {
            (None, "") => "not recorded",
            (None, by) => { "by " (by) },
            (Some(day), "") => (day),
            (Some(day), by) => { (day) ", by " (by) }
        }
    }
}

fn limit(view: &View<'_>, sample: &Sample) -> Markup {
    html! {
        @if let Some(limit) = sample.limit_percent {
            div {
                "at most " (limit) " %"
                @if !sample.limit_method.is_empty() { " by " (parts::method(view, &sample.limit_method)) }
            }
            div { (sample.limit_document) }
        } @else {
            "none agreed"
        }
    }
}

fn specimen_table(view: &View<'_>, specimens: &[&Specimen]) -> Markup {
    let rows = specimens.iter().map(|specimen| {
        vec![
            html! { a.code href={ "/specimens/" (specimen.code) } { (specimen.code) } },
            html! { (parts::method(view, specimen.method.as_str())) ", " (specimen.grading) },
            html! { (parts::grams(specimen.before_g())) },
            html! { (parts::grams(specimen.after_g())) },
            html! { (super::specimen::where_it_is(view, specimen)) },
        ]
    });
    let head = ["Specimen", "Method, grading", "Before", "After", "State"];
    parts::table("Specimens of this sample", &head, &[2, 3], rows.collect())
}

/// One button a grading: the fitting one first, said why.
fn begin(view: &View<'_>, sample: &Sample) -> Markup {
    let methods = offered(view);
    let chosen =
        view.typed.value(BEGIN, "method").map(str::to_owned).or_else(|| view.asked("method"));
    let method = chosen
        .and_then(|id| methods.iter().copied().find(|method| method.key().answers_to(&id)))
        .or_else(|| methods.first().copied());
    let Some(method) = method else { return html! {} };
    let fitting = super::sieving::fitting_of(method, sample);
    let gradings: Vec<(String, String)> = method
        .gradings
        .iter()
        .map(|grading| {
            let fits = fitting.is_some_and(|fitting| fitting.name == grading.name);
            let note = if fits { " (fits the nominal maximum size)" } else { "" };
            (grading.name.clone(), format!("{}: {}{note}", grading.name, grading.applies.value))
        })
        .collect();
    // The button names the method: one that was picked above, but not chosen, is not the one.
    let button = format!("Make up a specimen by {}", method.dated());
    let form = Form::new(view, BEGIN, &button)
        .hidden("sample", sample.code.as_str())
        .hidden("method", method.key().as_str());
    html! {
        form.choose method="get" {
            (parts::method_select(view, &methods, method.key().as_str()))
            (look::button("Choose"))
        }
        @if sample.sieved_size_mm().is_some() { p { (parts::capital(&sample.size_in_words())) "." } }
        (form.body(html! {
            (parts::radios(view, BEGIN, "grading", "Grading", gradings, fitting.map(|one| one.name.as_str())))
            (parts::item_select(view, BEGIN, "balance", "Balance", stonewear_procedure::ItemKind::Balance))
        }))
    }
}

/// Methods in use first, then those that can be taken into use; of each, wet attrition before
/// the tests that go with it.
pub(super) fn offered<'a>(view: &'a View<'_>) -> Vec<&'a Method> {
    let in_use = view.lab.methods.values().map(|in_use| &in_use.method);
    let others = view
        .laboratory
        .methods()
        .iter()
        .filter(|method| !view.lab.methods.contains_key(&method.key()));
    let mut others: Vec<&Method> = others.collect();
    let mut offered: Vec<&Method> = in_use.collect();
    offered.sort_by_key(|method| method.vessel != Vessel::JarMill);
    others.sort_by_key(|method| method.vessel != Vessel::JarMill);
    offered.append(&mut others);
    offered
}
