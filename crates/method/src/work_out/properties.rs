//! Ratios, densities and absorption: one formula each, exact until it is rounded once.

use super::{
    DRY, IN_WATER, Input, KEPT_EARLY, SATURATED, WATER_DENSITY, WorkOutError, Worked, rounded_line,
};
use crate::loss::LossError;
use crate::model::{Method, Property, PropertyFormula};
use stonewear_measure::{Decimal, Exact};

/// The value of a property over these specimens; none where one of them was not read for it.
pub(super) fn of(
    method: &Method,
    property: &Property,
    specimens: &[Input],
) -> Result<Option<Worked>, WorkOutError> {
    let formula = property.formula.value;
    let symbols = formula.in_symbols();
    let times_water = method.reading(WATER_DENSITY).is_some() && is_density(formula);
    let water = if times_water { " × W" } else { "" };
    let mut lines = vec![format!("{} = {symbols}{water}", property.title)];
    let mut each = Vec::new();
    for (number, input) in (1_usize..).zip(specimens) {
        let Some((exact, line)) = of_one(formula, input, times_water)? else { return Ok(None) };
        let which =
            if specimens.len() > 1 { format!("specimen {number}: ") } else { String::new() };
        lines.push(format!("{which}{line} = {exact}"));
        each.push(exact);
    }
    let Some(exact) = Exact::mean(&each) else { return Ok(None) };
    if each.len() > 1 {
        lines.push(format!("mean of {} specimens = {exact}", each.len()));
    }
    let rounding = property.rounding()?;
    let value = rounding.apply(&exact).ok_or(WorkOutError::TooLarge)?;
    lines.push(rounded_line(rounding.place(), &property.unit, rounding.rule(), value));
    let rounded = property.round_to.confidence.less_sure(property.rounding_rule.confidence);
    Ok(Some(Worked {
        name: property.name.clone(),
        title: property.title.clone(),
        unit: property.unit.clone(),
        exact,
        value,
        place: rounding.place(),
        rule: rounding.rule(),
        confidence: property.formula.confidence.less_sure(rounded),
        at_most: property.at_most.as_ref().map(|figure| figure.value),
        lines,
    }))
}

fn is_density(formula: PropertyFormula) -> bool {
    use PropertyFormula as F;
    matches!(formula, F::OvenDryDensity | F::SaturatedDensity | F::ApparentDensity)
}

/// The exact value with its numbers, or nothing where a reading was not taken.
fn of_one(
    formula: PropertyFormula,
    input: &Input,
    times_water: bool,
) -> Result<Option<(Exact, String)>, WorkOutError> {
    use PropertyFormula as F;
    let (a, b, c) = if formula == F::UniformityRatio {
        (input.before_g, input.after_g, input.reading(KEPT_EARLY))
    } else {
        (input.reading(DRY), input.reading(SATURATED), input.reading(IN_WATER))
    };
    let water = input.reading(WATER_DENSITY);
    if times_water && water.is_none() {
        return Ok(None);
    }
    if formula == F::UniformityRatio {
        in_order(&[("before", a), ("kept early", c), ("kept at the end", b)])?;
    } else {
        in_order(&[("saturated", b), ("oven-dry", a), ("in water", c)])?;
    }
    let zero = Decimal::ZERO;
    let (over, under, line) = match (formula, a, b, c) {
        (F::UniformityRatio, Some(a), Some(b), Some(c)) => {
            ((a, c), (a, b), format!("({a} − {c}) / ({a} − {b})"))
        }
        (F::OvenDryDensity, Some(a), Some(b), Some(c)) => {
            ((a, zero), (b, c), format!("{a} / ({b} − {c})"))
        }
        (F::SaturatedDensity, _, Some(b), Some(c)) => {
            ((b, zero), (b, c), format!("{b} / ({b} − {c})"))
        }
        (F::ApparentDensity, Some(a), _, Some(c)) => {
            ((a, zero), (a, c), format!("{a} / ({a} − {c})"))
        }
        (F::Absorption, Some(a), Some(b), _) => {
            ((b, a), (a, zero), format!("100 × ({b} − {a}) / {a}"))
        }
        _ => return Ok(None),
    };
    let difference = |(more, less): (Decimal, Decimal)| Exact::from(more).minus(&Exact::from(less));
    let ratio = difference(over).divided_by(&difference(under)).ok_or_else(|| {
        WorkOutError::Contradiction {
            what: format!("{line} divides by nothing"),
            right: "look at the readings again".to_owned(),
        }
    })?;
    Ok(Some(match (formula, water) {
        (F::Absorption, _) => (Exact::from(Decimal::ONE_HUNDRED).times(&ratio), line),
        (_, Some(water)) if times_water => {
            (Exact::from(water).times(&ratio), format!("{line} × {water}"))
        }
        _ => (ratio, line),
    }))
}

/// Masses that can only fall, those that are there: each name with its mass, g.
fn in_order(masses: &[(&str, Option<Decimal>)]) -> Result<(), WorkOutError> {
    let mut heavier: Option<(&str, Decimal)> = None;
    for (name, mass) in masses.iter().filter_map(|(name, mass)| Some((*name, (*mass)?))) {
        if mass < Decimal::ZERO || (mass.is_zero() && name != "kept at the end") {
            let before_g = mass;
            return Err(LossError::NothingBefore { specimen: 1, before_g }.into());
        }
        if let Some((than, more)) = heavier.filter(|(_, more)| mass > *more) {
            return Err(WorkOutError::Contradiction {
                what: format!("{mass} g {name} is more than {more} g {than}"),
                right: "are the two in the wrong order, or is the stone still wet?".to_owned(),
            });
        }
        heavier = Some((name, mass));
    }
    Ok(())
}
