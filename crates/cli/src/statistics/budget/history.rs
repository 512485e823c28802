//! The laboratory's own results: the reference aggregate over time, and duplicates.

use super::super::file;
use super::BudgetOf;
use crate::answer::Failure;
use std::path::Path;
use stonewear_stats::uncertainty::{Expanded, TopDown, expanded, top_down};
use stonewear_stats::{StatsError, Undefined};

/// What the laboratory's own results say.
pub(super) struct Own {
    pub(super) found: Result<TopDown, StatsError>,
    pub(super) expanded: Result<Expanded, Undefined>,
    pub(super) references: usize,
    pub(super) duplicates: usize,
    pub(super) assigned: Option<f64>,
}

pub(super) fn read(path: &Path, command: &BudgetOf) -> Result<Own, Failure> {
    let table = file::table(path)?;
    let fault = |error| file::fault(path, &error);
    let kinds = table.texts("kind").map_err(fault)?;
    let firsts = table.numbers_or_empty("first").map_err(fault)?;
    let seconds = table.numbers_or_empty("second").map_err(fault)?;
    let (mut references, mut duplicates) = (Vec::new(), Vec::new());
    for (n, (kind, pair)) in kinds.iter().zip(firsts.into_iter().zip(seconds)).enumerate() {
        let wrong = |what: String| {
            let line = table.line(n + 1).unwrap_or(n + 1);
            Failure::WrongInput(format!("{}: line {line}, {what}", path.display()))
        };
        match (kind.as_str(), pair) {
            ("reference", (Some(value), None)) => references.push(value),
            ("duplicate", (Some(first), Some(second))) => duplicates.push((first, second)),
            ("reference", _) => {
                let right = "column second: a reference has one result, in the column first";
                return Err(wrong(right.to_owned()));
            }
            ("duplicate", _) => {
                let right = "column second: a duplicate has two results, first and second";
                return Err(wrong(right.to_owned()));
            }
            (other, _) => {
                return Err(wrong(format!(
                    "column kind: {other:?} is neither reference nor duplicate"
                )));
            }
        }
    }
    if command.assigned.is_none() && !references.is_empty() {
        let message = "--history has reference results: give their assigned value with --assigned";
        return Err(Failure::WrongInput(message.to_owned()));
    }
    let assigned = (command.assigned.unwrap_or(0.0), command.assigned_u);
    let found = top_down(&references, assigned, &duplicates);
    // The scatter over time carries nearly all of it, so its degrees of freedom are taken for it.
    let freedom = references.len().saturating_sub(1) as f64;
    let expanded = match &found {
        Ok(TopDown { standard_uncertainty: Ok(u), .. }) => {
            expanded(*u, Some(freedom), command.level).map_err(|_| Undefined::BeyondDouble)
        }
        Ok(TopDown { standard_uncertainty: Err(why), .. }) => Err(why.clone()),
        Err(_) => Err(Undefined::Because("the results cannot be used")),
    };
    Ok(Own {
        found,
        expanded,
        references: references.len(),
        duplicates: duplicates.len(),
        assigned: command.assigned,
    })
}
