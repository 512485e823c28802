//! Spreadsheets of the past on their way into a laboratory: read, judged, taken over, mended.

#![allow(clippy::unwrap_used, reason = "a test that fails here says where")]

mod demo;

use jiff::Timestamp;
use rust_xlsxwriter::{ExcelDateTime, Format, Workbook};
use std::io::{Cursor, Write};
use stonewear_exchange::taken::{
    self, DayOrder, Plan, ReadError, Source, SourceFile, bad_rows, guess_what,
};
use stonewear_lab::fact::{Fact, ImportKind, Standing};
use stonewear_lab::request::{FoundLaboratory, ImportFile};
use stonewear_lab::{Context, Lab, PersonCode, Recorded, Refusal, decide};
use zip::write::SimpleFileOptions;

const HASH: &str = "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855";

/// A laboratory that files are imported into.
struct Desk {
    lab: Lab,
    at: Timestamp,
    by: &'static str,
}

impl Desk {
    fn founded() -> Self {
        let at = "2026-03-02T08:00:00Z".parse().unwrap();
        let mut desk = Self { lab: Lab::new(), at, by: "AB" };
        let founding = FoundLaboratory {
            name: "Invented laboratory".into(),
            address: "1 Invented Street".into(),
            founder_code: "AB".into(),
            founder_name: "Ada Brook".into(),
            invented: "yes".into(),
            ..FoundLaboratory::default()
        };
        let facts = desk.ask(&founding.into()).unwrap();
        desk.apply(facts);
        desk
    }

    /// The demo laboratory, which has lots, machines and control charts.
    fn demo() -> Self {
        let (lab, at) = demo::demo();
        Self { lab, at, by: "IK" }
    }

    fn ask(&self, request: &stonewear_lab::Request) -> Result<Vec<Fact>, Refusal> {
        let (methods, procedures) = (Vec::new(), Vec::new());
        let by = PersonCode::from(self.by);
        let context =
            Context { at: self.at, made: None, by, methods: &methods, procedures: &procedures };
        decide(&self.lab, &context, request)
    }

    fn apply(&mut self, facts: Vec<Fact>) {
        for fact in facts {
            let position = self.lab.position + 1;
            let by = PersonCode::from(self.by);
            self.lab.apply(&Recorded { position, at: self.at, by, fact });
        }
    }

    fn import(&mut self, request: ImportFile) -> Result<Vec<Fact>, Refusal> {
        let facts = self.ask(&request.into())?;
        self.apply(facts.clone());
        Ok(facts)
    }
}

fn planned(bytes: &[u8], plan: &Plan) -> ImportFile {
    let book = taken::read(bytes).unwrap();
    let file = SourceFile { name: "old list.csv", sha256: HASH, bytes: bytes.len() };
    taken::request(&file, &book, plan).unwrap()
}

fn lenient(what: ImportKind) -> Plan {
    Plan { leave_out_bad: true, ..Plan::new(what) }
}

fn messages(refusal: &Refusal) -> Vec<String> {
    refusal.problems.iter().map(|one| format!("{} → {}", one.message, one.hint)).collect()
}

const TESTS: &str = "Old tests of the invented laboratory\n\
    \n\
    Datum;Probe;Quarry;Verlust [%];Tech;Mass before (g);Mass after (g)\n\
    14.03.2025;25-118;Invented quarry;14,8;CD;1500,0;1278,0\n\
    31.02.2025;25-119;Invented quarry;15,1;CD;;\n\
    ;;;;;;\n\
    17.03.2025;25-120;Invented quarry;abc;CD;1499,8;1502,0\n\
    18.03.2025;25-121;Invented quarry;16,25;EF;;\n\
    19.03.2025;25-121;Invented quarry;;;;\n\
    kept by CD\n";

