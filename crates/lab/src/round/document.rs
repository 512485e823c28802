//! A round for programs: JSON and CSV, for the organiser and for one participant.
//!
//! What a participant gets holds no code but their own, and no name.

use super::analysis::{Analysis, CellAnalysis, MaterialAnalysis, analyse};
use super::figures::{kept, significant, two_decimals};
use super::homogeneity::homogeneity;
use crate::state::{Lab, Round};
use serde_json::{Value, json};
use stonewear_stats::interlab::{Precision, Relation};
use stonewear_stats::table::row;
use stonewear_stats::{Figure, StatsError};

/// The columns of [`cell_lines`].
pub const HEAD: [&str; 11] = [
    "code",
    "material",
    "results",
    "mean",
    "standard_deviation",
    "h",
    "k",
    "score",
    "score_value",
    "verdict",
    "left_out",
];

/// One line for each participant and material, or for those of one participant only.
pub fn cell_lines(analysis: &Analysis, only: Option<&str>) -> Vec<[String; 11]> {
    let lines = analysis.materials.iter().flat_map(|material| {
        let wanted =
            |cell: &&CellAnalysis| only.is_none_or(|code| cell.participant.as_str() == code);
        material.cells.iter().filter(wanted).map(move |cell| line(material, cell))
    });
    lines.collect()
}

fn line(material: &MaterialAnalysis, cell: &CellAnalysis) -> [String; 11] {
    let values: Vec<String> = cell.values.iter().map(ToString::to_string).collect();
    [
        cell.participant.to_string(),
        material.material.clone(),
        values.join(" "),
        significant(Some(cell.mean), 5),
        significant(cell.standard_deviation.clone().ok(), 4),
        two_decimals(cell.h()),
        two_decimals(cell.k()),
        material.score_kind.symbol().to_owned(),
        two_decimals(cell.score),
        cell.verdict().map(|verdict| verdict.in_words().to_owned()).unwrap_or_default(),
        cell.left_out.clone().unwrap_or_default(),
    ]
}

/// The lines as CSV.
pub fn csv(round: &Round, only: Option<&str>) -> String {
    let lines = cell_lines(&analyse(round), only);
    row(HEAD) + &lines.into_iter().map(row).collect::<String>()
}

/// The whole round, for its organiser.
pub fn document(lab: &Lab, round: &Round) -> Value {
    let analysis = analyse(round);
    let plan = &round.plan.value;
    let participants: Vec<Value> = round
        .participants
        .values()
        .map(|joined| {
            let one = &joined.value;
            json!({
                "code": one.participant,
                "laboratory": one.laboratory,
                "contact": one.contact,
                "ours": one.ours,
            })
        })
        .collect();
    let (come, wanted) = round.progress();
    json!({
        "round": plan.round,
        "title": plan.title,
        "method": plan.method,
        "quantity": plan.quantity,
        "replicates": plan.replicates,
        "closes_on": plan.closes_on,
        "closed": round.closed().map(|closed| closed.at),
        "results": { "come": come, "wanted": wanted },
        "participants": participants,
        "homogeneity": of_homogeneity(lab, round),
        "materials": analysis.materials.iter().map(|one| {
            let mut value = of_material(one);
            value["cells"] = one.cells.iter().map(of_cell).collect();
            value["tests"] = of_tests(one);
            value
        }).collect::<Vec<Value>>(),
        "relations": {
            "s_r": of_relation(&analysis.repeatability),
            "s_R": of_relation(&analysis.reproducibility),
        },
    })
}

/// The round for one participant; `None` where nobody takes part under this code.
pub fn participant_document(round: &Round, participant: &str) -> Option<Value> {
    round.participants.get(participant)?;
    let analysis = analyse(round);
    let plan = &round.plan.value;
    let materials: Vec<Value> = analysis
        .materials
        .iter()
        .map(|one| {
            let mut value = of_material(one);
            value["own"] = one.cell(participant).map(of_cell).unwrap_or_default();
            value
        })
        .collect();
    Some(json!({
        "round": plan.round,
        "title": plan.title,
        "method": plan.method,
        "quantity": plan.quantity,
        "code": participant,
        "final": round.closed().is_some(),
        "participants": round.participants.len(),
        "materials": materials,
    }))
}

