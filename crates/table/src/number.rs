//! One cell as a number.

use super::dialect::DecimalSign;

/// Reads a number.
///
/// # Errors
/// Says what is wrong and what would be right, without the place.
pub(super) fn read(cell: &str, decimal: DecimalSign) -> Result<f64, String> {
    if cell.is_empty() {
        return Err("the cell is empty where a number is needed".to_string());
    }
    // Typographic minus signs come along when tables are copied from documents.
    let mut text = cell.replace('\u{2212}', "-");
    let expected = match decimal {
        DecimalSign::Point => "such as 12.3",
        DecimalSign::Comma => {
            if text.contains('.') {
                let what = format!("{cell:?} has a decimal point; this file uses a decimal comma");
                return Err(what);
            }
            text = text.replacen(',', ".", 1);
            "such as 12,3"
        }
    };
    match text.parse::<f64>() {
        Ok(value) if value.is_finite() => Ok(value),
        Ok(_) if text.chars().any(|c| c.is_ascii_digit()) => {
            Err(format!("{cell} is too large for double precision"))
        }
        Ok(_) => Err(format!("{cell} is not a value that can be computed with; leave the row out")),
        Err(_) => Err(format!("{cell:?} is not a number {expected}")),
    }
}
