//! Where what falls due comes from: one function a source, and one line here.

use super::{Due, DueKind, Sure, When, studied, watched};
use crate::fact::{Right, Standing};
use crate::state::{Authorisation, Check, Lab};
use jiff::SignedDuration;
use stonewear_measure::Decimal;

/// What a part of the laboratory knows to fall due.
type Source = fn(&Lab) -> Vec<Due>;

/// Every source. A new one is a line here.
pub(super) const ALL: &[Source] = &[
    checks,
    authorisations,
    doubts,
    soaks,
    watched::references,
    watched::lots,
    watched::investigations,
    watched::charges,
    studied::rounds,
    studied::scores,
    studied::experiments,
];

/// Every procedure that an item in service has passed, and whose pass runs out.
fn checks(lab: &Lab) -> Vec<Due> {
    let in_service = lab.items.values().filter(|item| item.standing() == Standing::InService);
    let mut due = Vec::new();
    for item in in_service {
        let passed = || lab.checks_of(&item.code).filter(|check| check.passed());
        let ended = |check: &Check| check.ended.as_ref().map_or(0, |ended| ended.position);
        for check in passed() {
            let name = stands_for(check);
            // Only the last pass of a procedure, or of one in its stead, says when the next is due.
            if passed().any(|later| stands_for(later) == name && ended(later) > ended(check)) {
                continue;
            }
            let (Some(end), Some(until)) = (&check.ended, lab.proves_until(check)) else {
                continue;
            };
            let day = lab.local(until).date();
            due.push(Due {
                key: format!("check.{}.{name}", item.code),
                kind: DueKind::Check,
                when: When::Day { day },
                what: format!("{}: {}", item.code, check.procedure.title),
                why: format!(
                    "passed on {} ({}); its proof runs out",
                    lab.local(end.at).date(),
                    check.code
                ),
                path: format!("/equipment/{}", item.code),
                item: Some(item.code.clone()),
                person: None,
                right: Right::Test,
                sure: Sure::Certain,
                noted: end.at,
                position: end.position,
            });
        }
    }
    due
}

fn stands_for(check: &Check) -> &str {
    check.procedure.stands_for.as_deref().unwrap_or(&check.procedure.id)
}

/// Authorisations whose last day is known, unless a later one takes their place.
fn authorisations(lab: &Lab) -> Vec<Due> {
    let holds = |one: &&Authorisation| {
        let standing = one.standing_before(u64::MAX);
        standing == crate::authorisation::AuthorisationStanding::InForce
    };
    let replaced = |one: &Authorisation| {
        lab.authorisations_of(&one.person).filter(holds).any(|other| {
            other.granted.position > one.granted.position
                && other.method == one.method
                && one.activities.iter().all(|activity| other.activities.contains(activity))
        })
    };
    let ending = lab.authorisations.values().filter(holds).filter(|one| !replaced(one));
    ending
        .filter_map(|one| {
            let names = one.activities.iter().map(|activity| activity.name());
            let names = crate::words::listed(names);
            Some(Due {
                key: format!(
                    "authorisation.{}.{}.{}",
                    one.person,
                    one.method,
                    names.replace(' ', "")
                ),
                kind: DueKind::Authorisation,
                when: When::Day { day: one.until? },
                what: format!(
                    "{}: authorisation for {names} by {}",
                    one.person,
                    lab.dated(one.method.as_str())
                ),
                why: format!("{} holds through this day", one.code),
                path: format!("/people/{}", one.person),
                item: None,
                person: Some(one.person.clone()),
                right: Right::Manage,
                sure: Sure::Certain,
                noted: one.granted.at,
                position: one.granted.position,
            })
        })
        .collect()
}

/// Doubts with results that nobody has dealt with.
fn doubts(lab: &Lab) -> Vec<Due> {
    let open = lab.doubts.values().filter(|doubt| doubt.open_results().next().is_some());
    open.map(|doubt| {
        let left = crate::words::counted(doubt.open_results().count(), "result");
        let closed = doubt.closed.values().max_by_key(|closed| closed.position);
        let (noted, position) =
            closed.map_or((doubt.opened.at, doubt.opened.position), |one| (one.at, one.position));
        Due {
            key: format!("doubt.{}", doubt.code),
            kind: DueKind::Doubt,
            when: When::Now { since: doubt.opened.at },
            what: format!("{}: deal with {left} in doubt", doubt.code),
            why: format!("{} of {}: {}", doubt.attribute, doubt.item, doubt.opened.value),
            path: format!("/doubts/{}", doubt.code),
            item: Some(doubt.item.clone()),
            person: None,
            right: Right::Release,
            sure: Sure::Certain,
            noted,
            position,
        }
    })
    .collect()
}

/// Specimens in their water, at the end of the shortest soak of the method.
fn soaks(lab: &Lab) -> Vec<Due> {
    let soaking = lab.specimens.values().filter(|specimen| specimen.run.is_none());
    soaking
        .filter_map(|specimen| {
            let soak = specimen.soak.as_ref()?;
            let rule = &lab.methods.get(&specimen.method)?.method.soak.as_ref()?.hours_at_least;
            let seconds = rule.value.checked_mul(Decimal::from(3600))?.ceil();
            let seconds = SignedDuration::from_secs(i64::try_from(seconds).ok()?);
            let at = soak.at.checked_add(seconds).ok()?;
            Some(Due {
                key: format!("soak.{}", specimen.code),
                kind: DueKind::Soak,
                when: When::At { at },
                what: format!("{}: ready for its run", specimen.code),
                why: format!("the method wants at least {} h in its water", rule.value),
                path: format!("/specimens/{}", specimen.code),
                item: None,
                person: None,
                right: Right::Test,
                sure: Sure::Certain,
                noted: soak.at,
                position: soak.position,
            })
        })
        .collect()
}