fn of_material(one: &MaterialAnalysis) -> Value {
    let precision = one.precision.as_ref().ok();
    let figure = |of: fn(&Precision) -> &Figure| {
        kept(precision.and_then(|precision| of(precision).clone().ok()))
    };
    json!({
        "material": one.material,
        "laboratories": precision.map(|precision| precision.laboratories),
        "results": precision.map(|precision| precision.results),
        "mean": kept(precision.map(|precision| precision.mean)),
        "s_r": figure(|precision| &precision.s_r),
        "s_L": figure(|precision| &precision.s_l),
        "s_R": figure(|precision| &precision.s_reproducibility),
        "r": figure(|precision| &precision.repeatability_limit),
        "R": figure(|precision| &precision.reproducibility_limit),
        "assigned": kept(one.assigned()),
        "assigned_standard_uncertainty": kept(one.assigned_uncertainty),
        "sigma_pt": kept(one.sigma_pt),
        "sigma_pt_given": one.sigma_is_given,
        "score": one.score_kind,
    })
}

fn of_cell(cell: &CellAnalysis) -> Value {
    json!({
        "code": cell.participant,
        "values": cell.values,
        "mean": kept(Some(cell.mean)),
        "standard_deviation": kept(cell.standard_deviation.clone().ok()),
        "h": kept(cell.h()),
        "k": kept(cell.k()),
        "score": kept(cell.score),
        "verdict": cell.verdict(),
        "left_out": cell.left_out,
    })
}

fn of_tests(one: &MaterialAnalysis) -> Value {
    let words = |verdict| format!("{verdict:?}").to_lowercase();
    json!({
        "cochran": one.cochran.as_ref().ok().map(|found| json!({
            "code": found.laboratory,
            "statistic": kept(Some(found.statistic)),
            "critical_5_percent": kept(Some(found.critical_5)),
            "critical_1_percent": kept(Some(found.critical_1)),
            "verdict": words(found.verdict),
        })),
        "grubbs": one.grubbs.as_ref().ok().map(|(found, code)| json!({
            "code": code,
            "statistic": kept(Some(found.statistic)),
            "critical_5_percent": kept(Some(found.critical_5)),
            "critical_1_percent": kept(Some(found.critical_1)),
            "verdict": words(found.verdict),
        })),
        "grubbs_pair": one.grubbs_pair.as_ref().ok().map(|(found, codes)| json!({
            "codes": codes,
            "statistic": kept(Some(found.statistic)),
            "critical_5_percent": kept(Some(found.critical_5)),
            "critical_1_percent": kept(Some(found.critical_1)),
            "verdict": words(found.verdict),
        })),
    })
}

fn of_relation(relation: &Result<Relation, StatsError>) -> Value {
    let Ok(relation) = relation else { return Value::Null };
    let pair = |pair: Option<(f64, f64)>| {
        pair.map(|(a, b)| json!([kept(Some(a)), kept(Some(b))])).unwrap_or_default()
    };
    json!({
        "proportional": kept(relation.proportional.clone().ok()),
        "line": pair(relation.linear.clone().ok()),
        "power": pair(relation.power.clone().ok()),
    })
}

fn of_homogeneity(lab: &Lab, round: &Round) -> Vec<Value> {
    homogeneity(lab, round)
        .iter()
        .map(|one| {
            json!({
                "material": one.material,
                "bags": one.bags,
                "results": one.results,
                "between": kept(one.between),
                "within": kept(one.within),
                "sigma_pt": kept(one.sigma_pt.map(|(sigma, _)| sigma)),
                "limit": kept(one.limit),
                "verdict": one.verdict,
                "remarks": one.remarks,
            })
        })
        .collect()
}
