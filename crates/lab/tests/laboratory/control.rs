//! In control, week after week: lots of reference aggregate, their charts, signals, holds,
//! investigations, the release by a result that is in control.

use crate::story::{Story, TURNING};
use jiff::ToSpan;
use stonewear_lab::control::{ControlChart, Due, Role, State, StepKind};
use stonewear_lab::fact::Standing;
use stonewear_lab::request::*;
use stonewear_lab::{Fact, ItemCode, LotCode};
use stonewear_measure::Decimal;

fn chart(story: &Story, lot: &str) -> ControlChart {
    story.lab.control_chart(&LotCode::from(lot), &ItemCode::from("MILL")).unwrap()
}

fn standing(story: &Story) -> Standing {
    story.lab.items["MILL"].standing()
}

/// An invented table of past results, one a day, by two people in turn.
fn past(losses: &[&str]) -> String {
    let mut table = "date,loss,operator\n".to_owned();
    for (day, loss) in losses.iter().enumerate() {
        let on = jiff::civil::date(2026, 1, 1) + i64::try_from(day).unwrap().days();
        table += &format!("{on},{loss},{}\n", if day % 2 == 0 { "AB" } else { "CD" });
    }
    table
}

fn import(table: String) -> ImportReference {
    ImportReference {
        lot: "RA-1".into(),
        apparatus: "MILL".into(),
        document: "our book of 2025".into(),
        table,
    }
}

fn freeze() -> FreezeBaseline {
    FreezeBaseline {
        lot: "RA-1".into(),
        apparatus: "MILL".into(),
        reason: "all of January".into(),
        ..FreezeBaseline::default()
    }
}

const TWENTY: [&str; 20] = [
    "14.1", "14.4", "14.0", "14.6", "14.3", "13.9", "14.5", "14.2", "14.4", "14.0", "14.3", "14.7",
    "14.1", "14.2", "14.5", "14.0", "14.4", "14.2", "14.6", "14.1",
];

#[test]
fn a_run_of_a_lot_is_a_point_on_its_chart_and_takes_of_its_stock() {
    let mut story = Story::with_lot();
    let result = story.reference_tenths("RA-1", 143);
    let drawn = chart(&story, "RA-1");
    assert_eq!(drawn.state(), State::NoBaseline);
    assert_eq!(drawn.points.len(), 1);
    let point = &drawn.points[0];
    assert_eq!((point.name.as_str(), point.operator.as_str()), (result.as_str(), "AB"));
    assert_eq!(point.loss_percent, Decimal::new(143, 1));
    assert!(!point.imported && point.role == Role::NotJudged);
    let stock = story.lab.stock_of(&story.lab.lots["RA-1"], story.at);
    // 60 000 g less the three fractions, 375.2 + 374.9 + 750.1 g.
    assert_eq!(stock.left_g, Decimal::new(584_998, 1));
    assert_eq!(stock.results_left, Some(38));
    assert_eq!(stock.runs_out_on, None, "one specimen tells no rate");
    // A week after the first began a second one does: 2 specimens in seven days, so some 19 weeks more, from
    // when its jars stand.
    story.at = story.at.checked_add((7 * 24 * 60 - TURNING).minutes()).unwrap();
    story.reference_tenths("RA-1", 144);
    let stock = story.lab.stock_of(&story.lab.lots["RA-1"], story.at);
    assert_eq!(stock.runs_out_on.unwrap().to_string(), "2026-07-21");
    story.given(CountStock {
        lot: "RA-1".into(),
        stock_g: "30 kg".into(),
        reason: "a bag was wet".into(),
    });
    let stock = story.lab.stock_of(&story.lab.lots["RA-1"], story.at);
    assert_eq!(stock.left_g, Decimal::from(30_000));
}

