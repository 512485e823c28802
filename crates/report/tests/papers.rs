//! What the papers of the demo laboratory say: reports of projects, records of checks, bench sheets,
//! dossiers, audit extracts, and what a file is told to be.

#![allow(clippy::unwrap_used, reason = "a test that fails here says where")]

mod laboratory;

use jiff::Timestamp;
use laboratory::tables;
use stonewear_lab::fact::{CoveredResult, PaperFact, PaperIssued, PaperKind};
use stonewear_lab::state::{NextPaper, TestResult};
use stonewear_lab::{Fact, Lab, Recorded};
use stonewear_report::{
    Block, Cell, Mark, Origin, PaperCheck, PaperVerdict, audit_sheet, bench_sheet, check_record,
    dossier_sheet, makeup_sheet, project_sheet, test_report,
};

fn demo() -> Lab {
    laboratory::demo().0
}

fn at() -> Timestamp {
    "2026-12-01T08:00:00Z".parse().unwrap()
}

fn words(cell: &Cell) -> &str {
    match cell {
        Cell::Text(text) => text,
        Cell::Strip(strip) => &strip.value,
        Cell::Blank | Cell::ToFill => "",
    }
}

/// A project of several released results, and a result of it.
fn project(lab: &Lab) -> (String, NextPaper) {
    let mut names: Vec<String> =
        lab.samples.values().map(|sample| sample.project.clone()).collect();
    names.sort();
    names.dedup();
    names
        .into_iter()
        .filter_map(|name| {
            let next = lab.next_paper(PaperKind::ProjectReport, &name, at())?;
            Some((name, next))
        })
        .max_by_key(|(_, next)| next.covers.len())
        .unwrap()
}

#[test]
fn a_project_report_has_each_released_result_once_and_its_details() {
    let lab = demo();
    let (name, next) = project(&lab);
    assert!(next.covers.len() > 2);
    let sheet = project_sheet(&lab, &name, &next, ("Ada Brook", ""), None, at());
    let summary = tables(&sheet)[0];
    assert_eq!(summary.rows.len(), next.covers.len());
    for (row, covered) in summary.rows.iter().zip(&next.covers) {
        assert_eq!(words(&row[0]), format!("{}/{}", covered.result, covered.version));
        let report = test_report(&lab, &lab.results[&covered.result], None);
        assert_eq!(words(&row[4]), format!("{} {}", report.loss.value, report.loss.unit));
    }
    let headings = sheet.blocks.iter().filter(|block| matches!(block, Block::Heading { .. }));
    assert_eq!(headings.count(), 1 + next.covers.len());
    let replacing = NextPaper { replaces: Some("G26-001".into()), ..next };
    let sheet =
        project_sheet(&lab, &name, &replacing, ("Ada Brook", "one result more"), None, at());
    assert!(sheet.blocks.iter().any(|block| matches!(
        block,
        Block::Remark { kind, text } if kind == "Amendment" && text.contains("Replaces report G26-001. Reason: one result more")
    )));
}

#[test]
fn a_record_has_every_observation_and_a_strip_where_there_are_limits() {
    let lab = demo();
    let check = lab.checks.values().find(|check| check.passed() && check.observations.len() > 20);
    let check = check.unwrap();
    let sheet = check_record(&lab, check, None, at());
    let table = tables(&sheet)[0];
    assert_eq!(table.rows.len(), check.observations.len());
    let strips = table.rows.iter().filter(|row| matches!(row[4], Cell::Strip(_))).count();
    let limits = table.rows.iter().filter(|row| !words(&row[3]).is_empty()).count();
    assert!(strips > 0 && strips == limits, "{strips} strips, {limits} limits");
    assert!(table.rows.iter().all(|row| words(&row[5]) == "yes"));
    // A difference stands there with both of its readings.
    let caliper = lab.checks.values().find(|check| check.procedure.id == "caliper-check").unwrap();
    let sheet = check_record(&lab, caliper, None, at());
    let read = words(&tables(&sheet)[0].rows[2][2]).to_owned();
    assert!(read.contains(" mm (") && read.contains(" − 200.00)"), "{read}");
    // One that was given up says so.
    let given_up = lab.checks.values().find(|check| {
        check.ended.as_ref().is_some_and(|end| !end.value.passed && !end.value.reason.is_empty())
    });
    let sheet = check_record(&lab, given_up.unwrap(), None, at());
    assert!(
        matches!(&sheet.blocks[0], Block::Remark { text, .. } if text.starts_with("Not passed: "))
    );
}

