//! What a study showed: the analysis of variance, the means and their differences, agreement within
//! margins, and what the model leaves. Figures are decimals of seven significant digits.

use super::power::alpha;
use super::runs::RunStanding;
use super::{LOSS, verdict};
use crate::estimate::{double, doubles, significant};
use crate::fact::{Design, Question, StudyPlanned};
use crate::state::{Lab, Study};
use crate::words::{counted, listed};
use serde::Serialize;
use stonewear_measure::Decimal;
use stonewear_stats::Figure;
use stonewear_stats::anova::{self, Effects, Factor, Interactions};
use stonewear_stats::describe;
use stonewear_stats::design::{Effect, detectable_difference};
use stonewear_stats::normality::shapiro_wilk;

/// Significant digits of every figure that is kept.
pub(super) const DIGITS: u32 = 7;

/// A row of an analysis of variance.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct TableRow {
    /// What varies.
    pub source: String,
    /// Degrees of freedom.
    pub freedom: usize,
    /// Sum of squares.
    pub sum_of_squares: Option<Decimal>,
    /// Mean square.
    pub mean_square: Option<Decimal>,
    /// Mean square over the one that it is tested against.
    pub f: Option<Decimal>,
    /// Probability of so large an F by chance.
    pub p: Option<Decimal>,
}

/// The mean of a level.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct LevelMean {
    /// The level.
    pub level: String,
    /// How many runs it has.
    pub runs: usize,
    /// Its mean.
    pub mean: Option<Decimal>,
}

/// The difference of two levels: the second less the first.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Difference {
    /// The first level.
    pub first: String,
    /// The second level.
    pub second: String,
    /// Second less first.
    pub difference: Option<Decimal>,
    /// Lower end of its interval, all intervals of the factor together at the confidence of the study.
    pub lower: Option<Decimal>,
    /// Upper end.
    pub upper: Option<Decimal>,
    /// Probability, adjusted for the number of pairs.
    pub p: Option<Decimal>,
}

/// What a factor did.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct FactorFound {
    /// Its name.
    pub name: String,
    /// The means of its levels.
    pub levels: Vec<LevelMean>,
    /// Half width of the intervals about the means: two that do not overlap belong to levels that
    /// differ.
    pub half_width: Option<Decimal>,
    /// Probability of differences as large by chance.
    pub p: Option<Decimal>,
    /// Whether its levels differ.
    pub differs: bool,
    /// All pairs.
    pub differences: Vec<Difference>,
    /// The difference of two levels that would have been found with the wanted power.
    pub would_have_been_seen: Option<Decimal>,
}

/// What the model leaves.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Residuals {
    /// Their standard deviation.
    pub deviation: Option<Decimal>,
    /// Degrees of freedom.
    pub freedom: usize,
    /// Each with its run of the plan, in the order of the runs.
    pub of_runs: Vec<(u32, Option<Decimal>)>,
    /// Shapiro and Wilk's probability that they could be normal; absent where they are too few.
    pub normality_p: Option<Decimal>,
    /// The run that lies furthest off.
    pub furthest_run: u32,
    /// How many standard deviations that is.
    pub furthest: Option<Decimal>,
}

/// Whether two sets, or one set and a value, agree within the margin.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct EquivalenceFound {
    /// What is less what: `MILL-2 less MILL-1`.
    pub what: String,
    /// How many results stand on each side.
    pub results: Vec<usize>,
    /// The means of both sides; of one set, its mean and the reference value.
    pub means: Vec<Option<Decimal>>,
    /// The difference.
    pub difference: Option<Decimal>,
    /// Its standard error, with the uncertainty of the reference value.
    pub standard_error: Option<Decimal>,
    /// Degrees of freedom.
    pub freedom: Option<Decimal>,
    /// The margin, ±.
    pub margin: Decimal,
    /// Confidence of the interval, %.
    pub interval_percent: Decimal,
    /// Lower end of the interval.
    pub lower: Option<Decimal>,
    /// Upper end.
    pub upper: Option<Decimal>,
    /// t of the difference against none.
    pub t: Option<Decimal>,
    /// Two-sided probability of it.
    pub p_difference: Option<Decimal>,
    /// t against the lower margin.
    pub t_lower: Option<Decimal>,
    /// Probability of it.
    pub p_lower: Option<Decimal>,
    /// t against the upper margin.
    pub t_upper: Option<Decimal>,
    /// Probability of it.
    pub p_upper: Option<Decimal>,
    /// Whether agreement within the margin is shown.
    pub agrees: bool,
    /// Whether a difference beyond the margin is shown.
    pub differs: bool,
    /// How many runs would show agreement with the wanted power, if nothing lies between them and
    /// the spread is as found; absent where it is shown, or none in reach would.
    pub runs_needed: Option<u32>,
}

