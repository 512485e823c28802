//! `stonewear interlab`: how well a test repeats and reproduces.

use super::document::{Document, defined};
use super::file;
use super::picture;
use super::table::{columns, figure, short};
use crate::answer::{Answer, Failure};
use serde_json::{Value, json};
use std::path::PathBuf;
use stonewear_picture::{Needle, NeedleChart, NeedleGroup};
use stonewear_stats::interlab::{
    self as stats, Cell, Consistency, Observation, Precision, Study, Verdict, h_critical,
    k_critical,
};
use stonewear_stats::{Figure, StatsError};

/// Precision of a test between laboratories (ASTM E691, ISO 5725-2).
///
/// Columns lab, material, replicate, value; an empty value is no result. Nothing is dropped unless
/// --drop says so.
#[derive(Debug, clap::Args)]
#[command(after_help = "\
Example (invented figures):\n\
\x20 printf 'lab,material,replicate,value\\nA,1,1,8.1\\nA,1,2,8.5\\nB,1,1,8.6\\nB,1,2,7.8\\nC,1,1,8.0\\nC,1,2,8.2\\n' > round.csv\n\
\x20 stonewear interlab round.csv --svg h.svg")]
pub(crate) struct Interlab {
    /// CSV file with a header row; `-` reads standard input.
    file: PathBuf,
    /// Level of the critical values of h and k.
    #[arg(long, default_value_t = 0.005)]
    alpha: f64,
    /// Leave a laboratory out at a material: `A@3`; repeatable.
    #[arg(long, value_name = "LAB@MATERIAL")]
    drop: Vec<String>,
    /// Draw h of every laboratory and material into this file.
    #[arg(long, value_name = "FILE")]
    svg: Option<PathBuf>,
    /// Draw k of every laboratory and material into this file.
    #[arg(long, value_name = "FILE")]
    svg_k: Option<PathBuf>,
}

