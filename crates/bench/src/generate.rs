//! Invented data from a seed, with faults planted that whoever reads them has to find.

use crate::Trouble;
use rand::{RngExt, SeedableRng};
use rand_xoshiro::Xoshiro256PlusPlus;
use serde_json::{Value, json};
use std::io::Write;
use std::path::Path;

/// Reference results that the limits of a chart are worked out from.
pub(crate) const BASELINE: usize = 20;
/// Of so many tests one is on reference aggregate.
const REFERENCE_EVERY: u32 = 10;

struct Chance(Xoshiro256PlusPlus);

impl Chance {
    fn within(&mut self, low: f64, high: f64) -> f64 {
        self.0.random_range(low..high)
    }

    fn one_in(&mut self, many: u32) -> bool {
        self.0.random_range(0..many) == 0
    }

    /// Nearly normal, with standard deviation 1: the sum of twelve uniform values.
    fn normal(&mut self) -> f64 {
        (0..12).map(|_| self.within(-0.5, 0.5)).sum()
    }
}

fn chance(seed: u64) -> Chance {
    Chance(Xoshiro256PlusPlus::seed_from_u64(seed))
}

/// Tests of two specimens of 500 g each by the European wet test. Planted: single masses far off, specimens
/// that do not agree, an apparatus that drifts away from the middle of its years on.
pub(crate) fn tests(
    laboratories: u32,
    tests: u32,
    seed: u64,
    out: &Path,
) -> Result<Value, Trouble> {
    let mut file = std::io::BufWriter::new(std::fs::File::create(out)?);
    writeln!(file, "laboratory,test,kind,lot,after1_g,after2_g")?;
    let mut planted = 0_u32;
    for laboratory in 1..=laboratories {
        let mut chance = chance(seed ^ (u64::from(laboratory) << 20));
        let bias = 0.4 * chance.normal();
        let drifts = chance.one_in(3);
        for test in 1..=tests {
            let is_reference = test % REFERENCE_EVERY == 0;
            // Two lots, one after the other.
            let lot = if is_reference { 1 + 2 * test / (tests + 1) } else { 0 };
            let mut loss = if is_reference { 11.7 + bias } else { chance.within(5.0, 25.0) };
            if is_reference && drifts && test % (tests / 2).max(1) > tests / 3 {
                loss += 1.2;
                planted += 1;
            }
            let mut masses = [(); 2].map(|()| 500.0 - 5.0 * (loss + 0.35 * chance.normal()));
            if chance.one_in(200) {
                masses[1] += 25.0;
                planted += 1;
            }
            // No specimen gains mass; the reading that would say so is not typed.
            let masses = masses.map(|mass| mass.min(500.0));
            let kind = if is_reference { "reference" } else { "production" };
            let name = if is_reference { format!("RA-{lot}") } else { String::new() };
            let [first, second] = masses;
            writeln!(file, "LAB-{laboratory},T-{test},{kind},{name},{first:.1},{second:.1}")?;
        }
    }
    file.flush()?;
    Ok(json!({"tests": laboratories * tests, "planted": planted}))
}

/// Results of 30 laboratories, two each, for many materials; some laboratories stand apart.
pub(crate) fn round(materials: u32, seed: u64, out: &Path) -> Result<Value, Trouble> {
    let mut chance = chance(seed);
    let mut file = std::io::BufWriter::new(std::fs::File::create(out)?);
    writeln!(file, "material,laboratory,first,second")?;
    for material in 1..=materials {
        let level = chance.within(5.0, 30.0);
        for laboratory in 1..=30 {
            let apart = if chance.one_in(60) { 4.0 } else { 0.0 };
            let mean = level + 0.6 * chance.normal() + apart;
            let [first, second] = [(); 2].map(|()| mean + 0.3 * chance.normal());
            writeln!(file, "M-{material},LAB-{laboratory},{first:.2},{second:.2}")?;
        }
    }
    file.flush()?;
    Ok(json!({"results": materials * 60}))
}
