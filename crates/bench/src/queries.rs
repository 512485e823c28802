//! The questions that are asked of a laboratory every day, on its state in memory.

use crate::Trouble;
use serde_json::{Value, json};
use std::hint::black_box;
use std::path::Path;
use std::time::Instant;
use stonewear_runtime::OpenLaboratory;

/// Asks a question until a second is over, at most so often; how long each answer took, s.
fn asked(most: usize, mut work: impl FnMut()) -> Vec<f64> {
    let all = Instant::now();
    let mut taken = Vec::new();
    while taken.len() < most && (taken.len() < 3 || all.elapsed().as_secs_f64() < 1.0) {
        let begun = Instant::now();
        work();
        taken.push(begun.elapsed().as_secs_f64());
    }
    taken
}

/// How many results a doubt is asked to touch.
const IN_DOUBT: usize = 25;

/// Asks all of them.
pub(crate) fn all(folder: &Path) -> Result<Value, Trouble> {
    let laboratory = OpenLaboratory::open(folder)?;
    let lab = laboratory.lab();
    let balance = "BAL-1".into();
    let found = Some("1.5".parse()?);
    let now = laboratory.last_at();
    // As many results in every laboratory, so that what grows is the question and not its answer.
    let masses = lab.specimens.values().filter_map(|specimen| specimen.before.first());
    let on_it = masses.filter(|mass| mass.value.balance == balance);
    let mut used: Vec<_> = on_it.map(|mass| mass.at).collect();
    used.sort_unstable();
    let since = used.iter().rev().nth(IN_DOUBT - 1).copied();
    let doubt = || lab.doubt(&balance, "indication", found, since);
    let in_doubt = doubt().map_or(0, |answer| answer.results.len());
    // Spread over the whole time of the laboratory.
    let all: Vec<_> = lab.results.values().collect();
    if all.is_empty() {
        return Err("there is no result".into());
    }
    let some: Vec<_> = all.iter().step_by((all.len() / 97).max(1)).collect();
    let mut next = some.iter().cycle();
    Ok(json!({
        "facts": lab.position,
        "results": lab.results.len(),
        "in_doubt": in_doubt,
        "doubt": asked(101, || drop(black_box(doubt()))),
        "evidence": asked(1001, || {
            if let Some(result) = next.next() {
                drop(black_box(lab.evidence(result)));
            }
        }),
        "readiness": asked(101, || drop(black_box(lab.readiness(now)))),
    }))
}
