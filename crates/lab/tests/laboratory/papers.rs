//! Papers: what may be issued, under which number, and when a paper no longer stands.

use crate::story::Story;
use stonewear_lab::Fact;
use stonewear_lab::fact::{PaperFact, PaperIssued, PaperKind, SheetSize};
use stonewear_lab::request::*;
use stonewear_lab::state::{PRINTED_FINGERPRINT, Since};

/// A hash of the right form that no other has.
fn hash(seed: u64) -> String {
    format!("{seed:016x}").repeat(4)
}

/// The next report of a result, made now, with this fingerprint.
fn issue(story: &Story, result: &str, seed: u64) -> IssuePaper {
    let next = story.lab.next_paper(PaperKind::TestReport, result, story.at);
    IssuePaper {
        paper: "test-report".into(),
        of: result.into(),
        number: next.map(|next| next.number).unwrap_or_default(),
        fingerprint: hash(seed),
        made_at: story.lab.position.to_string(),
        sha256: hash(seed + 1000),
        bytes: "65000".into(),
        ..IssuePaper::default()
    }
}

fn issued(facts: &[Fact]) -> PaperIssued {
    match facts {
        [Fact::Paper(PaperFact::Issued(issued))] => issued.clone(),
        other => panic!("{other:?}"),
    }
}

fn released() -> (Story, String, String) {
    let mut story = Story::equipped();
    let (specimen, result) = story.loss();
    story.given(ReleaseResult { result: result.clone(), ..ReleaseResult::default() });
    (story, specimen, result)
}

#[test]
fn a_report_is_issued_once_a_person_has_released_the_result() {
    let mut story = Story::equipped();
    let (_, result) = story.loss();
    let early = IssuePaper { number: format!("{result}/1"), ..issue(&story, &result, 1) };
    assert!(story.refused(early).contains("nobody has released"));
    story.given(ReleaseResult { result: result.clone(), ..ReleaseResult::default() });

    let paper = issued(&story.given(issue(&story, &result, 1)));
    assert_eq!((paper.number.as_str(), paper.replaces), (format!("{result}/1").as_str(), None));
    assert_eq!((paper.covers[0].version, paper.made_at + 1), (1, story.lab.position));

    let found = story.lab.paper_of(&hash(1)[..PRINTED_FINGERPRINT].to_uppercase()).unwrap();
    assert_eq!(found.value.number, format!("{result}/1"));
    assert_eq!(story.lab.since_issue(found), []);
    // Too few digits name nothing, and neither do others.
    assert_eq!(story.lab.paper_of(&hash(1)[..8]), None);
    assert_eq!(story.lab.paper_of(&hash(2)), None);
    assert_eq!(story.lab.issued_report(&story.lab.results[result.as_str()]), Some(found));
}

#[test]
fn what_is_wrong_with_a_paper_is_said_at_its_field() {
    let (mut story, _, result) = released();
    let right = issue(&story, &result, 1);
    for (wrong, words) in [
        (IssuePaper { paper: "poem".into(), ..right.clone() }, "no paper that is issued"),
        (IssuePaper { of: "L26-999".into(), ..right.clone() }, "there is no result"),
        (IssuePaper { number: "L26-001/7".into(), ..right.clone() }, "the next is"),
        (IssuePaper { made_at: "99999".into(), ..right.clone() }, "no place in the journal"),
        (IssuePaper { made_at: "1".into(), ..right.clone() }, "has changed since"),
        (IssuePaper { fingerprint: "ABC".into(), ..right.clone() }, "no SHA-256"),
        (IssuePaper { sha256: String::new(), ..right.clone() }, "no SHA-256"),
        (IssuePaper { bytes: "0".into(), ..right.clone() }, "not the size of a file"),
    ] {
        let said = story.refused(wrong);
        assert!(said.contains(words), "{words}: {said}");
    }
    story.by = "CD".into();
    assert!(story.refused(right.clone()).contains("may not release"));
    story.by = "AB".into();
    story.given(right.clone());
    // The very same paper is not issued twice, and another one needs a reason.
    assert!(story.refused(issue(&story, &result, 1)).contains("issued already"));
    assert!(story.refused(issue(&story, &result, 2)).contains("why another takes its place"));
}

