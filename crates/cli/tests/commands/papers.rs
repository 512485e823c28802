//! `stonewear demo` and `stonewear paper`: the invented laboratory and a draft from it.

use crate::harness::{Desk, Said};
use std::process::Command;

/// The text of a PDF; `./test` installs what reads it.
pub(crate) fn text_of(pdf: &std::path::Path) -> String {
    let output = Command::new("pdftotext").arg("-layout").arg(pdf).arg("-").output().unwrap();
    assert!(output.status.success(), "{output:?}");
    String::from_utf8(output.stdout).unwrap()
}

#[test]
fn a_result_that_nobody_has_released_is_printed_as_a_draft() {
    let desk = Desk::new();
    let first = desk.json("demo --dir D --found-only");
    // Founded once; a second time it is only opened.
    assert_eq!(desk.json("demo --dir D --found-only"), first);
    let results = desk.json("show --dir D");
    let waiting = results["results"].as_array().unwrap().iter();
    let waiting: Vec<&str> = waiting
        .filter(|result| result["released_by"].is_null())
        .map(|result| result["result"].as_str().unwrap())
        .collect();
    let draft = waiting.first().expect("the demo has a result to release");
    let Said { stdout, stderr, status } =
        desk.run(&format!("paper --dir D {draft} --out draft.pdf"));
    assert_eq!((status, stderr.as_str()), (0, ""));
    assert!(stdout.ends_with("a draft: nobody has released this result\n"), "{stdout}");
    let text = text_of(&desk.path().join("draft.pdf"));
    assert!(text.contains(draft) && text.to_lowercase().contains("draft"), "{text}");
    assert!(text.contains("Invented data"), "{text}");

    let said = desk.fails(2, "paper --dir D L26-9999 --out none.pdf");
    assert!(
        said.starts_with("stonewear: there is no result “LYY-9999”; near to it: LYY-")
            || said.contains("near to it"),
        "{said}"
    );
    assert!(
        desk.fails(4, &format!("paper --dir D {draft} --out no/such/folder.pdf"))
            .contains("no/such/folder.pdf")
    );
}

#[test]
fn the_demo_does_not_mix_with_a_real_laboratory() {
    let desk = Desk::new();
    desk.done("found --name Real --address Road --founder AB --founder-name 'Ada Brook'");
    let said = desk.fails(3, "demo --dir laboratory --found-only");
    assert!(said.contains("laboratory holds a real laboratory, not the demo"), "{said}");
}