#[test]
fn every_bad_row_is_named_with_its_number_its_column_and_what_would_be_right() {
    let mut desk = Desk::founded();
    let strict = planned(TESTS.as_bytes(), &Plan::new(ImportKind::Tests));
    let refusal = desk.import(strict.clone()).unwrap_err();
    assert_eq!(
        messages(&refusal),
        [
            "row 5, column “Datum”: “31.02.2025” is not a day → write it like 2026-03-02",
            "row 7, column “Verlust [%]”: “abc” is not a number; write digits with at most one decimal point, like 1500.2 → write a number like 14.8",
            "row 7, column “Mass after (g)”: 1502.0 g after the run is more than 1499.8 g before → are the two in the wrong order?",
            "row 9, column “Verlust [%]”: the cell is empty → write a number like 14.8",
            "row 10, column “Datum”: “kept by CD” is not a day → write it like 2026-03-02",
            "row 10, column “Probe”: the cell is empty → write it, like 25-118",
            "row 10, column “Verlust [%]”: the cell is empty → write a number like 14.8",
        ]
    );
    assert!(desk.lab.file_imports.is_empty(), "something was taken over");

    let facts = desk.import(planned(TESTS.as_bytes(), &lenient(ImportKind::Tests))).unwrap();
    let Fact::FileImported(file) = &facts[0] else { panic!("{facts:?}") };
    assert_eq!((file.import.as_str(), file.rows, file.known), ("H26-001", 6, 0));
    let left: Vec<u64> = file.left_out.iter().map(|row| row.row).collect();
    assert_eq!(left, [5, 7, 9, 10]);
    assert!(file.left_out[1].why.contains("column “Verlust [%]”: “abc” is not a number"));
    let import = &desk.lab.file_imports["H26-001"];
    let kept: Vec<String> = import
        .tests
        .iter()
        .map(|test| {
            let masses = format!("{:?} {:?}", test.before_g, test.after_g);
            format!(
                "{} {} {} {} {} {masses}",
                test.row, test.on, test.sample, test.loss_percent, test.operator
            )
        })
        .collect();
    assert_eq!(
        kept,
        [
            "4 2025-03-14 25-118 14.8 CD Some(1500.0) Some(1278.0)",
            "8 2025-03-18 25-121 16.25 EF None None",
        ]
    );
    // Nothing pretends to have been observed here.
    assert!(desk.lab.results.is_empty() && desk.lab.samples.is_empty());
    // The file itself is evidence.
    assert_eq!(desk.lab.attached(HASH).unwrap().value.name, "old list.csv");
}

