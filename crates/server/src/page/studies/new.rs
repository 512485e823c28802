//! Planning a study, or taking one that was carried out elsewhere from a table.

use crate::look;
use crate::page::parts::{self, Field, Form};
use crate::page::{Page, View};
use maud::{Markup, html};
use stonewear_lab::fact::Question;
use stonewear_lab::state::ReferenceLot;

const PLAN: &str = "plan-study";

/// Factors that a study can have.
const FACTORS: usize = 3;

pub(in crate::page) fn new(view: &View<'_>) -> Page {
    let from_table = view.asked("from").is_some_and(|from| from == "table");
    let (title, body) = if from_table {
        ("A study that was carried out elsewhere", import(view))
    } else {
        ("Plan a study", plan(view))
    };
    Page::new(title, body).below("In control", "/control").below("Studies", "/studies")
}

fn questions(view: &View<'_>) -> Markup {
    let all = Question::ALL.map(|(_, name, words)| (name.to_owned(), words.to_owned()));
    let asked = view.asked("question");
    let chosen = asked.as_deref().unwrap_or(Question::Same.name());
    parts::radios(view, PLAN, "question", "The question", all.to_vec(), Some(chosen))
}

fn factors(view: &View<'_>, of_a_table: bool) -> Markup {
    html! {
        @for n in 0..FACTORS {
            (Field::text(view, PLAN, &format!("factors.{n}.name"), &format!("Factor {}", n + 1))
                .optional()
                .hint(if of_a_table { "the name of its column" } else { "position, jar, charge, operator, machine, turning, or another" }))
            @if !of_a_table {
                (Field::text(view, PLAN, &format!("factors.{n}.levels"), &format!("Levels of factor {}", n + 1))
                    .optional()
                    .hint("with commas between them"))
            }
        }
        (parts::tick_box(view, PLAN, "nested", "The levels of factor 2 lie within those of factor 1"))
    }
}

/// The lot that the value of a qualification comes from, where the address names one.
fn lot<'a>(view: &View<'a>) -> Option<&'a ReferenceLot> {
    view.lab.lots.get(view.asked("lot")?.as_str())
}

/// The newest sample of a lot.
fn sample_of(view: &View<'_>, lot: &ReferenceLot) -> String {
    let mut samples = view.lab.samples.values().rev();
    let found = samples.find(|sample| {
        view.lab.lot_of_sample.get(&sample.code).is_some_and(|linked| linked.value == lot.code)
    });
    found.map(|sample| sample.code.to_string()).unwrap_or_default()
}

/// What agreement is judged by.
fn agreement(view: &View<'_>) -> Markup {
    let assigned = lot(view).and_then(|lot| lot.assigned.as_ref());
    let value = assigned.map(|assigned| assigned.loss_percent);
    let standard = assigned
        .and_then(|assigned| assigned.expanded_percent.checked_div(2.into()))
        .map(|standard| standard.normalize());
    let source = assigned.map_or("", |assigned| assigned.document.as_str());
    html! {
        (Field::text(view, PLAN, "difference_source", "Where a margin comes from").optional().hint("needed where agreement is asked for"))
        (Field::number(view, PLAN, "reference_value", "Reference value").optional().hint("only for the question about it").value_or(value))
        (Field::number(view, PLAN, "reference_uncertainty", "Its standard uncertainty").optional().value_or(standard))
        (Field::text(view, PLAN, "reference_source", "Where the reference value comes from").optional().default(source))
    }
}

fn confidence(view: &View<'_>) -> Markup {
    html! {
        (Field::number(view, PLAN, "power", "Wanted probability of seeing it").unit("%").optional().hint("left out, 80: common practice"))
        (Field::number(view, PLAN, "confidence", "Confidence").unit("%").optional().hint("left out, 95: common practice"))
    }
}

fn plan(view: &View<'_>) -> Markup {
    let drawn = (uuid::Uuid::new_v4().as_u128() as u32).to_string();
    let seed = view.typed.value(PLAN, "seed").map_or(drawn, str::to_owned);
    let methods: parts::Options = view
        .lab
        .methods
        .values()
        .filter(|one| one.method.weighs_before_and_after())
        .map(|one| (one.id.to_string(), one.method.dated()))
        .collect();
    if methods.is_empty() {
        let words = "The runs of a study are by a method that weighs before and after.";
        return parts::lead("No method is in use", words, "/methods", "Take one into use");
    }
    let usual = lot(view).map_or_else(|| parts::usual_method(view), |lot| lot.method.to_string());
    let sample = lot(view).map(|lot| sample_of(view, lot)).unwrap_or_default();
    html! {
        p { "Not finding a difference does not show agreement: where two shall replace each other, ask whether they agree within a margin." }
        (Form::new(view, PLAN, "Plan it").at("/studies/new".to_owned()).body(html! {
            (Field::text(view, PLAN, "title", "What it is to tell").hint("like are the four positions the same").focus())
            (questions(view))
            (parts::select(view, PLAN, "method", "Method", methods, &usual))
            (Field::text(view, PLAN, "sample", "Sample").hint("all specimens are of it; mix it well").default(&sample))
            (Field::text(view, PLAN, "item", "Equipment that it is about").default(&view.asked("item").unwrap_or_default()).optional())
            h2 { "What is varied" }
            p { "The factor in question first; none for the question about a reference value." }
            (factors(view, false))
            h2 { "What is to be seen" }
            (Field::number(view, PLAN, "difference", "The difference that matters, or the margin of agreement (±)").unit("% loss"))
            (agreement(view))
            (Field::number(view, PLAN, "expected_difference", "Difference that is expected all the same").unit("% loss").optional().hint("where agreement is asked for; left out, none"))
            (confidence(view))
            h2 { "How results scatter" }
            p { "Give your own standard deviation with its source, or the expected loss: the repeatability that the method states is used then." }
            (Field::number(view, PLAN, "deviation", "Standard deviation of single results").unit("% loss").optional())
            (Field::text(view, PLAN, "deviation_source", "Where it comes from").optional())
            (Field::number(view, PLAN, "expected", "Expected loss").unit("%").optional())
            (Field::number(view, PLAN, "repetitions", "Repetitions of the design").optional().hint("left out, as many as the power needs"))
            (Field::text(view, PLAN, "seed", "Seed of the order").default(&seed).hint("drawn by chance; kept, so that anybody can draw the order again"))
        }))
    }
}

fn import(view: &View<'_>) -> Markup {
    html! {
        p { "Every row is a run: a column for each factor, and one of values. The values are marked as imported." }
        (Form::new(view, PLAN, "Record it").at("/studies/new?from=table".to_owned()).body(html! {
            (Field::text(view, PLAN, "title", "What it is to tell").focus())
            (questions(view))
            (Field::text(view, PLAN, "table", "The table").lines().hint("with a row of names at its head"))
            (Field::text(view, PLAN, "document", "Where the values are on record"))
            (Field::text(view, PLAN, "value_column", "Column of values").optional().hint("left out, loss or the last one"))
            (Field::text(view, PLAN, "unit", "Unit of the values").optional().hint("left out, % loss"))
            (Field::text(view, PLAN, "item", "Equipment that it is about").optional())
            details {
                summary { "Choose the columns, or say what it is judged by" }
                p { "Without names, every column but that of the values is a factor." }
                (factors(view, true))
                (Field::number(view, PLAN, "difference", "The difference that matters, or the margin of agreement (±)").optional())
                (agreement(view))
                (confidence(view))
            }
        }))
        (look::actions(&look::link_button("Plan one instead", "/studies/new")))
    }
}
