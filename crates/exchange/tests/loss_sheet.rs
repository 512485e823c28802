//! Loss sheets, worked out by a spreadsheet program and compared with the laboratory: Gnumeric's
//! `ssconvert`, which `./test` installs. Values that the file brings are taken out before, so that
//! what is compared was worked out there.

#![allow(clippy::unwrap_used, reason = "a test that fails here says where")]

mod demo;

use demo::demo;
use jiff::Timestamp;
use std::collections::BTreeMap;
use std::io::{Cursor, Read, Write};
use std::process::Command;
use stonewear_exchange::out::{LossSheetError, loss_sheets};
use stonewear_lab::Lab;
use stonewear_lab::state::TestResult;
use stonewear_measure::{Decimal, Rule};
use zip::write::SimpleFileOptions;
use zip::{ZipArchive, ZipWriter};

/// The workbook without the values that its formulas were given.
fn without_values(book: &[u8]) -> Vec<u8> {
    let mut from = ZipArchive::new(Cursor::new(book)).unwrap();
    let mut into = ZipWriter::new(Cursor::new(Vec::new()));
    let mut taken_out = 0;
    for place in 0..from.len() {
        let mut file = from.by_index(place).unwrap();
        let name = file.name().unwrap().into_owned();
        let mut bytes = Vec::new();
        file.read_to_end(&mut bytes).unwrap();
        if name.starts_with("xl/worksheets/sheet") {
            let text = String::from_utf8(bytes).unwrap();
            let mut parts = text.split("</f><v>");
            let mut kept = parts.next().unwrap().to_owned();
            for part in parts {
                let (_, rest) = part.split_once("</v>").unwrap();
                kept += &format!("</f>{rest}");
                taken_out += 1;
            }
            bytes = kept.into_bytes();
        }
        into.start_file(name, SimpleFileOptions::default()).unwrap();
        into.write_all(&bytes).unwrap();
    }
    assert!(taken_out > 10, "no values of formulas were found");
    into.finish().unwrap().into_inner()
}

/// Every cell of every sheet as the spreadsheet program shows it.
fn recalculated(book: &[u8]) -> BTreeMap<String, Vec<Vec<String>>> {
    let folder = tempfile::tempdir().unwrap();
    std::fs::write(folder.path().join("book.xlsx"), without_values(book)).unwrap();
    let said = Command::new("ssconvert")
        .args(["--recalc", "--export-file-per-sheet", "--export-type=Gnumeric_stf:stf_csv"])
        .args(["book.xlsx", "%s.csv"])
        .current_dir(folder.path())
        .output()
        .expect("this test needs ssconvert (on Debian: apt-get install gnumeric)");
    assert!(said.status.success(), "{}", String::from_utf8_lossy(&said.stderr));
    let sheets = std::fs::read_dir(folder.path()).unwrap().filter_map(|entry| {
        let path = entry.unwrap().path();
        let text = std::fs::read_to_string(&path).ok()?;
        let name = path.file_stem()?.to_str()?.to_owned();
        let mut rows = csv::ReaderBuilder::new();
        let rows = rows.has_headers(false).flexible(true).from_reader(text.as_bytes());
        let cells = |row: csv::Result<csv::StringRecord>| {
            row.unwrap().iter().map(str::to_owned).collect::<Vec<_>>()
        };
        let sheet = rows.into_records().map(cells).collect();
        (path.extension()? == "csv").then_some((name, sheet))
    });
    sheets.collect()
}

/// What a sheet says after a word in its first column.
fn said<'a>(sheet: &'a [Vec<String>], starts: &str) -> &'a str {
    let row = sheet.iter().find(|row| row[0].starts_with(starts));
    &row.unwrap_or_else(|| panic!("no row {starts} in {sheet:?}"))[1]
}

/// The reported losses by result, as the spreadsheet program works them out, with all their digits.
fn reported(lab: &Lab, results: &[&TestResult]) -> BTreeMap<String, Decimal> {
    let book = loss_sheets(lab, Timestamp::UNIX_EPOCH, results).unwrap();
    let sheets = recalculated(&book);
    assert_eq!(sheets.len(), results.len());
    sheets
        .into_iter()
        .map(|(name, sheet)| (name, said(&sheet, "Reported loss").parse().unwrap()))
        .collect()
}

fn has_sheet(lab: &Lab, result: &TestResult) -> bool {
    match loss_sheets(lab, Timestamp::UNIX_EPOCH, &[result]) {
        Ok(_) => true,
        Err(LossSheetError::NoLoss(_) | LossSheetError::TooFine(_)) => false,
        Err(other) => panic!("{other}"),
    }
}

#[test]
fn a_spreadsheet_works_out_every_released_loss_of_the_demo_as_it_was_reported() {
    let (lab, _) = demo();
    let results: Vec<&TestResult> = lab
        .results
        .values()
        .filter(|result| result.release().is_some() && has_sheet(&lab, result))
        .collect();
    assert!(results.len() > 50, "only {} results", results.len());
    let sheets = reported(&lab, &results);
    for result in results {
        let loss = result.current().unwrap().value.loss_percent.unwrap();
        assert_eq!(sheets[result.code.as_str()], loss, "{}", result.code);
    }
}

/// Masses in tenths of a gram whose loss to 0.1 % is an exact half, and their neighbours.
fn halves() -> Vec<(i64, i64)> {
    let mut cases = Vec::new();
    for before in (14_920..=15_080).step_by(8) {
        for odd in [25, 125, 375, 625, 875] {
            // 1000 (A − B) / A = odd / 2
            if before * odd % 2000 == 0 {
                let lost = before * odd / 2000;
                cases.extend([-1, 0, 1].map(|off| (before, before - lost + off)));
            }
        }
    }
    cases
}