#[test]
fn mended_rows_are_imported_without_doubling_the_good_ones() {
    let mut desk = Desk::founded();
    let plan = lenient(ImportKind::Tests);
    let strict = planned(TESTS.as_bytes(), &Plan::new(ImportKind::Tests));
    let bad = desk.import(strict).unwrap_err().problems;
    desk.import(planned(TESTS.as_bytes(), &plan)).unwrap();
    // The bad rows come back with the reason in front, and are mended there.
    let book = taken::read(TESTS.as_bytes()).unwrap();
    let back = bad_rows(&book, &plan, &bad);
    assert!(
        back.starts_with("row in the file,reason,Datum,Probe,Quarry,Verlust [%],Tech,"),
        "{back}"
    );
    assert_eq!(back.lines().count(), 5);
    let mended: Vec<String> = back
        .replace("31.02.2025", "28.02.2025")
        .replace(",abc,", ",\"15,5\",")
        .replace("\"1502,0\"", "\"1267,3\"")
        .lines()
        .filter(|line| !line.starts_with("9,") && !line.starts_with("10,"))
        .map(|line| line.to_owned() + "\r\n")
        .collect();
    let mended = mended.concat();
    let facts = desk.import(planned(mended.as_bytes(), &Plan::new(ImportKind::Tests))).unwrap();
    let Fact::PastTestsImported(past) = &facts[1] else { panic!("{facts:?}") };
    let losses: Vec<String> = past.tests.iter().map(|test| test.loss_percent.to_string()).collect();
    assert_eq!(losses, ["15.1", "15.5"]);
    // The whole file again: what is here is known by what it says.
    let again = desk.import(planned(TESTS.as_bytes(), &plan)).unwrap_err();
    let said = messages(&again).concat();
    assert!(
        said.starts_with("this very file was imported already, as H26-001 on 2026-03-02 by AB"),
        "{said}"
    );
    assert!(said.contains("H26-002"), "the same hash was given to both: {said}");
    // One row more among the old ones: only it is new.
    let more = TESTS.replace("kept by CD", "20.03.2025;25-122;Invented quarry;14,9;CD;;");
    let facts = desk.import(planned(more.as_bytes(), &plan)).unwrap();
    let Fact::FileImported(file) = &facts[0] else { panic!("{facts:?}") };
    assert_eq!((file.known, facts.len()), (2, 2));
    // Two rows that say the same are two tests, and stay two.
    let twins = "date,sample,loss\n2025-05-05,A,14\n2025-05-05,A,14.0\n";
    let facts = desk.import(planned(twins.as_bytes(), &plan)).unwrap();
    let Fact::PastTestsImported(past) = &facts[1] else { panic!("{facts:?}") };
    assert_eq!(past.tests.len(), 2);
    let triplets = format!("{twins}2025-05-05,A,14.00\n");
    let facts = desk.import(planned(triplets.as_bytes(), &plan)).unwrap();
    let Fact::FileImported(file) = &facts[0] else { panic!("{facts:?}") };
    assert_eq!(file.known, 2);
}

#[test]
fn days_that_can_be_read_in_two_ways_are_asked_for() {
    let text = "Date,Sample,Loss\n03/04/2025,A,14.8\n05/06/2025,B,15.1\n";
    let book = taken::read(text.as_bytes()).unwrap();
    let file = SourceFile { name: "a.csv", sha256: HASH, bytes: text.len() };
    let mut plan = Plan::new(ImportKind::Tests);
    let error = taken::request(&file, &book, &plan).unwrap_err().to_string();
    assert!(error.contains("column “Date” can be read in two ways, like 03/04/2025"), "{error}");
    for (order, day) in [(DayOrder::DayFirst, "2025-04-03"), (DayOrder::MonthFirst, "2025-03-04")] {
        plan.order = Some(order);
        assert_eq!(taken::request(&file, &book, &plan).unwrap().rows[0].cells[0], day);
    }
    // Where the file shows it, saying otherwise does not change it.
    let shown = text.replace("05/06", "15/06");
    assert_eq!(planned(shown.as_bytes(), &plan).rows[0].cells[0], "2025-04-03");
}

/// A workbook with real days and numbers, a title above and a remark below.
fn workbook() -> Vec<u8> {
    let mut book = Workbook::new();
    book.add_worksheet().set_name("cover").unwrap();
    let sheet = book.add_worksheet();
    sheet.set_name("2025").unwrap();
    sheet.write(0, 0, "Control book").unwrap();
    for (column, head) in (0..).zip(["Test date", "Loss, %", "Tech", "Note"]) {
        sheet.write(3, column, head).unwrap();
    }
    let day = Format::new().set_num_format("dd/mm/yyyy");
    for (row, (date, loss)) in
        (4..).zip([((2024, 3, 4), 14.8), ((2024, 3, 11), 15.1), ((2024, 3, 18), 14.95)])
    {
        let date = ExcelDateTime::from_ymd(date.0, date.1, date.2).unwrap();
        sheet.write_with_format(row, 0, &date, &day).unwrap();
        sheet.write(row, 1, loss).unwrap();
        sheet.write(row, 2, "CD").unwrap();
    }
    book.save_to_buffer().unwrap()
}

