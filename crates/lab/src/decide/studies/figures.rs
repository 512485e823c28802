//! The figures of studies: what a plan rests on, in numbers and words, and what a conclusion keeps.

use crate::decide::Desk;
use crate::decide::form::Form;
use crate::fact::{Question, StudyFigure, StudyFigures};
use crate::judgement::{Uncertainty, uncertainty};
use crate::policy::UncertaintyFrom;
use crate::request::PlanStudy;
use crate::study::{Analysis, shown};
use stonewear_measure::Decimal;
use stonewear_method::Method;

/// No value of a study is larger.
const LARGEST: Decimal = Decimal::from_parts(1_000_000_000, 0, 0, false, 0);
/// Probability of seeing a difference where nothing else is said, %: common practice (J. Cohen,
/// Statistical Power Analysis for the Behavioral Sciences, 2nd ed., section 2.4).
const USUAL_POWER: Decimal = Decimal::from_parts(80, 0, 0, false, 0);
/// Confidence where nothing else is said, %: common practice.
const USUAL_CONFIDENCE: Decimal = Decimal::from_parts(95, 0, 0, false, 0);

impl Desk<'_> {
    /// The figures that a study is planned with.
    pub(super) fn figures_of_study(
        &self,
        form: &mut Form,
        request: &PlanStudy,
        question: Question,
        method: Option<&Method>,
    ) -> StudyFigures {
        let came_along = !request.table.trim().is_empty();
        let mut figures = StudyFigures {
            power_percent: percent(form, "power", &request.power, 50, USUAL_POWER),
            confidence_percent: percent(
                form,
                "confidence",
                &request.confidence,
                80,
                USUAL_CONFIDENCE,
            ),
            ..StudyFigures::default()
        };
        let agreement = question != Question::Same;
        // What was found needs no wish; a margin is needed always.
        if agreement || !came_along || !request.difference.trim().is_empty() {
            let difference = form.positive("difference", &request.difference, "", LARGEST);
            figures.difference = difference.unwrap_or_default();
        }
        if agreement {
            let source = &request.difference_source;
            figures.difference_source =
                form.text("difference_source", source, "where the margin comes from");
            if !request.expected_difference.trim().is_empty() {
                let expected = form.number("expected_difference", &request.expected_difference);
                figures.expected_difference = expected.unwrap_or_default();
            }
            if figures.expected_difference.abs() >= figures.difference && !form.is_hopeless() {
                let message = "the expected difference is not within the margin";
                let hint =
                    "agreement cannot be shown then; choose a wider margin, if it is justified";
                form.wrong("expected_difference", "input-impossible", message, hint);
            }
        } else {
            figures.difference_source =
                form.optional("difference_source", &request.difference_source);
        }
        if question == Question::Reference {
            figures.reference_value = form.number("reference_value", &request.reference_value);
            let uncertainty = form.number("reference_uncertainty", &request.reference_uncertainty);
            if uncertainty.is_some_and(|uncertainty| uncertainty < Decimal::ZERO) {
                let message = "an uncertainty cannot be below 0";
                form.wrong("reference_uncertainty", "input-impossible", message, "");
            }
            figures.reference_uncertainty = uncertainty;
            let source = &request.reference_source;
            figures.reference_source =
                form.text("reference_source", source, "where the reference value comes from");
        }
        if !request.deviation.trim().is_empty() {
            figures.deviation = form.positive("deviation", &request.deviation, "", LARGEST);
            let source = &request.deviation_source;
            figures.deviation_source =
                form.text("deviation_source", source, "where the standard deviation comes from");
        } else if !came_along && let Some(method) = method {
            deviation_of_method(form, request, method, &mut figures);
        }
        figures
    }
}

