//! A hundred thousand rows: how long they take and how much memory, from the bytes of the file to
//! facts on the disk. Run by hand: `cargo test -p stonewear-exchange --test large -- --ignored
//! --nocapture --test-threads 1`, each test by itself for the memory to be its own.

#![allow(
    clippy::unwrap_used,
    clippy::print_stdout,
    reason = "it is run by hand, and says what it found"
)]

use std::time::Instant;
use stonewear_exchange::taken::{self, Plan, SourceFile};
use stonewear_lab::fact::ImportKind;
use stonewear_lab::request::FoundLaboratory;
use stonewear_runtime::OpenLaboratory;

const ROWS: usize = 100_000;

fn row(number: usize) -> [String; 8] {
    let day = 1 + number % 28;
    let month = 1 + number / 28 % 12;
    let loss = 100 + number * 7 % 90;
    [
        format!("{day:02}.{month:02}.{}", 2005 + number / 5000),
        format!("S-{number}"),
        format!("Invented quarry {}", number % 40),
        "crushed stone".to_owned(),
        "D6928".to_owned(),
        "1500.0".to_owned(),
        format!("{}.{}", loss / 10, loss % 10),
        "CD".to_owned(),
    ]
}

const HEADS: [&str; 8] =
    ["Date", "Sample", "Quarry", "Material", "Method", "Mass before, g", "Loss, %", "Tech"];

/// The most memory that this process has had, MiB, as Linux counts it.
fn peak_mib() -> u64 {
    let status = std::fs::read_to_string("/proc/self/status").unwrap_or_default();
    let line = status.lines().find_map(|line| line.strip_prefix("VmHWM:")).unwrap_or_default();
    line.split_whitespace().next().and_then(|kib| kib.parse::<u64>().ok()).unwrap_or_default()
        / 1024
}

fn imported(bytes: &[u8]) {
    let before = peak_mib();
    let folder = tempfile::tempdir().unwrap();
    let mut laboratory = OpenLaboratory::open(folder.path()).unwrap();
    let founding = FoundLaboratory {
        name: "Invented laboratory".into(),
        address: "1 Invented Street".into(),
        founder_code: "AB".into(),
        founder_name: "Ada Brook".into(),
        invented: "yes".into(),
        ..FoundLaboratory::default()
    };
    laboratory.submit("", None, &founding.into()).unwrap();
    let begun = Instant::now();
    let book = taken::read(bytes).unwrap();
    let read = begun.elapsed();
    let file = SourceFile { name: "old.csv", sha256: "", bytes: bytes.len() };
    let request = taken::request(&file, &book, &Plan::new(ImportKind::Tests)).unwrap();
    drop(book);
    let receipt = laboratory.import_file("AB", None, request, bytes).unwrap();
    let all = begun.elapsed();
    let tests: usize = laboratory.lab().file_imports.values().map(|one| one.tests.len()).sum();
    assert_eq!(tests, ROWS);
    println!(
        "{ROWS} rows, {} bytes: read in {read:.2?}, on the disk as {} facts after {all:.2?}; at most {} MiB, {before} MiB before",
        bytes.len(),
        receipt.facts.len(),
        peak_mib()
    );
    assert!(all.as_secs() < 10, "{all:?}");
    assert!(peak_mib() < 300 + before, "{} MiB", peak_mib());
}

#[test]
#[ignore = "measures; run by hand"]
fn a_hundred_thousand_rows_of_csv() {
    let mut text = HEADS.map(|head| format!("\"{head}\"")).join(",") + "\n";
    for number in 0..ROWS {
        text += &(row(number).join(",") + "\n");
    }
    imported(text.as_bytes());
}

#[test]
#[ignore = "measures; run by hand"]
fn a_hundred_thousand_rows_of_a_workbook() {
    let mut book = rust_xlsxwriter::Workbook::new();
    let sheet = book.add_worksheet();
    for (column, head) in (0..).zip(HEADS) {
        sheet.write(0, column, head).unwrap();
    }
    for number in 0..ROWS {
        for (column, cell) in (0..).zip(row(number)) {
            let line = u32::try_from(number + 1).unwrap();
            match cell.parse::<f64>() {
                Ok(value) => sheet.write(line, column, value).unwrap(),
                Err(_) => sheet.write(line, column, cell).unwrap(),
            };
        }
    }
    let bytes = book.save_to_buffer().unwrap();
    drop(book);
    imported(&bytes);
}
