//! What follows from the results of a round: precision and its tests (ISO 5725-2, ASTM E691), the
//! robust assigned value (ISO 13528, Algorithm A), and a score for every participant.
//!
//! Everything is worked out from the results that count, in the order of the plan and of the
//! codes, so that it does not matter in which order files came in. Nothing is left out by itself:
//! a test speaks, a person decides.

use super::figures::kept;
use crate::code::ParticipantCode;
use crate::fact::round::RoundFigures;
use crate::proficiency::{ScoreKind, ScoreVerdict};
use crate::state::Round;
use std::collections::BTreeMap;
use stonewear_measure::Decimal;
use stonewear_stats::interlab::{
    Cell, Cochran, Consistency, Grubbs, GrubbsPair, Precision, Relation, cochran, consistency,
    grubbs, grubbs_pair, precision, relations,
};
use stonewear_stats::proficiency::{Robust, algorithm_a, uncertainty_of_robust_mean};
use stonewear_stats::{Figure, StatsError};

/// The level at which h and k stand apart (ASTM E691).
const CONSISTENCY_LEVEL: f64 = 0.005;
/// From this share of the standard deviation for assessment on, the uncertainty of the assigned
/// value counts in the score (ISO 13528, 9.2).
const NEGLIGIBLE: f64 = 0.3;

/// The whole analysis.
#[derive(Debug, Clone)]
pub struct Analysis {
    /// Material by material, in the order of the plan.
    pub materials: Vec<MaterialAnalysis>,
    /// How repeatability follows the level.
    pub repeatability: Result<Relation, StatsError>,
    /// How reproducibility follows the level.
    pub reproducibility: Result<Relation, StatsError>,
}

/// What follows for one material.
#[derive(Debug, Clone)]
pub struct MaterialAnalysis {
    /// Its name.
    pub material: String,
    /// Participants with results, by code.
    pub cells: Vec<CellAnalysis>,
    /// Precision, from the cells that count.
    pub precision: Result<Precision, StatsError>,
    /// The largest variance within a laboratory.
    pub cochran: Result<Cochran, StatsError>,
    /// The most extreme mean, with the code that has it.
    pub grubbs: Result<(Grubbs, String), StatsError>,
    /// The two largest or smallest means together, with their codes.
    pub grubbs_pair: Result<(GrubbsPair, [String; 2]), StatsError>,
    /// Robust mean and standard deviation of all means.
    pub robust: Result<Robust, StatsError>,
    /// Standard uncertainty of the robust mean as assigned value.
    pub assigned_uncertainty: Option<f64>,
    /// Standard deviation for assessment: given with the material, or the robust one.
    pub sigma_pt: Option<f64>,
    /// Whether it was given.
    pub sigma_is_given: bool,
    /// Which score decides.
    pub score_kind: ScoreKind,
}

/// What follows for one participant and material.
#[derive(Debug, Clone)]
pub struct CellAnalysis {
    /// Whose.
    pub participant: ParticipantCode,
    /// The results, by replicate.
    pub values: Vec<Decimal>,
    /// Their mean.
    pub mean: f64,
    /// Their standard deviation.
    pub standard_deviation: Figure,
    /// Why they are left out of precision, if they are.
    pub left_out: Option<String>,
    /// h and k among the cells that count; absent where this one does not.
    pub consistency: Option<Consistency>,
    /// The score, where it is defined.
    pub score: Option<f64>,
}

impl CellAnalysis {
    /// What the score means.
    pub fn verdict(&self) -> Option<ScoreVerdict> {
        self.score.map(ScoreVerdict::of)
    }

    /// h, where it is defined.
    pub fn h(&self) -> Option<f64> {
        self.consistency.as_ref()?.h.clone().ok()
    }

    /// k, where it is defined.
    pub fn k(&self) -> Option<f64> {
        self.consistency.as_ref()?.k.clone().ok()
    }
}

impl MaterialAnalysis {
    /// The assigned value: the robust mean.
    pub fn assigned(&self) -> Option<f64> {
        self.robust.as_ref().ok().map(|robust| robust.mean)
    }

    /// The cell of a participant.
    pub fn cell(&self, participant: &str) -> Option<&CellAnalysis> {
        self.cells.iter().find(|cell| cell.participant.as_str() == participant)
    }

    /// The figures that a closed round keeps.
    pub(crate) fn kept(&self) -> RoundFigures {
        let precision = self.precision.as_ref().ok();
        let figure = |of: fn(&Precision) -> &Figure| {
            kept(precision.and_then(|precision| of(precision).clone().ok()))
        };
        RoundFigures {
            material: self.material.clone(),
            laboratories: precision
                .and_then(|precision| u32::try_from(precision.laboratories).ok())
                .unwrap_or_default(),
            mean: kept(precision.map(|precision| precision.mean)),
            s_r: figure(|precision| &precision.s_r),
            s_reproducibility: figure(|precision| &precision.s_reproducibility),
            assigned: kept(self.assigned()),
            assigned_uncertainty: kept(self.assigned_uncertainty),
            sigma_pt: kept(self.sigma_pt),
        }
    }
}

