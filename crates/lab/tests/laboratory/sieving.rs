//! A sample is sieved: what is recorded, what is caught, and which grading follows.

use crate::story::Story;
use stonewear_lab::Fact;
use stonewear_lab::decide::sieving::running;
use stonewear_lab::fact::SievingRecorded;
use stonewear_lab::request::*;

/// 10 000 g; the nominal maximum size is 12.5 mm by the default definition, 19.0 mm by “anything
/// retained”.
const TAILED: &str = "sieve_mm,retained_g\n25.0,0\n19.0,60\n16.0,340\n12.5,500\n9.5,3000\n6.3,3000\n4.75,2100\npan,1000\n";

fn sieved(sample: &str) -> RecordSieving {
    RecordSieving {
        sample: sample.into(),
        table: TAILED.into(),
        before_g: "10010".into(),
        ..RecordSieving::default()
    }
}

fn rows(rows: &[(&str, &str)]) -> Vec<SievedRow> {
    let row = |(sieve, mass): &(&str, &str)| SievedRow {
        sieve: (*sieve).into(),
        retained_g: (*mass).into(),
    };
    rows.iter().map(row).collect()
}

#[test]
fn rows_and_a_table_give_the_same_fact() {
    let mut story = Story::equipped();
    let sample = story.sample("19.0");
    let by_table = story.ask(sieved(&sample)).unwrap();
    let by_rows = story
        .ask(RecordSieving {
            table: String::new(),
            rows: rows(&[
                ("25.0", "0"),
                ("3/4 in.", "60"),
                ("22.4", ""),
                ("16.0", "340"),
                ("1/2 in.", "500"),
                ("3/8 in.", "3000"),
                ("1/4 in.", "3000"),
                ("No. 4", "2100"),
            ]),
            pan_g: "1000".into(),
            ..sieved(&sample)
        })
        .unwrap();
    assert_eq!(by_table, by_rows);
    let [Fact::SievingRecorded(SievingRecorded { nominal_maximum_mm, deviations, .. })] =
        &by_table[..]
    else {
        panic!("{by_table:?}");
    };
    assert_eq!(nominal_maximum_mm.unwrap().to_string(), "12.5");
    assert!(deviations.is_empty());
}

#[test]
fn the_analysis_wins_over_the_declared_size_and_the_reason_says_so() {
    let mut story = Story::equipped();
    let sample = story.sample("19.0");
    let begin = BeginSpecimen {
        sample: sample.clone(),
        method: "astm-d6928".into(),
        ..BeginSpecimen::default()
    };
    let grading = |facts: &[Fact]| match facts.last() {
        Some(Fact::SpecimenBegun { grading, grading_reason, .. }) => {
            (grading.clone(), grading_reason.clone())
        }
        other => panic!("{other:?}"),
    };
    assert_eq!(grading(&story.ask(begin.clone()).unwrap()), ("19.0".into(), String::new()));
    story.given(sieved(&sample));
    let (name, why) = grading(&story.given(begin.clone()));
    assert_eq!(name, "12.5");
    assert_eq!(
        why,
        "the nominal maximum size by the sieve analysis is 12.5 mm (one sieve above the first that retains more than 10 % (cumulative)); the sample came in as 19.0 mm; nominal maximum size 12.5 mm"
    );
    assert_eq!(story.lab.specimens[format!("{sample}-1").as_str()].grading_reason, why);
    // The grading of the declared size is a departure now.
    let declared = BeginSpecimen { grading: "19.0".into(), ..begin };
    assert_eq!(
        story.refused(declared.clone()),
        "[grading-other] grading: the nominal maximum size by the sieve analysis is 12.5 mm (one sieve above the first that retains more than 10 % (cumulative)); the sample came in as 19.0 mm; ASTM D6928 then takes the grading 12.5, not 19.0; choose it, or record why not"
    );
    story.given(BeginSpecimen { deviation: "the client asks for it".into(), ..declared });
}