/// The analysis of a study as its runs stand.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Analysis {
    /// Runs with a value.
    pub used: usize,
    /// Runs of the plan.
    pub planned: usize,
    /// The unit of the values.
    pub unit: String,
    /// What was compared how, in words.
    pub model: String,
    /// The analysis of variance; empty where none was made.
    pub table: Vec<TableRow>,
    /// What each factor did.
    pub factors: Vec<FactorFound>,
    /// What the model leaves.
    pub residuals: Option<Residuals>,
    /// Whether there is agreement within the margin, where that was asked.
    pub equivalence: Option<EquivalenceFound>,
    /// What has to be known when reading it.
    pub notes: Vec<String>,
    /// What it says, sentence by sentence.
    pub verdict: Vec<String>,
}

pub(super) fn kept(figure: &Figure) -> Option<Decimal> {
    figure.as_ref().ok().and_then(|value| significant(*value, DIGITS))
}

/// The runs that have a value, in the order of the plan.
pub(super) struct Data<'a> {
    pub(super) plan: &'a StudyPlanned,
    runs: Vec<&'a RunStanding>,
    pub(super) values: Vec<Decimal>,
}

impl Lab {
    /// What a study shows as its runs stand; or why nothing can be said.
    ///
    /// # Errors
    /// In words, when too few runs have a value or their layout does not allow the analysis.
    pub fn study_analysis(&self, study: &Study) -> Result<Analysis, String> {
        let runs = self.study_runs(study);
        let plan = &study.plan.value;
        let with: Vec<&RunStanding> = runs.iter().filter(|run| run.value.is_some()).collect();
        let values: Vec<Decimal> = with.iter().filter_map(|run| run.value).collect();
        let missing: Vec<String> = runs
            .iter()
            .filter(|run| run.value.is_none())
            .map(|run| run.planned.run.to_string())
            .collect();
        let data = Data { plan, runs: with, values };
        if data.values.is_empty() {
            return Err("no run has a value yet, so nothing can be analysed".to_owned());
        }
        let analysed = match plan.question {
            Question::Same => data.differences(),
            Question::Equivalent | Question::Reference => data.agreement(),
        };
        let mut analysis = analysed.map_err(|why| match missing.as_slice() {
            [] => why,
            _ => format!(
                "{why} ({} without a value: {})",
                runs_in_words(&missing),
                listed(missing.clone())
            ),
        })?;
        analysis.planned = plan.runs.len();
        if !missing.is_empty() {
            let means = match plan.question {
                Question::Same => {
                    " The means are those of a level with the other factors averaged."
                }
                Question::Equivalent | Question::Reference => "",
            };
            analysis.notes.push(format!(
                "{} without a value and left out: {}.{means}",
                runs_in_words(&missing),
                listed(missing)
            ));
        }
        for run in &runs {
            let number = run.planned.run;
            for departure in run.departures.iter().filter(|_| run.value.is_some()) {
                let why = run.excused.as_ref().map_or_else(String::new, |why| format!(" ({why})"));
                analysis
                    .notes
                    .push(format!("Run {number} departs from the plan: {departure}{why}."));
            }
            for doubt in &run.doubts {
                analysis.notes.push(format!("Run {number} stands on something in doubt: {doubt}."));
            }
        }
        analysis.verdict = verdict::sentences(plan, &analysis);
        Ok(analysis)
    }
}

fn runs_in_words(missing: &[String]) -> String {
    let count = counted(missing.len(), "run");
    format!("{count} {}", if missing.len() == 1 { "is" } else { "are" })
}

