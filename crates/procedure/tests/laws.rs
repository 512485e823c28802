//! Laws of every generated function check, over descriptions that nobody thought of.

use proptest::prelude::*;
use std::collections::BTreeSet;
use stonewear_measure::{Decimal, Limits};
use stonewear_procedure::apparatus::{
    AfterPowerLoss, Control, CounterSenses, Door, ModeChange, Tier, faults,
};
use stonewear_procedure::{
    Apparatus, End, Expect, Jars, Load, Procedure, Step, TAKES_JARS_OUT, forecast, function_check,
    procedure_faults,
};

fn names(most: usize) -> impl Strategy<Value = Vec<String>> {
    // `A+` and `a-`, say, are different names that look alike in a step's id.
    prop::collection::btree_set("[A-Za-zäж][ +-]?[0-9]{0,2}", 0..=most).prop_map(|names| {
        let mut seen = BTreeSet::new();
        names.into_iter().filter(|name| seen.insert(name.trim().to_lowercase())).collect()
    })
}

fn doors() -> impl Strategy<Value = Vec<Door>> {
    (names(4), any::<[bool; 4]>(), Just((1..=4).collect::<Vec<u32>>()).prop_shuffle()).prop_map(
        |(names, latches, order)| {
            let rest = latches.into_iter().zip(order);
            let door = |(name, (latch, close))| Door { name, close, latch };
            names.into_iter().zip(rest).map(door).collect()
        },
    )
}

fn tiers() -> impl Strategy<Value = Vec<Tier>> {
    (names(4), prop::collection::vec(1_u32..=4, 4))
        .prop_filter("at least one tier", |(names, _)| !names.is_empty())
        .prop_map(|(names, positions)| {
            let tier = |(name, positions)| Tier { name, positions };
            names.into_iter().zip(positions).map(tier).collect()
        })
}

fn apparatus() -> impl Strategy<Value = Apparatus> {
    use Control::{Revolutions, Time};
    let control = prop_oneof![
        Just(vec![Time]),
        Just(vec![Revolutions]),
        Just(vec![Time, Revolutions]),
        Just(vec![Revolutions, Time]),
    ];
    let senses = prop_oneof![
        Just(CounterSenses::JarLid),
        Just(CounterSenses::Roller),
        Just(CounterSenses::Nothing),
    ];
    let step = prop_oneof![Just("1 min"), Just("30 s"), Just("0.1 h"), Just("7 s"), Just("5 min")];
    (control, senses, step, 6_i64..=300, tiers(), doors(), any::<[bool; 4]>())
        .prop_filter("revolutions need a counter", |(control, senses, ..)| {
            *senses != CounterSenses::Nothing || *control == [Time]
        })
        .prop_map(|(control, counter_senses, step, rpm, tiers, doors, [a, b, c, d])| Apparatus {
            name: "any".to_owned(),
            control,
            time_step: step.to_owned(),
            counter_senses,
            mode_change: if a { ModeChange::AtThePanel } else { ModeChange::PowerOffAndOn },
            after_power_loss: if b { AfterPowerLoss::CountKept } else { AfterPowerLoss::CountLost },
            nominal_rpm: rpm.into(),
            tiers,
            interlock: c && !doors.is_empty(),
            doors,
            separate_stop: d,
        })
}

/// The place of the only step with this id.
fn place(check: &Procedure, id: &str) -> usize {
    check.steps.iter().position(|step| step.id == id).unwrap_or_else(|| panic!("no step {id}"))
}

