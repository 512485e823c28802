//! What a sample was sieved into, and how the laboratory reads it.

use super::{Lab, Noted, Sample};
use crate::code::ItemCode;
use crate::fact::Deviation;
use serde::Serialize;
use std::collections::BTreeMap;
use stonewear_measure::Decimal;
use stonewear_sieving::{Closing, ClosingRule, Definition, Retained, SieveAnalysis};

/// How the laboratory reads its sieve analyses.
#[derive(Debug, Clone, PartialEq, Eq, Default, Serialize)]
pub struct SievingRules {
    /// Definition of the nominal maximum size.
    pub definition: Definition,
    /// Rule of the closing check.
    pub closing: ClosingRule,
    /// On what grounds.
    pub reason: String,
}

/// A sieve analysis of a sample.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Sieving {
    /// What each sieve kept, coarsest first.
    pub retained: Vec<Retained>,
    /// What the pan held, g.
    pub pan_g: Decimal,
    /// Oven-dry mass before, g.
    pub before_g: Option<Decimal>,
    /// Oven-dry mass after washing, g, where it was washed.
    pub after_wash_g: Option<Decimal>,
    /// Mass of the whole sample received, g.
    pub received_g: Option<Decimal>,
    /// What was typed or printed for a mass, where that was not a number of grams, by the name
    /// of its field.
    pub as_read: BTreeMap<String, String>,
    /// By which definition the size was taken.
    pub definition: Definition,
    /// By which rule the masses were compared.
    pub closing: ClosingRule,
    /// The nominal maximum size that followed, mm.
    pub nominal_maximum_mm: Option<Decimal>,
    /// The balance.
    pub balance: ItemCode,
    /// Why it replaced an earlier analysis, if it did.
    pub reason: String,
    /// Departures that somebody answers for.
    pub deviations: Vec<Noted<Deviation>>,
}

impl Sieving {
    /// The analysis, to work with. `None` only for masses that no decision records.
    pub fn analysis(&self) -> Option<SieveAnalysis> {
        SieveAnalysis::new(self.retained.clone(), self.pan_g, self.before_g, self.after_wash_g).ok()
    }

    /// The closing check; `None` when no mass was weighed before.
    pub fn closed(&self) -> Option<Closing> {
        self.analysis()?.closing(self.closing)
    }
}

impl Sample {
    /// The sieve analysis that counts.
    pub fn sieving(&self) -> Option<&Noted<Sieving>> {
        self.sievings.last()
    }

    /// The nominal maximum size by the sieve analysis, mm.
    pub fn sieved_size_mm(&self) -> Option<Decimal> {
        self.sieving().and_then(|sieving| sieving.value.nominal_maximum_mm)
    }

    /// The size by which methods choose, mm: by the sieve analysis where there is one, else as
    /// declared when the sample was received.
    pub fn size_mm(&self) -> Decimal {
        self.sieved_size_mm().unwrap_or(self.nominal_maximum_mm)
    }

    /// The same as a clause, with where it comes from.
    pub fn size_in_words(&self) -> String {
        match self.sieving().zip(self.sieved_size_mm()) {
            Some((sieving, size_mm)) => format!(
                "the nominal maximum size by the sieve analysis is {size_mm} mm ({}); the sample came in as {} mm",
                sieving.value.definition.in_words(),
                self.nominal_maximum_mm
            ),
            None => format!("the nominal maximum size is {} mm", self.nominal_maximum_mm),
        }
    }
}

impl Lab {
    /// How the laboratory reads its sieve analyses: as decided last, or else the defaults.
    pub fn sieving_rules(&self) -> SievingRules {
        self.sieving_rules.last().map(|rules| rules.value.clone()).unwrap_or_default()
    }
}
