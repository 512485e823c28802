//! The uncertainty budget of a loss in per cent: what the weighing, drying, sieving, charge,
//! revolutions, temperature and sampling contribute, by first order (JCGM 100) and by Monte Carlo
//! (JCGM 101). What is not known about a source is no contributor here: whoever calls says so beside
//! the result, because a budget that leaves it out silently is too small.
//!
//! An error is subtracted: the true mass is the reading less its error. Errors of masses are
//! independent from weighing to weighing. All other errors are common to the specimens of a result,
//! which is the careful choice: a mean of two does not lessen them.

mod model;

use crate::error::{self, Figure, StatsError, Undefined, ratio};
use crate::uncertainty::monte_carlo::{MonteCarlo, Setup, run};
use crate::uncertainty::{Distribution, FirstOrder, Input, first_order};
use model::{LossModel, Place};

/// Both masses of a specimen, g.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Masses {
    /// Oven-dry mass before the run.
    pub before_g: f64,
    /// Oven-dry mass kept on the method's sieve after it.
    pub after_g: f64,
}

/// The mass that the loss is a part of.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Whole {
    /// 100 (A - B) / A: of the mass before.
    MassBefore,
    /// 100 (M - B) / M: of the mass that the method prescribes, g, known exactly.
    Nominal(f64),
}

/// What the error of a source acts on.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum ActsOn {
    /// Every mass, g.
    EachMass,
    /// Every mass, as a part of it: 0.001 is a thousandth.
    ShareOfEachMass,
    /// The mass before, g.
    MassBefore,
    /// The mass after, g.
    MassAfter,
    /// The loss, in per cent of mass.
    Loss,
    /// The loss, as a part of it: 0.01 is a hundredth of the loss.
    ShareOfLoss,
    /// Another quantity, in its own unit, with the change of the loss (per cent of mass) that one
    /// unit makes.
    Quantity {
        /// Per cent of mass per unit.
        sensitivity: f64,
    },
}

/// A source of uncertainty whose error is known as a distribution.
#[derive(Debug, Clone, PartialEq)]
pub struct Contributor {
    /// Name of the source, such as `balance`; several may share one.
    pub source: String,
    /// What its error acts on.
    pub acts_on: ActsOn,
    /// The error, in the unit of what it acts on.
    pub error: Distribution,
    /// Degrees of freedom of its standard uncertainty; none where it is known exactly.
    pub freedom: Option<f64>,
}

/// What all errors of one source contribute together.
#[derive(Debug, Clone, PartialEq)]
pub struct Source {
    /// Name of the source.
    pub name: String,
    /// Standard uncertainty of the loss that it makes, per cent of mass.
    pub uncertainty: f64,
    /// Share of the variance, 0 to 1; undefined where nothing contributes.
    pub share: Figure,
}

/// A budget: the loss of one result and how far it can be trusted.
#[derive(Debug, Clone, PartialEq)]
pub struct Budget {
    /// By first order, input for input.
    pub first_order: FirstOrder,
    /// By Monte Carlo.
    pub monte_carlo: MonteCarlo,
    /// Source for source, the largest first.
    pub sources: Vec<Source>,
}

/// How a budget is computed.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct How {
    /// Coverage probability of the intervals, 0 to 1.
    pub level: f64,
    /// Number of Monte Carlo trials, 100 to 2·10⁸.
    pub trials: usize,
    /// Seed of the random numbers.
    pub seed: u64,
}

/// Computes the budget of the mean loss of `specimens`.
///
/// # Errors
/// When there is no specimen or no contributor, a mass is not above zero, a distribution is wrong, the
/// level or the number of trials is out of range.
pub fn budget(
    specimens: &[Masses],
    whole: Whole,
    contributors: &[Contributor],
    how: How,
) -> Result<Budget, StatsError> {
    if specimens.is_empty() {
        return Err(StatsError::TooFew { what: "specimens", need: 1, got: 0 });
    }
    if contributors.is_empty() {
        return Err(Undefined::Because("no source of uncertainty is known").into());
    }
    for specimen in specimens {
        error::positive("the mass before", specimen.before_g)?;
        error::not_negative("the mass after", specimen.after_g)?;
    }
    if let Whole::Nominal(mass) = whole {
        error::positive("the mass that the method prescribes", mass)?;
    }
    let mut inputs = Vec::new();
    let mut places = Vec::new();
    let mut owners = Vec::new();
    for (owner, contributor) in contributors.iter().enumerate() {
        for (place, what) in places_of(contributor.acts_on, specimens.len(), whole) {
            let name = format!("{}{what}", contributor.source);
            let mut input = Input::new(&name, contributor.error)?;
            if let Some(freedom) = contributor.freedom {
                input = input.with_freedom(freedom)?;
            }
            inputs.push(input);
            places.push(place);
            owners.push(owner);
        }
    }
    let model = LossModel { specimens: specimens.to_vec(), whole, places };
    let first_order = first_order(&model, &inputs, &[], how.level)?;
    let setup = Setup { inputs: &inputs, correlations: &[], level: how.level, seed: how.seed };
    let monte_carlo = run(&model, setup, how.trials)?;
    let sources = by_source(contributors, &owners, &first_order);
    Ok(Budget { first_order, monte_carlo, sources })
}

/// Where the error of a source enters: once for every weighing, or once for the result.
fn places_of(acts_on: ActsOn, specimens: usize, whole: Whole) -> Vec<(Place, String)> {
    let number = |n: usize| if specimens == 1 { String::new() } else { format!(" {}", n + 1) };
    let before = |share: bool| {
        (0..specimens)
            .map(move |n| (Place::Before(n, share), format!(", mass before{}", number(n))))
    };
    let after = |share: bool| {
        (0..specimens).map(move |n| (Place::After(n, share), format!(", mass after{}", number(n))))
    };
    // A formula of the prescribed mass does not look at the mass before.
    let is_of_before = whole == Whole::MassBefore;
    let both = |share: bool| -> Vec<(Place, String)> {
        if is_of_before {
            before(share).chain(after(share)).collect()
        } else {
            after(share).collect()
        }
    };
    match acts_on {
        ActsOn::EachMass => both(false),
        ActsOn::ShareOfEachMass => both(true),
        ActsOn::MassBefore => before(false).collect(),
        ActsOn::MassAfter => after(false).collect(),
        ActsOn::Loss => vec![(Place::Loss(1.0), String::new())],
        ActsOn::ShareOfLoss => vec![(Place::Share, String::new())],
        ActsOn::Quantity { sensitivity } => vec![(Place::Loss(sensitivity), String::new())],
    }
}

/// Adds up, as variances, what belongs to one source.
fn by_source(contributors: &[Contributor], owners: &[usize], first: &FirstOrder) -> Vec<Source> {
    let mut sources: Vec<(String, f64)> = Vec::new();
    for (owner, contribution) in owners.iter().zip(&first.contributions) {
        let name = &contributors[*owner].source;
        let square = contribution.uncertainty * contribution.uncertainty;
        match sources.iter_mut().find(|(known, _)| known == name) {
            Some((_, sum)) => *sum += square,
            None => sources.push((name.clone(), square)),
        }
    }
    let whole = first.standard_uncertainty * first.standard_uncertainty;
    let mut sources: Vec<Source> = sources
        .into_iter()
        .map(|(name, square)| Source {
            name,
            uncertainty: square.sqrt(),
            share: ratio(square, whole, "the loss"),
        })
        .collect();
    sources.sort_by(|a, b| b.uncertainty.total_cmp(&a.uncertainty));
    sources
}

#[cfg(test)]
mod tests;
