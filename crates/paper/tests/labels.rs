//! Labels as a scanner sees them: the page as pixels, read by a decoder that knows nothing of how
//! it was drawn. `pdftoppm` and `pdftotext` of poppler-utils do the looking.

#![allow(clippy::unwrap_used, reason = "a helper of a test may fail as a test does")]

mod reading;

use reading::{text_of, through};
use stonewear_paper::{Press, TypesetError, Typesetter};
use stonewear_report::{Label, LabelSize, Labels};

/// Dots of the pictures that are looked at, per inch.
const DPI: usize = 200;

/// A page as grey dots.
struct Picture {
    width: usize,
    height: usize,
    dots: Vec<u8>,
}

fn picture(pdf: &[u8], page: usize) -> Picture {
    let (page, dpi) = (page.to_string(), DPI.to_string());
    let arguments = ["-gray", "-r", &dpi, "-f", &page, "-l", &page, "-"];
    let image = through("pdftoppm", &arguments, pdf);
    // A portable grey map: `P5`, width, height, 255, then one byte a dot.
    let mut parts = image.splitn(4, u8::is_ascii_whitespace);
    assert_eq!(parts.next(), Some(&b"P5"[..]));
    let number = |part: &[u8]| std::str::from_utf8(part).unwrap().parse::<usize>().unwrap();
    let (width, height) = (number(parts.next().unwrap()), number(parts.next().unwrap()));
    Picture { width, height, dots: parts.next().unwrap()[4..].to_vec() }
}

impl Picture {
    /// What a scanner reads that is held over this part: left, top, width, height in dots.
    fn scanned(&self, [left, top, width, height]: [usize; 4]) -> Vec<String> {
        let dot = |x: usize, y: usize| self.dots[(top + y) * self.width + left + x];
        let mut seen = rqrr::PreparedImage::prepare_from_greyscale(width, height, dot);
        seen.detect_grids().iter().map(|grid| grid.decode().unwrap().1).collect()
    }
}

/// What a scanner reads on a page that is one label.
fn scanned(pdf: &[u8], page: usize) -> Vec<String> {
    let picture = picture(pdf, page);
    picture.scanned([0, 0, picture.width, picture.height])
}

/// What a scanner reads on a sheet, label by label, each 70 mm × 37 mm.
fn scanned_one_by_one(pdf: &[u8], page: usize) -> Vec<String> {
    let picture = picture(pdf, page);
    let (width, height) = (picture.width / 3, DPI * 370 / 254);
    let places = (0..8).flat_map(|row| (0..3).map(move |column| (row, column)));
    places
        .flat_map(|(row, column)| picture.scanned([column * width, row * height, width, height]))
        .collect()
}

fn words(pdf: &[u8]) -> String {
    text_of(pdf).replace('\n', " ")
}

fn label(code: &str) -> Label {
    Label {
        code: code.into(),
        kind: "Sample".into(),
        name: "crushed dolerite 10/20".into(),
        lines: vec!["Brant & Ousel Surfacing".into(), "Hollowmere Quarry, face 3".into()],
        scanned: code.into(),
    }
}

fn sheet(size: LabelSize, labels: Vec<Label>) -> Labels {
    Labels {
        size,
        laboratory: "Alder Ford Materials Laboratory".into(),
        invented: true,
        language: "en".to_owned(),
        made_at: "2026-03-18T14:05:00Z".into(),
        labels,
    }
}

fn roll(width_mm: u32, height_mm: u32) -> LabelSize {
    LabelSize::Roll { width_mm, height_mm }
}

#[test]
fn a_scanner_reads_from_the_label_what_people_read() {
    let press = Press::new().unwrap();
    for size in [roll(62, 29), roll(100, 50), roll(40, 20), roll(90, 29)] {
        let codes = ["S26-031", "JAR-3", "S26-031-12", "MICRODEVAL-12345"];
        let labels = sheet(size, codes.map(label).to_vec());
        let pdf = press.labels(&labels).unwrap();
        let said = words(&pdf);
        for (index, code) in codes.into_iter().enumerate() {
            assert_eq!(scanned(&pdf, index + 1), [code], "{size:?}");
            assert!(said.contains(code), "{said}");
        }
        assert!(said.contains("crushed dolerite 10/20"), "{said}");
        assert_eq!(said.matches("INVENTED").count(), codes.len(), "each label says so");
    }
}

#[test]
fn an_address_is_read_too() {
    let address = "http://bench.example:7007/find?q=S26-031-2";
    let labels = vec![Label { scanned: address.into(), ..label("S26-031-2") }];
    let pdf = Press::new().unwrap().labels(&sheet(roll(62, 29), labels)).unwrap();
    assert_eq!(scanned(&pdf, 1), [address]);
}

#[test]
fn a_sheet_holds_twenty_four_labels_a_page() {
    let codes: Vec<String> = (1..=26).map(|number| format!("S26-{number:03}")).collect();
    let labels = codes.iter().map(|code| label(code)).collect();
    let pdf = Press::new().unwrap().labels(&sheet(LabelSize::A4Sheet, labels)).unwrap();
    assert_eq!(scanned_one_by_one(&pdf, 1), codes[..24]);
    assert_eq!(scanned_one_by_one(&pdf, 2), codes[24..]);
}

#[test]
fn a_real_laboratory_is_not_called_invented() {
    let labels = Labels { invented: false, ..sheet(roll(62, 29), vec![label("JAR-3")]) };
    let said = words(&Press::new().unwrap().labels(&labels).unwrap());
    assert!(!said.contains("INVENTED"), "{said}");
}

#[test]
fn no_text_on_a_label_stops_the_press() {
    let press = Press::new().unwrap();
    for text in ["", "#panic(\"x\") $", &"W".repeat(300), "石 👩‍🔬", "\0\n"] {
        let odd = Label {
            code: "JAR-3".into(),
            kind: text.into(),
            name: text.into(),
            lines: vec![text.into(); 5],
            scanned: "JAR-3".into(),
        };
        let pdf = press.labels(&sheet(roll(62, 29), vec![odd])).unwrap();
        assert_eq!(scanned(&pdf, 1), ["JAR-3"], "{text}");
    }
    let endless = Label { scanned: "W".repeat(5_000), ..label("JAR-3") };
    let refused = press.labels(&sheet(roll(62, 29), vec![endless])).unwrap_err();
    assert!(matches!(&refused, TypesetError::Layout(why) if why.contains("JAR-3")), "{refused}");
}

#[test]
fn the_same_labels_give_the_same_bytes() {
    let labels = sheet(roll(62, 29), vec![label("JAR-3"), label("JAR-4")]);
    let print = || Press::new().unwrap().labels(&labels).unwrap();
    assert_eq!(print(), print());
}
