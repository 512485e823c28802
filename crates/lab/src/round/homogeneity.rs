//! Are the split samples alike? (ISO 13528, Annex B: the standard deviation between samples
//! against 0.3 of the standard deviation for proficiency assessment; from memory, unconfirmed.)

use crate::state::{Lab, Round};
use serde::Serialize;
use std::collections::BTreeMap;
use stonewear_measure::Decimal;
use stonewear_stats::anova::one_way;

/// The share of the standard deviation for assessment that samples may differ by.
const SHARE: f64 = 0.3;
/// Bags that the test should have.
const BAGS: usize = 10;

/// What a test says of one material.
#[derive(Debug, Clone, PartialEq)]
pub struct Homogeneity {
    /// The material.
    pub material: String,
    /// Bags tested.
    pub bags: usize,
    /// Results in all.
    pub results: usize,
    /// Their mean.
    pub mean: Option<f64>,
    /// Standard deviation between the bags.
    pub between: Option<f64>,
    /// Standard deviation within a bag: of test and sample together.
    pub within: Option<f64>,
    /// Probability of so large a difference between bags by chance alone.
    pub p: Option<f64>,
    /// The standard deviation for assessment that it is held against, and where it comes from.
    pub sigma_pt: Option<(f64, &'static str)>,
    /// The most that `between` may be.
    pub limit: Option<f64>,
    /// What follows.
    pub verdict: HomogeneityVerdict,
    /// What weakens it, in words.
    pub remarks: Vec<String>,
}

/// Whether split samples are alike enough.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum HomogeneityVerdict {
    /// They are.
    Homogeneous,
    /// They are not.
    NotHomogeneous,
    /// It cannot be said.
    NotDecided,
}

impl HomogeneityVerdict {
    /// In words.
    pub fn in_words(self) -> &'static str {
        match self {
            Self::Homogeneous => "homogeneous",
            Self::NotHomogeneous => "not homogeneous enough",
            Self::NotDecided => "not decided",
        }
    }
}

/// The last test of a round, material by material; nothing where there was none.
pub fn homogeneity(lab: &Lab, round: &Round) -> Vec<Homogeneity> {
    let Some(test) = round.homogeneity.last() else { return Vec::new() };
    let of_material = |material: &str| {
        let mut bags = BTreeMap::<&str, Vec<Decimal>>::new();
        for value in test.value.values.iter().filter(|value| value.material == material) {
            bags.entry(&value.bag).or_default().push(value.value);
        }
        bags
    };
    round
        .materials()
        .iter()
        .map(|material| (material, of_material(&material.name)))
        .filter(|(_, bags)| !bags.is_empty())
        .map(|(material, bags)| {
            let groups: Vec<Vec<f64>> = bags
                .values()
                .map(|bag| bag.iter().filter_map(|value| f64::try_from(*value).ok()).collect())
                .collect();
            judged(lab, round, material.name.clone(), material.sigma_pt, &groups)
        })
        .collect()
}

fn judged(
    lab: &Lab,
    round: &Round,
    material: String,
    sigma_pt: Option<Decimal>,
    groups: &[Vec<f64>],
) -> Homogeneity {
    let analysis = one_way(groups).ok();
    let component = |source: &str| {
        let found = analysis.as_ref()?.components.iter().find(|one| one.source == source)?;
        found.variance.clone().ok().map(f64::sqrt)
    };
    let results: Vec<f64> = groups.iter().flatten().copied().collect();
    let mean = stonewear_stats::describe::describe(&results).ok().and_then(|all| all.mean.ok());
    let sigma_pt = sigma(lab, round, sigma_pt, mean);
    let (between, within) = (component("between"), component("within"));
    let limit = sigma_pt.map(|(sigma, _)| SHARE * sigma);
    let verdict = match (between, limit) {
        (Some(between), Some(limit)) if between <= limit => HomogeneityVerdict::Homogeneous,
        (Some(_), Some(_)) => HomogeneityVerdict::NotHomogeneous,
        _ => HomogeneityVerdict::NotDecided,
    };
    let mut remarks = Vec::new();
    if groups.len() < BAGS {
        remarks.push(format!(
            "{} bags were tested; the usual number is at least {BAGS} (ISO 13528, Annex B, from memory)",
            groups.len()
        ));
    }
    if between.is_none() {
        remarks.push("two results of at least two bags are needed to see a difference".to_owned());
    }
    if sigma_pt.is_none() {
        remarks.push(
            "no standard deviation for assessment is given, and the method states no precision here"
                .to_owned(),
        );
    }
    Homogeneity {
        material,
        bags: groups.len(),
        results: results.len(),
        mean,
        between,
        within,
        p: analysis.and_then(|found| found.table.row("between")?.p.clone().ok()),
        sigma_pt,
        limit,
        verdict,
        remarks,
    }
}

/// What is given with the material, or else what the method's published precision predicts.
fn sigma(
    lab: &Lab,
    round: &Round,
    given: Option<Decimal>,
    mean: Option<f64>,
) -> Option<(f64, &'static str)> {
    let as_double = |value: Decimal| f64::try_from(value).ok();
    if let Some(given) = given.and_then(as_double) {
        return Some((given, "given with the material"));
    }
    let mean = Decimal::try_from(mean?).ok()?;
    let predicted = lab.predicted_deviation(round, mean).and_then(as_double)?;
    Some((predicted, "the method's published reproducibility limit over 2.8"))
}
