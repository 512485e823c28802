//! Photos and files on a page: what is attached, and the form that attaches more.

use super::{Page, Seat, View, parts};
use crate::form::Typed;
use crate::look;
use axum::http::Uri;
use maud::{Markup, html};
use stonewear_lab::refusal::Problem;
use stonewear_lab::state::{Attachment, Noted};
use stonewear_runtime::OpenLaboratory;

/// What the choice of files offers; what they are is seen from their content.
const KINDS: &str = "image/*,.pdf,.txt,.csv";
/// How much of a hash tells files apart on a page.
const SHORT_HASH: usize = 12;

/// What is attached to something, and the form to attach more.
pub(super) fn section(view: &View<'_>, to: &str) -> Markup {
    parts::section("Photos and files", html! { (list(view, to)) (form(view, to, "")) })
}

/// What is attached to something, with who and when.
pub(super) fn list(view: &View<'_>, to: &str) -> Markup {
    let attached = view.lab.attachments_of(to);
    html! {
        @if attached.is_empty() {
            p.quiet { "Nothing is attached yet." }
        } @else {
            ul.files { @for one in attached { li { (shown(view, to, one)) } } }
        }
    }
}

fn shown(view: &View<'_>, to: &str, attached: &Noted<Attachment>) -> Markup {
    let file = &attached.value;
    let path = format!("/files/{}", file.sha256);
    let check = view.lab.checks.get(to);
    let step = check.zip(file.step.as_deref()).and_then(|(check, step)| check.procedure.step(step));
    html! {
        @if file.is_picture() {
            a.thumbnail href=(path) { img src=(path) alt=(file.name) loading="lazy" decoding="async"; }
        } @else {
            a.thumbnail href=(path) { span { (kind(file)) } }
        }
        div {
            p { a href=(path) { (file.name) } }
            @if let Some(step) = step { p { "Step: " (step.title) } }
            p.quiet { (parts::person(view, attached.by.as_str())) ", " (parts::moment(view, attached.at)) }
            p.quiet { (kind(file)) ", " (size(file.bytes)) ", SHA-256 " code title=(file.sha256) { (file.sha256.get(..SHORT_HASH).unwrap_or_default()) "…" } }
        }
    }
}

/// The form that attaches photos and files to something, or to a step of a check.
pub(super) fn form(view: &View<'_>, to: &str, step: &str) -> Markup {
    if view.laboratory.is_for_reading_only() {
        return html! {};
    }
    html! {
        details.attach {
            summary { "Add a photo or a file" }
            form method="post" action="/attach" enctype="multipart/form-data" {
                (parts::key())
                input type="hidden" name="to" value=(to);
                input type="hidden" name="step" value=(step);
                input type="hidden" name="back" value=(view.path);
                // Two fields: one that opens the camera would offer nothing else on a tablet.
                div.field {
                    label for="attach-photo" { "Take a photo" }
                    input type="file" id="attach-photo" name="file" accept="image/*" capture="environment";
                }
                div.field {
                    label for="attach-files" { "Or choose photos and files" }
                    input type="file" id="attach-files" name="file" accept=(KINDS) multiple aria-describedby="attach-hint";
                    p.hint id="attach-hint" { "JPEG, PNG, WebP, PDF, TXT or CSV; 20 MB at most in one go. They are kept for ever, as they are." }
                }
                (look::actions(&look::button("Attach")))
            }
        }
    }
}

/// The page that says why files were not attached, with the way back.
pub(crate) fn not_attached(
    laboratory: &OpenLaboratory,
    uri: &Uri,
    seat: &Seat,
    back: &str,
    problems: &[Problem],
) -> Markup {
    let typed = Typed::default();
    let view = super::view(laboratory, uri, seat, &typed);
    let problems_shown: Vec<look::Problem<'_>> =
        problems.iter().map(|problem| parts::problem_of(problem, String::new())).collect();
    let body = html! {
        (look::problem_summary(&problems_shown))
        // Only where each problem names its file is it true of the others.
        @if problems.iter().all(|problem| problem.message.starts_with('“')) {
            p { "Files that are not named here are attached." }
        }
        @if problems.iter().any(|problem| problem.field == "by") {
            (look::actions(&look::link_button("Say who is at the bench", &format!("/who?back={back}"))))
        }
        (parts::go("Go back", back))
    };
    parts::shell(&view, Page::new("Not everything was attached", body))
}

fn kind(file: &Attachment) -> &'static str {
    match file.media_type.as_str() {
        "image/jpeg" => "JPEG",
        "image/png" => "PNG",
        "image/webp" => "WebP",
        "application/pdf" => "PDF",
        "text/csv" => "CSV",
        _ => "Text",
    }
}

/// A size as people read it, rounded up.
fn size(bytes: u64) -> String {
    if bytes < 1_000_000 {
        format!("{} kB", bytes.div_ceil(1000))
    } else {
        let tenths = bytes.div_ceil(100_000);
        format!("{}.{} MB", tenths / 10, tenths % 10)
    }
}
