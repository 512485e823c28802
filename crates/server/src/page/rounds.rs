//! Rounds between laboratories that are organised from here.

use super::parts::{self, Field, Form};
use super::{Page, View};
use crate::look::{self, Hazard, Tone};
use maud::{Markup, PreEscaped, html};
use stonewear_lab::fact::round::Joining;
use stonewear_lab::round::{
    Analysis, Homogeneity, HomogeneityVerdict, LOSS, analyse, cell_lines, homogeneity, significant,
};
use stonewear_lab::state::Round;
use stonewear_report::{means_charts, needle_charts, relation_words, test_words};

const PLAN: &str = "plan-round";
const JOIN: &str = "join-round";
const BAGS: &str = "test-homogeneity";
const RESULTS: &str = "take-in-results";
const OWN: &str = "take-in-own-results";
const JUDGE: &str = "judge-cell";
const CLOSE: &str = "close-round";
const REOPEN: &str = "reopen-round";

pub(super) fn list(view: &View<'_>) -> Page {
    let today = view.lab.local(view.now).date();
    let rows = view.lab.rounds.values().rev().map(|round| {
        let plan = &round.plan.value;
        vec![
            html! { a.code href={ "/rounds/" (plan.round) } { (plan.round) } },
            html! { (plan.title) },
            html! { (parts::method(view, &plan.method)) },
            html! { (round.participants.len()) },
            html! { (round.standing(today)) },
        ]
    });
    let head = ["Round", "Title", "Method", "Participants", "State"];
    let body = html! {
        @if view.lab.rounds.is_empty() {
            (parts::lead("No round yet", "Split one lot into bags, give each laboratory a bag and a code, and see how well the test repeats and reproduces.", "/rounds/new", "Plan a round"))
        } @else {
            (parts::table_below_heading("Rounds, newest first", &head, &[3], rows.collect()))
            (parts::go("Plan a round", "/rounds/new"))
        }
    };
    Page::new("Rounds between laboratories", body)
        .lead(
            "Organised from here, with split samples. What others say of us is under proficiency.",
        )
        .below("Results", "/results")
}

pub(super) fn plan(view: &View<'_>) -> Page {
    // Proposed, shown and kept: with it the codes can be drawn again.
    let seed = stonewear_runtime::drawn_seed().to_string();
    let method = parts::usual_method_written(view);
    let form = Form::new(view, PLAN, "Plan the round").body(html! {
        (Field::text(view, PLAN, "title", "What it is called").focus())
        div.pair {
            (Field::text(view, PLAN, "method", "Test method").default(&method).hint("one of the library, or any other in words"))
            (Field::text(view, PLAN, "quantity", "What is reported, with its unit").default(LOSS))
        }
        (Field::text(view, PLAN, "materials", "Materials").lines().hint("one a line: name; what is in the bag; standard deviation for assessment, if it is given"))
        div.pair {
            (Field::number(view, PLAN, "replicates", "Results of each material").default("2").hint("2 or more show repeatability"))
            (Field::text(view, PLAN, "closes_on", "Results are taken until").date())
        }
        (Field::text(view, PLAN, "participants", "Participants").lines().optional().hint("one a line: name; contact. Write own for this laboratory. More can join later."))
        (Field::text(view, PLAN, "instructions", "What the instructions say beside the usual").lines().optional())
        (Field::text(view, PLAN, "seed", "Seed of the codes").default(&seed).hint("drawn by lot; the codes of participants follow from it, so it stays with the organiser"))
    });
    Page::new("Plan a round", form)
        .below("Results", "/results")
        .below("Rounds between laboratories", "/rounds")
}

pub(super) fn one(view: &View<'_>, code: &str) -> Option<Page> {
    let round = view.lab.rounds.get(code)?;
    let analysis = analyse(round);
    let plan = &round.plan.value;
    let is_open = round.closed().is_none();
    let has_results = analysis.materials.iter().any(|material| !material.cells.is_empty());
    let body = html! {
        (facts(view, round))
        (parts::section("Participants", participants(view, round, is_open)))
        (parts::section("Are the bags alike?", bags(view, round, is_open)))
        @if is_open { (parts::section("Results come in", incoming(view, round))) }
        @if has_results {
            (parts::section("Results", results(round, &analysis)))
            (parts::section("Which laboratory stands apart", apart(view, round, &analysis, is_open)))
            (parts::section("Precision", precision(&analysis)))
            (parts::section("Assigned values and scores", scores(round, &analysis)))
        }
        (parts::section("End", end(view, round, is_open)))
    };
    Some(
        Page::new(format!("Round {}: {}", plan.round, plan.title), body)
            .lead(round.standing(view.lab.local(view.now).date()))
            .below("Results", "/results")
            .below("Rounds between laboratories", "/rounds"),
    )
}

