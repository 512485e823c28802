//! The letterhead of the laboratory's papers.

use super::parts::{self, Field, Form};
use super::{Page, View};
use crate::look;
use maud::{Markup, html};
use stonewear_lab::fact::{LetterheadSet, PaperLanguage, SheetSize};

const SET: &str = "set-letterhead";

pub(super) fn page(view: &View<'_>) -> Page {
    let set = view.lab.letterhead().cloned().unwrap_or_default();
    let body = html! {
        (parts::go("See it on an invented report", "/letterhead/preview.pdf"))
        (Form::new(view, SET, "Set the letterhead").hidden("logo", "keep").body(fields(view, &set)))
        (parts::section("Logo", logo(view, &set)))
        (history(view))
    };
    Page::new("Letterhead", body)
        .lead("What stands at the head and the foot of every paper from now on. What was issued stays as it is.")
        .below("Papers", "/papers")
}

fn fields(view: &View<'_>, set: &LetterheadSet) -> Markup {
    let sheets = vec![
        ("a4".to_owned(), "A4, 210 mm × 297 mm".to_owned()),
        ("letter".to_owned(), "Letter, 8.5 in × 11 in".to_owned()),
    ];
    let founding = view.lab.identity.as_ref().map(|one| one.address.as_str()).unwrap_or_default();
    html! {
        (Field::text(view, SET, "address", "Address, a line each").lines().optional()
            .default(&set.address.join("\n"))
            .hint(&format!("empty: the address of the founding, {}", founding.replace('\n', ", "))))
        (Field::text(view, SET, "contact", "Contact, a line each").lines().optional()
            .default(&set.contact.join("\n")).hint("telephone, mail"))
        (Field::text(view, SET, "place_of_work", "Where the work is done, when that is not the address").optional()
            .default(&set.place_of_work))
        (Field::text(view, SET, "accreditation", "Accreditation, as you are allowed to state it").optional()
            .default(&set.accreditation)
            .hint("printed as typed; the rules of your accreditation body say which papers may carry it"))
        (Field::text(view, SET, "limits", "Limits of what a paper claims").lines().optional()
            .default(&set.limits)
            .hint("empty: the result relates only to the items tested, and the report is passed on only as a whole (ISO/IEC 17025:2017, 7.8.2.1)"))
        (Field::text(view, SET, "page", "Address of this page, for the square codes").optional()
            .default(&set.page).hint("like http://bench:7007; empty: the code holds the fingerprint alone"))
        (parts::radios(view, SET, "sheet", "Paper", sheets, Some(set.sheet.name())))
        (parts::radios(view, SET, "language", "Language of the papers", languages(), Some(set.language.tag())))
    }
}

/// The languages of papers, to choose from.
pub(super) fn languages() -> Vec<(String, String)> {
    let named = |one: PaperLanguage| (one.tag().to_owned(), one.in_words().to_owned());
    PaperLanguage::ALL.map(named).to_vec()
}

fn logo(view: &View<'_>, set: &LetterheadSet) -> Markup {
    if view.laboratory.damage().is_some() {
        return html! {};
    }
    html! {
        @match &set.logo {
            Some(logo) => p { "Now: " strong { (logo.name) } },
            None => p.quiet { "There is none." },
        }
        form method="post" action="/letterhead/logo" enctype="multipart/form-data" {
            (parts::key())
            div.field {
                label for="logo-file" { "A new logo" }
                input #logo-file type="file" name="file" accept=".png,.jpg,.jpeg,.svg" required aria-describedby="logo-hint";
                p.hint #logo-hint { "PNG, JPEG, or SVG of plain shapes; 64 KiB at most. It stands in the journal itself." }
            }
            (look::actions(&look::button("Use this logo")))
        }
        @if set.logo.is_some() {
            (Form::new(view, SET, "Take the logo away").hidden("logo", "none").body(kept(set)))
        }
    }
}

/// What stays as it is when only the logo changes.
fn kept(set: &LetterheadSet) -> Markup {
    let sheet = match set.sheet {
        SheetSize::A4 => "a4",
        SheetSize::Letter => "letter",
    };
    let fields = [
        ("address", set.address.join("\n")),
        ("contact", set.contact.join("\n")),
        ("place_of_work", set.place_of_work.clone()),
        ("accreditation", set.accreditation.clone()),
        ("limits", set.limits.clone()),
        ("page", set.page.clone()),
        ("sheet", sheet.to_owned()),
        ("language", set.language.tag().to_owned()),
    ];
    html! { @for (name, value) in fields { input type="hidden" name=(name) value=(value); } }
}

fn history(view: &View<'_>) -> Markup {
    if view.lab.letterheads.is_empty() {
        return html! {};
    }
    let rows = view.lab.letterheads.iter().rev().map(|one| {
        vec![
            html! { (parts::moment(view, one.at)) },
            html! { (parts::person(view, one.by.as_str())) },
            html! { (one.value.address.join(", ")) },
            html! { (one.value.accreditation) },
        ]
    });
    let head = ["When", "By", "Address", "Accreditation"];
    parts::section("Every letterhead", parts::table("Newest first", &head, &[], rows.collect()))
}
