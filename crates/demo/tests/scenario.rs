//! The scenario is possible under the laboratory's rules, the same everywhere, and holds what the
//! documentation promises.

#![allow(clippy::unwrap_used, reason = "a test that fails here says where")]

use stonewear_demo::{Batch, SEED, scenario};
use stonewear_lab::fact::Standing;
use stonewear_lab::{Lab, Recorded};
use stonewear_method::library::built_in_methods;
use stonewear_procedure::built_in_procedures;

fn told(seed: u64) -> Vec<Batch> {
    scenario(seed, &built_in_methods(), &built_in_procedures())
        .unwrap_or_else(|error| panic!("{error}"))
}

fn folded(batches: &[Batch]) -> Lab {
    let mut lab = Lab::new();
    for batch in batches {
        for fact in &batch.facts {
            lab.apply(&Recorded {
                position: lab.position + 1,
                at: batch.at,
                by: batch.by.clone(),
                fact: fact.clone(),
            });
        }
    }
    lab
}

#[test]
fn the_scenario_holds_two_years_of_an_ordinary_laboratory() {
    let batches = told(SEED);
    let lab = folded(&batches);
    assert!(lab.identity.as_ref().unwrap().invented);
    assert_eq!(lab.items["MILL-1"].standing(), Standing::InService);
    assert_eq!(lab.items["MILL-2"].standing(), Standing::BeingProved);
    assert!(lab.turning_in(&"MILL-1".into()).is_some(), "a jar turns as the page is opened");
    let references = lab.samples.values().filter(|sample| sample.reference).count();
    assert!(references >= 20, "{references} reference samples");
    assert!(lab.samples.len() >= 60, "{} samples", lab.samples.len());
    let waiting = lab.results.values().filter(|result| result.release().is_none()).count();
    assert_eq!(waiting, 1, "one result waits for its release");
    let incident = lab.items["BAL-1"]
        .standings
        .iter()
        .filter(|change| change.value.standing == Standing::Held);
    assert_eq!(incident.count(), 1, "the balance was held once");
    for result in lab.results.values() {
        let worked_out = lab.loss_of(result).unwrap().percent;
        assert_eq!(worked_out, result.current().unwrap().value.loss_percent, "{}", result.code);
    }
    let ordered = batches.windows(2).all(|pair| pair[0].at <= pair[1].at);
    assert!(ordered, "time never goes back");
}

#[test]
fn the_same_seed_tells_the_same_scenario_and_another_one_another() {
    let facts = |seed| {
        let batches = told(seed);
        batches
            .into_iter()
            .flat_map(|batch| batch.facts)
            .map(|fact| serde_json::to_string(&fact).unwrap())
            .collect::<Vec<_>>()
    };
    assert_eq!(facts(SEED), facts(SEED));
    assert_ne!(facts(SEED), facts(SEED + 1));
}
