//! The demo laboratory as the tests of papers read it.

use jiff::Timestamp;
use stonewear_demo::{SEED, scenario};
use stonewear_lab::{Lab, Recorded};
use stonewear_report::{Block, Sheet, Table};

/// The demo laboratory, and when its last fact was recorded.
pub(crate) fn demo() -> (Lab, Timestamp) {
    let methods = stonewear_method::library::built_in_methods();
    let batches = scenario(SEED, &methods, &stonewear_procedure::built_in_procedures()).unwrap();
    let at = batches.last().unwrap().at;
    let mut lab = Lab::new();
    for batch in batches {
        for fact in batch.facts {
            let position = lab.position + 1;
            lab.apply(&Recorded { position, at: batch.at, by: batch.by.clone(), fact });
        }
    }
    (lab, at)
}

/// The tables of a sheet, in their order.
pub(crate) fn tables(sheet: &Sheet) -> Vec<&Table> {
    let of = |block: &'_ Block| matches!(block, Block::Table(_));
    let all = sheet.blocks.iter().filter(|block| of(block));
    all.filter_map(|block| if let Block::Table(table) = block { Some(table) } else { None })
        .collect()
}
