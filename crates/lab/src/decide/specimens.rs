//! Making up specimens and weighing them.

use super::Desk;
use super::corrections::judge_resolution;
use super::form::{Form, Mass, code};
use super::results::Changed;
use crate::code::{ItemCode, SpecimenCode, scanned};
use crate::fact::{Deviation, Fact, Right, Stage, Weighing};
use crate::refusal::Refusal;
use crate::request::{BeginSpecimen, WeighAfter, WeighBefore, WeighFractions};
use crate::state::{Sample, Specimen};
use stonewear_measure::Decimal;
use stonewear_measure::balance::shown;
use stonewear_method::work_out::contradiction;
use stonewear_method::{Grading, Method};
use stonewear_procedure::ItemKind;
use stonewear_sieving::fitting;

/// No specimen of the trade weighs more; beyond it a reading is a slip of the hand.
pub(super) const HEAVIEST_G: Decimal = Decimal::from_parts(100_000, 0, 0, false, 0);

impl<'a> Desk<'a> {
    pub(super) fn begin_specimen(&self, request: &BeginSpecimen) -> Result<Vec<Fact>, Refusal> {
        self.person_who_may(Right::Test)?;
        let mut form = Form::with_reason(&request.deviation);
        let sample = self.sample(&mut form, &request.sample);
        let balance = form.item(self, "balance", &request.balance, ItemKind::Balance, |_| true);
        let in_use = self.lab.method_in_use(request.method.trim());
        let method = match in_use {
            Some(in_use) => Some(&in_use.method),
            None => self.method_in_library(&mut form, "method", &request.method),
        };
        let grading = method.and_then(|method| {
            let size = sample.map(Sample::size_mm);
            grading_of(&mut form, method, &request.grading, size)
        });
        let (Some(sample), Some(balance), Some(method), Some(grading)) =
            (sample, balance, method, grading)
        else {
            return form.refuse();
        };
        self.still_here(&mut form, sample);
        self.judge_choice(&mut form, sample, method, grading);
        judge_resolution(&mut form, "balance", balance, method.specimen.weigh_to_g.value);
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
            balance: balance.code.clone(),
            grading_reason: grading_reason(sample, method, grading),
            deviations,
        };
        Ok(adopted.into_iter().chain([begun]).collect())
    }

    /// Notes a departure when the method would pick another grading for this sample.
    fn judge_choice(&self, form: &mut Form, sample: &Sample, method: &Method, grading: &Grading) {
        let fitting = fitting(method, sample.size_mm());
        if let Some(fitting) = fitting.filter(|fitting| fitting.name != grading.name) {
            let message = format!(
                "{}; {} then takes the grading {}, not {}",
                sample.size_in_words(),
                method.designation,
                fitting.name,
                grading.name
            );
            form.departs("grading", "grading-other", message, "choose it, or record why not");
        }
    }

    pub(super) fn weigh_fractions(&self, request: &WeighFractions) -> Result<Vec<Fact>, Refusal> {
        self.person_who_may(Right::Test)?;
        let mut form = Form::with_reason(&request.deviation);
        let Some(specimen) = self.specimen(&mut form, &request.specimen) else {
            return form.refuse();
        };
        let Some((method, grading)) = self.rules(&mut form, specimen) else { return form.refuse() };
        let reason = form.optional("reason", &request.reason);
        if let (Some(run), true) = (&specimen.run, reason.is_empty()) {
            let message = format!("{} was run in {run}; its make-up is on record", specimen.code);
            let hint = "give the reason for correcting it; the former masses are kept";
            form.wrong("reason", "replaces-record", message, hint);
        }
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
        let mut weighed: Vec<(usize, Mass)> = Vec::new();
        for (index, (typed, fraction)) in
            request.masses_g.iter().zip(&grading.fractions).enumerate()
        {
            if typed.trim().is_empty() {
                continue;
            }
            let field = format!("masses_g.{index}");
            let Some(mass) = form.mass(self, &field, typed, HEAVIEST_G) else { continue };
            let mass_g = mass.mass_g;
            let what = format!(
                "the fraction {} to {} mm",
                fraction.passing_mm.value, fraction.retained_mm.value
            );
            form.within(&field, "fraction-mass", &what, mass_g, "g", fraction.mass_g.limits());
            super::rows::judge_row(&mut form, &field, mass_g, index, grading);
            let former = specimen.fraction_g(index);
            if former.is_some() && former != Some(mass_g) {
                needs_reason(&mut form, &field, former, &reason);
            }
            if former != Some(mass_g) {
                weighed.push((index, mass));
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
        for (index, mass) in &weighed {
            let mass = self.would_weigh(specimen, mass.mass_g);
            as_weighed.fractions.entry(*index).or_default().push(mass);
        }
        if let Err(error) = contradiction(method, grading, &as_weighed.input()) {
            form.wrong("masses_g", "reading-impossible", error.to_string(), "weigh it again");
        }
        let deviations = form.deviations()?;
        // A result that is there already is worked out again where its loss is put together from
        // the sizes; of a run it is the same number on other evidence.
        let follows = if method.vessel.turns() {
            let result = self.lab.result_of(&specimen.code).into_iter().collect();
            self.on_other_evidence(result, &reason)
        } else {
            self.result_following(&as_weighed, &reason)?
        };
        // The departures of one request are recorded once, with its first mass.
        let mut deviations = Some(deviations);
        let facts = weighed.into_iter().map(|(index, mass)| {
            let on = Weighed::on(mass, specimen.balance.clone());
            let deviations = deviations.take().unwrap_or_default();
            weighing(specimen, Weighing::Fraction(index), on, reason.clone(), deviations)
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
        let balance = form.item(self, "balance", &request.balance, ItemKind::Balance, |_| true);
        if let Some(balance) = balance {
            judge_resolution(&mut form, "balance", balance, method.specimen.weigh_to_g.value);
        }
        let oven = code(self.oven(&mut form, &request.oven));
        let reason = form.optional("reason", &request.reason);
        let mass = self.dried_mass(&mut form, specimen, Stage::Before, &request.mass_g, method);
        let mass_g = mass.as_ref().map(|mass| mass.mass_g);
        if let Some(mass_g) = mass_g {
            let limits = method.specimen_limits();
            form.within("mass_g", "specimen-mass", "the mass before", mass_g, "g", limits);
        }
        if let (Some(mass_g), Some(after_g)) = (mass_g, specimen.after_g())
            && mass_g < after_g
        {
            let message = format!(
                "the mass before, {} g, is less than the {} g after",
                shown(mass_g),
                shown(after_g)
            );
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
        let (Some(balance), Some(mass)) = (code(balance), mass) else { return form.refuse() };
        let deviations = form.deviations()?;
        let changed = Changed { before_g: mass_g, ..Changed::default() };
        let follows = self.result_after_weighing(specimen, changed, &reason)?;
        let on = Weighed { oven, ..Weighed::on(mass, balance) };
        let weighed = weighing(specimen, Weighing::Before, on, reason, deviations);
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
        let balance = form.item(self, "balance", &request.balance, ItemKind::Balance, |_| true);
        if let Some(balance) = balance {
            judge_resolution(&mut form, "balance", balance, method.specimen.weigh_to_g.value);
        }
        let oven = code(self.oven(&mut form, &request.oven));
        let guard_sieve = self.guard_sieve(&mut form, &request.guard_sieve, method);
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
        let mass = self.dried_mass(&mut form, specimen, Stage::After, &request.mass_g, method);
        let mass_g = mass.as_ref().map(|mass| mass.mass_g);
        if let (Some(mass_g), Some(before_g)) = (mass_g, specimen.before_g())
            && mass_g > before_g
        {
            let message = format!(
                "the mass after, {} g, is more than the {} g before",
                shown(mass_g),
                shown(before_g)
            );
            let hint = "a specimen cannot gain mass: is it dry, are all balls out, is it the right specimen?";
            form.wrong("mass_g", "mass-gained", message, hint);
        }
        if specimen.after_g().is_some() {
            needs_reason(&mut form, "mass_g", specimen.after_g(), &reason);
        }
        let (Some(balance), Some(sieve), Some(mass)) = (code(balance), code(sieve), mass) else {
            return form.refuse();
        };
        let deviations = form.deviations()?;
        let on = Weighed { sieve: Some(sieve), guard_sieve, oven, ..Weighed::on(mass, balance) };
        let weighed = weighing(specimen, Weighing::After, on, reason.clone(), deviations);
        let changed = Changed { after_g: mass_g, ..Changed::default() };
        let follows = self.result_after_weighing(specimen, changed, &reason)?;
        Ok([weighed].into_iter().chain(follows).collect())
    }

    /// The coarser sieve that takes the weight of the washing, where one is used.
    fn guard_sieve(&self, form: &mut Form, typed: &str, method: &Method) -> Option<ItemCode> {
        let coarser = method.wash_sieves_mm.len().saturating_sub(1);
        let openings: Vec<Decimal> =
            method.wash_sieves_mm.iter().take(coarser).map(|sieve| sieve.value).collect();
        let fits = |item: &crate::state::Item| {
            item.opening_mm.is_some_and(|opening| openings.contains(&opening))
        };
        let sieve = self.if_there_is_one(form, "guard_sieve", typed, ItemKind::Sieve, fits)?;
        let least = method.loss_sieve_mm();
        if sieve.opening_mm <= least {
            let message = format!("{} does not lie above the sieve of the loss", sieve.code);
            form.wrong("guard_sieve", "sieve-other", message, "name a coarser sieve, or none");
        }
        Some(sieve.code.clone())
    }

    /// The method, as it stands, and the grading of a specimen.
    pub(super) fn rules(
        &self,
        form: &mut Form,
        specimen: &Specimen,
    ) -> Option<(&'a Method, &'a Grading)> {
        let rules = self.lab.rules_of(specimen);
        if rules.is_none() {
            let message =
                format!("the method {} of {} is not in use here", specimen.method, specimen.code);
            form.wrong("specimen", "method-not-in-use", message, "take it into use first");
        }
        rules
    }

    pub(super) fn sample(&self, form: &mut Form, typed: &str) -> Option<&'a Sample> {
        let found = self.lab.samples.get(scanned(typed).as_str());
        if found.is_none() {
            let message = self.is_no("sample", typed);
            form.wrong("sample", "sample-unknown", message, "receive it first");
        }
        found
    }

    pub(super) fn specimen(&self, form: &mut Form, typed: &str) -> Option<&'a Specimen> {
        let found = self.lab.specimens.get(scanned(typed).as_str());
        if found.is_none() {
            let message = self.is_no("specimen", typed);
            form.wrong("specimen", "specimen-unknown", message, "make it up first");
        }
        found
    }
}

/// Why this grading, where a sieve analysis decided it: without one the declared size did.
fn grading_reason(sample: &Sample, method: &Method, grading: &Grading) -> String {
    let is_fitting =
        fitting(method, sample.size_mm()).is_some_and(|fitting| fitting.name == grading.name);
    if sample.sieved_size_mm().is_none() || !is_fitting {
        return String::new();
    }
    format!("{}; {}", sample.size_in_words(), grading.applies.value)
}

/// Judges what is made up, once the last fraction is weighed in.
fn judge_total(
    form: &mut Form,
    specimen: &Specimen,
    method: &Method,
    grading: &Grading,
    weighed: &[(usize, Mass)],
) {
    let mass = |index: usize| {
        let new = weighed.iter().find(|(of, _)| *of == index).map(|(_, mass)| mass.mass_g);
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
pub(super) fn grading_of<'a>(
    form: &mut Form,
    method: &'a Method,
    typed: &str,
    nominal_maximum_mm: Option<Decimal>,
) -> Option<&'a Grading> {
    let typed = typed.trim();
    let known = || crate::words::listed(method.gradings.iter().map(|grading| grading.name.clone()));
    if typed.is_empty() {
        let only = method.gradings.first().filter(|_| method.gradings.len() == 1);
        let found = only.or_else(|| fitting(method, nominal_maximum_mm?));
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
pub(super) fn not_weighed(mut form: Form, method: &Method) -> Result<Vec<Fact>, Refusal> {
    let message = format!("{} takes no mass of the whole specimen here", method.designation);
    form.wrong("specimen", "mass-not-wanted", message, "take the readings of the method");
    form.refuse()
}

/// A mass that is already recorded is replaced only with a reason; the former stays in the record.
fn needs_reason(form: &mut Form, field: &str, former: Option<Decimal>, reason: &str) {
    if let (Some(former), true) = (former, reason.is_empty()) {
        let message = format!("{} g is already recorded here", shown(former));
        form.wrong(
            field,
            "replaces-record",
            message,
            "give the reason for replacing it; the former mass is kept",
        );
    }
}

/// A mass and what it was weighed with.
struct Weighed {
    mass: Mass,
    balance: ItemCode,
    sieve: Option<ItemCode>,
    guard_sieve: Option<ItemCode>,
    oven: Option<ItemCode>,
}

impl Weighed {
    /// Weighed on a balance, with nothing else.
    fn on(mass: Mass, balance: ItemCode) -> Self {
        Self { mass, balance, sieve: None, guard_sieve: None, oven: None }
    }
}

fn weighing(
    specimen: &Specimen,
    weighing: Weighing,
    weighed: Weighed,
    reason: String,
    deviations: Vec<Deviation>,
) -> Fact {
    Fact::MassWeighed {
        specimen: specimen.code.clone(),
        weighing,
        mass_g: weighed.mass.mass_g,
        as_read: weighed.mass.as_read,
        balance: weighed.balance,
        sieve: weighed.sieve,
        guard_sieve: weighed.guard_sieve,
        oven: weighed.oven,
        reason,
        deviations,
    }
}
