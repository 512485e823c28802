//! What a plan can show: its power, the difference that it sees, and how often its design has to be
//! repeated for the power that is wanted.

use crate::estimate::{double, rounded, significant};
use crate::fact::{Design, Question, StudyFactor, StudyFigures};
use stonewear_measure::Decimal;
use stonewear_stats::design::{
    Effect, detectable_difference, power_of_effect, power_of_equivalence,
};

/// More runs than this nobody makes for one study.
pub(crate) const MOST_RUNS: u32 = 200;

/// The size of a design, repeated.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Size {
    design: Design,
    question: Question,
    levels: usize,
    others: [usize; 2],
    repetitions: u32,
}

impl Size {
    pub(crate) fn new(
        question: Question,
        design: Design,
        factors: &[StudyFactor],
        repetitions: u32,
    ) -> Self {
        let count = |place: usize| factors.get(place).map_or(1, |factor| factor.levels.len());
        Self { design, question, levels: count(0), others: [count(1), count(2)], repetitions }
    }

    pub(crate) fn repeated(self, repetitions: u32) -> Self {
        // Blocks that are repeated can show whether factors act together.
        let design = match self.design {
            Design::RandomizedBlocks if self.question == Question::Same && repetitions > 1 => {
                Design::Crossed
            }
            Design::Crossed if self.others[1] == 1 && repetitions == 1 => Design::RandomizedBlocks,
            other => other,
        };
        Self { design, repetitions, ..self }
    }

    /// How many runs that is.
    pub(crate) fn runs(self) -> u32 {
        let [b, c] = self.others;
        let once = match self.design {
            Design::LatinSquare => self.levels * self.levels,
            _ => self.levels * b * c,
        };
        u32::try_from(once).unwrap_or(u32::MAX).saturating_mul(self.repetitions)
    }

    /// Results of each level of the factor in question, and the degrees of freedom of the error.
    fn effect(self) -> Effect {
        let (a, [b, c], r) = (self.levels, self.others, self.repetitions as usize);
        let (results_a_level, spent) = match self.design {
            // Repeated squares use the same rows and columns (D. C. Montgomery, Design and Analysis
            // of Experiments, section 4.2, replication case 1).
            Design::LatinSquare => (a * r, 1 + (r - 1) + 3 * (a - 1)),
            Design::Nested => (b, a),
            Design::Crossed if r > 1 => {
                let pairs = (a - 1) * (b - 1) + (a - 1) * (c - 1) + (b - 1) * (c - 1);
                (b * c * r, 1 + (a - 1) + (b - 1) + (c - 1) + pairs)
            }
            _ => (b * c * r, 1 + (a - 1) + (b - 1) + (c - 1)),
        };
        let all = results_a_level * a;
        Effect { levels: a, results_a_level, freedom: all.saturating_sub(spent) }
    }

    /// The power for the difference or margin of these figures; `None` where they do not say.
    pub(crate) fn power(self, figures: &StudyFigures) -> Option<Decimal> {
        let deviation = figures.deviation.filter(|deviation| *deviation > Decimal::ZERO)?;
        let alpha = alpha(figures);
        if self.question == Question::Same {
            let apart = double(figures.difference.checked_div(deviation)?);
            let power = power_of_effect(&self.effect(), apart, double(alpha)).ok()?;
            return rounded(power, 4).map(percent);
        }
        let variance = double(deviation.checked_mul(deviation)?);
        let n = match self.design {
            Design::RandomizedBlocks => u32::try_from(self.others[0]).ok()?,
            _ => self.repetitions,
        };
        let n = double(Decimal::from(n));
        let (estimate, freedom) = match (self.question, self.design) {
            (Question::Reference, _) => (variance / n, n - 1.0),
            (_, Design::RandomizedBlocks) => (2.0 * variance / n, n - 1.0),
            _ => (2.0 * variance / n, 2.0 * (n - 1.0)),
        };
        let known = double(figures.reference_uncertainty.unwrap_or_default());
        let power = power_of_equivalence(
            double(figures.expected_difference),
            (estimate, known * known),
            freedom,
            double(figures.difference),
            double(alpha),
        );
        power.ok().and_then(|power| rounded(power, 4)).map(percent)
    }

    /// The difference that is seen with the wanted power, where differences are asked about.
    pub(crate) fn seen(self, figures: &StudyFigures) -> Option<Decimal> {
        let deviation = figures.deviation?;
        let apart = (self.question == Question::Same).then(|| {
            let wanted = double(figures.power_percent) / 100.0;
            detectable_difference(&self.effect(), double(alpha(figures)), wanted).ok()
        });
        significant(apart?? * double(deviation), 3)
    }

    /// The smallest number of repetitions with the wanted power; `None` where none in reach has it.
    pub(crate) fn repetitions_needed(self, figures: &StudyFigures) -> Option<u32> {
        (1..=MOST_RUNS).map(|repetitions| self.repeated(repetitions)).find_map(|size| {
            if size.runs() > MOST_RUNS {
                return None;
            }
            let power = size.power(figures)?;
            (power >= figures.power_percent).then_some(size.repetitions)
        })
    }
}

/// One less the confidence.
pub(crate) fn alpha(figures: &StudyFigures) -> Decimal {
    Decimal::ONE - figures.confidence_percent / Decimal::ONE_HUNDRED
}

fn percent(share: Decimal) -> Decimal {
    (share * Decimal::ONE_HUNDRED).round_dp(2)
}