#[test]
fn a_paper_is_replaced_revised_or_doubted() {
    let (mut story, specimen, result) = released();
    story.given(issue(&story, &result, 1));
    let again =
        IssuePaper { reason: "the customer was misspelt".into(), ..issue(&story, &result, 2) };
    let second = issued(&story.given(again));
    assert_eq!(second.number, format!("{result}/1.2"));
    assert_eq!(second.replaces, Some(format!("{result}/1")));
    let since = |story: &Story, seed: u64| {
        let paper = story.lab.paper_of(&hash(seed)).unwrap().clone();
        story.lab.since_issue(&paper)
    };
    assert_eq!(
        since(&story, 1),
        [Since::Replaced { by: second.number, reason: "the customer was misspelt".into() }]
    );
    assert_eq!(since(&story, 2), []);

    story.given(OpenDoubt {
        item: "BAL".into(),
        attribute: "indication".into(),
        since: "2026-03-01".into(),
        reason: "it stood askew".into(),
        ..OpenDoubt::default()
    });
    assert!(
        matches!(since(&story, 2).as_slice(), [Since::InDoubt { reason, .. }] if reason == "it stood askew")
    );

    let after = story.lab.specimens[specimen.as_str()].after_g().unwrap();
    story.given(WeighAfter {
        specimen,
        mass_g: (after - stonewear_measure::Decimal::TEN).to_string(),
        balance: "BAL".into(),
        sieve: "S118".into(),
        reason: "a digit was misread".into(),
        ..WeighAfter::default()
    });
    let said = since(&story, 2);
    assert!(said.iter().any(|one| matches!(one, Since::Revised { version: 2, .. })), "{said:?}");
    // The new version has to be released before it has a report, which then is numbered as it.
    assert_eq!(story.lab.next_paper(PaperKind::TestReport, &result, story.at), None);
    story.given(ReleaseResult { result: result.clone(), ..ReleaseResult::default() });
    let third = issued(&story.given(issue(&story, &result, 3)));
    assert_eq!(third.number, format!("{result}/2"));
    assert_eq!(third.reason, "a digit was misread", "the reason is on record already");
}

#[test]
fn a_project_has_one_number_after_the_other() {
    let (mut story, _, result) = released();
    let sample = story.lab.results[result.as_str()].sample.to_string();
    let project = "Invented bypass";
    assert_eq!(story.lab.next_paper(PaperKind::ProjectReport, project, story.at), None);
    story.given(CorrectSample {
        sample,
        project: project.into(),
        reason: "it was not named".into(),
        ..CorrectSample::default()
    });
    // What was corrected under a result has to be released again.
    assert_eq!(story.lab.next_paper(PaperKind::ProjectReport, project, story.at), None);
    story.given(ReleaseResult { result: result.clone(), ..ReleaseResult::default() });
    let next = story.lab.next_paper(PaperKind::ProjectReport, project, story.at).unwrap();
    assert_eq!((next.number.as_str(), next.covers.len()), ("G26-001", 1));
    story.given(IssuePaper {
        paper: "project-report".into(),
        of: project.into(),
        number: next.number,
        ..issue(&story, &result, 5)
    });
    let next = story.lab.next_paper(PaperKind::ProjectReport, project, story.at).unwrap();
    assert_eq!(next.number, "G26-002");
    assert_eq!(next.replaces.as_deref(), Some("G26-001"));
}

#[test]
fn a_letterhead_is_set_whole_and_its_logo_stays_until_another_comes() {
    let mut story = Story::founded();
    let request = SetLetterhead {
        address: " 1 Invented Street \n\nInvented Town".into(),
        contact: "0100 555 010".into(),
        sheet: "Letter".into(),
        page: "http://bench:7007/".into(),
        ..SetLetterhead::default()
    };
    let logo = b"<svg xmlns='http://www.w3.org/2000/svg'><path d='M0 0h9v9z'/></svg>";
    story.given(SetLetterhead { logo_name: "mark.svg".into(), ..request.clone().with_logo(logo) });
    let set = story.lab.letterhead().unwrap().clone();
    assert_eq!(set.address, ["1 Invented Street", "Invented Town"]);
    assert_eq!((set.sheet, set.page.as_str()), (SheetSize::Letter, "http://bench:7007"));
    assert_eq!(set.logo.as_ref().unwrap().media_type, "image/svg+xml");

    assert!(story.refused(SetLetterhead::keeping(&set)).contains("is that already"));
    story.given(SetLetterhead {
        contact: "new@invented.example".into(),
        ..SetLetterhead::keeping(&set)
    });
    assert_eq!(story.lab.letterhead().unwrap().logo, set.logo);
    story.given(SetLetterhead { language: "fr".into(), ..SetLetterhead::keeping(&set) });
    let french = story.lab.letterhead().unwrap().clone();
    assert_eq!((set.language.tag(), french.language.tag()), ("en", "fr"));
    story.given(SetLetterhead { logo: "none".into(), ..SetLetterhead::keeping(&set) });
    assert_eq!(story.lab.letterhead().unwrap().logo, None);

    for (wrong, words) in [
        (SetLetterhead { sheet: "a5".into(), ..request.clone() }, "no size of paper"),
        (SetLetterhead { language: "tlh".into(), ..request.clone() }, "writes no papers in “tlh”"),
        (SetLetterhead { page: "bench".into(), ..request.clone() }, "no address of a page"),
        (SetLetterhead { address: "1\n2\n3\n4\n5".into(), ..request.clone() }, "too many"),
        (SetLetterhead { logo: "§".into(), ..request.clone() }, "did not arrive whole"),
        (request.clone().with_logo(b"<svg><script/></svg>"), "no logo that can be printed"),
        (request.clone().with_logo(&[0x89; 70_000]), "at most 65536"),
    ] {
        let said = story.refused(wrong);
        assert!(said.contains(words), "{words}: {said}");
    }
    story.by = "CD".into();
    assert!(story.refused(request).contains("may not manage"));
}