#[test]
fn a_lot_is_refused_with_everything_that_is_wrong() {
    let mut story = Story::with_lot();
    let refused = story.refused(RegisterLot {
        lot: "MILL".into(),
        method: "astm-d6928".into(),
        grading: "40".into(),
        assigned_percent: "14.2".into(),
        ..RegisterLot::default()
    });
    for said in [
        "MILL is already an apparatus",
        "what people call it is missing",
        "has no grading “40”; known: 19.0, 12.5 and 9.5",
        "the document of the assigned value is missing",
    ] {
        assert!(refused.contains(said), "{said}: {refused}");
    }
    let sample = story.sample("19.0");
    let link = LinkSample { sample: sample.clone(), lot: "RA-1".into(), ..LinkSample::default() };
    let refused = story.refused(link.clone());
    assert!(refused.contains("was not received as reference aggregate"), "{refused}");
    let refused = story.refused(LinkSample { lot: "RA-9".into(), ..link });
    assert!(refused.contains("there is no lot “RA-9”; known: RA-1"), "{refused}");
    story.by = "CD".into();
    let refused = story.refused(RegisterLot::default());
    assert!(refused.contains("[right-missing]"), "{refused}");
}

/// A sample of another grading, or of no lot, stands on no chart.
#[test]
fn only_runs_of_the_lots_own_test_stand_on_its_chart() {
    let mut story = Story::with_lot();
    story.loss();
    assert_eq!(chart(&story, "RA-1").points.len(), 0);
    let facts = story.given(ReceiveSample {
        source: "our bin".into(),
        material: "reference aggregate".into(),
        nominal_maximum_mm: "19.0".into(),
        reference: "yes".into(),
        ..ReceiveSample::default()
    });
    let Fact::SampleReceived { sample, .. } = &facts[0] else { panic!("{facts:?}") };
    let specimen = story.specimen(sample.as_str());
    story.run(&specimen);
    story.given(WeighAfter { specimen, mass_g: "1286".into(), ..WeighAfter::default() });
    assert_eq!(chart(&story, "RA-1").points.len(), 0, "it is of no lot yet");
    story.given(LinkSample {
        sample: sample.to_string(),
        lot: "RA-1".into(),
        reason: String::new(),
    });
    assert_eq!(chart(&story, "RA-1").points[0].loss_percent, Decimal::new(1427, 2));
}

#[test]
fn past_results_are_taken_over_all_or_none() {
    let mut story = Story::with_lot();
    let bad = "date,loss,operator\n2026-01-05,14.2,AB\nyesterday,14.3,AB\n2026-01-07,abc,CD\n\
               2027-01-01,14.2,AB\n2026-01-08,140,AB\n";
    let refused = story.refused(import(bad.into()));
    for said in [
        "line 3: “yesterday” is not a day",
        "line 4: loss: ",
        "line 5: 2027-01-01 has not come yet",
        "line 6: a loss of 140 % cannot be; it lies from 0 to 100 %",
    ] {
        assert!(refused.contains(said), "{said}: {refused}");
    }
    assert_eq!(chart(&story, "RA-1").points.len(), 0, "nothing half imported");
    let refused = story.refused(import("day,loss\n2026-01-05,14.2\n".into()));
    assert!(
        refused.contains("there is no column \"date\"; the columns are day, loss"),
        "{refused}"
    );

    story.given(import(past(&TWENTY)));
    let drawn = chart(&story, "RA-1");
    assert_eq!(drawn.points.len(), 20);
    assert!(drawn.points.iter().all(|point| point.imported));
    assert_eq!(
        (drawn.points[2].name.as_str(), drawn.points[2].operator.as_str()),
        ("M26-001-3", "AB")
    );
    let refused = story.refused(import(past(&TWENTY)));
    assert!(refused.contains("was taken over already as M26-001"), "{refused}");
}

