//! Labels as their template wants them, with the square code of each.

use qrcode::{Color, EcLevel, QrCode};
use serde_json::{Value, json};
use stonewear_report::{Label, Labels, TypesetError};

/// The template that lays them out.
pub(crate) const TEMPLATE: &str = "labels.typ";

/// A quarter of the code may be scratched, wet or dirty (level Q of ISO/IEC 18004).
const TOLERATES: EcLevel = EcLevel::Q;

/// What the labels say, and the dark runs of their codes.
pub(crate) fn data(sheet: &Labels) -> Result<Value, TypesetError> {
    let to_json = |error: serde_json::Error| TypesetError::Layout(error.to_string());
    let labels = sheet
        .labels
        .iter()
        .map(|label| {
            Ok(json!({
                "label": serde_json::to_value(label).map_err(to_json)?,
                "code": square_code(label)?,
                "alt": format!("Square code of {}", label.code),
            }))
        })
        .collect::<Result<Vec<Value>, TypesetError>>()?;
    let codes: Vec<&str> = sheet.labels.iter().map(|label| label.code.as_str()).collect();
    Ok(json!({
        "title": format!("Labels: {}", codes.join(", ")),
        "sheet": serde_json::to_value(sheet).map_err(to_json)?,
        "labels": labels,
    }))
}

/// The modules on a side, and each run of dark modules as row, first column, column after the last.
fn square_code(label: &Label) -> Result<Value, TypesetError> {
    let code = QrCode::with_error_correction_level(label.scanned.as_bytes(), TOLERATES)
        .map_err(|error| TypesetError::Layout(format!("the code of {}: {error}", label.code)))?;
    let width = code.width();
    let colors = code.to_colors();
    let mut runs: Vec<[usize; 3]> = Vec::new();
    for (row, modules) in colors.chunks(width).enumerate() {
        for (column, color) in modules.iter().enumerate() {
            match runs.last_mut() {
                _ if *color == Color::Light => {}
                Some([of, _, end]) if (*of, *end) == (row, column) => *end += 1,
                _ => runs.push([row, column, column + 1]),
            }
        }
    }
    Ok(json!({ "width": width, "runs": runs }))
}
