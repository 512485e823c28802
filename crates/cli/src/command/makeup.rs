//! `stonewear makeup`: what a specimen needs of a material, without any laboratory.

use crate::answer::{Answer, Failure};
use crate::statistics::{file, table};
use serde_json::{Map, Value, json};
use std::path::PathBuf;
use stonewear_measure::{Decimal, Exact, read};
use stonewear_method::{Grading, Method};
use stonewear_sieving::makeup::{DEFAULT_MARGIN_PERCENT, SUBSTITUTION};
use stonewear_sieving::{
    ClosingRule, Definition, FractionPlan, MakeUp, Sieve, SieveAnalysis, choose, make_up,
    shown_grams, shown_percent,
};

/// Plan a specimen's make-up from a sieve analysis: grading, grams a fraction, bulk to sieve.
#[derive(Debug, clap::Args)]
#[command(after_help = "\
The file has the columns sieve_mm and retained_g and the pan as its last row; a sieve may also be\n\
named as the US set does: 3/4 in., No. 4.\n\n\
Example:\n\
\x20 stonewear makeup astm-d6928 --sieving sieving.csv\n\
\x20 stonewear makeup astm-d6928 --sieving sieving.csv --received-g 12000 --definition any-retained")]
pub(crate) struct MakeUpOf {
    /// The method: astm-d6928, with its edition astm-d6928@2010, or a file of your own, mine.toml.
    method: String,
    /// CSV file of the sieve analysis; `-` reads standard input.
    #[arg(long, value_name = "FILE")]
    sieving: PathBuf,
    /// Definition of the nominal maximum size: one-above-10-percent, more-than-1-percent,
    /// at-most-5-percent, all-passing or any-retained.
    #[arg(long, value_name = "NAME", default_value = Definition::OneAbove10Percent.name())]
    definition: String,
    /// Take this grading of the method; left out, the one for the nominal maximum size.
    #[arg(long, value_name = "NAME")]
    grading: Option<String>,
    /// Mass of the whole material received, g: a fraction that it cannot give is short.
    #[arg(long, value_name = "G", allow_negative_numbers = true)]
    received_g: Option<String>,
    /// Oven-dry mass before sieving, g, for shares and the closing check.
    #[arg(long, value_name = "G", allow_negative_numbers = true)]
    before_g: Option<String>,
    /// Oven-dry mass after washing, g.
    #[arg(long, value_name = "G", allow_negative_numbers = true)]
    after_wash_g: Option<String>,
    /// Rule of the closing check: astm-c136 or en-933-1.
    #[arg(long, value_name = "RULE", default_value = ClosingRule::AstmC136.name())]
    closing: String,
    /// Added to the bulk that is needed, %.
    #[arg(long, value_name = "PERCENT", default_value_t = DEFAULT_MARGIN_PERCENT, value_parser = margin, allow_negative_numbers = true)]
    margin: Decimal,
    /// Exit with 1 when a fraction is short or the closing check fails.
    #[arg(long)]
    strict: bool,
}

fn margin(typed: &str) -> Result<Decimal, String> {
    let value = read(typed).map_err(|error| error.to_string())?;
    if value < Decimal::ZERO || value > Decimal::ONE_THOUSAND {
        return Err(format!("{value} % cannot be; write 0 to 1000"));
    }
    Ok(value)
}

pub(crate) fn run(request: &MakeUpOf) -> Result<Answer, Failure> {
    let method = super::find_method(&request.method)?;
    let definition: Definition = named("--definition", &request.definition)?;
    let closing: ClosingRule = named("--closing", &request.closing)?;
    let bytes = file::bytes(&request.sieving)?;
    let wrong_file =
        |error: String| Failure::WrongInput(format!("{}: {error}", request.sieving.display()));
    let kept = stonewear_sieving::read(&bytes).map_err(|error| wrong_file(error.to_string()))?;
    let before_g = grams("--before-g", request.before_g.as_deref())?;
    let after_wash_g = grams("--after-wash-g", request.after_wash_g.as_deref())?;
    let received_g = grams("--received-g", request.received_g.as_deref())?;
    let analysis = SieveAnalysis::new(kept.retained, kept.pan_g, before_g, after_wash_g)
        .map_err(|error| wrong_file(error.to_string()))?;
    let size = definition.of(&analysis);
    let (grading, why) = grading(&method, request.grading.as_deref(), size.as_ref())?;
    let plan = make_up(&method, grading, &analysis, received_g, request.margin);
    let closing = analysis.closing(closing);
    let text = [
        size_in_words(definition, size.as_ref()),
        format!("grading {}: {why}", grading.name),
        plan_in_words(&plan),
        closing.as_ref().map_or_else(String::new, |closing| format!("closing check: {closing}\n")),
        kept.remarks.iter().map(|remark| format!("{remark}\n")).collect(),
    ]
    .join("\n");
    let is_closed = closing.as_ref().map(stonewear_sieving::Closing::holds);
    let mut json = json!({
        "method": method.id,
        "edition": method.edition,
        "nominal_maximum_mm": size.as_ref().ok().map(|sieve| sieve.in_mm()),
        "nominal_maximum_us": size.as_ref().ok().and_then(|sieve| sieve.us_designation()),
        "definition": definition.name(),
        "definition_in_words": definition.in_words(),
        "definition_source": definition.source(),
        "definition_confidence": definition.confidence(),
        "grading": grading.name,
        "why": why,
        "closing": closing.as_ref().map(|closing| json!({
            "rule": closing.rule.name(),
            "difference_percent": closing.difference_percent.to_decimals(24),
            "limit_percent": closing.rule.limit_percent().to_string(),
            "holds": closing.holds(),
            "source": closing.rule.source(),
            "confidence": closing.rule.confidence(),
        })),
        "passing": passing(&analysis),
        "remarks": kept.remarks,
    });
    if let (Some(fields), Value::Object(plan)) = (json.as_object_mut(), plan_as_json(&plan)) {
        fields.extend(plan);
        if let Err(why) = &size {
            let undefined = fields.entry("undefined").or_insert_with(|| json!({}));
            undefined["nominal_maximum_mm"] = json!(why);
        }
    }
    let is_no = request.strict && (plan.is_short() || is_closed == Some(false));
    Ok(Answer { is_no, ..Answer::new(squeezed(&text), json) })
}

