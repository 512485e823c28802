//! `stonewear sample`: what is received.

use super::asking::ask;
use crate::answer::{Answer, Failure};
use crate::arguments::Asking;
use stonewear_lab::request::{ReceiveSample, RecordOutsideResult};

#[derive(Debug, clap::Subcommand)]
pub(crate) enum Sample {
    /// Receive a sample.
    #[command(after_help = "\
Example:\n\
\x20 stonewear sample receive --by CD --source 'Example Quarry' --material 'crushed stone' --nominal-maximum 19.0 --limit 18 --limit-from 'example contract'")]
    Receive(Box<Receive>),
    /// Record what another laboratory found on its part of a split sample.
    #[command(after_help = "\
Example:\n\
\x20 stonewear sample outside --by CD S26-001 --method astm-d6928 --laboratory 'Other Laboratory' --loss 15.2 --document 'their report 14'")]
    Outside {
        #[command(flatten)]
        asking: Asking,
        /// The sample.
        sample: String,
        /// By which method.
        #[arg(long)]
        method: String,
        /// Which laboratory.
        #[arg(long, value_name = "NAME")]
        laboratory: String,
        /// The loss that it reported, %.
        #[arg(long, value_name = "PERCENT", allow_negative_numbers = true)]
        loss: String,
        /// The document that says so.
        #[arg(long)]
        document: String,
        /// Why a loss that is already recorded of this document is replaced.
        #[arg(long, default_value = "")]
        reason: String,
    },
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
    /// When it arrived, YYYY-MM-DD; left out, today.
    #[arg(long, value_name = "DAY", default_value = "")]
    received: String,
    /// It is of the reference aggregate.
    #[arg(long)]
    reference: bool,
}

pub(crate) fn run(sample: Sample) -> Result<Answer, Failure> {
    let receive = match sample {
        Sample::Receive(receive) => receive,
        Sample::Outside { asking, sample, method, laboratory, loss, document, reason } => {
            let loss_percent = loss;
            let request =
                RecordOutsideResult { sample, method, laboratory, loss_percent, document, reason };
            return ask(&asking, request);
        }
    };
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
            received_on: receive.received,
            reference: if receive.reference { "yes" } else { "no" }.to_owned(),
        },
    )
}
