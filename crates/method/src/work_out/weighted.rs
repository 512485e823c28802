//! A loss weighted by the grading of the sample: Σ (g × loss) / 100 over the sizes.

use super::{GRADING_PERCENT, Input, KEPT, LOSS, WorkOutError, Worked, rounded_line};
use crate::loss::{LossError, confidence_of};
use crate::model::{Formula, Grading, LossRule, Method};
use stonewear_measure::{Decimal, Exact};

/// A size with its share of the sample and its loss, both exact, %.
struct Size {
    name: String,
    share: Decimal,
    loss: Option<Exact>,
    line: String,
}

/// Whether the share of this size in the sample is so small that it need not be tested.
pub(super) fn may_stay_untested(method: &Method, input: &Input, index: usize) -> bool {
    let below = method.loss.as_ref().and_then(|rule| rule.untested_below_percent.as_ref());
    match input.of_fraction(GRADING_PERCENT, index) {
        Some(share) => share.is_zero() || below.is_some_and(|below| share < below.value),
        None => false,
    }
}

pub(super) fn contradiction(grading: &Grading, input: &Input) -> Result<(), WorkOutError> {
    for index in 0..grading.fractions.len() {
        let name = name_of(grading, index);
        if let Some(kept) = input.of_fraction(KEPT, index) {
            match input.fractions_g.get(&index) {
                None => {
                    return Err(WorkOutError::Contradiction {
                        what: format!("{name}: {kept} g is kept, but no mass was weighed in"),
                        right: "weigh the size in first, or leave it out".to_owned(),
                    });
                }
                Some(before) if kept > *before => {
                    return Err(WorkOutError::Contradiction {
                        what: format!("{name}: {kept} g is kept, more than {before} g before"),
                        right: "are the two in the wrong order, or is the stone still wet?"
                            .to_owned(),
                    });
                }
                Some(_) => {}
            }
        }
    }
    let shares = shares(grading, input);
    if shares > Decimal::ONE_HUNDRED {
        return Err(WorkOutError::Contradiction {
            what: format!("the sizes make up {shares} % of the sample"),
            right: "together they cannot be more than 100 %".to_owned(),
        });
    }
    Ok(())
}

/// The sizes' shares of the sample added up, %.
pub(super) fn shares(grading: &Grading, input: &Input) -> Decimal {
    (0..grading.fractions.len())
        .filter_map(|index| input.of_fraction(GRADING_PERCENT, index))
        .fold(Decimal::ZERO, Decimal::saturating_add)
}

pub(super) fn loss(
    method: &Method,
    rule: &LossRule,
    grading: &Grading,
    specimens: &[Input],
) -> Result<Worked, WorkOutError> {
    let rounding = rule.rounding()?;
    let mut lines = vec![format!("loss = {}", Formula::WeightedByGrading.in_symbols())];
    let mut each = Vec::new();
    for input in specimens {
        contradiction(grading, input)?;
        let sizes = sizes(grading, input)?;
        let mut sum = Exact::from(Decimal::ZERO);
        for (index, size) in sizes.iter().enumerate() {
            let (loss, how) = match &size.loss {
                Some(loss) => (loss.clone(), size.line.clone()),
                None if size.share.is_zero() => continue,
                None => of_neighbours(&sizes, index)?,
            };
            lines.push(format!("{}: {} % of the sample, {how}", size.name, size.share));
            sum = sum.plus(&Exact::from(size.share).times(&loss));
        }
        let weighted =
            sum.divided_by(&Exact::from(Decimal::ONE_HUNDRED)).ok_or(WorkOutError::TooLarge)?;
        lines.push(format!("weighted by the grading = {weighted} %"));
        each.push(weighted);
    }
    let wanted = method.specimen.count.value;
    let exact = Exact::mean(&each)
        .ok_or_else(|| LossError::NoSpecimen { designation: method.designation.clone(), wanted })?;
    if each.len() > 1 {
        lines.push(format!("mean of {} specimens = {exact} %", each.len()));
    }
    let value = rounding.apply(&exact).ok_or(WorkOutError::TooLarge)?;
    lines.push(rounded_line(rounding.place(), "%", rounding.rule(), value));
    Ok(Worked {
        name: LOSS.to_owned(),
        title: "loss".to_owned(),
        unit: "%".to_owned(),
        exact,
        value,
        place: rounding.place(),
        rule: rounding.rule(),
        confidence: confidence_of(method, rule),
        at_most: None,
        lines,
    })
}

fn name_of(grading: &Grading, index: usize) -> String {
    let fraction = grading.fractions.get(index);
    fraction.map_or_else(String::new, |fraction| {
        format!("{} to {} mm", fraction.passing_mm.value, fraction.retained_mm.value)
    })
}

fn sizes(grading: &Grading, input: &Input) -> Result<Vec<Size>, WorkOutError> {
    let of = |index: usize| {
        let share = input.of_fraction(GRADING_PERCENT, index).unwrap_or_default();
        let (loss, line) = match (input.fractions_g.get(&index), input.of_fraction(KEPT, index)) {
            (Some(before), Some(kept)) => {
                let whole = Exact::from(*before);
                let lost = whole.minus(&Exact::from(kept));
                let loss = Exact::from(Decimal::ONE_HUNDRED)
                    .times(&lost)
                    .divided_by(&whole)
                    .ok_or(LossError::NothingBefore { specimen: 1, before_g: *before })?;
                let line = format!(
                    "A = {before} g, B = {kept} g: 100 × ({before} − {kept}) / {before} = {loss} %"
                );
                (Some(loss), line)
            }
            _ => (None, String::new()),
        };
        Ok(Size { name: name_of(grading, index), share, loss, line })
    };
    (0..grading.fractions.len()).map(of).collect()
}

/// The loss of a size that was not tested: the mean of the nearest tested sizes on both sides, or
/// that of the only one.
fn of_neighbours(sizes: &[Size], index: usize) -> Result<(Exact, String), WorkOutError> {
    let (coarser, rest) = sizes.split_at(index);
    let above = coarser.iter().rev().find_map(|size| size.loss.clone());
    let below = rest.iter().find_map(|size| size.loss.clone());
    let neighbours: Vec<Exact> = above.into_iter().chain(below).collect();
    let loss = Exact::mean(&neighbours).ok_or_else(|| WorkOutError::Contradiction {
        what: "no size was tested".to_owned(),
        right: "test at least one, and give what was weighed in and what is kept".to_owned(),
    })?;
    let whose =
        if neighbours.len() > 1 { "the mean of its neighbours" } else { "its neighbour’s" };
    let line = format!("not tested: {whose} loss, {loss} %");
    Ok((loss, line))
}
