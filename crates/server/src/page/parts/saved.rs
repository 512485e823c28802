//! What was recorded a moment ago: said at the head of the page that follows.

use crate::look::{self, Tone};
use crate::page::View;
use maud::{Markup, html};

/// What a request leaves behind, where the page that follows might not show it at once. Requests
/// that lead to a page of their own need no words.
fn words(request: &str) -> Option<&'static str> {
    Some(match request {
        "weigh-fractions" => "The masses of the fractions are recorded.",
        "weigh-before" => "The mass before is recorded.",
        "weigh-after" => "The mass after is recorded.",
        "weigh-drying" => "The weighing is recorded.",
        "start-soak" => "The clock of the soak runs.",
        "stop-run" => "How the run ended is recorded.",
        "interrupt-run" => "The interruption is recorded.",
        "resume-run" => "The jars turn again.",
        "take-reading" => "The reading is recorded.",
        "observe" => "The step is recorded.",
        "give-up-check" => "The check is ended.",
        "change-standing" => "Where it stands is recorded.",
        "set-interval" => "How often it is due is recorded.",
        "change-charge" => "The change of the charge is recorded.",
        "add-person" => "The person is added.",
        "set-rights" => "The rights are changed.",
        "grant-authorisation" => "The authorisation is granted.",
        "change-authorisation" => "The authorisation is changed.",
        "confirm-figure" => "What was compared is recorded.",
        "set-policy" => "The policy is in force.",
        "set-letterhead" => "The letterhead is set.",
        "set-sieving-rules" => "How analyses are read is recorded.",
        "record-sieving" => "The sieve analysis is recorded.",
        "hand-over-sample" => "The handing over is recorded.",
        "attach-file" => "The file is attached.",
        "release-result" => "The result is released.",
        "correct-run" | "correct-observation" | "correct-sample" | "correct-item" => {
            "The correction is recorded; what was recorded before is kept."
        }
        "note-event" => "The event is noted.",
        "count-stock" => "The stock is recorded.",
        "record-finding" => "The finding is recorded.",
        "take-in-scores" => "The scores are taken in.",
        "act-on-score" => "What was done is recorded.",
        _ => return None,
    })
}

/// Said once, after the page that recorded it has led here.
pub(super) fn said(view: &View<'_>) -> Markup {
    // The name of the draft that was kept for the form: `/specimens/S26-001-1:weigh-before`.
    let kept = view.asked("kept").unwrap_or_default();
    let said = kept.split(':').find_map(words).filter(|_| view.typed.problems.is_empty());
    html! {
        @if let Some(said) = said {
            div.saved role="status" {
                p { (look::mark(Tone::Good, "Recorded")) " " (said) }
                @if view.path != "/" { a href="/" { "What is asked next: the benches" } }
            }
        }
    }
}
