//! Starting and stopping runs.

use super::Desk;
use super::drum::{ball_count, in_jar, not_wanted};
use super::form::{Form, code};
use crate::authorisation::Activity;
use crate::code::{RunCode, numbered, scanned};
use crate::fact::{Fact, Placed, Right};
use crate::refusal::Refusal;
use crate::request::{Placement, StartRun, StopRun};
use crate::state::{Run, Specimen, Stopped};
use std::collections::{BTreeMap, BTreeSet};
use stonewear_measure::{Decimal, Limits};
use stonewear_method::{Grading, Method, Toleranced};
use stonewear_procedure::apparatus::Control;
use stonewear_procedure::{Apparatus, ItemKind};

/// Beyond these a reading is a slip of the hand.
pub(super) const MOST_REVOLUTIONS: Decimal = Decimal::from_parts(1_000_000, 0, 0, false, 0);
pub(super) const MOST_MINUTES: Decimal = Decimal::from_parts(10_000, 0, 0, false, 0);
const MOST_HOURS: Decimal = Decimal::from_parts(2_000, 0, 0, false, 0);
pub(super) const MOST_LITRES: Decimal = Decimal::from_parts(20, 0, 0, false, 0);
pub(super) const HEAVIEST_CHARGE_G: Decimal = Decimal::from_parts(50_000, 0, 0, false, 0);

impl<'a> Desk<'a> {
    pub(super) fn start_run(&self, request: &StartRun) -> Result<Vec<Fact>, Refusal> {
        self.person_who_may(Right::Test)?;
        let mut form = Form::with_reason(&request.deviation);
        let machine = self.machine_for(request);
        let item = form.item(self, "apparatus", &request.apparatus, machine, |_| true);
        let Some((item, apparatus)) = item.and_then(|item| Some((item, item.apparatus.as_ref()?)))
        else {
            return form.refuse();
        };
        if let Some(run) = self.lab.turning_in(&item.code) {
            let message = format!("{} is already turning in {}", run.code, item.code);
            form.wrong(
                "apparatus",
                "apparatus-turning",
                message,
                "record how that run ended first",
            );
        }
        let ended_by = ended_by(&mut form, apparatus, &request.ended_by);
        let water_c = if request.water_c.trim().is_empty() {
            None
        } else {
            form.number("water_c", &request.water_c)
        };
        let thermometer = water_c.and_then(|_| {
            let (typed, kind) = (request.thermometer.as_str(), ItemKind::Thermometer);
            code(self.if_there_is_one(&mut form, "thermometer", typed, kind, |_| true))
        });
        let mut tray = Tray { placed: Vec::new(), rules: Vec::new(), taken: BTreeSet::new() };
        for (index, placement) in request.placements.iter().enumerate() {
            if !placement.specimen.trim().is_empty() {
                self.place(&mut form, &mut tray, (item.kind, apparatus), index, placement);
            }
        }
        if tray.placed.is_empty() && !form.is_hopeless() {
            form.wrong(
                "placements",
                "input-missing",
                "no specimen is placed",
                "name a specimen, its jar and its place",
            );
        }
        // To find out what is wrong, and that it is right again, reference aggregate has to run.
        let is_reference = |placed: &Placed| {
            let specimen = self.lab.specimens.get(&placed.specimen);
            specimen.is_some_and(|one| self.lab.lot_of_sample.contains_key(&one.sample))
        };
        if self.lab.may_repeat_on(&item.code) && tray.placed.iter().all(is_reference) {
            form.forgive("apparatus", "item-not-in-service");
        }
        let revolutions_wanted = one_count(&mut form, &tray.rules);
        let judged = tray.rules.iter().map(|(_, method, _)| method);
        let methods: BTreeMap<_, _> =
            judged.clone().map(|method| (method.key(), *method)).collect();
        for method in methods.into_values() {
            self.judge_authorised(&mut form, method, Activity::Run);
        }
        let wet = judged.clone().find(|method| method.water_temperature().is_some());
        match (water_c, wet.or(judged.clone().next())) {
            (Some(celsius), Some(method)) => self.within_temperature(&mut form, celsius, method),
            (None, Some(method))
                if method.water_temperature().is_some() && request.water_c.trim().is_empty() =>
            {
                let message = "the temperature of the water is not recorded";
                let hint = "read it, or record why it stays unknown";
                form.departs("water_c", "water-temperature-missing", message, hint);
            }
            _ => {}
        }
        let (Some(ended_by), Some(revolutions_wanted)) = (ended_by, revolutions_wanted) else {
            return form.refuse();
        };
        let deviations = form.deviations()?;
        let (year, number) = self.lab.next_number('R', self.context.at);
        Ok(vec![Fact::RunStarted {
            run: RunCode::from(numbered('R', year, number)),
            apparatus: item.code.clone(),
            ended_by,
            revolutions_wanted,
            water_c,
            thermometer,
            placed: tray.placed,
            deviations,
            made: self.context.made,
        }])
    }