fn facts(view: &View<'_>, round: &Round) -> Markup {
    let plan = &round.plan.value;
    let base = format!("/rounds/{}", plan.round);
    html! {
        (look::facts(&[
            ("Test method", html! { (parts::method(view, &plan.method)) }),
            ("Reported", html! { (plan.quantity) ", " (plan.replicates) " of each material" }),
            ("Materials", html! { ul { @for material in round.materials() {
                li { (material.name) @if !material.description.is_empty() { ": " (material.description) }
                    @if let Some(sigma) = material.sigma_pt { "; standard deviation for assessment " (sigma) } }
            } } }),
            ("Planned", html! { (parts::moment(view, round.plan.at)) ", by " (parts::person(view, round.plan.by.as_str())) }),
            ("Seed of the codes", html! { (plan.seed) }),
        ]))
        (parts::ways(&[
            ("Instructions (PDF)", &format!("{base}/instructions.pdf")),
            ("Report for the organiser (PDF)", &format!("{base}/report.pdf")),
            ("Results (CSV)", &format!("{base}/results.csv")),
            ("All of it (JSON)", &format!("{base}/results.json")),
        ]))
        (parts::caution(Hazard::Lifting, "Bags of stone are heavy: split them, or lift them with two. Splitting and sieving raise silica dust: extraction on, damp down what may be damp, respirator where the air asks for one.", "NIOSH 94-110; 29 CFR 1910.1053, from memory, unconfirmed"))
    }
}

fn participants(view: &View<'_>, round: &Round, is_open: bool) -> Markup {
    let base = format!("/rounds/{}", round.code());
    let wanted = round.materials().len() * round.plan.value.replicates as usize;
    let current = round.current();
    let rows = round.participants.values().map(|joined| {
        let Joining { participant, laboratory, contact, ours, .. } = &joined.value;
        let come = current.keys().filter(|(code, _, _)| *code == participant.as_str()).count();
        vec![
            html! { b { (participant) } },
            html! { (laboratory) @if *ours { " (this laboratory)" } br; span.quiet { (contact) } },
            html! { (come) " of " (wanted) },
            html! {
                a href={ (base) "/instructions-" (participant) ".pdf" } { "Instructions" } br;
                a href={ (base) "/form-" (participant) ".csv" } { "Form" } br;
                a href={ (base) "/report-" (participant) ".pdf" } { "Report" }
            },
        ]
    });
    html! {
        p { (look::mark(Tone::Edge, "for the organiser only")) " Whose each code is stays on this page: papers for participants hold their own code and no other." }
        @if round.participants.is_empty() { p { "Nobody takes part yet." } }
        @else { (parts::table_below_heading("Participants, by code", &["Code", "Laboratory", "Results", "For them"], &[], rows.collect())) }
        @if is_open {
            (folded(view, JOIN, "Let a laboratory take part", Form::new(view, JOIN, "Draw its code").hidden("round", round.code().as_str()).body(html! {
                (Field::text(view, JOIN, "laboratory", "Laboratory").hint("own for this one"))
                (Field::text(view, JOIN, "contact", "Contact").optional())
            })))
        }
    }
}

/// A form that is not wanted every day: folded until it is needed, or was refused.
fn folded(view: &View<'_>, request: &str, summary: &str, form: Markup) -> Markup {
    html! { details open[view.typed.was_refused(request)] { summary { (summary) } (form) } }
}

