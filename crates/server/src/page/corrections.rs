//! Forms that correct what was recorded, each on the page of what it corrects, and what was
//! recorded before.

use super::View;
use super::parts::{self, Field, Form};
use maud::{Markup, html};
use stonewear_lab::fact::{Placed, SampleChanges, Seen};
use stonewear_lab::state::{Check, Item, Run, Sample};
use stonewear_measure::{Decimal, Limits};
use stonewear_method::{Grading, Method, Toleranced};
use stonewear_procedure::{Difference, Expect, ItemKind};

const RUN: &str = "correct-run";
const OBSERVATION: &str = "correct-observation";
const SAMPLE: &str = "correct-sample";
const ITEM: &str = "correct-item";

const AGAIN: &str =
    "Results that stand on it get a new version, which somebody must release again.";

/// What lay with each specimen of a run.
pub(super) fn of_run(view: &View<'_>, run: &Run, rules: Option<(&Method, &Grading)>) -> Markup {
    let typed = view.typed.value(RUN, "specimen");
    let asked = view.asked("correct");
    let chosen = typed.or(asked.as_deref());
    html! {
        @for placed in &run.placed {
            @let is_chosen = chosen == Some(placed.specimen.as_str());
            // One form on a page: its fields are known by their ids, and what was refused for one
            // specimen is not offered for another.
            @if is_chosen || (chosen.is_none() && run.placed.len() == 1) {
                details #correction open[is_chosen] {
                    summary { "Correct the conditions of " (placed.specimen) }
                    (run_form(view, run, placed, rules))
                }
            } @else if typed.is_some() {
                p.quiet { (placed.specimen) ": first finish the correction that is begun." }
            } @else {
                (parts::go(&format!("Correct the conditions of {}", placed.specimen), &format!("/runs/{}?correct={}#correction", run.code, placed.specimen)))
            }
        }
        @for correction in &run.corrections {
            @let former = &correction.value;
            p.quiet {
                "Recorded before for " (former.placed.specimen) ": " s { (in_words(&former.placed)) }
                @if former.water_c != run.water_c {
                    @if let Some(celsius) = former.water_c { ", water at " s { (celsius) " °C" } }
                }
                "; corrected " (parts::moment(view, correction.at)) " by " (parts::person(view, correction.by.as_str()))
                ": " (former.reason)
            }
        }
    }
}

fn in_words(placed: &Placed) -> String {
    let charge = placed.charge.as_ref().map(|charge| match placed.charge_g {
        Some(mass) => format!("{charge} {mass} g"),
        None => charge.to_string(),
    });
    let parts = [
        placed.jar.as_ref().map(ToString::to_string),
        charge,
        placed.charge_balls.map(|balls| format!("{balls} balls")),
        placed.water_l.map(|litres| format!("water {litres} L")),
        placed.soaked_h.map(|hours| format!("soaked {hours} h")),
    ];
    parts.into_iter().flatten().collect::<Vec<_>>().join(", ")
}

fn run_form(
    view: &View<'_>,
    run: &Run,
    placed: &Placed,
    rules: Option<(&Method, &Grading)>,
) -> Markup {
    let charge = rules.and_then(|(_, grading)| grading.charge_g.as_ref());
    let balls = rules.and_then(|(_, grading)| grading.balls.as_ref()).map(|balls| balls.value);
    let water = rules.and_then(|(method, _)| method.water.as_ref());
    let soak = rules.and_then(|(method, _)| method.soak.as_ref());
    Form::new(view, RUN, "Correct it")
        .hidden("run", run.code.as_str())
        .hidden("specimen", placed.specimen.as_str())
        .body(html! {
            p { "Change only what is wrong. " (AGAIN) }
            div.pair {
                @if let Some(jar) = &placed.jar {
                    (parts::select(view, RUN, "jar", "Jar", items(view, ItemKind::Jar), jar.as_str()))
                }
                @if let Some(charge) = charge {
                    (parts::select(view, RUN, "charge", "Ball charge", items(view, ItemKind::BallCharge),
                        placed.charge.as_ref().map(stonewear_lab::ItemCode::as_str).unwrap_or_default()))
                    (Field::number(view, RUN, "charge_g", "Mass of the charge").unit("g")
                        .limits(charge.limits()).value_or(placed.charge_g))
                }
                @if let Some(balls) = balls {
                    (Field::number(view, RUN, "charge_balls", "Balls counted in").unit("balls")
                        .limits(super::runs::exactly(balls)).value_or(placed.charge_balls.map(Decimal::from)))
                }
                @if let Some(water) = water {
                    (Field::number(view, RUN, "water_l", "Water").unit("L")
                        .limits(water.volume_l.limits()).value_or(placed.water_l))
                }
                @if let Some(soak) = soak {
                    (Field::number(view, RUN, "soaked_h", "Soaked for").unit("h")
                        .limits(Limits::at_least(soak.hours_at_least.value)).value_or(placed.soaked_h))
                }
                @if let Some(water) = water {
                    (Field::number(view, RUN, "water_c", "Temperature of the water, for all jars").unit("°C")
                        .limits(water.temperature_c.as_ref().map(Toleranced::limits).unwrap_or_default())
                        .value_or(run.water_c).optional())
                }
            }
            (Field::text(view, RUN, "reason", "Why it was recorded otherwise"))
        })
}

fn items(view: &View<'_>, kind: ItemKind) -> parts::Options {
    view.lab
        .items_of(kind)
        .map(|item| (item.code.to_string(), format!("{} ({})", item.code, item.name)))
        .collect()
}

