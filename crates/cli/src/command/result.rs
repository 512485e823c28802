//! `stonewear result`: a result with its versions, its judgement and its agreement.

use crate::answer::{Answer, Failure};
use crate::arguments::Folder;
use serde_json::{Map, Value, json};
use stonewear_lab::judgement::Judgement;
use stonewear_lab::state::{Noted, ResultVersion, TestResult};
use stonewear_lab::{Lab, ResultCode};
use stonewear_report::report_number;
use stonewear_runtime::LaboratoryView;

#[derive(Debug, clap::Subcommand)]
pub(crate) enum ResultVerb {
    /// Show a result: every version and who released it, how it was judged and with which risk, and
    /// whether it agrees with the other losses of its sample.
    #[command(after_help = "\
Example:\n\
\x20 stonewear result show L26-001 --dir demo-laboratory\n\
\x20 stonewear result show L26-001 --strict")]
    Show(Show),
}

#[derive(Debug, clap::Args)]
pub(crate) struct Show {
    #[command(flatten)]
    folder: Folder,
    /// The result.
    result: String,
    /// Exit status 1 unless it conforms to the limit of its sample.
    #[arg(long)]
    strict: bool,
}

pub(crate) fn run(result: &ResultVerb) -> Result<Answer, Failure> {
    let ResultVerb::Show(show) = result;
    let view = LaboratoryView::open(&show.folder.place()?)?;
    let lab = view.lab();
    let typed = show.result.trim();
    let Some(result) = lab.results.get(typed.to_uppercase().as_str()) else {
        let known = lab.results.keys().map(ResultCode::as_str);
        return Err(super::unknown("there is no result", typed, known));
    };
    let judgement = lab.judgement(result);
    let conforms = judgement.as_ref().and_then(|judgement| judgement.verdict.accepts());
    Ok(Answer {
        text: text(lab, result, judgement.as_ref()),
        json: document(lab, result, judgement.as_ref()),
        is_no: show.strict && conforms != Some(true),
    })
}

/// The versions with their numbers, oldest first.
fn versions(result: &TestResult) -> impl Iterator<Item = (usize, &Noted<ResultVersion>)> {
    (1_usize..).zip(&result.versions)
}

fn text(lab: &Lab, result: &TestResult, judgement: Option<&Judgement>) -> String {
    let day = |at: jiff::Timestamp| lab.local(at).date();
    let mut text = format!("{} of {}, by {}\n", result.code, result.sample, result.method);
    for (number, version) in versions(result) {
        let ResultVersion { reason, release, .. } = &version.value;
        text.push_str(&format!(
            "version {number}: {}, {} {}",
            version.value.in_words(),
            day(version.at),
            version.by
        ));
        if !reason.is_empty() {
            text.push_str(&format!(" ({reason})"));
        }
        match release {
            None => text.push_str(", not released\n"),
            Some(release) => {
                let report = report_number(result, number);
                text.push_str(&format!(
                    ", released {} {} as report {report}\n",
                    day(release.at),
                    release.by
                ));
                for deviation in &release.value.deviations {
                    let stonewear_lab::fact::Deviation { what, reason, .. } = &deviation.value;
                    text.push_str(&format!("  deviation: {what}; reason: {reason}\n"));
                }
            }
        }
    }
    match judgement {
        None => text.push_str("no limit was agreed: nothing is judged\n"),
        Some(judgement) => text.push_str(&format!(
            "{}: required {}, compared {} %\n  {}\n  {}\n",
            judgement.verdict.in_words(),
            judgement.requirement(),
            judgement.compared_percent,
            judgement.rule_in_words(),
            judgement.risk_in_words()
        )),
    }
    let agreement = lab.agreement(result);
    for pair in &agreement.pairs {
        text.push_str(&format!("{}\n", pair.in_words()));
    }
    for next in &agreement.next {
        text.push_str(&format!("next: {next}\n"));
    }
    if result.release().is_none() {
        let people: Vec<String> =
            lab.may_release(result).iter().map(|person| person.code.to_string()).collect();
        let who = if people.is_empty() { "nobody".to_owned() } else { people.join(", ") };
        text.push_str(&format!("may release: {who}\n"));
    }
    text
}

fn document(lab: &Lab, result: &TestResult, judgement: Option<&Judgement>) -> Value {
    let versions: Vec<Value> = versions(result)
        .map(|(number, version)| {
            json!({
                "version": number,
                "loss_percent": version.value.loss_percent,
                "properties": version.value.properties,
                "at": version.at,
                "by": version.by,
                "reason": version.value.reason,
                "release": version.value.release,
                "report": version.value.release.is_some().then(|| report_number(result, number)),
            })
        })
        .collect();
    let released = |version: &Value| !version["report"].is_null();
    let replaces = versions.iter().rev().skip(1).find(|version| released(version));
    let mut undefined = Map::new();
    let probability = judgement.and_then(Judgement::probability_wrong);
    if probability.is_none() {
        let why = judgement.map_or("no limit was agreed".to_owned(), Judgement::risk_in_words);
        undefined.insert("probability_wrong".to_owned(), why.into());
    }
    let may_release = lab.may_release(result);
    json!({
        "result": result.code,
        "sample": result.sample,
        "method": result.method,
        "specimens": result.specimens,
        "loss_percent": result.current().and_then(|version| version.value.loss_percent),
        "properties": result.current().map(|version| &version.value.properties),
        "version": result.version(),
        "released": result.release().is_some(),
        "replaces": replaces.map(|version| version["report"].clone()),
        "versions": versions,
        "judgement": judgement,
        "expanded_uncertainty": judgement.and_then(Judgement::expanded_percent),
        "rule": judgement.map(Judgement::rule_in_words),
        // A statistic, so a number and not a text.
        "probability_wrong": probability.and_then(|share| share.to_string().parse::<f64>().ok()),
        "agreement": lab.agreement(result),
        "may_release": may_release.iter().map(|person| &person.code).collect::<Vec<_>>(),
        "undefined": undefined,
    })
}
