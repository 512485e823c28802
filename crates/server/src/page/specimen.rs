//! One specimen: its fractions, its masses, its run, each judged as it is typed.

use super::parts::{self, Field, Form};
use super::{Page, View, drying};
use crate::look::{self, Hazard};
use maud::{Markup, html};
use stonewear_lab::fact::Stage;
use stonewear_lab::next::Next;
use stonewear_lab::state::{Noted, Specimen, WeighedMass};
use stonewear_measure::balance::shown;
use stonewear_measure::{Decimal, Limits};
use stonewear_method::model::Vessel;
use stonewear_method::{Grading, Method};
use stonewear_procedure::ItemKind;

const FRACTIONS: &str = "weigh-fractions";
const BEFORE: &str = "weigh-before";
const AFTER: &str = "weigh-after";

pub(super) fn page(view: &View<'_>, code: &str) -> Option<Page> {
    let specimen = view.lab.specimens.get(code)?;
    let (method, grading) = view.lab.rules_of(specimen)?;
    let next = view.lab.next_of(specimen);
    let reading = super::readings::current(view, method, next.as_ref());
    let facts = html! {
        (look::facts(&[
            ("Sample", html! { a.code href={ "/samples/" (specimen.sample) } { (specimen.sample) } }),
            ("Method", html! { (parts::method_link(view, &specimen.method)) ", grading " (grading.name) }),
            ("State", html! { (where_it_is(view, specimen)) }),
        ]))
        (super::experiments::mark(view, specimen))
        (super::studies::mark(view, specimen))
    };
    let to_do = html! {
        @if let Some(sheet) = sheet(view, specimen, method, grading) { (parts::section("Make-up sheet", sheet)) }
        @match next {
            Some(Next::MakeUp { .. }) => { (make_up(view, specimen, method, grading)) },
            Some(Next::WeighBefore { .. }) => {
                (weigh_before(view, specimen, method, grading))
                (drying::section(view, specimen, method, Stage::Before))
            },
            Some(Next::StartRun { .. }) => {
                (drying::soak(view, specimen, method))
                (parts::go_on("Start its run", &format!("/runs/new?specimen={}", specimen.code)))
            },
            Some(Next::WeighAfter { .. }) => {
                (weigh_after(view, specimen, method, grading))
                (drying::section(view, specimen, method, Stage::After))
            },
            _ => {},
        }
        @if let Some(reading) = reading { (super::readings::take(view, specimen, method.vessel, grading, reading)) }
        (super::readings::choose(view, specimen, method, reading))
        @if let Some(run) = &specimen.run { (parts::go(&format!("Run {run}"), &format!("/runs/{run}"))) }
        @if let Some(result) = view.lab.result_of(&specimen.code) {
            (parts::go(&format!("Result {}", result.code), &format!("/results/{}", result.code)))
        }
    };
    let recorded = html! {
        (parts::section("What is recorded", record(view, specimen, method, grading)))
        @if !grading.fractions.is_empty() && !matches!(next, Some(Next::MakeUp { .. })) {
            details open[view.typed.was_refused(FRACTIONS)] { summary { "Correct a fraction" } (make_up(view, specimen, method, grading)) }
        }
        @if specimen.before_g().is_some() {
            details open[view.typed.was_refused(BEFORE)] { summary { "Correct the mass before" } (weigh_before(view, specimen, method, grading)) }
        }
        @if specimen.after_g().is_some() {
            details open[view.typed.was_refused(AFTER)] { summary { "Correct the mass after" } (weigh_after(view, specimen, method, grading)) }
        }
    };
    let papers = html! {
        (super::attachments::section(view, code))
        (look::actions(&html! {
            (look::link_button("Print its label", &format!("/labels.pdf?code={code}")))
            (look::link_button("Bench sheet as PDF, to write on by hand", &format!("/specimens/{code}/bench-sheet.pdf")))
            (look::link_button("Make-up sheet as PDF", &format!("/specimens/{code}/make-up.pdf")))
        }))
    };
    let body = html! {
        (parts::beside(html! { (facts) (to_do) (papers) }, recorded))
        (parts::deviations(view, &specimen.deviations))
    };
    let sample = format!("Sample {}", specimen.sample);
    let page = Page::new(format!("Specimen {}", specimen.code), body).below("Samples", "/samples");
    Some(page.below(sample, format!("/samples/{}", specimen.sample)))
}

