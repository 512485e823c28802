//! `stonewear sample`: what is received.

use super::asking::ask;
use crate::answer::{Answer, Failure};
use crate::arguments::Asking;
use stonewear_lab::request::ReceiveSample;

#[derive(Debug, clap::Subcommand)]
pub(crate) enum Sample {
    /// Receive a sample.
    #[command(after_help = "\
Example:\n\
\x20 stonewear sample receive --by CD --source 'Example Quarry' --material 'crushed stone' --nominal-maximum 19.0 --limit 18 --limit-from 'example contract'")]
    Receive(Box<Receive>),
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
    let Sample::Receive(receive) = sample;
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
