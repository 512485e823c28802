//! `stonewear work-out`: everything that a test gives, from its readings, without any laboratory.

use crate::answer::{Answer, Failure};
use serde_json::json;
use stonewear_measure::{Decimal, read};
use stonewear_method::model::Of;
use stonewear_method::{Grading, Input, Method, work_out};

/// Work out everything that a test gives from what was read of one specimen.
#[derive(Debug, clap::Args)]
#[command(after_help = "\
Example:\n\
\x20 stonewear work-out astm-c127 --reading soaked=24 --reading saturated=2000 --reading in_water=1260 --reading dry=1980\n\
\x20 stonewear work-out astm-c131 --reading before=5000 --reading kept_early=4750 --reading after=3750\n\
The masses of a run are called before and after, those of the sizes fraction.1, fraction.2 and so\n\
on, coarsest first; a reading of a size carries its number, like kept.2. What is missing is named.")]
pub(crate) struct WorkOutOf {
    /// The method: astm-c88-sodium, with its edition astm-c88-sodium@undated, or a file, mine.toml.
    method: String,
    /// The grading; left out, the first of the method.
    #[arg(long)]
    grading: Option<String>,
    /// A reading, in the unit of the method; once a reading.
    #[arg(long = "reading", value_name = "NAME=VALUE", required = true)]
    readings: Vec<String>,
    /// Work it out although readings depart from the method; the answer says so.
    #[arg(long, value_name = "REASON")]
    even_so: Option<String>,
}

pub(crate) fn run(request: &WorkOutOf) -> Result<Answer, Failure> {
    let method = super::find_method(&request.method)?;
    let grading = grading(&method, request.grading.as_deref())?;
    let mut input = Input::default();
    for typed in &request.readings {
        put(&mut input, &method, grading, typed)?;
    }
    let reason = request.even_so.as_deref().map(str::trim);
    if reason == Some("") {
        return Err(Failure::WrongInput("--even-so: the reason is missing; write it".to_owned()));
    }
    // What no reason can excuse comes first: then nothing is offered that would not help.
    let worked = work_out(&method, grading, &[input.clone()]).map_err(Failure::wrong_input)?;
    let departures = departures(&method, grading, &input);
    if !departures.is_empty() && reason.is_none() {
        return Err(Failure::WrongInput(format!(
            "{}\n(with --even-so REASON it is worked out all the same, and the answer says so)",
            departures.join("\n")
        )));
    }
    let mut text = format!("{} ({})\n", method.key(), method.designation);
    let mut values = Vec::new();
    for one in &worked {
        for line in &one.lines {
            text.push_str(&format!("  {line}\n"));
        }
        text.push_str(&format!("{} {}\n", one.title, one.with_unit()));
        let above = one.at_most.filter(|most| one.value > *most);
        if let Some(most) = above {
            text.push_str(&format!("  more than {most}, which the method calls good\n"));
        }
        if !one.confidence.is_sure() {
            let how = one.confidence.in_words();
            text.push_str(&format!("  at least one number of the method under it is {how}\n"));
        }
        values.push(json!({
            "name": one.name,
            "title": one.title,
            "unit": one.unit,
            "value": one.value.to_string(),
            "unrounded": one.exact.to_decimals(24),
            "rounding": { "place": one.place.to_string(), "rule": one.rule.to_string() },
            "formula": one.lines,
            "sources": sources(&method, &one.name),
            "confidence": one.confidence,
            "at_most": one.at_most.map(|most| most.to_string()),
        }));
    }
    for departure in &departures {
        let reason = reason.unwrap_or_default();
        text.push_str(&format!("departs from the method: {departure} (reason: {reason})\n"));
    }
    Ok(Answer::new(
        text,
        json!({
            "method": method.id,
            "edition": method.edition,
            "grading": grading.name,
            "values": values,
            "departures": departures,
            "even_so": reason,
        }),
    ))
}

fn grading<'m>(method: &'m Method, named: Option<&str>) -> Result<&'m Grading, Failure> {
    let found = match named {
        Some(name) => method.grading(name.trim()),
        None => method.gradings.first(),
    };
    found.ok_or_else(|| {
        let known: Vec<&str> = method.gradings.iter().map(|one| &*one.name).collect();
        let typed = named.unwrap_or_default();
        Failure::WrongInput(format!(
            "--grading {typed}: {} has the gradings {}",
            method.key(),
            known.join(", ")
        ))
    })
}

