//! Fields, choices, buttons and problems in their states, at the bench and at the desk.

use super::{milli, section};
use crate::look::{
    self, Caution, Choice, Field, Hazard, Mode, Problem, Select, Step, Tone, actions, button,
    grave_button, link_button, mark, problem_summary, second_button, verdict,
};
use maud::{Markup, html};
use stonewear_picture::ToleranceStrip;

pub(super) fn show() -> Markup {
    html! {
        (section("A step at the bench", &bench_step()))
        (section("The same step at the desk", &desk_step()))
        (section("A form that was refused", &refused()))
        (section("Fields and choices", &fields()))
    }
}

fn mass(thousandths: i64) -> ToleranceStrip {
    ToleranceStrip {
        label: "Mass before".into(),
        unit: "g".into(),
        lower: Some(milli(1_495_000)),
        upper: Some(milli(1_505_000)),
        value: Some(milli(thousandths)),
        ..ToleranceStrip::default()
    }
}

fn step(mode: Mode, state: Markup, body: Markup) -> Step<'static> {
    Step {
        mode,
        number: 3,
        of: 9,
        title: "Weigh the empty jar with its lid".into(),
        instruction:
            "Dry the jar outside and inside. Put it on the balance with lid and seal, and \
                      read when the figure stands still."
                .into(),
        cautions: vec![Caution {
            hazard: Hazard::Lifting,
            heading: "A filled jar is heavy".into(),
            words:
                "Lift it with both hands, from the knees; a second person where local rules ask \
                    for one."
                    .into(),
            source: "Common practice; local codes go first.".into(),
        }],
        state,
        body,
        why: "A jar that changes its mass loses steel or takes up water; both end in the loss."
            .into(),
        source: "Source: invented for this page.".into(),
    }
}

fn bench_step() -> Markup {
    let form = html! {
        form method="post" data-bench data-draft="gallery-step-3" {
            (Field::new("mass", "Mass of the jar with lid").scope("bench").reading().unit("g")
                .limit("1495 g to 1505 g").judged_at("/judge?field=mass").value("1499.2")
                .verdict(verdict(Tone::Good, "Inside the limits", Some(&mass(1_499_200)))))
            (actions(&html! { (button("Record and go on")) (second_button("Stop here", "then", "stop")) }))
        }
    };
    html! { (step(Mode::Bench, mark(Tone::Active, "Being done"), form)) }
}

fn desk_step() -> Markup {
    let observed = html! {
        (look::facts(&[
            ("Observed", html! { span.number { "1499.2 g" } }),
            ("By", look::person("IB", "Ines Brandt")),
            ("When", html! { "4 March 2031, 13:05" }),
            ("With", html! { a href="#main" { "BAL-2" } }),
        ]))
        (look::strip(&mass(1_499_200)))
    };
    html! { (Step { number: 4, ..step(Mode::Desk, mark(Tone::Good, "Holds"), observed) }) }
}

fn refused() -> Markup {
    let wrong = |id: &'static str, message: &'static str, hint: &'static str| Problem {
        id: id.into(),
        message: message.into(),
        hint: hint.into(),
    };
    let mass_wrong = wrong(
        "refused-mass",
        "1540 g is above the greatest mass allowed, 1505 g.",
        "Make the specimen up again, or record a reason for the deviation.",
    );
    let grading =
        wrong("refused-grading", "No grading is chosen.", "Choose the one that was made up.");
    html! {
        div.panel {
            (problem_summary(&[mass_wrong.clone(), grading.clone()]))
            form method="post" {
                (Field::new("mass", "Mass before").scope("refused").decimal().unit("g").value("1540")
                    .limit("1495 g to 1505 g").problem(Some(mass_wrong)))
                (Choice::new("grading", "Grading").scope("refused").problem(Some(grading))
                    .option("a", "9.5 to 19 mm", "The coarse one")
                    .option("b", "4.75 to 12.5 mm", "The fine one"))
                (actions(&html! { (button("Record")) }))
            }
        }
    }
}

fn fields() -> Markup {
    html! {
        div.panel {
            form method="post" data-draft="gallery-fields" {
                div.pair {
                    (Field::new("name", "Name of the quarry").hint("As it stands on the delivery note.")
                        .suggest(["Upper Invented Pit", "Lower Invented Pit"]))
                    (Field::new("received", "Received on").date())
                    (Field::new("count", "Revolutions on the counter").count().unit("rev"))
                    (Select::new("method", "Method").option("m1", "Coarse, invented edition")
                        .option("m2", "Fine, invented edition").chosen("m1"))
                }
                (Choice::new("verdict", "Does the seal hold?")
                    .option("yes", "It holds", "No drop after a minute upside down.")
                    .option("no", "It leaks", "Any drop at all.").chosen("yes"))
                (Choice::new("rights", "What may this person do?").many().optional()
                    .option("test", "Test", "").option("release", "Release results", "").chosen("test"))
                (Field::new("reason", "Reason for the deviation").lines().optional()
                    .hint("It is printed on the report."))
                (actions(&html! {
                    (button("Record")) (link_button("Back to the sample", "#main"))
                    (grave_button("Retire the item"))
                    button.button type="button" disabled { "Not yet" }
                }))
                p.kept { "Kept on this tablet, not yet sent." }
            }
        }
    }
}
