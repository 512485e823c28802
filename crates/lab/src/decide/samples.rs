//! Receiving samples.

use super::Desk;
use super::form::{Form, yes_or_no};
use crate::code::{SampleCode, numbered};
use crate::fact::{Fact, Right};
use crate::refusal::Refusal;
use crate::request::ReceiveSample;
use jiff::civil::Date;
use stonewear_measure::Decimal;

/// Two tonnes: what is heavier is not a sample but a lorry, or a slip of the hand.
const HEAVIEST_SAMPLE_G: Decimal = Decimal::from_parts(2_000_000, 0, 0, false, 0);
/// Beyond this a number of bags is a slip of the hand.
const MOST_BAGS: u32 = 500;

impl Desk<'_> {
    pub(super) fn receive_sample(&self, request: &ReceiveSample) -> Result<Vec<Fact>, Refusal> {
        self.person_who_may(Right::Test)?;
        let mut form = Form::new();
        let source = form.text("source", &request.source, "where the material comes from");
        let material = form.text("material", &request.material, "what the material is");
        let nominal_maximum_mm = form.positive(
            "nominal_maximum_mm",
            &request.nominal_maximum_mm,
            "mm",
            Decimal::from(200),
        );
        let limit_percent = form.optional_positive(
            "limit_percent",
            &request.limit_percent,
            "%",
            Decimal::ONE_HUNDRED,
        );
        let limit_document = form.optional("limit_document", &request.limit_document);
        if limit_percent.is_some() && limit_document.is_empty() {
            let message = "a limit is given, but not the document that sets it";
            form.wrong(
                "limit_document",
                "input-missing",
                message,
                "name the contract or specification",
            );
        }
        let limit_method = self.limit_method(&mut form, &request.limit_method).unwrap_or_default();
        let received_on = self.received_on(&mut form, &request.received_on);
        let client = form.optional("client", &request.client);
        let project = form.optional("project", &request.project);
        let intended_use = form.optional("intended_use", &request.intended_use);
        let condition = form.optional("condition", &request.condition);
        let received = if request.received_g.trim().is_empty() {
            None
        } else {
            form.mass(self, "received_g", &request.received_g, HEAVIEST_SAMPLE_G)
        };
        let bags = bags(&mut form, &request.bags);
        let sampled_by = form.optional("sampled_by", &request.sampled_by);
        let client_address = form.optional("client_address", &request.client_address);
        let client_reference = form.optional("client_reference", &request.client_reference);
        let sampling_plan = form.optional("sampling_plan", &request.sampling_plan);
        let sampled_on = self.sampled_on(&mut form, &request.sampled_on, received_on);
        let delivered_by = form.optional("delivered_by", &request.delivered_by);
        let place = form.optional("place", &request.place);
        let (Some(nominal_maximum_mm), Some(received_on)) = (nominal_maximum_mm, received_on)
        else {
            return form.refuse();
        };
        let (year, number) = self.lab.next_number('S', self.context.at);
        let sample = SampleCode::from(numbered('S', year, number));
        let of_lot = self.lot_of_received(&mut form, &sample, &request.lot);
        let received = Fact::SampleReceived {
            sample,
            source,
            client,
            project,
            material,
            intended_use,
            nominal_maximum_mm,
            condition,
            limit_percent,
            limit_document,
            limit_method,
            received_on,
            // What is of a lot is reference aggregate, whether or not the box was ticked.
            reference: of_lot.is_some() || yes_or_no(&request.reference).unwrap_or(false),
            received_g: received.as_ref().map(|mass| mass.mass_g),
            received_as_read: received.map(|mass| mass.as_read).unwrap_or_default(),
            bags,
            sampled_by,
            client_address,
            client_reference,
            sampling_plan,
            sampled_on,
            delivered_by,
            place,
        };
        form.facts(std::iter::once(received).chain(of_lot).collect())
    }

    /// The method that a limit is for, by its name without the edition; none where none is named.
    pub(super) fn limit_method(&self, form: &mut Form, typed: &str) -> Option<String> {
        let typed = typed.trim();
        if typed.is_empty() {
            return None;
        }
        let in_use = self.lab.method_in_use(typed).map(|in_use| &in_use.method);
        let method = in_use.or_else(|| self.method_in_library(form, "limit_method", typed))?;
        Some(method.id.clone())
    }

    fn received_on(&self, form: &mut Form, typed: &str) -> Option<Date> {
        let today = self.lab.local(self.context.at).date();
        if typed.trim().is_empty() { Some(today) } else { self.day(form, "received_on", typed) }
    }

    /// The day of sampling, which was not after the day of arrival.
    fn sampled_on(&self, form: &mut Form, typed: &str, received: Option<Date>) -> Option<Date> {
        if typed.trim().is_empty() {
            return None;
        }
        let day = self.day(form, "sampled_on", typed)?;
        if let Some(received) = received.filter(|received| *received < day) {
            let message = format!("it arrived on {received}, before it was taken on {day}");
            form.wrong("sampled_on", "input-date", message, "correct one of the two days");
        }
        Some(day)
    }

    /// A day that has come already.
    pub(super) fn day(&self, form: &mut Form, field: &str, typed: &str) -> Option<Date> {
        let today = self.lab.local(self.context.at).date();
        let typed = typed.trim();
        match typed.parse::<Date>() {
            Ok(day) if day <= today => Some(day),
            Ok(day) => {
                let message = format!("{day} has not come yet");
                form.wrong(field, "input-date", message, format!("today is {today}"));
                None
            }
            Err(_) => {
                let message = format!("“{typed}” is not a day");
                form.wrong(field, "input-date", message, format!("write it like {today}"));
                None
            }
        }
    }
}

/// How many bags came, if somebody counted them.
fn bags(form: &mut Form, typed: &str) -> Option<u32> {
    let typed = typed.trim();
    if typed.is_empty() {
        return None;
    }
    let bags = typed.parse::<u32>().ok().filter(|bags| (1..=MOST_BAGS).contains(bags));
    if bags.is_none() {
        let message = format!("“{typed}” is not a number of bags");
        form.wrong(
            "bags",
            "input-number",
            message,
            format!("write a whole number from 1 to {MOST_BAGS}"),
        );
    }
    bags
}