impl Data<'_> {
    /// The level of a factor of each run.
    pub(super) fn levels(&self, place: usize) -> Vec<String> {
        let level = |run: &&RunStanding| run.planned.levels.get(place).cloned().unwrap_or_default();
        self.runs.iter().map(level).collect()
    }

    fn differences(&self) -> Result<Analysis, String> {
        let plan = self.plan;
        let mut levels: Vec<Vec<String>> =
            (0..plan.factors.len()).map(|place| self.levels(place)).collect();
        let mut names: Vec<String> =
            plan.factors.iter().map(|factor| factor.name.clone()).collect();
        if let Some(factor) = one_level_only(plan, &levels) {
            return Err(format!(
                "only one level of {factor} has values, so its levels cannot be compared"
            ));
        }
        let repetitions: Vec<String> =
            self.runs.iter().map(|run| run.planned.repetition.to_string()).collect();
        let several = repetitions.iter().any(|one| Some(one) != repetitions.first());
        if plan.design == Design::LatinSquare && several {
            names.push("square".to_owned());
            levels.push(repetitions);
        }
        if plan.design == Design::Nested {
            return self.nested(&names, &levels);
        }
        let pairs = plan.design == Design::Crossed;
        let interactions = if pairs { Interactions::Pairs } else { Interactions::None };
        let factors: Vec<Factor<'_>> =
            names.iter().zip(&levels).map(|(name, levels)| Factor { name, levels }).collect();
        let confidence = double(plan.figures.confidence_percent) / 100.0;
        let values = doubles(&self.values);
        let found = anova::effects(&values, &factors, interactions, confidence)
            .map_err(|error| format!("the runs cannot be analysed: {error}"))?;
        let mut analysis = self.analysis(format!(
            "Analysis of variance ({}); factors: {}{}.",
            plan.design.in_words(),
            listed(names.iter()),
            if pairs && !found.interactions_left_out { ", and each pair of them" } else { "" }
        ));
        analysis.table = table(&found.table);
        analysis.factors = self.found(&found);
        analysis.residuals = Some(self.residuals(&found));
        if !found.balanced {
            analysis.notes.push(
                "The layout is not balanced: each factor is tested with the others taken into account first, so the sums of squares do not add up to the total.".to_owned(),
            );
        }
        if found.interactions_left_out {
            analysis.notes.push(
                "Whether two factors act together cannot be analysed with these runs; it is left out.".to_owned(),
            );
        }
        Ok(analysis)
    }

    /// Two stages, one in the other: the outer factor against what varies within it.
    fn nested(&self, names: &[String], levels: &[Vec<String>]) -> Result<Analysis, String> {
        let [outer_name, inner_name] = names else {
            return Err("a nested study has two factors".to_owned());
        };
        let order = |all: &[String]| {
            let mut known: Vec<String> = Vec::new();
            for one in all {
                if !known.contains(one) {
                    known.push(one.clone());
                }
            }
            known
        };
        let [outer, inner] = levels else {
            return Err("a nested study has two factors".to_owned());
        };
        let (mut data, mut means, mut of_means) = (Vec::new(), Vec::new(), Vec::new());
        for one in order(outer) {
            let mut group = Vec::new();
            for other in order(inner) {
                let here = outer.iter().zip(inner).zip(&self.values);
                let cell: Vec<Decimal> = here
                    .filter(|((o, i), _)| **o == one && **i == other)
                    .map(|(_, value)| *value)
                    .collect();
                if cell.is_empty() {
                    continue;
                }
                let cell = doubles(&cell);
                means.extend(describe::mean(&cell).ok());
                of_means.push(one.clone());
                group.push(cell);
            }
            data.push(group);
        }
        let fails = |error| format!("the runs cannot be analysed: {error}");
        let found = anova::nested(&data, outer_name, inner_name).map_err(fails)?;
        let confidence = double(self.plan.figures.confidence_percent) / 100.0;
        let factor = [Factor { name: outer_name, levels: &of_means }];
        let effects =
            anova::effects(&means, &factor, Interactions::None, confidence).map_err(fails)?;
        let mut analysis = self.analysis(format!(
            "Nested analysis of variance: {outer_name}, tested against {inner_name} within it."
        ));
        analysis.table = table(&found.table);
        analysis.factors = self.found(&effects);
        if found.components.is_empty() {
            analysis.notes.push(
                "The layout is not balanced, so the comparison of means is an approximation."
                    .to_owned(),
            );
        }
        Ok(analysis)
    }

    pub(super) fn analysis(&self, model: String) -> Analysis {
        Analysis {
            used: self.values.len(),
            planned: 0,
            unit: self.plan.unit.clone(),
            model,
            table: Vec::new(),
            factors: Vec::new(),
            residuals: None,
            equivalence: None,
            notes: Vec::new(),
            verdict: Vec::new(),
        }
    }

    fn found(&self, effects: &Effects) -> Vec<FactorFound> {
        let figures = &self.plan.figures;
        let wanted = double(figures.power_percent) / 100.0;
        effects
            .factors
            .iter()
            // That the squares of a repeated Latin square differ is nobody's question.
            .filter(|factor| self.plan.factors.iter().any(|planned| planned.name == factor.name))
            .map(|factor| {
                let fewest = factor.levels.iter().map(|level| level.results).min();
                let effect = Effect {
                    levels: factor.levels.len(),
                    results_a_level: fewest.unwrap_or_default(),
                    freedom: effects.freedom,
                };
                let seen = detectable_difference(&effect, double(alpha(figures)), wanted);
                let p = effects.table.row(&factor.name).and_then(|row| kept(&row.p));
                let name = |place: usize| {
                    factor.levels.get(place).map(|level| level.name.clone()).unwrap_or_default()
                };
                FactorFound {
                    name: factor.name.clone(),
                    levels: factor
                        .levels
                        .iter()
                        .map(|level| LevelMean {
                            level: level.name.clone(),
                            runs: level.results,
                            mean: significant(level.mean, DIGITS),
                        })
                        .collect(),
                    half_width: significant(factor.half_width, DIGITS),
                    p,
                    differs: p.is_some_and(|p| p < alpha(figures)),
                    differences: factor
                        .differences
                        .iter()
                        .map(|one| {
                            let ends = one.interval.as_ref().ok();
                            Difference {
                                first: name(one.first),
                                second: name(one.second),
                                difference: significant(one.difference, DIGITS),
                                lower: ends.and_then(|ends| significant(ends.lower, DIGITS)),
                                upper: ends.and_then(|ends| significant(ends.upper, DIGITS)),
                                p: kept(&one.p),
                            }
                        })
                        .collect(),
                    would_have_been_seen: seen.ok().and_then(|apart| {
                        significant(apart * effects.residual_standard_deviation, DIGITS)
                    }),
                }
            })
            .collect()
    }

    fn residuals(&self, effects: &Effects) -> Residuals {
        let deviation = effects.residual_standard_deviation;
        let number = |place: usize| self.runs.get(place).map_or(0, |run| run.planned.run);
        let furthest = effects
            .residuals
            .iter()
            .enumerate()
            .max_by(|one, other| one.1.abs().total_cmp(&other.1.abs()));
        let all = effects.residuals.iter().enumerate();
        Residuals {
            deviation: significant(deviation, DIGITS),
            freedom: effects.freedom,
            of_runs: all.map(|(place, left)| (number(place), significant(*left, DIGITS))).collect(),
            normality_p: shapiro_wilk(&effects.residuals)
                .ok()
                .and_then(|test| significant(test.p, 4)),
            furthest_run: furthest.map_or(0, |(place, _)| number(place)),
            furthest: furthest
                .filter(|_| deviation > 0.0)
                .and_then(|(_, left)| significant(left.abs() / deviation, 3)),
        }
    }
}

/// The factor of which only one level has values, if there is one.
fn one_level_only<'a>(plan: &'a StudyPlanned, levels: &[Vec<String>]) -> Option<&'a str> {
    let single = |all: &Vec<String>| all.iter().all(|one| Some(one) == all.first());
    let place = levels.iter().position(single)?;
    plan.factors.get(place).map(|factor| factor.name.as_str())
}

fn table(found: &anova::Table) -> Vec<TableRow> {
    let row = |row: &anova::Row| TableRow {
        source: row.source.clone(),
        freedom: row.degrees_of_freedom,
        sum_of_squares: significant(row.sum_of_squares, DIGITS),
        mean_square: kept(&row.mean_square),
        f: kept(&row.f),
        p: kept(&row.p),
    };
    found.rows.iter().map(row).collect()
}

impl Analysis {
    /// Whether the values are losses.
    pub fn is_of_losses(&self) -> bool {
        self.unit == LOSS
    }
}
