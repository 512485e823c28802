//! Spreadsheets of the past: sent, looked at, imported; and what became of them.

use super::{Page, Seat, View, parts, view};
use crate::form::Typed;
use crate::imports::Judged;
use crate::look::{self, Tone};
use crate::shelf::Shelved;
use axum::http::Uri;
use maud::{Markup, html};
use std::collections::{BTreeMap, BTreeSet};
use stonewear_exchange::taken::{
    Book, DayOrder, Field, Layout, Plan, Source, fields, row_of, suggest,
};
use stonewear_lab::fact::{Fact, ImportKind};
use stonewear_lab::refusal::Problem;
use stonewear_lab::state::FileImport;
use stonewear_runtime::OpenLaboratory;

/// Rows that are shown of a file, and of what became of it.
const ROWS_SHOWN: usize = 8;
/// Bad rows that are named on the page; the table to be mended has all.
const BAD_SHOWN: usize = 50;
/// Imported rows that are listed on a page; the file itself has all.
const LISTED: usize = 200;

/// All files that were imported, and the form to send another.
pub(super) fn list(view: &View<'_>) -> Page {
    let rows = view.lab.file_imports.values().rev().map(|import| {
        let file = &import.file.value;
        vec![
            html! { a.code href={ "/imports/" (file.import) } { (file.import) } },
            html! { (file.name) },
            html! { (file.what.in_words()) },
            html! { (file.rows) },
            html! { (import.made()) },
            html! { (file.left_out.len()) },
            html! { (parts::person(view, import.file.by.as_str())) ", " (parts::day(view, import.file.at)) },
        ]
    });
    let head = ["Import", "File", "What", "Rows", "Became", "Left out", "By"];
    let body = html! {
        (send(view))
        @if view.lab.file_imports.is_empty() { p.quiet { "Nothing was imported yet." } }
        @else { (parts::table_below_heading("Imported files, newest first", &head, &[3, 4, 5], rows.collect())) }
    };
    Page::new("Imports", body).below("Journal", "/journal").lead(
        "What the laboratory has in spreadsheets: equipment, past reference results, past tests, past sieve analyses. \
         It is kept as history of its own kind, never mixed with what was observed here.",
    )
}

fn send(view: &View<'_>) -> Markup {
    if view.laboratory.is_for_reading_only() {
        return html! {};
    }
    html! {
        form method="post" action="/imports/file" enctype="multipart/form-data" {
            @let problems: Vec<look::Problem<'_>> = view.typed.problems.iter()
                .map(|problem| parts::problem_of(problem, String::new())).collect();
            @if !problems.is_empty() { (look::problem_summary(&problems)) }
            div.field {
                label for="import-file" { "A CSV file or a workbook (.xlsx)" }
                input type="file" id="import-file" name="file" accept=".csv,.txt,.xlsx" aria-describedby="import-hint";
                p.hint id="import-hint" { "20 MB at most. Next you see how it is read; nothing is imported before you say so." }
            }
            (look::actions(&look::button("Look at it")))
        }
    }
}

/// The page of all imports, after a file that could not be read.
pub(crate) fn sent_again(
    laboratory: &OpenLaboratory,
    uri: &Uri,
    seat: &Seat,
    typed: &Typed,
) -> Markup {
    let view = view(laboratory, uri, seat, typed);
    parts::shell(&view, list(&view))
}

/// What is said where a file is not on the shelf any longer.
pub(crate) fn gone(laboratory: &OpenLaboratory, uri: &Uri, seat: &Seat) -> Markup {
    let typed = Typed::default();
    let view = view(laboratory, uri, seat, &typed);
    let body = html! {
        p { "Files that are being looked at are kept in memory only, and others took the place of this one, or the program was started again." }
        (parts::go("Send it again", "/imports"))
    };
    parts::shell(&view, Page::new("The file is not here any longer", body))
}

/// A file that is being looked at.
pub(crate) struct Look<'a> {
    pub(crate) file: &'a Shelved,
    pub(crate) book: &'a Book,
    pub(crate) plan: &'a Plan,
    pub(crate) judged: Judged,
    /// Why it was not imported just now.
    pub(crate) problems: Vec<Problem>,
}

/// How a file is read, and what would become of it.
pub(crate) fn look(laboratory: &OpenLaboratory, uri: &Uri, seat: &Seat, look: &Look<'_>) -> Markup {
    let typed = Typed::default();
    let view = view(laboratory, uri, seat, &typed);
    let body = html! {
        (earlier(&view, look.file))
        (problems(&look.problems))
        (parts::section("How it is read", mapping(&view, look)))
        (parts::section("What becomes of it", preview(look)))
        (import_form(&view, look))
    };
    let page = Page::new(format!("Import {}", look.file.name), body).below("Imports", "/imports");
    parts::shell(&view, page)
}

