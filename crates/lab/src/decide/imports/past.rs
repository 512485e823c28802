//! Past tests, and past sieve analyses.

use super::reader::Reader;
use super::{Desk, Made, ROWS_A_FACT};
use crate::code::ImportCode;
use crate::fact::{
    Fact, PastSieve, PastSieving, PastSievingsImported, PastTest, PastTestsImported,
};
use crate::request::ImportRow;
use jiff::civil::Date;
use std::collections::HashMap;
use stonewear_measure::Decimal;
use stonewear_sieving::Sieve;

/// The heaviest sample of the trade, g; beyond it a mass is a slip of the hand.
const HEAVIEST_G: Decimal = Decimal::from_parts(1_000_000, 0, 0, false, 0);
/// From nothing to all of it.
const PERCENT: (Decimal, Decimal) = (Decimal::ZERO, Decimal::ONE_HUNDRED);

/// All that a past test says: what makes it the same as one that is here.
fn key(test: &PastTest) -> PastTest {
    let plain = |mass: Option<Decimal>| mass.map(|mass| mass.normalize());
    PastTest {
        row: 0,
        loss_percent: test.loss_percent.normalize(),
        before_g: plain(test.before_g),
        after_g: plain(test.after_g),
        ..test.clone()
    }
}

/// How often each thing is here; each can be met so often and no more.
fn counted<K: std::hash::Hash + Eq>(known: impl Iterator<Item = K>) -> HashMap<K, u64> {
    let mut counts = HashMap::new();
    for one in known {
        *counts.entry(one).or_default() += 1;
    }
    counts
}

/// Whether one more of these is here already.
fn is_known<K: std::hash::Hash + Eq>(counts: &mut HashMap<K, u64>, key: &K) -> bool {
    match counts.get_mut(key).filter(|left| **left > 0) {
        Some(left) => {
            *left -= 1;
            true
        }
        None => false,
    }
}

impl Desk<'_> {
    pub(super) fn past_tests(&self, reader: &mut Reader<'_>, import: &ImportCode) -> Made {
        reader.needs("on", "on which day each test was done");
        reader.needs("sample", "which sample each test is of");
        reader.needs("loss_percent", "the loss");
        let mut made = Made::default();
        if reader.is_hopeless() {
            return made;
        }
        let here = self.lab.file_imports.values().flat_map(|import| &import.tests).map(key);
        let mut here = counted(here);
        let mut tests = Vec::new();
        for row in reader.rows() {
            let on = reader.day(row, "on");
            let sample = reader.needed(row, "sample", "25-118");
            let loss_percent = reader.needed_number(row, "loss_percent", "%", PERCENT);
            let masses = (Decimal::ZERO, HEAVIEST_G);
            let before_g = reader.number(row, "before_g", "g", masses);
            let after_g = reader.number(row, "after_g", "g", masses);
            if let (Some(before), Some(after)) = (before_g, after_g)
                && after > before
            {
                let message = format!("{after} g after the run is more than {before} g before");
                reader.wrong(row, "after_g", message, "are the two in the wrong order?");
            }
            let texts = ["source", "material", "method", "grading", "operator", "note"];
            let [source, material, method, grading, operator, note] =
                texts.map(|field| reader.text(row, field));
            let (Some(on), Some(loss_percent), false) = (on, loss_percent, reader.is_bad(row))
            else {
                continue;
            };
            let test = PastTest {
                row: row.row,
                on,
                sample,
                source,
                material,
                method,
                grading,
                before_g,
                after_g,
                loss_percent,
                operator,
                note,
            };
            match is_known(&mut here, &key(&test)) {
                true => made.known += 1,
                false => tests.push(test),
            }
        }
        let parts = in_parts(tests).into_iter().map(|tests| {
            Fact::PastTestsImported(PastTestsImported { import: import.clone(), tests })
        });
        made.facts.extend(parts);
        made
    }

    pub(super) fn past_sievings(&self, reader: &mut Reader<'_>, import: &ImportCode) -> Made {
        reader.needs("on", "on which day each analysis was done");
        reader.needs("sample", "which sample each analysis is of");
        reader.needs("sieve", "the sieve");
        let mut made = Made::default();
        if reader.is_hopeless() {
            return made;
        }
        let same = |one: &PastSieving| (one.on, one.sample.clone(), one.sieves.clone());
        let here = self.lab.file_imports.values().flat_map(|import| &import.sievings).map(same);
        let mut here = counted(here);
        let mut analyses = Vec::new();
        let rows = reader.rows();
        let of = |reader: &Reader<'_>, row: &ImportRow| -> (String, String) {
            let cell = |field: &str| reader.cell_of(row, field).to_owned();
            (cell("on"), cell("sample"))
        };
        let mut from = 0;
        while from < rows.len() {
            let name = of(reader, &rows[from]);
            let same_name = rows[from..].iter().take_while(|row| of(reader, row) == name);
            let until = from + same_name.count().max(1);
            if let Some(analysis) = analysis(reader, &rows[from..until]) {
                match is_known(&mut here, &same(&analysis)) {
                    true => made.known += 1,
                    false => analyses.push(analysis),
                }
            }
            from = until;
        }
        let parts = in_parts(analyses).into_iter().map(|analyses| {
            Fact::PastSievingsImported(PastSievingsImported { import: import.clone(), analyses })
        });
        made.facts.extend(parts);
        made
    }
}