fn count(step: &Step) -> Option<Limits> {
    match &step.expect {
        Expect::Number { limits, .. } => Some(*limits),
        Expect::Seen { .. } => None,
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 256, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn the_machine_is_empty_whenever_a_step_needs_it_empty(
        apparatus in apparatus(),
        failures in prop::collection::vec(any::<prop::sample::Index>(), 0..40),
    ) {
        prop_assert_eq!(faults(&apparatus), Vec::<String>::new());
        let check = function_check(&apparatus);
        // Walk through it, failing once at each of some steps and going back where it says.
        let mut failing: BTreeSet<usize> =
            failures.iter().map(|index| index.index(check.steps.len())).collect();
        let (mut at, mut jars_inside) = (0, false);
        while let Some(step) = check.steps.get(at) {
            match step.jars {
                Jars::Out | Jars::NotInvolved => {
                    prop_assert!(!jars_inside, "“{}” with jars in the machine", step.id);
                }
                Jars::In => jars_inside = true,
            }
            if failing.remove(&at) {
                at = step.back_to.as_ref().map_or(at, |back| place(&check, back));
                continue;
            }
            if step.id == TAKES_JARS_OUT {
                jars_inside = false;
            }
            at += 1;
        }
        prop_assert!(!jars_inside, "the check ends with an empty machine");
    }

    #[test]
    fn a_generated_check_is_a_procedure_without_faults(apparatus in apparatus()) {
        let check = function_check(&apparatus);
        prop_assert_eq!(procedure_faults(&check), vec![]);
        for (at, step) in check.steps.iter().enumerate() {
            let back = step.back_to.as_ref().map_or(at, |back| place(&check, back));
            prop_assert!(back <= at, "“{}” goes forward", step.id);
        }
    }

    #[test]
    fn whatever_moves_has_a_caution_with_a_source(apparatus in apparatus()) {
        for step in function_check(&apparatus).steps {
            let moves = step.instruction.contains("press start")
                || step.instruction.contains("switch on")
                || step.instruction.contains("switch the power off and on");
            if moves || step.jars == Jars::In {
                let caution = step.caution.clone();
                prop_assert!(caution.is_some(), "“{}” has no caution", step.id);
                let caution = caution.unwrap();
                prop_assert!(!caution.source.is_empty());
                prop_assert!(caution.text.ends_with("Local codes and licensed practice come first."));
            }
        }
    }

    #[test]
    fn every_tier_position_and_door_has_its_steps(apparatus in apparatus()) {
        let check = function_check(&apparatus);
        let about = |tier: &str, position: Option<u32>, prefix: &str| {
            let at = |step: &&Step| {
                step.tier.as_deref() == Some(tier)
                    && step.position == position
                    && step.id.starts_with(prefix)
            };
            check.steps.iter().filter(at).count()
        };
        for tier in &apparatus.tiers {
            prop_assert_eq!(about(&tier.name, None, "rollers-"), 1);
            for position in 1..=tier.positions {
                prop_assert_eq!(about(&tier.name, Some(position), "place-"), 1);
                prop_assert_eq!(about(&tier.name, Some(position), "speed-"), 1);
            }
            let quoted = format!("“{}”", tier.name);
            prop_assert!(check.steps[0].instruction.contains(&quoted));
            let out = &check.steps[place(&check, TAKES_JARS_OUT)];
            prop_assert!(out.instruction.contains(&quoted));
        }
        let interlocks = check.steps.iter().filter(|step| step.id.starts_with("interlock-"));
        let expected = if apparatus.interlock { 2 * apparatus.doors.len() } else { 0 };
        prop_assert_eq!(interlocks.count(), expected);
        for door in &apparatus.doors {
            let close = &check.steps[place(&check, "doors-close")].instruction;
            let quoted = format!("“{}”", door.name);
            prop_assert!(close.contains(&quoted));
        }
    }

    #[test]
    fn ends_and_counts_follow_from_the_description(apparatus in apparatus()) {
        let check = function_check(&apparatus);
        for control in &apparatus.control {
            for (load, prefix) in [(Load::Empty, "empty"), (Load::Jars, "loaded")] {
                let run = format!("{prefix}-{}", control.as_str());
                let at = place(&check, &run);
                let count_step = check.step(&format!("count-{run}"));
                let blind = apparatus.counter_senses == CounterSenses::JarLid && load == Load::Empty;
                let by_hand = blind && *control == Control::Revolutions;
                let expected = forecast(&apparatus, *control, load);
                let end = if by_hand { End::ByHand } else { End::ByItself };
                prop_assert_eq!(expected.end, end);
                let Expect::Seen { what } = &check.steps[at].expect else {
                    return Err(TestCaseError::fail("a run is seen"));
                };
                prop_assert_eq!(what.contains("the drive stops by itself"), !by_hand);
                prop_assert_eq!(what.contains("still turn"), by_hand);
                match apparatus.counter_senses {
                    CounterSenses::Nothing => prop_assert!(count_step.is_none()),
                    _ => {
                        let limits = count(count_step.unwrap()).unwrap();
                        let nothing = limits.hold(Decimal::ZERO) && limits.upper == Some(Decimal::ZERO);
                        prop_assert_eq!(nothing, blind);
                        // The nominal speed lies inside what is allowed.
                        if !blind && *control == Control::Revolutions {
                            prop_assert!(limits.hold(apparatus.nominal_rpm * Decimal::TWO));
                        }
                    }
                }
            }
        }
    }

    #[test]
    fn what_stops_the_drive_is_proved_before_anything_else_turns(apparatus in apparatus()) {
        let check = function_check(&apparatus);
        let first_start = check
            .steps
            .iter()
            .find(|step| step.instruction.contains("press start") && !step.id.starts_with("interlock-start"))
            .unwrap();
        prop_assert_eq!(&first_start.id, "stop-by-hand");
        let last_interlock = check.steps.iter().rposition(|step| step.id.starts_with("interlock-"));
        let first_jar = check.steps.iter().position(|step| step.jars == Jars::In).unwrap();
        let rollers = check.steps.iter().position(|step| step.id.starts_with("rollers-") && step.tier.is_some()).unwrap();
        prop_assert!(last_interlock.is_none_or(|last| last < rollers));
        let last_empty = check.steps.iter().rposition(|step| step.jars == Jars::Out).unwrap();
        prop_assert!(last_empty < first_jar, "all that needs an empty machine comes first");
    }
}
