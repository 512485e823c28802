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

/// Asks all of them.
pub(crate) fn all(folder: &Path) -> Result<Value, Trouble> {
    let laboratory = OpenLaboratory::open(folder)?;
    let lab = laboratory.lab();
    let balance = "BAL-1".into();
    let found = Some("1.5".parse()?);
    let middle = lab.results.values().nth(lab.results.len() / 2).ok_or("there is no result")?;
    let now = laboratory.last_at();
    Ok(json!({
        "facts": lab.position,
        "results": lab.results.len(),
        "doubt": asked(101, || drop(black_box(lab.doubt(&balance, "indication", found, None)))),
        "evidence": asked(1001, || drop(black_box(lab.evidence(middle)))),
        "readiness": asked(101, || drop(black_box(lab.readiness(now)))),
    }))
}