/// No empty line where a part has nothing to say.
fn squeezed(text: &str) -> String {
    let lines: Vec<&str> = text.lines().filter(|line| !line.trim().is_empty()).collect();
    lines.join("\n")
}

fn named<T: std::str::FromStr<Err: std::fmt::Display>>(
    option: &str,
    typed: &str,
) -> Result<T, Failure> {
    typed.trim().parse().map_err(|error: T::Err| Failure::WrongInput(format!("{option}: {error}")))
}

fn grams(option: &str, typed: Option<&str>) -> Result<Option<Decimal>, Failure> {
    let Some(typed) = typed else { return Ok(None) };
    let wrong = |what: String| Failure::WrongInput(format!("{option}: {what}"));
    let mass_g = read(typed).map_err(|error| wrong(error.to_string()))?;
    if mass_g <= Decimal::ZERO {
        return Err(wrong(format!("{mass_g} g cannot be; it must be more than 0")));
    }
    Ok(Some(mass_g))
}

/// The grading that is named, or else the one for the size; each with its reason.
fn grading<'a>(
    method: &'a Method,
    asked: Option<&str>,
    size: Result<&Sieve, &String>,
) -> Result<(&'a Grading, String), Failure> {
    let names: Vec<&str> = method.gradings.iter().map(|grading| grading.name.as_str()).collect();
    let names = names.join(", ");
    let taken = size.ok().and_then(|sieve| choose(method, sieve.in_mm().parse().ok()?));
    let Some(asked) = asked else {
        if let Some(taken) = taken {
            return Ok((taken.grading, taken.why));
        }
        return Err(Failure::WrongInput(match size {
            Err(why) => format!(
                "there is no nominal maximum size: {why}; choose another with --definition, or name the grading with --grading ({names})"
            ),
            Ok(_) => format!(
                "{} does not choose its grading by the nominal maximum size; name it with --grading: {names}",
                method.designation
            ),
        }));
    };
    let grading = method.grading(asked.trim()).ok_or_else(|| {
        let designation = &method.designation;
        Failure::WrongInput(format!("{designation} has no grading “{asked}”; known: {names}"))
    })?;
    let why = match taken {
        Some(taken) if taken.grading.name != grading.name => {
            format!("it was named; the method would take {}: {}", taken.grading.name, taken.why)
        }
        Some(taken) => taken.why,
        None => "it was named".to_owned(),
    };
    Ok((grading, why))
}

fn size_in_words(definition: Definition, size: Result<&Sieve, &String>) -> String {
    let by = format!(
        "{} ({}; {})",
        definition.in_words(),
        definition.source(),
        definition.confidence().in_words()
    );
    match size {
        Ok(sieve) => format!("nominal maximum size {sieve}: {by}"),
        Err(why) => format!("no nominal maximum size by {by}: {why}"),
    }
}