#[test]
fn past_reference_results_become_history_on_their_chart_and_are_not_judged() {
    let mut desk = Desk::demo();
    let (lot, machine) = {
        let chart = desk.lab.control_charts().into_iter().find(|chart| chart.baseline.is_some());
        let chart = chart.expect("a chart with a baseline");
        (chart.lot.clone(), chart.apparatus.clone())
    };
    let before = desk.lab.control_chart(&lot, &machine).unwrap();
    let mut plan = Plan::new(ImportKind::References);
    plan.chosen.insert("lot".into(), Source::Same(lot.to_string()));
    plan.chosen.insert("apparatus".into(), Source::Same(machine.to_string().to_lowercase()));
    let bytes = workbook();
    let facts = desk.import(planned(&bytes, &plan)).unwrap();
    let Fact::ReferenceImported(past) = &facts[1] else { panic!("{facts:?}") };
    let rows: Vec<(u64, String, String)> = past
        .results
        .iter()
        .map(|one| (one.row.unwrap(), one.on.to_string(), one.loss_percent.to_string()))
        .collect();
    let row = |number: u64, day: &str, loss: &str| (number, day.to_owned(), loss.to_owned());
    assert_eq!(
        rows,
        [row(5, "2024-03-04", "14.8"), row(6, "2024-03-11", "15.1"), row(7, "2024-03-18", "14.95")]
    );
    let after = desk.lab.control_chart(&lot, &machine).unwrap();
    assert_eq!(after.points.len(), before.points.len() + 3);
    for point in after.points.iter().filter(|point| point.imported) {
        assert_eq!(point.role, stonewear_lab::control::Role::NotJudged, "{}", point.name);
        assert!(!point.is_signal());
    }
    // Nothing that was judged before is judged otherwise now.
    for point in &before.points {
        let now = after.point(&point.name).unwrap();
        assert_eq!((&now.role, &now.signals), (&point.role, &point.signals), "{}", point.name);
    }
    // Even a past result that no chart would let pass stands there as history.
    let wild = "date,loss,lot,machine\n2024-03-05,60,LOT,MILL\n";
    let wild = wild.replace("LOT", lot.as_str()).replace("MILL", machine.as_str());
    let facts = desk.import(planned(wild.as_bytes(), &Plan::new(ImportKind::References))).unwrap();
    assert_eq!(facts.len(), 2, "{facts:?}");
    let refusal = desk
        .import(planned(
            b"date,loss,lot,machine\n2024-03-05,14,RA-99,MILL-77\n",
            &Plan::new(ImportKind::References),
        ))
        .unwrap_err();
    let said = messages(&refusal).join("\n");
    assert!(said.contains("row 2, column “lot”: there is no lot “RA-99” → known: RA-2"), "{said}");
    assert!(said.contains("there is no apparatus “MILL-77”"), "{said}");
}

#[test]
fn a_list_of_equipment_makes_items_that_are_still_to_be_proved() {
    let mut desk = Desk::founded();
    let list = "Asset no.,Type,Description,Manufacturer,Serial no.,Aperture (mm)\n\
        bal-9,Scale,bench balance,Invented Works,77,\n\
        S-118,Test sieve,wash sieve,,,1.18\n\
        S-160,sieve,guard sieve,,,\n\
        bal-9,oven,drying oven,,,\n\
        MILL-9,apparatus,jar mill,,,\n\
        C26-001,jar,a jar,,,\n\
        X-1,spaceship,,,,\n";
    let plan = lenient(ImportKind::Equipment);
    let facts = desk.import(planned(list.as_bytes(), &plan)).unwrap();
    let Fact::FileImported(file) = &facts[0] else { panic!("{facts:?}") };
    let items: Vec<(u64, &str)> =
        file.items.iter().map(|made| (made.row, made.item.as_str())).collect();
    assert_eq!(items, [(2, "BAL-9"), (3, "S-118")]);
    let why: Vec<String> =
        file.left_out.iter().map(|row| format!("{}: {}", row.row, row.why)).collect();
    assert!(why[0].starts_with("4: column “Aperture (mm)”: a number is missing"), "{why:#?}");
    assert!(why[1].contains("BAL-9 stands in row 2, too"), "{why:#?}");
    assert!(why[2].contains("a list cannot say how an apparatus is built"), "{why:#?}");
    assert!(why[3].contains("reads like the code of a sample"), "{why:#?}");
    assert!(why[4].contains("“spaceship” is not a kind of item"), "{why:#?}");
    let balance = &desk.lab.items["BAL-9"];
    assert_eq!(balance.standing(), Standing::BeingProved);
    assert_eq!(balance.maker_and_serial, "Invented Works, 77");
    let (import, row) = desk.lab.origin_of_item("BAL-9").unwrap();
    assert_eq!((import.code().as_str(), row), ("H26-001", 2));
    // Mended and sent as a whole: the two that are here stay as they are.
    let mended =
        list.replace("guard sieve,,,", "guard sieve,,,1.6").replace("bal-9,oven", "ov-9,oven");
    let facts = desk.import(planned(mended.as_bytes(), &plan)).unwrap();
    let Fact::FileImported(file) = &facts[0] else { panic!("{facts:?}") };
    assert_eq!((file.known, file.items.len()), (2, 2));
}

