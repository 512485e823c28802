//! All laboratories of the database: how each stands, and how they compare.

use super::equipment::{ReadinessGiven, readiness_given};
use super::parts::{code, word};
use super::{View, one};
use schemars::JsonSchema;
use serde::Serialize;
use stonewear_runtime::{Compared, Comparison, LaboratoryStanding, NetworkReport};

/// Why a laboratory in a folder has no network.
pub(super) const KEPT_IN_A_FOLDER: &str = "this laboratory is kept in a folder of its own; a network shows the \
laboratories that share a database (docs/many-laboratories.md)";

pub(super) fn view() -> View {
    one(
        "/network",
        "network",
        "The laboratories that share a database, as far as the role of the server sees them: readiness, control \
         charts, results in doubt, and how they compare on the reference aggregates that at least two have in \
         common. 404 where this laboratory is in no database.",
        |reading| reading.network.map(network_given),
    )
    .around()
}

/// The laboratories of a database at one moment.
#[derive(Debug, Serialize, JsonSchema)]
#[schemars(rename = "Network")]
struct NetworkGiven {
    /// When that was.
    #[schemars(extend("format" = "date-time"))]
    at: String,
    /// How each stands, by its name in the database.
    laboratories: Vec<LaboratoryGiven>,
    /// How they compare on what at least two of them have in common.
    comparisons: Vec<ComparisonGiven>,
}

/// How a laboratory stands, by the rules that its own page uses.
#[derive(Debug, Serialize, JsonSchema)]
#[schemars(rename = "NetworkLaboratory")]
struct LaboratoryGiven {
    /// What it is called in the database.
    laboratory: String,
    /// Its name; empty while nobody has founded it.
    name: String,
    /// Whether everything in it is invented.
    invented: bool,
    /// How many facts its journal has.
    facts: u64,
    /// When the last was recorded.
    #[schemars(extend("format" = "date-time"))]
    last_fact_at: Option<String>,
    /// Where its journal is damaged, in words; the rest is as it stood before that.
    damage: Option<String>,
    /// For every machine and every method that it runs: whether a test can begin.
    readiness: Vec<ReadinessGiven>,
    /// Where each control chart stands.
    control: Vec<ChartGiven>,
    /// Results that are in doubt and that nobody has dealt with.
    in_doubt: Vec<String>,
}

/// Where a control chart stands.
#[derive(Debug, Serialize, JsonSchema)]
#[schemars(rename = "NetworkChart")]
struct ChartGiven {
    /// The lot of reference aggregate.
    lot: String,
    /// The apparatus.
    apparatus: String,
    /// `no-baseline`, `not-judged`, `in-control` or `out-of-control`.
    state: String,
}

/// How laboratories compare on a reference aggregate: ISO 5725-2 and ASTM E691 over all losses on record that
/// nobody doubts. It is no round: nobody saw to it that the portions were alike.
#[derive(Debug, Serialize, JsonSchema)]
#[schemars(rename = "NetworkComparison")]
struct ComparisonGiven {
    /// Where the aggregate comes from.
    reference: String,
    /// By which method.
    method: String,
    /// In which grading.
    grading: String,
    /// Mean of all losses, %.
    mean_percent: f64,
    /// Standard deviation within a laboratory, %: its runs over time, not repeatability.
    within_percent: Option<f64>,
    /// Standard deviation between laboratories, %.
    between_percent: Option<f64>,
    /// The laboratories.
    laboratories: Vec<ComparedGiven>,
}

/// How one laboratory compares with the others.
#[derive(Debug, Serialize, JsonSchema)]
#[schemars(rename = "NetworkCompared")]
struct ComparedGiven {
    /// What it is called in the database.
    laboratory: String,
    /// How many losses it has.
    results: usize,
    /// Their mean, %.
    mean_percent: f64,
    /// Their standard deviation, %.
    standard_deviation_percent: Option<f64>,
    /// Mandel's h: how far its mean lies from the others'.
    h: Option<f64>,
    /// The value that |h| passes by chance in one of two hundred.
    h_critical: Option<f64>,
    /// Mandel's k: its scatter over that of all.
    k: Option<f64>,
    /// The value that k passes by chance in one of two hundred.
    k_critical: Option<f64>,
    /// Its mean stands apart.
    mean_apart: bool,
    /// Its scatter stands apart.
    scatter_apart: bool,
}

fn network_given(report: &NetworkReport) -> NetworkGiven {
    NetworkGiven {
        at: report.at.to_string(),
        laboratories: report.laboratories.iter().map(laboratory_given).collect(),
        comparisons: report.comparisons.iter().map(comparison_given).collect(),
    }
}

fn laboratory_given(one: &LaboratoryStanding) -> LaboratoryGiven {
    let charts = one.control.iter().map(|chart| ChartGiven {
        lot: chart.lot.clone(),
        apparatus: chart.apparatus.clone(),
        state: word(chart.state),
    });
    LaboratoryGiven {
        laboratory: one.laboratory.clone(),
        name: one.name.clone(),
        invented: one.invented,
        facts: one.facts,
        last_fact_at: code(&one.last_fact_at),
        damage: one.damage.clone(),
        readiness: one.readiness.iter().map(readiness_given).collect(),
        control: charts.collect(),
        in_doubt: one.in_doubt.clone(),
    }
}

fn comparison_given(one: &Comparison) -> ComparisonGiven {
    ComparisonGiven {
        reference: one.reference.clone(),
        method: one.method.clone(),
        grading: one.grading.clone(),
        mean_percent: one.mean_percent,
        within_percent: one.within_percent,
        between_percent: one.between_percent,
        laboratories: one.laboratories.iter().map(compared_given).collect(),
    }
}

fn compared_given(one: &Compared) -> ComparedGiven {
    ComparedGiven {
        laboratory: one.laboratory.clone(),
        results: one.results,
        mean_percent: one.mean_percent,
        standard_deviation_percent: one.standard_deviation_percent,
        h: one.h,
        h_critical: one.h_critical,
        k: one.k,
        k_critical: one.k_critical,
        mean_apart: one.mean_apart,
        scatter_apart: one.scatter_apart,
    }
}
