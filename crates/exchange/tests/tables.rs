//! The tables of the demo laboratory as XLSX, CSV and JSON, read by programs that are not ours.

#![allow(clippy::unwrap_used, reason = "a test that fails here says where")]

mod demo;

use calamine::{Data, Reader, Xlsx};
use demo::demo;
use std::collections::BTreeSet;
use std::io::{Cursor, Write};
use std::path::Path;
use std::process::{Command, Stdio};
use stonewear_exchange::out::{What, csv, dictionary, document, schema, subject, workbook};
use stonewear_lab::fact::{PastSieve, PastSieving, PastSievingsImported};
use stonewear_lab::{Fact, Lab, Recorded};
use stonewear_report::JournalAnchor;
use stonewear_sieving::shown_percent;
use stonewear_table::Table;

fn anchor(lab: &Lab) -> JournalAnchor {
    JournalAnchor { position: lab.position, head: "0123456789abcdef".repeat(4) }
}

fn book(lab: &Lab, as_of: jiff::Timestamp) -> Vec<u8> {
    let subjects = What::ALL.map(|what| subject(lab, what));
    workbook(lab, Some(&anchor(lab)), as_of, &subjects).unwrap()
}

#[test]
fn a_workbook_has_numbers_days_and_texts_of_their_kind() {
    let (lab, last) = demo();
    let bytes = book(&lab, last);
    let mut read: Xlsx<_> = calamine::open_workbook_from_rs(Cursor::new(&bytes)).unwrap();
    let names: Vec<String> = What::ALL.map(|what| what.name().to_owned()).into();
    let wanted: Vec<String> =
        [vec!["about".to_owned()], names, vec!["columns".to_owned()]].concat();
    assert_eq!(read.sheet_names(), wanted);
    for what in What::ALL {
        let table = subject(&lab, what);
        let sheet = read.worksheet_range(what.name()).unwrap();
        assert_eq!(sheet.height(), table.rows.len() + 1, "{what}");
        for (row, cells) in table.rows.iter().enumerate() {
            for (place, cell) in cells.iter().enumerate() {
                let found = sheet.get((row + 1, place)).unwrap_or(&Data::Empty);
                let column = table.columns[place].name;
                use stonewear_exchange::out::Value;
                let same = match (cell, found) {
                    (Value::Empty, Data::Empty) => true,
                    (Value::Text(text), Data::String(found)) => text == found,
                    (Value::Number(number), Data::Float(found)) => {
                        number.to_string().parse::<f64>().unwrap() == *found
                    }
                    (Value::Whole(number), Data::Float(found)) => *number as f64 == *found,
                    (Value::YesNo(yes), Data::String(found)) => (found == "yes") == *yes,
                    (Value::Day(day), Data::DateTime(found)) => {
                        let (year, month, date, ..) = found.to_ymd_hms_milli();
                        day.to_string() == format!("{year:04}-{month:02}-{date:02}")
                    }
                    (Value::Moment(at), Data::DateTime(found)) => {
                        let (year, month, day, hour, minute, ..) = found.to_ymd_hms_milli();
                        lab.local(*at).strftime("%Y-%m-%d %H:%M").to_string()
                            == format!("{year:04}-{month:02}-{day:02} {hour:02}:{minute:02}")
                    }
                    _ => false,
                };
                assert!(same, "{what}, row {row}, {column}: {cell:?} became {found:?}");
            }
        }
    }
    let results = read.worksheet_range("results").unwrap();
    let heads: Vec<String> =
        results.rows().next().unwrap().iter().map(ToString::to_string).collect();
    assert!(heads.contains(&"Loss, %".to_owned()), "{heads:?}");
}

#[test]
fn the_same_facts_give_the_same_workbook() {
    let (lab, last) = demo();
    assert!(book(&lab, last) == book(&lab, last), "two workbooks of one laboratory differ");
}

/// An invented sieve analysis of the past, as a file of six rows brings it.
fn take_over_a_sieve_analysis(lab: &mut Lab, at: jiff::Timestamp) {
    let sieve = |opening: Option<&str>, passing: Option<&str>| PastSieve {
        opening_mm: opening.map(|mm| mm.parse().unwrap()),
        retained_g: passing.is_none().then(|| "12.4".parse().unwrap()),
        passing_percent: passing.map(|share| share.parse().unwrap()),
    };
    let openings = ["19.0", "12.5", "9.5", "4.75", "2.36"];
    let shares = ["100", "81.5", "52.0", "7.3", "1.1"];
    let sieves = openings.into_iter().zip(shares).map(|(mm, share)| sieve(Some(mm), Some(share)));
    let analysis = PastSieving {
        row: 2,
        on: "2023-05-04".parse().unwrap(),
        sample: "23-041".to_owned(),
        sieves: sieves.chain([sieve(None, None)]).collect(),
    };
    let import = lab.file_imports.keys().next().unwrap().clone();
    let fact =
        Fact::PastSievingsImported(PastSievingsImported { import, analyses: vec![analysis] });
    lab.apply(&Recorded { position: lab.position + 1, at, by: "IK".into(), fact });
}