#[test]
fn sieve_analyses_are_put_together_from_their_rows_and_one_bad_row_spoils_its_own_only() {
    let mut desk = Desk::founded();
    let text = "date,sample,sieve,passing %\n\
        2025-03-14,A,19.0,100\n2025-03-14,A,12.5,64.5\n2025-03-14,A,No. 4,8\n\
        2025-03-15,B,19.0,60\n2025-03-15,B,12.5,64.5\n\
        2025-03-16,C,12.5,90\n2025-03-16,C,19.0,100\n2025-03-16,C,17.3,1\n";
    let strict = planned(text.as_bytes(), &Plan::new(ImportKind::SieveAnalyses));
    let said = messages(&desk.import(strict).unwrap_err()).join("\n");
    assert!(
        said.contains(
            "row 6, column “passing %”: 64.5 % passes, more than 60 % of the coarser sieve"
        ),
        "{said}"
    );
    assert!(
        said.contains("row 5, column “sample”: another row of the same analysis is wrong"),
        "{said}"
    );
    assert!(said.contains("row 8, column “sieve”: 19 mm stands below 12.5 mm"), "{said}");
    assert!(said.contains("no sieve of the general sets has an opening of 17.3 mm"), "{said}");
    desk.import(planned(text.as_bytes(), &lenient(ImportKind::SieveAnalyses))).unwrap();
    let import = &desk.lab.file_imports["H26-001"];
    assert_eq!(import.sievings.len(), 1);
    let sieves: Vec<String> = import.sievings[0]
        .sieves
        .iter()
        .map(|one| format!("{} {}", one.opening_mm.unwrap(), one.passing_percent.unwrap()))
        .collect();
    assert_eq!(sieves, ["19 100", "12.5 64.5", "4.75 8"]);
    let left: Vec<u64> = import.file.value.left_out.iter().map(|row| row.row).collect();
    assert_eq!(left, [5, 6, 7, 8, 9]);
}

#[test]
fn a_file_with_a_column_a_sieve_becomes_the_same_analyses() {
    let long = "date;sample;sieve;passing %\n\
        2025-03-14;A;16;100\n2025-03-14;A;8;64,5\n2025-03-14;A;4;8\n\
        2025-03-15;B;16;97\n2025-03-15;B;4;12,5\n";
    let wide = "Invented quarry\nSample;Date;4 mm;8 mm;16 mm\n\
        A;2025-03-14;8;64,5;100\nB;2025-03-15;12,5;;97\nC;2025-03-16;80;70;100\n";
    let of = |text: &str| {
        let mut desk = Desk::founded();
        let sheet = &taken::read(text.as_bytes()).unwrap().sheets[0];
        assert_eq!(guess_what(sheet), ImportKind::SieveAnalyses);
        desk.import(planned(text.as_bytes(), &lenient(ImportKind::SieveAnalyses))).unwrap();
        let import = desk.lab.file_imports["H26-001"].clone();
        let said = |one: &stonewear_lab::fact::PastSieving| {
            (one.on, one.sample.clone(), one.sieves.clone())
        };
        let left_out: Vec<u64> = import.file.value.left_out.iter().map(|row| row.row).collect();
        (import.sievings.iter().map(said).collect::<Vec<_>>(), left_out)
    };
    let (analyses, left_out) = of(wide);
    assert_eq!((analyses.len(), left_out), (2, vec![5]));
    assert_eq!(analyses, of(long).0);
}