/// That the very same file was imported before.
fn earlier(view: &View<'_>, file: &Shelved) -> Markup {
    let before: Vec<&FileImport> = view.lab.imports_of_file(&file.sha256).collect();
    html! {
        @for import in before {
            p role="note" {
                (look::mark(Tone::Edge, "This very file was imported already")) " as "
                a.code href={ "/imports/" (import.code()) } { (import.code()) } ", "
                (parts::person(view, import.file.by.as_str())) ", " (parts::moment(view, import.file.at))
                ". Rows that are here are not taken over again."
            }
        }
    }
}

fn problems(problems: &[Problem]) -> Markup {
    // Rows are named below, where they are shown.
    let whole = problems.iter().filter(|problem| row_of(problem).is_none());
    let shown: Vec<look::Problem<'_>> =
        whole.map(|problem| parts::problem_of(problem, String::new())).collect();
    html! {
        @if !shown.is_empty() { (look::problem_summary(&shown)) }
        @else if !problems.is_empty() {
            p role="alert" { (look::mark(Tone::Bad, "nothing was imported")) " Some rows are wrong: mend them, or say to leave them out." }
        }
    }
}

fn mapping(view: &View<'_>, look: &Look<'_>) -> Markup {
    let plan = look.plan;
    let Some(sheet) = look.book.sheet(&plan.sheet) else {
        return html! { p { "There is no sheet “" (plan.sheet) "”." } };
    };
    let layout = suggest(sheet, plan.what);
    let kinds = ImportKind::ALL.iter().fold(
        look::Choice::new("what", "Its rows are").chosen(plan.what.as_str()),
        |choice, kind| choice.option(kind.as_str(), parts::capital(kind.in_words()), ""),
    );
    let sheets = look.book.sheets.iter().filter(|sheet| !sheet.rows.is_empty());
    let sheets = sheets.fold(
        look::Select::new("sheet", "Sheet").chosen(sheet.name.clone()).optional(),
        |select, sheet| select.option(sheet.name.clone(), sheet.name.clone()),
    );
    let order = look::Choice::new("order", "Days like 03/04/2025")
        .option("day-first", "The day comes first", "3 April")
        .option("month-first", "The month comes first", "4 March")
        .hint("Asked only where the file does not show it.")
        .optional()
        .chosen(plan.order.map_or("", |order| match order {
            DayOrder::DayFirst => "day-first",
            DayOrder::MonthFirst => "month-first",
        }));
    html! {
        p.quiet { "The heading stands in row " (sheet.rows.get(layout.heading_row).map_or(0, |row| row.number)) "; " (layout.rows(sheet).len()) " rows below it hold something." }
        form method="get" action=(view.path) {
            (kinds)
            @if look.book.sheets.len() > 1 { (sheets) } @else { input type="hidden" name="sheet" value=(plan.sheet); }
            input type="hidden" name="chosen_for" value=(plan.what.as_str());
            @for field in fields(plan.what) { (column(field, &layout, plan)) }
            (order)
            (look::actions(&look::button("Show what becomes of it")))
        }
    }
}

/// Which column a field is, or what it is in every row.
fn column(field: &Field, layout: &Layout, plan: &Plan) -> Markup {
    let (chosen, same) = match plan.source(layout, &field.field) {
        Source::Column(place) => (place.to_string(), String::new()),
        Source::Same(text) => (String::new(), text),
        Source::Nowhere => (String::new(), String::new()),
    };
    let unit = if field.unit.is_empty() { String::new() } else { format!(", {}", field.unit) };
    // What can be said of every row need not be a column.
    let can_be_same =
        !field.number && !field.day && !["code", "name", "serial"].contains(&field.field.as_str());
    let select =
        look::Select::new(format!("column.{}", field.field), format!("{}{unit}", field.title))
            .hint(parts::capital(&field.meaning))
            .chosen(chosen);
    let select = if field.needed && !can_be_same { select } else { select.optional() };
    let headings = layout.headings.iter().enumerate().filter(|(_, heading)| !heading.is_empty());
    let select = headings
        .fold(select, |select, (place, heading)| select.option(place.to_string(), heading.clone()));
    html! {
        (select)
        @if can_be_same {
            (look::Field::new(format!("same.{}", field.field), format!("Or the same {} for every row", field.title.to_lowercase()))
                .value(same).optional())
        }
    }
}

