//! A budget in words, for programs, and as a picture.

use super::super::document::Document;
use super::super::picture::percent;
use super::super::table::{brief, columns, lines, short};
use super::super::uncertainty::{of_first, of_trials, own_data};
use super::Found;
use super::file::Known;
use super::history::Own;
use crate::answer::Answer;
use serde_json::{Value, json};
use stonewear_picture::{Bar, BarChart};
use stonewear_stats::budget::{ActsOn, Budget};
use stonewear_stats::uncertainty::Expanded;
use stonewear_stats::{Figure, StatsError};

/// What to do about a source of which nothing is known.
const NOT_KNOWN: &str = "no figure is published; give it with --inputs";

pub(super) fn answer(found: &Found) -> Result<Answer, StatsError> {
    let budget = found.budget.clone()?;
    let mut json = Document::new()
        .put("method", found.method.id.as_str())
        .put("edition", found.method.edition.as_str())
        .put("loss_percent", found.loss_percent.as_str())
        .put("level", found.how.level)
        .put("bottom_up", bottom_up(&budget, found))
        .put(
            "not_known",
            found
                .not_known
                .iter()
                .map(|source| json!({ "source": source, "why": NOT_KNOWN }))
                .collect::<Vec<Value>>(),
        );
    let mut text = head(&budget, found);
    match &found.own {
        None => json = json.missing("top_down", "no --history is given"),
        Some(own) => {
            let top_down = own.found.clone()?;
            let mut inner = own_data::document(&top_down)
                .put("reference_results", own.references)
                .put("duplicates", own.duplicates);
            inner = match own.assigned {
                Some(assigned) => inner.put("assigned", assigned),
                None => inner.missing("assigned", "no --assigned is given"),
            };
            inner = match &own.expanded {
                Ok(e) => inner.put("coverage_factor", e.factor).put("expanded", e.uncertainty),
                Err(why) => inner.missing("coverage_factor", why).missing("expanded", why),
            };
            json = json.put("top_down", inner.value());
            text.push_str("\nFrom the laboratory's own results\n");
            text.push_str(&own_data::words(&top_down));
            text.push_str(&difference(&budget, &top_down, found));
        }
    }
    Ok(Answer::new(text, json.value()))
}

fn bottom_up(budget: &Budget, found: &Found) -> Value {
    let contributions: Vec<Value> = budget
        .sources
        .iter()
        .map(|source| {
            let from: Vec<Value> = found
                .known
                .iter()
                .filter(|k| k.contributor.source == source.name)
                .map(basis)
                .collect();
            Document::new()
                .put("source", source.name.as_str())
                .put("uncertainty", source.uncertainty)
                .figure("share", &source.share)
                .put("basis", from)
                .value()
        })
        .collect();
    Document::new()
        .put("first_order", of_first(&budget.first_order).value())
        .put("monte_carlo", of_trials(&budget.monte_carlo, None, found.how.seed).value())
        .put("contributions", contributions)
        .value()
}

fn basis(known: &Known) -> Value {
    let document =
        Document::new().put("acts_on", place(known)).put("origin", known.origin.as_str());
    match known.confidence {
        Some(confidence) => {
            document.put("source", known.source.as_str()).put("confidence", confidence.to_string())
        }
        None => document
            .missing("source", "the laboratory gave this figure")
            .missing("confidence", "the laboratory gave this figure"),
    }
    .value()
}

fn place(known: &Known) -> &'static str {
    match known.contributor.acts_on {
        ActsOn::EachMass => "each-mass",
        ActsOn::ShareOfEachMass => "share-of-each-mass",
        ActsOn::MassBefore => "mass-before",
        ActsOn::MassAfter => "mass-after",
        ActsOn::Loss => "loss",
        ActsOn::ShareOfLoss => "share-of-loss",
        ActsOn::Quantity { .. } => "quantity",
    }
}

/// A figure of uncertainty, or its reason in brackets.
fn figure(figure: &Figure) -> String {
    figure.as_ref().map_or_else(|why| format!("not defined ({why})"), |value| brief(*value))
}

/// An end of an interval of the loss, to a hundredth of a per cent.
fn two(value: f64) -> String {
    if value.abs() < 1e6 { format!("{value:.2}") } else { short(value) }
}