/// The demo writes its rows by hand; read from its own file they are the same.
#[test]
fn the_old_list_of_the_demo_reads_as_the_demo_has_it() {
    let desk = Desk::demo();
    let imports: Vec<_> = desk.lab.file_imports.values().collect();
    assert_eq!(imports.len(), 2);
    let left: Vec<u64> = imports[0].file.value.left_out.iter().map(|row| row.row).collect();
    assert_eq!((left, imports[0].tests.len(), imports[1].tests.len()), (vec![8, 11], 10, 2));
    for (import, (name, bytes)) in imports.iter().zip(stonewear_demo::files()) {
        assert_eq!(import.file.value.name, name);
        let request = planned(&bytes, &lenient(ImportKind::Tests));
        let columns = &import.file.value.columns;
        assert_eq!(request.columns.len(), columns.len());
        for (read, kept) in request.columns.iter().zip(columns) {
            assert!(
                columns.iter().any(|one| one.field == read.field && one.heading == read.heading),
                "{kept:?}"
            );
        }
        let fresh = Desk::founded();
        let facts = fresh.ask(&request.into()).unwrap();
        let Fact::PastTestsImported(past) = &facts[1] else { panic!("{facts:?}") };
        assert_eq!(past.tests, import.tests);
    }
}

#[test]
fn what_is_missing_for_all_rows_is_said_once() {
    let desk = Desk::founded();
    let text = "Date,Colour\n2025-03-14,grey\n2025-03-15,red\n";
    let request = planned(text.as_bytes(), &lenient(ImportKind::Tests));
    let said = messages(&desk.ask(&request.into()).unwrap_err());
    assert_eq!(
        said,
        [
            "no column says which sample each test is of → choose the column, or say the same for every row",
            "no column says the loss → choose the column, or say the same for every row",
        ]
    );
    let tester = Desk { by: "XX", ..Desk::founded() };
    let request = planned(text.as_bytes(), &lenient(ImportKind::Tests));
    assert!(messages(&tester.ask(&request.into()).unwrap_err())[0].contains("nobody here has"));
}

#[test]
fn a_file_of_some_kilobytes_that_unpacks_to_gigabytes_is_refused() {
    let mut into = zip::ZipWriter::new(Cursor::new(Vec::new()));
    into.start_file("xl/worksheets/sheet1.xml", SimpleFileOptions::default()).unwrap();
    let zeros = vec![b' '; 1_000_000];
    for _ in 0..160 {
        into.write_all(&zeros).unwrap();
    }
    let bomb = into.finish().unwrap().into_inner();
    assert!(bomb.len() < 500_000, "{}", bomb.len());
    assert_eq!(taken::read(&bomb), Err(ReadError::Bomb));
}