#[test]
fn csv_is_tidy_and_its_columns_are_in_the_dictionary() {
    let (mut lab, last) = demo();
    take_over_a_sieve_analysis(&mut lab, last);
    let explained = Table::read(dictionary().as_bytes()).unwrap();
    let pairs: BTreeSet<(String, String)> = explained
        .texts("table")
        .unwrap()
        .into_iter()
        .zip(explained.texts("column").unwrap())
        .collect();
    assert!(explained.texts("meaning").unwrap().iter().all(|words| words.ends_with('.')));
    for what in What::ALL {
        let table = subject(&lab, what);
        assert!(table.rows.len() > 5, "{what} has {} rows", table.rows.len());
        let read = Table::read(csv(&table).as_bytes()).unwrap();
        assert_eq!(read.len(), table.rows.len(), "{what}");
        for column in table.columns {
            assert!(
                pairs.contains(&(what.name().to_owned(), column.name.to_owned())),
                "{what}.{} is not explained",
                column.name
            );
        }
        let first = table.columns[0].name;
        let cells: Vec<String> = table.rows.iter().map(|row| row[0].as_text()).collect();
        assert_eq!(read.texts(first).unwrap(), cells, "{what}");
    }
    let past = csv(&subject(&lab, What::PastSieveAnalyses));
    let has = |end: &str| past.lines().any(|line| line.ends_with(end));
    assert!(has(",2,2023-05-04,23-041,12.5,,81.5"), "{past}");
    assert!(has(",2,2023-05-04,23-041,,12.4,"), "the pan has no opening: {past}");
    // What was sieved here: the share that passes is of the whole, as the page of the sample shows it.
    let own = Table::read(csv(&subject(&lab, What::SieveAnalyses)).as_bytes()).unwrap();
    let sample = lab.samples.values().find(|sample| sample.sieving().is_some()).unwrap();
    let analysis = sample.sieving().unwrap().value.analysis().unwrap();
    let finest = shown_percent(&analysis.finest_percent());
    let rows = own.texts("sample").unwrap().into_iter().zip(own.texts("passing_percent").unwrap());
    let passing: Vec<String> =
        rows.filter(|(code, _)| *code == sample.code.as_str()).map(|(_, share)| share).collect();
    assert_eq!(
        passing[passing.len() - 2..],
        [finest, String::new()],
        "the last sieve, then the pan"
    );
    let results = Table::read(csv(&subject(&lab, What::Results)).as_bytes()).unwrap();
    let losses = results.texts("loss_percent").unwrap();
    let reported: Vec<String> = lab
        .results
        .values()
        .map(|result| {
            let loss = result.current().unwrap().value.loss_percent;
            loss.map(|loss| loss.to_string()).unwrap_or_default()
        })
        .collect();
    assert_eq!(losses, reported);
}

/// A Python that has the library `jsonschema`.
fn python() -> &'static str {
    let has = |python: &&str| {
        let asked = Command::new(python).args(["-c", "import jsonschema"]).output();
        asked.is_ok_and(|output| output.status.success())
    };
    ["python3", "/usr/bin/python3"].into_iter().find(has).expect(
        "this test needs Python 3 with jsonschema (on Debian: apt-get install python3-jsonschema)",
    )
}

/// What an independent validator says of a document by our schema: nothing where it is right.
fn faults(document: &serde_json::Value) -> String {
    const SCRIPT: &str = "
import json, sys
from jsonschema import Draft202012Validator
schema, document = json.load(sys.stdin)
Draft202012Validator.check_schema(schema)
for fault in Draft202012Validator(schema).iter_errors(document):
    print('/'.join(map(str, fault.absolute_path)), fault.message)
";
    let mut child = Command::new(python())
        .args(["-c", SCRIPT])
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    let both = serde_json::json!([schema(), document]).to_string();
    child.stdin.take().unwrap().write_all(both.as_bytes()).unwrap();
    let output = child.wait_with_output().unwrap();
    String::from_utf8([output.stdout, output.stderr].concat()).unwrap()
}

#[test]
fn the_json_document_is_what_its_schema_says() {
    let (lab, _) = demo();
    let subjects = What::ALL.map(|what| subject(&lab, what));
    let whole = document(&lab, Some(&anchor(&lab)), &subjects);
    assert_eq!(faults(&whole), "");
    assert_eq!(faults(&document(&lab, None, &subjects[..1])), "");
    // The validator sees what is wrong: a number that was rounded, a column too many or too few.
    let with = |change: fn(&mut serde_json::Value)| {
        let mut changed = whole.clone();
        change(&mut changed["results"][0]);
        faults(&changed)
    };
    assert!(with(|row| row["loss_percent"] = 14.8.into()).contains("results/0/loss_percent"));
    assert!(with(|row| row["worked_out_on"] = "18.11.2024".into()).contains("worked_out_on"));
    assert!(with(|row| row["colour"] = "blue".into()).contains("'colour' was unexpected"));
    assert!(with(|row| drop(row.as_object_mut().unwrap().remove("sample"))).contains("'sample'"));
}

/// The schema in `docs/` is the one that the program writes. `UPDATE_DOCS=1` writes it.
#[test]
fn the_schema_in_the_documentation_is_current() {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../docs/tables.schema.json");
    let current = serde_json::to_string_pretty(&schema()).unwrap() + "\n";
    if std::env::var_os("UPDATE_DOCS").is_some() {
        std::fs::write(&path, &current).unwrap();
    }
    let kept = std::fs::read_to_string(&path).unwrap_or_default();
    assert!(kept == current, "docs/tables.schema.json is old; run this test with UPDATE_DOCS=1");
}