#[test]
fn a_baseline_says_what_it_still_needs_and_departs_only_with_a_reason() {
    let mut story = Story::with_lot();
    story.given(import(past(&TWENTY[..12])));
    let progress = story.lab.baseline_progress(&story.lab.lots["RA-1"], &ItemCode::from("MILL"));
    assert_eq!(progress.results_needed(), 8);
    assert_eq!(progress.missing(), ["8 more results (12 of 20)", "they span 11 of 14 days"]);
    let refused = story.refused(freeze());
    assert!(refused.contains("8 more results (12 of 20)"), "{refused}");
    let why = "the lot is nearly used up";
    let facts = story.given(FreezeBaseline { deviation: why.into(), ..freeze() });
    let Fact::BaselineFrozen(frozen) = &facts[0] else { panic!("{facts:?}") };
    assert_eq!(frozen.deviations.len(), 2);
    assert_eq!(frozen.points.len(), 12);
    // With a policy of its own the laboratory departs from nothing.
    story.given(SetPolicy {
        policy: "baseline-results".into(),
        value: "12 results 11 days".into(),
        reason: "our manual, 7.7".into(),
    });
    let facts = story.given(freeze());
    let Fact::BaselineFrozen(frozen) = &facts[0] else { panic!("{facts:?}") };
    assert!(frozen.deviations.is_empty());
}

#[test]
fn a_suspect_stays_in_a_baseline_only_knowingly() {
    let mut story = Story::with_lot();
    let mut losses = TWENTY.to_vec();
    losses[7] = "18.0";
    story.given(import(past(&losses)));
    let refused = story.refused(freeze());
    assert!(refused.contains("M26-001-8 (18.0 %) lies beyond the action limit"), "{refused}");
    let out = |point: &str, reason: &str| FreezeBaseline {
        excluded: vec![ExcludedPoint { point: point.into(), reason: reason.into() }],
        ..freeze()
    };
    assert!(story.refused(out("M26-001-8", "")).contains("why it is left out is missing"));
    assert!(story.refused(out("M26-001-21", "?")).contains("is none of these results"));
    story.given(SetPolicy {
        policy: "baseline-results".into(),
        value: "19 results".into(),
        reason: "one is lost".into(),
    });
    story.given(out("m26-001-8", "a jar leaked"));
    let drawn = chart(&story, "RA-1");
    assert_eq!(drawn.points[7].role, Role::Excluded { reason: "a jar leaked".into() });
    assert_eq!(drawn.points[6].role, Role::Baseline);
    assert!(drawn.basis().contains("1 result left out with reasons"), "{}", drawn.basis());
}