#[test]
fn the_definition_is_the_laboratorys_unless_another_is_named() {
    let mut story = Story::equipped();
    let sample = story.sample("19.0");
    let size = |facts: Vec<Fact>| match &facts[..] {
        [Fact::SievingRecorded(SievingRecorded { nominal_maximum_mm, definition, .. })] => {
            (nominal_maximum_mm.map(|mm| mm.to_string()), definition.name())
        }
        other => panic!("{other:?}"),
    };
    let default = size(story.ask(sieved(&sample)).unwrap());
    assert_eq!(default, (Some("12.5".into()), "one-above-10-percent"));
    story.given(SetSievingRules {
        definition: "any-retained".into(),
        reason: "our specification follows the note".into(),
        ..SetSievingRules::default()
    });
    assert_eq!(size(story.ask(sieved(&sample)).unwrap()), (Some("19.0".into()), "any-retained"));
    let named = RecordSieving { definition: "all-passing".into(), ..sieved(&sample) };
    assert_eq!(size(story.ask(named).unwrap()), (Some("25.0".into()), "all-passing"));
    let unknown = RecordSieving { definition: "biggest".into(), ..sieved(&sample) };
    assert_eq!(
        story.refused(unknown),
        "[input-choice] definition: “biggest” is not a definition of the nominal maximum size; write one-above-10-percent, more-than-1-percent, at-most-5-percent, all-passing, any-retained"
    );
    story.by = "CD".into();
    assert!(story.refused(SetSievingRules::default()).starts_with("[right-missing]"));
}

#[test]
fn the_closing_check_is_a_departure_that_a_reason_excuses() {
    let mut story = Story::equipped();
    let sample = story.sample("19.0");
    let lost = RecordSieving { before_g: "10100".into(), ..sieved(&sample) };
    assert_eq!(
        story.refused(lost.clone()),
        "[closing-check] table: 10000 g after sieving against 10100 g before: 0.99 % lost; ASTM C136, AASHTO T 27 allows 0.3 %; look for a sieve that was not weighed or a mass in the wrong row, sieve again, or record why it stays"
    );
    // The other document allows it.
    assert!(story.ask(RecordSieving { closing: "en-933-1".into(), ..lost.clone() }).is_ok());
    let unchecked = RecordSieving { before_g: String::new(), ..sieved(&sample) };
    assert!(story.refused(unchecked).starts_with("[closing-unchecked] before_g:"));
    let excused = RecordSieving { deviation: "some was spilled, and only that".into(), ..lost };
    story.given(excused);
    let sieving = story.lab.samples[sample.as_str()].sieving().unwrap();
    assert_eq!(sieving.value.deviations[0].value.rule, "closing-check");
    assert!(!sieving.value.closed().unwrap().holds());
}

#[test]
fn an_analysis_is_replaced_only_with_a_reason_and_the_former_stays() {
    let mut story = Story::equipped();
    let sample = story.sample("19.0");
    story.given(sieved(&sample));
    assert_eq!(
        story.refused(sieved(&sample)),
        format!(
            "[replaces-record] reason: an analysis of {sample} is already recorded; give the reason for replacing it; the former analysis is kept"
        )
    );
    story.given(RecordSieving { reason: "the 16 mm sieve was torn".into(), ..sieved(&sample) });
    assert_eq!(story.lab.samples[sample.as_str()].sievings.len(), 2);
}