fn bags(view: &View<'_>, round: &Round, is_open: bool) -> Markup {
    let tested = homogeneity(view.lab, round);
    let rows = tested.iter().map(|one| {
        vec![
            html! { (one.material) },
            html! { (one.bags) },
            html! { (significant(one.between, 3)) },
            html! { (significant(one.within, 3)) },
            html! { (significant(one.limit, 3)) },
            bag_mark(one),
        ]
    });
    let head = ["Material", "Bags", "s between bags", "s within a bag", "Limit", "Verdict"];
    html! {
        @if tested.is_empty() {
            p { (look::mark(Tone::Edge, "not tested")) " Test two specimens of each of some bags before they are sent; at least ten bags is usual (ISO 13528, Annex B, from memory, unconfirmed)." }
        } @else {
            (parts::table("Homogeneity", &head, &[1, 2, 3, 4], rows.collect()))
            p.quiet { "The limit is 0.3 of the standard deviation for assessment (ISO 13528, Annex B, from memory, unconfirmed)." }
            @for one in &tested { @for remark in &one.remarks { p { (one.material) ": " (remark) "." } } }
        }
        @if is_open {
            (folded(view, BAGS, "Record a homogeneity test", Form::new(view, BAGS, "Record the test").hidden("round", round.code().as_str()).body(html! {
                (Field::text(view, BAGS, "table", "Results of bags").lines().hint("CSV with the columns material, bag, value; a row for each result"))
                @if !tested.is_empty() { (Field::text(view, BAGS, "reason", "Why the earlier test is replaced")) }
            })))
        }
    }
}

fn bag_mark(one: &Homogeneity) -> Markup {
    let tone = match one.verdict {
        HomogeneityVerdict::Homogeneous => Tone::Good,
        HomogeneityVerdict::NotHomogeneous => Tone::Bad,
        HomogeneityVerdict::NotDecided => Tone::Plain,
    };
    look::mark(tone, one.verdict.in_words())
}

fn incoming(view: &View<'_>, round: &Round) -> Markup {
    let materials: Vec<(String, String)> =
        round.materials().iter().map(|one| (one.name.clone(), one.name.clone())).collect();
    let first = materials.first().map(|(name, _)| name.clone()).unwrap_or_default();
    html! {
        (Form::new(view, RESULTS, "Take the results in").hidden("round", round.code().as_str()).body(html! {
            (Field::text(view, RESULTS, "table", "File of a participant, or of several").lines().hint("CSV with the columns code, material, replicate, value; rows without a value are passed over"))
            (Field::text(view, RESULTS, "source", "Where it comes from").optional().hint("like e-mail of 12 May"))
        }))
        @if round.ours().is_some() {
            h3 { "Our own results" }
            (Form::new(view, OWN, "Take our results in").hidden("round", round.code().as_str()).body(html! {
                (parts::select(view, OWN, "material", "Material", materials, &first))
                (Field::text(view, OWN, "results", "Codes of our results").hint("one for each replicate, in order: L26-012 L26-013"))
            }))
        }
    }
}

fn results(round: &Round, analysis: &Analysis) -> Markup {
    let mut rows = Vec::new();
    let mut left_out = Vec::new();
    for line in cell_lines(analysis, None) {
        let [code, material, .., why] = &line;
        if !why.is_empty() {
            left_out.push(format!("{code}, {material}: {why}"));
        }
        // The reason is a sentence, and stands below the table.
        let [code, material, results, mean, s, h, k, score, value, verdict, _] = &line;
        let mut cells = vec![html! { span.whole { (code) } }];
        cells.extend([material, results, mean, s, h, k].map(|cell| html! { (cell) }));
        cells.push(html! { span.whole { (score) " " (value) } });
        cells.push(html! { (verdict) });
        rows.push(cells);
    }
    let head = ["Code", "Material", "Results", "Mean", "s", "h", "k", "Score", "Verdict"];
    html! {
        (parts::table_below_heading("Results by code", &head, &[3, 4, 5, 6, 7], rows))
        @for why in left_out { p { (look::mark(Tone::Edge, "left out of precision")) " " (why) } }
        @for deviation in &round.deviations {
            p { (look::mark(Tone::Edge, "Departure")) " " (deviation.value.what) ". Reason: " (deviation.value.reason) }
        }
    }
}