fn preview(look: &Look<'_>) -> Markup {
    let Judged { request, facts, bad, hindered } = &look.judged;
    html! {
        (problems(hindered))
        @if let Some(request) = request {
            @let heads: Vec<String> = std::iter::once("Row".to_owned())
                .chain(request.columns.iter().map(|column| title(look.plan.what, &column.field))).collect();
            @let heads: Vec<&str> = heads.iter().map(String::as_str).collect();
            @let rows = request.rows.iter().take(ROWS_SHOWN).map(|row| {
                std::iter::once(html! { (row.row) }).chain(row.cells.iter().map(|cell| html! { (cell) })).collect()
            });
            (parts::table(&format!("The first of {} rows, as they are read", request.rows.len()), &heads, &[0], rows.collect()))
        }
        @if !facts.is_empty() {
            ul { @for line in would_be(facts) { li { (line) } } }
        }
        @if !bad.is_empty() {
            @let rows: BTreeSet<u64> = bad.iter().filter_map(row_of).collect();
            p { (look::mark(Tone::Bad, format!("wrong rows: {}", rows.len()))) " Each with what is wrong, and what would be right:" }
            ul { @for problem in bad.iter().take(BAD_SHOWN) { li { (parts::words(problem)) } } }
            @if bad.len() > BAD_SHOWN { p { "And " (bad.len() - BAD_SHOWN) " more." } }
            (parts::go("The bad rows as CSV, to be mended and imported again", &format!("/imports/new/{}/rows-to-mend.csv?{}", look.file.sha256, query(look.plan))))
        }
    }
}

fn title(what: ImportKind, name: &str) -> String {
    let known = fields(what).iter().find(|field| field.field == name);
    known.map_or(name.to_owned(), |field| field.title.clone())
}

/// What would follow, in a few lines.
fn would_be(facts: &[Fact]) -> Vec<String> {
    let mut counts: BTreeMap<&str, usize> = BTreeMap::new();
    let mut lines = Vec::new();
    for fact in facts {
        match fact {
            Fact::FileImported(file) if file.known > 0 => {
                lines.push(format!("{} rows are here already and stay as they are", file.known));
            }
            Fact::ItemRegistered { .. } => {
                *counts.entry("items, each still to be proved by its checks").or_default() += 1;
            }
            Fact::ReferenceImported(past) => {
                *counts.entry("past results on control charts, as history").or_default() +=
                    past.results.len();
            }
            Fact::PastTestsImported(past) => {
                *counts.entry("past tests, marked as imported").or_default() += past.tests.len();
            }
            Fact::PastSievingsImported(past) => {
                *counts.entry("past sieve analyses, marked as imported").or_default() +=
                    past.analyses.len();
            }
            _ => {}
        }
    }
    let counted = counts.into_iter().map(|(what, count)| format!("{count} {what}"));
    counted.chain(lines).collect()
}

/// The plan as the fields of a form say it.
fn plan_fields(plan: &Plan) -> Vec<(String, String)> {
    let mut all = vec![
        ("what".to_owned(), plan.what.to_string()),
        ("sheet".to_owned(), plan.sheet.clone()),
        ("order".to_owned(), plan.order.map(|order| order.to_string()).unwrap_or_default()),
    ];
    if !plan.chosen.is_empty() {
        all.push(("chosen_for".to_owned(), plan.what.to_string()));
    }
    for (field, source) in &plan.chosen {
        match source {
            Source::Column(place) => all.push((format!("column.{field}"), place.to_string())),
            Source::Same(text) => all.push((format!("same.{field}"), text.clone())),
            Source::Nowhere => {}
        }
    }
    all
}

fn query(plan: &Plan) -> String {
    form_urlencoded::Serializer::new(String::new()).extend_pairs(plan_fields(plan)).finish()
}

fn import_form(view: &View<'_>, look: &Look<'_>) -> Markup {
    let Judged { facts, bad, .. } = &look.judged;
    if facts.is_empty() || view.laboratory.is_for_reading_only() {
        return html! {};
    }
    html! {
        form method="post" action=(view.path) {
            (parts::key())
            @for (name, value) in plan_fields(look.plan) { input type="hidden" name=(name) value=(value); }
            @if !bad.is_empty() {
                (look::Choice::new("leave_out_bad", "The rows that are wrong")
                    .option("no", "Import nothing while a row is wrong", "Mend the file, and send it again.")
                    .option("yes", "Import the good rows, leave the wrong ones out", "What was wrong with each is kept with the import.")
                    .chosen(if look.plan.leave_out_bad { "yes" } else { "no" }))
            }
            (look::actions(&look::button("Import it with my name")))
        }
    }
}

