//! Labels as their template wants them, with the square code of each.

use crate::head;
use crate::square_code::{ROUGH, square_code};
use serde_json::{Value, json};
use stonewear_report::{Labels, TypesetError};

/// The template that lays them out.
pub(crate) const TEMPLATE: &str = "labels.typ";

/// What the labels say, and the dark runs of their codes.
pub(crate) fn data(sheet: &Labels) -> Result<Value, TypesetError> {
    let to_json = |error: serde_json::Error| TypesetError::Layout(error.to_string());
    let labels = sheet
        .labels
        .iter()
        .map(|label| {
            Ok(json!({
                "label": serde_json::to_value(label).map_err(to_json)?,
                "code": square_code(&label.code, &label.scanned, ROUGH)?,
                "alt": format!("Square code of {}", label.code),
            }))
        })
        .collect::<Result<Vec<Value>, TypesetError>>()?;
    let codes: Vec<&str> = sheet.labels.iter().map(|label| label.code.as_str()).collect();
    Ok(json!({
        "language": head::language(&sheet.language),
        "title": format!("Labels: {}", codes.join(", ")),
        "sheet": serde_json::to_value(sheet).map_err(to_json)?,
        "labels": labels,
    }))
}
