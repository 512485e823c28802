//! A mass written into the wrong row: the slip that a sum alone does not show.

use super::form::Form;
use stonewear_measure::Decimal;
use stonewear_measure::balance::shown;
use stonewear_method::Grading;

/// Notes a departure when a mass is nearer to what another fraction wants than to what its own
/// does. Where the method gives the fraction a tolerance of its own, that has judged it already.
pub(super) fn judge_row(
    form: &mut Form,
    field: &str,
    mass_g: Decimal,
    index: usize,
    grading: &Grading,
) {
    let Some(own) = grading.fractions.get(index) else { return };
    if own.mass_g.tolerance.is_some() {
        return;
    }
    let off = |wanted: Decimal| mass_g.saturating_sub(wanted).abs();
    let here = own.mass_g.nominal.value;
    let nearer = grading
        .fractions
        .iter()
        .filter(|other| off(other.mass_g.nominal.value) < off(here))
        .min_by_key(|other| off(other.mass_g.nominal.value));
    if let Some(other) = nearer {
        let message = format!(
            "{} g is nearer to the {} g of {} to {} mm than to the {here} g that are wanted here",
            shown(mass_g),
            other.mass_g.nominal.value,
            other.passing_mm.value,
            other.retained_mm.value
        );
        let hint = "is it in its own row? if it is, record why it is so far off";
        form.departs(field, "fraction-row", message, hint);
    }
}
