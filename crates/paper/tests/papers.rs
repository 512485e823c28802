//! Papers as a reader gets them: text taken out of the file, page count, bytes.
//!
//! `pdftotext` of poppler-utils reads the files; it knows nothing of how they were made.

#![allow(clippy::unwrap_used, reason = "a helper of a test may fail as a test does")]

mod reading;
mod samples;

use reading::text_of;
use serde_json::Value;
use std::collections::BTreeSet;
use stonewear_paper::{Press, TypesetError, Typesetter};
use stonewear_report::{Outcome, TestReport};

/// The same on one line, to look for sentences that may wrap anywhere.
fn words_of(pdf: &[u8]) -> String {
    text_of(pdf).replace('\n', " ")
}

fn print(report: &TestReport) -> Vec<u8> {
    Press::new().unwrap().test_report(report).unwrap()
}

#[track_caller]
fn says(words: &str, sentences: &[&str]) {
    for sentence in sentences {
        assert!(words.contains(sentence), "“{sentence}” is missing in:\n{words}");
    }
}

#[test]
fn an_ordinary_report_says_all_that_it_must() {
    insta::assert_snapshot!(text_of(&print(&TestReport::example())), @r"
    Invented data: demonstration laboratory
    Alder Ford Materials Laboratory
    4 Weir Lane, Alder Ford · work done at: Bay 2, wet room
    Test report
    R-2026-0117
    Loss of coarse aggregate in wet attrition
    ASTM D6928, edition 2010 · Coarse aggregate, abrasion in a rolling jar with water
    Loss in wet attrition
    14.8%
    ± 1.1 % k = 2, coverage 95 %
    from the laboratory's own reference aggregate
    Conforms required: at most 17.0 %
    limit 17.0
    14.8 %
    Limit from Harrow Vale specification HV-7, table 2
    Rule guard band equal to the expanded uncertainty; risk of a false
    acceptance at most 2.5 %
    Drawn diamond: the loss, whisker: its uncertainty, hatched: guard band
    Customer Harrow Vale Roads
    Address 12 Old Toll House, Harrow
    Vale
    Reference HV 26/041
    Project Harrow Vale bypass, section
    3
    For use in Surface course
    Condition Two sealed bags, damp,
    undamaged
    Sample S-2026-0231
    Material Crushed dolerite, 19 mm
    Source Cold Knuckle quarry, bench 4
    Sampling Taken by the customer from the
    stockpile
    Sampled 2026-03-09
    Received 2026-03-11
    Tested 2026-03-17
    Issued 2026-03-18
    Specimen S-2026-0231-A · grading 19.0 mm
    passing – kept on, mm wanted g weighed g verdict
    19.0 – 16.0 375 375.1 no limit
    16.0 – 12.5 375 374.8 no limit
    12.5 – 9.5 750 749.9 no limit
    Total 1500 ± 5 1499.8 inside
    weighed mass g balance
    A oven-dry, before 1499.8 BAL-02
    B oven-dry, kept on 1.18 mm, after 1278.1 BAL-02
    run observed limit verdict
    Apparatus AP-01, jar mill in bay 2
    Jar and position J-03, lower left
    Charge 5001.2 g 4995 to 5005 g inside
    Water 2.00 L 1.95 to 2.05 L inside
    Water temperature 20.4 °C 15 to 25 °C inside
    Soak 1 h 10 min at least 1 h inside
    Revolutions 12 004 11 900 to 12 100 inside
    Running time 119.6 min 119 to 121 min inside
    Speed 100.4 rpm 95 to 105 rpm inside
    Working
    Formula L = 100 (A − B) / A
    With numbers L = 100 (1499.8 − 1278.1) / 1499.8
    Unrounded 14.78197…
    Rounding to 0.1, a half to the even digit (ASTM
    E29)
    Reported 14.8 %
    To be read with the result
    Figures under this result that the laboratory has not yet confirmed against its own copy
    of the method. From memory: water, tolerance ± 0.05 L, water temperature 20 ± 5 °C,
    revolutions, tolerance ± 100, running time, tolerance ± 1 min.
    Precision of the method: Two results of one sample from two laboratories: coefficient of
    variation about 5.6 % near a loss of 17 % (from memory, unconfirmed).
    What the result stands on
    Result
    14.8 %
    reported
    on 2026-03-18
    Specimen
    S-2026-0231-A
    made up
    on 2026-03-16
    Run
    RUN-0409
    complete
    on 2026-03-17
    Jar
    J-03
    in service
    since 2026-01-12
    until 2027-01-12
    Ball charge
    C-02
    in service
    since 2026-03-02
    until 2026-04-02
    Apparatus
    AP-01
    jar mill
    in service
    since 2025-11-20
    until 2026-11-20
    Balance
    BAL-02
    6 kg
    in service
    since 2026-02-04
    until 2027-02-04
    Person
    T. Okoro
    authorised
    since 2024-05-01
    until 2026-05-01
    Authorised by
    Ilse Maron
    Head of the aggregate bench
    2026-03-18 14:05 UTC
    Source, sampling and intended use as stated by
    the customer. The result relates only to the
    items tested. This report may be passed on
    only as a whole.
    Journal at fact 4182, hash
    9c1f4b7a d20e8356 6f0b1d94 c7e2a83b 5d6e901f
    7a24c8b3 5e0d716f 29ab84c3
    End of report
    Report R-2026-0117 · Alder Ford Materials Laboratory Page 1 of 1
    ");
}

#[test]
fn the_usual_case_fits_one_sheet() {
    for (name, report) in samples::all() {
        if !["two-specimens", "crowded", "thirty-fractions"].contains(&name) {
            says(&words_of(&print(&report)), &["Page 1 of 1", "End of report"]);
        }
    }
}

#[test]
fn files_that_are_kept_with_it_are_named() {
    let mut report = TestReport::example();
    report.files = vec![stonewear_report::AttachedFile {
        of: "S26-014".to_owned(),
        name: "job sheet.pdf".to_owned(),
        sha256: "9f86d081884c7d659a2feaa0c55ad015".repeat(2),
    }];
    let text = text_of(&print(&report)).split_whitespace().collect::<Vec<_>>().join(" ");
    let said = "Files kept with it, SHA-256 begins: job sheet.pdf (S26-014) 9f86d081884c";
    assert!(text.contains(said), "{text}");
}

#[test]
fn more_flows_on_with_its_number_on_every_sheet() {
    for report in [samples::crowded(), samples::thirty_fractions(), samples::two_specimens()] {
        let words = words_of(&print(&report));
        says(&words, &["Page 1 of 2", "Page 2 of 2"]);
        assert_eq!(words.matches("Invented data: demonstration laboratory").count(), 2);
        assert_eq!(words.matches("End of report").count(), 1);
    }
}

#[test]
fn a_failing_result_on_an_unproved_apparatus_is_plain_to_read() {
    says(
        &words_of(&print(&samples::failing())),
        &[
            "Does not conform required: at most 17.0 %",
            "Deviation run on AP-01 while it was held. Reason: the only machine with \
             free positions; customer informed.",
            "Allowed by Ilse Maron",
            "One link is not proved: Apparatus AP-01.",
            "NOT PROVED speed check failed",
            "Speed 93.8 rpm 95 to 105 rpm outside",
        ],
    );
}

#[test]
fn every_outcome_has_its_words() {
    for outcome in Outcome::ALL {
        let mut report = TestReport::example();
        samples::decide(&mut report, outcome);
        says(&words_of(&print(&report)), &[outcome.words()]);
    }
}

#[test]
fn without_a_limit_nothing_is_decided() {
    let words = words_of(&print(&samples::no_limit()));
    says(&words, &["No requirement was given.", "Uncertainty not stated"]);
    assert!(!words.contains("Conforms") && !words.contains("Rule"));
}

#[test]
fn amendments_and_doubts_are_marked() {
    says(
        &words_of(&print(&samples::crowded())),
        &[
            "Amendment Replaces report R-2026-0101.",
            "Reason: the delivery note was misread. T. Okoro, 2026-03-18",
            "Doubt Balance BAL-02 read 0.6 g high on 2026-03-17. The loss changes by less than",
            "2 links are not proved: Apparatus AP-01, Apparatus AP-01-second-of-the-kind.",
        ],
    );
}

#[test]
fn what_is_not_recorded_is_told_and_a_draft_is_no_report() {
    let words = words_of(&print(&samples::empty()));
    says(&words, &["Draft: not authorised, not a report", "Nobody yet: this is a draft."]);
    says(&words, &["Customer not recorded", "Condition not recorded", "Tested not recorded"]);
    assert!(!words.contains("Invented"));
}

#[test]
fn every_character_is_printed_as_it_is() {
    says(
        &words_of(&print(&samples::letters())),
        &[
            "Łódź Żwir & Größe, Σίγμα, Щебень, [U+77F3] [U+6750]",
            r##"#let x = 1 *bold* _it_ $a^2$ <tag> @ref \ `raw` = head // "q" #panic()"##,
            "déjà vu – “naïve” 1 ≤ 2 ± 0.5 µm · 20 °C",
            "- list + more / term: [U+202E]evil[U+0007]",
        ],
    );
}

#[test]
fn the_same_data_gives_the_same_bytes() {
    let press = Press::new().unwrap();
    let mut seen = BTreeSet::new();
    for (name, report) in samples::all() {
        let bytes = press.test_report(&report).unwrap();
        assert!(bytes == press.test_report(&report).unwrap(), "{name} differs when made again");
        assert!(bytes == print(&report), "{name} differs from a fresh press");
        assert!(seen.insert(bytes), "{name} is no paper of its own");
    }
}

#[test]
fn the_file_is_archival_and_accessible() {
    let bytes = print(&TestReport::example());
    let file = String::from_utf8_lossy(&bytes);
    for mark in [
        "<pdfaid:part>2</pdfaid:part>",
        "<pdfaid:conformance>A</pdfaid:conformance>",
        "<pdfuaid:part>1</pdfuaid:part>",
        "Test report R-2026-0117: Loss of coarse aggregate in wet attrition",
        "<xmp:CreateDate>2026-03-18T14:05:00+00:00</xmp:CreateDate>",
        "<rdf:li>en</rdf:li>",
    ] {
        assert!(file.contains(mark), "{mark}");
    }
}

#[test]
fn an_instant_that_is_none_is_refused_in_words() {
    let report = TestReport { issued_at: "18.3.2026".into(), ..TestReport::example() };
    let error = Press::new().unwrap().test_report(&report).unwrap_err();
    assert_eq!(
        error,
        TypesetError::Instant { field: "instant of issue", given: "18.3.2026".into() }
    );
}

/// Puts the text into every field that holds free text.
fn fill(value: &mut Value, text: &str) {
    match value {
        Value::String(held) => *held = text.into(),
        Value::Array(items) => items.iter_mut().for_each(|item| fill(item, text)),
        Value::Object(fields) => {
            for (name, field) in fields {
                if !["is", "verdict", "outcome", "paper", "issued_at"].contains(&name.as_str()) {
                    fill(field, text);
                }
            }
        }
        Value::Null | Value::Bool(_) | Value::Number(_) => {}
    }
}

#[test]
fn no_text_in_any_field_stops_the_press() {
    let press = Press::new().unwrap();
    let endless = "W".repeat(60);
    for text in [
        "",
        "  ",
        endless.as_str(),
        "#panic(\"x\") $ [ ] { } \\ @ < > * _",
        "\0\u{1}\u{7f}\r\n\t",
        "نص عربي",
        "e\u{301}\u{302}\u{303}",
        "👩‍🔬 石",
        "\u{fffe}\u{10ffff}\u{e000}",
        "NaN",
        "1e999",
        "-0.0",
        "−3",
    ] {
        let mut report = serde_json::to_value(samples::crowded()).unwrap();
        fill(&mut report, text);
        let report: TestReport = serde_json::from_value(report).unwrap();
        let made = press.test_report(&report);
        assert!(made.is_ok(), "{text:?}: {}", made.unwrap_err());
    }
}

#[test]
fn a_report_is_said_in_the_language_that_is_asked_for() {
    let french = TestReport { language: "fr".to_owned(), ..TestReport::example() };
    let words = words_of(&print(&french));
    says(
        &words,
        &[
            "Rapport d’essai",
            "Données fictives : laboratoire de démonstration",
            "Conforme",
            "14,8",
            "limite 17,0",
            "Page 1 sur",
            "Fin du rapport",
            // Names and what the customer said stay; so do editions and designations.
            "Crushed dolerite, 19 mm",
            "Harrow Vale Roads",
            "ASTM D6928",
        ],
    );
    for english in ["Test report", "Conforms", "End of report", "14.8", "Authorised by"] {
        assert!(!words.contains(english), "“{english}” is English still in:\n{words}");
    }
    assert_eq!(print(&french), print(&french), "the same bytes for the same report");
    for language in ["es", "de"] {
        let report = TestReport { language: language.to_owned(), ..TestReport::example() };
        let said = words_of(&print(&report));
        assert!(!said.contains("Test report") && said.contains("14,8"), "{said}");
    }
}