/// What the sieve analysis of its sample says about making it up.
fn sheet(
    view: &View<'_>,
    specimen: &Specimen,
    method: &Method,
    grading: &Grading,
) -> Option<Markup> {
    // Once it has been run the sheet has done its work.
    let sample = view.lab.samples.get(&specimen.sample).filter(|_| specimen.run.is_none())?;
    let table = super::sieving::sheet(sample, method, grading, |index| specimen.fraction_g(index))?;
    Some(html! {
        @if !specimen.grading_reason.is_empty() { p { "Grading " (grading.name) ": " (specimen.grading_reason) "." } }
        (table)
    })
}

/// Where a specimen is on its way.
pub(super) fn where_it_is(view: &View<'_>, specimen: &Specimen) -> &'static str {
    match view.lab.next_of(specimen) {
        Some(Next::MakeUp { .. }) => "being made up",
        Some(Next::WeighBefore { .. }) => "made up",
        Some(Next::StartRun { .. }) => "ready to run",
        Some(Next::WeighAfter { .. }) => "run, to be weighed",
        Some(Next::TakeReading { .. }) => "to be read",
        _ if specimen.after_g().is_some() || view.lab.result_of(&specimen.code).is_some() => {
            "finished"
        }
        _ => "turning",
    }
}

fn make_up(view: &View<'_>, specimen: &Specimen, method: &Method, grading: &Grading) -> Markup {
    let form =
        Form::new(view, FRACTIONS, "Record the masses").hidden("specimen", specimen.code.as_str());
    let replaces =
        grading.fractions.iter().enumerate().any(|(index, _)| specimen.fraction_g(index).is_some());
    let first_open =
        (0..grading.fractions.len()).find(|index| specimen.fraction_g(*index).is_none());
    form.body(html! {
        p.step-do {
            "Weigh each fraction in, coarsest first. "
            @if let Some(mass) = &method.specimen.mass_g {
                "The whole must come to " strong { (mass) " g" } "."
            }
            @if let Some(below) = method.loss.as_ref().and_then(|rule| rule.untested_below_percent.as_ref()) {
                "A size with less than " (below.value) " % of the sample may be left out."
            }
        }
        @for (index, fraction) in grading.fractions.iter().enumerate() {
            @let name = format!("masses_g.{index}");
            @let label = format!("{} to {} mm", fraction.passing_mm.value, fraction.retained_mm.value);
            @let wanted = fraction.mass_g.to_string();
            @let field = Field::number(view, FRACTIONS, &name, &label).unit("g").wanted(&wanted)
                .limits(fraction.mass_g.limits()).bench()
                .value_or(specimen.fraction_g(index));
            // The first that is still to be weighed is where balance and keyboard go.
            @if first_open == Some(index) { (field.focus()) } @else { (field) }
        }
        @if replaces { (Field::text(view, FRACTIONS, "reason", "Why a recorded mass is replaced").optional()) }
        (super::why::of_figures(method, grading, &["specimen."], &["fraction."]))
    })
}

fn weigh_before(
    view: &View<'_>,
    specimen: &Specimen,
    method: &Method,
    grading: &Grading,
) -> Markup {
    let form = Form::new(view, BEFORE, "Record the mass before")
        .hidden("specimen", specimen.code.as_str());
    form.body(html! {
        p.step-do { "Wash and dry the whole specimen at " (method.drying.temperature_c) " °C to constant mass, let it cool, and weigh it." }
        (parts::caution(Hazard::Hot, "The oven and what comes out of it are hot: gloves on, let it cool before weighing.", "common practice, no published source"))
        (Field::number(view, BEFORE, "mass_g", "Mass before, oven-dry").unit("g")
            .wanted(&method.specimen_mass()).limits(method.specimen_limits()).bench().focus()
            .value_or(constant_mass(view, specimen, Stage::Before)))
        (parts::item_select(view, BEFORE, "balance", "Balance", ItemKind::Balance))
        (parts::item_if_there_is_one(view, BEFORE, "oven", "Oven", ItemKind::Oven))
        @if specimen.before_g().is_some() { (Field::text(view, BEFORE, "reason", "Why the recorded mass is replaced")) }
        (super::why::of_figures(method, grading, &["specimen.mass_g", "drying."], &[]))
    })
}

fn weigh_after(view: &View<'_>, specimen: &Specimen, method: &Method, grading: &Grading) -> Markup {
    let sieve = method.loss_sieve_mm().map(|mm| format!("{mm} mm")).unwrap_or_default();
    let form =
        Form::new(view, AFTER, "Record the mass after").hidden("specimen", specimen.code.as_str());
    form.body(html! {
        p.step-do {
            "Wash over " (parts::sieves(method)) ", take out every ball, dry what the " (sieve)
            " sieve keeps at " (method.drying.temperature_c) " °C to constant mass, and weigh it."
        }
        @if method.vessel == Vessel::JarMill {
            (parts::caution(Hazard::Lifting, "A loaded jar is heavy and wet, balls roll: lift with care, open it over a tray with a rim, sweep up at once.", "common practice, no published source"))
        } @else {
            (parts::caution(Hazard::Turning, "A drum turns under an uneven load: lock the drive out before opening it. The balls weigh nearly half a kilogram each: tray with a rim, safety shoes. Damp the dust down, never blow it.", "29 CFR 1910.147, from memory, unconfirmed; common practice, no published source"))
        }
        (parts::caution(Hazard::Hot, "The oven and what comes out of it are hot: gloves on, let it cool before weighing.", "common practice, no published source"))
        (Field::number(view, AFTER, "mass_g", "Mass after, oven-dry").unit("g")
            .limits(Limits { lower: None, upper: specimen.before_g() }).bench().focus()
            .value_or(constant_mass(view, specimen, Stage::After)))
        (parts::item_select(view, AFTER, "balance", "Balance", ItemKind::Balance))
        (parts::sieve_select(view, AFTER, method.loss_sieve_mm()))
        (parts::item_if_there_is_one(view, AFTER, "oven", "Oven", ItemKind::Oven))
        @if specimen.after_g().is_some() { (Field::text(view, AFTER, "reason", "Why the recorded mass is replaced")) }
        (super::why::of_figures(method, grading, &["wash_sieves_mm", "drying.", "loss."], &[]))
    })
}

/// The mass that a series of drying weighings has come to.
fn constant_mass(view: &View<'_>, specimen: &Specimen, stage: Stage) -> Option<Decimal> {
    let is_constant = drying::is_constant(view, specimen, stage);
    let last = specimen.drying_at(stage).last().filter(|_| is_constant);
    last.map(|one| one.value.mass_g)
}

fn record(view: &View<'_>, specimen: &Specimen, method: &Method, grading: &Grading) -> Markup {
    let mut rows: Vec<Vec<Markup>> = Vec::new();
    for (index, fraction) in grading.fractions.iter().enumerate() {
        let what =
            format!("Fraction {} to {} mm", fraction.passing_mm.value, fraction.retained_mm.value);
        let masses = specimen.fractions.get(&index).map(Vec::as_slice).unwrap_or_default();
        rows.push(mass_row(view, &what, &fraction.mass_g.to_string(), masses));
    }
    if !grading.fractions.is_empty() {
        rows.push(vec![
            html! { "All fractions" },
            html! { (method.specimen_mass()) },
            html! { (shown(specimen.made_up_g())) },
            html! {},
        ]);
    }
    if method.weighs_before_and_after() {
        let wanted = method.specimen_mass();
        rows.push(mass_row(view, "Before the run, oven-dry", &wanted, &specimen.before));
        rows.push(mass_row(view, "After the run, oven-dry", "", &specimen.after));
    }
    html! {
        @if !rows.is_empty() {
            (parts::table("Masses of this specimen, g", &["What", "Wanted", "Weighed", "By"], &[1, 2], rows))
        }
        (super::readings::record(view, specimen, method, grading))
    }
}

/// A mass with every one that it replaced, struck through, and why.
fn mass_row(
    view: &View<'_>,
    what: &str,
    wanted: &str,
    masses: &[Noted<WeighedMass>],
) -> Vec<Markup> {
    let (last, former) = match masses.split_last() {
        Some((last, former)) => (Some(last), former),
        None => (None, masses),
    };
    vec![
        html! { (what) },
        html! { (wanted) },
        html! {
            @for old in former { s { (shown(old.value.mass_g)) } " " }
            @if let Some(last) = last {
                strong { (shown(last.value.mass_g)) }
                @if !last.value.as_read.is_empty() { br; span.quiet { "read as " (last.value.as_read) } }
            }
        },
        html! {
            @if let Some(last) = last {
                (parts::person(view, last.by.as_str())) ", " (parts::moment(view, last.at)) ", on " (last.value.balance)
                @for used in [&last.value.sieve, &last.value.guard_sieve, &last.value.oven].into_iter().flatten() { ", " (used) }
                @if !last.value.reason.is_empty() { "; replaced: " (last.value.reason) }
            }
        },
    ]
}
