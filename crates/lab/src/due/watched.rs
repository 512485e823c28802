//! What watches the apparatus and falls due: reference runs, the stock of their lots,
//! investigations, charges that leave their tolerance.
//!
//! Forecasts are made as of the last reading that they rest on, not as of the clock: so the list,
//! and the calendar made of it, changes only when something is recorded.

use super::{Due, DueKind, Sure, When};
use crate::charge::{Forecast, Wear};
use crate::control::{self, ReferenceDue};
use crate::fact::{Right, Standing};
use crate::state::{Lab, ReferenceLot, Specimen};
use jiff::Timestamp;
use stonewear_procedure::ItemKind;

/// The next run of reference aggregate on each apparatus.
pub(super) fn references(lab: &Lab) -> Vec<Due> {
    // Before and after every day that can be meant: the first tells what is due whatever the day,
    // the second whether the apparatus was used since.
    let (early, late) = (lab.reference_due(Timestamp::MIN), lab.reference_due(Timestamp::MAX));
    early.into_iter().zip(&late).filter_map(|(one, late)| reference(lab, one, late)).collect()
}

fn reference(lab: &Lab, one: ReferenceDue, late: &ReferenceDue) -> Option<Due> {
    let registered = &lab.lots.get(&one.lot)?.registered;
    let charted = lab.results.values().filter(|result| {
        lab.on_chart(result).is_some_and(|(_, apparatus)| *apparatus == one.apparatus)
    });
    let charted = charted.flat_map(|result| result.current()).map(|one| (one.position, one.at));
    let runs = lab.runs.values().filter(|run| run.apparatus == one.apparatus);
    let runs = runs.map(|run| (run.started.position, run.started.at));
    let (position, noted) =
        charted.chain(runs).chain([(registered.position, registered.at)]).max()?;
    let when = match (one.due, one.due_on) {
        (control::Due::Now, _) => When::Now { since: noted },
        (control::Due::BeforeNextTest, _) => When::NextTest { after: None },
        (control::Due::NotYet, Some(day)) if late.due == control::Due::Now => When::Day { day },
        (control::Due::NotYet, Some(day)) => When::NextTest { after: Some(day) },
        (control::Due::NotYet, None) => When::After { count: one.samples_left?, of: "sample" },
    };
    Some(Due {
        key: format!("reference.{}.{}", one.apparatus, one.method),
        kind: DueKind::Reference,
        when,
        what: format!("{}: run lot {}", one.apparatus, one.lot),
        why: one.sentence,
        path: format!("/control/{}/{}", one.lot, one.apparatus),
        item: Some(one.apparatus),
        person: None,
        right: Right::Test,
        sure: Sure::Certain,
        noted,
        position,
    })
}

/// Lots that run out, unless another lot has taken their place.
pub(super) fn lots(lab: &Lab) -> Vec<Due> {
    let replaced = |lot: &ReferenceLot| {
        lab.lots.values().flat_map(|other| &other.took_over).any(|it| it.value.replaces == lot.code)
    };
    lab.lots.values().filter(|lot| !replaced(lot)).filter_map(|lot| stock(lab, lot)).collect()
}

fn stock(lab: &Lab, lot: &ReferenceLot) -> Option<Due> {
    let specimens: Vec<&Specimen> =
        lab.samples_of_lot(lot).flat_map(|sample| lab.specimens_of(sample)).collect();
    let begun = specimens.iter().map(|one| (one.begun.position, one.begun.at));
    let counted = lot.counts.iter().map(|one| (one.position, one.at));
    let first = (lot.registered.position, lot.registered.at);
    let (position, noted) = begun.chain(counted).chain([first]).max()?;
    let left = lab.stock_of(lot, noted);
    let (when, sure) = match (left.results_left, left.runs_out_on) {
        (Some(0), _) => (When::Now { since: noted }, Sure::Certain),
        (_, Some(day)) => {
            let basis = "used as in the last half year".to_owned();
            (When::Day { day }, Sure::Forecast { basis })
        }
        (Some(count), None) => (When::After { count, of: "result" }, Sure::Certain),
        (None, None) => return None,
    };
    Some(Due {
        key: format!("lot.{}", lot.code),
        kind: DueKind::Lot,
        when,
        what: format!("{}: the lot runs out; find the next", lot.code),
        why: left.in_words(),
        path: format!("/control/{}", lot.code),
        item: None,
        person: None,
        right: Right::Manage,
        sure,
        noted,
        position,
    })
}

