//! The pages: each a function from the laboratory, and what was typed, to markup.

pub(crate) mod accounts;
pub(crate) mod apparatus_form;
mod attachments;
mod benches;
mod check;
mod control;
mod corrections;
mod custody;
mod doubts;
mod drying;
mod due;
mod duplicates;
mod equipment;
mod experiments;
mod export;
mod find;
mod founding;
mod guide;
pub(crate) mod imports;
mod journal;
mod judgement;
mod letterhead;
mod methods;
mod network;
mod outside;
mod papers;
mod parts;
pub(crate) mod passkeys;
mod people;
mod person;
mod policies;
mod proficiency;
mod programs;
mod readings;
mod results;
mod rounds;
mod runs;
mod samples;
mod sensitivities;
pub(crate) mod sieving;
pub(crate) mod sign_in;
mod specimen;
mod studies;
mod wear;
mod why;

pub(crate) use attachments::not_attached;
pub(crate) use check::difference_in;
pub(crate) use find::path_of;
pub(crate) use network::network;
pub(crate) use papers::checked as paper_checked;
pub(crate) use parts::{difference_verdict, problem_alone, strip_of, verdict};

use crate::form::Typed;
use crate::look;
use crate::signing::Signing;
use axum::http::Uri;
use jiff::Timestamp;
use maud::{Markup, html};
use stonewear_lab::fact::round::RoundFact;
use stonewear_lab::fact::{ExperimentImported, ExperimentPlanned, SievingRecorded};
use stonewear_lab::{Fact, Lab};
use stonewear_language::Language;
use stonewear_runtime::OpenLaboratory;

/// Who sits at this browser, and how they read.
#[derive(Debug, Clone, Default)]
pub(crate) struct Seat {
    /// Their initials; empty while nobody has said so.
    pub(crate) code: String,
    /// At the bench, or at a desk.
    pub(crate) mode: look::Mode,
    /// The language that they read. Pages are made in English all the same; what is looked for is
    /// typed in this one.
    pub(crate) language: Language,
    /// Whether they have shown who they are.
    pub(crate) signing: Signing,
}

/// What a page is made from.
pub(crate) struct View<'a> {
    pub(crate) laboratory: &'a OpenLaboratory,
    pub(crate) lab: &'a Lab,
    pub(crate) seat: &'a Seat,
    pub(crate) typed: &'a Typed,
    pub(crate) path: &'a str,
    pub(crate) query: &'a str,
    pub(crate) now: Timestamp,
}

/// The body of a page and its title.
pub(crate) struct Page {
    pub(crate) title: String,
    pub(crate) lead: String,
    pub(crate) crumbs: Vec<(String, String)>,
    pub(crate) body: Markup,
}

impl Page {
    pub(crate) fn new(title: impl Into<String>, body: Markup) -> Self {
        Self { title: title.into(), lead: String::new(), crumbs: Vec::new(), body }
    }

    /// A sentence below the heading.
    pub(crate) fn lead(mut self, lead: impl Into<String>) -> Self {
        self.lead = lead.into();
        self
    }

    /// One step of the way here.
    pub(crate) fn below(mut self, word: impl Into<String>, path: impl Into<String>) -> Self {
        self.crumbs.push((word.into(), path.into()));
        self
    }
}

/// The page at a path; `None` where there is none.
pub(crate) fn page(
    laboratory: &OpenLaboratory,
    uri: &Uri,
    seat: &Seat,
    typed: &Typed,
) -> Option<Markup> {
    let view = view(laboratory, uri, seat, typed);
    let parts: Vec<&str> = view.path.split('/').filter(|part| !part.is_empty()).collect();
    let page = match parts.as_slice() {
        ["guide"] => guide::contents(&view),
        ["guide", chapter] => guide::one(&view, chapter)?,
        // Until there is a laboratory, founding it is all that can be done.
        _ if !view.lab.is_founded() => founding::page(&view),
        [] => benches::page(&view),
        ["who"] => people::who(&view),
        ["find"] => find::page(&view),
        ["samples"] => samples::list(&view),
        ["samples", "new"] => samples::receive(&view),
        ["samples", code] => samples::one(&view, code)?,
        ["samples", code, "sieving"] => sieving::page(&view, code, None)?,
        ["samples", code, "sieving", way] => sieving::page(&view, code, Some(way))?,
        ["specimens", code] => specimen::page(&view, code)?,
        ["runs", "new"] => runs::start(&view),
        ["runs", code] => runs::one(&view, code)?,
        ["results"] => results::list(&view),
        ["results", code] => results::one(&view, code)?,
        ["letterhead"] => letterhead::page(&view),
        ["papers"] => papers::list(&view),
        ["papers", "check"] => papers::check(&view, None),
        ["papers", fingerprint] => papers::one(&view, fingerprint),
        ["doubts"] => doubts::list(&view),
        ["doubts", "new"] => doubts::new(&view)?,
        ["doubts", code] => doubts::one(&view, code)?,
        ["equipment"] => equipment::list(&view),
        ["equipment", "new"] => equipment::register(&view),
        ["equipment", code] => equipment::one(&view, code)?,
        ["equipment", code, "wear"] => wear::page(&view, code)?,
        ["experiments"] => experiments::list(&view),
        ["experiments", "new"] => experiments::new(&view)?,
        ["experiments", code] => experiments::one(&view, code)?,
        ["checks", code] => check::page(&view, code)?,
        ["methods"] => methods::list(&view),
        ["methods", id] => methods::one(&view, id)?,
        ["policies"] => policies::list(&view),
        ["policies", name] => policies::one(&view, name)?,
        ["control"] => control::overview(&view),
        ["control", "new"] => control::register(&view),
        ["control", "investigations", code] => control::investigation(&view, code)?,
        ["control", lot] => control::lot(&view, lot)?,
        ["control", lot, apparatus] => control::chart(&view, lot, apparatus)?,
        ["studies"] => studies::list(&view),
        ["studies", "new"] => studies::new(&view),
        ["studies", code] => studies::one(&view, code)?,
        ["rounds"] => rounds::list(&view),
        ["rounds", "new"] => rounds::plan(&view),
        ["rounds", code] => rounds::one(&view, code)?,
        ["proficiency"] => proficiency::page(&view),
        ["duplicates"] => duplicates::page(&view),
        ["people"] => people::list(&view),
        ["people", code] => person::one(&view, code)?,
        ["programs"] => programs::page(&view),
        ["due"] => due::page(&view),
        ["imports"] => imports::list(&view),
        ["imports", code] => imports::one(&view, code)?,
        ["export"] => export::page(&view),
        ["journal"] => journal::page(&view),
        _ => return None,
    };
    Some(parts::shell(&view, with_refusal(&view, page)))
}

