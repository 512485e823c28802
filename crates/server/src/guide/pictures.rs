//! The pictures of the guide. A browser test makes them: `UPDATE_PICTURES=1` in `e2e/`.

/// A picture by its name, as PNG.
pub(crate) fn picture(name: &str) -> Option<&'static [u8]> {
    PICTURES.iter().find(|(known, _)| *known == name).map(|(_, bytes)| *bytes)
}

/// All of them.
pub(super) const PICTURES: [(&str, &[u8]); 0] = [];