#[test]
fn a_mistake_is_caught_where_it_was_made() {
    let mut story = Story::equipped();
    let sample = story.sample("19.0");
    let typed = |kept: &[(&str, &str)], pan: &str| RecordSieving {
        table: String::new(),
        rows: rows(kept),
        pan_g: pan.into(),
        before_g: "1000".into(),
        ..sieved(&sample)
    };
    let good: &[(&str, &str)] = &[("19.0", "0"), ("12.5", "600")];
    let cases = [
        (
            typed(&[("19.0", "x"), ("12.5", "600")], "400"),
            "[input-number] rows.0.retained_g: “x” is not a number",
        ),
        (
            typed(&[("19.0", "-5"), ("12.5", "600")], "400"),
            "[input-impossible] rows.0.retained_g: -5 g cannot be",
        ),
        (
            typed(&[("19.3", "5")], "400"),
            "[input-sieve] rows.0.sieve: no sieve of the general sets has an opening of 19.3 mm",
        ),
        (
            typed(&[("19.0", "5"), ("3/4 in.", "600")], "400"),
            "[input-impossible] pan_g: the sieve 19.0 mm (3/4 in.) stands twice",
        ),
        (typed(good, ""), "[input-number] pan_g: a number is missing"),
        (typed(&[], "400"), "[input-missing] rows: no mass on a sieve is given"),
        (
            RecordSieving { after_wash_g: "1001".into(), ..typed(good, "400") },
            "[input-impossible] pan_g: the mass after washing, 1001 g, is more than the 1000 g before",
        ),
        (RecordSieving { pan_g: "400".into(), ..sieved(&sample) }, "[input-twice] table:"),
        (
            RecordSieving { table: "sieve_mm,retained_g\n19,1\n".into(), ..sieved(&sample) },
            "[input-table] table: there is no row “pan”",
        ),
        (RecordSieving { sample: "S99-001".into(), ..sieved(&sample) }, "[sample-unknown] sample:"),
        // A sieve of 300 g that was forgotten.
        (
            typed(&[("19.0", "0"), ("12.5", "300")], "400"),
            "[closing-check] pan_g: 700 g after sieving",
        ),
    ];
    for (request, wanted) in cases {
        let said = story.refused(request);
        assert!(said.starts_with(wanted), "wanted {wanted}\nsaid {said}");
    }
    assert!(story.ask(typed(good, "400")).is_ok());
}

#[test]
fn the_sum_runs_along_while_it_is_typed() {
    let typed = |before: &str, kept: &[(&str, &str)], pan: &str| {
        running(&RecordSieving {
            before_g: before.into(),
            rows: rows(kept),
            pan_g: pan.into(),
            ..RecordSieving::default()
        })
    };
    let words = |text: &str| Some(text.to_owned());
    assert_eq!(
        typed("1000", &[("19", "600.5")], ""),
        words("600.5 g of 1000 g so far; 399.5 g still to be found")
    );
    assert_eq!(
        typed("1000", &[("19", "600")], "400"),
        words("1000 g of 1000 g so far; nothing is missing")
    );
    assert_eq!(
        typed("1000", &[("19", "600"), ("16", "x")], "401"),
        words("1001 g of 1000 g so far; 1 g too much")
    );
    assert_eq!(typed("", &[("19", "600")], ""), None);
    assert_eq!(typed("1000", &[("19", "")], ""), None);
}

/// A balance that types its whole line is understood here as everywhere; what it typed is kept.
#[test]
fn masses_of_a_sieving_are_taken_as_balances_print_them() {
    let mut story = Story::equipped();
    let sample = story.sample("19.0");
    let row = |sieve: &str, retained_g: &str| SievedRow {
        sieve: sieve.into(),
        retained_g: retained_g.into(),
    };
    let record = |before: &str, pan: &str| RecordSieving {
        sample: sample.clone(),
        before_g: before.into(),
        rows: vec![row("25.0", "0"), row("19.0", "ST,NT,+ 400.5 g"), row("16.0", "1100")],
        pan_g: pan.into(),
        ..RecordSieving::default()
    };
    assert!(story.refused(record("0", "1")).contains("before_g: 0 g cannot be"));
    assert!(story.refused(record("2 kg", "US 499.5 g")).contains("pan_g: "));
    story.given(record("2 kg", "499.5"));
    let sieving = &story.lab.samples[sample.as_str()].sieving().unwrap().value;
    assert_eq!(sieving.before_g.unwrap().to_string(), "2000");
    assert_eq!(sieving.retained[1].retained_g.to_string(), "400.5");
    let read: Vec<(&str, &str)> =
        sieving.as_read.iter().map(|(field, line)| (field.as_str(), line.as_str())).collect();
    assert_eq!(read, [("before_g", "2 kg"), ("rows.1.retained_g", "ST,NT,+ 400.5 g")]);
}
