//! Reception, chain of custody, masses as a balance prints them, and finding by code.

use crate::story::Story;
use stonewear_lab::fact::{CustodyStep, Fact, Holder};
use stonewear_lab::find::ThingKind;
use stonewear_lab::request::*;

fn handed(sample: &str, to: &str, place: &str) -> HandOverSample {
    HandOverSample {
        sample: sample.into(),
        to: to.into(),
        place: place.into(),
        ..HandOverSample::default()
    }
}

fn out(sample: &str, step: &str, note: &str) -> HandOverSample {
    HandOverSample {
        sample: sample.into(),
        step: step.into(),
        note: note.into(),
        ..HandOverSample::default()
    }
}

#[test]
fn what_was_received_is_kept_with_who_took_and_brought_it() {
    let mut story = Story::equipped();
    let facts = story.given(ReceiveSample {
        source: "Quarry 3".into(),
        material: "dolerite 10/20".into(),
        nominal_maximum_mm: "19.0".into(),
        received_g: "25.40 kg".into(),
        bags: "2".into(),
        sampled_by: "Sam Pler".into(),
        sampled_on: "2026-02-27".into(),
        delivered_by: "a carrier".into(),
        place: "bay 4".into(),
        ..ReceiveSample::default()
    });
    let [Fact::SampleReceived { sample, received_g, received_as_read, bags, .. }] = &facts[..]
    else {
        panic!("{facts:?}")
    };
    assert_eq!(received_g.unwrap().to_string(), "25400");
    assert_eq!((received_as_read.as_str(), *bags), ("25.40 kg", Some(2)));
    let sample = &story.lab.samples[sample];
    assert_eq!(sample.sampled_on.unwrap().to_string(), "2026-02-27");
    assert_eq!((sample.sampled_by.as_str(), sample.kept_at()), ("Sam Pler", "bay 4"));
    assert_eq!(sample.holder(), Holder::Person("AB".into()));
}

#[test]
fn slips_at_reception_are_caught() {
    let story = Story::equipped();
    let bag = ReceiveSample {
        source: "Quarry 3".into(),
        material: "dolerite".into(),
        nominal_maximum_mm: "19.0".into(),
        ..ReceiveSample::default()
    };
    for (request, says) in [
        (
            ReceiveSample {
                sampled_on: "2026-02-20".into(),
                received_on: "2026-02-19".into(),
                ..bag.clone()
            },
            "sampled_on: it arrived on 2026-02-19, before it was taken on 2026-02-20",
        ),
        (
            ReceiveSample { bags: "none".into(), ..bag.clone() },
            "bags: “none” is not a number of bags",
        ),
        (ReceiveSample { received_g: "25 t".into(), ..bag.clone() }, "“t” is not a unit of mass"),
        (ReceiveSample { received_g: "5000 kg".into(), ..bag }, "5000000 g cannot be"),
    ] {
        let refused = story.refused(request);
        assert!(refused.contains(says), "{refused}");
    }
}

#[test]
fn the_chain_of_custody_tells_from_whom_to_whom() {
    let mut story = Story::equipped();
    let sample = story.sample("19.0");
    story.given(handed(&sample, "cd", "bay 4"));
    story.by = "CD".into();
    story.given(HandOverSample {
        condition: "bag torn, dry".into(),
        ..handed(&sample, "", "oven room")
    });
    story.given(HandOverSample {
        note: "half by the splitter, kept for another test".into(),
        ..HandOverSample { step: "split".into(), ..handed(&sample, "", "retained shelf") }
    });
    story.given(HandOverSample {
        note: "not needed any longer".into(),
        ..HandOverSample { step: "returned".into(), ..handed(&sample, "Invented Roads Ltd", "") }
    });
    let sample = &story.lab.samples[sample.as_str()];
    let chain: Vec<String> = sample
        .custody
        .iter()
        .map(|one| {
            let to = one.value.to.as_ref().map(ToString::to_string).unwrap_or_default();
            format!("{:?} {} > {to} @{}", one.value.step, one.value.from, one.value.place)
        })
        .collect();
    assert_eq!(
        chain,
        [
            "HandedOver AB > CD @bay 4",
            "Stored CD >  @oven room",
            "Split CD >  @retained shelf",
            "Returned CD > Invented Roads Ltd @",
        ]
    );
    // What was split off has another place; the sample itself stays where it was.
    assert_eq!(sample.holder(), Holder::Outside("Invented Roads Ltd".into()));
    assert_eq!(sample.gone().unwrap().value.step, CustodyStep::Returned);
}

#[test]
fn a_step_that_says_too_little_or_cannot_be_is_refused() {
    let mut story = Story::equipped();
    let sample = story.sample("19.0");
    for (request, says) in [
        (handed("S26-999", "CD", ""), "[sample-unknown] sample: there is no sample “S26-999”"),
        (handed("J1", "CD", ""), "J1 is a jar, not a sample"),
        (handed(&sample, "ZZ", ""), "[person-unknown] to: nobody here has the initials ZZ"),
        (handed(&sample, "AB", ""), "[custody-unchanged] to: AB has"),
        (handed(&sample, "", ""), "[input-missing] place: where it is kept now is missing"),
        (out(&sample, "disposed", ""), "note: why and how it was disposed of is missing"),
        (out(&sample, "returned", "spare"), "to: who has it now is missing"),
        (out(&sample, "split", ""), "note: how it was split"),
        (
            out(&sample, "eaten", "x"),
            "“eaten” is nothing that becomes of a sample; known: handed-over",
        ),
    ] {
        let refused = story.refused(request);
        assert!(refused.contains(says), "{refused}");
    }
}