/// The signals are those of the convention of Champ and Woodall, at the limits that stand.
#[test]
fn a_signal_holds_the_apparatus_until_a_result_is_in_control() {
    let mut story = Story::with_lot();
    story.stated_baseline("RA-1");
    let good = story.reference_tenths("RA-1", 143);
    assert_eq!(chart(&story, "RA-1").state(), State::InControl);
    // 15.25 % is the warning limit: on it is inside, and one beyond it alone is no signal.
    story.reference_tenths("RA-1", 154);
    assert_eq!(chart(&story, "RA-1").state(), State::InControl);
    let facts = story.reference("RA-1", Decimal::new(155, 1));
    let opened = facts.iter().find_map(|fact| match fact {
        Fact::InvestigationOpened(opened) => Some(opened.clone()),
        _ => None,
    });
    let opened = opened.unwrap();
    assert_eq!(opened.why, "15.50 %: two of three beyond the warning limit, high");
    assert_eq!(chart(&story, "RA-1").state(), State::OutOfControl);
    assert_eq!(standing(&story), Standing::Held);
    // The last one that was in control is the warning before it, which was no signal.
    assert_ne!(opened.last_in_control.as_deref(), Some(good.as_str()));
    assert!(opened.last_in_control.is_some());

    // It cannot be put past the investigation, and samples of clients need a recorded reason.
    let change = ChangeStanding {
        item: "MILL".into(),
        standing: "in-service".into(),
        reason: "looks fine".into(),
    };
    assert!(story.refused(change).contains("[investigation-open]"));
    let sample = story.sample("19.0");
    let specimen = story.specimen(&sample);
    assert!(story.refused(story.start(&specimen)).contains("[item-not-in-service]"));
    let readiness = story.lab.readiness(story.at);
    let lack = readiness[0].lacks.iter().find(|lack| lack.what == "MILL").unwrap();
    assert!(lack.why.contains("N26-001"), "{lack:?}");

    // Every step is gone through: by a check, or by a finding.
    let close = CloseInvestigation {
        investigation: "N26-001".into(),
        cause: "the charge had lost a ball".into(),
        done: "a ball added, the charge weighed".into(),
        past_results: "none was run since".into(),
    };
    let refused = story.refused(close.clone());
    assert!(refused.contains("[step-open]") && refused.contains("[repeat-missing]"), "{refused}");
    let investigation = story.lab.investigations["N26-001"].clone();
    let steps = story.lab.steps_of(&investigation);
    let titles: Vec<&str> = steps.iter().map(|step| step.title.as_str()).collect();
    assert_eq!(
        titles,
        [
            "The record of the run",
            "Grading and make-up",
            "Mass of the ball charge: B1",
            "Size of the balls: B1",
            "Speed of the jars: MILL",
            "Count: MILL",
            "Water",
            "Sieve: S118",
            "Washing and drying",
            "Balance: BAL",
        ]
    );
    for step in &steps {
        if step.id == "mass-b1" {
            assert_eq!(
                step.kind,
                StepKind::Check { item: ItemCode::from("B1"), attribute: "mass".into() }
            );
            story.given(StartCheck { item: "B1".into(), procedure: "charge-mass".into() });
            assert!(!story.lab.steps_of(&investigation)[2].state.is_done());
            story.pass_open_check();
            assert!(story.lab.steps_of(&investigation)[2].state.is_done());
            continue;
        }
        story.given(RecordFinding {
            investigation: "N26-001".into(),
            step: step.id.clone(),
            finding: "as it must be".into(),
            fault: "no".into(),
        });
    }
    let refused = story.refused(close.clone());
    assert!(!refused.contains("[step-open]") && refused.contains("[repeat-missing]"), "{refused}");

    // A repeat that is out again releases nothing; one that is in control does. Neither run is a
    // departure.
    let specimen = story.turned("RA-1");
    assert!(story.lab.specimens[specimen.as_str()].deviations.is_empty());
    story.given(WeighAfter { specimen, mass_g: "1260".into(), ..WeighAfter::default() });
    assert!(story.refused(close.clone()).contains("[repeat-missing]"));
    assert_eq!(story.lab.investigations.len(), 1, "it belongs to the one that is open");
    let repeat = story.reference_tenths("RA-1", 142);
    let facts = story.given(close);
    let Fact::InvestigationClosed(closed) = &facts[0] else { panic!("{facts:?}") };
    assert_eq!(closed.repeat.as_str(), repeat);
    assert_eq!(standing(&story), Standing::InService);
    assert_eq!(chart(&story, "RA-1").state(), State::InControl);
    let names: Vec<String> =
        chart(&story, "RA-1").events.iter().map(|event| event.name.clone()).collect();
    assert_eq!(names, ["held", "in service"]);
}

/// What the rules remember begins anew with an investigation: one more result beyond the warning
/// limit is not the second of three.
#[test]
fn after_an_investigation_the_rules_begin_anew() {
    let mut story = Story::with_lot();
    story.stated_baseline("RA-1");
    story.reference_tenths("RA-1", 154);
    story.reference_tenths("RA-1", 155);
    assert_eq!(standing(&story), Standing::Held);
    story.reference_tenths("RA-1", 154);
    let drawn = chart(&story, "RA-1");
    assert!(drawn.points[1].is_signal() && !drawn.points[2].is_signal());
    story.reference_tenths("RA-1", 154);
    assert!(chart(&story, "RA-1").points[3].is_signal());
}

