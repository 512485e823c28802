//! Agreement within margins: of two sets, of pairs, or of one set with a reference value.

use super::analysis::{Analysis, DIGITS, Data, EquivalenceFound, kept};
use super::power::{Size, alpha};
use crate::estimate::{double, doubles, significant};
use crate::fact::{Design, Question, StudyFigures};
use stonewear_measure::Decimal;
use stonewear_stats::comparison::{
    Bounds, Equivalence, equivalence_of_paired, equivalence_of_two, equivalence_to_reference,
};
use stonewear_stats::describe;

impl Data<'_> {
    /// Two one-sided tests: of two sets, of pairs, or of one set against the reference value.
    pub(super) fn agreement(&self) -> Result<Analysis, String> {
        let plan = self.plan;
        let figures = &plan.figures;
        let margin = double(figures.difference);
        let fails = |error| format!("the runs cannot be analysed: {error}");
        let bounds = Bounds::new(-margin, margin).map_err(fails)?;
        let alpha = double(alpha(figures));
        if plan.question == Question::Reference {
            let reference = figures.reference_value.unwrap_or_default();
            let uncertainty = figures.reference_uncertainty.unwrap_or_default();
            let values = doubles(&self.values);
            let against = (double(reference), double(uncertainty));
            let found = equivalence_to_reference(&values, against, bounds, alpha).map_err(fails)?;
            let mean = describe::mean(&values).ok().and_then(|mean| significant(mean, DIGITS));
            let what = format!("mean less the reference value {reference}");
            let mut analysis = self.analysis(format!(
                "Mean of the runs against {reference} {} ± {uncertainty} (standard uncertainty, {}), two one-sided tests.",
                plan.unit, figures.reference_source
            ));
            let deviation = describe::standard_deviation(&values).ok();
            let deviation = deviation.and_then(|value| significant(value, DIGITS));
            let means = vec![mean, Some(reference)];
            analysis.equivalence =
                Some(self.outcome(what, vec![values.len()], means, &found, deviation));
            return Ok(analysis);
        }
        let Some(factor) = plan.factors.first() else {
            return Err("no factor is named".to_owned());
        };
        let [first, second] = factor.levels.as_slice() else {
            return Err("agreement is asked of two levels".to_owned());
        };
        let what = format!("{first} less {second}");
        let own = self.levels(0);
        let blocks = (plan.design == Design::RandomizedBlocks).then(|| self.levels(1));
        let (mut one, mut other) = (Vec::new(), Vec::new());
        let mut notes = Vec::new();
        match &blocks {
            None => {
                for (level, value) in own.iter().zip(&self.values) {
                    if level == first { one.push(*value) } else { other.push(*value) }
                }
            }
            Some(blocks) => {
                let name = plan.factors.get(1).map_or("block", |block| block.name.as_str());
                for block in plan.factors.get(1).map(|block| &block.levels).into_iter().flatten() {
                    let value = |wanted: &String| {
                        let mut all = own.iter().zip(blocks).zip(&self.values);
                        all.find(|((level, at), _)| *level == wanted && *at == block)
                            .map(|(_, value)| *value)
                    };
                    match (value(first), value(second)) {
                        (Some(a), Some(b)) => {
                            one.push(a);
                            other.push(b);
                        }
                        _ => notes
                            .push(format!("{name} {block} has no pair of values and is left out.")),
                    }
                }
            }
        }
        let (a, b) = (doubles(&one), doubles(&other));
        let found = match &blocks {
            None => equivalence_of_two(&a, &b, bounds, alpha, false),
            Some(_) => equivalence_of_paired(&a, &b, bounds, alpha),
        };
        let found = found.map_err(fails)?;
        let mean =
            |values: &[_]| describe::mean(values).ok().and_then(|mean| significant(mean, DIGITS));
        let mut analysis = self.analysis(format!(
            "{what}, {}, two one-sided tests.",
            if blocks.is_some() { "in pairs" } else { "separate variances (Welch)" }
        ));
        analysis.notes = notes;
        // The spread of single results that gives a standard error like this one.
        let n = a.len().min(b.len());
        let deviation =
            significant(found.standard_error * (0.5 * double(Decimal::from(n))).sqrt(), DIGITS);
        let means = vec![mean(&a), mean(&b)];
        analysis.equivalence =
            Some(self.outcome(what, vec![a.len(), b.len()], means, &found, deviation));
        Ok(analysis)
    }

    fn outcome(
        &self,
        what: String,
        results: Vec<usize>,
        means: Vec<Option<Decimal>>,
        found: &Equivalence,
        deviation: Option<Decimal>,
    ) -> EquivalenceFound {
        let plan = self.plan;
        let figures = &plan.figures;
        let margin = double(figures.difference);
        let differs = found.interval.lower > margin || found.interval.upper < -margin;
        // With what was found in place of what was expected: how many runs would have done.
        let as_found =
            StudyFigures { deviation, expected_difference: Decimal::ZERO, ..figures.clone() };
        let needed = match plan.design {
            Design::RandomizedBlocks => None,
            design => {
                let size = Size::new(plan.question, design, &plan.factors, 1);
                size.repetitions_needed(&as_found)
                    .map(|repetitions| Size::new(plan.question, design, &plan.factors, repetitions))
            }
        };
        EquivalenceFound {
            what,
            results,
            means,
            difference: significant(found.difference, DIGITS),
            standard_error: significant(found.standard_error, DIGITS),
            freedom: significant(found.freedom, DIGITS),
            margin: figures.difference,
            interval_percent: Decimal::ONE_HUNDRED
                - (Decimal::ONE_HUNDRED - figures.confidence_percent) * Decimal::TWO,
            lower: significant(found.interval.lower, DIGITS),
            upper: significant(found.interval.upper, DIGITS),
            t: kept(&found.t),
            p_difference: kept(&found.p_difference),
            t_lower: kept(&found.t_lower),
            p_lower: kept(&found.p_lower),
            t_upper: kept(&found.t_upper),
            p_upper: kept(&found.p_upper),
            agrees: found.equivalent,
            differs,
            runs_needed: needed.filter(|_| !found.equivalent).map(Size::runs),
        }
    }
}