/// The plan as a table with what follows from it, for people.
pub(super) fn plan_in_words(plan: &MakeUp) -> String {
    let or_unknown = |text: Option<String>| text.unwrap_or_else(|| "not known".to_owned());
    let row = |one: &FractionPlan| {
        let tolerance = one.tolerance_g.map_or_else(String::new, |g| format!(" ± {g}"));
        vec![
            one.in_words(),
            format!("{}{tolerance}", one.mass_g),
            or_unknown(one.share_percent.as_ref().ok().map(shown_percent)),
            match (&one.share_percent, one.bulk_needed_g) {
                (_, Some(bulk)) => bulk.to_string(),
                (Ok(_), None) => "none to be had".to_owned(),
                (Err(_), None) => "not known".to_owned(),
            },
            if one.is_short { "short" } else { "" }.to_owned(),
        ]
    };
    let rows: Vec<Vec<String>> = plan.fractions.iter().map(row).collect();
    let mut text =
        table::columns(&["fraction", "wanted, g", "share, %", "bulk needed, g", ""], &rows);
    let governs = plan.governs.and_then(|index| plan.fractions.get(index));
    if let (Some(bulk), Some(governs)) = (plan.bulk_needed_g, governs) {
        text.push_str(&format!(
            "bulk needed {bulk} g, with a margin of {} %; the fraction {} governs\n",
            plan.margin_percent,
            governs.in_words()
        ));
    }
    let missing = plan.missing_sieves_mm();
    if !missing.is_empty() {
        let missing: Vec<String> = missing.iter().map(|mm| format!("{mm} mm")).collect();
        let missing = missing.join(", ");
        text.push_str(&format!("the analysis has no sieve at {missing}; sieve over it to know\n"));
    }
    for short in plan.short() {
        text.push_str(&format!("{}\n", shortage(short)));
    }
    if plan.is_short() {
        text.push_str(&format!("{SUBSTITUTION}\n"));
        text.push_str(&match &plan.instead {
            Some(grading) => format!("the next smaller grading, {grading}, can be made up\n"),
            None => "no smaller grading can be made up from it either\n".to_owned(),
        });
    }
    text
}

/// What is short of a fraction, in words.
fn shortage(fraction: &FractionPlan) -> String {
    let (what, wanted) = (fraction.in_words(), fraction.mass_g);
    match &fraction.available_g {
        Some(has) if fraction.bulk_g.is_some() => {
            let has = shown_grams(has);
            format!("short: {what} holds {has} g of the {wanted} g wanted")
        }
        _ => format!("short: nothing of the material lies in {what}"),
    }
}

/// The plan for programs: masses as decimal strings.
pub(super) fn plan_as_json(plan: &MakeUp) -> Value {
    let exact = |value: &Exact| value.to_decimals(24);
    let mut undefined = Map::new();
    let fractions: Vec<Value> = plan
        .fractions
        .iter()
        .map(|one| {
            json!({
                "passing_mm": one.passing_mm.to_string(),
                "retained_mm": one.retained_mm.to_string(),
                "mass_g": one.mass_g.to_string(),
                "tolerance_g": one.tolerance_g.map(|g| g.to_string()),
                "share_percent": one.share_percent.as_ref().ok().map(exact),
                "missing_sieves_mm": one.share_percent.as_ref().err().map_or_else(Vec::new, |missing| {
                    missing.iter().map(ToString::to_string).collect()
                }),
                "bulk_needed_g": one.bulk_needed_g.map(|g| g.to_string()),
                "bulk_without_margin_g": one.bulk_g.as_ref().map(exact),
                "available_g": one.available_g.as_ref().map(exact),
                "short": one.is_short,
            })
        })
        .collect();
    for (index, one) in plan.fractions.iter().enumerate() {
        if let Err(missing) = &one.share_percent {
            let missing: Vec<String> = missing.iter().map(|mm| format!("{mm} mm")).collect();
            let why = format!("the analysis has no sieve at {}", missing.join(" and "));
            undefined.insert(format!("fractions.{index}.share_percent"), json!(why));
        } else if one.bulk_g.is_none() {
            let why = "nothing of the material lies in this fraction";
            undefined.insert(format!("fractions.{index}.bulk_needed_g"), json!(why));
        }
    }
    if plan.bulk_needed_g.is_none() {
        let why = "the bulk of at least one fraction is not known";
        undefined.insert("bulk_needed_g".to_owned(), json!(why));
    }
    let short: Vec<Value> = plan
        .short()
        .map(|one| {
            json!({
                "passing_mm": one.passing_mm.to_string(),
                "retained_mm": one.retained_mm.to_string(),
                "why": shortage(one),
            })
        })
        .collect();
    let governs = plan.governs.and_then(|index| plan.fractions.get(index));
    let mut json = json!({
        "fractions": fractions,
        "bulk_needed_g": plan.bulk_needed_g.map(|g| g.to_string()),
        "governs": governs.map(|one| json!({
            "passing_mm": one.passing_mm.to_string(),
            "retained_mm": one.retained_mm.to_string(),
        })),
        "margin_percent": plan.margin_percent.to_string(),
        "received_g": plan.received_g.map(|g| g.to_string()),
        "short": short,
        "instead": plan.instead,
        "substitution": plan.is_short().then_some(SUBSTITUTION),
    });
    if !undefined.is_empty() {
        json["undefined"] = Value::Object(undefined);
    }
    json
}

/// What passes every sieve, for programs.
pub(super) fn passing(analysis: &SieveAnalysis) -> Vec<Value> {
    let line = |line: &stonewear_sieving::analysis::Line| {
        json!({
            "sieve_mm": line.sieve.in_mm(),
            "us": line.sieve.us_designation(),
            "retained_g": line.retained_g.to_string(),
            "retained_percent": line.retained_percent.to_decimals(24),
            "cumulative_percent": line.cumulative_percent.to_decimals(24),
            "passing_percent": line.passing_percent.to_decimals(24),
        })
    };
    analysis.lines().iter().map(line).collect()
}
