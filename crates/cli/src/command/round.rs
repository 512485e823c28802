//! `stonewear round`: one value, one place, one rule.

use crate::answer::{Answer, Failure};
use serde_json::json;
use stonewear_measure::{Exact, Rounding, Rule, read};

/// Round a decimal exactly, to a place, by the rule that a document names.
#[derive(Debug, clap::Args)]
#[command(after_help = "\
Example:\n\
\x20 stonewear round 14.85 --place 0.1 --rule half-even")]
pub(crate) struct Round {
    /// The value, as it is written.
    #[arg(allow_negative_numbers = true)]
    value: String,
    /// The interval between neighbouring results: 0.1, 1, 0.05, 25.
    #[arg(long, allow_negative_numbers = true)]
    place: String,
    /// What happens to an exact half: half-even (ASTM E29) or half-up (Ontario LS-100).
    #[arg(long)]
    rule: String,
}

pub(crate) fn run(round: &Round) -> Result<Answer, Failure> {
    let value =
        read(&round.value).map_err(|error| Failure::WrongInput(format!("value: {error}")))?;
    let place =
        read(&round.place).map_err(|error| Failure::WrongInput(format!("--place: {error}")))?;
    let rule: Rule =
        round.rule.parse().map_err(|error| Failure::WrongInput(format!("--rule: {error}")))?;
    let rounding = Rounding::new(place, rule)
        .map_err(|error| Failure::WrongInput(format!("--place: {error}")))?;
    let rounded = rounding
        .apply(&Exact::from(value))
        .ok_or_else(|| Failure::WrongInput("the result needs more than 28 digits".to_owned()))?;
    Ok(Answer::new(
        rounded.to_string(),
        json!({
            "value": value.to_string(),
            "place": place.to_string(),
            "rule": rule.to_string(),
            "rounded": rounded.to_string(),
        }),
    ))
}