/// Both ways side by side, then what the steps contribute.
fn head(budget: &Budget, found: &Found) -> String {
    let level = percent(found.how.level);
    let own = found.own.as_ref();
    let top_down = own.and_then(|own| own.found.as_ref().ok());
    let expanded = |e: &Expanded| format!("{} (k = {})", brief(e.uncertainty), brief(e.factor));
    let none = || "no --history".to_owned();
    let first = &budget.first_order;
    let trials = &budget.monte_carlo;
    let rows = vec![
        vec![
            "standard uncertainty, %".to_owned(),
            brief(first.standard_uncertainty),
            figure(&trials.standard_deviation),
            top_down.map_or_else(none, |t| figure(&t.standard_uncertainty)),
        ],
        vec![
            format!("expanded, {level}"),
            first.expanded.as_ref().map_or_else(|why| format!("not defined ({why})"), expanded),
            format!("{} to {}", two(trials.shortest.lower), two(trials.shortest.upper)),
            own.map_or_else(none, |own: &Own| {
                own.expanded.as_ref().map_or_else(|why| format!("not defined ({why})"), expanded)
            }),
        ],
    ];
    let mut text = lines(&[
        ("method", found.method.key().to_string()),
        ("loss", format!("{} %", found.loss_percent)),
    ]);
    text.push('\n');
    let header = ["", "steps, first order", "steps, Monte Carlo", "own results"];
    text.push_str(&columns(&header, &rows));
    let mut rows: Vec<Vec<String>> = budget
        .sources
        .iter()
        .map(|s| {
            let share = s.share.clone().map(|share| 100.0 * share);
            let share =
                share.map_or_else(|why| format!("not defined ({why})"), |s| format!("{s:.1}"));
            vec![s.name.clone(), brief(s.uncertainty), share]
        })
        .collect();
    let unknown = |name: &&str| vec![(*name).to_owned(), "not known".to_owned(), String::new()];
    rows.extend(found.not_known.iter().map(unknown));
    text.push('\n');
    text.push_str(&columns(&["source", "standard uncertainty, %", "share, %"], &rows));
    text.push('\n');
    for known in &found.known {
        let sure = known.confidence.map_or_else(
            || "given by the laboratory".to_owned(),
            |c| match known.source.as_str() {
                "" => c.in_words().to_owned(),
                keys => format!("{keys}; {}", c.in_words()),
            },
        );
        text.push_str(&format!("{}: {} [{sure}]\n", known.contributor.source, known.origin));
    }
    if !found.not_known.is_empty() {
        text.push_str(&format!("Not known: {}. ", found.not_known.join(", ")));
        text.push_str("The budget of the steps is too small by what they contribute.\n");
    }
    text
}

/// Whether the laboratory's own results scatter more than the steps explain.
fn difference(
    budget: &Budget,
    own: &stonewear_stats::uncertainty::TopDown,
    found: &Found,
) -> String {
    let steps = budget.first_order.standard_uncertainty;
    match &own.standard_uncertainty {
        Ok(u) if *u > steps => {
            let mut text = "The own results scatter more than the known steps explain".to_owned();
            if !found.not_known.is_empty() {
                text.push_str(&format!(": look at {}", found.not_known.join(", ")));
            }
            text + ".\n"
        }
        Ok(_) => "The known steps explain the scatter of the own results.\n".to_owned(),
        Err(_) => String::new(),
    }
}

/// The contributors, the largest first, and those that are not known.
pub(super) fn picture(budget: &Budget, not_known: &[&str]) -> BarChart {
    let known = budget.sources.iter().map(|source| Bar {
        name: source.name.clone(),
        value: Some(source.uncertainty),
        words: match &source.share {
            Ok(share) => {
                format!("{} ({:.0} % of the variance)", brief(source.uncertainty), 100.0 * share)
            }
            Err(_) => brief(source.uncertainty),
        },
    });
    let rest = not_known.iter().map(|name| Bar {
        name: (*name).to_owned(),
        value: None,
        words: "not known".to_owned(),
    });
    BarChart {
        title: "What the uncertainty of the loss is made of".to_owned(),
        scale: "standard uncertainty of the loss, % of mass".to_owned(),
        bars: known.chain(rest).collect(),
    }
}
