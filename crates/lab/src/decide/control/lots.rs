//! Lots: registered, linked to samples, counted, one after the other; and what happens to machines.

use crate::code::{LotCode, SampleCode, is_numbered, tidy};
use crate::decide::Desk;
use crate::decide::form::Form;
use crate::fact::{
    AssignedValue, EventKind, EventNoted, Fact, LotRegistered, LotTakenOver, Right, SampleLinked,
    StockCounted,
};
use crate::refusal::Refusal;
use crate::request::{CountStock, LinkSample, NoteEvent, RegisterLot, TakeOverLot};
use stonewear_measure::Decimal;

/// Two tonnes: more of one lot is a slip of the hand.
const LARGEST_LOT_G: Decimal = Decimal::from_parts(2_000_000, 0, 0, false, 0);

impl Desk<'_> {
    pub(in crate::decide) fn register_lot(
        &self,
        request: &RegisterLot,
    ) -> Result<Vec<Fact>, Refusal> {
        self.person_who_may(Right::Manage)?;
        let mut form = Form::new();
        let lot = self.new_lot_code(&mut form, &request.lot);
        let name = form.text("name", &request.name, "what people call it");
        let source = form.text("source", &request.source, "where the material comes from");
        let assigned = assigned(&mut form, request);
        let stock = form.mass(self, "stock_g", &request.stock_g, LARGEST_LOT_G);
        let today = self.lab.local(self.context.at).date();
        let received_on = match request.received_on.trim() {
            "" => Some(today),
            typed => self.day(&mut form, "received_on", typed),
        };
        let in_use = self.lab.method_in_use(request.method.trim());
        let Some(in_use) = in_use else {
            let known = crate::words::listed(self.lab.methods.keys().map(ToString::to_string));
            let message = format!("“{}” is no method in use here", request.method.trim());
            let hint = if known.is_empty() {
                "take the method into use first".to_owned()
            } else {
                format!("in use: {known}")
            };
            form.wrong("method", "method-unknown", message, hint);
            return form.refuse();
        };
        let grading = request.grading.trim();
        if in_use.method.grading(grading).is_none() {
            let known = in_use.method.gradings.iter().map(|grading| grading.name.clone());
            let message = format!("{} has no grading “{grading}”", in_use.method.designation);
            let hint = format!("known: {}", crate::words::listed(known));
            form.wrong("grading", "grading-unknown", message, hint);
        }
        let (Some(lot), Some(stock), Some(received_on)) = (lot, stock, received_on) else {
            return form.refuse();
        };
        form.facts(vec![Fact::LotRegistered(LotRegistered {
            lot,
            name,
            source,
            method: in_use.id.clone(),
            grading: grading.to_owned(),
            assigned,
            stock_g: stock.mass_g,
            received_on,
        })])
    }

    /// A code that nothing else has.
    fn new_lot_code(&self, form: &mut Form, typed: &str) -> Option<LotCode> {
        let Some(code) = tidy(typed) else {
            let message = format!("“{}” cannot be the code of a lot", typed.trim());
            let hint = "use up to 16 letters, digits, - and ., like RA-2";
            form.wrong("lot", "input-code", message, hint);
            return None;
        };
        if is_numbered(&code) {
            let message = format!("{code} reads like the code of a sample, run or result");
            form.wrong("lot", "input-code", message, "use another code, like RA-2");
        }
        if let Some(thing) = self.lab.thing(&code) {
            let message = format!("{code} is already {}", thing.what());
            form.wrong("lot", "code-in-use", message, "use another code");
        }
        Some(LotCode::from(code))
    }

    pub(in crate::decide) fn link_sample(
        &self,
        request: &LinkSample,
    ) -> Result<Vec<Fact>, Refusal> {
        self.person_who_may(Right::Test)?;
        let mut form = Form::new();
        let reason = form.optional("reason", &request.reason);
        let lot = self.lot(&mut form, "lot", &request.lot);
        let typed = request.sample.trim().to_uppercase();
        let Some(sample) = self.lab.samples.get(typed.as_str()) else {
            let message = format!("there is no sample “{typed}”");
            form.wrong("sample", "sample-unknown", message, "look under samples");
            return form.refuse();
        };
        if !sample.reference {
            let message = format!("{} was not received as reference aggregate", sample.code);
            let hint = "receive the reference aggregate as a sample of its own";
            form.wrong("sample", "sample-not-reference", message, hint);
        }
        let Some(lot) = lot else { return form.refuse() };
        if let Some(linked) = self.lab.lot_of_sample.get(&sample.code) {
            if linked.value == lot.code {
                let message = format!("{} is already of lot {}", sample.code, lot.code);
                form.wrong("lot", "lot-linked", message, "nothing needs to be done");
            } else if reason.is_empty() {
                let message = format!("{} is already of lot {}", sample.code, linked.value);
                form.wrong("reason", "value-replaced", message, "say why it is of another");
            }
        }
        form.facts(vec![linked(&sample.code, &lot.code, reason)])
    }

    /// That a sample being received is of a lot; nothing where none is named.
    pub(in crate::decide) fn lot_of_received(
        &self,
        form: &mut Form,
        sample: &SampleCode,
        typed: &str,
    ) -> Option<Fact> {
        if typed.trim().is_empty() {
            return None;
        }
        let lot = self.lot(form, "lot", typed)?;
        Some(linked(sample, &lot.code, String::new()))
    }

    pub(in crate::decide) fn count_stock(
        &self,
        request: &CountStock,
    ) -> Result<Vec<Fact>, Refusal> {
        self.person_who_may(Right::Test)?;
        let mut form = Form::new();
        let reason = form.text("reason", &request.reason, "why it is not what the specimens left");
        let lot = self.lot(&mut form, "lot", &request.lot);
        let typed = request.stock_g.trim();
        // An empty bin weighs nothing.
        let stock_g = match typed {
            "0" => Some(Decimal::ZERO),
            typed => form.mass(self, "stock_g", typed, LARGEST_LOT_G).map(|mass| mass.mass_g),
        };
        let (Some(lot), Some(stock_g)) = (lot, stock_g) else { return form.refuse() };
        form.facts(vec![Fact::StockCounted(StockCounted {
            lot: lot.code.clone(),
            stock_g,
            reason,
        })])
    }

    pub(in crate::decide) fn take_over_lot(
        &self,
        request: &TakeOverLot,
    ) -> Result<Vec<Fact>, Refusal> {
        self.person_who_may(Right::Manage)?;
        let mut form = Form::with_reason(&request.deviation);
        let reason = form.text("reason", &request.reason, "what is concluded from the step");
        let new = self.lot(&mut form, "lot", &request.lot);
        let old = self.lot(&mut form, "replaces", &request.replaces);
        let machine = self.machine(&mut form, &request.apparatus);
        let (Some(new), Some(old), Some(machine)) = (new, old, machine) else {
            return form.refuse();
        };
        if new.code == old.code {
            let message = "a lot cannot take its own place";
            form.wrong("replaces", "lot-same", message, "name the lot that was in use before");
        }
        if (&new.method, &new.grading) != (&old.method, &old.grading) {
            let message = format!("{} and {} are not for the same test", old.code, new.code);
            form.wrong(
                "replaces",
                "lots-differ",
                message,
                "compare lots of one method and grading",
            );
        }
        if new
            .took_over
            .iter()
            .any(|taken| taken.value.replaces == old.code && taken.value.apparatus == machine.code)
        {
            let message = format!("{} already took the place of {}", new.code, old.code);
            form.wrong("replaces", "lot-taken-over", message, "nothing needs to be done");
        }
        let overlap = self.lab.overlap(old, new, &machine.code);
        let (Some(difference_percent), Some(interval_percent)) =
            (overlap.difference_percent, overlap.interval_percent)
        else {
            let hint = format!("run both on {} until there are enough", machine.code);
            form.wrong("lot", "overlap-short", overlap.verdict, hint);
            return form.refuse();
        };
        if !overlap.is_enough() {
            let message = format!(
                "{} of {} and {} of {} are compared; the laboratory wants {} of each",
                overlap.results.0, old.code, overlap.results.1, new.code, overlap.wanted
            );
            let hint = "run more of both, or record why these do";
            form.departs("lot", "overlap-short", message, hint);
        }
        let deviations = form.deviations()?;
        Ok(vec![Fact::LotTakenOver(LotTakenOver {
            lot: new.code.clone(),
            replaces: old.code.clone(),
            apparatus: machine.code.clone(),
            results: overlap.results,
            difference_percent,
            interval_percent,
            verdict: overlap.verdict,
            reason,
            deviations,
        })])
    }

    pub(in crate::decide) fn note_event(&self, request: &NoteEvent) -> Result<Vec<Fact>, Refusal> {
        self.person_who_may(Right::Test)?;
        let mut form = Form::new();
        let note = form.text("note", &request.note, "what happened");
        let typed = request.what.trim();
        let what = EventKind::ALL.into_iter().find(|kind| kind.name() == typed);
        if what.is_none() {
            let known = crate::words::listed(EventKind::ALL.map(EventKind::name));
            let message = format!("“{typed}” is not something that is noted");
            form.wrong("what", "input-choice", message, format!("known: {known}"));
        }
        let today = self.lab.local(self.context.at).date();
        let on = match request.on.trim() {
            "" => Some(today),
            typed => self.day(&mut form, "on", typed),
        };
        let item = self.any_item(&mut form, &request.item);
        let (Some(item), Some(what), Some(on)) = (item, what, on) else { return form.refuse() };
        let item = item.code.clone();
        form.facts(vec![Fact::EventNoted(EventNoted { item, what, on, note })])
    }
}

fn linked(sample: &SampleCode, lot: &LotCode, reason: String) -> Fact {
    Fact::SampleLinked(SampleLinked { sample: sample.clone(), lot: lot.clone(), reason })
}

/// The value that a document gives the lot: all of it, or nothing.
fn assigned(form: &mut Form, request: &RegisterLot) -> Option<AssignedValue> {
    let hundred = Decimal::ONE_HUNDRED;
    let given = [&request.assigned_percent, &request.expanded_percent, &request.document];
    if given.iter().all(|typed| typed.trim().is_empty()) {
        return None;
    }
    let loss = form.positive("assigned_percent", &request.assigned_percent, "%", hundred);
    let expanded = form.positive("expanded_percent", &request.expanded_percent, "%", hundred);
    let document = form.text("document", &request.document, "the document of the assigned value");
    Some(AssignedValue { loss_percent: loss?, expanded_percent: expanded?, document })
}