/// Puts `NAME=VALUE` where it belongs.
fn put(input: &mut Input, method: &Method, grading: &Grading, typed: &str) -> Result<(), Failure> {
    let wrong = |what: String| Failure::WrongInput(format!("--reading {typed}: {what}"));
    let Some((name, value)) = typed.split_once('=') else {
        return Err(wrong("this is no name with a value; write, say, before=5000".to_owned()));
    };
    let value: Decimal = read(value).map_err(|error| wrong(error.to_string()))?;
    let (name, number) = match name.trim().split_once('.') {
        Some((name, number)) => (name, Some(number)),
        None => (name.trim(), None),
    };
    let sizes = grading.fractions.len();
    let index = match number {
        None => None,
        Some(number) => match number.parse::<usize>() {
            Ok(number) if (1..=sizes).contains(&number) => Some(number - 1),
            _ => {
                let message = format!("grading {} has {sizes} sizes, from 1", grading.name);
                return Err(wrong(message));
            }
        },
    };
    if value < Decimal::ZERO {
        return Err(wrong("it cannot be negative".to_owned()));
    }
    let reading = method.reading(name);
    match (name, index) {
        ("before", None) if method.weighs_before_and_after() => input.before_g = Some(value),
        ("after", None) if method.weighs_before_and_after() => input.after_g = Some(value),
        ("fraction", Some(index)) => drop(input.fractions_g.insert(index, value)),
        _ if reading.is_some_and(|one| (one.of == Of::Fraction) == index.is_some()) => {
            input.readings.insert((name.to_owned(), index), value);
        }
        _ => {
            let mut known: Vec<String> = Vec::new();
            if method.weighs_before_and_after() {
                known.extend(["before".to_owned(), "after".to_owned()]);
            } else if sizes > 0 {
                known.push("fraction.1".to_owned());
            }
            known.extend(method.readings.iter().map(|one| match one.of {
                Of::Specimen => one.name.clone(),
                Of::Fraction => format!("{}.1", one.name),
            }));
            let message = format!("{} reads {}", method.designation, known.join(", "));
            return Err(wrong(message));
        }
    }
    Ok(())
}

/// Readings outside of what the method wants, in words.
fn departures(method: &Method, grading: &Grading, input: &Input) -> Vec<String> {
    let mut found = Vec::new();
    if let Some(before) = input.before_g.filter(|mass| !method.specimen_limits().hold(*mass)) {
        let allowed = method.specimen_mass();
        found
            .push(format!("the mass before, {before} g, is outside the {allowed} g of the method"));
    }
    let mut judge =
        |what: &str, value: Option<Decimal>, wanted: &stonewear_method::Toleranced, unit: &str| {
            if let Some(value) = value.filter(|value| !wanted.limits().hold(*value)) {
                let said = format!("{what}: {value} {unit}").trim_end().to_owned();
                found.push(format!("{said} is outside the {wanted} of the method"));
            }
        };
    for reading in &method.readings {
        if let Some(wanted) = &reading.wanted {
            judge(&reading.title, input.reading(&reading.name), wanted, &reading.unit);
        }
    }
    if !method.weighs_before_and_after() {
        for (index, fraction) in grading.fractions.iter().enumerate() {
            let what =
                format!("{} to {} mm", fraction.passing_mm.value, fraction.retained_mm.value);
            judge(&what, input.fractions_g.get(&index).copied(), &fraction.mass_g, "g");
        }
    }
    found
}

/// Where formula, place and rule of a value come from.
fn sources(method: &Method, name: &str) -> serde_json::Value {
    let figures = stonewear_method::figures::figures(method);
    let of = |path: String| {
        figures
            .iter()
            .find(|figure| figure.path == path)
            .map(|figure| json!({ "source": figure.source, "confidence": figure.confidence }))
    };
    if name == stonewear_method::work_out::LOSS {
        json!({
            "formula": of("loss.formula".to_owned()),
            "place": of("loss.round_to_percent".to_owned()),
            "rule": of("loss.rounding_rule".to_owned()),
        })
    } else {
        json!({
            "formula": of(format!("property.{name}.formula")),
            "place": of(format!("property.{name}.round_to")),
            "rule": of(format!("property.{name}.rounding_rule")),
        })
    }
}
