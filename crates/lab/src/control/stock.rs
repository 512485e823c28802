//! What is left of a lot, and when it runs out.

use crate::code::SampleCode;
use crate::state::{Lab, ReferenceLot, Specimen};
use jiff::civil::Date;
use jiff::{Timestamp, ToSpan};
use serde::Serialize;
use stonewear_measure::Decimal;

/// How fast a lot is used is taken from so many days back.
const RATE_DAYS: i64 = 182;

/// What is left of a lot.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct LotStock {
    /// What its specimens left since it was weighed last, g; below zero where more was weighed out
    /// than was there.
    pub left_g: Decimal,
    /// What all its specimens took, g.
    pub used_g: Decimal,
    /// How many results can still be made of it; absent where the method gives no mass.
    pub results_left: Option<u32>,
    /// The day on which it runs out if it is used as in the last half year; absent where it was used
    /// less than twice.
    pub runs_out_on: Option<Date>,
}

impl LotStock {
    /// In words, as page, paper and command say it.
    pub fn in_words(&self) -> String {
        let results = self
            .results_left
            .map(|left| format!(", enough for {}", crate::words::counted(left as usize, "result")));
        let out = self.runs_out_on.map(|day| format!("; used as now, it runs out on {day}"));
        format!(
            "{} g left{}{}",
            stonewear_measure::balance::shown(self.left_g),
            results.unwrap_or_default(),
            out.unwrap_or_default()
        )
    }
}

impl Lab {
    /// The samples of a lot, in the order of their codes.
    pub fn samples_of_lot<'a>(
        &'a self,
        lot: &'a ReferenceLot,
    ) -> impl Iterator<Item = &'a SampleCode> {
        self.lot_of_sample.iter().filter(|(_, of)| of.value == lot.code).map(|(sample, _)| sample)
    }

    /// What is left of a lot at an instant.
    pub fn stock_of(&self, lot: &ReferenceLot, at: Timestamp) -> LotStock {
        let specimens: Vec<&Specimen> =
            self.samples_of_lot(lot).flat_map(|sample| self.specimens_of(sample)).collect();
        let taken = |after: u64| {
            let since = specimens.iter().filter(|specimen| specimen.begun.position > after);
            since.fold(Decimal::ZERO, |sum, one| sum.saturating_add(mass_of(one)))
        };
        let (counted_g, counted_at) = lot
            .counts
            .last()
            .map_or((lot.stock_g, 0), |count| (count.value.stock_g, count.position));
        let left_g = counted_g.saturating_sub(taken(counted_at));
        LotStock {
            left_g,
            used_g: taken(0),
            results_left: self.results_left(lot, left_g),
            runs_out_on: self.runs_out(&specimens, left_g, at),
        }
    }

    fn results_left(&self, lot: &ReferenceLot, left_g: Decimal) -> Option<u32> {
        let method = &self.methods.get(&lot.method)?.method;
        let mass_g = method.specimen.mass_g.as_ref()?.nominal.value;
        let one_g = mass_g.checked_mul(Decimal::from(method.specimen.count.value))?;
        let whole = left_g.max(Decimal::ZERO).checked_div(one_g)?.floor();
        whole.to_string().parse().ok()
    }

    fn runs_out(&self, specimens: &[&Specimen], left_g: Decimal, at: Timestamp) -> Option<Date> {
        let from = at.checked_sub((RATE_DAYS * 24).hours()).ok()?;
        let recent: Vec<&&Specimen> =
            specimens.iter().filter(|one| one.begun.at >= from && one.begun.at <= at).collect();
        let first = recent.iter().map(|one| one.begun.at).min()?;
        let hours = at.since(first).ok()?.total(jiff::Unit::Hour).ok()?.floor() as i64;
        let used = recent.iter().fold(Decimal::ZERO, |sum, one| sum.saturating_add(mass_of(one)));
        if recent.len() < 2 || hours < 24 || used.is_zero() {
            return None;
        }
        let hours_left = left_g.max(Decimal::ZERO).checked_mul(Decimal::from(hours))?;
        let hours_left: i64 = hours_left.checked_div(used)?.floor().to_string().parse().ok()?;
        // Beyond a century nobody plans.
        let out = at.checked_add(hours_left.min(876_000).hours()).ok()?;
        Some(self.local(out).date())
    }
}

/// What a specimen took out of the bin.
fn mass_of(specimen: &Specimen) -> Decimal {
    specimen.made_up_g().max(specimen.before_g().unwrap_or_default())
}
