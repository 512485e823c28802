//! The typeface of the papers, built into the program.
//!
//! IBM Plex Sans: a plain, open grotesque whose figures are all of one width, so that columns of
//! masses stand straight, with Latin, Greek and Cyrillic letters. SIL Open Font Licence 1.1, see
//! `assets/fonts/OFL.txt`.

use stonewear_report::TypesetError;
use typst::foundations::Bytes;
use typst::text::{Font, FontBook, FontInfo};

/// The name by which the templates ask for them.
const FAMILY: &str = "IBM Plex Sans";

/// The three cuts that the templates use.
const FILES: [(&str, &[u8]); 3] = [
    ("Regular", include_bytes!("../../../assets/fonts/IBMPlexSans-Regular.ttf")),
    ("Italic", include_bytes!("../../../assets/fonts/IBMPlexSans-Italic.ttf")),
    ("SemiBold", include_bytes!("../../../assets/fonts/IBMPlexSans-SemiBold.ttf")),
];

/// Opens the built-in fonts.
///
/// # Errors
/// When a font file is damaged, with its name.
pub(crate) fn built_in() -> Result<Vec<Font>, TypesetError> {
    FILES
        .into_iter()
        .map(|(cut, bytes)| {
            Font::new(Bytes::new(bytes), 0).ok_or_else(|| {
                TypesetError::Incomplete(format!("the font IBM Plex Sans {cut} cannot be read"))
            })
        })
        .collect()
}

/// The fonts as one family.
///
/// The semi-bold file calls itself a family of its own, a habit from systems that knew four cuts
/// at most; under that name it would never be found.
pub(crate) fn book(fonts: &[Font]) -> FontBook {
    FontBook::from_infos(
        fonts.iter().map(|font| FontInfo { family: FAMILY.into(), ..font.info().clone() }),
    )
}

/// True when every cut can draw the character, so that no weight of a text has holes.
pub(crate) fn all_draw(fonts: &[Font], character: char) -> bool {
    fonts.iter().all(|font| font.info().coverage.contains(character.into()))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_letters_of_the_trade_can_be_drawn() {
        let fonts = built_in().unwrap();
        for character in "AéßłŠżıΔσЖ0123456789−±≤≥×·…²°µ√≈–“”€#*_$<@\\".chars()
        {
            assert!(all_draw(&fonts, character), "{character}");
        }
        assert!(!all_draw(&fonts, '石'));
    }

    #[test]
    fn the_cuts_are_one_family() {
        let book = book(&built_in().unwrap());
        assert_eq!(book.select_family("ibm plex sans").count(), FILES.len());
    }
}