    fn place(
        &self,
        form: &mut Form,
        tray: &mut Tray<'a>,
        (apparatus_kind, apparatus): (ItemKind, &Apparatus),
        index: usize,
        placement: &Placement,
    ) {
        let at = |field: &str| format!("placements.{index}.{field}");
        let position = position(form, &at("position"), apparatus, placement);
        let Some(specimen) = self.specimen_to_run(form, &at("specimen"), &placement.specimen)
        else {
            return;
        };
        let Some((method, grading)) = self.rules(form, specimen) else { return };
        if !self.judge_vessel(form, &at("specimen"), method, apparatus_kind) {
            return;
        }
        let jar = self.jar(form, &at("jar"), &placement.jar, method);
        let (charge, charge_mass) = match &grading.charge_g {
            None if placement.charge.trim().is_empty() => (None, None),
            None => {
                let message = format!("{} runs without balls", method.designation);
                form.wrong(&at("charge"), "charge-not-wanted", message, "leave the charge out");
                (None, None)
            }
            Some(rule) => {
                let charge = code(form.item(
                    self,
                    &at("charge"),
                    &placement.charge,
                    ItemKind::BallCharge,
                    |_| true,
                ));
                let mass = form.mass(self, &at("charge_g"), &placement.charge_g, HEAVIEST_CHARGE_G);
                if let Some(mass) = &mass {
                    self.within_charge(form, &at("charge_g"), mass.mass_g, rule.limits());
                }
                (charge, mass)
            }
        };
        let charge_balls = ball_count(form, &at("charge_balls"), &placement.charge_balls, grading);
        let water_l = match &method.water {
            None => not_wanted(form, &at("water_l"), &placement.water_l, method, "water"),
            Some(rule) => {
                let water_l = form.positive(&at("water_l"), &placement.water_l, "L", MOST_LITRES);
                if let Some(water_l) = water_l {
                    let limits = rule.volume_l.limits();
                    form.within(&at("water_l"), "water-volume", "the water", water_l, "L", limits);
                }
                water_l
            }
        };
        let (field, typed) = (at("soaked_h"), placement.soaked_h.as_str());
        let soaked_h = self.soaked(form, &field, typed, method, Some(specimen));
        for (field, taken) in [
            ("position", position.as_ref().map(|(tier, place)| format!("place {tier} {place}"))),
            ("specimen", Some(format!("specimen {}", specimen.code))),
            ("jar", jar.as_ref().map(|jar| format!("jar {jar}"))),
            ("charge", charge.as_ref().map(|charge| format!("charge {charge}"))),
        ] {
            if let Some(taken) = taken.filter(|taken| !tray.taken.insert(taken.clone())) {
                form.wrong(
                    &at(field),
                    "placed-twice",
                    format!("{taken} is named twice"),
                    "each can be used once in a run",
                );
            }
        }
        let complete = jar.is_some() == in_jar(method)
            && water_l.is_some() == method.water.is_some()
            && soaked_h.is_some() == method.soak.is_some();
        let Some((tier, position)) = position.filter(|_| complete) else { return };
        tray.rules.push((specimen, method, grading));
        tray.placed.push(Placed {
            tier,
            position,
            specimen: specimen.code.clone(),
            jar,
            charge,
            charge_g: charge_mass.as_ref().map(|mass| mass.mass_g),
            charge_as_read: charge_mass.map(|mass| mass.as_read).unwrap_or_default(),
            charge_balls,
            water_l,
            soaked_h,
        });
    }

