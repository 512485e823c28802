//! Every kind of paper as other programs see it: whole, with its fonts, titled, numbered, within its
//! margins, and with a mark that can be scanned.

use crate::harness::Desk;
use std::process::Command;

/// What a program says of a file.
fn through(program: &str, arguments: &[&str], file: &std::path::Path) -> String {
    let output = Command::new(program)
        .args(arguments)
        .arg(file)
        .args(if program == "pdftotext" { &["-"][..] } else { &[] })
        .output()
        .unwrap_or_else(|_| panic!("{program} is needed: ./test installs it"));
    assert!(output.status.success(), "{program} {file:?}: {output:?}");
    String::from_utf8(output.stdout).unwrap()
}

/// Points of a page that must stay white on each side, a little less than the margin of 18 mm.
const MARGIN: f64 = 46.0;

#[test]
fn every_paper_is_whole_titled_numbered_and_within_its_margins() {
    let desk = Desk::new();
    desk.done("demo --dir D --found-only");
    let shown = desk.json("show --dir D");
    let result = shown["results"].as_array().unwrap().iter().rev();
    let result = result.clone().find(|one| !one["released_by"].is_null()).unwrap();
    let result = result["result"].as_str().unwrap();
    let specimen = desk.json(&format!("result show {result} --dir D"))["specimens"][0]
        .as_str()
        .unwrap()
        .to_owned();
    desk.done("paper project 'Ring road, section 5' --by TR --dir D --out project.pdf");
    for (name, line) in [
        ("report", format!("paper {result}")),
        ("record", "paper record C26-001".to_owned()),
        ("dossier", "paper dossier MILL-1".to_owned()),
        ("bench", format!("paper bench-sheet {specimen}")),
        ("makeup", format!("paper make-up {specimen}")),
        ("audit", format!("paper audit {result}")),
        ("preview", "letterhead preview".to_owned()),
    ] {
        desk.done(&format!("{line} --dir D --out {name}.pdf"));
    }
    let kinds = ["report", "project", "record", "dossier", "bench", "makeup", "audit", "preview"];
    for name in kinds {
        let file = desk.path().join(format!("{name}.pdf"));
        let checked = through("qpdf", &["--check"], &file);
        assert!(checked.contains("No syntax or stream encoding errors"), "{name}: {checked}");

        let fonts = through("pdffonts", &[], &file);
        let rows: Vec<&str> = fonts.lines().skip(2).collect();
        assert!(!rows.is_empty(), "{name}");
        for row in rows {
            assert!(row.contains("IBMPlexSans") && row.contains(" yes yes yes "), "{name}: {row}");
        }

        let about = through("pdfinfo", &[], &file);
        let field = |wanted: &str| {
            let line = about.lines().find(|line| line.starts_with(wanted)).unwrap_or_default();
            line.split_once(':').map(|(_, value)| value.trim().to_owned()).unwrap_or_default()
        };
        assert!(!field("Title").is_empty() && field("Tagged") == "yes", "{name}: {about}");
        let pages: usize = field("Pages").parse().unwrap();
        let text = through("pdftotext", &["-layout"], &file);
        for page in 1..=pages {
            assert!(text.contains(&format!("Page {page} of {pages}")), "{name}: page {page}");
        }
        if name != "preview" {
            assert!(field("Keywords").starts_with("stonewear-paper/1 "), "{name}: {about}");
            assert!(text.contains("Fingerprint"), "{name}");
        }
        // No page stands nearly empty, least of all the last with nothing but its foot.
        let last = text.split('\u{c}').rfind(|page| !page.trim().is_empty()).unwrap();
        assert!(last.lines().filter(|line| !line.trim().is_empty()).count() > 6, "{name}:\n{last}");

        let boxes = through("pdftotext", &["-bbox"], &file);
        assert!(boxes.contains("<word "), "{name}");
        for word in boxes.lines().filter(|line| line.trim_start().starts_with("<word ")) {
            let number = |key: &str| -> f64 {
                let rest = word.split(&format!("{key}=\"")).nth(1).unwrap();
                rest.split('"').next().unwrap().parse().unwrap()
            };
            // Both A4 (595 points wide) and Letter (612) keep this margin.
            assert!(number("xMin") >= MARGIN && number("xMax") <= 595.3 - MARGIN, "{name}: {word}");
            assert!(number("yMin") >= 15.0 && number("yMax") <= 841.9 - 15.0, "{name}: {word}");
        }
    }
}
