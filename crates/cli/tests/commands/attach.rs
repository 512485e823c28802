//! Photos and files of what was observed, in and out.

use crate::harness::Desk;

#[test]
fn a_file_comes_out_as_it_went_in() {
    let desk = Desk::founded();
    desk.done("item register --by AB BAL-1 --kind balance --name 'bench balance'");
    let check = desk.fact("check start --by CD BAL-1 balance-check", "check");
    desk.write("masses.csv", "wanted;read\n1000;1000.1\n");
    let line = format!("attach --by CD {check} masses.csv --step stands");
    insta::assert_snapshot!(desk.told(&line), @r"
    attached “masses.csv” to CYY-001, step stands: SHA-256 [HASH]
    [exit status 0]
    ");
    let shown = desk.json(&format!("show {check}"));
    let file = &shown["files"][0]["value"];
    assert_eq!((file["media_type"].as_str(), file["bytes"].as_u64()), (Some("text/csv"), Some(24)));
    let hash = file["sha256"].as_str().unwrap();
    desk.done(&format!("file {hash} --out back.csv"));
    let back = std::fs::read_to_string(desk.path().join("back.csv")).unwrap();
    assert_eq!(back, "wanted;read\n1000;1000.1\n");
    // What is there already is not written over.
    assert!(desk.fails(4, &format!("file {hash} --out masses.csv")).contains("cannot be written"));
}

#[test]
fn what_cannot_be_attached_is_refused() {
    let desk = Desk::founded();
    desk.done("item register --by AB BAL-1 --kind balance --name 'bench balance'");
    desk.write("page.html", "<p>");
    desk.write("note.txt", "stands well");
    for (status, line, wanted) in [
        (2, "attach --by AB BAL-1 page.html", "file: it is not a kind of file that is kept"),
        (2, "attach --by AB BAL-9 note.txt", "code: nothing here has the code “BAL-9”"),
        (2, "attach --by AB BAL-1 note.txt --step x", "--step: a step is named, “x”"),
        (4, "attach --by AB BAL-1 nowhere.txt", "nowhere.txt cannot be read"),
        (2, "file 0123 --out x", "no file with the hash “0123” is attached here"),
    ] {
        let said = desk.fails(status, line);
        assert!(said.contains(wanted), "{line}: {said}");
    }
}