/// The standard deviation of single results by the repeatability that the method states.
fn deviation_of_method(
    form: &mut Form,
    request: &PlanStudy,
    method: &Method,
    figures: &mut StudyFigures,
) {
    let expected = match (request.expected.trim(), figures.reference_value) {
        ("", Some(value)) => value,
        ("", None) => {
            let message = "neither a standard deviation nor the expected loss is given";
            let hint = "give the standard deviation of single results with its source, or the expected loss: the precision of the method at that loss then gives it";
            form.wrong("deviation", "input-missing", message, hint);
            return;
        }
        (typed, _) => {
            let Some(value) = form.positive("expected", typed, "%", Decimal::ONE_HUNDRED) else {
                return;
            };
            value
        }
    };
    match uncertainty(UncertaintyFrom::Repeatability, method, expected) {
        Uncertainty::Yes { standard_percent, source, confidence } => {
            figures.deviation = Some(standard_percent);
            let sure = confidence.map_or_else(String::new, |sure| format!("; {}", sure.in_words()));
            figures.deviation_source = format!("{source}{sure}");
        }
        Uncertainty::No { why } => {
            let hint = "give the standard deviation of single results with its source";
            form.wrong("deviation", "input-missing", why, hint);
        }
    }
}

/// A probability in percent, from `least` to 99.9.
fn percent(form: &mut Form, field: &str, typed: &str, least: u32, usual: Decimal) -> Decimal {
    if typed.trim().is_empty() {
        return usual;
    }
    let Some(value) = form.number(field, typed) else { return usual };
    let most = Decimal::new(999, 1);
    if value < Decimal::from(least) || value > most {
        let message = format!("{value} % cannot be");
        form.wrong(field, "input-impossible", message, format!("it lies from {least} to {most} %"));
    }
    value
}

/// What the plan can show, in words.
pub(super) fn in_words(question: Question, runs: u32, figures: &StudyFigures) -> Vec<String> {
    let unit = crate::study::LOSS;
    let wanted = shown(figures.difference, unit);
    let (power, aim) = (figures.planned_power_percent.unwrap_or_default(), figures.power_percent);
    let mut said = vec![match question {
        Question::Same => format!(
            "With {runs} runs a difference of {wanted} is found with a probability of {power} %."
        ),
        Question::Equivalent | Question::Reference => format!(
            "With {runs} runs agreement within ± {wanted} is shown with a probability of {power} %, if the truth lies {} off.",
            shown(figures.expected_difference, unit)
        ),
    }];
    said.extend(figures.planned_difference.map(|seen| {
        format!("The smallest difference that is found with {aim} % is {}.", shown(seen, unit))
    }));
    match figures.runs_needed {
        Some(needed) if needed > runs => {
            said.push(format!("The wanted {aim} % would need {needed} runs."));
        }
        None if power < aim => {
            said.push(format!("The wanted {aim} % is beyond the reach of this design."));
        }
        _ => {}
    }
    said
}

/// The figures that a conclusion rests on.
pub(super) fn of_conclusion(analysis: &Analysis) -> Vec<StudyFigure> {
    let mut kept = Vec::new();
    let mut keep = |name: String, value: Option<Decimal>, unit: &str| {
        kept.extend(value.map(|value| StudyFigure { name, value, unit: unit.to_owned() }));
    };
    let unit = &analysis.unit;
    for factor in &analysis.factors {
        keep(format!("p of {}", factor.name), factor.p, "");
        for level in &factor.levels {
            keep(format!("mean at {} {}", factor.name, level.level), level.mean, unit);
        }
        let seen = factor.would_have_been_seen;
        keep(format!("difference of {} that would have been found", factor.name), seen, unit);
    }
    if let Some(residuals) = &analysis.residuals {
        keep("residual standard deviation".to_owned(), residuals.deviation, unit);
    }
    if let Some(found) = &analysis.equivalence {
        keep(found.what.clone(), found.difference, unit);
        keep("standard error".to_owned(), found.standard_error, unit);
        keep("lower end of the interval".to_owned(), found.lower, unit);
        keep("upper end of the interval".to_owned(), found.upper, unit);
        keep("margin".to_owned(), Some(found.margin), unit);
    }
    kept
}