/// Puts masses into the place of those of a specimen.
fn weigh(lab: &mut Lab, code: &str, before: Decimal, after: Decimal) {
    let specimen = lab.specimens.get_mut(code).unwrap();
    specimen.before.last_mut().unwrap().value.mass_g = before;
    specimen.after.last_mut().unwrap().value.mass_g = after;
}

/// Gives the rounding of every method anew.
fn round_to(lab: &mut Lab, place: &str, rule: Rule) {
    for in_use in lab.methods.values_mut() {
        let versions = in_use.versions.iter_mut().map(|(_, method)| method);
        for method in versions.chain([&mut in_use.method]) {
            if let Some(loss) = &mut method.loss {
                loss.round_to_percent.value = place.parse().unwrap();
                loss.rounding_rule.value = rule;
            }
        }
    }
}

/// What the laboratory works out, and what the sheets say, for these results.
fn compare(lab: &Lab, codes: &[String], context: &str) -> usize {
    let results: Vec<&TestResult> = codes.iter().map(|code| &lab.results[code.as_str()]).collect();
    let sheets = reported(lab, &results);
    for result in &results {
        let loss = lab.loss_of(result).unwrap();
        assert_eq!(
            sheets[result.code.as_str()],
            loss.percent,
            "{context}: {} of {:?}",
            loss.exact_percent,
            loss.specimens
        );
    }
    results.len()
}

#[test]
fn exact_halves_and_their_neighbours_are_rounded_as_the_method_says() {
    let (demo, _) = demo();
    // Results of one specimen, to carry the masses.
    let carriers: Vec<(String, String)> = demo
        .results
        .values()
        .filter(|result| result.specimens.len() == 1 && has_sheet(&demo, result))
        .map(|result| (result.code.to_string(), result.specimens[0].to_string()))
        .collect();
    let cases = halves();
    assert!(cases.len() >= 60, "{}", cases.len());
    let mut compared = 0;
    for (rule, place) in [
        (Rule::HalfEven, "0.1"),
        (Rule::HalfUp, "0.1"),
        (Rule::HalfEven, "0.05"),
        (Rule::HalfEven, "1"),
        (Rule::HalfUp, "0.5"),
    ] {
        for part in cases.chunks(carriers.len()) {
            let mut lab = demo.clone();
            round_to(&mut lab, place, rule);
            for ((before, after), (_, specimen)) in part.iter().zip(&carriers) {
                weigh(&mut lab, specimen, Decimal::new(*before, 1), Decimal::new(*after, 1));
            }
            let codes: Vec<String> =
                carriers.iter().take(part.len()).map(|(result, _)| result.clone()).collect();
            compared += compare(&lab, &codes, &format!("{rule} {place}"));
        }
    }
    assert_eq!(compared, 5 * cases.len());
}

/// 98/3 and 1/3 sum to 33: a mean that is a half although neither part ends.
#[test]
fn the_mean_of_two_and_of_three_specimens_is_rounded_once() {
    let (mut lab, _) = demo();
    let codes: Vec<String> = lab
        .results
        .values()
        .filter(|result| has_sheet(&lab, result))
        .map(|result| result.code.to_string())
        .take(6)
        .collect();
    round_to(&mut lab, "1", Rule::HalfEven);
    let specimens: Vec<_> =
        codes.iter().flat_map(|code| lab.results[code.as_str()].specimens.clone()).collect();
    let sets: [&[(&str, &str)]; 6] = [
        &[("300.0", "202.0"), ("300.0", "299.0")],
        &[("500.0", "417.5"), ("500.0", "417.5")],
        &[("500.1", "417.5"), ("499.9", "417.4")],
        &[("500.0", "427.5"), ("500.0", "422.5"), ("500.0", "417.5")],
        &[("300.0", "299.0"), ("600.0", "598.0"), ("900.0", "760.5")],
        &[("499.7", "430.1"), ("500.3", "429.9"), ("501.1", "433.3")],
    ];
    let mut left = specimens.into_iter();
    let mut used = Vec::new();
    for (code, set) in codes.iter().zip(sets) {
        let mine: Vec<_> = left.by_ref().take(set.len()).collect();
        if mine.len() < set.len() {
            break;
        }
        for (specimen, (before, after)) in mine.iter().zip(set) {
            weigh(&mut lab, specimen.as_str(), before.parse().unwrap(), after.parse().unwrap());
        }
        lab.results.get_mut(code.as_str()).unwrap().specimens = mine;
        used.push(code.clone());
    }
    assert!(used.len() >= 3, "{used:?}");
    compare(&lab, &used, "mean");
}

#[test]
fn what_cannot_be_exact_is_refused_in_words() {
    let (mut lab, _) = demo();
    let code = lab.results.values().find(|one| has_sheet(&lab, one)).unwrap().code.clone();
    let specimen = lab.results[&code].specimens[0].to_string();
    weigh(&mut lab, &specimen, "1500.123456789".parse().unwrap(), "1278.1".parse().unwrap());
    let error = loss_sheets(&lab, Timestamp::UNIX_EPOCH, &[&lab.results[&code]]).unwrap_err();
    assert!(error.to_string().contains("too many decimals"), "{error}");
    let other =
        lab.results.values().find(|one| one.current().unwrap().value.loss_percent.is_none());
    let error = loss_sheets(&lab, Timestamp::UNIX_EPOCH, &[other.unwrap()]).unwrap_err();
    assert!(error.to_string().contains("has no loss that follows from the masses"), "{error}");
}
