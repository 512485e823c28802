//! The papers of rounds say what was found, and to a participant nothing of the others.

#![allow(clippy::unwrap_used, reason = "a test that fails here says where")]

use stonewear_demo::{SEED, scenario};
use stonewear_lab::{Lab, Recorded};
use stonewear_method::library::built_in_methods;
use stonewear_procedure::built_in_procedures;
use stonewear_report::{
    Block, Sheet, participant_report, proficiency_sheet, round_instructions, round_report,
};

fn demo() -> (Lab, jiff::Timestamp) {
    let mut lab = Lab::new();
    let batches = scenario(SEED, &built_in_methods(), &built_in_procedures()).unwrap();
    let last = batches.last().unwrap().at;
    for batch in &batches {
        for fact in &batch.facts {
            lab.apply(&Recorded {
                position: lab.position + 1,
                at: batch.at,
                by: batch.by.clone(),
                fact: fact.clone(),
            });
        }
    }
    (lab, last)
}

fn said(sheet: &Sheet) -> String {
    serde_json::to_string(sheet).unwrap()
}

#[test]
fn every_paper_is_complete_and_a_participant_sees_no_other() {
    let (lab, at) = demo();
    let round = lab.rounds.values().next().unwrap();
    let organiser = said(&round_report(&lab, round, at));
    for joined in round.participants.values() {
        assert!(organiser.contains(joined.value.participant.as_str()));
        assert!(organiser.contains(&joined.value.laboratory));
    }
    assert!(organiser.contains("the lid of the first jar leaked"), "the reason is printed");
    let host = &lab.identity.as_ref().unwrap().name;
    for own in round.participants.values().map(|joined| &joined.value) {
        let code = own.participant.as_str();
        let report = participant_report(&lab, round, code, at).unwrap();
        let instructions = round_instructions(&lab, round, Some(own), at);
        for sheet in [&report, &instructions] {
            let text = said(sheet);
            assert!(sheet.invented && text.contains(code), "{code}");
            for other in round.participants.values().map(|joined| &joined.value) {
                if other.participant == own.participant {
                    continue;
                }
                assert!(!text.contains(other.participant.as_str()), "{code} reads of another");
                // The organiser's own name stands at the head of every paper.
                assert!(other.laboratory == *host || !text.contains(&other.laboratory));
                let contact = other.contact.trim();
                assert!(contact.is_empty() || !text.contains(contact));
            }
        }
        let tables = report.blocks.iter().filter(|block| matches!(block, Block::Table(_)));
        assert_eq!(tables.count(), 3, "own results, precision, assigned values");
    }
    assert!(participant_report(&lab, round, "XX-99", at).is_none());
}

#[test]
fn instructions_say_how_by_when_and_what_can_hurt() {
    let (lab, at) = demo();
    let round = lab.rounds.values().next().unwrap();
    let text = said(&round_instructions(&lab, round, None, at));
    let closes = round.plan.value.closes_on.to_string();
    for expected in [
        closes.as_str(),
        "crushed limestone 10/20",
        "Dust",
        "Lifting",
        "Oven",
        "Turning jars",
        "Local codes",
    ] {
        assert!(text.contains(expected), "{expected}");
    }
    assert!(!text.contains("Your code"), "a sheet for all holds no code");
}

#[test]
fn every_table_is_as_wide_as_its_head() {
    let (lab, at) = demo();
    let round = lab.rounds.values().next().unwrap();
    let code = round.participants.keys().next().unwrap().to_string();
    for sheet in [
        round_report(&lab, round, at),
        participant_report(&lab, round, &code, at).unwrap(),
        round_instructions(&lab, round, None, at),
        proficiency_sheet(&lab, at),
    ] {
        for block in &sheet.blocks {
            let Block::Table(table) = block else { continue };
            assert!(!table.rows.is_empty(), "{}", table.caption);
            assert!(
                table.rows.iter().all(|row| row.len() == table.columns.len()),
                "{}",
                table.caption
            );
        }
    }
}

#[test]
fn the_paper_of_scores_tells_cause_action_and_end() {
    let (lab, at) = demo();
    let text = said(&proficiency_sheet(&lab, at));
    for expected in ["questionable", "22 g light", "its check now every month", "Closed: "] {
        assert!(text.contains(expected), "{expected}");
    }
}
