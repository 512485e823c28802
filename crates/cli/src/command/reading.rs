//! `stonewear reading`: whatever a method reads of a specimen beside its masses before and after.

use super::asking::ask;
use crate::answer::{Answer, Failure};
use crate::arguments::{Asking, Departing};
use stonewear_lab::request::TakeReading;

/// Record a reading of a specimen.
#[derive(Debug, clap::Args)]
#[command(after_help = "\
Example:\n\
\x20 stonewear reading --by CD S26-004-1 kept_early 4710\n\
\x20 stonewear reading --by CD S26-005-1 grading_percent 0 40 57 3\n\
`stonewear methods METHOD` lists the readings of a method.")]
pub(crate) struct Reading {
    #[command(flatten)]
    asking: Asking,
    #[command(flatten)]
    departing: Departing,
    /// The specimen.
    specimen: String,
    /// The reading, by its name in the method.
    reading: String,
    /// The value; one a fraction, coarsest first, where it is read of each: `-` leaves a fraction
    /// as it is.
    #[arg(required = true, allow_negative_numbers = true)]
    values: Vec<String>,
    /// What it was read with; left out, the only one of its kind in service.
    #[arg(long, default_value = "")]
    with: String,
    /// Why a value that is already recorded is replaced.
    #[arg(long, default_value = "")]
    reason: String,
}

pub(crate) fn run(reading: Reading) -> Result<Answer, Failure> {
    let kept = |value: String| if value == "-" { String::new() } else { value };
    ask(
        &reading.asking,
        TakeReading {
            specimen: reading.specimen,
            reading: reading.reading,
            values: reading.values.into_iter().map(kept).collect(),
            instrument: reading.with,
            reason: reading.reason,
            deviation: reading.departing.deviation,
        },
    )
}
