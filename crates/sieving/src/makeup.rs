//! What a specimen's make-up needs: grams a fraction, what of the material lies in it, how much
//! bulk material has to be sieved to get it, and what is short.

use crate::analysis::SieveAnalysis;
use crate::grading::next_smaller;
use crate::hundred;
use stonewear_measure::{Decimal, Exact};
use stonewear_method::model::Fraction;
use stonewear_method::{Grading, Method};

/// Added to the bulk by default, %: sieving by hand never gives all that an analysis promises.
/// Common practice, no published source; the laboratory chooses its own.
pub const DEFAULT_MARGIN_PERCENT: Decimal = Decimal::TEN;

/// What is said where a fraction is short. That there is no general substitution rule is from
/// memory; the next smaller grading is common practice. Both are said with their doubt.
pub const SUBSTITUTION: &str = "T 327 and D6928 give no general rule for substituting a fraction (from memory, unconfirmed); the usual practice is to take the next smaller grading and to say so in the report (common practice)";

/// One fraction of the make-up.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct FractionPlan {
    /// The sieve it passes, mm.
    pub passing_mm: Decimal,
    /// The sieve it is retained on, mm.
    pub retained_mm: Decimal,
    /// Wanted for one specimen, g.
    pub mass_g: Decimal,
    /// How far from it is allowed, g, where the method gives it for a single fraction.
    pub tolerance_g: Option<Decimal>,
    /// What of the material lies in this fraction, %; or the openings, mm, at which the analysis
    /// has no sieve and would need one to say so.
    pub share_percent: Result<Exact, Vec<Decimal>>,
    /// Bulk material that holds the wanted mass, without a margin, g. `None` where the share is
    /// not known or nothing of the material lies here.
    pub bulk_g: Option<Exact>,
    /// The same with the margin, up to the next whole gram.
    pub bulk_needed_g: Option<Decimal>,
    /// What the received material holds of it, g, where its mass and the share are known.
    pub available_g: Option<Exact>,
    /// Whether the received material cannot give the wanted mass: nothing of it lies here, or
    /// less than is wanted. False while the share is not known.
    pub is_short: bool,
}

impl FractionPlan {
    /// `19.0 to 16.0 mm`.
    pub fn in_words(&self) -> String {
        format!("{} to {} mm", self.passing_mm, self.retained_mm)
    }
}

/// The make-up of one specimen from the material of an analysis.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct MakeUp {
    /// Name of the grading.
    pub grading: String,
    /// The fractions, coarsest first.
    pub fractions: Vec<FractionPlan>,
    /// The margin on the bulk, %.
    pub margin_percent: Decimal,
    /// Bulk material to sieve for the whole specimen, g: what the fraction that governs needs.
    /// `None` while that of any fraction is not known.
    pub bulk_needed_g: Option<Decimal>,
    /// The fraction that governs, by its place.
    pub governs: Option<usize>,
    /// What was received, g.
    pub received_g: Option<Decimal>,
    /// Where a fraction is short: the next smaller grading, if the method has one and its
    /// fractions can be had.
    pub instead: Option<String>,
}

impl MakeUp {
    /// The fractions that are short.
    pub fn short(&self) -> impl Iterator<Item = &FractionPlan> {
        self.fractions.iter().filter(|fraction| fraction.is_short)
    }

    /// Whether any fraction is short.
    pub fn is_short(&self) -> bool {
        self.short().next().is_some()
    }

    /// The openings at which the analysis would need a sieve, coarsest first.
    pub fn missing_sieves_mm(&self) -> Vec<Decimal> {
        let missing = self.fractions.iter().filter_map(|one| one.share_percent.as_ref().err());
        let mut openings: Vec<Decimal> = missing.flatten().copied().collect();
        openings.sort_by_key(|opening| std::cmp::Reverse(*opening));
        openings.dedup();
        openings
    }
}

/// Plans the make-up of one specimen of a grading. With the mass received, g, a fraction that it
/// cannot give is short; without it, only one of which the material holds nothing.
pub fn make_up(
    method: &Method,
    grading: &Grading,
    analysis: &SieveAnalysis,
    received_g: Option<Decimal>,
    margin_percent: Decimal,
) -> MakeUp {
    let plan = plan(grading, analysis, received_g, margin_percent);
    if !plan.is_short() {
        return plan;
    }
    let instead = next_smaller(method, grading).filter(|smaller| {
        let other = self::plan(smaller, analysis, received_g, margin_percent);
        !other.is_short() && other.missing_sieves_mm().is_empty()
    });
    MakeUp { instead: instead.map(|grading| grading.name.clone()), ..plan }
}

fn plan(
    grading: &Grading,
    analysis: &SieveAnalysis,
    received_g: Option<Decimal>,
    margin_percent: Decimal,
) -> MakeUp {
    let one = |fraction: &Fraction| plan_fraction(fraction, analysis, received_g, margin_percent);
    let fractions: Vec<FractionPlan> = grading.fractions.iter().map(one).collect();
    let all_known = fractions.iter().all(|fraction| fraction.bulk_needed_g.is_some());
    let most = fractions
        .iter()
        .enumerate()
        .max_by_key(|(index, fraction)| (fraction.bulk_g.clone(), std::cmp::Reverse(*index)));
    let governs = most.filter(|_| all_known);
    MakeUp {
        grading: grading.name.clone(),
        margin_percent,
        bulk_needed_g: governs.and_then(|(_, fraction)| fraction.bulk_needed_g),
        governs: governs.map(|(index, _)| index),
        received_g,
        instead: None,
        fractions,
    }
}

fn plan_fraction(
    fraction: &Fraction,
    analysis: &SieveAnalysis,
    received_g: Option<Decimal>,
    margin_percent: Decimal,
) -> FractionPlan {
    let (passing_mm, retained_mm) = (fraction.passing_mm.value, fraction.retained_mm.value);
    let mass_g = fraction.mass_g.nominal.value;
    let share_percent = analysis.share_between(passing_mm, retained_mm);
    let share = share_percent.as_ref().ok();
    let wanted = Exact::from(mass_g).times(&hundred());
    let bulk_g = share.and_then(|share| wanted.divided_by(share));
    let with_margin = Exact::from(Decimal::ONE_HUNDRED.saturating_add(margin_percent));
    let bulk_needed_g = bulk_g
        .as_ref()
        .and_then(|bulk| up_to_whole(&bulk.times(&with_margin).divided_by(&hundred())?));
    let available_g = share.zip(received_g).and_then(|(share, received_g)| {
        Exact::from(received_g).times(share).divided_by(&hundred())
    });
    // Divided by a share of zero there is no bulk, however much is received.
    let nothing = share.is_some() && bulk_g.is_none();
    let too_little = available_g.as_ref().is_some_and(|has| *has < Exact::from(mass_g));
    FractionPlan {
        passing_mm,
        retained_mm,
        mass_g,
        tolerance_g: fraction.mass_g.tolerance.as_ref().map(|tolerance| tolerance.value),
        share_percent,
        bulk_g,
        bulk_needed_g,
        available_g,
        is_short: nothing || too_little,
    }
}

/// The least whole number that is not below this.
fn up_to_whole(value: &Exact) -> Option<Decimal> {
    let whole: Decimal = value.to_decimals(0).parse().ok()?;
    let is_below = Exact::from(whole) < *value;
    if is_below { whole.checked_add(Decimal::ONE) } else { Some(whole) }
}
