//! Opening a doubt, and closing it result by result.

use super::Desk;
use super::form::Form;
use crate::code::{DoubtCode, numbered};
use crate::fact::{Fact, Right};
use crate::refusal::Refusal;
use crate::request::{CloseDoubt, OpenDoubt};
use jiff::Timestamp;
use jiff::civil::Date;
use jiff::tz::TimeZone;

impl Desk<'_> {
    pub(super) fn open_doubt(&self, request: &OpenDoubt) -> Result<Vec<Fact>, Refusal> {
        self.person_who_may(Right::Test)?;
        let mut form = Form::new();
        let Some(item) = self.any_item(&mut form, &request.item) else { return form.refuse() };
        let attribute = form.text("attribute", &request.attribute, "what of the item is in doubt");
        let known = super::items::attributes_of(self.context.procedures, item);
        if !attribute.is_empty() && !known.contains(&attribute) {
            let message = format!("no check proves “{attribute}” of {}", item.kind.with_article());
            form.wrong(
                "attribute",
                "input-unknown",
                message,
                format!("known: {}", crate::words::listed(known)),
            );
        }
        let found = if request.found.trim().is_empty() {
            None
        } else {
            form.number("found", &request.found)
        };
        let since = self.since(&mut form, &request.since);
        let reason = form.text("reason", &request.reason, "what happened");
        let answer = self.lab.doubt(&item.code, &attribute, found, since);
        let results: Vec<_> = answer
            .into_iter()
            .flat_map(|answer| answer.results)
            .map(|doubtful| doubtful.result)
            .collect();
        if results.is_empty() && !form.is_hopeless() {
            let message =
                format!("no result stands on {} of {} in this time", attribute, item.code);
            form.wrong("item", "doubt-empty", message, "nothing needs to be marked");
        }
        let (year, number) = self.lab.next_number('D', self.context.at);
        form.facts(vec![Fact::DoubtOpened {
            doubt: DoubtCode::from(numbered('D', year, number)),
            item: item.code.clone(),
            attribute,
            found,
            results,
            reason,
        }])
    }

    pub(super) fn close_doubt(&self, request: &CloseDoubt) -> Result<Vec<Fact>, Refusal> {
        self.person_who_may(Right::Release)?;
        let mut form = Form::new();
        let typed = request.doubt.trim();
        let Some(doubt) = self.lab.doubts.get(typed.to_uppercase().as_str()) else {
            form.wrong(
                "doubt",
                "doubt-unknown",
                format!("there is no doubt “{typed}”"),
                "look at the result",
            );
            return form.refuse();
        };
        let reason = form.text("reason", &request.reason, "what was decided, and why");
        let typed = request.result.trim().to_uppercase();
        let result = doubt.results.iter().find(|result| result.as_str() == typed);
        let Some(result) = result else {
            form.wrong(
                "result",
                "result-unknown",
                format!("{} does not touch “{typed}”", doubt.code),
                "name one of its results",
            );
            return form.refuse();
        };
        if !doubt.is_open_for(result) {
            let message = format!("{} is already dealt with for {result}", doubt.code);
            form.wrong("result", "doubt-closed", message, "nothing needs to be done");
        }
        form.facts(vec![Fact::DoubtClosed {
            doubt: doubt.code.clone(),
            result: result.clone(),
            reason,
        }])
    }

    /// The beginning of a day by the laboratory's calendar.
    fn since(&self, form: &mut Form, typed: &str) -> Option<Timestamp> {
        let typed = typed.trim();
        if typed.is_empty() {
            return None;
        }
        let zone: TimeZone = self.lab.local(self.context.at).time_zone().clone();
        let at = typed.parse::<Date>().ok().and_then(|day| day.to_zoned_datetime(zone).ok());
        if at.is_none() {
            let today = self.lab.local(self.context.at).date();
            form.wrong(
                "since",
                "input-date",
                format!("“{typed}” is not a day"),
                format!("write it like {today}"),
            );
        }
        at.map(|at| at.timestamp())
    }
}