#[test]
fn a_failed_check_of_the_apparatus_stands_against_its_release() {
    let mut story = Story::with_lot();
    story.stated_baseline("RA-1");
    story.reference_tenths("RA-1", 170);
    story.given(StartCheck { item: "MILL".into(), procedure: "speed-under-load".into() });
    let check = story.lab.checks.keys().last().unwrap().to_string();
    story.given(GiveUpCheck { check, reason: "94 rpm".into() });
    // Now not even reference aggregate runs without a reason.
    let specimen = story.made_up("RA-1");
    assert!(story.refused(story.start(&specimen)).contains("[item-not-in-service]"));
    let close = CloseInvestigation {
        investigation: "N26-001".into(),
        cause: "the belt slipped".into(),
        done: "a new belt".into(),
        past_results: "doubt opened".into(),
    };
    assert!(story.refused(close.clone()).contains("[check-not-passed]"));
    story.given(StartCheck { item: "MILL".into(), procedure: "speed-under-load".into() });
    story.pass_open_check();
    assert!(!story.refused(close).contains("[check-not-passed]"));
    story.given(story.start(&specimen));
}

#[test]
fn by_policy_a_signal_is_only_said_and_somebody_may_investigate() {
    let mut story = Story::with_lot();
    story.stated_baseline("RA-1");
    story.given(SetPolicy {
        policy: "out-of-control".into(),
        value: "say".into(),
        reason: "we decide ourselves".into(),
    });
    let result = story.reference_tenths("RA-1", 170);
    assert_eq!(chart(&story, "RA-1").state(), State::OutOfControl);
    assert_eq!(standing(&story), Standing::InService);
    assert!(story.lab.investigations.is_empty());
    let ask = OpenInvestigation { result, reason: "far out".into() };
    story.given(ask.clone());
    assert_eq!(standing(&story), Standing::InService, "the policy holds nothing");
    assert!(story.refused(ask).contains("N26-001 of MILL is still open"));
    story.given(SetPolicy {
        policy: "out-of-control".into(),
        value: "investigate".into(),
        reason: "agreed".into(),
    });
    assert_eq!(story.reference("RA-1", Decimal::new(180, 1)).len(), 2, "one is open already");
}

/// A mass that was mistyped: the corrected loss is out, and that has the same consequences.
#[test]
fn a_corrected_result_that_is_out_holds_the_apparatus_too() {
    let mut story = Story::with_lot();
    story.stated_baseline("RA-1");
    let specimen = story.turned("RA-1");
    let weigh = |mass: &str, reason: &str| WeighAfter {
        specimen: specimen.clone(),
        mass_g: mass.into(),
        reason: reason.into(),
        ..WeighAfter::default()
    };
    story.given(weigh("1286", ""));
    assert_eq!(standing(&story), Standing::InService);
    let facts = story.given(weigh("1246", "4 was read as 8"));
    assert!(facts.iter().any(|fact| matches!(fact, Fact::InvestigationOpened(_))), "{facts:?}");
    assert_eq!(standing(&story), Standing::Held);
}

#[test]
fn the_next_run_is_due_after_ten_samples_or_a_week_with_tests() {
    let mut story = Story::with_lot();
    assert_eq!(story.lab.reference_due(story.at).len(), 0, "nothing of the lot was run anywhere");
    story.loss();
    let due = &story.lab.reference_due(story.at)[0];
    assert_eq!((due.due, due.apparatus.as_str()), (Due::Now, "MILL"));
    // Readiness says so: it is no lack, for only the policy on signals holds an apparatus.
    let warned = |story: &Story| {
        let mut ready = story.lab.readiness(story.at).into_iter();
        let of_mill = ready.find(|one| one.apparatus.as_str() == "MILL").unwrap();
        assert!(of_mill.lacks.iter().all(|lack| lack.what != "RA-1"), "{:?}", of_mill.lacks);
        of_mill.warnings.into_iter().find(|one| one.what == "RA-1").map(|one| one.why)
    };
    assert_eq!(warned(&story).as_deref(), Some("a run of lot RA-1 is due now; none so far"));
    story.reference_tenths("RA-1", 143);
    assert_eq!(warned(&story), None);
    let due = &story.lab.reference_due(story.at)[0];
    assert_eq!((due.due, due.samples_left), (Due::NotYet, Some(10)));
    assert_eq!(
        due.sentence,
        "MILL: the next run of lot RA-1 is due by 2026-03-09 or after 10 more samples; the last was \
         on 2026-03-02"
    );
    let week = story.at.checked_add(168.hours()).unwrap();
    assert_eq!(story.lab.reference_due(week)[0].due, Due::BeforeNextTest);
    for _ in 0..9 {
        story.loss();
    }
    assert_eq!(story.lab.reference_due(story.at)[0].due, Due::NotYet);
    assert_eq!(story.lab.reference_due(week)[0].due, Due::Now);
    story.loss();
    assert_eq!(story.lab.reference_due(story.at)[0].due, Due::Now);
    story.given(SetPolicy {
        policy: "reference-interval".into(),
        value: "14 days".into(),
        reason: "few tests".into(),
    });
    let due = &story.lab.reference_due(story.at)[0];
    assert_eq!((due.due, due.samples_left), (Due::NotYet, None));
}