/// A refusal is shown even where the form that met it is not on the page any longer: another
/// tablet may have gone on, or the journal is damaged and no form is offered.
fn with_refusal(view: &View<'_>, page: Page) -> Page {
    let nowhere = html! {};
    let refusal = parts::refusal(view, &view.typed.request, &nowhere);
    if refusal.0.is_empty() || page.body.0.contains("data-problems") {
        return page;
    }
    let body = html! { (refusal) (page.body) };
    Page { body, ..page }
}

/// A page that is made of more than the laboratory; for whoever has signed in, or may be here without.
pub(crate) fn inside(
    laboratory: &OpenLaboratory,
    uri: &Uri,
    seat: &Seat,
    typed: &Typed,
    page: impl FnOnce(&View<'_>) -> Page,
) -> Markup {
    let view = view(laboratory, uri, seat, typed);
    parts::shell(&view, page(&view))
}

/// A page that leads in, for whoever has not signed in.
pub(crate) fn outside(
    laboratory: &OpenLaboratory,
    uri: &Uri,
    seat: &Seat,
    typed: &Typed,
    page: impl FnOnce(&View<'_>) -> Page,
) -> Markup {
    let view = view(laboratory, uri, seat, typed);
    parts::outside(&view, page(&view))
}

/// What is found as it is typed, as a piece of a page.
pub(crate) fn found(laboratory: &OpenLaboratory, uri: &Uri, seat: &Seat) -> Markup {
    find::list(&view(laboratory, uri, seat, &Typed::default()))
}

/// What is said where there is no page.
pub(crate) fn not_found(laboratory: &OpenLaboratory, uri: &Uri, seat: &Seat) -> Markup {
    let typed = Typed::default();
    let view = view(laboratory, uri, seat, &typed);
    let body = html! {
        p { "Nothing is kept under " strong { (view.path) } "." }
        p { a href="/" { "Go to the benches" } ", or look for its code under samples or equipment." }
    };
    parts::shell(&view, Page::new("Nothing here", body))
}

fn view<'a>(
    laboratory: &'a OpenLaboratory,
    uri: &'a Uri,
    seat: &'a Seat,
    typed: &'a Typed,
) -> View<'a> {
    View {
        laboratory,
        lab: laboratory.lab(),
        seat,
        typed,
        path: uri.path(),
        query: uri.query().unwrap_or_default(),
        now: laboratory.now(),
    }
}

/// Where to go on after these facts; `None` to stay on the page.
pub(crate) fn onward(facts: &[Fact]) -> Option<String> {
    facts.iter().rev().find_map(|fact| match fact {
        Fact::SampleReceived { sample, .. } => Some(format!("/samples/{sample}")),
        Fact::SievingRecorded(SievingRecorded { sample, .. }) => {
            Some(format!("/samples/{sample}/sieving"))
        }
        Fact::SpecimenBegun { specimen, .. } => Some(format!("/specimens/{specimen}")),
        Fact::RunStarted { run, .. } => Some(format!("/runs/{run}")),
        Fact::ResultWorkedOut { result, .. } | Fact::ResultRevised { result, .. } => {
            Some(format!("/results/{result}"))
        }
        Fact::DoubtOpened { doubt, .. } => Some(format!("/doubts/{doubt}")),
        Fact::CheckStarted { check, .. } => Some(format!("/checks/{check}")),
        Fact::ItemRegistered { item, .. } => Some(format!("/equipment/{item}")),
        Fact::MethodAdopted { method } => Some(format!("/methods/{}", method.key())),
        Fact::Round(RoundFact::Planned(plan)) => Some(format!("/rounds/{}", plan.round)),
        Fact::ExperimentPlanned(ExperimentPlanned { experiment, .. })
        | Fact::ExperimentImported(ExperimentImported { experiment, .. }) => {
            Some(format!("/experiments/{experiment}"))
        }
        Fact::StudyPlanned(plan) => Some(format!("/studies/{}", plan.study)),
        Fact::PolicySet { .. } => Some("/policies".to_owned()),
        Fact::LotRegistered(fact) => Some(format!("/control/{}", fact.lot)),
        Fact::InvestigationOpened(fact) => {
            Some(format!("/control/investigations/{}", fact.investigation))
        }
        Fact::LaboratoryFounded { .. } => Some("/".to_owned()),
        _ => None,
    })
}

impl View<'_> {
    /// One value of the page's query: `/runs/new?specimen=S26-001-1`.
    pub(crate) fn asked(&self, name: &str) -> Option<String> {
        form_urlencoded::parse(self.query.as_bytes())
            .find(|(key, _)| key == name)
            .map(|(_, value)| value.into_owned())
    }
}
