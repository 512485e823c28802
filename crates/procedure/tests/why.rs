//! Every step says why it is done: also those of variants and of every kind of machine.

#![allow(clippy::unwrap_used, reason = "a test that fails here says where")]

use stonewear_procedure::apparatus::{AfterPowerLoss, Control, CounterSenses, ModeChange, Tier};
use stonewear_procedure::{Apparatus, Procedure, built_in_procedures, function_check};

fn unexplained(procedure: &Procedure) -> Vec<String> {
    let silent = procedure.steps.iter().filter(|step| step.why.trim().is_empty());
    silent.map(|step| format!("{}: {}", procedure.id, step.id)).collect()
}

#[test]
fn every_step_of_every_procedure_says_why() {
    let silent: Vec<String> = built_in_procedures().iter().flat_map(unexplained).collect();
    assert!(silent.is_empty(), "{silent:#?}");
}

#[test]
fn every_step_of_a_function_check_says_why_however_the_machine_is_built() {
    let mut silent = Vec::new();
    for counter_senses in [CounterSenses::JarLid, CounterSenses::Roller, CounterSenses::Nothing] {
        for mode_change in [ModeChange::AtThePanel, ModeChange::PowerOffAndOn] {
            for after_power_loss in [AfterPowerLoss::CountLost, AfterPowerLoss::CountKept] {
                let control = match counter_senses {
                    CounterSenses::Nothing => vec![Control::Time],
                    _ => vec![Control::Time, Control::Revolutions],
                };
                let tiers = vec![
                    Tier { name: "upper".into(), positions: 1 },
                    Tier { name: "lower".into(), positions: 2 },
                ];
                let machine = Apparatus {
                    control,
                    counter_senses,
                    mode_change,
                    after_power_loss,
                    tiers,
                    ..Apparatus::default()
                };
                silent.extend(unexplained(&function_check(&machine)));
            }
        }
    }
    silent.sort();
    silent.dedup();
    assert!(silent.is_empty(), "{silent:#?}");
}

#[test]
fn the_reasons_are_short_and_do_not_repeat_the_instruction() {
    for procedure in built_in_procedures() {
        for step in &procedure.steps {
            assert!(step.why.len() < 220, "{}: {}", procedure.id, step.id);
            assert_ne!(step.why, step.instruction, "{}: {}", procedure.id, step.id);
        }
    }
}
