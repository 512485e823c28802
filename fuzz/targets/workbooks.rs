//! Spreadsheets: text, a whole file as it is, or the parts of a workbook around hostile sheets, with
//! everything that an import asks of them.
#![no_main]

use libfuzzer_sys::fuzz_target;
use std::io::{Cursor, Write};
use stonewear_exchange::taken::{Plan, SourceFile, bad_rows, guess_what, read, request};
use stonewear_lab::fact::ImportKind;
use zip::write::SimpleFileOptions;

const TYPES: &str = r#"<?xml version="1.0"?><Types xmlns="http://schemas.openxmlformats.org/package/2006/content-types"><Default Extension="rels" ContentType="application/vnd.openxmlformats-package.relationships+xml"/><Override PartName="/xl/workbook.xml" ContentType="application/vnd.openxmlformats-officedocument.spreadsheetml.sheet.main+xml"/></Types>"#;
const RELATIONS: &str = r#"<?xml version="1.0"?><Relationships xmlns="http://schemas.openxmlformats.org/package/2006/relationships"><Relationship Id="rId1" Type="http://schemas.openxmlformats.org/officeDocument/2006/relationships/officeDocument" Target="xl/workbook.xml"/></Relationships>"#;
const BOOK: &str = r#"<?xml version="1.0"?><workbook xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main" xmlns:r="http://schemas.openxmlformats.org/officeDocument/2006/relationships"><sheets><sheet name="Tests" sheetId="1" r:id="rId1"/></sheets></workbook>"#;
const PARTS: &str = r#"<?xml version="1.0"?><Relationships xmlns="http://schemas.openxmlformats.org/package/2006/relationships"><Relationship Id="rId1" Type="http://schemas.openxmlformats.org/officeDocument/2006/relationships/worksheet" Target="worksheets/sheet1.xml"/><Relationship Id="rId2" Type="http://schemas.openxmlformats.org/officeDocument/2006/relationships/sharedStrings" Target="sharedStrings.xml"/><Relationship Id="rId3" Type="http://schemas.openxmlformats.org/officeDocument/2006/relationships/styles" Target="styles.xml"/></Relationships>"#;

/// A workbook around parts that may be anything; they are split at a NUL.
fn workbook(parts: &[u8]) -> Vec<u8> {
    let mut parts = parts.splitn(4, |byte| *byte == 0);
    let mut next = || parts.next().unwrap_or_default();
    let mut file = zip::ZipWriter::new(Cursor::new(Vec::new()));
    let stored = SimpleFileOptions::default().compression_method(zip::CompressionMethod::Stored);
    for (name, bytes) in [
        ("[Content_Types].xml", TYPES.as_bytes()),
        ("_rels/.rels", RELATIONS.as_bytes()),
        ("xl/_rels/workbook.xml.rels", PARTS.as_bytes()),
        ("xl/worksheets/sheet1.xml", next()),
        ("xl/sharedStrings.xml", next()),
        ("xl/styles.xml", next()),
        (
            "xl/workbook.xml",
            match next() {
                [] => BOOK.as_bytes(),
                own => own,
            },
        ),
    ] {
        file.start_file(name, stored).expect("a name of ours");
        file.write_all(bytes).expect("memory takes it");
    }
    file.finish().expect("memory takes it").into_inner()
}

fuzz_target!(|data: &[u8]| {
    let packed;
    let bytes = match data.split_first() {
        Some((b'W', parts)) => {
            packed = workbook(parts);
            &packed
        }
        _ => data,
    };
    let Ok(book) = read(bytes) else { return };
    let guessed = book.sheet("").map_or(ImportKind::Tests, guess_what);
    for what in ImportKind::ALL.into_iter().filter(|what| *what == guessed || data.len() < 200) {
        let plan = Plan::new(what);
        let file = SourceFile { name: "hostile", sha256: "", bytes: bytes.len() };
        let _ = request(&file, &book, &plan);
        let _ = bad_rows(&book, &plan, &[]);
    }
});