#[test]
fn a_new_lot_is_overlapped_with_the_old_one_and_the_step_judged() {
    let mut story = Story::with_lot();
    story.stated_baseline("RA-1");
    story.lot("RA-2");
    let old = [142, 144, 141, 145, 143];
    let new = [150, 151, 149, 152, 150];
    let take = TakeOverLot {
        lot: "RA-2".into(),
        replaces: "RA-1".into(),
        apparatus: "MILL".into(),
        reason: "the new lot has a centre of its own".into(),
        deviation: String::new(),
    };
    assert!(story.refused(take.clone()).contains("the step is not known"));
    for (old, new) in old.iter().zip(new).take(3) {
        story.reference_tenths("RA-1", *old);
        story.reference_tenths("RA-2", new);
    }
    let refused = story.refused(take.clone());
    assert!(
        refused.contains("3 of RA-1 and 3 of RA-2 are compared; the laboratory wants 5 of each")
    );
    for (old, new) in old.iter().zip(new).skip(3) {
        story.reference_tenths("RA-1", *old);
        story.reference_tenths("RA-2", new);
    }
    let facts = story.given(take);
    let Fact::LotTakenOver(taken) = &facts[0] else { panic!("{facts:?}") };
    // Means 15.04 and 14.30; Welch's t by hand: variances 0.013 and 0.025, standard error 0.08718,
    // 7.28 degrees of freedom, t 2.346, half-width 0.2045.
    assert_eq!(taken.difference_percent, Decimal::new(74, 2));
    assert_eq!(taken.interval_percent, (Decimal::new(54, 2), Decimal::new(94, 2)));
    assert!(taken.verdict.ends_with("the step is real"), "{}", taken.verdict);
    assert!(chart(&story, "RA-2").events.iter().any(|event| event.name == "new lot"));
    assert!(chart(&story, "RA-1").events.iter().any(|event| event.name == "lot replaced"));
}

#[test]
fn what_happens_to_a_machine_is_marked_on_its_chart() {
    let mut story = Story::with_lot();
    story.reference_tenths("RA-1", 143);
    story.at = story.at.checked_add(48.hours()).unwrap();
    story.given(NoteEvent {
        item: "MILL".into(),
        what: "moved".into(),
        on: "2026-03-04".into(),
        note: "to bay 2".into(),
    });
    // A charge that never ran in this machine is no matter of its chart.
    story.register("B9", "ball-charge", "");
    story.given(ChangeCharge {
        charge: "B1".into(),
        change: "added".into(),
        before_g: "4996.0".into(),
        after_g: "5003.1".into(),
        balls: "2".into(),
        reason: "worn".into(),
        ..ChangeCharge::default()
    });
    let events = chart(&story, "RA-1").events;
    let said: Vec<&str> = events.iter().map(|event| event.what.as_str()).collect();
    assert_eq!(
        said,
        ["MILL moved: to bay 2", "ball charge B1: 2 balls added, 4996.0 g to 5003.1 g"]
    );
    let wrong = NoteEvent { item: "MILL".into(), what: "danced".into(), ..NoteEvent::default() };
    assert!(story.refused(wrong).contains("known: moved, repaired, new-balls and other"));
}