#[test]
fn a_bench_sheet_has_room_and_a_limit_beside_it() {
    let lab = demo();
    let specimen = lab.specimens.values().find(|one| one.run.is_some()).unwrap();
    let sheet = bench_sheet(&lab, specimen, None, at()).unwrap();
    let readings = tables(&sheet)[1];
    let row =
        |begins: &str| readings.rows.iter().find(|row| words(&row[0]).starts_with(begins)).unwrap();
    // ASTM D6928 (2010), as the method file has them: from memory, unconfirmed.
    assert_eq!(words(&row("Ball charge")[1]), "5000 ± 5 g");
    assert_eq!(words(&row("Water, L")[1]), "2.0 ± 0.05 L");
    assert_eq!(words(&row("Temperature")[1]), "20 ± 5 °C");
    assert!(readings.rows.iter().all(|row| row[2] == Cell::ToFill));
    assert!(sheet.blocks.iter().any(|block| matches!(
        block, Block::SquareCode { scanned, .. } if *scanned == specimen.code.as_str()
    )));
    assert!(
        sheet
            .blocks
            .iter()
            .any(|block| matches!(block, Block::Remark { kind, .. } if kind == "Caution"))
    );

    let sheet = makeup_sheet(&lab, specimen, None, at()).unwrap();
    let fractions = &tables(&sheet)[0].rows;
    assert_eq!(fractions.len(), lab.rules_of(specimen).unwrap().1.fractions.len() + 1);
    let last = &fractions[fractions.len() - 2];
    assert_eq!(words(&last[3]), "1500", "the sum comes to the mass of the specimen");
}

#[test]
fn a_dossier_has_every_check_of_its_machine_its_charts_and_its_studies() {
    let lab = demo();
    let item = &lab.items["MILL-1"];
    let sheet = dossier_sheet(&lab, item, None, at());
    let headings: Vec<&str> = sheet
        .blocks
        .iter()
        .filter_map(|block| match block {
            Block::Heading { text } => Some(text.as_str()),
            _ => None,
        })
        .collect();
    for check in lab.checks_of(&item.code).filter(|check| check.ended.is_some()) {
        assert!(headings.iter().any(|text| text.starts_with(check.code.as_str())), "{headings:?}");
    }
    assert!(headings.iter().any(|text| text.starts_with("Reference aggregate ")), "{headings:?}");
    assert!(headings.iter().any(|text| text.starts_with("Study ")), "{headings:?}");
    assert!(sheet.blocks.iter().any(|block| matches!(block, Block::Picture(_))));
    assert!(matches!(sheet.blocks[0], Block::Contents));
}

#[test]
fn an_audit_extract_has_every_link_and_what_proves_it() {
    let lab = demo();
    let result = lab.results.values().find(|result| result.release().is_some()).unwrap();
    let sheet = audit_sheet(&lab, result, &[], None, at());
    let links = tables(&sheet)[1];
    assert_eq!(links.rows.len(), lab.evidence(result).len());
    let held: Vec<&str> = links.rows.iter().map(|row| words(&row[2])).collect();
    assert!(held.iter().any(|words| words.starts_with("check C")), "{held:?}");
    assert!(links.rows.iter().all(|row| !words(&row[5]).is_empty()), "each names its facts");
}

