//! Making up specimens and weighing them.

use super::Desk;
use super::form::{Form, code};
use super::results::Changed;
use crate::code::{ItemCode, SpecimenCode};
use crate::fact::{Deviation, Fact, Right, Weighing};
use crate::refusal::Refusal;
use crate::request::{BeginSpecimen, WeighAfter, WeighBefore, WeighFractions};
use crate::state::{Sample, Specimen};
use stonewear_measure::Decimal;
use stonewear_method::work_out::contradiction;
use stonewear_method::{Grading, Method};
use stonewear_procedure::ItemKind;

/// No specimen of the trade weighs more; beyond it a reading is a slip of the hand.
const HEAVIEST_G: Decimal = Decimal::from_parts(100_000, 0, 0, false, 0);

impl<'a> Desk<'a> {
    pub(super) fn begin_specimen(&self, request: &BeginSpecimen) -> Result<Vec<Fact>, Refusal> {
        self.person_who_may(Right::Test)?;
        let mut form = Form::with_reason(&request.deviation);
        let sample = self.sample(&mut form, &request.sample);
        let balance =
            code(form.item(self, "balance", &request.balance, ItemKind::Balance, |_| true));
        let in_use = self.lab.method_in_use(request.method.trim());
        let method = match in_use {
            Some(in_use) => Some(&in_use.method),
            None => self.method_in_library(&mut form, "method", &request.method),
        };
        let grading = method.and_then(|method| {
            let size = sample.map(|sample| sample.nominal_maximum_mm);
            grading_of(&mut form, method, &request.grading, size)
        });
        let (Some(sample), Some(balance), Some(method), Some(grading)) =
            (sample, balance, method, grading)
        else {
            return form.refuse();
        };
        self.judge_choice(&mut form, sample, method, grading);
        let deviations = form.deviations()?;
        // A method that is not in use yet is taken into use with its first specimen.
        let adopted =
            in_use.is_none().then(|| Fact::MethodAdopted { method: Box::new(method.clone()) });
        let number = sample.specimens.len() + 1;
        let begun = Fact::SpecimenBegun {
            specimen: SpecimenCode::from(format!("{}-{number}", sample.code)),
            sample: sample.code.clone(),
            method: method.key(),
            grading: grading.name.clone(),
            balance,
            deviations,
        };
        Ok(adopted.into_iter().chain([begun]).collect())
    }

    /// Notes a departure when the method would pick another grading for this sample.
    fn judge_choice(&self, form: &mut Form, sample: &Sample, method: &Method, grading: &Grading) {
        let fitting = fitting_grading(method, sample.nominal_maximum_mm);
        if let Some(fitting) = fitting.filter(|fitting| fitting.name != grading.name) {
            let message = format!(
                "the nominal maximum size is {} mm; {} then takes the grading {}, not {}",
                sample.nominal_maximum_mm, method.designation, fitting.name, grading.name
            );
            form.departs("grading", "grading-other", message, "choose it, or record why not");
        }
    }