#[test]
fn what_was_disposed_of_can_neither_be_handed_over_nor_made_up() {
    let mut story = Story::equipped();
    let sample = story.sample("19.0");
    story.given(out(&sample, "disposed", "client agreed, skip 2"));
    let day = story.lab.local(story.at).date();
    let refused = story.refused(handed(&sample, "CD", "bay 4"));
    assert!(
        refused.starts_with(&format!("[sample-gone] sample: {sample} was disposed of on {day}")),
        "{refused}"
    );
    let begin = BeginSpecimen {
        sample: sample.clone(),
        method: "astm-d6928".into(),
        grading: "19.0".into(),
        ..BeginSpecimen::default()
    };
    assert!(story.refused(begin.clone()).contains("[sample-gone] sample"), "a specimen of nothing");
    // Material may have been kept apart; then somebody says so.
    let kept = "made up from the part kept in bay 2";
    let facts = story.given(BeginSpecimen { deviation: kept.into(), ..begin });
    assert!(
        matches!(&facts[..], [.., Fact::SpecimenBegun { deviations, .. }] if deviations[0].reason == kept)
    );
}

#[test]
fn the_evidence_shows_the_chain_of_custody() {
    let mut story = Story::equipped();
    let (_, result) = story.loss();
    let sample = story.lab.results[result.as_str()].sample.to_string();
    let links = |story: &Story| story.lab.evidence(&story.lab.results[result.as_str()]);
    assert!(links(&story).iter().all(|link| link.role != "custody"));
    story.given(handed(&sample, "CD", "bay 4"));
    story.given(out(&sample, "disposed", "tested, nothing kept"));
    let links = links(&story);
    let custody = links.iter().find(|link| link.role == "custody").unwrap();
    assert_eq!(custody.name, "disposed of after 2 steps");
    assert_eq!(custody.positions.len(), 2);
}

#[test]
fn masses_are_recorded_in_grams_with_what_the_balance_printed() {
    let mut story = Story::equipped();
    let sample = story.sample("19.0");
    story.given(BeginSpecimen {
        sample: sample.clone(),
        method: "astm-d6928".into(),
        grading: "19.0".into(),
        ..BeginSpecimen::default()
    });
    let specimen = format!("{sample}-1");
    let weigh = |mass_g: &str| WeighBefore {
        specimen: specimen.clone(),
        mass_g: mass_g.into(),
        ..WeighBefore::default()
    };
    story.given(WeighFractions {
        specimen: specimen.clone(),
        masses_g: vec!["ST,NT,+  375.1 g".into(), "0.3748 kg".into(), "750,3".into()],
        ..WeighFractions::default()
    });
    for (typed, says) in [
        ("US,GS,+ 1500.1 g", "had not settled"),
        ("1500.1 oz", "“oz” is not a unit"),
        ("J1", "mass_g: J1 is a jar, not a mass; scan it into its own field"),
        ("1.5001", "the mass before is 1.5001 g; the method wants"),
        ("3.5 lb", "the mass before is 1587.57 g; the method wants"),
    ] {
        let refused = story.refused(weigh(typed));
        assert!(refused.contains(says), "{typed}: {refused}");
    }
    story.given(weigh("3.307 lb"));
    let known = &story.lab.specimens[specimen.as_str()];
    let fraction = |index: usize| {
        let mass = &known.fractions[&index][0].value;
        (mass.mass_g.to_string(), mass.as_read.clone())
    };
    assert_eq!(fraction(0), ("375.1".into(), "ST,NT,+ 375.1 g".into()));
    assert_eq!(fraction(1), ("374.8".into(), "0.3748 kg".into()));
    assert_eq!(fraction(2), ("750.3".into(), String::new()));
    // 3.307 × 453.59237, by hand.
    assert_eq!(known.before_g().unwrap().to_string(), "1500.02996759");
    assert_eq!(known.before[0].value.as_read, "3.307 lb");
}

#[test]
fn a_fact_from_before_there_were_units_is_still_read() {
    let old = r#"{"kind":"mass-weighed","specimen":"S26-001-1","weighing":"before","mass_g":"1500.0","balance":"BAL"}"#;
    let fact: Fact = serde_json::from_str(old).unwrap();
    assert!(matches!(&fact, Fact::MassWeighed { as_read, .. } if as_read.is_empty()));
    // And written as it was, so that its hash stays what it was.
    assert_eq!(
        serde_json::to_value(&fact).unwrap(),
        serde_json::from_str::<serde_json::Value>(old).unwrap()
    );
}

#[test]
fn a_code_finds_its_thing_and_a_part_of_a_name_what_is_near() {
    let mut story = Story::equipped();
    let (specimen, result) = story.loss();
    for (typed, kind) in [
        (specimen.as_str(), ThingKind::Specimen),
        (result.as_str(), ThingKind::Result),
        ("j1", ThingKind::Item(stonewear_procedure::ItemKind::Jar)),
        ("http://bench:7007/find?q=J1", ThingKind::Item(stonewear_procedure::ItemKind::Jar)),
        ("r26-001", ThingKind::Run),
        ("c26-001", ThingKind::Check),
        ("cd", ThingKind::Person),
    ] {
        assert_eq!(story.lab.thing(typed).unwrap().kind, kind, "{typed}");
    }
    assert_eq!(story.lab.thing("S26"), None);
    assert_eq!(story.lab.thing(""), None);
    let near = |typed: &str| -> Vec<String> {
        story.lab.near(typed, 5).into_iter().map(|thing| thing.code).collect()
    };
    assert_eq!(near("dell"), ["CD"], "by name");
    assert_eq!(near("S26-001")[0], "S26-001");
    assert!(near("S26-0O1-1").contains(&specimen), "a look-alike letter");
    assert_eq!(near(""), Vec::<String>::new());
    assert_eq!(near("zzzzzz"), Vec::<String>::new());
}