/// Investigations that go on.
pub(super) fn investigations(lab: &Lab) -> Vec<Due> {
    let open = lab.investigations.values().filter(|one| one.is_open());
    open.map(|one| {
        let last = one.findings.last().map(|found| (found.at, found.position));
        let (noted, position) = last.unwrap_or((one.opened.at, one.opened.position));
        Due {
            key: format!("investigation.{}", one.code),
            kind: DueKind::Investigation,
            when: When::Now { since: one.opened.at },
            what: format!("{}: find the cause, and finish it", one.code),
            why: format!("{} on {}: {}", one.point, one.apparatus, one.opened.value),
            path: format!("/control/investigations/{}", one.code),
            item: Some(one.apparatus.clone()),
            person: None,
            right: Right::Test,
            sure: Sure::Certain,
            noted,
            position,
        }
    })
    .collect()
}

/// Ball charges that leave their tolerance, as far as a forecast can be made.
pub(super) fn charges(lab: &Lab) -> Vec<Due> {
    let in_service = lab.items_of(ItemKind::BallCharge);
    let in_service = in_service.filter(|item| item.standing() == Standing::InService);
    in_service
        .filter_map(|item| {
            let noted = last_use(&lab.wear(&item.code, Timestamp::MAX)?)?;
            charge(lab, &lab.wear(&item.code, noted)?, noted)
        })
        .collect()
}

/// When a charge was last weighed, used or changed.
fn last_use(wear: &Wear) -> Option<Timestamp> {
    let history = &wear.history;
    let readings = history.readings.iter().map(|one| one.at);
    let turnings = history.turnings.iter().map(|one| one.at);
    readings.chain(turnings).chain(history.changes.iter().map(|one| one.at)).max()
}

fn charge(lab: &Lab, wear: &Wear, noted: Timestamp) -> Option<Due> {
    let code = &wear.history.charge;
    let (when, sure) = match &wear.forecast {
        Forecast::Unknown { .. } => return None,
        Forecast::Outside { .. } => (When::Now { since: noted }, Sure::Certain),
        Forecast::Leaves(leaving) => {
            let basis = "by its wear and its pace of use; the early end of the interval".to_owned();
            // The early end is the day to plan by.
            let when = match (leaving.day_within.0.or(leaving.day), leaving.runs_within) {
                (Some(day), _) => When::Day { day },
                (None, Some((runs, _))) => {
                    When::After { count: u32::try_from(runs).unwrap_or(u32::MAX), of: "run" }
                }
                (None, None) => return None,
            };
            (when, Sure::Forecast { basis })
        }
    };
    let runs = lab
        .runs
        .values()
        .filter(|run| run.placed.iter().any(|one| one.charge.as_ref() == Some(code)));
    let runs = runs.map(|run| run.started.position);
    let checks = lab.checks_of(code).filter_map(|check| check.ended.as_ref());
    let checks = checks.map(|ended| ended.position);
    let changes = wear.history.changes.iter().map(|one| one.position);
    Some(Due {
        key: format!("charge.{code}"),
        kind: DueKind::Charge,
        when,
        what: format!("{code}: mend or renew the charge"),
        why: wear.forecast_in_words(),
        path: format!("/equipment/{code}/wear"),
        item: Some(code.clone()),
        person: None,
        right: Right::Test,
        sure,
        noted,
        position: runs.chain(checks).chain(changes).max().unwrap_or_default(),
    })
}