fn apart(view: &View<'_>, round: &Round, analysis: &Analysis, is_open: bool) -> Markup {
    let options = |all: Vec<String>| all.into_iter().map(|one| (one.clone(), one)).collect();
    let codes: Vec<String> = round.participants.keys().map(ToString::to_string).collect();
    let names: Vec<String> = round.materials().iter().map(|one| one.name.clone()).collect();
    let (first, name) = (codes.first().cloned(), names.first().cloned());
    html! {
        @for material in &analysis.materials {
            @for words in test_words(material) { p { (look::mark(Tone::Edge, material.material.clone())) " " (words) } }
        }
        @for chart in needle_charts(analysis, None) { (figure(&chart.svg(), &chart.title)) }
        p.quiet { "h compares means, k scatter; critical values at 0.5 % (ASTM E691). A test speaks, a person decides: nothing is left out by itself." }
        @if is_open {
            (folded(view, JUDGE, "Leave results out of precision, or take them in again", Form::new(view, JUDGE, "Decide it so").hidden("round", round.code().as_str()).body(html! {
                div.pair {
                    (parts::select(view, JUDGE, "participant", "Code", options(codes), &first.unwrap_or_default()))
                    (parts::select(view, JUDGE, "material", "Material", options(names), &name.unwrap_or_default()))
                }
                (parts::radios(view, JUDGE, "left_out", "Results", vec![("yes".into(), "leave out".into()), ("no".into(), "take in again".into())], None))
                (Field::text(view, JUDGE, "reason", "Why").hint("what was found at that laboratory; a test alone is no reason"))
            })))
        }
    }
}

fn figure(svg: &str, label: &str) -> Markup {
    html! { figure.figure { div.scroll role="region" tabindex="0" aria-label=(label) { (PreEscaped(svg)) } } }
}

fn precision(analysis: &Analysis) -> Markup {
    let rows = analysis.materials.iter().map(|one| {
        let found = one.precision.as_ref().ok();
        let say = |value: Option<f64>| html! { (significant(value, 3)) };
        vec![
            html! { (one.material) },
            html! { (found.map_or(0, |found| found.laboratories)) },
            html! { (significant(found.map(|found| found.mean), 4)) },
            say(found.and_then(|found| found.s_r.clone().ok())),
            say(found.and_then(|found| found.s_reproducibility.clone().ok())),
            say(found.and_then(|found| found.repeatability_limit.clone().ok())),
            say(found.and_then(|found| found.reproducibility_limit.clone().ok())),
        ]
    });
    let head = ["Material", "Laboratories", "Mean", "s_r", "s_R", "r", "R"];
    html! {
        (parts::table_below_heading("Precision of each material", &head, &[1, 2, 3, 4, 5, 6], rows.collect()))
        @for words in relation_words(analysis) { p { (words) } }
        p.quiet { "ISO 5725-2, for cells of one size ASTM E691; limits are 2.8 standard deviations." }
    }
}

fn scores(round: &Round, analysis: &Analysis) -> Markup {
    let rows = analysis.materials.iter().map(|one| {
        vec![
            html! { (one.material) },
            html! { (significant(one.assigned(), 4)) },
            html! { (significant(one.assigned_uncertainty, 2)) },
            html! { (significant(one.sigma_pt, 3)) },
            html! { @if one.sigma_is_given { "given with the material" } @else { "robust, s*" } },
            html! { (one.score_kind.symbol()) },
        ]
    });
    let head = ["Material", "Assigned value", "Its u", "s for assessment", "From", "Score"];
    html! {
        (parts::table("Assigned values", &head, &[1, 2, 3], rows.collect()))
        @for chart in means_charts(round, analysis, None) { (figure(&chart.svg(), &chart.title)) }
        p.quiet { "The assigned value is the robust mean of all means (ISO 13528, Algorithm A). Bars: mean ± 2 s_r/√n." }
    }
}

fn end(view: &View<'_>, round: &Round, is_open: bool) -> Markup {
    html! {
        @if let Some(closed) = round.closed() {
            p { (look::mark(Tone::Good, "closed")) " " (parts::moment(view, closed.at)) ", by " (parts::person(view, closed.by.as_str())) ". " (closed.value.remark) }
            (folded(view, REOPEN, "Let it go on", Form::new(view, REOPEN, "Reopen the round").hidden("round", round.code().as_str()).body(html! {
                (Field::text(view, REOPEN, "reason", "Why"))
            })))
        }
        @if is_open {
            p { "Closing keeps the figures and makes the reports final; until then they say that they are drafts." }
            (Form::new(view, CLOSE, "Close the round").hidden("round", round.code().as_str()).body(html! {
                (Field::text(view, CLOSE, "remark", "What the reports say at their head").optional())
            }))
        }
    }
}
