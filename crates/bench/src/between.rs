//! The precision and the consistency of every material of a round (ASTM E691).

use crate::Trouble;
use std::path::Path;
use stonewear_stats::interlab::{Cell, consistency, precision};

/// The level of the critical values, as ASTM E691 takes it.
const ALPHA: f64 = 0.005;

/// Reads the results, works every material out, and writes it.
pub(crate) fn all(round: &Path, out: &Path) -> Result<(), Trouble> {
    let mut materials: Vec<(String, Vec<Cell>)> = Vec::new();
    let mut reader = csv::Reader::from_path(round)?;
    let mut record = csv::StringRecord::new();
    while reader.read_record(&mut record)? {
        if materials.last().is_none_or(|(name, _)| *name != record[0]) {
            materials.push((record[0].to_owned(), Vec::new()));
        }
        let values = [record[2].parse()?, record[3].parse()?];
        if let Some((_, cells)) = materials.last_mut() {
            cells.push(Cell::new(&record[1], &values)?);
        }
    }
    let mut writer = csv::Writer::from_path(out)?;
    writer.write_record(["material", "mean", "s_r", "s_R", "apart"])?;
    for (name, cells) in materials {
        let found = precision(&cells)?;
        let judged = consistency(&cells, ALPHA)?;
        let apart = judged.iter().filter(|one| one.h_beyond() || one.k_beyond()).count();
        writer.write_record([
            name,
            format!("{:.9}", found.mean),
            format!("{:.9}", found.s_r?),
            format!("{:.9}", found.s_reproducibility?),
            apart.to_string(),
        ])?;
    }
    writer.flush()?;
    Ok(())
}
