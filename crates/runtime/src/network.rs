//! All laboratories of a database that a role may see: how each stands, and how they compare.

use crate::clock::Clock;
use crate::place::SharedDatabase;
use crate::replay;
use jiff::Timestamp;
use serde::Serialize;
use std::collections::BTreeMap;
use std::ops::ControlFlow;
use stonewear_journal::postgres::{DatabaseAddress, LaboratoryName, NetworkStore, ReferenceResult};
use stonewear_journal::{Head, StoreError};
use stonewear_lab::Lab;
use stonewear_lab::control::State;
use stonewear_lab::ready::Readiness;
use stonewear_stats::interlab::{self, Cell, Consistency};

/// The level at which a laboratory's mean or scatter is said to stand apart (ASTM E691: 0.5 %).
const ALPHA: f64 = 0.005;

/// The laboratories of a database, each folded as far as its journal was read.
#[derive(Debug)]
pub struct Network {
    store: NetworkStore,
    folded: BTreeMap<LaboratoryName, Folded>,
}

#[derive(Debug)]
struct Folded {
    lab: Lab,
    head: Head,
    last_at: Timestamp,
    damage: Option<String>,
}

/// How all stand at one moment.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct NetworkReport {
    /// When that was.
    pub at: Timestamp,
    /// How each stands, by its name in the database.
    pub laboratories: Vec<LaboratoryStanding>,
    /// How they compare on the reference aggregates that at least two have in common.
    pub comparisons: Vec<Comparison>,
}

/// How a laboratory stands.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct LaboratoryStanding {
    /// What it is called in the database.
    pub laboratory: String,
    /// Its name; empty while nobody has founded it.
    pub name: String,
    /// Whether everything in it is invented.
    pub invented: bool,
    /// How many facts its journal has.
    pub facts: u64,
    /// When the last was recorded.
    pub last_fact_at: Option<Timestamp>,
    /// Where its journal is damaged, in words.
    pub damage: Option<String>,
    /// Whether each apparatus can be tested with.
    pub readiness: Vec<Readiness>,
    /// Where each control chart stands.
    pub control: Vec<ChartStanding>,
    /// Results that are in doubt and that nobody has dealt with.
    pub in_doubt: Vec<String>,
}

/// Where a control chart stands.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ChartStanding {
    /// The lot of reference aggregate.
    pub lot: String,
    /// The apparatus.
    pub apparatus: String,
    /// Where it stands.
    pub state: State,
}

/// How laboratories compare on a reference aggregate: ISO 5725-2 and ASTM E691 over all losses on record
/// that nobody doubts. It is no round: nobody saw to it that the portions were alike.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Comparison {
    /// Where the aggregate comes from.
    pub reference: String,
    /// By which method.
    pub method: String,
    /// In which grading.
    pub grading: String,
    /// Mean of all losses, %.
    pub mean_percent: f64,
    /// Standard deviation within a laboratory, %: its runs over time, not repeatability.
    pub within_percent: Option<f64>,
    /// Standard deviation between laboratories, %.
    pub between_percent: Option<f64>,
    /// The laboratories.
    pub laboratories: Vec<Compared>,
}

/// How one laboratory compares with the others.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Compared {
    /// What it is called in the database.
    pub laboratory: String,
    /// How many losses it has.
    pub results: usize,
    /// Their mean, %.
    pub mean_percent: f64,
    /// Their standard deviation, %.
    pub standard_deviation_percent: Option<f64>,
    /// Mandel's h: how far its mean lies from the others'.
    pub h: Option<f64>,
    /// The value that |h| passes by chance in one of two hundred.
    pub h_critical: Option<f64>,
    /// Mandel's k: its scatter over that of all.
    pub k: Option<f64>,
    /// The value that k passes by chance in one of two hundred.
    pub k_critical: Option<f64>,
    /// Its mean stands apart.
    pub mean_apart: bool,
    /// Its scatter stands apart.
    pub scatter_apart: bool,
}

impl Network {
    /// Opens the laboratories of a database, as far as the role may see them; as a laboratory, where the
    /// role is one's own.
    ///
    /// # Errors
    /// When the database is not prepared, does not answer, or the role is one that nothing holds.
    pub fn open(
        address: &DatabaseAddress,
        laboratory: Option<&LaboratoryName>,
    ) -> Result<Self, StoreError> {
        Ok(Self { store: NetworkStore::open(address, laboratory)?, folded: BTreeMap::new() })
    }

    /// As [`Network::open`], for the database that a laboratory is in.
    ///
    /// # Errors
    /// As [`Network::open`].
    pub fn around(database: &SharedDatabase) -> Result<Self, StoreError> {
        Self::open(&database.address, Some(&database.laboratory))
    }

