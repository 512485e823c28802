//! Reference aggregate and its charts: lots, past results, baselines, and what follows from a signal.

mod baseline;
mod import;
mod investigation;
mod lots;

use super::Desk;
use super::form::Form;
use crate::code::{InvestigationCode, ResultCode, numbered, scanned};
use crate::control::{ControlChart, Known, charted_loss};
use crate::fact::{Fact, InvestigationOpened, Standing};
use crate::policy::Policy;
use crate::state::{Item, ReferenceLot};
use stonewear_procedure::ItemKind;

impl<'a> Desk<'a> {
    /// What follows when facts bring a reference result that is out of control: an investigation, and
    /// the apparatus is held, where the laboratory wants that.
    pub(super) fn following_signals(&self, facts: &[Fact]) -> Vec<Fact> {
        let policy = self.lab.policy(Policy::OutOfControl).value;
        if policy == "say" {
            return Vec::new();
        }
        facts
            .iter()
            .find_map(|fact| self.following_signal(fact, facts, policy == "hold"))
            .unwrap_or_default()
    }

    fn following_signal(&self, fact: &Fact, facts: &[Fact], holds: bool) -> Option<Vec<Fact>> {
        let (code, specimens, reported) = match fact {
            Fact::ResultWorkedOut { result, specimens, loss_percent, .. } => {
                (result, specimens.as_slice(), *loss_percent)
            }
            Fact::ResultRevised { result, loss_percent, .. } => {
                (result, self.lab.results.get(result)?.specimens.as_slice(), *loss_percent)
            }
            _ => return None,
        };
        let (lot, apparatus) = self.lab.chart_of(specimens)?;
        let is_known = |one: &crate::state::Investigation| one.point == *code;
        if self.lab.open_investigation_of(apparatus).is_some()
            || self.lab.investigations.values().any(is_known)
        {
            return None;
        }
        let known = Known {
            name: code.to_string(),
            at: self.context.at,
            position: self.lab.position + 1,
            loss_percent: charted_loss(self.lab, specimens, reported, facts)?,
            operator: self.lab.operator_of(specimens),
            imported: false,
            history: false,
        };
        let chart = self.lab.chart_with(lot, apparatus, Some(known));
        let point = chart.point(code.as_str())?;
        let why = format!("{} %: {}", point.loss_percent, point.signal_words()?);
        Some(self.opened(&chart, code, why, holds))
    }

    /// An investigation of a point, with the hold that goes with it.
    fn opened(
        &self,
        chart: &ControlChart,
        point: &ResultCode,
        why: String,
        holds: bool,
    ) -> Vec<Fact> {
        let (year, number) = self.lab.next_number('N', self.context.at);
        let investigation = InvestigationCode::from(numbered('N', year, number));
        let last = chart.last_in_control_before(point.as_str()).map(|last| last.name.clone());
        let mut facts = vec![Fact::InvestigationOpened(InvestigationOpened {
            investigation: investigation.clone(),
            lot: chart.lot.clone(),
            apparatus: chart.apparatus.clone(),
            point: point.clone(),
            last_in_control: last,
            why: why.clone(),
        })];
        let item = self.lab.item(&chart.apparatus);
        if holds && item.is_some_and(|item| item.standing() == Standing::InService) {
            facts.push(Fact::StandingChanged {
                item: chart.apparatus.clone(),
                standing: Standing::Held,
                reason: format!(
                    "reference result {point} is out of control, {why} ({investigation})"
                ),
            });
        }
        facts
    }

    /// A lot by its code.
    fn lot(&self, form: &mut Form, field: &str, typed: &str) -> Option<&'a ReferenceLot> {
        let found = self.lab.lots.get(scanned(typed).as_str());
        if found.is_none() {
            let known = crate::words::listed(self.lab.lots.keys().map(ToString::to_string));
            let hint = if known.is_empty() {
                "register it first".to_owned()
            } else {
                format!("known: {known}")
            };
            form.wrong(field, "lot-unknown", format!("there is no lot “{}”", typed.trim()), hint);
        }
        found
    }

    /// A machine that runs tests, in any standing. Nothing typed means the only one.
    fn machine(&self, form: &mut Form, typed: &str) -> Option<&'a Item> {
        let machines = || {
            let kinds = [ItemKind::Apparatus, ItemKind::Drum];
            kinds.into_iter().flat_map(|kind| self.lab.items_of(kind))
        };
        let code = scanned(typed);
        let found = if code.is_empty() {
            let mut in_service = machines().filter(|item| item.standing() == Standing::InService);
            in_service.next().filter(|_| in_service.next().is_none())
        } else {
            machines().find(|item| item.code.as_str() == code)
        };
        if found.is_none() {
            let known = crate::words::listed(machines().map(|item| item.code.to_string()));
            let message = match code.as_str() {
                "" => "no apparatus is named".to_owned(),
                code => format!("there is no apparatus “{code}”"),
            };
            let hint = match known.as_str() {
                "" => "register the apparatus first".to_owned(),
                known => format!("known: {known}"),
            };
            form.wrong("apparatus", "item-unknown", message, hint);
        }
        found
    }
}
