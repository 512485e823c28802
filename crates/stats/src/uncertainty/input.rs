//! Input quantities: what is known about each, as a distribution.

use crate::error::{self, Figure, StatsError, Undefined, finite, not_negative, within};

/// A distribution that describes an input (JCGM 101, table 1), in the unit of the input.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Distribution {
    /// Known exactly.
    Constant(f64),
    /// Normal with mean and standard deviation.
    Normal {
        /// Mean.
        mean: f64,
        /// Standard deviation.
        sd: f64,
    },
    /// Equally likely everywhere between two bounds.
    Rectangular {
        /// Lower bound.
        lower: f64,
        /// Upper bound.
        upper: f64,
    },
    /// Triangle between two bounds with its peak at `mode`.
    Triangular {
        /// Lower bound.
        lower: f64,
        /// Where the peak stands.
        mode: f64,
        /// Upper bound.
        upper: f64,
    },
    /// U-shaped between two bounds: a quantity that swings like a sine.
    Arcsine {
        /// Lower bound.
        lower: f64,
        /// Upper bound.
        upper: f64,
    },
    /// Scaled and shifted t: a mean of few observations.
    T {
        /// Centre.
        location: f64,
        /// Scale: s/√n of the observations.
        scale: f64,
        /// Degrees of freedom; above 2, otherwise the standard deviation does not exist.
        freedom: f64,
    },
    /// Rectangular with bounds that are themselves known only to ± `inexactness`.
    CurvilinearTrapezoid {
        /// Lower bound.
        lower: f64,
        /// Upper bound.
        upper: f64,
        /// Half-width within which each bound lies.
        inexactness: f64,
    },
}

impl Distribution {
    /// Whether the parameters make a distribution.
    ///
    /// # Errors
    /// Names the parameter that does not.
    pub fn check(&self) -> Result<(), StatsError> {
        let bounds = |lower: f64, upper: f64| {
            finite("bounds", &[lower, upper, upper - lower])?;
            within("the upper bound", upper, upper >= lower, "not below the lower bound")
        };
        match *self {
            Self::Constant(value) => finite("a constant", &[value]),
            Self::Normal { mean, sd } => {
                finite("a mean", &[mean])?;
                not_negative("a standard deviation", sd)
            }
            Self::Rectangular { lower, upper } | Self::Arcsine { lower, upper } => {
                bounds(lower, upper)
            }
            Self::Triangular { lower, mode, upper } => {
                bounds(lower, upper)?;
                let inside = mode >= lower && mode <= upper;
                within("the peak of a triangle", mode, inside, "between its bounds")
            }
            Self::T { location, scale, freedom } => {
                finite("a location", &[location])?;
                not_negative("a scale", scale)?;
                error::freedom(freedom)
            }
            Self::CurvilinearTrapezoid { lower, upper, inexactness } => {
                bounds(lower, upper)?;
                not_negative("the inexactness of the bounds", inexactness)?;
                let fits = 2.0 * inexactness <= upper - lower;
                within(
                    "the inexactness of the bounds",
                    inexactness,
                    fits,
                    "at most half their distance",
                )
            }
        }
    }

    /// The expectation, which is the estimate of the input.
    #[must_use]
    pub fn mean(&self) -> f64 {
        match *self {
            Self::Constant(value) => value,
            Self::Normal { mean, .. } => mean,
            Self::Rectangular { lower, upper }
            | Self::Arcsine { lower, upper }
            | Self::CurvilinearTrapezoid { lower, upper, .. } => 0.5 * lower + 0.5 * upper,
            Self::Triangular { lower, mode, upper } => (lower + mode + upper) / 3.0,
            Self::T { location, .. } => location,
        }
    }

    /// The standard deviation, which is the standard uncertainty of the input.
    ///
    /// # Errors
    /// `Undefined` for t with two or fewer degrees of freedom.
    pub fn standard_deviation(&self) -> Figure {
        match *self {
            Self::Constant(_) => Ok(0.0),
            Self::Normal { sd, .. } => Ok(sd),
            Self::Rectangular { lower, upper } => Ok((upper - lower) / 12f64.sqrt()),
            Self::Triangular { lower, mode, upper } => {
                let (a, b, c) = (upper - lower, upper - mode, mode - lower);
                Ok(((a * a + b * b + c * c) / 36.0).sqrt())
            }
            Self::Arcsine { lower, upper } => Ok((upper - lower) / 8f64.sqrt()),
            Self::T { scale, freedom, .. } => {
                if freedom > 2.0 {
                    Ok(scale * (freedom / (freedom - 2.0)).sqrt())
                } else {
                    Err(Undefined::Because(
                        "a t distribution with two or fewer degrees of freedom has no standard deviation",
                    ))
                }
            }
            Self::CurvilinearTrapezoid { lower, upper, inexactness } => {
                let width = upper - lower;
                Ok((width * width / 12.0 + inexactness * inexactness / 9.0).sqrt())
            }
        }
    }
}

