//! What every sieve kept, and the shares that follow.

use crate::closing::{Closing, ClosingRule};
use crate::hundred;
use crate::sieve::Sieve;
use serde::{Deserialize, Serialize};
use stonewear_measure::{Decimal, Exact};
use thiserror::Error;

/// No analysis weighs more (a tonne); it keeps every sum far inside what a decimal holds.
const HEAVIEST_G: Decimal = Decimal::from_parts(1_000_000, 0, 0, false, 0);

/// What one sieve kept.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Retained {
    /// The sieve.
    #[serde(rename = "sieve_mm")]
    pub sieve: Sieve,
    /// Mass kept on it, g.
    pub retained_g: Decimal,
}

/// Why masses do not make an analysis.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum AnalysisError {
    /// No sieve at all.
    #[error("there is no sieve; an analysis needs at least one, and the pan")]
    NoSieve,
    /// One sieve twice.
    #[error("the sieve {sieve} stands twice; add up what it kept, or put one of them right")]
    Repeated {
        /// Which.
        sieve: Sieve,
    },
    /// A mass below zero.
    #[error("{what} is {mass_g} g; a mass cannot be less than zero")]
    Negative {
        /// Of what.
        what: String,
        /// The mass, g.
        mass_g: Decimal,
    },
    /// A mass that no laboratory weighs.
    #[error("{what} is {mass_g} g; at most {HEAVIEST_G} g can be")]
    TooHeavy {
        /// Of what.
        what: String,
        /// The mass, g.
        mass_g: Decimal,
    },
    /// Nothing was kept anywhere.
    #[error("every sieve and the pan are empty; weigh what they kept")]
    Empty,
    /// Washing cannot add mass.
    #[error("the mass after washing, {after_g} g, is more than the {before_g} g before")]
    GainedInWash {
        /// Before washing, g.
        before_g: Decimal,
        /// After it, g.
        after_g: Decimal,
    },
    /// The wash loss needs both masses.
    #[error("the mass after washing is given, the dry mass before is not; give both")]
    WashedWithoutBefore,
}

/// A sieve analysis: coarsest sieve first, every sieve once.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct SieveAnalysis {
    before_g: Option<Decimal>,
    after_wash_g: Option<Decimal>,
    retained: Vec<Retained>,
    pan_g: Decimal,
}

/// One line of the table of an analysis. Shares are of the whole dry mass, %.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Line {
    /// The sieve.
    pub sieve: Sieve,
    /// Kept on it, g.
    pub retained_g: Decimal,
    /// Kept on it, %.
    pub retained_percent: Exact,
    /// Kept on it and on every coarser sieve, %.
    pub cumulative_percent: Exact,
    /// Passing it, %.
    pub passing_percent: Exact,
}

impl SieveAnalysis {
    /// An analysis from what the sieves and the pan kept, in any order, with the oven-dry mass
    /// before and, where it was washed, the oven-dry mass after washing, all in g.
    ///
    /// # Errors
    /// When a mass is impossible, a sieve stands twice, or nothing was kept.
    pub fn new(
        mut retained: Vec<Retained>,
        pan_g: Decimal,
        before_g: Option<Decimal>,
        after_wash_g: Option<Decimal>,
    ) -> Result<Self, AnalysisError> {
        let kept = retained
            .iter()
            .map(|row| (format!("the mass on the {} sieve", row.sieve), row.retained_g));
        let others = [
            (Some(pan_g), "the mass in the pan"),
            (before_g, "the dry mass before"),
            (after_wash_g, "the mass after washing"),
        ];
        let others = others.into_iter().filter_map(|(mass, what)| Some((what.to_owned(), mass?)));
        for (what, mass_g) in kept.chain(others) {
            if mass_g < Decimal::ZERO {
                return Err(AnalysisError::Negative { what, mass_g });
            }
            if mass_g > HEAVIEST_G {
                return Err(AnalysisError::TooHeavy { what, mass_g });
            }
        }
        match (before_g, after_wash_g) {
            (None, Some(_)) => return Err(AnalysisError::WashedWithoutBefore),
            (Some(before_g), Some(after_g)) if after_g > before_g => {
                return Err(AnalysisError::GainedInWash { before_g, after_g });
            }
            _ => {}
        }
        retained.sort_by_key(|row| std::cmp::Reverse(row.sieve));
        if let Some([twice, _]) =
            retained.array_windows().find(|[one, other]| one.sieve == other.sieve)
        {
            return Err(AnalysisError::Repeated { sieve: twice.sieve });
        }
        let analysis = Self { before_g, after_wash_g, retained, pan_g };
        if analysis.retained.is_empty() {
            return Err(AnalysisError::NoSieve);
        }
        if analysis.found_g().is_zero() {
            return Err(AnalysisError::Empty);
        }
        Ok(analysis)
    }

