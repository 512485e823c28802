//! `stonewear paper issue` and `check`: what was issued is kept to the byte, and a file that is not it
//! is told from it.

use crate::harness::Desk;
use serde_json::Value;

/// The demo in `D`, and a result of it that is released and not issued, with who released it.
fn demo() -> (Desk, String, String) {
    let desk = Desk::new();
    desk.done("demo --dir D --found-only");
    let shown = desk.json("show --dir D");
    let results = shown["results"].as_array().unwrap();
    let one = results.iter().find(|one| !one["released_by"].is_null()).unwrap();
    let text = |name: &str| one[name].as_str().unwrap().to_owned();
    (desk, text("result"), text("released_by"))
}

/// The verdict on a file, and the exit status.
fn check(desk: &Desk, file: &str, dir: &str) -> (String, i32) {
    let said = desk.run(&format!("paper check {file} --dir {dir} --json"));
    let document: Value = serde_json::from_str(&said.stdout).expect(&said.stderr);
    (document["check"]["verdict"].as_str().unwrap().to_owned(), said.status)
}

#[test]
fn each_kind_of_file_has_its_own_answer_and_exit_status() {
    let (desk, result, by) = demo();
    desk.done(&format!("paper {result} --dir D --out copy.pdf"));
    assert_eq!(check(&desk, "copy.pdf", "D"), ("not-issued".into(), 13));

    desk.done(&format!("paper issue {result} --by {by} --dir D --out issued.pdf"));
    assert_eq!(check(&desk, "issued.pdf", "D"), ("stands".into(), 0));
    // What is handed out from now on is that very file.
    desk.done(&format!("paper {result} --dir D --out again.pdf"));
    let read = |name: &str| std::fs::read(desk.path().join(name)).unwrap();
    assert!(read("again.pdf") == read("issued.pdf"));
    // A copy from before the issue is still no issued paper.
    assert_eq!(check(&desk, "copy.pdf", "D"), ("not-issued".into(), 13));

    // One bit anywhere, here at 40 places of the file.
    let whole = read("issued.pdf");
    for at in (0..40).map(|part| part * (whole.len() - 1) / 39) {
        let mut changed = whole.clone();
        changed[at] ^= 1;
        std::fs::write(desk.path().join("changed.pdf"), changed).unwrap();
        assert_eq!(check(&desk, "changed.pdf", "D"), ("altered".into(), 12), "byte {at}");
    }

    // The issued file goes with the laboratory when it is handed over.
    desk.done("journal pack --dir D --into packed");
    desk.done("journal unpack packed --dir moved");
    assert_eq!(check(&desk, "issued.pdf", "moved"), ("stands".into(), 0));
    desk.done(&format!("paper {result} --dir moved --out moved.pdf"));
    assert!(read("moved.pdf") == read("issued.pdf"));

    // The same numbers in another laboratory.
    desk.done("found --dir E --name Other --address Road --founder AB --founder-name 'Ada Brook'");
    assert_eq!(check(&desk, "issued.pdf", "E"), ("of-another-laboratory".into(), 14));
    desk.write("note.pdf", "%PDF-1.7 something else");
    assert_eq!(check(&desk, "note.pdf", "D"), ("no-mark".into(), 15));

    let said = desk.fails(2, &format!("paper issue {result} --by {by} --dir D"));
    assert!(said.contains("--reason") && said.contains("was issued already"), "{said}");
    desk.done(&format!("paper issue {result} --by {by} --dir D --reason 'misspelt works'"));
    assert_eq!(check(&desk, "issued.pdf", "D"), ("superseded".into(), 10));
    let said = desk.run("paper check issued.pdf --dir D").stdout;
    assert!(said.contains("was replaced by") && said.contains("misspelt works"), "{said}");
}

#[test]
fn a_result_in_doubt_is_said_of_a_paper_that_was_issued_before() {
    let (desk, _, _) = demo();
    // The demo issues its last released result twice: the second report stands.
    let papers = desk.json("paper list --dir D");
    let verdicts: Vec<&str> = papers["papers"]
        .as_array()
        .unwrap()
        .iter()
        .map(|one| one["verdict"].as_str().unwrap())
        .collect();
    assert_eq!(verdicts, ["superseded", "stands"]);
    let of = papers["papers"][1]["paper"]["value"]["of"].as_str().unwrap().to_owned();
    desk.done(&format!("paper {of} --dir D --out last.pdf"));
    desk.done("doubt --by IK --dir D BAL-1 indication --since 2024-01-01 --open 'it stood askew'");
    assert_eq!(check(&desk, "last.pdf", "D"), ("in-doubt".into(), 11));
    let said = desk.run("paper check last.pdf --dir D").stdout;
    assert!(said.contains("it stood askew"), "{said}");
}

#[test]
fn who_may_not_release_may_not_issue_and_nothing_is_written() {
    let (desk, result, _) = demo();
    let said = desk.fails(3, &format!("paper issue {result} --by DO --dir D --out none.pdf"));
    assert!(said.contains("may not release"), "{said}");
    assert!(!desk.path().join("none.pdf").exists());
    let said = desk.fails(2, "paper issue L26-9999 --by TR --dir D");
    assert!(said.contains("there is no result"), "{said}");
}

#[test]
fn the_reports_of_a_time_are_printed_into_a_folder() {
    let (desk, _, _) = demo();
    let made = desk.json("paper all --dir D --from 2026-11-01 --out reports");
    let files = made["files"].as_array().unwrap();
    assert!(files.len() > 1, "{made}");
    assert_eq!(made["issued"], 1);
    for file in files {
        let path = desk.path().join(file.as_str().unwrap());
        assert!(std::fs::read(&path).unwrap().starts_with(b"%PDF-"), "{path:?}");
    }
    assert!(
        desk.fails(2, "paper all --dir D --from 2031-01-01 --out none").contains("no released")
    );
}

#[test]
fn a_letterhead_stands_on_every_paper() {
    let desk = Desk::founded();
    desk.write(
        "mark.svg",
        "<svg xmlns='http://www.w3.org/2000/svg' viewBox='0 0 9 9'><path d='M0 0h9v9z'/></svg>",
    );
    desk.done(
        "letterhead set --by AB --address '7 Invented Quay' --contact 'lab@invented.example' \
         --accreditation 'none' --limits 'Invented-limits' --sheet letter --logo mark.svg",
    );
    desk.done("letterhead set --by AB --place-of-work 'Bay 2'");
    let shown = desk.done("letterhead show");
    for words in ["7 Invented Quay", "Bay 2", "mark.svg (image/svg+xml)", "letter"] {
        assert!(shown.contains(words), "{words}: {shown}");
    }
    desk.done("letterhead preview --out preview.pdf");
    let text = crate::papers::text_of(&desk.path().join("preview.pdf"));
    for words in
        ["7 Invented Quay", "lab@invented.example", "work done at: Bay 2", "Invented-limits"]
    {
        assert!(text.contains(words), "{words}: {text}");
    }
    let said = desk.fails(2, "letterhead set --by AB --sheet a5");
    assert!(said.contains("--sheet") && said.contains("a4 or letter"), "{said}");
}
