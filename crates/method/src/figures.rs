//! The figures of a method one by one: listing, confirming, correcting, comparing.

use crate::figure::Confidence;
use crate::model::Method;
use crate::rules::{Broken, broken};
use crate::walk::{AnyFigure, Spot, fraction_path, walk};
use serde::Serialize;
use std::collections::BTreeMap;
use thiserror::Error;

/// One figure of a method, with the place where it stands.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct FigureAt {
    /// Stable name: `water.volume_l.tolerance`, `grading.19.0.revolutions.nominal`.
    pub path: String,
    /// The figure in words: `water, tolerance`.
    pub label: String,
    /// The grading that it belongs to; absent for what holds for all of them.
    pub grading: Option<String>,
    /// The value as it is written.
    pub value: String,
    /// Its unit; empty where it has none.
    pub unit: &'static str,
    /// How sure we are of it.
    pub confidence: Confidence,
    /// Source keys, separated by commas; may be empty.
    pub source: String,
    /// What a reader should know.
    pub note: Option<String>,
}

/// Why a figure cannot be confirmed or corrected.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum FigureError {
    /// The method has no such figure.
    #[error("{method} has no figure “{path}”; near to it: {near}")]
    Unknown {
        /// The method.
        method: String,
        /// What was typed.
        path: String,
        /// Paths that resemble it, separated by commas.
        near: String,
    },
    /// The value cannot be read.
    #[error("{label}: {problem}")]
    Value {
        /// The figure in words.
        label: String,
        /// What is wrong and what would be right.
        problem: String,
    },
    /// The method would break a rule.
    #[error("{}", .0.iter().map(ToString::to_string).collect::<Vec<_>>().join("\n"))]
    Rules(Vec<Broken>),
}

/// Every figure of the method, in the order in which a reader meets them.
pub fn figures(method: &Method) -> Vec<FigureAt> {
    let mut found = Vec::new();
    // The walk lends each figure to be changed; here it is only read, on a copy.
    walk(&mut method.clone(), &mut |spot, figure| found.push(figure_at(spot, figure)));
    found
}

/// The figures that are not sure and matter for a run with this grading: those of the grading and
/// those that hold for all. Without a grading, all that are not sure.
pub fn unsure(method: &Method, grading: Option<&str>) -> Vec<FigureAt> {
    figures(method)
        .into_iter()
        .filter(|figure| !figure.confidence.is_sure())
        .filter(|figure| match (grading, figure.grading.as_deref()) {
            (Some(wanted), Some(of)) => wanted == of,
            _ => true,
        })
        .collect()
}

/// The method with one figure confirmed as it stands: the laboratory has found the same in its
/// own copy. The source stays.
///
/// The sieve between two fractions is one sieve: confirming either side confirms both.
///
/// # Errors
/// When the method has no such figure.
pub fn confirm(method: &Method, path: &str) -> Result<Method, FigureError> {
    let mut changed = method.clone();
    let paths = known_paths(method, path)?;
    walk(&mut changed, &mut |spot, figure| {
        if paths.contains(&spot.path) {
            figure.confirm();
        }
    });
    Ok(changed)
}

/// The method with one figure corrected to what the laboratory found in its own copy. The former
/// value and its source move into the note.
///
/// The sieve between two fractions is one sieve: correcting either side corrects both.
///
/// # Errors
/// When the method has no such figure, the value cannot be read, or the corrected method would
/// break a rule that holds for files. Where several figures hang together, such as the masses of
/// the fractions of one grading, use [`correct_together`].
pub fn correct(method: &Method, path: &str, value: &str) -> Result<Method, FigureError> {
    correct_together(method, &[(path, value)])
}

/// Corrects several figures, given as path and value, and checks the rules once at the end.
///
/// # Errors
/// As [`correct`].
pub fn correct_together(
    method: &Method,
    corrections: &[(&str, &str)],
) -> Result<Method, FigureError> {
    let mut changed = method.clone();
    for (path, value) in corrections {
        changed = correct_as_recorded(&changed, path, value)?;
    }
    match broken(&changed) {
        faults if faults.is_empty() => Ok(changed),
        faults => Err(FigureError::Rules(faults)),
    }
}

