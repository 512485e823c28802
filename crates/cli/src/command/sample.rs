//! `stonewear sample`: what is received.

use super::asking::ask;
use crate::answer::{Answer, Failure};
use crate::arguments::Asking;
use stonewear_lab::request::{CorrectSample, ReceiveSample};

#[derive(Debug, clap::Subcommand)]
pub(crate) enum Sample {
    /// Receive a sample.
    #[command(after_help = "\
Example:\n\
\x20 stonewear sample receive --by CD --source 'Example Quarry' --material 'crushed stone' --nominal-maximum 19.0 --limit 18 --limit-from 'example contract'")]
    Receive(Box<Receive>),
    /// Correct what is recorded about a sample; what is left out stays as it is. Results of it
    /// get a new version, to be released again.
    #[command(after_help = "\
Example:\n\
\x20 stonewear sample correct --by CD S26-001 --limit 17 --reason 'misread in the contract'")]
    Correct(Box<Correct>),
}

#[derive(Debug, clap::Args)]
pub(crate) struct Correct {
    #[command(flatten)]
    asking: Asking,
    /// The sample.
    sample: String,
    /// Where the material comes from.
    #[arg(long, default_value = "")]
    source: String,
    /// What it is.
    #[arg(long, default_value = "")]
    material: String,
    /// Nominal maximum size, mm.
    #[arg(long, value_name = "MM", default_value = "", allow_negative_numbers = true)]
    nominal_maximum: String,
    /// Who asked for the test.
    #[arg(long, default_value = "")]
    client: String,
    /// For which works.
    #[arg(long, default_value = "")]
    project: String,
    /// What it is to be used for.
    #[arg(long, default_value = "")]
    intended_use: String,
    /// Condition on arrival.
    #[arg(long, default_value = "")]
    condition: String,
    /// The most loss that is allowed, %.
    #[arg(long, value_name = "PERCENT", default_value = "", allow_negative_numbers = true)]
    limit: String,
    /// The document that sets the limit.
    #[arg(long, value_name = "DOCUMENT", default_value = "")]
    limit_from: String,
    /// The method that the limit is for, like astm-c131.
    #[arg(long, value_name = "METHOD", default_value = "")]
    limit_for: String,
    /// Why.
    #[arg(long)]
    reason: String,
}

#[derive(Debug, clap::Args)]
pub(crate) struct Receive {
    #[command(flatten)]
    asking: Asking,
    /// Where the material comes from.
    #[arg(long)]
    source: String,
    /// What it is.
    #[arg(long)]
    material: String,
    /// Nominal maximum size, mm.
    #[arg(long, value_name = "MM", allow_negative_numbers = true)]
    nominal_maximum: String,
    /// Who asked for the test.
    #[arg(long, default_value = "")]
    client: String,
    /// For which works.
    #[arg(long, default_value = "")]
    project: String,
    /// What it is to be used for.
    #[arg(long, default_value = "")]
    intended_use: String,
    /// Condition on arrival.
    #[arg(long, default_value = "")]
    condition: String,
    /// The most loss that is allowed, %.
    #[arg(long, value_name = "PERCENT", default_value = "", allow_negative_numbers = true)]
    limit: String,
    /// The document that sets the limit.
    #[arg(long, value_name = "DOCUMENT", default_value = "")]
    limit_from: String,
    /// The method that the limit is for, like astm-c131; left out, the tests of wear in water.
    #[arg(long, value_name = "METHOD", default_value = "")]
    limit_for: String,
    /// When it arrived, YYYY-MM-DD; left out, today.
    #[arg(long, value_name = "DAY", default_value = "")]
    received: String,
    /// It is of the reference aggregate.
    #[arg(long)]
    reference: bool,
}

pub(crate) fn run(sample: Sample) -> Result<Answer, Failure> {
    match sample {
        Sample::Receive(received) => receive(*received),
        Sample::Correct(corrected) => correct(*corrected),
    }
}

fn correct(correct: Correct) -> Result<Answer, Failure> {
    ask(
        &correct.asking,
        CorrectSample {
            sample: correct.sample,
            source: correct.source,
            client: correct.client,
            project: correct.project,
            material: correct.material,
            intended_use: correct.intended_use,
            nominal_maximum_mm: correct.nominal_maximum,
            condition: correct.condition,
            limit_percent: correct.limit,
            limit_document: correct.limit_from,
            limit_method: correct.limit_for,
            reason: correct.reason,
        },
    )
}

fn receive(receive: Receive) -> Result<Answer, Failure> {
    ask(
        &receive.asking,
        ReceiveSample {
            source: receive.source,
            client: receive.client,
            project: receive.project,
            material: receive.material,
            intended_use: receive.intended_use,
            nominal_maximum_mm: receive.nominal_maximum,
            condition: receive.condition,
            limit_percent: receive.limit,
            limit_document: receive.limit_from,
            limit_method: receive.limit_for,
            received_on: receive.received,
            reference: if receive.reference { "yes" } else { "no" }.to_owned(),
        },
    )
}
