//! The test report as its template wants it.

use crate::{head, strip};
use serde_json::{Map, Value, json};
use stonewear_report::{Outcome, TestReport, TypesetError, Verdict};

/// The template that lays it out.
pub(crate) const TEMPLATE: &str = "test-report.typ";

/// What the report says, with the words for its verdicts and the positions of its drawings.
pub(crate) fn data(report: &TestReport) -> Result<Value, TypesetError> {
    let decision = report.loss.decision.as_ref();
    let drawing = decision.and_then(|decision| strip::draw(&report.loss, decision));
    Ok(json!({
        "report": to_json(report)?,
        "language": head::language(&report.language),
        "mark": head::mark(report.mark.as_ref())?,
        "words": words()?,
        "strip": to_json(&drawing)?,
    }))
}

/// The words for every verdict and outcome under the name it has in the data, so that the template
/// holds none of its own.
fn words() -> Result<Value, TypesetError> {
    let mut words = Map::new();
    for verdict in Verdict::ALL {
        words.insert(name(&verdict)?, verdict.words().into());
    }
    for outcome in Outcome::ALL {
        words.insert(name(&outcome)?, outcome.words().into());
    }
    Ok(words.into())
}

/// The name of a variant in the data.
fn name(variant: &impl serde::Serialize) -> Result<String, TypesetError> {
    Ok(to_json(variant)?.as_str().unwrap_or_default().to_owned())
}

fn to_json(value: &impl serde::Serialize) -> Result<Value, TypesetError> {
    serde_json::to_value(value).map_err(|error| TypesetError::Layout(error.to_string()))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_state_has_words() {
        let words = words().unwrap();
        assert_eq!(words["does-not-conform"], "Does not conform");
        assert_eq!(words["not-judged"], "no limit");
        assert_eq!(words.as_object().unwrap().len(), Verdict::ALL.len() + Outcome::ALL.len());
    }
}