    /// Reads on in every journal, and says how all stand.
    ///
    /// # Errors
    /// The database's own troubles; a damaged journal is said where its laboratory stands.
    pub fn look(&mut self) -> Result<NetworkReport, StoreError> {
        let names = self.store.laboratories()?;
        self.folded.retain(|name, _| names.contains(name));
        for name in &names {
            let folded = self.folded.entry(name.clone()).or_insert_with(Folded::new);
            folded.read_on(&self.store, name)?;
        }
        let at = Clock::Machine.now();
        let laboratories = self.folded.iter().map(|(name, one)| one.standing(name, at)).collect();
        let comparisons = compared(&self.store.reference_results()?);
        Ok(NetworkReport { at, laboratories, comparisons })
    }
}

impl Folded {
    fn new() -> Self {
        Self { lab: Lab::new(), head: Head::GENESIS, last_at: Timestamp::UNIX_EPOCH, damage: None }
    }

    fn read_on(&mut self, store: &NetworkStore, name: &LaboratoryName) -> Result<(), StoreError> {
        if self.damage.is_some() {
            return Ok(());
        }
        let mut unknown = None;
        let verification =
            stonewear_journal::replay(&store.journal(name), self.head, &mut |entry| {
                match replay::recorded(&entry) {
                    Ok(recorded) => {
                        self.last_at = recorded.at;
                        self.lab.apply(&recorded);
                        ControlFlow::Continue(())
                    }
                    Err(error) => {
                        unknown = Some(format!("entry {}: {error}", entry.position));
                        ControlFlow::Break(())
                    }
                }
            })?;
        self.head = verification.head;
        self.damage = unknown.or_else(|| verification.what());
        Ok(())
    }

    fn standing(&self, name: &LaboratoryName, at: Timestamp) -> LaboratoryStanding {
        let lab = &self.lab;
        let identity = lab.identity.as_ref();
        let invented = identity.is_some_and(|identity| identity.invented);
        // The calendar of an invented laboratory is not ours.
        let at = if invented { self.last_at } else { at.max(self.last_at) };
        let charts = lab.control_charts().into_iter().map(|chart| ChartStanding {
            state: chart.state(),
            lot: chart.lot.to_string(),
            apparatus: chart.apparatus.to_string(),
        });
        let mut in_doubt: Vec<String> = lab
            .doubts
            .values()
            .flat_map(stonewear_lab::state::Doubt::open_results)
            .map(ToString::to_string)
            .collect();
        in_doubt.sort();
        in_doubt.dedup();
        LaboratoryStanding {
            laboratory: name.to_string(),
            name: identity.map(|identity| identity.name.clone()).unwrap_or_default(),
            invented,
            facts: self.head.position,
            last_fact_at: (self.head.position > 0).then_some(self.last_at),
            damage: self.damage.clone(),
            readiness: lab.readiness(at),
            control: charts.collect(),
            in_doubt,
        }
    }
}

/// How laboratories compare on what at least two of them have.
fn compared(results: &[ReferenceResult]) -> Vec<Comparison> {
    let mut by_material: BTreeMap<(String, &str, &str), BTreeMap<&str, Vec<f64>>> = BTreeMap::new();
    for one in results {
        let Ok(loss) = one.charted_percent.parse::<f64>() else { continue };
        let material = (one.reference.to_lowercase(), one.method.as_str(), one.grading.as_str());
        let cells = by_material.entry(material).or_default();
        cells.entry(one.laboratory.as_str()).or_default().push(loss);
    }
    let in_common = by_material.into_iter().filter(|(_, cells)| cells.len() > 1);
    in_common
        .filter_map(|((folded, method, grading), cells)| {
            let written = results.iter().find(|one| one.reference.to_lowercase() == folded);
            let cells: Vec<Cell> = cells
                .iter()
                .filter_map(|(laboratory, losses)| Cell::new(laboratory, losses).ok())
                .collect();
            let precision = interlab::precision(&cells).ok()?;
            Some(Comparison {
                reference: written.map(|one| one.reference.clone()).unwrap_or(folded),
                method: method.to_owned(),
                grading: grading.to_owned(),
                mean_percent: precision.mean,
                within_percent: precision.s_r.ok(),
                between_percent: precision.s_l.ok(),
                laboratories: interlab::consistency(&cells, ALPHA)
                    .ok()?
                    .into_iter()
                    .map(Compared::from)
                    .collect(),
            })
        })
        .collect()
}

impl From<Consistency> for Compared {
    fn from(one: Consistency) -> Self {
        Self {
            mean_apart: one.h_beyond(),
            scatter_apart: one.k_beyond(),
            laboratory: one.laboratory,
            results: one.results,
            mean_percent: one.mean,
            standard_deviation_percent: one.standard_deviation.ok(),
            h: one.h.ok(),
            h_critical: one.h_critical.ok(),
            k: one.k.ok(),
            k_critical: one.k_critical.ok(),
        }
    }
}
