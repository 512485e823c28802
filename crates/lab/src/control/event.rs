//! What happened to an apparatus between its reference results: marks on the time axis of a chart.

use crate::code::ItemCode;
use crate::fact::Standing;
use crate::state::{Lab, ReferenceLot};
use jiff::Timestamp;
use serde::Serialize;
use stonewear_procedure::ItemKind;

/// Something that happened.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct ChartEvent {
    /// When.
    pub at: Timestamp,
    /// In a word or two, for the axis.
    pub name: String,
    /// In a sentence, for the table.
    pub what: String,
}

impl Lab {
    /// What happened to an apparatus, and to the charges that ran in it, since an instant; lots that
    /// followed one another; investigations.
    pub(crate) fn chart_events(
        &self,
        lot: &ReferenceLot,
        apparatus: &ItemCode,
        since: Option<Timestamp>,
    ) -> Vec<ChartEvent> {
        let Some(since) = since else { return Vec::new() };
        let event = |at: Timestamp, name: &str, what: String| ChartEvent {
            at,
            name: name.to_owned(),
            what,
        };
        let mut events = Vec::new();
        let machine = self.items.get(apparatus);
        for change in machine.into_iter().flat_map(|item| &item.standings) {
            let name = match change.value.standing {
                Standing::Held => "held",
                Standing::InService => "in service",
                Standing::Retired => "retired",
                Standing::BeingProved => continue,
            };
            events.push(event(
                change.at,
                name,
                format!("{apparatus} {name}: {}", change.value.reason),
            ));
        }
        let charges: Vec<_> = self.items_of(ItemKind::BallCharge).collect();
        for charge in &charges {
            let what = format!("ball charge {} registered", charge.code);
            events.push(event(charge.registered.at, "new charge", what));
        }
        let watched = machine.into_iter().chain(charges);
        let watched: Vec<&ItemCode> = watched.map(|item| &item.code).collect();
        for item in &watched {
            for check in self.checks_of(item) {
                let Some(ended) = check.ended.as_ref().filter(|ended| !ended.value.passed) else {
                    continue;
                };
                let what = format!(
                    "{} of {item} not passed ({}): {}",
                    check.procedure.title, check.code, ended.value.reason
                );
                events.push(event(ended.at, "check failed", what));
            }
            for noted in self.events.get(*item).into_iter().flatten() {
                let value = &noted.value;
                let at = self.start_of(value.on).unwrap_or(noted.at);
                let what = format!("{item} {}: {}", value.what.in_words(), value.note);
                events.push(event(at, value.what.in_words(), what));
            }
        }
        for taken in lot.took_over.iter().filter(|taken| taken.value.apparatus == *apparatus) {
            let what = format!("lot {} took the place of {}", lot.code, taken.value.replaces);
            events.push(event(taken.at, "new lot", what));
        }
        let replaced = self.lots.values().flat_map(|other| &other.took_over);
        for taken in replaced
            .filter(|taken| taken.value.replaces == lot.code && taken.value.apparatus == *apparatus)
        {
            let what = format!("lot {} took the place of {}", taken.value.lot, lot.code);
            events.push(event(taken.at, "lot replaced", what));
        }
        events.retain(|event| event.at >= since);
        events.sort_by_key(|event| event.at);
        events
    }

    /// The first instant of a day by the laboratory's calendar.
    pub(crate) fn start_of(&self, day: jiff::civil::Date) -> Option<Timestamp> {
        let zone = self.local(Timestamp::UNIX_EPOCH).time_zone().clone();
        Some(day.to_zoned_datetime(zone).ok()?.timestamp())
    }
}
