//! The whole walk by command: the script of `docs/commands.md`, run as it stands there.

use crate::harness::{Desk, PROGRAM};
use crate::papers::text_of;
use std::path::Path;
use std::process::Command;

/// The script under the heading “The walk”.
fn script() -> String {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../docs/commands.md");
    let text = std::fs::read_to_string(path).unwrap();
    let (_, walk) = text.split_once("\n## The walk").expect("the heading");
    let (_, code) = walk.split_once("```sh\n").expect("the script");
    code.split_once("```").expect("its end").0.to_owned()
}

#[test]
fn from_nothing_to_a_released_loss_on_paper() {
    let desk = Desk::new();
    let programs = Path::new(PROGRAM).parent().unwrap().display().to_string();
    let path = format!("{programs}:{}", std::env::var("PATH").unwrap_or_default());
    desk.write("walk.sh", &script());
    let output = Command::new("bash")
        .arg("walk.sh")
        .current_dir(desk.path())
        .env("PATH", path)
        .output()
        .unwrap();
    let said = String::from_utf8_lossy(&output.stdout);
    let errors = String::from_utf8_lossy(&output.stderr);
    assert!(output.status.success(), "{said}\n{errors}");

    // The run on a machine that is not proved was refused once, in words, with 3.
    assert!(said.contains("refused: 3\n"), "{said}");
    assert!(
        errors.contains("stonewear: apparatus: MILL-1 is not in service: it is being proved"),
        "{errors}"
    );
    assert!(errors.contains("(with --deviation REASON it is done all the same"), "{errors}");
    assert!(said.contains("MILL-1 is in service\n"), "{said}");
    assert!(said.contains("\nintact: "), "{said}");

    // WE-8 (derived from the published formula): A = 1500, B = 1278 → 14.8 %.
    let paper = text_of(&desk.path().join("report.pdf"));
    let paper = paper.split_whitespace().collect::<Vec<_>>().join(" ");
    for told in
        ["14.8 %", "Ada Brook", "trial of the new mill", "before its function", "Invented data"]
    {
        assert!(paper.contains(told), "{told}: {paper}");
    }
}
