//! A sheet as its template wants it.

use crate::square_code::{ROUGH, square_code};
use crate::{head, strip};
use serde_json::{Value, json};
use stonewear_report::{Block, Cell, Sheet, Table, TypesetError};

/// The template that lays it out.
pub(crate) const TEMPLATE: &str = "sheet.typ";

/// What the sheet says. A table whose rows do not fit its head is refused here, with its name, as
/// the typesetter would only run into it.
pub(crate) fn data(sheet: &Sheet) -> Result<Value, TypesetError> {
    for block in &sheet.blocks {
        match block {
            Block::Table(table) => fits(table)?,
            Block::Picture(picture) if picture.words.trim().is_empty() => {
                let message = "a drawing has no words for those who do not see it";
                return Err(TypesetError::Layout(message.to_owned()));
            }
            _ => {}
        }
    }
    let value = serde_json::to_value(sheet);
    let mut value = value.map_err(|error| TypesetError::Layout(error.to_string()))?;
    if let Some(Value::Array(blocks)) = value.get_mut("blocks") {
        for (block, said) in blocks.iter_mut().zip(&sheet.blocks) {
            prepare(block, said)?;
        }
    }
    Ok(json!({
        "sheet": value,
        "language": head::language(&sheet.language),
        "mark": head::mark(sheet.mark.as_ref())?,
        "made": sheet.made_at.replace('T', " ").replace('Z', " UTC"),
    }))
}

/// Works out what a template would only draw: square codes, and where values lie on their strips.
fn prepare(block: &mut Value, said: &Block) -> Result<(), TypesetError> {
    match said {
        Block::SquareCode { scanned, words } => {
            block["code"] = square_code(words, scanned, ROUGH)?;
        }
        Block::Table(table) => {
            for (row, cells) in table.rows.iter().enumerate() {
                for (column, cell) in cells.iter().enumerate() {
                    if let Cell::Strip(strip) = cell {
                        let drawing = serde_json::to_value(strip::small(strip))
                            .map_err(|error| TypesetError::Layout(error.to_string()))?;
                        block["rows"][row][column]["drawing"] = drawing;
                    }
                }
            }
        }
        _ => {}
    }
    Ok(())
}

fn fits(table: &Table) -> Result<(), TypesetError> {
    let wide = table.columns.len();
    for (number, row) in table.rows.iter().enumerate() {
        if row.len() != wide || wide == 0 {
            return Err(TypesetError::Layout(format!(
                "row {} of the table “{}” has {} cells, its head has {wide}",
                number + 1,
                table.caption,
                row.len()
            )));
        }
    }
    Ok(())
}