    pub(super) fn within_charge(
        &self,
        form: &mut Form,
        field: &str,
        mass_g: Decimal,
        limits: Limits,
    ) {
        form.within(field, "charge-mass", "the ball charge", mass_g, "g", limits);
    }

    pub(super) fn within_temperature(&self, form: &mut Form, celsius: Decimal, method: &Method) {
        if let Some(rule) = method.water_temperature() {
            let limits = rule.limits();
            form.within("water_c", "water-temperature", "the water", celsius, "°C", limits);
        }
    }

    /// How long a specimen soaked: as typed, or by the clock that was started for it.
    pub(super) fn soaked(
        &self,
        form: &mut Form,
        field: &str,
        typed: &str,
        method: &Method,
        specimen: Option<&Specimen>,
    ) -> Option<Decimal> {
        let Some(rule) = &method.soak else {
            return not_wanted(form, field, typed, method, "a soak");
        };
        let least = rule.hours_at_least.value;
        let since = specimen.and_then(|specimen| specimen.soak.as_ref());
        let hours = match (typed.trim().is_empty(), since) {
            (true, Some(since)) => {
                let seconds = self.entered_at().duration_since(since.at).as_secs().max(0);
                // Whole hundredths that have passed: a soak is never called longer than it was.
                let hundredths = Decimal::from(seconds / 36);
                hundredths.checked_div(Decimal::ONE_HUNDRED)?
            }
            (true, None) if least.is_zero() => return Some(Decimal::ZERO),
            _ => form.number(field, typed)?,
        };
        if hours < Decimal::ZERO || hours > MOST_HOURS {
            let hint = format!("it must be between 0 and {MOST_HOURS} h");
            form.wrong(field, "input-impossible", format!("{hours} h cannot be"), hint);
            return None;
        }
        form.within(field, "soak-too-short", "the soak", hours, "h", Limits::at_least(least));
        Some(hours)
    }

    fn specimen_to_run(&self, form: &mut Form, field: &str, typed: &str) -> Option<&'a Specimen> {
        let typed = typed.trim();
        let Some(specimen) = self.lab.specimens.get(scanned(typed).as_str()) else {
            form.wrong(
                field,
                "specimen-unknown",
                self.is_no("specimen", typed),
                "make it up first",
            );
            return None;
        };
        if let Some(run) = &specimen.run {
            let message = format!("{} was already run in {run}", specimen.code);
            form.wrong(field, "specimen-run", message, "make up another specimen");
            return None;
        }
        if specimen.before_g().is_none() {
            let message = format!("{} has no mass before", specimen.code);
            form.wrong(
                field,
                "mass-before-missing",
                message,
                "weigh it, washed and oven-dry, first",
            );
            return None;
        }
        Some(specimen)
    }

    pub(super) fn stop_run(&self, request: &StopRun) -> Result<Vec<Fact>, Refusal> {
        self.person_who_may(Right::Test)?;
        let mut form = Form::with_reason(&request.deviation);
        let Some(run) = self.run(&mut form, &request.run) else { return form.refuse() };
        let reason = form.optional("reason", &request.reason);
        if run.stopped.is_some() && reason.is_empty() {
            let message = format!("how {} ended is already recorded", run.code);
            form.wrong(
                "reason",
                "replaces-record",
                message,
                "give the reason for replacing it; the former end is kept",
            );
        }
        let (revolutions, minutes) = if run.is_interrupted() {
            // It is ended where it stands: what turned before its interruption is all there is.
            (None, None)
        } else {
            self.turned(&mut form, run, &request.revolutions, &request.minutes)
        };
        self.clock_agrees(&mut form, run, revolutions, minutes);
        if !form.is_hopeless() {
            let stopped = Stopped { revolutions, minutes, reason: reason.clone() };
            self.judge_end(&mut form, run, &run.with_end(&stopped));
        }
        let deviations = form.deviations()?;
        let revised = self.on_other_evidence(self.results_of_run(run), &reason);
        let run = run.code.clone();
        let stopped = Fact::RunStopped { run, revolutions, minutes, reason, deviations };
        Ok(std::iter::once(stopped).chain(revised).collect())
    }

    /// Judges count, time and speed against the method of the specimens in the run.
    fn judge_end(&self, form: &mut Form, run: &Run, stopped: &Stopped) {
        let specimen =
            run.placed.first().and_then(|placed| self.lab.specimens.get(&placed.specimen));
        let Some((method, grading)) = specimen.and_then(|specimen| self.rules(form, specimen))
        else {
            return;
        };
        match (stopped.revolutions, stopped.minutes, &grading.minutes) {
            (Some(count), _, _) => {
                let rule = grading.revolutions.as_ref();
                let limits = rule.map(Toleranced::limits).unwrap_or_default();
                form.within(
                    "revolutions",
                    "revolutions",
                    "the count",
                    count,
                    "revolutions",
                    limits,
                );
            }
            (None, Some(minutes), Some(rule)) => {
                form.within("minutes", "minutes", "the time", minutes, "min", rule.limits());
            }
            _ => {}
        }
        if let Some(rpm) = stopped.rpm() {
            let rule = method.speed_rpm.as_ref();
            let limits = rule.map(Toleranced::limits).unwrap_or_default();
            form.within("minutes", "speed", "the speed", rpm, "rev/min", limits);
        }
    }
}

