//! Papers: what was issued, whether it still stands, and the forms that issue and check.

use super::parts::{self, Field, Form};
use super::{Page, Seat, View};
use crate::form::Typed;
use crate::look::{self, Tone};
use axum::http::Uri;
use maud::{Markup, html};
use stonewear_lab::fact::{PaperIssued, PaperKind};
use stonewear_lab::state::{Noted, Since, TestResult};
use stonewear_report::{PaperCheck, PaperVerdict, printed};
use stonewear_runtime::OpenLaboratory;

const ISSUE: &str = "issue-paper";

/// The mark of a verdict: shape and word.
fn mark(verdict: PaperVerdict) -> Markup {
    let tone = match verdict {
        PaperVerdict::Stands => Tone::Good,
        PaperVerdict::Superseded | PaperVerdict::InDoubt | PaperVerdict::NotIssued => Tone::Edge,
        PaperVerdict::Altered | PaperVerdict::OfAnotherLaboratory | PaperVerdict::NoMark => {
            Tone::Bad
        }
    };
    look::mark(tone, verdict.in_words())
}

pub(super) fn list(view: &View<'_>) -> Page {
    let mut papers: Vec<_> = view.lab.papers.values().collect();
    papers.sort_by_key(|paper| std::cmp::Reverse(paper.position));
    let verdict = |paper: &&Noted<PaperIssued>| PaperCheck::of_record(view.lab, paper).verdict;
    let verdicts =
        [PaperVerdict::Stands, PaperVerdict::Superseded, PaperVerdict::InDoubt].map(|one| {
            let count = papers.iter().filter(|paper| verdict(paper) == one).count();
            (one.in_words(), parts::capital(one.in_words()), count)
        });
    let shown: Vec<_> = papers
        .iter()
        .copied()
        .filter(|paper| parts::is_of(view, "now", verdict(paper).in_words()))
        .filter(|paper| parts::has_words(view, &[paper.value.number.as_str(), &paper.value.of]))
        .collect();
    let (leaf, leaves) = parts::leaf(view, &shown);
    let body = html! {
        (look::actions(&html! {
            (look::link_button("Check a paper that you hold", "/papers/check"))
            (look::link_button("Letterhead", "/letterhead"))
        }))
        (projects(view))
        @if papers.is_empty() {
            p.quiet { "No paper was issued yet. A report is issued on the page of its result." }
        } @else {
            (parts::section("Issued", html! {
                (parts::filters(view, "Number, result or works", &[
                    parts::Part { name: "now", every: "Every paper", options: verdicts.to_vec() },
                ]))
                @if shown.is_empty() { (parts::nothing_of_it(view)) } @else { (table(view, leaf)) (leaves) }
            }))
        }
    };
    Page::new("Papers", body)
        .lead("What left the laboratory. Each issued file is kept to the byte and can be checked by its fingerprint.")
        .below("Results", "/results")
}

fn table(view: &View<'_>, papers: &[&Noted<PaperIssued>]) -> Markup {
    let rows = papers.iter().map(|paper| {
        let issued = &paper.value;
        vec![
            html! { a.code href={ "/papers/" (issued.fingerprint) } { (issued.number) } },
            html! { (issued.paper.in_words()) },
            about(issued),
            html! { (parts::day(view, paper.at)) ", " (parts::person(view, paper.by.as_str())) },
            mark(PaperCheck::of_record(view.lab, paper).verdict),
        ]
    });
    let head = ["Number", "What", "About", "Issued", "Now"];
    parts::table_below_heading("Issued papers, newest first", &head, &[], rows.collect())
}

fn about(issued: &PaperIssued) -> Markup {
    match issued.paper {
        PaperKind::TestReport => html! { a.code href={ "/results/" (issued.of) } { (issued.of) } },
        PaperKind::ProjectReport => html! { (issued.of) },
    }
}

/// The projects with released results, each with the form that issues its report.
fn projects(view: &View<'_>) -> Markup {
    let mut names: Vec<&str> = view
        .lab
        .samples
        .values()
        .map(|sample| sample.project.as_str())
        .filter(|name| view.lab.released_of_project(name).next().is_some())
        .collect();
    names.sort_unstable();
    names.dedup();
    if names.is_empty() {
        return html! {};
    }
    let named = names.iter().map(|name| {
        let released = view.lab.released_of_project(name).count();
        (
            (*name).to_owned(),
            format!("{name} ({})", stonewear_lab::words::counted(released, "result")),
        )
    });
    parts::section(
        "Report of a project",
        html! {
            p { "All released results of a project on one paper, in the version that counts today." }
            (Form::new(view, ISSUE, "Issue the report")
                .at("/papers/issue".to_owned())
                .hidden("paper", PaperKind::ProjectReport.name())
                .hidden("_back", view.path)
                .body(html! {
                    (parts::select(view, ISSUE, "of", "Project", named.collect(), ""))
                    (language(view))
                    (Field::text(view, ISSUE, "reason", "Why it replaces an earlier report of this project").optional())
                }))
        },
    )
}

/// In which language a paper is issued.
fn language(view: &View<'_>) -> Markup {
    let usual = view.lab.letterhead().map(|head| head.language).unwrap_or_default();
    parts::select(view, ISSUE, "language", "Language", super::letterhead::languages(), usual.tag())
}

