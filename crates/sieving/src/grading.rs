//! Which grading a method takes for a nominal maximum size, and why.

use stonewear_measure::Decimal;
use stonewear_method::{Grading, Method};

/// A grading with the reason for which the method takes it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct GradingChoice<'a> {
    /// The grading.
    pub grading: &'a Grading,
    /// Why, in one sentence.
    pub why: String,
}

/// The grading that a method takes for a nominal maximum size: the largest that the size reaches,
/// or the smallest there is. `None` when the method does not choose by size.
pub fn fitting(method: &Method, nominal_maximum_mm: Decimal) -> Option<&Grading> {
    by_size(method)
        .filter(|(from, _)| *from <= nominal_maximum_mm)
        .max_by_key(|(from, _)| *from)
        .or_else(|| by_size(method).min_by_key(|(from, _)| *from))
        .map(|(_, grading)| grading)
}

/// The same with its reason; a method that has one grading only takes that.
pub fn choose<'a>(method: &'a Method, nominal_maximum_mm: Decimal) -> Option<GradingChoice<'a>> {
    let designation = &method.designation;
    let Some(grading) = fitting(method, nominal_maximum_mm) else {
        let only = method.gradings.first().filter(|_| method.gradings.len() == 1)?;
        let why = format!("{designation} has one grading, {}, whatever the size", only.name);
        return Some(GradingChoice { grading: only, why });
    };
    let from = grading.nominal_maximum_mm.as_ref()?;
    let mut why = format!(
        "the nominal maximum size is {nominal_maximum_mm} mm; {designation} takes the grading {} for: {}",
        grading.name, grading.applies.value
    );
    let next =
        by_size(method).filter(|(size, _)| *size > nominal_maximum_mm).min_by_key(|(s, _)| *s);
    if nominal_maximum_mm < from.value {
        why.push_str(", the smallest that it has");
    } else if nominal_maximum_mm > from.value
        && let Some((size, coarser)) = next
    {
        // Between two sizes the document is silent; what the file remembers about it is said.
        let note = coarser.nominal_maximum_mm.as_ref().and_then(|size| size.note.as_deref());
        why.push_str(&format!("; the next, {}, begins at {size} mm", coarser.name));
        why.push_str(&note.map_or_else(String::new, |note| format!(" ({note})")));
    }
    Some(GradingChoice { grading, why })
}

/// The grading for the next smaller size, if there is one.
pub(crate) fn next_smaller<'a>(method: &'a Method, grading: &Grading) -> Option<&'a Grading> {
    let here = grading.nominal_maximum_mm.as_ref()?.value;
    let smaller = by_size(method).filter(|(size, _)| *size < here);
    smaller.max_by_key(|(size, _)| *size).map(|(_, grading)| grading)
}

fn by_size(method: &Method) -> impl Iterator<Item = (Decimal, &Grading)> {
    let sized = |grading: &'_ Grading| grading.nominal_maximum_mm.as_ref().map(|size| size.value);
    method.gradings.iter().filter_map(move |grading| Some((sized(grading)?, grading)))
}