/// The correction alone, without asking the rules: for one that was accepted before. A record that
/// is replayed must not come out differently because a later version of the program has more rules.
///
/// # Errors
/// When the method has no such figure or the value cannot be read.
pub fn correct_as_recorded(
    method: &Method,
    path: &str,
    value: &str,
) -> Result<Method, FigureError> {
    let mut changed = method.clone();
    let paths = known_paths(method, path)?;
    let mut outcome = Ok(());
    walk(&mut changed, &mut |spot, figure| {
        if outcome.is_ok() && paths.contains(&spot.path) {
            outcome = correct_one(figure, value)
                .map_err(|problem| FigureError::Value { label: spot.label, problem });
        }
    });
    outcome.map(|()| changed)
}

fn correct_one(figure: &mut dyn AnyFigure, typed: &str) -> Result<(), String> {
    if figure.says(typed)? {
        figure.confirm();
        return Ok(());
    }
    let from = match figure.source().trim() {
        "" => String::new(),
        source => format!(", {source}"),
    };
    let was = format!("was {} ({}{from})", figure.text(), figure.confidence().in_words());
    let note = match figure.note() {
        Some(former) => format!("{was}; {former}"),
        None => was,
    };
    figure.replace(typed, note)
}

/// The path, and that of the other side of the same sieve if it is one between two fractions.
fn known_paths(method: &Method, path: &str) -> Result<Vec<String>, FigureError> {
    let all = figures(method);
    if !all.iter().any(|figure| figure.path == path) {
        let near = crate::library::nearest(path, all.iter().map(|figure| &*figure.path));
        let (method, path) = (method.key().to_string(), path.to_owned());
        return Err(FigureError::Unknown { method, path, near: near.join(", ") });
    }
    let mut paths = vec![path.to_owned()];
    for grading in &method.gradings {
        for (number, pair) in (1_usize..).zip(grading.fractions.windows(2)) {
            let [coarser, finer] = pair else { continue };
            let above = format!("{}.retained_mm", fraction_path(&grading.name, number));
            let below = format!("{}.passing_mm", fraction_path(&grading.name, number + 1));
            if coarser.retained_mm.value != finer.passing_mm.value {
                continue;
            }
            if path == above {
                paths.push(below);
            } else if path == below {
                paths.push(above);
            }
        }
    }
    Ok(paths)
}

/// A figure in which two methods differ.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Difference {
    /// Path that both share.
    pub path: String,
    /// The figure in words.
    pub label: String,
    /// As the first method has it; absent where it has none.
    pub left: Option<FigureAt>,
    /// As the second method has it; absent where it has none.
    pub right: Option<FigureAt>,
}

/// In which figures two methods differ by value: what another edition or agency changed. Numbers
/// are compared as numbers (2.0 is 2.00); sources, notes and confidence are not compared.
pub fn diff(left: &Method, right: &Method) -> Vec<Difference> {
    let left_figures = figures(left);
    let mut of_right: BTreeMap<String, FigureAt> =
        figures(right).into_iter().map(|figure| (figure.path.clone(), figure)).collect();
    let order: Vec<String> = figures(right).into_iter().map(|figure| figure.path).collect();
    let mut found = Vec::new();
    for figure in left_figures {
        let other = of_right.remove(&figure.path);
        if other.as_ref().is_none_or(|other| !same_value(&figure.value, &other.value)) {
            found.push(Difference {
                path: figure.path.clone(),
                label: figure.label.clone(),
                left: Some(figure),
                right: other,
            });
        }
    }
    let only_right = order.iter().filter_map(|path| of_right.remove(path));
    found.extend(only_right.map(|figure| Difference {
        path: figure.path.clone(),
        label: figure.label.clone(),
        left: None,
        right: Some(figure),
    }));
    found
}

fn same_value(left: &str, right: &str) -> bool {
    match (stonewear_measure::read(left), stonewear_measure::read(right)) {
        (Ok(left), Ok(right)) => left == right,
        _ => left == right,
    }
}

fn figure_at(spot: Spot, figure: &dyn AnyFigure) -> FigureAt {
    FigureAt {
        path: spot.path,
        label: spot.label,
        grading: spot.grading,
        value: figure.text(),
        unit: spot.quantity.unit(),
        confidence: figure.confidence(),
        source: figure.source().to_owned(),
        note: figure.note().map(str::to_owned),
    }
}

#[cfg(test)]
mod tests;