/// A paper by its fingerprint, as the square code on it leads here.
pub(super) fn one(view: &View<'_>, typed: &str) -> Page {
    let Some(paper) = view.lab.paper_of(typed) else {
        let body = html! {
            p role="alert" { (look::mark(Tone::Bad, "not on record")) " No paper with this fingerprint was issued here." }
            p { "A copy for checking, a draft and a sheet for use in the house carry a fingerprint, too, and are not on record. If the paper says that it was issued by this laboratory, do not rely on it: ask the laboratory." }
            (parts::ways(&[("Check the file itself", "/papers/check"), ("Issued papers", "/papers")]))
        };
        return Page::new("Not on record", body).below("Papers", "/papers");
    };
    let found = PaperCheck::of_record(view.lab, paper);
    let issued = &paper.value;
    let body = html! {
        section.panel {
            p { (mark(found.verdict)) }
            (since(&found.since))
            (record(view, paper))
            (parts::go("The issued file as PDF", &format!("/papers/{}/file.pdf", issued.fingerprint)))
        }
        p.quiet { "Compare the paper in your hand with the file. To compare a file to the byte, " a href="/papers/check" { "check it" } "." }
    };
    let title = format!("{} {}", parts::capital(issued.paper.in_words()), issued.number);
    Page::new(title, body).below("Papers", "/papers")
}

fn since(since: &[Since]) -> Markup {
    html! { @for one in since { p role="alert" { (one.in_words()) } } }
}

fn record(view: &View<'_>, paper: &Noted<PaperIssued>) -> Markup {
    let issued = &paper.value;
    let covers = html! {
        @for (index, one) in issued.covers.iter().enumerate() {
            @if index > 0 { ", " }
            a.code href={ "/results/" (one.result) } { (one.result) } " version " (one.version)
        }
    };
    let mut facts = vec![
        ("Number", html! { (issued.number) }),
        ("About", about(issued)),
        ("Reports", covers),
        (
            "Issued",
            html! { (parts::moment(view, paper.at)) ", " (parts::person(view, paper.by.as_str())) },
        ),
        ("Language", html! { (issued.language.in_words()) }),
        ("Fingerprint", html! { code.hash { (printed(&issued.fingerprint)) } }),
        ("SHA-256 of the file", html! { code.hash { (issued.sha256) } }),
    ];
    if let Some(replaces) = &issued.replaces {
        facts.push(("Replaces", html! { (replaces) ": " (issued.reason) }));
    }
    look::facts(&facts)
}

/// On the page of a result: what was issued of it, and the form that issues its report.
pub(super) fn of_result(view: &View<'_>, result: &TestResult) -> Markup {
    let code = result.code.as_str();
    let issued = view.lab.papers_about(PaperKind::TestReport, code);
    if result.release().is_none() && issued.is_empty() {
        return html! {};
    }
    let newest_first: Vec<_> = issued.iter().rev().copied().collect();
    let is_issued = view.lab.issued_report(result).is_some();
    let gaps = stonewear_report::test_report(view.lab, result, None).gaps();
    let form = |button: &'static str, fields: Markup| {
        Form::new(view, ISSUE, button)
            .at("/papers/issue".to_owned())
            .hidden("paper", PaperKind::TestReport.name())
            .hidden("of", code)
            .hidden("_back", view.path)
            .body(fields)
    };
    parts::section(
        "Issued report",
        html! {
            @if !newest_first.is_empty() { (table(view, &newest_first)) }
            @if result.release().is_some() && !is_issued {
                p { "Issuing keeps the file to the byte and records its fingerprint; from then on this is what the laboratory said." }
                @if !gaps.is_empty() {
                    p { (look::mark(Tone::Edge, "Left blank on the report")) " " (stonewear_lab::words::listed(gaps.iter().map(|gap| (*gap).to_owned()))) "." }
                }
                (form("Issue the report", language(view)))
            } @else if is_issued {
                details open[view.typed.was_refused(ISSUE)] {
                    summary { "Issue it again" }
                    p { "As when something else on the report was wrong: the new one says which it replaces, and why." }
                    (form("Issue it again", html! {
                        (language(view))
                        (Field::text(view, ISSUE, "reason", "What changed, and why"))
                    }))
                }
            }
        },
    )
}

/// The form that checks a file, and what was found.
pub(super) fn check(view: &View<'_>, found: Option<&(String, PaperCheck)>) -> Page {
    let body = html! {
        @if let Some((name, found)) = found {
            section.panel {
                p { (mark(found.verdict)) }
                @for words in found.in_words(view.lab).iter().skip(1) { p { (words) } }
                p.quiet { "“" (name) "”, SHA-256 " code.hash { (found.sha256) } }
                @if let Some(issued) = &found.issued {
                    (parts::go("The record of that paper", &format!("/papers/{}", issued.value.fingerprint)))
                }
            }
        }
        @if found.is_none() && !view.typed.problems.is_empty() {
            p role="alert" { (look::mark(Tone::Bad, "no file arrived")) " Choose the PDF of a paper, at most 20 MB." }
        }
        form method="post" action="/papers/check" enctype="multipart/form-data" {
            div.field {
                label for="paper-file" { "The file as you have it" }
                input #paper-file type="file" name="file" accept=".pdf,application/pdf" required;
            }
            (look::actions(&look::button("Check it")))
        }
        p.quiet { "Nothing is recorded, and the file is not kept. Without a file: type the fingerprint that is printed on the paper into the field at the top." }
    };
    Page::new("Check a paper", body)
        .lead("Is it what was issued, to the byte, and does it still stand?")
        .below("Papers", "/papers")
}

/// The page that answers a file.
pub(crate) fn checked(
    laboratory: &OpenLaboratory,
    uri: &Uri,
    seat: &Seat,
    found: Option<&(String, PaperCheck)>,
) -> Markup {
    let mut typed = Typed::default();
    if found.is_none() {
        typed.problems = vec![crate::app::problem("input-missing", "no file arrived".to_owned())];
    }
    let view = super::view(laboratory, uri, seat, &typed);
    parts::shell(&view, check(&view, found))
}