    pub(super) fn weigh_fractions(&self, request: &WeighFractions) -> Result<Vec<Fact>, Refusal> {
        self.person_who_may(Right::Test)?;
        let mut form = Form::with_reason(&request.deviation);
        let Some(specimen) = self.specimen_before_run(&mut form, &request.specimen) else {
            return form.refuse();
        };
        let Some((method, grading)) = self.rules(&mut form, specimen) else { return form.refuse() };
        let reason = form.optional("reason", &request.reason);
        let wanted = grading.fractions.len();
        if request.masses_g.len() > wanted {
            let message = format!(
                "{} masses are given; the grading has {wanted} fractions",
                request.masses_g.len()
            );
            form.wrong(
                "masses_g",
                "input-too-many",
                message,
                "give one mass a fraction, coarsest first",
            );
        }
        let mut weighed: Vec<(usize, Decimal)> = Vec::new();
        for (index, (typed, fraction)) in
            request.masses_g.iter().zip(&grading.fractions).enumerate()
        {
            if typed.trim().is_empty() {
                continue;
            }
            let field = format!("masses_g.{index}");
            let Some(mass_g) = form.positive(&field, typed, "g", HEAVIEST_G) else { continue };
            let what = format!(
                "the fraction {} to {} mm",
                fraction.passing_mm.value, fraction.retained_mm.value
            );
            form.within(&field, "fraction-mass", &what, mass_g, "g", fraction.mass_g.limits());
            let former = specimen.fraction_g(index);
            if former.is_some() && former != Some(mass_g) {
                needs_reason(&mut form, &field, former, &reason);
            }
            if former != Some(mass_g) {
                weighed.push((index, mass_g));
            }
        }
        judge_total(&mut form, specimen, method, grading, &weighed);
        if weighed.is_empty() && !form.is_hopeless() {
            form.wrong(
                "masses_g",
                "input-missing",
                "no new mass is given",
                "weigh at least one fraction",
            );
        }
        let mut as_weighed = specimen.clone();
        for (index, mass_g) in &weighed {
            let mass = self.would_weigh(specimen, *mass_g);
            as_weighed.fractions.entry(*index).or_default().push(mass);
        }
        if let Err(error) = contradiction(method, grading, &as_weighed.input()) {
            form.wrong("masses_g", "reading-impossible", error.to_string(), "weigh it again");
        }
        let deviations = form.deviations()?;
        // Where the loss is put together from the sizes, it follows from their masses.
        let follows = if method.vessel.turns() {
            Vec::new()
        } else {
            self.result_following(&as_weighed, &reason)?
        };
        // The departures of one request are recorded once, with its first mass.
        let mut deviations = Some(deviations);
        let facts = weighed.into_iter().map(|(index, mass_g)| {
            weighing(
                specimen,
                Weighing::Fraction(index),
                mass_g,
                specimen.balance.clone(),
                None,
                reason.clone(),
                deviations.take().unwrap_or_default(),
            )
        });
        Ok(facts.chain(follows).collect())
    }

    pub(super) fn weigh_before(&self, request: &WeighBefore) -> Result<Vec<Fact>, Refusal> {
        self.person_who_may(Right::Test)?;
        let mut form = Form::with_reason(&request.deviation);
        // After the run it can only be corrected, with a reason; the loss follows.
        let Some(specimen) = self.specimen(&mut form, &request.specimen) else {
            return form.refuse();
        };
        let Some((method, grading)) = self.rules(&mut form, specimen) else { return form.refuse() };
        if !method.weighs_before_and_after() {
            return not_weighed(form, method);
        }
        for (index, fraction) in grading.fractions.iter().enumerate() {
            if specimen.fraction_g(index).is_none() {
                let message = format!(
                    "the fraction {} to {} mm is not weighed in",
                    fraction.passing_mm.value, fraction.retained_mm.value
                );
                form.departs("specimen", "fraction-missing", message, "weigh it in first");
            }
        }
        let balance =
            code(form.item(self, "balance", &request.balance, ItemKind::Balance, |_| true));
        let reason = form.optional("reason", &request.reason);
        let mass_g = form.positive("mass_g", &request.mass_g, "g", HEAVIEST_G);
        if let Some(mass_g) = mass_g {
            let limits = method.specimen_limits();
            form.within("mass_g", "specimen-mass", "the mass before", mass_g, "g", limits);
        }
        if let (Some(mass_g), Some(after_g)) = (mass_g, specimen.after_g())
            && mass_g < after_g
        {
            let message =
                format!("the mass before, {mass_g} g, is less than the {after_g} g after");
            form.wrong(
                "mass_g",
                "mass-gained",
                message,
                "a specimen cannot gain mass: which of the two is wrong?",
            );
        }
        if specimen.before_g().is_some() {
            needs_reason(&mut form, "mass_g", specimen.before_g(), &reason);
        }
        let (Some(balance), Some(mass_g)) = (balance, mass_g) else { return form.refuse() };
        let deviations = form.deviations()?;
        let changed = Changed { before_g: Some(mass_g), ..Changed::default() };
        let follows = self.result_after_weighing(specimen, changed, &reason)?;
        let weighed =
            weighing(specimen, Weighing::Before, mass_g, balance, None, reason, deviations);
        Ok(std::iter::once(weighed).chain(follows).collect())
    }

