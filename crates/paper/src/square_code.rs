//! Square codes (ISO/IEC 18004) as one outline of all dark modules, which a template fills.

use qrcode::{Color, EcLevel, QrCode};
use serde_json::{Value, json};
use stonewear_report::TypesetError;

/// For labels: a quarter of the code may be scratched, wet or dirty (level Q).
pub(crate) const ROUGH: EcLevel = EcLevel::Q;
/// For papers, which lie dry (level M): the modules are larger for it.
pub(crate) const DRY: EcLevel = EcLevel::M;

/// The modules on a side, and the outline of the dark ones as the data of an SVG path, a unit a
/// module. One path is set a hundred times faster than a rectangle for each run of modules, and no
/// viewer shows a seam within it. `about` names the code where it has no room.
pub(crate) fn square_code(
    about: &str,
    scanned: &str,
    tolerates: EcLevel,
) -> Result<Value, TypesetError> {
    let code = QrCode::with_error_correction_level(scanned.as_bytes(), tolerates)
        .map_err(|error| TypesetError::Layout(format!("the square code of {about}: {error}")))?;
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
    let outline: String = runs
        .iter()
        .map(|[row, from, to]| format!("M{from} {row}h{long}v1h-{long}z", long = to - from))
        .collect();
    Ok(json!({ "width": width, "outline": outline }))
}