/// Parts that a fact each can carry. Each has room for itself alone: what is split off a long list
/// keeps the room of the whole.
fn in_parts<T>(all: Vec<T>) -> Vec<Vec<T>> {
    let mut rest = all.into_iter();
    let next = || Some(rest.by_ref().take(ROWS_A_FACT).collect::<Vec<T>>());
    std::iter::from_fn(next).take_while(|part| !part.is_empty()).collect()
}

/// One analysis from the rows of its sieves; a bad row makes all of it bad.
fn analysis<'r>(reader: &mut Reader<'r>, rows: &'r [ImportRow]) -> Option<PastSieving> {
    let first = rows.first()?;
    let on: Option<Date> = reader.day(first, "on");
    let sample = reader.needed(first, "sample", "25-118");
    let mut sieves = Vec::new();
    let mut finest: Option<(Decimal, Option<Decimal>)> = None;
    for row in rows {
        let typed = reader.needed(row, "sieve", "19.0");
        let is_pan = typed.eq_ignore_ascii_case("pan");
        let opening_mm = match (is_pan, typed.parse::<Sieve>()) {
            (true, _) => None,
            (false, Ok(sieve)) => Some(sieve.opening_mm()),
            (false, Err(error)) if !typed.is_empty() => {
                reader.wrong(row, "sieve", error.to_string(), "write its opening in mm, or pan");
                None
            }
            _ => None,
        };
        let retained_g = reader.number(row, "retained_g", "g", (Decimal::ZERO, HEAVIEST_G));
        let passing_percent = reader.number(row, "passing_percent", "%", PERCENT);
        if retained_g.is_none() && passing_percent.is_none() && !reader.is_bad(row) {
            let hint = "write the mass that it kept, or the share that passed";
            reader.wrong(row, "retained_g", "the sieve has no value", hint);
        }
        if let (Some(opening), Some((coarser, passed))) = (opening_mm, finest) {
            if opening >= coarser {
                let message = format!("{opening} mm stands below {coarser} mm");
                reader.wrong(
                    row,
                    "sieve",
                    message,
                    "list the sieves from the coarsest on, each once",
                );
            } else if let (Some(here), Some(above)) = (passing_percent, passed)
                && here > above
            {
                let message = format!("{here} % passes, more than {above} % of the coarser sieve");
                reader.wrong(
                    row,
                    "passing_percent",
                    message,
                    "what passes a sieve passed the coarser",
                );
            }
        }
        if let Some(opening) = opening_mm {
            finest = Some((opening, passing_percent));
        }
        sieves.push(PastSieve { opening_mm, retained_g, passing_percent });
    }
    if rows.iter().any(|row| reader.is_bad(row)) {
        for row in rows {
            if !reader.is_bad(row) {
                let message = "another row of the same analysis is wrong";
                reader.wrong(row, "sample", message, "mend that row");
            }
        }
        return None;
    }
    Some(PastSieving { row: first.row, on: on?, sample, sieves })
}