/// One material with everything found about it.
struct Material {
    name: String,
    precision: Precision,
    laboratories: Vec<(Consistency, Vec<&'static str>)>,
    results: usize,
}

pub(crate) fn interlab(command: &Interlab) -> Result<Answer, Failure> {
    let table = file::table(&command.file)?;
    let fault = |error| file::fault(&command.file, &error);
    let laboratories = table.texts("lab").map_err(fault)?;
    let materials = table.texts("material").map_err(fault)?;
    let values = table.numbers_or_empty("value").map_err(fault)?;
    let mut observations = Vec::new();
    let mut dropped = vec![false; command.drop.len()];
    for ((laboratory, material), value) in laboratories.into_iter().zip(materials).zip(values) {
        let Some(value) = value else { continue };
        let place = format!("{laboratory}@{material}");
        match command.drop.iter().position(|d| *d == place) {
            Some(i) => dropped[i] = true,
            None => observations.push(Observation { laboratory, material, value }),
        }
    }
    if let Some(i) = dropped.iter().position(|found| !found) {
        let text = &command.drop[i];
        return Err(Failure::WrongInput(format!("--drop {text}: there is no such result")));
    }
    let found = || -> Result<Vec<Material>, StatsError> {
        let study = Study::new(&observations)?;
        study.materials.iter().map(|(name, cells)| material(name, cells, command.alpha)).collect()
    };
    let found = found();
    if let Ok(materials) = &found {
        draw(materials, command)?;
    }
    let answer = found.map(|materials| shown(&materials, command));
    defined(answer, &["materials", "h_critical", "k_critical"])
}

/// Largest numbers of laboratories and of results in a cell.
fn sizes(materials: &[Material]) -> (usize, usize) {
    let laboratories = materials.iter().map(|m| m.precision.laboratories).max().unwrap_or(0);
    (laboratories, materials.iter().map(|m| m.results).max().unwrap_or(0))
}

/// Pictures of h and k, material after material.
fn draw(materials: &[Material], command: &Interlab) -> Result<(), Failure> {
    let (laboratories, results) = sizes(materials);
    let h = h_critical(laboratories, command.alpha).unwrap_or(0.0);
    let k = k_critical(laboratories, results, command.alpha).unwrap_or(0.0);
    let needles = |scale: &str, limits: Vec<f64>, pick: &dyn Fn(&Consistency) -> Option<Needle>| {
        let groups = materials.iter().map(|m| NeedleGroup {
            name: m.name.clone(),
            needles: m.laboratories.iter().filter_map(|(c, _)| pick(c)).collect(),
        });
        NeedleChart {
            title: format!("{} of the laboratories", &scale[..1]),
            scale: scale.to_owned(),
            groups: groups.collect(),
            limits,
        }
    };
    let needle = |c: &Consistency, value: &Figure, beyond: bool| {
        Some(Needle { name: c.laboratory.clone(), value: *value.as_ref().ok()?, beyond })
    };
    let of_h = || {
        let pick = |c: &Consistency| needle(c, &c.h, c.h_beyond());
        needles("h, between laboratories", vec![-h, h], &pick).svg()
    };
    let of_k = || {
        let pick = |c: &Consistency| needle(c, &c.k, c.k_beyond());
        needles("k, within laboratories", vec![k], &pick).svg()
    };
    picture::write(of_h, command.svg.as_deref())?;
    picture::write(of_k, command.svg_k.as_deref())
}

fn material(name: &str, cells: &[Cell], alpha: f64) -> Result<Material, StatsError> {
    let precision = stats::precision(cells)?;
    let mut laboratories: Vec<(Consistency, Vec<&'static str>)> = stats::consistency(cells, alpha)?
        .into_iter()
        .map(|c| {
            let mut flags = Vec::new();
            if c.h_beyond() {
                flags.push("h");
            }
            if c.k_beyond() {
                flags.push("k");
            }
            (c, flags)
        })
        .collect();
    // The two tests name one laboratory each; where they cannot be made they say nothing.
    if let Ok(test) = stats::cochran(cells) {
        let word = match test.verdict {
            Verdict::Consistent => None,
            Verdict::Straggler => Some("Cochran straggler"),
            Verdict::Outlier => Some("Cochran outlier"),
        };
        let place = laboratories.iter_mut().find(|(c, _)| c.laboratory == test.laboratory);
        if let (Some(word), Some((_, flags))) = (word, place) {
            flags.push(word);
        }
    }
    let means: Vec<f64> = cells.iter().map(Cell::mean).collect();
    if let Ok(test) = stats::grubbs(&means) {
        match test.verdict {
            Verdict::Consistent => {}
            Verdict::Straggler => laboratories[test.index - 1].1.push("Grubbs straggler"),
            Verdict::Outlier => laboratories[test.index - 1].1.push("Grubbs outlier"),
        }
    }
    let results = cells.iter().map(|c| c.values.len()).max().unwrap_or(0);
    Ok(Material { name: name.to_owned(), precision, laboratories, results })
}

fn shown(materials: &[Material], command: &Interlab) -> Answer {
    let (most, results) = sizes(materials);
    let mut json = Document::new()
        .put("materials", materials.iter().map(of_material).collect::<Vec<Value>>())
        .put("alpha", command.alpha)
        .figure("h_critical", &h_critical(most, command.alpha))
        .figure("k_critical", &k_critical(most, results, command.alpha))
        .put("dropped", command.drop.clone());
    for (name, pick) in [
        (
            "repeatability_relation",
            Box::new(|p: &Precision| p.s_r.clone()) as Box<dyn Fn(&Precision) -> _>,
        ),
        ("reproducibility_relation", Box::new(|p: &Precision| p.s_reproducibility.clone())),
    ] {
        json = relation(json, name, materials, &*pick);
    }
    Answer::new(words(materials), json.value())
}

/// How a standard deviation depends on the level, where at least two materials allow to say so.
fn relation(
    json: Document,
    name: &str,
    materials: &[Material],
    pick: &dyn Fn(&Precision) -> stonewear_stats::Figure,
) -> Document {
    let levels: Vec<f64> = materials.iter().map(|m| m.precision.mean).collect();
    let spreads: Result<Vec<f64>, _> = materials.iter().map(|m| pick(&m.precision)).collect();
    let found = spreads.map_err(StatsError::from).and_then(|s| stats::relations(&levels, &s));
    match found {
        Ok(relation) => {
            let mut inner = Document::new().figure("proportional", &relation.proportional);
            for (name, line, first, second) in [
                ("linear", &relation.linear, "intercept", "slope"),
                ("power", &relation.power, "constant", "exponent"),
            ] {
                inner = match line {
                    Ok((a, b)) => inner.put(name, json!({ first: a, second: b })),
                    Err(why) => inner.missing(name, why),
                };
            }
            json.put(name, inner.value())
        }
        Err(why) => json.missing(name, why),
    }
}

fn of_material(material: &Material) -> Value {
    let p = &material.precision;
    let laboratories: Vec<Value> = material
        .laboratories
        .iter()
        .map(|(c, flags)| {
            Document::new()
                .put("lab", c.laboratory.as_str())
                .put("results", c.results)
                .put("mean", c.mean)
                .figure("s", &c.standard_deviation)
                .figure("h", &c.h)
                .figure("k", &c.k)
                .put("flags", flags.clone())
                .value()
        })
        .collect();
    Document::new()
        .put("material", material.name.as_str())
        .put("laboratories_used", p.laboratories)
        .put("results", p.results)
        .put("mean", p.mean)
        .figure("s_x", &p.s_x)
        .figure("s_r", &p.s_r)
        .figure("s_L", &p.s_l)
        .figure("s_R", &p.s_reproducibility)
        .figure("r", &p.repeatability_limit)
        .figure("R", &p.reproducibility_limit)
        .put("laboratories", laboratories)
        .value()
}

fn words(materials: &[Material]) -> String {
    let rows: Vec<Vec<String>> = materials
        .iter()
        .map(|m| {
            let p = &m.precision;
            vec![
                m.name.clone(),
                p.laboratories.to_string(),
                short(p.mean),
                figure(&p.s_r),
                figure(&p.s_reproducibility),
                figure(&p.repeatability_limit),
                figure(&p.reproducibility_limit),
            ]
        })
        .collect();
    let mut text = columns(&["material", "laboratories", "mean", "s_r", "s_R", "r", "R"], &rows);
    let flagged: Vec<Vec<String>> = materials
        .iter()
        .flat_map(|m| m.laboratories.iter().map(move |l| (m, l)))
        .filter(|(_, (_, flags))| !flags.is_empty())
        .map(|(m, (c, flags))| {
            let numbers = [figure(&c.h), figure(&c.k), flags.join(", ")];
            [m.name.clone(), c.laboratory.clone(), short(c.mean)]
                .into_iter()
                .chain(numbers)
                .collect()
        })
        .collect();
    if !flagged.is_empty() {
        text.push('\n');
        text.push_str(&columns(
            &["material", "laboratory", "mean", "h", "k", "stands apart by"],
            &flagged,
        ));
    }
    text
}