    /// The oven-dry mass before, g.
    pub fn before_g(&self) -> Option<Decimal> {
        self.before_g
    }

    /// The oven-dry mass after washing, g; `None` when it was not washed.
    pub fn after_wash_g(&self) -> Option<Decimal> {
        self.after_wash_g
    }

    /// What every sieve kept, coarsest first.
    pub fn retained(&self) -> &[Retained] {
        &self.retained
    }

    /// What passed every sieve, g.
    pub fn pan_g(&self) -> Decimal {
        self.pan_g
    }

    /// What the sieves and the pan hold together, g.
    pub fn found_g(&self) -> Decimal {
        self.retained.iter().fold(self.pan_g, |sum, row| sum + row.retained_g)
    }

    /// What washing took away, g; `None` when it was not washed.
    pub fn wash_loss_g(&self) -> Option<Decimal> {
        Some(self.before_g? - self.after_wash_g?)
    }

    /// What washing took away, % of the dry mass before.
    pub fn wash_loss_percent(&self) -> Option<Exact> {
        let lost = Exact::from(self.wash_loss_g()?).times(&hundred());
        lost.divided_by(&Exact::from(self.before_g?))
    }

    /// The mass of which shares are taken, g: the dry mass before, wash loss included (C136 and
    /// EN 933-1, from memory). When nothing was weighed before, or more was found than was put
    /// on, it is what was found with the wash loss, so that no share can be below zero (derived).
    pub fn whole_g(&self) -> Decimal {
        let found = self.found_g() + self.wash_loss_g().unwrap_or_default();
        self.before_g.map_or(found, |before| before.max(found))
    }

    /// Whether the masses after sieving agree with the mass before; `None` when none was weighed.
    pub fn closing(&self, rule: ClosingRule) -> Option<Closing> {
        Closing::of(rule, self.after_wash_g.or(self.before_g)?, self.found_g())
    }

    /// A mass as a share of the whole, %. The whole is never zero.
    fn percent(&self, mass_g: Decimal) -> Exact {
        let share = Exact::from(mass_g).times(&hundred()).divided_by(&Exact::from(self.whole_g()));
        share.unwrap_or_else(|| Exact::from(Decimal::ZERO))
    }

    /// The table of the analysis, coarsest sieve first.
    pub fn lines(&self) -> Vec<Line> {
        let mut cumulative_g = Decimal::ZERO;
        let line = |row: &Retained| {
            cumulative_g += row.retained_g;
            let cumulative_percent = self.percent(cumulative_g);
            Line {
                sieve: row.sieve,
                retained_g: row.retained_g,
                retained_percent: self.percent(row.retained_g),
                passing_percent: hundred().minus(&cumulative_percent),
                cumulative_percent,
            }
        };
        self.retained.iter().map(line).collect()
    }

    /// What passes every sieve, %: the pan, the wash loss, and what was lost on the way.
    pub fn finest_percent(&self) -> Exact {
        let passing = self.lines().pop().map(|line| line.passing_percent);
        passing.unwrap_or_else(hundred)
    }

    /// What would be kept on a sieve of this opening and all coarser ones, g, as far as the
    /// analysis says. It does where it has the sieve, and where the sieves around it kept nothing
    /// between them; anywhere else `None`, for a share is not to be invented.
    pub fn cumulative_g_at(&self, opening_mm: Decimal) -> Option<Decimal> {
        let mut coarser_g = Decimal::ZERO;
        for row in &self.retained {
            let here_g = coarser_g + row.retained_g;
            match row.sieve.opening_mm().cmp(&opening_mm) {
                std::cmp::Ordering::Equal => return Some(here_g),
                std::cmp::Ordering::Greater => coarser_g = here_g,
                std::cmp::Ordering::Less => return (here_g == coarser_g).then_some(coarser_g),
            }
        }
        (coarser_g == self.whole_g()).then_some(coarser_g)
    }

    /// The share of the whole that passes one opening and is kept on the other, %.
    ///
    /// # Errors
    /// The openings, mm, at which the analysis has no sieve and would need one.
    pub fn share_between(
        &self,
        passing_mm: Decimal,
        retained_mm: Decimal,
    ) -> Result<Exact, Vec<Decimal>> {
        match (self.cumulative_g_at(passing_mm), self.cumulative_g_at(retained_mm)) {
            // A fraction upside down holds nothing; method files refuse one anyway.
            (Some(coarser), Some(all)) => Ok(self.percent((all - coarser).max(Decimal::ZERO))),
            (coarser, all) => {
                let missing = [(coarser, passing_mm), (all, retained_mm)];
                Err(missing.into_iter().filter(|(g, _)| g.is_none()).map(|(_, mm)| mm).collect())
            }
        }
    }
}
