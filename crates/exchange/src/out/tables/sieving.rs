//! Sieve analyses of samples: one row a sieve, or the pan.

use super::{Column, Kind, Value, column, day};
use stonewear_lab::Lab;
use stonewear_measure::Decimal;
use stonewear_sieving::shown_percent;

pub(super) const SIEVINGS: [Column; 10] = [
    column("sample", "Sample", "", Kind::Text, "The sample."),
    column("sieved_on", "Sieved on", "", Kind::Day, "The day on which it was recorded."),
    column(
        "counts",
        "Counts",
        "",
        Kind::YesNo,
        "Yes for the last analysis of the sample; an earlier one was replaced by it.",
    ),
    column(
        "opening_mm",
        "Sieve",
        "mm",
        Kind::Number,
        "The opening of the sieve; empty for the pan.",
    ),
    column("retained_g", "Kept", "g", Kind::Number, "The mass that it kept."),
    column(
        "passing_percent",
        "Passing",
        "%",
        Kind::Number,
        "The share of what was weighed before that passed it, to 0.1; empty for the pan.",
    ),
    column(
        "before_g",
        "Before",
        "g",
        Kind::Number,
        "The oven-dry mass before; empty if not weighed.",
    ),
    column("after_wash_g", "Washed", "g", Kind::Number, "The oven-dry mass after washing."),
    column("balance", "Balance", "", Kind::Text, "The balance."),
    column("by", "By", "", Kind::Text, "Who recorded it."),
];

pub(super) fn analyses(lab: &Lab) -> Vec<Vec<Value>> {
    let mut rows = Vec::new();
    for sample in lab.samples.values() {
        for (number, noted) in sample.sievings.iter().enumerate() {
            let sieving = &noted.value;
            let lines = sieving.analysis().map(|analysis| analysis.lines()).unwrap_or_default();
            let sieves = lines.iter().map(|line| {
                let passing = shown_percent(&line.passing_percent).parse::<Decimal>().ok();
                (Some(line.sieve.opening_mm()), line.retained_g, passing)
            });
            for (opening_mm, retained_g, passing) in sieves.chain([(None, sieving.pan_g, None)]) {
                rows.push(vec![
                    sample.code.as_str().into(),
                    day(lab, noted.at),
                    (number + 1 == sample.sievings.len()).into(),
                    opening_mm.into(),
                    retained_g.into(),
                    passing.into(),
                    sieving.before_g.into(),
                    sieving.after_wash_g.into(),
                    sieving.balance.as_str().into(),
                    noted.by.as_str().into(),
                ]);
            }
        }
    }
    rows
}
