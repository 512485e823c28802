//! Files attached to observations: what is kept, and how its kind is told from its content.
//!
//! A fact names a file by the SHA-256 of its bytes; the bytes lie beside the journal. So the
//! journal stays small, and still nobody can change a picture without it being found.

/// The largest file that is kept, in bytes: 20 MB, a generous photo of a tablet or a scanned
/// certificate.
pub const LARGEST_FILE: u64 = 20_000_000;

/// The longest name of a file, in characters.
pub const LONGEST_NAME: usize = 120;

/// The kinds of files that are kept: what a browser shows or a spreadsheet reads without running
/// anything that is in it.
pub const MEDIA_TYPES: [&str; 6] =
    ["image/jpeg", "image/png", "image/webp", "application/pdf", "text/plain", "text/csv"];

/// The kinds in words, as page and command line name them.
pub const KINDS_IN_WORDS: &str =
    "a picture (JPEG, PNG or WebP), a PDF, or text in UTF-8 with a name that ends in .txt or .csv";

/// The media type of a file by its first bytes, and for text by its name; `None` for what is not
/// kept. What a browser or a name claims is not believed: a page named `photo.jpg` is no picture.
pub fn media_type_of(name: &str, bytes: &[u8]) -> Option<&'static str> {
    let is_webp = bytes.starts_with(b"RIFF") && bytes.get(8..12) == Some(b"WEBP");
    if bytes.starts_with(&[0xFF, 0xD8, 0xFF]) {
        Some("image/jpeg")
    } else if bytes.starts_with(b"\x89PNG\r\n\x1A\n") {
        Some("image/png")
    } else if is_webp {
        Some("image/webp")
    } else if bytes.starts_with(b"%PDF-") {
        Some("application/pdf")
    } else if is_text(bytes) {
        let name = name.trim().to_lowercase();
        let ends = |ending: &str| name.ends_with(ending);
        if ends(".csv") {
            Some("text/csv")
        } else if ends(".txt") {
            Some("text/plain")
        } else {
            None
        }
    } else {
        None
    }
}

fn is_text(bytes: &[u8]) -> bool {
    let is_strange = |letter: char| letter.is_control() && !matches!(letter, '\n' | '\r' | '\t');
    std::str::from_utf8(bytes).is_ok_and(|text| !text.contains(is_strange))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_content_says_what_a_file_is_and_only_text_asks_its_name() {
        let table: [(&str, &[u8], Option<&str>); 12] = [
            ("lid.jpg", b"\xFF\xD8\xFF\xE0\x00\x10JFIF", Some("image/jpeg")),
            ("lid.png", b"\x89PNG\r\n\x1A\n\x00", Some("image/png")),
            ("lid.webp", b"RIFF\x10\x00\x00\x00WEBPVP8 ", Some("image/webp")),
            ("sound.webp", b"RIFF\x10\x00\x00\x00WAVEfmt ", None),
            ("certificate", b"%PDF-1.7\n", Some("application/pdf")),
            ("photo.txt", b"\xFF\xD8\xFF\xE0", Some("image/jpeg")),
            ("photo.jpg", b"<html><script>alert(1)</script>", None),
            ("page.svg", b"<svg xmlns=''/>", None),
            ("log.TXT", "20 \u{b0}C\r\n".as_bytes(), Some("text/plain")),
            ("masses.csv", b"a;b\n1;2\n", Some("text/csv")),
            ("old.csv", b"20 \xB0C", None),
            ("program.txt", b"\x7FELF\x02\x01", None),
        ];
        for (name, bytes, kind) in table {
            assert_eq!(media_type_of(name, bytes), kind, "{name}");
            assert!(kind.is_none_or(|kind| MEDIA_TYPES.contains(&kind)));
        }
    }
}
