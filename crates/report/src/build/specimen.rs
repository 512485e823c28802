//! A specimen on paper: fractions, run conditions, weighings, each against its limit.

use crate::{Condition, Fraction, Specimen, Verdict, Weighing};
use stonewear_lab::Lab;
use stonewear_lab::state::{self, Noted, WeighedMass};
use stonewear_measure::balance::shown;
use stonewear_measure::{Decimal, Limits};
use stonewear_method::model::{Formula, Of};
use stonewear_method::{Grading, Method, Toleranced};

pub(super) fn specimen(lab: &Lab, specimen: &state::Specimen, method: Option<&Method>) -> Specimen {
    let grading = method.and_then(|method| method.grading(&specimen.grading));
    Specimen {
        code: specimen.code.to_string(),
        grading: specimen.grading.clone(),
        fractions: grading.map(|grading| fractions(specimen, grading)).unwrap_or_default(),
        total: method
            .filter(|method| method.specimen.mass_g.is_some())
            .map(|method| total(specimen, method)),
        conditions: method
            .zip(grading)
            .map(|(method, grading)| {
                let mut all = conditions(lab, specimen, method, grading);
                all.extend(readings(specimen, method, grading));
                all
            })
            .unwrap_or_default(),
        weighings: weighings(specimen, method),
    }
}

fn fractions(specimen: &state::Specimen, grading: &Grading) -> Vec<Fraction> {
    let one = |(index, fraction): (usize, &stonewear_method::model::Fraction)| {
        let weighed = specimen.fraction_g(index);
        Fraction {
            passing_mm: fraction.passing_mm.value.to_string(),
            retained_mm: fraction.retained_mm.value.to_string(),
            wanted_g: fraction.mass_g.to_string(),
            weighed_g: weighed.map(|mass| shown(mass).to_string()).unwrap_or_default(),
            verdict: verdict(weighed, fraction.mass_g.limits()),
        }
    };
    grading.fractions.iter().enumerate().map(one).collect()
}

fn total(specimen: &state::Specimen, method: &Method) -> Fraction {
    let weighed = specimen.made_up_g();
    Fraction {
        wanted_g: method.specimen_mass(),
        weighed_g: shown(weighed).to_string(),
        verdict: verdict(Some(weighed), method.specimen_limits()),
        ..Fraction::default()
    }
}

fn conditions(
    lab: &Lab,
    specimen: &state::Specimen,
    method: &Method,
    grading: &Grading,
) -> Vec<Condition> {
    let Some(run) = specimen.run.as_ref().and_then(|run| lab.runs.get(run)) else {
        return Vec::new();
    };
    let Some(placed) = run.placed(&specimen.code) else { return Vec::new() };
    let said = |what: &str, observed: String| Condition {
        what: what.to_owned(),
        observed,
        ..Condition::default()
    };
    let judged = |what: &str, value: Option<Decimal>, unit: &str, limits: Limits| {
        value.map(|value| Condition {
            what: what.to_owned(),
            observed: if unit == "g" {
                format!("{} g", shown(value))
            } else {
                format!("{value} {unit}").trim_end().to_owned()
            },
            limit: if limits == Limits::default() {
                String::new()
            } else {
                format!("{limits} {unit}").trim_end().to_owned()
            },
            verdict: verdict(Some(value), limits),
        })
    };
    let stopped = run.in_all();
    let mut conditions = vec![said("Run", format!("{} in {}", run.code, run.apparatus))];
    if let Some(jar) = &placed.jar {
        let place = format!("{jar}, {} {}", placed.tier, placed.position);
        conditions.push(said("Jar and place", place));
    }
    if let (Some(charge), Some(rule)) = (&placed.charge, &grading.charge_g) {
        conditions.extend(judged(
            &format!("Ball charge {charge}"),
            placed.charge_g,
            "g",
            rule.limits(),
        ));
    }
    let balls = grading.balls.as_ref().map(|figure| Decimal::from(figure.value));
    let counted = placed.charge_balls.map(Decimal::from);
    let exactly = Limits { lower: balls, upper: balls };
    conditions.extend(judged("Balls counted", counted, "", exactly));
    let soak = method.soak.as_ref().map(|soak| Limits::at_least(soak.hours_at_least.value));
    let water = method.water.as_ref();
    let temperature = method.water_temperature().map(Toleranced::limits);
    let temperature = temperature.unwrap_or_default();
    let volume = water.map(|water| water.volume_l.limits()).unwrap_or_default();
    conditions.extend(judged("Soaked", placed.soaked_h, "h", soak.unwrap_or_default()));
    conditions.extend(judged("Water", placed.water_l, "L", volume));
    conditions.extend(judged("Water temperature", run.water_c, "°C", temperature));
    for one in &run.interruptions {
        let counted = one.value.revolutions.map(|count| format!("at {count}: "));
        conditions.push(said("Interrupted", counted.unwrap_or_default() + &one.value.reason));
    }
    conditions.extend(judged(
        "Revolutions",
        stopped.as_ref().and_then(|stopped| stopped.revolutions),
        "",
        grading.revolutions.as_ref().map(Toleranced::limits).unwrap_or_default(),
    ));
    conditions.extend(judged(
        "Time",
        stopped.as_ref().and_then(|stopped| stopped.minutes),
        "min",
        Limits::default(),
    ));
    conditions.extend(judged(
        "Speed",
        stopped.as_ref().and_then(state::Stopped::rpm),
        "rev/min",
        method.speed_rpm.as_ref().map(Toleranced::limits).unwrap_or_default(),
    ));
    conditions
}