    pub(super) fn weigh_after(&self, request: &WeighAfter) -> Result<Vec<Fact>, Refusal> {
        self.person_who_may(Right::Test)?;
        let mut form = Form::with_reason(&request.deviation);
        let Some(specimen) = self.specimen(&mut form, &request.specimen) else {
            return form.refuse();
        };
        let Some((method, _)) = self.rules(&mut form, specimen) else { return form.refuse() };
        if !method.weighs_before_and_after() {
            return not_weighed(form, method);
        }
        match specimen.run.as_ref().and_then(|run| self.lab.runs.get(run)) {
            None => {
                let message = format!("{} has not been run", specimen.code);
                form.wrong("specimen", "specimen-not-run", message, "run it first");
            }
            Some(run) if run.stopped.is_none() => {
                let message = format!("the run {} of {} has not ended", run.code, specimen.code);
                form.wrong("specimen", "run-not-ended", message, "record how it ended first");
            }
            Some(_) => {}
        }
        let balance =
            code(form.item(self, "balance", &request.balance, ItemKind::Balance, |_| true));
        let loss_sieve = method.loss_sieve_mm();
        let sieve = form.item(self, "sieve", &request.sieve, ItemKind::Sieve, |item| {
            item.opening_mm == loss_sieve
        });
        if let (Some(sieve), Some(wanted)) = (sieve, loss_sieve)
            && sieve.opening_mm != Some(wanted)
        {
            let opening =
                sieve.opening_mm.map_or_else(|| "unknown".to_owned(), |mm| format!("{mm} mm"));
            let message =
                format!("the opening of {} is {opening}; the method wants {wanted} mm", sieve.code);
            form.wrong("sieve", "sieve-other", message, "wash over the sieve of the method");
        }
        let reason = form.optional("reason", &request.reason);
        let mass_g = form.positive("mass_g", &request.mass_g, "g", HEAVIEST_G);
        if let (Some(mass_g), Some(before_g)) = (mass_g, specimen.before_g())
            && mass_g > before_g
        {
            let message =
                format!("the mass after, {mass_g} g, is more than the {before_g} g before");
            let hint = "a specimen cannot gain mass: is it dry, are all balls out, is it the right specimen?";
            form.wrong("mass_g", "mass-gained", message, hint);
        }
        if specimen.after_g().is_some() {
            needs_reason(&mut form, "mass_g", specimen.after_g(), &reason);
        }
        let (Some(balance), Some(sieve), Some(mass_g)) = (balance, code(sieve), mass_g) else {
            return form.refuse();
        };
        let deviations = form.deviations()?;
        let weighed = weighing(
            specimen,
            Weighing::After,
            mass_g,
            balance,
            Some(sieve),
            reason.clone(),
            deviations,
        );
        let changed = Changed { after_g: Some(mass_g), ..Changed::default() };
        let follows = self.result_after_weighing(specimen, changed, &reason)?;
        Ok([weighed].into_iter().chain(follows).collect())
    }

    /// The method, as it stands, and the grading of a specimen.
    pub(super) fn rules(
        &self,
        form: &mut Form,
        specimen: &Specimen,
    ) -> Option<(&'a Method, &'a Grading)> {
        let method = self.lab.methods.get(&specimen.method).map(|in_use| &in_use.method);
        let rules = method.and_then(|method| Some((method, method.grading(&specimen.grading)?)));
        if rules.is_none() {
            let message =
                format!("the method {} of {} is not in use here", specimen.method, specimen.code);
            form.wrong("specimen", "method-not-in-use", message, "take it into use first");
        }
        rules
    }

    fn sample(&self, form: &mut Form, typed: &str) -> Option<&'a Sample> {
        let found = self.lab.samples.get(typed.trim().to_uppercase().as_str());
        if found.is_none() {
            let message = format!("there is no sample “{}”", typed.trim());
            form.wrong("sample", "sample-unknown", message, "receive it first");
        }
        found
    }

    pub(super) fn specimen(&self, form: &mut Form, typed: &str) -> Option<&'a Specimen> {
        let found = self.lab.specimens.get(typed.trim().to_uppercase().as_str());
        if found.is_none() {
            let message = format!("there is no specimen “{}”", typed.trim());
            form.wrong("specimen", "specimen-unknown", message, "make it up first");
        }
        found
    }

    fn specimen_before_run(&self, form: &mut Form, typed: &str) -> Option<&'a Specimen> {
        let specimen = self.specimen(form, typed)?;
        if let Some(run) = &specimen.run {
            let message =
                format!("{} was run in {run}; its make-up can no longer change", specimen.code);
            form.wrong("specimen", "specimen-run", message, "make up another specimen");
            return None;
        }
        Some(specimen)
    }
}