/// What was observed in a check.
pub(super) fn of_check(view: &View<'_>, check: &Check) -> Markup {
    let observed: parts::Options = check
        .procedure
        .steps
        .iter()
        .filter(|step| check.last_observation(&step.id).is_some())
        .map(|step| (step.id.clone(), step.title.clone()))
        .collect();
    let Some((first, _)) = observed.first().cloned() else { return html! {} };
    let has_two = check.procedure.steps.iter().any(|step| {
        matches!(&step.expect, Expect::Number { difference: Some(Difference::Less { .. }), .. })
    });
    let title = |id: &str| {
        check.procedure.step(id).map_or_else(|| id.to_owned(), |step| step.title.clone())
    };
    let corrected = check.observations.iter().filter_map(|observation| {
        Some((&observation.value, observation.value.corrected.as_ref()?))
    });
    html! {
        @for (observation, correction) in corrected {
            p.quiet {
                (title(&observation.step)) ": recorded " s { (seen(&observation.seen)) } ", really " strong { (seen(&correction.value.seen)) }
                "; corrected " (parts::moment(view, correction.at)) " by " (parts::person(view, correction.by.as_str()))
                ": " (correction.value.reason)
            }
        }
        details open[view.typed.was_refused(OBSERVATION)] {
            summary { "Correct what was recorded at a step" }
            (Form::new(view, OBSERVATION, "Correct it").hidden("check", check.code.as_str()).body(html! {
                p { "What was recorded first stays in the record. If the item did not pass after all, it is held, and the results that stand on it are in doubt." }
                (parts::select(view, OBSERVATION, "step", "Step", observed, &first))
                (Field::text(view, OBSERVATION, "seen", "What was really seen or read").hint("yes or no, or the number"))
                @if has_two { (Field::text(view, OBSERVATION, "less", "What is taken off it").optional().hint("only at a step that judges the difference of two readings")) }
                (Field::text(view, OBSERVATION, "reason", "Why it was recorded otherwise"))
            }))
        }
    }
}

fn seen(seen: &Seen) -> String {
    match seen {
        Seen::AsExpected(true) => "yes".to_owned(),
        Seen::AsExpected(false) => "no".to_owned(),
        Seen::Number(value) => value.to_string(),
    }
}

/// What is recorded about a sample.
pub(super) fn of_sample(view: &View<'_>, sample: &Sample) -> Markup {
    let text =
        |name, label, now: &str| Field::text(view, SAMPLE, name, label).default(now).optional();
    html! {
        @for correction in &sample.corrections {
            p.quiet {
                "Recorded before: " s { (changes_in_words(&correction.value.former)) }
                "; corrected " (parts::moment(view, correction.at)) " by " (parts::person(view, correction.by.as_str()))
                ": " (correction.value.reason)
            }
        }
        details open[view.typed.was_refused(SAMPLE)] {
            summary { "Correct what is recorded" }
            (Form::new(view, SAMPLE, "Correct it").hidden("sample", sample.code.as_str()).body(html! {
                p { "Change only what is wrong. " (AGAIN) }
                (text("source", "Where it comes from", &sample.source))
                (text("material", "What it is", &sample.material))
                (Field::number(view, SAMPLE, "nominal_maximum_mm", "Nominal maximum size").unit("mm").value_or(Some(sample.nominal_maximum_mm)))
                (text("client", "Client", &sample.client))
                (text("project", "Works", &sample.project))
                (text("intended_use", "Intended use", &sample.intended_use))
                (text("client_address", "Client's address", &sample.client_address))
                (text("client_reference", "Client's reference", &sample.client_reference))
                (text("sampling_plan", "Sampling plan and method", &sample.sampling_plan))
                (text("condition", "Condition on arrival", &sample.condition))
                (Field::number(view, SAMPLE, "limit_percent", "Most loss that is allowed").unit("%").value_or(sample.limit_percent).optional())
                (text("limit_document", "Document that sets this limit", &sample.limit_document))
                (text("limit_method", "Method that this limit is for", &sample.limit_method))
                (Field::text(view, SAMPLE, "reason", "Why it was recorded otherwise"))
            }))
        }
    }
}

fn changes_in_words(former: &SampleChanges) -> String {
    let sizes = [
        former.nominal_maximum_mm.map(|size| format!("nominal maximum size {size} mm")),
        former.limit_percent.map(|limit| format!("limit {limit} %")),
    ];
    let texts = [
        ("source", &former.source),
        ("client", &former.client),
        ("works", &former.project),
        ("material", &former.material),
        ("intended use", &former.intended_use),
        ("client's address", &former.client_address),
        ("client's reference", &former.client_reference),
        ("sampling plan", &former.sampling_plan),
        ("condition", &former.condition),
        ("document of the limit", &former.limit_document),
        ("method of the limit", &former.limit_method),
    ];
    let texts = texts.into_iter().filter_map(|(name, text)| {
        let text = text.as_ref()?;
        Some(if text.is_empty() { format!("no {name}") } else { format!("{name} “{text}”") })
    });
    let all: Vec<String> = texts.chain(sizes.into_iter().flatten()).collect();
    if all.is_empty() { "nothing".to_owned() } else { all.join(", ") }
}

/// How an item is described.
pub(super) fn of_item(view: &View<'_>, item: &Item) -> Markup {
    html! {
        details open[view.typed.was_refused(ITEM)] {
            summary { "Correct how it is described" }
            (Form::new(view, ITEM, "Correct it").hidden("item", item.code.as_str()).body(html! {
                (Field::text(view, ITEM, "name", "What people call it").default(&item.name).optional())
                (Field::text(view, ITEM, "maker_and_serial", "Maker and number").default(&item.maker_and_serial).optional())
                @if let Some(unit) = item.kind.unit_read() {
                    (Field::number(view, ITEM, "resolution", "Smallest step that it shows").unit(unit).value_or(item.resolution).optional())
                }
                (Field::text(view, ITEM, "reason", "Why"))
            }))
        }
    }
}