/// What has been placed so far, with the rules of each and what is taken.
struct Tray<'a> {
    placed: Vec<Placed>,
    rules: Vec<(&'a Specimen, &'a Method, &'a Grading)>,
    taken: BTreeSet<String>,
}

fn ended_by(form: &mut Form, apparatus: &Apparatus, typed: &str) -> Option<Control> {
    let offered = |control: &Control| match control {
        Control::Time => "time",
        Control::Revolutions => "revolutions",
    };
    let typed = typed.trim();
    let chosen = if typed.is_empty() {
        // A counted run is closer to its end than a timed one, so it is what is meant.
        apparatus.control.iter().max().copied()
    } else {
        apparatus.control.iter().find(|control| offered(control) == typed).copied()
    };
    if chosen.is_none() {
        let message = format!("this apparatus cannot end a run by “{typed}”");
        let hint =
            format!("it can by {}", crate::words::listed(apparatus.control.iter().map(offered)));
        form.wrong("ended_by", "control-unknown", message, hint);
    }
    chosen
}

fn position(
    form: &mut Form,
    field: &str,
    apparatus: &Apparatus,
    placement: &Placement,
) -> Option<(String, u32)> {
    let (tier, place) = (placement.tier.trim(), placement.position.trim());
    let only_tier = apparatus.tiers.first().filter(|_| apparatus.tiers.len() == 1);
    let found = apparatus
        .tiers
        .iter()
        .find(|known| known.name == tier)
        .or(only_tier.filter(|_| tier.is_empty()));
    let only_place = found.filter(|tier| tier.positions == 1 && place.is_empty()).map(|_| 1);
    let place = only_place.or_else(|| place.parse::<u32>().ok());
    match (found, place) {
        (Some(tier), Some(place)) if (1..=tier.positions).contains(&place) => {
            Some((tier.name.clone(), place))
        }
        _ => {
            let known =
                apparatus.tiers.iter().map(|tier| format!("{} 1 to {}", tier.name, tier.positions));
            let message = format!("there is no place “{tier} {}”", placement.position.trim());
            form.wrong(
                field,
                "place-unknown",
                message,
                format!("there are: {}", crate::words::listed(known)),
            );
            None
        }
    }
}

/// All jars of a run turn the same count, so their gradings must ask for the same.
fn one_count(form: &mut Form, rules: &[(&Specimen, &Method, &Grading)]) -> Option<Decimal> {
    let (first, _, grading) = rules.first()?;
    let wanted = grading.revolutions.as_ref()?.nominal.value;
    for (specimen, _, grading) in rules {
        let Some(rule) = &grading.revolutions else { continue };
        let other = rule.nominal.value;
        if other != wanted {
            let message = format!(
                "{} needs {wanted} revolutions, {} needs {other}; one run turns all jars alike",
                first.code, specimen.code
            );
            form.wrong("placements", "counts-differ", message, "run them one after the other");
        }
    }
    Some(wanted)
}
