//! What the laboratory keeps so that it need not walk through everything (the checks of an item by their ends,
//! the runs that turn, the wear of a charge until something happens to it) says what a walk through everything
//! says: after every fact of two years, and in a busy laboratory.

#![allow(clippy::unwrap_used, reason = "a test that fails here says where")]

use std::collections::BTreeSet;
use stonewear_demo::{Batch, SEED, busy, scenario};
use stonewear_lab::control::DueRule;
use stonewear_lab::policy::Policy;
use stonewear_lab::state::Check;
use stonewear_lab::{Fact, ItemCode, Lab, Recorded};
use stonewear_method::library::built_in_methods;
use stonewear_procedure::{ItemKind, built_in_procedures};

/// The passed checks of an item that ended before a place in the journal, by a walk through all checks.
fn walked<'a>(lab: &'a Lab, item: &ItemCode, position: u64) -> Vec<&'a Check> {
    let end = |check: &Check| check.ended.as_ref().map_or(u64::MAX, |ended| ended.position);
    let mut found: Vec<&Check> = lab
        .checks
        .values()
        .filter(|check| check.item == *item && check.passed() && end(check) < position)
        .collect();
    found.sort_by_key(|check| std::cmp::Reverse(end(check)));
    found
}

fn codes<'a>(checks: impl IntoIterator<Item = &'a Check>) -> Vec<&'a str> {
    checks.into_iter().map(|check| check.code.as_str()).collect()
}

/// The lookups that stand on what is kept.
#[track_caller]
fn found_as_walked(lab: &Lab) {
    for item in lab.items.values() {
        let ends =
            lab.checks_of(&item.code).filter_map(|check| Some(check.ended.as_ref()?.position));
        for position in ends.flat_map(|end| [end, end + 1]).chain([0, u64::MAX]) {
            let kept = codes(lab.passed_before(&item.code, position));
            assert_eq!(kept, codes(walked(lab, &item.code, position)), "{} {position}", item.code);
        }
        let turning =
            lab.runs.values().rev().find(|run| run.apparatus == item.code && run.stopped.is_none());
        let found = lab.turning_in(&item.code).map(|run| &run.code);
        assert_eq!(found, turning.map(|run| &run.code), "{}", item.code);
    }
    let rule = DueRule::read(lab.policy(Policy::ReferenceInterval).value).unwrap_or_default();
    for due in lab.reference_due(lab.identity.as_ref().map(|_| jiff::Timestamp::MAX).unwrap()) {
        let since = lab.runs.values().filter(|run| {
            run.apparatus == due.apparatus && due.last_at.is_none_or(|last| run.started.at > last)
        });
        let samples: BTreeSet<_> = since
            .flat_map(|run| &run.placed)
            .filter_map(|placed| lab.specimens.get(&placed.specimen))
            .filter(|specimen| specimen.method.name() == due.method.name())
            .map(|specimen| &specimen.sample)
            .filter(|sample| !lab.lot_of_sample.contains_key(*sample))
            .collect();
        let left =
            rule.samples.map(|most| most.saturating_sub(u32::try_from(samples.len()).unwrap()));
        assert_eq!(due.samples_left, left, "{due:?}");
    }
    for lot in lab.lots.values() {
        let tested = lab.results.values().filter_map(|result| lab.on_chart(result));
        let tested = tested.filter(|(of, _)| **of == lot.code).map(|(_, apparatus)| apparatus);
        let imported = lot.imports.iter().map(|import| &import.value.apparatus);
        let all: BTreeSet<_> =
            tested.chain(imported).chain(lot.baselines.keys()).cloned().collect();
        assert_eq!(lab.apparatus_of_lot(lot), Vec::from_iter(all), "{}", lot.code);
    }
}

/// A laboratory that was asked for the wear of its charges after every fact says the same as one that never
/// was.
#[track_caller]
fn wear_as_anew(lab: &Lab, charges: &[ItemCode], at: jiff::Timestamp) {
    let anew = lab.clone();
    for charge in charges {
        assert_eq!(lab.wear(charge, at), anew.wear(charge, at), "{charge} at {}", lab.position);
        assert_eq!(lab.charge_tolerance(charge), anew.charge_tolerance(charge), "{charge}");
    }
}

fn told(batches: &[Batch], every: u64) -> Lab {
    let mut lab = Lab::new();
    for batch in batches {
        for fact in &batch.facts {
            let text = serde_json::to_string(fact).unwrap();
            assert_eq!(Fact::read(&text).unwrap(), *fact, "{text}");
            let position = lab.position + 1;
            let (at, by, fact) = (batch.at, batch.by.clone(), fact.clone());
            lab.apply(&Recorded { position, at, by, fact });
            // The wear that was asked for is kept from here on; it is compared now and then.
            let charges: Vec<ItemCode> =
                lab.items_of(ItemKind::BallCharge).map(|item| item.code.clone()).collect();
            charges.iter().for_each(|charge| drop(lab.charge_tolerance(charge)));
            if position.is_multiple_of(every) {
                wear_as_anew(&lab, &charges, batch.at);
                found_as_walked(&lab);
            }
        }
    }
    found_as_walked(&lab);
    lab
}

#[test]
fn what_is_kept_of_two_years_is_what_a_walk_finds() {
    let batches = scenario(SEED, &built_in_methods(), &built_in_procedures()).unwrap();
    let lab = told(&batches, 29);
    assert!(lab.checks.values().any(|check| !check.passed()), "a check that was not passed");
    assert!(!lab.lots.is_empty() && lab.charge_changes.len() == 1);
}

#[test]
fn what_is_kept_of_a_busy_laboratory_is_what_a_walk_finds() {
    let batches = busy(1, 620, &built_in_methods(), &built_in_procedures()).unwrap();
    let lab = told(&batches, 701);
    let mills: BTreeSet<_> = lab.runs.values().map(|run| &run.apparatus).collect();
    assert_eq!(mills.len(), 3, "one bench more after each 300 samples");
    assert_eq!(lab.results.values().filter(|result| result.release().is_some()).count(), 620);
    assert!(lab.runs.values().any(|run| run.placed.len() == 4));
}