/// A released result with its report issued as this file.
fn issued(lab: &mut Lab, file: &[u8], origin: &Origin) -> (TestResult, Mark) {
    let result = lab.results.values().find(|result| result.release().is_some()).unwrap().clone();
    let next = lab.next_paper(PaperKind::TestReport, result.code.as_str(), at()).unwrap();
    let report = test_report(lab, &result, None).to_be_issued(lab, &next, ("TR", ""), at());
    let mark = report.marked(origin).mark.unwrap();
    let covers = vec![CoveredResult { result: result.code.clone(), version: 1 }];
    let fact = Fact::Paper(PaperFact::Issued(PaperIssued {
        paper: PaperKind::TestReport,
        of: result.code.to_string(),
        number: next.number,
        covers,
        fingerprint: mark.fingerprint.clone(),
        made_at: lab.position,
        sha256: sha256(file),
        bytes: file.len() as u64,
        replaces: None,
        reason: String::new(),
        language: stonewear_lab::fact::PaperLanguage::French,
    }));
    let position = lab.position + 1;
    lab.apply(&Recorded { position, at: at(), by: "TR".into(), fact });
    (result, mark)
}

fn sha256(file: &[u8]) -> String {
    PaperCheck::of_file(&Lab::new(), "", file).sha256
}

#[test]
fn a_file_is_told_by_its_bytes_then_by_its_mark() {
    let mut lab = demo();
    let origin = Origin { laboratory: "ab".repeat(32), position: 7, page: String::new() };
    let file = b"%PDF of the report".to_vec();
    let (result, mark) = issued(&mut lab, &file, &origin);
    let told = |file: &[u8], laboratory: &str| PaperCheck::of_file(&lab, laboratory, file).verdict;
    let ours = origin.laboratory.as_str();
    assert_eq!(told(&file, ours), PaperVerdict::Stands);
    assert_eq!(told(b"%PDF", ours), PaperVerdict::NoMark);
    assert_eq!(told(mark.in_file().as_bytes(), ours), PaperVerdict::Altered);
    // The number of an issued paper with another fingerprint is no less altered.
    let other = Mark { fingerprint: "cd".repeat(32), ..mark.clone() };
    assert_eq!(told(other.in_file().as_bytes(), ours), PaperVerdict::Altered);
    let draft = Mark { paper: "draft".into(), number: String::new(), ..other.clone() };
    assert_eq!(told(draft.in_file().as_bytes(), ours), PaperVerdict::NotIssued);
    let elsewhere = Mark { laboratory: "ef".repeat(32), ..other };
    assert_eq!(told(elsewhere.in_file().as_bytes(), ours), PaperVerdict::OfAnotherLaboratory);

    let check = PaperCheck::of_file(&lab, ours, &file);
    let said = check.in_words(&lab).join(" ");
    assert!(said.contains(result.code.as_str()) && said.contains("it stands"), "{said}");
    // Each verdict has words of its own.
    let mut words: Vec<&str> = PaperVerdict::ALL.map(PaperVerdict::in_words).to_vec();
    words.sort_unstable();
    words.dedup();
    assert_eq!(words.len(), PaperVerdict::ALL.len());
}

#[test]
fn a_report_says_what_the_release_wanted_said_and_who_did_what() {
    let lab = demo();
    let mut result =
        lab.results.values().find(|result| result.release().is_some()).unwrap().clone();
    let release = result.versions.last_mut().unwrap().value.release.as_mut().unwrap();
    release.value.remark = "The bags came in wet.".into();
    release.value.external = "sieving, by an invented laboratory".into();
    let report = test_report(&lab, &result, None);
    assert_eq!(report.remark, "The bags came in wet.");
    assert_eq!(report.external, ["sieving, by an invented laboratory"]);
    assert!(report.sample.sampling.contains("5 increments"), "{}", report.sample.sampling);
    assert!(report.before_issue, "nothing is issued yet");
}
