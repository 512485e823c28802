//! What the results of a laboratory say, as rows for questions across laboratories.

use std::collections::BTreeMap;
use stonewear_journal::postgres::ResultRow;
use stonewear_lab::state::TestResult;
use stonewear_lab::{Fact, Lab};

/// Rows by the code of their result.
pub(crate) type Rows = BTreeMap<String, ResultRow>;

/// Whether rows may stand otherwise after a fact.
pub(crate) fn changes_results(fact: &Fact) -> bool {
    matches!(
        fact,
        Fact::SampleCorrected { .. }
            | Fact::RunCorrected { .. }
            | Fact::ResultWorkedOut { .. }
            | Fact::ResultRevised { .. }
            | Fact::ResultReleased { .. }
            | Fact::DoubtOpened { .. }
            | Fact::DoubtClosed { .. }
            | Fact::SampleLinked(_)
    )
}

/// The rows of all results.
pub(crate) fn rows(lab: &Lab) -> Rows {
    let charted: BTreeMap<String, String> = lab
        .control_charts()
        .into_iter()
        .flat_map(|chart| chart.points)
        .filter(|point| !point.imported)
        .map(|point| (point.name, point.loss_percent.to_string()))
        .collect();
    let results = lab.results.values();
    results
        .filter_map(|result| Some((result.code.to_string(), row(lab, result, &charted)?)))
        .collect()
}

/// Those of `now` that are not in `before` as they stand.
pub(crate) fn changed(before: &Rows, now: &Rows) -> Vec<ResultRow> {
    now.iter()
        .filter(|(code, row)| before.get(*code) != Some(*row))
        .map(|(_, row)| row.clone())
        .collect()
}

fn row(lab: &Lab, result: &TestResult, charted: &BTreeMap<String, String>) -> Option<ResultRow> {
    let current = result.current()?;
    let sample = lab.samples.get(&result.sample)?;
    let grading = result.specimens.first().and_then(|code| lab.specimens.get(code));
    let on_chart = lab.on_chart(result);
    let lot = on_chart.and_then(|(lot, _)| lab.lots.get(lot));
    Some(ResultRow {
        result: result.code.to_string(),
        sample: result.sample.to_string(),
        source: sample.source.clone(),
        material: sample.material.clone(),
        // Editions of a method are compared, as on a control chart.
        method: result.method.as_str().split('@').next().unwrap_or_default().to_owned(),
        grading: grading.map(|specimen| specimen.grading.clone()).unwrap_or_default(),
        apparatus: on_chart.map(|(_, apparatus)| apparatus.to_string()),
        reference: lot.map(|lot| lot.source.trim().to_owned()),
        version: i32::try_from(result.version()).unwrap_or(i32::MAX),
        loss_percent: current.value.loss_percent.map(|loss| loss.to_string()),
        charted_percent: charted.get(result.code.as_str()).cloned(),
        found_at: result.versions.first()?.at,
        released_at: result.release().map(|release| release.at),
        in_doubt: lab.doubts_of(&result.code).any(|doubt| doubt.is_open_for(&result.code)),
    })
}