/// One import, with what its rows became.
pub(super) fn one(view: &View<'_>, code: &str) -> Option<Page> {
    let import = view.lab.file_imports.get(code)?;
    let file = &import.file.value;
    let columns = file.columns.iter().map(|column| {
        let from = match column.heading.as_str() {
            "" => html! { "the same for every row" },
            heading => html! { "column “" (heading) "”" },
        };
        vec![html! { (title(file.what, &column.field)) }, from]
    });
    let body = html! {
        (look::facts(&[
            ("File", html! { a href={ "/files/" (file.sha256) } { (file.name) } @if !file.sheet.is_empty() { ", sheet “" (file.sheet) "”" } }),
            ("What", html! { (parts::capital(file.what.in_words())) }),
            ("Imported by", html! { (parts::person(view, import.file.by.as_str())) ", " (parts::moment(view, import.file.at)) }),
            ("Rows", html! { (file.rows) }),
            ("Became", html! { (import.made()) }),
            ("Here already", html! { (file.known) }),
            ("Left out", html! { (file.left_out.len()) }),
            ("SHA-256", html! { code.hash { (file.sha256) } }),
        ]))
        (parts::table("What the columns were taken as", &["As", "From"], &[], columns.collect()))
        @if !file.left_out.is_empty() {
            @let rows = file.left_out.iter().map(|row| vec![html! { (row.row) }, html! { (row.why) }]);
            (parts::table("Rows that were left out", &["Row", "What is wrong"], &[0], rows.collect()))
        }
        (made(import))
    };
    Some(
        Page::new(format!("Import {}", file.import), body).below("Imports", "/imports").lead(
            "Imported: it says what a file of the time before says, and was not observed here.",
        ),
    )
}

fn made(import: &FileImport) -> Markup {
    let code = import.code();
    html! {
        @if !import.file.value.items.is_empty() {
            @let rows = import.file.value.items.iter().take(LISTED).map(|made| vec![
                html! { (made.row) }, html! { a.code href={ "/equipment/" (made.item) } { (made.item) } },
            ]);
            (parts::table("Items", &["Row", "Item"], &[0], rows.collect()))
        }
        @if !import.references.is_empty() {
            p { (import.reference_results) " past results stand on their control charts, marked as taken over: " (import.references.join(", ")) ". "
                a href="/control" { "To the control charts" } }
        }
        @if !import.tests.is_empty() {
            @let rows = import.tests.iter().take(LISTED).map(|test| vec![
                html! { span.code { (code) "-" (test.row) } },
                html! { (test.on) },
                html! { (test.sample) },
                html! { (test.source) },
                html! { (test.method) },
                html! { (test.loss_percent) },
                html! { (test.operator) },
            ]);
            (parts::table("Past tests, as the file says", &["Row", "Day", "Sample", "Source", "Method", "Loss, %", "By"], &[5], rows.collect()))
        }
        @if !import.sievings.is_empty() {
            @let rows = import.sievings.iter().take(LISTED).map(|one| vec![
                html! { span.code { (code) "-" (one.row) } },
                html! { (one.on) },
                html! { (one.sample) },
                html! { (one.sieves.iter().map(in_words).collect::<Vec<_>>().join("; ")) },
            ]);
            (parts::table("Past sieve analyses, as the file says", &["Row", "Day", "Sample", "Sieves"], &[], rows.collect()))
        }
        @if import.made() > LISTED { p.quiet { "The first " (LISTED) " are listed; the file has all." } }
    }
}

fn in_words(sieve: &stonewear_lab::fact::PastSieve) -> String {
    let name = sieve.opening_mm.map_or("pan".to_owned(), |opening| format!("{opening} mm"));
    let retained = sieve.retained_g.map(|mass| format!("{mass} g kept"));
    let passing = sieve.passing_percent.map(|share| format!("{share} % passed"));
    let values: Vec<String> = retained.into_iter().chain(passing).collect();
    format!("{name}: {}", values.join(", "))
}

/// That an item came from a list, where it did.
pub(super) fn origin_of_item(view: &View<'_>, item: &str) -> Markup {
    match view.lab.origin_of_item(item) {
        None => html! {},
        Some((import, row)) => html! {
            p.quiet {
                "Registered from row " (row) " of " (import.file.value.name) ", import "
                a.code href={ "/imports/" (import.code()) } { (import.code()) } "."
            }
        },
    }
}
