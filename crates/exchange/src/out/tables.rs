//! Every table: its columns, and its rows from the laboratory.

mod bench;
mod control;
mod equipment;
mod past;
mod sieving;

use super::subject::{Column, Kind, Subject, Value, What};
use jiff::Timestamp;
use stonewear_lab::Lab;

/// A table of the laboratory as it stands.
pub fn subject(lab: &Lab, what: What) -> Subject {
    let rows = match what {
        What::Results => bench::results(lab),
        What::Samples => bench::samples(lab),
        What::Runs => bench::runs(lab),
        What::Checks => equipment::checks(lab),
        What::Equipment => equipment::items(lab),
        What::References => control::points(lab),
        What::SieveAnalyses => sieving::analyses(lab),
        What::PastTests => past::tests(lab),
        What::PastSieveAnalyses => past::sievings(lab),
    };
    Subject { what, columns: columns(what), rows }
}

/// The columns of a table.
pub(super) fn columns(what: What) -> &'static [Column] {
    match what {
        What::Results => &bench::RESULTS,
        What::Samples => &bench::SAMPLES,
        What::Runs => &bench::RUNS,
        What::Checks => &equipment::CHECKS,
        What::Equipment => &equipment::ITEMS,
        What::References => &control::POINTS,
        What::SieveAnalyses => &sieving::SIEVINGS,
        What::PastTests => &past::TESTS,
        What::PastSieveAnalyses => &past::SIEVINGS,
    }
}

/// A column of a table.
const fn column(
    name: &'static str,
    heading: &'static str,
    unit: &'static str,
    kind: Kind,
    meaning: &'static str,
) -> Column {
    Column { name, heading, unit, kind, meaning }
}

/// The day of an instant by the laboratory's calendar.
fn day(lab: &Lab, at: Timestamp) -> Value {
    Value::Day(lab.local(at).date())
}

/// Codes in one cell.
fn joined<T: ToString>(codes: impl IntoIterator<Item = T>) -> Value {
    codes.into_iter().map(|code| code.to_string()).collect::<Vec<_>>().join(" ").into()
}
