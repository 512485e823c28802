//! What every paper has beside its own matter: language, logo, mark with its square code.

use crate::square_code::{DRY, square_code};
use base64::Engine;
use base64::engine::general_purpose::STANDARD;
use serde_json::{Value, json};
use stonewear_report::{Logo, Mark, TypesetError};

/// The mark as the templates want it; nothing where there is none.
pub(crate) fn mark(mark: Option<&Mark>) -> Result<Value, TypesetError> {
    let Some(mark) = mark else { return Ok(Value::Null) };
    Ok(json!({
        "printed": mark.printed(),
        "in-file": mark.in_file(),
        // Only what can be issued has a number. A sheet for the house has no square code of its own,
        // so that nobody scans it in place of the one that leads to the entry.
        "numbered": !mark.number.is_empty(),
        "code": square_code("the mark", &mark.scanned, DRY)?,
        "alt": format!("Square code: {}", mark.scanned),
    }))
}

/// A logo with its bytes, and the format under which the templates open it.
pub(crate) struct Picture {
    /// The file.
    pub(crate) bytes: Vec<u8>,
    /// `png`, `jpg` or `svg`.
    format: &'static str,
}

/// Opens the logo.
///
/// # Errors
/// When it is no Base64, or of a kind that cannot be printed.
pub(crate) fn logo(logo: Option<&Logo>) -> Result<Option<Picture>, TypesetError> {
    let Some(logo) = logo else { return Ok(None) };
    let format = match logo.media_type.as_str() {
        "image/png" => "png",
        "image/jpeg" => "jpg",
        "image/svg+xml" => "svg",
        other => return Err(TypesetError::Layout(format!("a logo of the kind “{other}”"))),
    };
    let bytes = STANDARD
        .decode(&logo.base64)
        .map_err(|error| TypesetError::Layout(format!("the logo is no Base64: {error}")))?;
    Ok(Some(Picture { bytes, format }))
}

/// The format of the logo for a template; nothing where there is none.
pub(crate) fn format(picture: Option<&Picture>) -> Value {
    picture.map_or(Value::Null, |picture| picture.format.into())
}

/// A language tag that the typesetter takes: two or three letters. Anything else is English, the
/// language of the words that are on every paper.
pub(crate) fn language(tag: &str) -> &str {
    let primary = tag.split('-').next().unwrap_or_default();
    let fits = (2..=3).contains(&primary.len())
        && primary.bytes().all(|letter| letter.is_ascii_lowercase());
    if fits { primary } else { "en" }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn odd_language_tags_fall_back() {
        for (tag, taken) in
            [("de-CH", "de"), ("en", "en"), ("", "en"), ("EN", "en"), ("english", "en")]
        {
            assert_eq!(language(tag), taken);
        }
    }

    #[test]
    fn a_logo_that_is_none_is_refused() {
        let of = |media_type: &str, base64: &str| {
            let given = Logo { media_type: media_type.into(), base64: base64.into() };
            logo(Some(&given)).map(|found| found.map(|one| one.format))
        };
        assert_eq!(of("image/png", "iVBORw0K"), Ok(Some("png")));
        assert!(of("image/gif", "iVBORw0K").is_err());
        assert!(of("image/png", "not base64").is_err());
    }
}
