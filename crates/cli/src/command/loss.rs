//! `stonewear loss`: the loss of a sample from its masses, without any laboratory.

use crate::answer::{Answer, Failure};
use serde_json::{Value, json};
use std::path::PathBuf;
use stonewear_measure::{Decimal, read};
use stonewear_method::Weighed;
use stonewear_method::loss::{departures, loss};
use stonewear_method::model::LossRule;

/// Work out a loss from the masses of its specimens.
#[derive(Debug, clap::Args)]
#[command(after_help = "\
Example:\n\
\x20 stonewear loss astm-d6928 --before 1500 --after 1278\n\
\x20 stonewear loss en-1097-1 --before 500 --after 441.5 --before 500 --after 439.5\n\
\x20 stonewear loss astm-d6928 --file masses.csv")]
pub(crate) struct LossOf {
    /// The method: astm-d6928, with its edition astm-d6928@2010, or a file of your own, mine.toml.
    method: String,
    /// Oven-dry mass before, g; once a specimen.
    #[arg(
        long = "before",
        value_name = "G",
        required_unless_present = "file",
        allow_negative_numbers = true
    )]
    before: Vec<String>,
    /// Oven-dry mass kept on the method's sieve after, g; once a specimen.
    #[arg(
        long = "after",
        value_name = "G",
        required_unless_present = "file",
        allow_negative_numbers = true
    )]
    after: Vec<String>,
    /// A CSV file of many samples instead, with the columns before_g and after_g; a column sample
    /// says which rows belong together, without it each row is a sample.
    #[arg(long, value_name = "FILE", conflicts_with_all = ["before", "after"])]
    file: Option<PathBuf>,
    /// Work it out although the masses depart from the method; the answer says so.
    #[arg(long, value_name = "REASON")]
    even_so: Option<String>,
}

pub(crate) fn run(request: &LossOf) -> Result<Answer, Failure> {
    let method = super::find_method(&request.method)?;
    if let Some(file) = &request.file {
        return super::losses::run(&method, file, request.even_so.as_deref());
    }
    let specimens = weighed(request)?;
    let reason = request.even_so.as_deref().map(str::trim);
    if reason == Some("") {
        return Err(Failure::WrongInput("--even-so: the reason is missing; write it".to_owned()));
    }
    // What no reason can excuse comes first: then nothing is offered that would not help.
    let loss = loss(&method, &specimens).map_err(Failure::wrong_input)?;
    let departures = departures(&method, &specimens);
    if !departures.is_empty() && reason.is_none() {
        let list = departures.iter().map(ToString::to_string).collect::<Vec<_>>().join("\n");
        return Err(Failure::WrongInput(format!(
            "{list}\n(with --even-so REASON the loss is worked out all the same, and the answer says so)"
        )));
    }
    let mut text = format!("{} ({})\n", method.key(), method.designation);
    for line in loss.worked() {
        text.push_str(&format!("  {line}\n"));
    }
    text.push_str(&format!("loss {} %\n", loss.percent));
    for departure in &departures {
        text.push_str(&format!(
            "departs from the method: {departure} (reason: {})\n",
            reason.unwrap_or_default()
        ));
    }
    if !loss.confidence.is_sure() {
        text.push_str(&format!(
            "at least one number of the method under it is {}\n",
            loss.confidence.in_words()
        ));
    }
    let specimens: Vec<_> = loss
        .specimens
        .iter()
        .map(|one| {
            json!({
                "before_g": one.weighed.before_g.to_string(),
                "after_g": one.weighed.after_g.to_string(),
                "unrounded": plain(&one.exact_percent),
                "loss_percent": one.rounded_percent.to_string(),
            })
        })
        .collect();
    let source = |of: &dyn Fn(&LossRule) -> Value| method.loss.as_ref().map(of);
    Ok(Answer::new(
        text,
        json!({
            "method": method.id,
            "edition": method.edition,
            "specimens": specimens,
            "loss_percent": loss.percent.to_string(),
            "unrounded": plain(&loss.exact_percent),
            "rounding": { "place": loss.place.to_string(), "rule": loss.rule.to_string() },
            "formula": loss.worked(),
            "sources": {
                "formula": source(&|rule| json!({ "source": rule.formula.source, "confidence": rule.formula.confidence })),
                "place": source(&|rule| json!({ "source": rule.round_to_percent.source, "confidence": rule.round_to_percent.confidence })),
                "rule": source(&|rule| json!({ "source": rule.rounding_rule.source, "confidence": rule.rounding_rule.confidence })),
            },
            "confidence": loss.confidence,
            "departures": departures,
            "even_so": reason,
        }),
    ))
}

/// The exact value as a decimal; where it does not end, its first 24 decimals.
pub(super) fn plain(exact: &stonewear_measure::Exact) -> String {
    exact.to_decimals(24)
}

fn weighed(request: &LossOf) -> Result<Vec<Weighed>, Failure> {
    if request.before.len() != request.after.len() {
        return Err(Failure::WrongInput(format!(
            "{} masses before and {} after are given; give one --before and one --after a specimen",
            request.before.len(),
            request.after.len()
        )));
    }
    let mass = |option: &str, number: usize, typed: &str| -> Result<Decimal, Failure> {
        read(typed)
            .map_err(|error| Failure::WrongInput(format!("{option} of specimen {number}: {error}")))
    };
    (1_usize..)
        .zip(request.before.iter().zip(&request.after))
        .map(|(number, (before, after))| {
            Ok(Weighed {
                before_g: mass("--before", number, before)?,
                after_g: mass("--after", number, after)?,
            })
        })
        .collect()
}
