//! Marks, cautions, tables and the rest.

use super::section;
use crate::look::{
    Caution, Empty, Hazard, StepAhead, Table, Tone, facts, formula, item, link_button, mark, person,
};
use maud::{Markup, html};

pub(super) fn show() -> Markup {
    html! {
        (section("States", &html! {
            div.pair {
                (mark(Tone::Good, "In service")) (mark(Tone::Edge, "Expires soon"))
                (mark(Tone::Bad, "Held")) (mark(Tone::Active, "Being proved"))
                (mark(Tone::Plain, "Retired"))
            }
        }))
        (section("Cautions", &html! { div.pair { @for caution in cautions() { (caution) } } }))
        (section("Items and people", &html! {
            div.pair {
                div.panel {
                    (item("MILL-1", "Invented jar mill", Some("#main"), Tone::Good, "In service"))
                    (item("BAL-2", "Bench balance", Some("#main"), Tone::Bad, "Held"))
                    (item("OVEN-1", "Drying oven", None, Tone::Active, "Being proved"))
                }
                div.panel {
                    p { (person("IB", "Ines Brandt")) }
                    p { (person("TMO", "Tomas Moreau-Okafor")) }
                    (facts(&[
                        ("Signs", html! { "IB" }),
                        ("May", html! { "test, release results" }),
                        ("Since", html! { "12 January 2029" }),
                    ]))
                }
            }
        }))
        (section("Table", &html! { (table()) }))
        (section("What is asked, and what is not ready", &html! {
            ul.tasks {
                li { a.task href="#main" { (mark(Tone::Bad, "overdue")) " " b { "MILL-1: run lot RA-1" } " " span { "2031-03-01" } } }
                li { a.task href="#main" { b { "L31-012" } " " span { "release the loss of 14.2 %" } " " span.quiet { "only you may" } } }
            }
            ul.lacks {
                li {
                    span { b { "MILL-1" } span.quiet { " for an invented method: " } "BAL-2: it is held" }
                    (link_button("See to BAL-2", "#main"))
                }
            }
            details.why {
                summary { "Why this step, and if it fails" }
                p { "A jar that changes its mass loses steel or takes up water." }
                p { b { "If it is not so: " } "dry it and weigh it again." }
            }
        }))
        (section("Worked formula", &formula(
            "Loss of specimen S31-042-1",
            &[
                "loss = 100 × (mass before − mass after) / mass before".to_owned(),
                "= 100 × (1499.2 g − 1286.3 g) / 1499.2 g".to_owned(),
                "= 14.2009… %".to_owned(),
                "= 14.2 %, rounded once to 0.1 %, half to even".to_owned(),
            ],
            "Invented masses; the method's own formula and rounding stand here with their source.",
        )))
        (section("Nothing yet", &html! {
            (Empty {
                heading: "No machine is proved yet".into(),
                words: "A result stands on checks. The first takes about half an hour, with a balance, \
                        a stopwatch and some water.".into(),
                steps: [("Name the laboratory and its people", true), ("Describe the machine", false),
                    ("Do the first check", false)]
                    .map(|(words, is_done)| StepAhead { words: words.into(), is_done }).to_vec(),
                action: html! {
                    a.button href="#main" { "Describe the machine" }
                    (link_button("Look around in the demo laboratory", "#main"))
                },
            })
        }))
    }
}

fn cautions() -> Vec<Caution<'static>> {
    [
        (Hazard::Turning, "Turning jars draw a hand in", "Never reach between jar and roller. Stop the machine and wait until it stands."),
        (Hazard::Mains, "Mains near water", "Dry hands, dry floor, a protected socket. Work on the wiring is for licensed people."),
        (Hazard::Hot, "Hot pans", "Gloves and tongs; let pans cool before they are weighed."),
        (Hazard::Dust, "Dust of stone", "It can hold silica. Sieve under extraction or wet, with the mask that local rules name."),
        (Hazard::Noise, "Loud while it turns", "Ear protection in the room."),
        (Hazard::Other, "Take care", "Ask before you go on."),
    ]
    .map(|(hazard, heading, words)| Caution {
        hazard,
        heading: heading.into(),
        words: words.into(),
        source: "Common practice; local codes go first.".into(),
    })
    .to_vec()
}

fn table() -> Table<'static> {
    let rows = [
        ("S31-042-1", "1499.2", "1286.3", "14.2", Tone::Good, "Released"),
        ("S31-042-2", "1501.0", "1284.9", "14.4", Tone::Edge, "To be released"),
        ("S31-039-1", "1498.7", "", "", Tone::Active, "Turning"),
    ];
    let mut table = Table::new("Specimens of this week")
        .column("Specimen")
        .figures("Before, g")
        .figures("After, g")
        .figures("Loss, %")
        .column("State");
    for (code, before, after, loss, tone, word) in rows {
        table = table.row([
            html! { a href="#main" { (code) } },
            html! { (before) },
            html! { (after) },
            html! { (loss) },
            mark(tone, word),
        ]);
    }
    table
}