/// One input of a model.
#[derive(Debug, Clone, PartialEq)]
pub struct Input {
    /// Its name in the model.
    pub name: String,
    /// What is known about it. First order uses mean and standard deviation of it.
    pub distribution: Distribution,
    /// Standard uncertainty for first order where it is not the distribution's standard deviation:
    /// the GUM takes s/√n of a mean as it is, JCGM 101 gives it a t distribution.
    pub standard_uncertainty: Option<f64>,
    /// Degrees of freedom of the standard uncertainty; none means that it is known exactly.
    pub freedom: Option<f64>,
}

impl Input {
    /// An input whose uncertainty is the distribution's standard deviation, known exactly; a t
    /// distribution gives its scale and its degrees of freedom instead, as the GUM does.
    ///
    /// # Errors
    /// When the parameters make no distribution.
    pub fn new(name: &str, distribution: Distribution) -> Result<Self, StatsError> {
        distribution.check()?;
        let (standard_uncertainty, freedom) = match distribution {
            Distribution::T { scale, freedom, .. } => (Some(scale), Some(freedom)),
            _ => (None, None),
        };
        Ok(Self { name: name.to_string(), distribution, standard_uncertainty, freedom })
    }

    /// The same input with degrees of freedom for its uncertainty.
    ///
    /// # Errors
    /// When `freedom` is not above zero.
    pub fn with_freedom(mut self, freedom: f64) -> Result<Self, StatsError> {
        error::freedom(freedom)?;
        self.freedom = Some(freedom);
        Ok(self)
    }

    /// The standard uncertainty that first order uses.
    ///
    /// # Errors
    /// `Undefined` where the distribution has none.
    pub fn uncertainty(&self) -> Figure {
        match self.standard_uncertainty {
            Some(u) => Ok(u),
            None => self.distribution.standard_deviation(),
        }
    }
}

/// A correlation between two inputs.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Correlation {
    /// One input, counted from 0.
    pub one: usize,
    /// The other.
    pub other: usize,
    /// Correlation coefficient, -1 to 1.
    pub coefficient: f64,
}

/// The correlation matrix of `count` inputs, row by row, checked.
pub(crate) fn matrix(count: usize, pairs: &[Correlation]) -> Result<Vec<Vec<f64>>, StatsError> {
    let mut matrix = vec![vec![0.0; count]; count];
    for (i, row) in matrix.iter_mut().enumerate() {
        row[i] = 1.0;
    }
    for &Correlation { one, other, coefficient } in pairs {
        let there = one < count && other < count && one != other;
        if !there {
            return Err(StatsError::Layout(
                "a correlation has to name two different inputs that are there".to_string(),
            ));
        }
        let good = (-1.0..=1.0).contains(&coefficient);
        within("a correlation coefficient", coefficient, good, "from -1 to 1")?;
        matrix[one][other] = coefficient;
        matrix[other][one] = coefficient;
    }
    Ok(matrix)
}

/// The lower factor L with L Lᵀ = `matrix`, where zero pivots are allowed: inputs may be perfectly
/// correlated.
pub(crate) fn cholesky(matrix: &[Vec<f64>]) -> Result<Vec<Vec<f64>>, StatsError> {
    let n = matrix.len();
    let mut factor = vec![vec![0.0; n]; n];
    for j in 0..n {
        let square: f64 = matrix[j][j] - factor[j][..j].iter().map(|v| v * v).sum::<f64>();
        let contradiction = || {
            StatsError::Layout(
                "these correlations contradict each other: no quantities can have all of them"
                    .to_string(),
            )
        };
        if square < -1e-10 {
            return Err(contradiction());
        }
        let pivot = if square < 1e-12 { 0.0 } else { square.sqrt() };
        factor[j][j] = pivot;
        for i in j + 1..n {
            let rest: f64 = matrix[i][j]
                - factor[i][..j].iter().zip(&factor[j][..j]).map(|(a, b)| a * b).sum::<f64>();
            if pivot == 0.0 {
                if rest.abs() > 1e-6 {
                    return Err(contradiction());
                }
            } else {
                factor[i][j] = rest / pivot;
            }
        }
    }
    Ok(factor)
}