/// Analyses a round as its results stand.
pub fn analyse(round: &Round) -> Analysis {
    let current = round.current();
    let mut cells = BTreeMap::<(&str, &str), Vec<Decimal>>::new();
    for ((participant, material, _), taken) in &current {
        cells.entry((material, participant)).or_default().push(taken.value.value.value);
    }
    let materials: Vec<MaterialAnalysis> = round
        .materials()
        .iter()
        .map(|material| {
            let of = cells
                .iter()
                .filter(|((name, _), _)| *name == material.name)
                .map(|((_, participant), values)| (*participant, values.clone()));
            one(round, &material.name, material.sigma_pt, of.collect())
        })
        .collect();
    let levels = |of: fn(&Precision) -> &Figure| {
        let found = materials.iter().filter_map(|material| {
            let precision = material.precision.as_ref().ok()?;
            Some((precision.mean, of(precision).clone().ok()?))
        });
        let (means, deviations): (Vec<f64>, Vec<f64>) = found.unzip();
        relations(&means, &deviations)
    };
    Analysis {
        repeatability: levels(|precision| &precision.s_r),
        reproducibility: levels(|precision| &precision.s_reproducibility),
        materials,
    }
}

fn one(
    round: &Round,
    material: &str,
    given: Option<Decimal>,
    values: Vec<(&str, Vec<Decimal>)>,
) -> MaterialAnalysis {
    let double = |value: &Decimal| f64::try_from(*value).ok();
    let cell = |(code, values): &(&str, Vec<Decimal>)| {
        Cell::new(code, &values.iter().filter_map(double).collect::<Vec<f64>>()).ok()
    };
    let all: Vec<Cell> = values.iter().filter_map(cell).collect();
    let counts = |cell: &&Cell| round.left_out(&cell.laboratory, material).is_none();
    let counting: Vec<Cell> = all.iter().filter(counts).cloned().collect();
    let code = |place: usize| {
        let cell = place.checked_sub(1).and_then(|place| counting.get(place));
        cell.map(|cell| cell.laboratory.clone()).unwrap_or_default()
    };
    let means: Vec<f64> = counting.iter().map(Cell::mean).collect();
    let consistent = consistency(&counting, CONSISTENCY_LEVEL).unwrap_or_default();
    // A robust mean takes all in: bad results cannot move it far, which is what it is for.
    let robust = algorithm_a(&all.iter().map(Cell::mean).collect::<Vec<f64>>());
    let scale = robust.as_ref().ok().map(|robust| robust.standard_deviation);
    let assigned_uncertainty =
        scale.and_then(|scale| uncertainty_of_robust_mean(scale, all.len()).ok());
    let sigma_pt = given.as_ref().and_then(double).or(scale);
    let is_uncertain =
        assigned_uncertainty.zip(sigma_pt).is_some_and(|(u, sigma)| u > NEGLIGIBLE * sigma);
    let score_kind = if is_uncertain { ScoreKind::ZPrime } else { ScoreKind::Z };
    let score = |mean: f64| {
        let robust = robust.as_ref().ok()?;
        let found = stonewear_stats::proficiency::scores(
            (mean, 0.0, 0.0),
            (robust.mean, assigned_uncertainty?, 0.0),
            sigma_pt?,
        );
        let found = found.ok()?;
        if is_uncertain { found.z_prime.ok() } else { found.z.ok() }
    };
    let cells = all
        .iter()
        .map(|cell| CellAnalysis {
            participant: ParticipantCode::from(cell.laboratory.as_str()),
            values: values
                .iter()
                .find(|(code, _)| *code == cell.laboratory)
                .map(|(_, values)| values.clone())
                .unwrap_or_default(),
            mean: cell.mean(),
            standard_deviation: cell.standard_deviation(),
            left_out: round
                .left_out(&cell.laboratory, material)
                .map(|judged| judged.value.reason.clone()),
            consistency: consistent.iter().find(|one| one.laboratory == cell.laboratory).cloned(),
            score: score(cell.mean()),
        })
        .collect();
    MaterialAnalysis {
        material: material.to_owned(),
        cells,
        precision: precision(&counting),
        cochran: cochran(&counting),
        grubbs: grubbs(&means).map(|found| {
            let whose = code(found.index);
            (found, whose)
        }),
        grubbs_pair: grubbs_pair(&means).map(|found| {
            let whose = found.indexes.map(code);
            (found, whose)
        }),
        robust,
        assigned_uncertainty,
        sigma_pt,
        sigma_is_given: given.is_some(),
        score_kind,
    }
}