/// What was read beside the masses, in the order of the method.
fn readings(specimen: &state::Specimen, method: &Method, grading: &Grading) -> Vec<Condition> {
    let mut read = Vec::new();
    for reading in &method.readings {
        let places: Vec<Option<usize>> = match reading.of {
            Of::Specimen => vec![None],
            Of::Fraction => (0..grading.fractions.len()).map(Some).collect(),
        };
        for place in places {
            let Some(value) = specimen.reading(&reading.name, place) else { continue };
            let size = place.and_then(|index| grading.fractions.get(index)).map(|fraction| {
                format!(", {} to {} mm", fraction.passing_mm.value, fraction.retained_mm.value)
            });
            let limits = reading.wanted.as_ref().map(Toleranced::limits).unwrap_or_default();
            let with_unit = |text: String| format!("{text} {}", reading.unit).trim_end().to_owned();
            let has_limits = limits != Limits::default();
            read.push(Condition {
                what: format!("{}{}", reading.title, size.unwrap_or_default()),
                observed: with_unit(value.to_string()),
                limit: if has_limits { with_unit(limits.to_string()) } else { String::new() },
                verdict: verdict(Some(value), limits),
            });
        }
    }
    read
}

fn weighings(specimen: &state::Specimen, method: Option<&Method>) -> Vec<Weighing> {
    let (before, after) =
        match method.and_then(|method| method.loss.as_ref()).map(|rule| rule.formula.value) {
            Some(Formula::OfNominalMass) => ("", "m"),
            _ => ("A", "B"),
        };
    let sieve = method.and_then(Method::loss_sieve_mm);
    let kept = sieve.map_or_else(
        || "kept after the run".to_owned(),
        |mm| format!("kept on {mm} mm after the run"),
    );
    [
        weighing(before, "before the run, oven-dry", specimen.before.last()),
        weighing(after, &format!("{kept}, oven-dry"), specimen.after.last()),
    ]
    .into_iter()
    .flatten()
    .collect()
}

fn weighing(symbol: &str, what: &str, mass: Option<&Noted<WeighedMass>>) -> Option<Weighing> {
    mass.map(|mass| Weighing {
        symbol: symbol.to_owned(),
        what: if mass.value.as_read.is_empty() {
            what.to_owned()
        } else {
            format!("{what} (read as {})", mass.value.as_read)
        },
        mass_g: shown(mass.value.mass_g).to_string(),
        balance: mass.value.balance.to_string(),
    })
}

fn verdict(value: Option<Decimal>, limits: Limits) -> Verdict {
    match value {
        None => Verdict::NotJudged,
        Some(_) if limits == Limits::default() => Verdict::NotJudged,
        Some(value) if limits.hold(value) => Verdict::Inside,
        Some(_) => Verdict::Outside,
    }
}
