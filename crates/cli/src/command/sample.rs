//! `stonewear sample`: what is received, and in whose hands it is.

use super::asking::ask;
use super::readable::readable;
use crate::answer::{Answer, Failure};
use crate::arguments::{Asking, Folder};
use stonewear_lab::SampleCode;
use stonewear_lab::code::scanned;
use stonewear_lab::request::{CorrectSample, HandOverSample, ReceiveSample, RecordOutsideResult};
use stonewear_runtime::LaboratoryView;

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
    /// Record that a sample went into other hands, to another place, or out of the laboratory.
    #[command(after_help = "\
Example:\n\
\x20 stonewear sample hand-over --by CD S26-001 --to AB --place 'oven room'\n\
\x20 stonewear sample hand-over --by CD S26-001 --step disposed --note 'client agreed'")]
    HandOver(HandOver),
    /// Show a sample, who has it and where it was.
    #[command(after_help = "\
Example:\n\
\x20 stonewear sample show S26-001")]
    Show(Show),
    /// Record what another laboratory found on its part of a split sample.
    #[command(after_help = "\
Example:\n\
\x20 stonewear sample outside --by CD S26-001 --method astm-d6928 --other-laboratory 'Other Laboratory' --loss 15.2 --document 'their report 14'")]
    Outside {
        #[command(flatten)]
        asking: Asking,
        /// The sample.
        sample: String,
        /// By which method.
        #[arg(long)]
        method: String,
        /// Which laboratory.
        #[arg(long = "other-laboratory", value_name = "NAME")]
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
    /// The client's address.
    #[arg(long, default_value = "")]
    client_address: String,
    /// The client's own reference.
    #[arg(long, default_value = "")]
    client_reference: String,
    /// By which plan and method it was taken.
    #[arg(long, default_value = "")]
    sampling_plan: String,
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
pub(crate) struct HandOver {
    #[command(flatten)]
    asking: Asking,
    /// The sample.
    sample: String,
    /// `handed-over`, `stored`, `split`, `returned` or `disposed`; left out, handed over, or
    /// stored where only a place is named.
    #[arg(long, default_value = "")]
    step: String,
    /// Who has it, or the part split off, now: initials, or the name of somebody outside.
    #[arg(long, default_value = "")]
    to: String,
    /// Where it is kept now.
    #[arg(long, default_value = "")]
    place: String,
    /// Its condition, where that matters.
    #[arg(long, default_value = "")]
    condition: String,
    /// How it was split, why it was returned or disposed of, or anything worth keeping.
    #[arg(long, default_value = "")]
    note: String,
}

#[derive(Debug, clap::Args)]
pub(crate) struct Show {
    #[command(flatten)]
    folder: Folder,
    /// The sample.
    sample: String,
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
    /// The client's address.
    #[arg(long, default_value = "")]
    client_address: String,
    /// The client's own reference.
    #[arg(long, default_value = "")]
    client_reference: String,
    /// By which plan and method it was taken.
    #[arg(long, default_value = "")]
    sampling_plan: String,
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
    /// The lot of reference aggregate that it is of.
    #[arg(long, value_name = "LOT", default_value = "")]
    lot: String,
    /// Mass received: g, or as the balance prints it (`25.4 kg`).
    #[arg(long, value_name = "MASS", default_value = "", allow_negative_numbers = true)]
    mass: String,
    /// How many bags or boxes came.
    #[arg(long, value_name = "COUNT", default_value = "", allow_negative_numbers = true)]
    bags: String,
    /// Who took the sample.
    #[arg(long, value_name = "NAME", default_value = "")]
    sampled_by: String,
    /// When it was taken, YYYY-MM-DD.
    #[arg(long, value_name = "DAY", default_value = "")]
    sampled: String,
    /// Who brought it.
    #[arg(long, value_name = "NAME", default_value = "")]
    delivered_by: String,
    /// Where it is kept.
    #[arg(long, default_value = "")]
    place: String,
}

pub(crate) fn run(sample: Sample) -> Result<Answer, Failure> {
    match sample {
        Sample::Receive(receive) => receive_one(*receive),
        Sample::Correct(corrected) => correct(*corrected),
        Sample::HandOver(over) => hand_over(over),
        Sample::Show(show) => show_one(&show),
        Sample::Outside { asking, sample, method, laboratory, loss, document, reason } => {
            let loss_percent = loss;
            let request =
                RecordOutsideResult { sample, method, laboratory, loss_percent, document, reason };
            ask(&asking, request)
        }
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
            client_address: correct.client_address,
            client_reference: correct.client_reference,
            sampling_plan: correct.sampling_plan,
            nominal_maximum_mm: correct.nominal_maximum,
            condition: correct.condition,
            limit_percent: correct.limit,
            limit_document: correct.limit_from,
            limit_method: correct.limit_for,
            reason: correct.reason,
        },
    )
}

fn hand_over(over: HandOver) -> Result<Answer, Failure> {
    ask(
        &over.asking,
        HandOverSample {
            sample: over.sample,
            step: over.step,
            to: over.to,
            place: over.place,
            condition: over.condition,
            note: over.note,
        },
    )
}

fn show_one(show: &Show) -> Result<Answer, Failure> {
    let view = LaboratoryView::open(&show.folder.place()?)?;
    let lab = view.lab();
    let Some(sample) = lab.samples.get(scanned(&show.sample).as_str()) else {
        let known = lab.samples.keys().map(SampleCode::as_str);
        return Err(super::unknown("there is no sample", show.sample.trim(), known));
    };
    let mut value = serde_json::to_value(sample).map_err(Failure::surroundings)?;
    value["holder"] = sample.holder().to_string().into();
    value["kept_at"] = sample.kept_at().into();
    Ok(Answer::new(readable(&value), value))
}

fn receive_one(receive: Receive) -> Result<Answer, Failure> {
    ask(
        &receive.asking,
        ReceiveSample {
            source: receive.source,
            client: receive.client,
            project: receive.project,
            material: receive.material,
            intended_use: receive.intended_use,
            client_address: receive.client_address,
            client_reference: receive.client_reference,
            sampling_plan: receive.sampling_plan,
            nominal_maximum_mm: receive.nominal_maximum,
            condition: receive.condition,
            limit_percent: receive.limit,
            limit_document: receive.limit_from,
            limit_method: receive.limit_for,
            received_on: receive.received,
            reference: if receive.reference { "yes" } else { "no" }.to_owned(),
            lot: receive.lot,
            received_g: receive.mass,
            bags: receive.bags,
            sampled_by: receive.sampled_by,
            sampled_on: receive.sampled,
            delivered_by: receive.delivered_by,
            place: receive.place,
        },
    )
}
