//! What can be taken out of the laboratory as files.

use super::{Page, View, parts};
use maud::html;
use stonewear_exchange::out::{What, subject};

pub(super) fn page(view: &View<'_>) -> Page {
    let rows = What::ALL.map(|what| {
        let count = subject(view.lab, what).rows.len();
        let link = |kind: &str| {
            html! { a href={ "/export/" (what.name()) "." (kind) } { (kind.to_uppercase()) span.off-page { " of " (what.name().replace('-', " ")) } } }
        };
        vec![
            html! { (parts::capital(&what.name().replace('-', " "))) },
            html! { (what.one_row()) },
            html! { (count) },
            link("xlsx"),
            link("csv"),
            link("json"),
        ]
    });
    let head = ["Table", "One row is", "Rows", "Workbook", "Tidy CSV", "JSON"];
    let body = html! {
        (parts::table("Tables", &head, &[2], rows.into()))
        (parts::section("All of them", html! {
            (parts::go("One workbook, a sheet for each table", "/export/everything.xlsx"))
            (parts::go("One JSON document", "/export/everything.json"))
        }))
        (parts::section("What the columns mean", html! {
            p { "Numbers have the decimals that they were read or reported with; in JSON they are texts, so that no program rounds them." }
            (parts::go("Data dictionary: every column with its unit", "/export/columns.csv"))
            (parts::go("JSON Schema of the documents", "/export/tables.schema.json"))
        }))
        (parts::section("A loss as living formulas", html! {
            p { "The page of a result has it as a workbook: other masses give other losses, rounded as the method says." }
        }))
        (parts::section("The whole laboratory", html! {
            p {
                "Journal, attached files, the laboratory's own methods and the description of the format, to be kept or moved: "
                code { "stonewear journal pack --into FOLDER" }
            }
        }))
    };
    Page::new("Tables and files", body)
        .below("Journal", "/journal")
        .lead("What is recorded, as files for other programs.")
}