/// What an XML file declares of its own is neither expanded nor fetched: no bomb, no file of this machine.
#[test]
fn entities_of_a_workbook_are_neither_expanded_nor_fetched() {
    let mut book = Workbook::new();
    let sheet = book.add_worksheet();
    sheet.write(0, 0, "date").unwrap().write(0, 1, "sample").unwrap();
    sheet.write(1, 0, "2025-03-14").unwrap().write(1, 1, "S1").unwrap();
    let whole = book.save_to_buffer().unwrap();
    let mut parts = zip::ZipArchive::new(Cursor::new(whole)).unwrap();
    let mut into = zip::ZipWriter::new(Cursor::new(Vec::new()));
    let mut is_hostile = false;
    for place in 0..parts.len() {
        let mut part = parts.by_index(place).unwrap();
        let mut text = String::new();
        std::io::Read::read_to_string(&mut part, &mut text).unwrap();
        let name = part.name().unwrap().into_owned();
        if name == "xl/sharedStrings.xml" {
            let declared = "<!DOCTYPE sst [<!ENTITY a \"expanded\"><!ENTITY b \"&a;&a;&a;\">\
                            <!ENTITY c SYSTEM \"file:///etc/passwd\">]><sst";
            text = text.replacen("<sst", declared, 1).replace(">S1<", ">S1 &b; &c;<");
            is_hostile = text.contains("S1 &b;");
        }
        into.start_file(name, SimpleFileOptions::default()).unwrap();
        into.write_all(text.as_bytes()).unwrap();
    }
    assert!(is_hostile);
    // Refused as a whole, or read without what was declared.
    if let Ok(read) = taken::read(&into.finish().unwrap().into_inner()) {
        let said = format!("{read:?}");
        assert!(said.contains("date"), "{said}");
        assert!(!said.contains("expanded") && !said.contains("root:"), "{said}");
    }
}

/// Two cells far apart: the sheet says that it is as large as a sheet can be.
#[test]
fn a_sheet_with_cells_far_apart_costs_no_memory() {
    let mut book = Workbook::new();
    let sheet = book.add_worksheet();
    for (column, head) in (0..).zip(["date", "sample", "loss"]) {
        sheet.write(0, column, head).unwrap();
    }
    sheet.write(1_048_575, 0, "2025-03-14").unwrap();
    let read = taken::read(&book.save_to_buffer().unwrap()).unwrap();
    assert_eq!(read.sheets[0].rows.len(), 2);
    assert_eq!(read.sheets[0].rows[1].number, 1_048_576);
    let mut book = Workbook::new();
    book.add_worksheet().write(0, 16_383, "far").unwrap();
    let error = taken::read(&book.save_to_buffer().unwrap()).unwrap_err();
    assert_eq!(error, ReadError::TooWide { row: 1 });
}

#[test]
fn what_is_no_table_is_refused_in_words() {
    for (bytes, said) in [
        (&b"PK\x03\x04 broken"[..], "this is no table"),
        (
            b"\xD0\xCF\x11\xE0\xA1\xB1\x1A\xE1",
            "a workbook of the old kind (.xls): save it as .xlsx",
        ),
        (b"", "the file holds no row"),
        (b"\n;;\n", "the file holds no row"),
        (b"%PDF-1.7\0\0", "this is no table"),
    ] {
        let error = taken::read(bytes).unwrap_err().to_string();
        assert!(error.contains(said), "{error}");
    }
    assert_eq!(
        guess_what(&taken::read(b"just words\n").unwrap().sheets[0]),
        guess_what(&taken::read(b"x\n").unwrap().sheets[0])
    );
}

proptest::proptest! {
    /// Whatever is sent, nothing panics, and a good answer of the laboratory keeps every row apart.
    #[test]
    fn no_bytes_make_it_panic(bytes in proptest::collection::vec(proptest::prelude::any::<u8>(), 0..300), text in "[-0-9a-zäß;,./\" \n]{0,200}") {
        for bytes in [bytes.as_slice(), text.as_bytes()] {
            if let Ok(book) = taken::read(bytes) {
                for what in ImportKind::ALL {
                    let file = SourceFile { name: "a.csv", sha256: HASH, bytes: bytes.len() };
                    let plan = Plan { order: Some(DayOrder::DayFirst), ..lenient(what) };
                    if let Ok(request) = taken::request(&file, &book, &plan) {
                        let _ = Desk::founded().ask(&request.into());
                    }
                }
            }
        }
    }
}