/// The grading that a method takes for a nominal maximum size: the largest that it reaches, or
/// the smallest there is. `None` when the method does not choose by size.
pub fn fitting_grading(method: &Method, nominal_maximum_mm: Decimal) -> Option<&Grading> {
    let sized = || {
        method
            .gradings
            .iter()
            .filter_map(|grading| Some((grading.nominal_maximum_mm.as_ref()?.value, grading)))
    };
    sized()
        .filter(|(from, _)| *from <= nominal_maximum_mm)
        .max_by_key(|(from, _)| *from)
        .or_else(|| sized().min_by_key(|(from, _)| *from))
        .map(|(_, grading)| grading)
}

/// Judges what is made up, once the last fraction is weighed in.
fn judge_total(
    form: &mut Form,
    specimen: &Specimen,
    method: &Method,
    grading: &Grading,
    weighed: &[(usize, Decimal)],
) {
    let mass = |index: usize| {
        let new = weighed.iter().find(|(of, _)| *of == index).map(|(_, mass_g)| *mass_g);
        new.or_else(|| specimen.fraction_g(index))
    };
    let masses: Option<Vec<Decimal>> = (0..grading.fractions.len()).map(mass).collect();
    if let (Some(masses), false) = (masses, weighed.is_empty()) {
        let total = masses.into_iter().fold(Decimal::ZERO, Decimal::saturating_add);
        let limits = method.specimen_limits();
        let last = format!("masses_g.{}", grading.fractions.len().saturating_sub(1));
        form.within(
            &last,
            "made-up-mass",
            "the mass of all fractions together",
            total,
            "g",
            limits,
        );
    }
}

/// The grading of this name; none named, the one that the method takes for the sample's size.
fn grading_of<'a>(
    form: &mut Form,
    method: &'a Method,
    typed: &str,
    nominal_maximum_mm: Option<Decimal>,
) -> Option<&'a Grading> {
    let typed = typed.trim();
    let known = || crate::words::listed(method.gradings.iter().map(|grading| grading.name.clone()));
    if typed.is_empty() {
        let only = method.gradings.first().filter(|_| method.gradings.len() == 1);
        let found = only.or_else(|| fitting_grading(method, nominal_maximum_mm?));
        if found.is_none() {
            let message = format!("no grading of {} is named", method.designation);
            form.wrong("grading", "input-missing", message, format!("known: {}", known()));
        }
        return found;
    }
    let found = method.grading(typed);
    if found.is_none() {
        let message = format!("{} has no grading “{typed}”", method.designation);
        form.wrong("grading", "grading-unknown", message, format!("known: {}", known()));
    }
    found
}

/// A method that weighs no whole specimen before and after a run.
fn not_weighed(mut form: Form, method: &Method) -> Result<Vec<Fact>, Refusal> {
    let message = format!("{} takes no mass of the whole specimen here", method.designation);
    form.wrong("specimen", "mass-not-wanted", message, "take the readings of the method");
    form.refuse()
}

/// A mass that is already recorded is replaced only with a reason; the former stays in the record.
fn needs_reason(form: &mut Form, field: &str, former: Option<Decimal>, reason: &str) {
    if let (Some(former), true) = (former, reason.is_empty()) {
        let message = format!("{former} g is already recorded here");
        form.wrong(
            field,
            "replaces-record",
            message,
            "give the reason for replacing it; the former mass is kept",
        );
    }
}

fn weighing(
    specimen: &Specimen,
    weighing: Weighing,
    mass_g: Decimal,
    balance: ItemCode,
    sieve: Option<ItemCode>,
    reason: String,
    deviations: Vec<Deviation>,
) -> Fact {
    Fact::MassWeighed {
        specimen: specimen.code.clone(),
        weighing,
        mass_g,
        balance,
        sieve,
        reason,
        deviations,
    }
}
