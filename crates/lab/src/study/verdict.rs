//! What an analysis says, in sentences that need no statistics to be understood.

use super::LOSS;
use super::analysis::{Analysis, EquivalenceFound, FactorFound};
use crate::fact::{Question, StudyPlanned};
use stonewear_measure::Decimal;

/// Probabilities below this are not told apart.
const SMALLEST_P: Decimal = Decimal::from_parts(1, 0, 0, false, 4);

/// A figure as it is read: a loss to two decimals, anything else to four digits, with its unit.
pub fn shown(value: Decimal, unit: &str) -> String {
    let value = if unit == LOSS {
        let mut rounded = value.round_dp(2);
        rounded.rescale(2);
        Some(rounded)
    } else {
        value.round_sf(4).map(|rounded| rounded.normalize())
    };
    let value = value.map(|value| value.to_string().replace('-', "\u{2212}")).unwrap_or_default();
    if unit.is_empty() { value } else { format!("{value} {unit}") }
}

/// A figure as [`shown`], without its unit: an end of an interval behind its value.
pub fn bare(value: Decimal, unit: &str) -> String {
    let shown = shown(value, unit);
    shown.strip_suffix(unit).unwrap_or(&shown).trim_end().to_owned()
}

/// A probability as it is read.
pub fn p_in_words(p: Decimal) -> String {
    if p < SMALLEST_P { "below 0.0001".to_owned() } else { format!("{:.4}", p.round_dp(4)) }
}

/// Everything that is to be said, what was asked first.
pub(super) fn sentences(plan: &StudyPlanned, analysis: &Analysis) -> Vec<String> {
    let mut said = Vec::new();
    match (plan.question, &analysis.equivalence) {
        (Question::Same, _) => {
            said.extend(analysis.factors.iter().map(|factor| of_factor(plan, factor)));
            said.extend(together(plan, analysis));
        }
        (_, Some(found)) => said.extend(of_agreement(plan, found)),
        (_, None) => {}
    }
    said.extend(of_residuals(analysis));
    said
}

fn of_factor(plan: &StudyPlanned, factor: &FactorFound) -> String {
    let unit = &plan.unit;
    let name = &factor.name;
    let p = factor
        .p
        .map_or_else(String::new, |p| format!(" (p = {})", p_in_words(p)))
        .replace("= below", "below");
    if !factor.differs {
        let unseen = factor.would_have_been_seen.map_or_else(String::new, |seen| {
            format!(
                " A difference of {} or more would have been found with a probability of {} %; a smaller one may have stayed unseen.",
                shown(seen, unit),
                plan.figures.power_percent
            )
        });
        return format!("No difference between the levels of {name} was found{p}.{unseen}");
    }
    let apart = factor.differences.iter().filter(|one| {
        let beside = |end: Option<Decimal>| end.unwrap_or_default();
        beside(one.lower) > Decimal::ZERO || beside(one.upper) < Decimal::ZERO
    });
    let pairs: Vec<String> = apart
        .filter_map(|one| {
            let (difference, lower, upper) = (one.difference?, one.lower?, one.upper?);
            // Said of the larger one, so that every number is above zero.
            Some(if difference < Decimal::ZERO {
                larger(&one.first, &one.second, [-difference, -upper, -lower], unit)
            } else {
                larger(&one.second, &one.first, [difference, lower, upper], unit)
            })
        })
        .collect();
    if pairs.is_empty() {
        return format!(
            "The levels of {name} are not the same{p}, but no single pair of them can be told apart."
        );
    }
    let confidence = plan.figures.confidence_percent;
    format!(
        "The levels of {name} are not the same{p}: {}; intervals at {confidence} % for all pairs together.",
        pairs.join("; ")
    )
}

fn larger(one: &str, other: &str, [by, from, to]: [Decimal; 3], unit: &str) -> String {
    format!(
        "{one} lies {} above {other} ({} to {})",
        shown(by, unit),
        bare(from, unit),
        bare(to, unit)
    )
}

/// Factors that act together: what one does depends on the level of the other.
fn together(plan: &StudyPlanned, analysis: &Analysis) -> Vec<String> {
    let alpha = super::power::alpha(&plan.figures);
    let pairs = analysis.table.iter().filter(|row| row.source.contains(" × "));
    pairs
        .filter(|row| row.p.is_some_and(|p| p < alpha))
        .map(|row| {
            let p = row.p.map(p_in_words).unwrap_or_default();
            format!(
                "{} act together (p {p}): what one does depends on the other, so read the means of each with care.",
                row.source.replace(" × ", " and ")
            )
        })
        .collect()
}

fn of_agreement(plan: &StudyPlanned, found: &EquivalenceFound) -> Vec<String> {
    let unit = &plan.unit;
    let (Some(difference), Some(lower), Some(upper)) = (found.difference, found.lower, found.upper)
    else {
        return Vec::new();
    };
    let interval = format!(
        "{} is {} ({} to {} at {} % confidence)",
        found.what,
        shown(difference, unit),
        bare(lower, unit),
        bare(upper, unit),
        found.interval_percent.normalize()
    );
    let margin = shown(found.margin, unit);
    let verdict = if found.agrees {
        format!("Agreement is shown: {interval}, within ± {margin}.")
    } else if found.differs {
        format!("A difference beyond the margin is shown: {interval}, outside ± {margin}.")
    } else {
        format!(
            "Agreement is not shown: {interval} reaches beyond ± {margin}. That does not prove a difference; it means that the runs do not exclude one."
        )
    };
    let more = found.runs_needed.filter(|_| !found.differs).map(|runs| {
        format!(
            "With the spread found, {runs} runs in all would show agreement with a probability of {} %, if there is no difference.",
            plan.figures.power_percent
        )
    });
    [Some(verdict), more].into_iter().flatten().collect()
}

/// A residual look: what speaks against the model.
fn of_residuals(analysis: &Analysis) -> Vec<String> {
    let Some(residuals) = &analysis.residuals else { return Vec::new() };
    let mut said = Vec::new();
    // Common practice, no published source: three standard deviations, five percent.
    let far = residuals.furthest.filter(|off| *off >= Decimal::from(3));
    if let Some(off) = far {
        said.push(format!(
            "Run {} lies {off} standard deviations off what the others say of it: look at its record before you conclude.",
            residuals.furthest_run
        ));
    }
    if let Some(p) = residuals.normality_p.filter(|p| *p < Decimal::new(5, 2)) {
        said.push(format!(
            "What is left does not look normal (Shapiro and Wilk, p = {}): the probabilities are approximate.",
            p_in_words(p)
        ).replace("= below", "below"));
    }
    said
}
