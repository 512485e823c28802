//! Drying to constant mass, and the clock of the soak.

use super::Desk;
use super::form::{Form, Mass, code};
use super::specimens::{HEAVIEST_G, not_weighed};
use crate::drying::{Constancy, constancy};
use crate::fact::{DryingWeighed, Fact, Right, Stage};
use crate::refusal::Refusal;
use crate::request::{StartSoak, WeighDrying};
use crate::state::{Item, Specimen};
use jiff::Timestamp;
use stonewear_measure::Decimal;
use stonewear_measure::balance::shown;
use stonewear_method::Method;
use stonewear_procedure::ItemKind;

impl<'a> Desk<'a> {
    pub(super) fn weigh_drying(&self, request: &WeighDrying) -> Result<Vec<Fact>, Refusal> {
        self.person_who_may(Right::Test)?;
        let mut form = Form::new();
        let Some(specimen) = self.specimen(&mut form, &request.specimen) else {
            return form.refuse();
        };
        let Some((method, _)) = self.rules(&mut form, specimen) else { return form.refuse() };
        if !method.weighs_before_and_after() {
            return not_weighed(form, method);
        }
        let Some(stage) = self.stage(&mut form, specimen) else { return form.refuse() };
        let balance =
            code(form.item(self, "balance", &request.balance, ItemKind::Balance, |_| true));
        let oven = self.oven(&mut form, &request.oven);
        let mass = form.mass(self, "mass_g", &request.mass_g, HEAVIEST_G);
        if let (Some(mass), Some(last)) = (&mass, specimen.drying_at(stage).last())
            && mass.mass_g > last.value.mass_g
        {
            let mass_g = shown(mass.mass_g);
            let message = format!("{mass_g} g is more than the {} g before", last.value.mass_g);
            let hint = "a drying specimen cannot gain mass: is it the right one, did it cool dry?";
            form.wrong("mass_g", "mass-gained", message, hint);
        }
        let (Some(balance), Some(mass)) = (balance, mass) else { return form.refuse() };
        form.facts(vec![Fact::DryingWeighed(DryingWeighed {
            specimen: specimen.code.clone(),
            stage,
            mass_g: mass.mass_g,
            as_read: mass.as_read,
            balance,
            oven: code(oven),
        })])
    }

    /// Which mass a specimen dries towards now.
    fn stage(&self, form: &mut Form, specimen: &Specimen) -> Option<Stage> {
        let run = specimen.run.as_ref().and_then(|run| self.lab.runs.get(run));
        match run {
            None => Some(Stage::Before),
            Some(run) if run.stopped.is_some() => Some(Stage::After),
            Some(run) => {
                let message = format!("{} is in the run {}", specimen.code, run.code);
                form.wrong("specimen", "run-not-ended", message, "record how it ended first");
                None
            }
        }
    }

    pub(super) fn start_soak(&self, request: &StartSoak) -> Result<Vec<Fact>, Refusal> {
        self.person_who_may(Right::Test)?;
        let mut form = Form::new();
        let Some(specimen) = self.specimen(&mut form, &request.specimen) else {
            return form.refuse();
        };
        let Some((method, _)) = self.rules(&mut form, specimen) else { return form.refuse() };
        if method.soak.is_none() {
            let message = format!("{} asks for no soak in water", method.designation);
            form.wrong("specimen", "not-wanted", message, "nothing needs to be done");
        } else if let Some(run) = &specimen.run {
            let message = format!("{} was already run in {run}", specimen.code);
            form.wrong("specimen", "specimen-run", message, "make up another specimen");
        } else if specimen.before_g().is_none() {
            let message = format!("{} has no mass before", specimen.code);
            let hint = "weigh it, washed and oven-dry, before it gets wet";
            form.wrong("specimen", "mass-before-missing", message, hint);
        } else if let Some(soak) = &specimen.soak {
            let since = self.lab.local(soak.at).strftime("%Y-%m-%d %H:%M").to_string();
            let message = format!("{} lies in its water since {since}", specimen.code);
            form.wrong("specimen", "soak-started", message, "nothing needs to be done");
        }
        let (specimen, made) = (specimen.code.clone(), self.context.made);
        form.facts(vec![Fact::SoakStarted { specimen, made }])
    }

    /// The oven that is named, or the only one in service; a laboratory may keep none on record.
    pub(super) fn oven(&self, form: &mut Form, typed: &str) -> Option<&'a Item> {
        self.if_there_is_one(form, "oven", typed, ItemKind::Oven, |_| true)
    }

    /// The item that is named, or the only one in service that fits; none where nothing is named
    /// and there is none or several.
    pub(super) fn if_there_is_one(
        &self,
        form: &mut Form,
        field: &str,
        typed: &str,
        kind: ItemKind,
        fits: impl Fn(&Item) -> bool,
    ) -> Option<&'a Item> {
        if typed.trim().is_empty()
            && self.lab.in_service(kind).filter(|item| fits(item)).count() != 1
        {
            return None;
        }
        form.item(self, field, typed, kind, fits)
    }

    /// The mass of a specimen that dried: the one typed, or the last of a series that is constant.
    /// A series that is not constant is a departure.
    pub(super) fn dried_mass(
        &self,
        form: &mut Form,
        specimen: &Specimen,
        stage: Stage,
        typed: &str,
        method: &Method,
    ) -> Option<Mass> {
        let series: Vec<(Timestamp, Decimal)> =
            specimen.drying_at(stage).map(|one| (one.at, one.value.mass_g)).collect();
        let last = specimen.drying_at(stage).last();
        let (mass, series) = match last {
            Some(last) if typed.trim().is_empty() => {
                let as_read = last.value.as_read.clone();
                (Mass { mass_g: last.value.mass_g, as_read }, series)
            }
            last => {
                let mass = form.mass(self, "mass_g", typed, HEAVIEST_G)?;
                // A mass that the series ends with already is not weighed a second time.
                let is_new = last.is_none_or(|last| last.value.mass_g != mass.mass_g);
                let next = is_new.then_some((self.context.at, mass.mass_g));
                (mass, series.into_iter().chain(next).collect())
            }
        };
        if series.len() > 1 || (typed.trim().is_empty() && !series.is_empty()) {
            match constancy(&method.drying, &series) {
                Constancy::Constant => {}
                not_yet => {
                    let hint = "dry it on and weigh it again, or record why this mass counts";
                    form.departs("mass_g", "mass-not-constant", not_yet.to_string(), hint);
                }
            }
        }
        Some(mass)
    }
}
