//! Pictures of rounds and of scores, the same on page and paper.

use stonewear_lab::proficiency::{ScoreVerdict, Series};
use stonewear_lab::round::{Analysis, CellAnalysis, MaterialAnalysis};
use stonewear_lab::state::Round;
use stonewear_picture::{
    Limits, Mean, MeansChart, Needle, NeedleChart, NeedleGroup, Point, SeriesChart,
};

/// h and k of the laboratories at every material; of one participant only, if that is said.
pub fn needle_charts(analysis: &Analysis, only: Option<&str>) -> [NeedleChart; 2] {
    let chart = |title: &str, of: fn(&CellAnalysis) -> Option<f64>, is_h: bool| {
        let wanted = |cell: &&CellAnalysis| only.is_none_or(|own| cell.participant.as_str() == own);
        let groups = analysis.materials.iter().map(|material| NeedleGroup {
            name: material.material.clone(),
            needles: material
                .cells
                .iter()
                .filter(wanted)
                .filter_map(|cell| needle(cell, of(cell)?, is_h))
                .collect(),
        });
        NeedleChart {
            title: title.to_owned(),
            scale: title.chars().take(1).collect(),
            groups: groups.collect(),
            limits: limits(analysis, is_h),
        }
    };
    [
        chart("h of the laboratories", CellAnalysis::h, true),
        chart("k of the laboratories", CellAnalysis::k, false),
    ]
}

fn needle(cell: &CellAnalysis, value: f64, is_h: bool) -> Option<Needle> {
    let consistency = cell.consistency.as_ref()?;
    let beyond = if is_h { consistency.h_beyond() } else { consistency.k_beyond() };
    Some(Needle { name: cell.participant.to_string(), value, beyond })
}

/// The critical values, where they are the same for every cell.
fn limits(analysis: &Analysis, is_h: bool) -> Vec<f64> {
    let cells = analysis.materials.iter().flat_map(|material| &material.cells);
    let mut all: Vec<f64> = cells
        .filter_map(|cell| {
            let consistency = cell.consistency.as_ref()?;
            let critical = if is_h { &consistency.h_critical } else { &consistency.k_critical };
            critical.clone().ok()
        })
        .collect();
    all.sort_by(f64::total_cmp);
    all.dedup();
    match all.as_slice() {
        [one] if is_h => vec![-one, *one],
        [one] => vec![*one],
        _ => Vec::new(),
    }
}

/// The means of every material in order, with intervals; one's own marked and the others without
/// their codes, if it is said whose it is for.
pub fn means_charts(round: &Round, analysis: &Analysis, own: Option<&str>) -> Vec<MeansChart> {
    analysis.materials.iter().map(|material| means(round, material, own)).collect()
}

fn means(round: &Round, material: &MaterialAnalysis, own: Option<&str>) -> MeansChart {
    let s_r = material.precision.as_ref().ok().and_then(|found| found.s_r.clone().ok());
    let means = material.cells.iter().map(|cell| {
        let is_own = own == Some(cell.participant.as_str());
        let is_named = own.is_none() || is_own;
        let remark = match (cell.left_out.is_some(), cell.verdict()) {
            (true, _) => "left out of precision",
            (false, Some(verdict)) if verdict != ScoreVerdict::Satisfactory => verdict.in_words(),
            _ => "",
        };
        Mean {
            name: if is_named { cell.participant.to_string() } else { String::new() },
            value: cell.mean,
            // About 95 % for the mean of one laboratory, as far as its own scatter goes.
            reach: s_r.map(|s_r| 2.0 * s_r / (cell.values.len() as f64).sqrt()),
            own: is_own,
            remark: if is_named { remark.to_owned() } else { String::new() },
        }
    });
    let assigned = material.assigned();
    let limits = assigned.zip(material.sigma_pt).map(|(assigned, sigma)| {
        [-2.0, 2.0].map(|z| (assigned + z * sigma, format!("z = {z}"))).to_vec()
    });
    MeansChart {
        title: format!("Means of {}", material.material),
        scale: round.plan.value.quantity.clone(),
        means: means.collect(),
        centre: assigned.map(|assigned| (assigned, "assigned".to_owned())),
        limits: limits.unwrap_or_default(),
    }
}

/// The scores of a series over the years, with what was done about them.
pub fn score_chart(series: &Series<'_>) -> SeriesChart {
    let begin = jiff::civil::date(2000, 1, 1);
    let day = |date: jiff::civil::Date| i64::from((date - begin).get_days());
    let points = series.points.iter().map(|point| {
        let told = &point.score.told.value;
        let is_good = point.scored.verdict == ScoreVerdict::Satisfactory;
        Point {
            at: day(told.on),
            when: told.on.to_string(),
            value: point.scored.value,
            says: format!(
                "{}: {:.2}, {}",
                told.on,
                point.scored.value,
                point.scored.verdict.in_words()
            ),
            signal: (!is_good).then(|| point.scored.verdict.in_words().to_owned()),
            ..Point::default()
        }
    });
    let limits = |reach: f64| Some(Limits { lower: -reach, upper: reach });
    SeriesChart {
        title: format!("Scores by {}, {}", series.method, series.quantity),
        unit: String::new(),
        points: points.collect(),
        centre: Some(0.0),
        warning: limits(2.0),
        action: limits(3.0),
        events: Vec::new(),
    }
}
