//! The guide: its contents, one chapter a page, and the whole to be printed.

use super::parts;
use super::{Page, View};
use crate::guide::{CHAPTERS, Chapter, chapter};
use crate::look;
use maud::{Markup, PreEscaped, html};

/// What is in it.
pub(super) fn contents(_: &View<'_>) -> Page {
    let body = html! {
        ol.contents { @for one in &CHAPTERS { li { a href={ "/guide/" (one.name) } { (one.title()) } } } }
        (parts::go("The whole guide on one page, to be printed", "/guide/whole"))
        p.quiet { "The guide is part of the program: it is here without the internet. On a terminal: " code { "stonewear guide" } "." }
    };
    Page::new("Guide", body)
        .lead("How to prove a machine, test with it, and stand by the number that comes out.")
}

/// One chapter, or the whole.
pub(super) fn one(_: &View<'_>, name: &str) -> Option<Page> {
    if name == "whole" {
        return Some(whole());
    }
    let at = CHAPTERS.iter().position(|one| one.name == name)?;
    let this = chapter(name)?;
    let beside = |at: Option<usize>| at.and_then(|at| CHAPTERS.get(at));
    let body = html! {
        article.guide lang="en" translate="no" { (PreEscaped(this.markup(false))) }
        nav.actions aria-label="Chapters" {
            @if let Some(before) = beside(at.checked_sub(1)) { (to(before, "Before: ")) }
            @if let Some(after) = beside(at.checked_add(1)) { (to(after, "Next: ")) }
        }
    };
    Some(Page::new(this.title(), body).below("Guide", "/guide"))
}

fn to(chapter: &Chapter, word: &str) -> Markup {
    look::link_button(format!("{word}{}", chapter.title()), &format!("/guide/{}", chapter.name))
}

/// Cover, contents, and every chapter on pages of its own.
fn whole() -> Page {
    let body = html! {
        div.guide-cover {
            p.cover-title { "Stonewear" }
            p { "Wet attrition of aggregates (micro-Deval): from the crate to results that stand." }
            p.quiet { "Guide to version " (env!("CARGO_PKG_VERSION")) }
        }
        nav.guide-contents aria-label="Contents" {
            h2 { "Contents" }
            ol.contents { @for one in &CHAPTERS { li { a href={ "#" (one.name) } { (one.title()) } } } }
        }
        @for one in &CHAPTERS {
            article class="guide guide-chapter" lang="en" translate="no" {
                h2 id=(one.name) { (one.title()) }
                (PreEscaped(one.markup(true)))
            }
        }
    };
    Page::new("The whole guide", body).below("Guide", "/guide")
}
