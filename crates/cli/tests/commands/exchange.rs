//! `stonewear export`, `loss-sheet`, `import`, `imports` and the packed folder.

use crate::harness::Desk;

const LIST: &str = "Datum;Probe;Verlust\n14.03.2025;25-1;14,8\n31.02.2025;25-2;15,1\n";

#[test]
fn a_list_is_previewed_refused_mended_and_imported() {
    let desk = Desk::founded();
    desk.write("old.csv", LIST);
    let preview = desk.run("import old.csv --as tests --preview --by AB");
    assert_eq!(preview.status, 1, "{}{}", preview.stdout, preview.stderr);
    for words in [
        "on is “Datum”, like 2025-03-14",
        "loss_percent is “Verlust”, like 14.8",
        "2 rows",
        "row 3, column “Datum”",
    ] {
        assert!(preview.stdout.contains(words), "{words}\n{}", preview.stdout);
    }
    let refused = desk.fails(2, "import old.csv --as tests --by AB --bad-rows mend.csv");
    assert!(refused.contains("row 3, column “Datum”: “31.02.2025” is not a day"), "{refused}");
    assert!(refused.contains("nothing was imported"), "{refused}");
    assert_eq!(desk.json("imports")["imports"].as_array().unwrap().len(), 0);
    let said = desk.done("import old.csv --as tests --by AB --leave-out-bad");
    assert!(said.contains("past tests of old.csv, 2 rows; 1 left out"), "{said}");
    let mend = std::fs::read_to_string(desk.path().join("mend.csv")).unwrap();
    desk.write("mend.csv", &mend.replace("31.02.2025", "28.02.2025"));
    let said = desk.done("import mend.csv --as tests --by AB");
    assert!(said.contains("1 past tests"), "{said}");
    let again = desk.fails(3, "import old.csv --as tests --by AB --leave-out-bad");
    assert!(again.contains("this very file was imported already"), "{again}");
    let all = desk.json("imports");
    let first = all["imports"][0]["file"]["value"]["import"].as_str().unwrap().to_owned();
    assert!(desk.done(&format!("imports {first}")).contains("left out: row 3"));
    assert!(desk.fails(2, "imports H99-001").contains("there is no import"));
    // What was imported travels with the laboratory, the file included.
    desk.done("journal pack --into packed");
    let unpacked = desk.json("journal unpack packed --dir back");
    assert_eq!(unpacked["files"].as_u64(), Some(2));
    assert_eq!(desk.json("journal verify --dir back"), desk.json("journal verify"));
}

#[test]
fn wrong_arguments_of_an_import_say_what_would_be_right() {
    let desk = Desk::founded();
    desk.write("old.csv", LIST);
    for (line, words) in [
        ("import old.csv --as results --by AB", "nothing that can be imported"),
        (
            "import old.csv --as tests --map colour=Datum --by AB",
            "“colour” is no field of tests; known: on, sample",
        ),
        (
            "import old.csv --as tests --map on=Tag --by AB",
            "no column is called “Tag”; the columns are Datum, Probe, Verlust",
        ),
        ("import old.csv --as tests --sheet 2025 --by AB", "there is no sheet “2025”"),
    ] {
        let said = desk.fails(2, line);
        assert!(said.contains(words), "{line}\n{said}");
    }
    assert!(desk.fails(4, "import none.csv --by AB").contains("none.csv cannot be read"));
    desk.write("slash.csv", "Date,Sample,Loss\n03/04/2025,1,14\n");
    let said = desk.fails(2, "import slash.csv --as tests --by AB");
    assert!(said.contains("say whether the day or the month comes first"), "{said}");
    desk.done("import slash.csv --as tests --by AB --order month-first");
}

#[test]
fn tables_are_written_in_every_form() {
    let desk = Desk::founded();
    let said = desk.json("export --out all.xlsx");
    assert_eq!(said["tables"].as_array().unwrap().len(), 9);
    assert!(std::fs::read(desk.path().join("all.xlsx")).unwrap().starts_with(b"PK"));
    desk.done("export results equipment --format csv --out tables");
    let mut names: Vec<String> = std::fs::read_dir(desk.path().join("tables"))
        .unwrap()
        .map(|entry| entry.unwrap().file_name().into_string().unwrap())
        .collect();
    names.sort();
    assert_eq!(names, ["columns.csv", "equipment.csv", "results.csv"]);
    desk.done("export results --format json --out results.json");
    let text = std::fs::read_to_string(desk.path().join("results.json")).unwrap();
    let document: serde_json::Value = serde_json::from_str(&text).unwrap();
    assert_eq!(document["journal"]["facts"].as_u64(), Some(3));
    assert!(desk.fails(2, "export colours --out a.xlsx").contains("is not a table"));
    assert!(desk.fails(2, "loss-sheet L26-001 --out a.xlsx").contains("there is no result"));
}
