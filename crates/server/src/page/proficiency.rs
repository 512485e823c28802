//! Proficiency: what the rounds of others say of us, over the years, and what was done about it.

use super::parts::{self, Field, Form};
use super::{Page, View};
use crate::look::{self, Tone};
use maud::{Markup, html};
use stonewear_lab::proficiency::{ScoreVerdict, Series, series};
use stonewear_lab::state::Score;
use stonewear_report::score_chart;

const TAKE_IN: &str = "take-in-scores";
const ACT: &str = "act-on-score";
const CLOSE: &str = "close-score";

pub(super) fn page(view: &View<'_>) -> Page {
    let all = series(view.lab);
    let open: Vec<&Score> = view.lab.open_scores().collect();
    let body = html! {
        @if !open.is_empty() { (parts::section("Waiting for somebody", waiting(view, &open))) }
        @for series in &all { (one(view, series)) }
        @if !all.is_empty() {
            (parts::ways(&[
                ("All of it (PDF)", "/proficiency/scores.pdf"),
                ("Scores (CSV)", "/proficiency/scores.csv"),
                ("All of it (JSON)", "/proficiency/scores.json"),
            ]))
        }
        (parts::section("Take in the table of a provider", take_in(view)))
    };
    Page::new("Proficiency", body)
        .lead("Scores of this laboratory in the rounds of others. Rounds that are organised from here are on their own page.")
        .below("Results", "/results")
}

fn mark(verdict: ScoreVerdict) -> Markup {
    let tone = match verdict {
        ScoreVerdict::Satisfactory => Tone::Good,
        ScoreVerdict::Questionable => Tone::Edge,
        ScoreVerdict::Unsatisfactory => Tone::Bad,
    };
    look::mark(tone, verdict.in_words())
}

fn waiting(view: &View<'_>, open: &[&Score]) -> Markup {
    let name = |score: &Score| {
        let told = &score.told.value;
        format!("{}, {} {}, {}", score.code(), told.provider, told.round, told.material)
    };
    let options: Vec<(String, String)> =
        open.iter().map(|score| (score.code().to_string(), name(score))).collect();
    let acted: Vec<(String, String)> = open
        .iter()
        .filter(|score| !score.actions.is_empty())
        .map(|score| (score.code().to_string(), name(score)))
        .collect();
    let first = |options: &[(String, String)]| {
        options.first().map(|(code, _)| code.clone()).unwrap_or_default()
    };
    let (first_open, first_acted) = (first(&options), first(&acted));
    html! {
        ul { @for score in open {
            li {
                a href={ "#" (score.code()) } { (name(score)) } ": "
                @if let Some(scored) = score.scored() { (mark(scored.verdict)) " " }
                (score.wants())
            }
        } }
        (Form::new(view, ACT, "Record what was done").body(html! {
            (parts::select(view, ACT, "score", "Score", options, &first_open))
            (Field::text(view, ACT, "cause", "What was the cause").lines())
            (Field::text(view, ACT, "action", "What was done").lines())
        }))
        @if !acted.is_empty() {
            h3 { "Did it help?" }
            (Form::new(view, CLOSE, "Close the matter").body(html! {
                (parts::select(view, CLOSE, "score", "Score", acted, &first_acted))
                (Field::text(view, CLOSE, "finding", "What shows that it helped").lines())
            }))
        }
    }
}

fn one(view: &View<'_>, series: &Series<'_>) -> Markup {
    let rows = series.points.iter().rev().map(|point| {
        let told = &point.score.told.value;
        let others: Vec<String> = point
            .scored
            .all
            .iter()
            .filter(|(kind, _)| *kind != point.scored.kind)
            .map(|(kind, value)| format!("{} {value:.2}", kind.symbol()))
            .collect();
        vec![
            html! { b.whole id=(told.score) { (told.score) } br; time { (told.on) } },
            html! { (told.provider) ", " (told.round) br; span.quiet { (told.material) } },
            html! { b { (told.value) } @if let Some(result) = &told.result { br; a href={ "/results/" (result) } { (result) } } },
            html! { (told.assigned) },
            html! { b.whole { (point.scored.kind.symbol()) " " (format!("{:.2}", point.scored.value)) } br; span.quiet { (others.join(", ")) } },
            html! { @if let Some(mean) = point.running_mean { (format!("{mean:.2}")) } },
            html! { (mark(point.scored.verdict)) @if point.score.is_open() { br; (look::mark(Tone::Edge, "open")) } @else if point.score.closed.is_some() { br; (look::mark(Tone::Good, "closed")) } },
        ]
    });
    let method = parts::method(view, series.method);
    let head = ["Code", "Round", "Ours", "Assigned", "Score", "Running mean", "Verdict"];
    parts::section(
        &format!("{method}, {}", series.quantity),
        html! {
            p { (series.sentence()) }
            (look::chart(&stonewear_picture::SeriesChart { title: format!("Scores by {method}, {}", series.quantity), ..score_chart(series) }))
            (parts::table("Scores, newest first", &head, &[2, 3, 4, 5], rows.collect()))
            @for point in series.points.iter().rev() { (matter(view, point.score)) }
            p.quiet { "Satisfactory up to 2, questionable between 2 and 3, unsatisfactory from 3 on; E_n is satisfactory below 1 (ISO 13528, from memory, unconfirmed)." }
        },
    )
}

/// What was done about a score, below the table: these are sentences.
fn matter(view: &View<'_>, score: &Score) -> Markup {
    html! {
        @for action in &score.actions {
            p { b { (score.code()) } " Cause: " (action.value.cause) ". Done: " (action.value.action) " (" (parts::person(view, action.by.as_str())) ", " (parts::day(view, action.at)) ")" }
        }
        @if let Some(closed) = &score.closed {
            p { b { (score.code()) } " " (look::mark(Tone::Good, "closed")) " " (closed.value) " (" (parts::person(view, closed.by.as_str())) ", " (parts::day(view, closed.at)) ")" }
        }
    }
}

fn take_in(view: &View<'_>) -> Markup {
    let method = parts::usual_method_written(view);
    Form::new(view, TAKE_IN, "Take the table in").body(html! {
        p { "A CSV with a header. Columns are found by name: round, date, material, value (or result_code, a result of ours), assigned_value, and standard_deviation or the uncertainties. Comma, semicolon or tab; decimal point or comma. If one row is wrong, none is taken." }
        div.pair {
            (Field::text(view, TAKE_IN, "provider", "Who runs the rounds"))
            (Field::text(view, TAKE_IN, "method", "Method, where no column says it").default(&method).optional())
        }
        (Field::text(view, TAKE_IN, "table", "Table").lines())
        (Field::text(view, TAKE_IN, "reason", "Why earlier rows are replaced").optional())
    })
}
