//! Gauge study: parts × appraisers × trials, all crossed, by analysis of variance and by the method
//! of averages and ranges (AIAG, Measurement Systems Analysis, 4th ed., chapter III section B).

use std::collections::BTreeMap;

use super::table::{Component, Row, Table};
use crate::chart::{d2, d3};
use crate::error::{self, Figure, StatsError, checked, ratio};
use crate::number::{self, Dd};

/// One reading.
#[derive(Debug, Clone, PartialEq)]
pub struct Reading {
    /// Which part (specimen, weight, sieve).
    pub part: String,
    /// Who read it.
    pub appraiser: String,
    /// The reading.
    pub value: f64,
}

/// The study by analysis of variance; spreads are standard deviations in the unit of the readings.
#[derive(Debug, Clone, PartialEq)]
pub struct Gauge {
    /// Appraiser, part, interaction, equipment, total.
    pub table: Table,
    /// Whether the interaction was not significant at 25 % and was pooled with the equipment, as the
    /// manual does.
    pub pooled: bool,
    /// Components of equipment, appraiser, interaction (unless pooled), part.
    pub components: Vec<Component>,
    /// Equipment variation: repeatability.
    pub equipment: Figure,
    /// Appraiser variation, with the interaction unless pooled: reproducibility.
    pub appraiser: Figure,
    /// Both together.
    pub gauge: Figure,
    /// Part variation.
    pub part: Figure,
    /// Everything together.
    pub total: Figure,
    /// Gauge over total, per cent.
    pub percent: Figure,
    /// 1.41 part over gauge: how many classes of parts the gauge tells apart.
    pub distinct_categories: Figure,
}

/// The study by averages and ranges.
#[derive(Debug, Clone, PartialEq)]
pub struct GaugeByRange {
    /// Mean of the ranges of repeated readings.
    pub mean_range: f64,
    /// Range of the appraisers' means.
    pub appraiser_range: f64,
    /// Range of the parts' means.
    pub part_range: f64,
    /// Equipment variation.
    pub equipment: f64,
    /// Appraiser variation.
    pub appraiser: f64,
    /// Both together.
    pub gauge: f64,
    /// Part variation.
    pub part: f64,
    /// Everything together.
    pub total: f64,
}

/// Readings in a full layout.
struct Layout {
    /// `[part][appraiser][trial]`.
    cells: Vec<Vec<Vec<f64>>>,
    parts: usize,
    appraisers: usize,
    trials: usize,
}

impl Layout {
    fn new(readings: &[Reading]) -> Result<Self, StatsError> {
        let values: Vec<f64> = readings.iter().map(|r| r.value).collect();
        error::at_least("readings", 2, &values)?;
        let number = |names: Vec<&str>| {
            let mut known = BTreeMap::new();
            for name in names {
                let next = known.len();
                known.entry(name.to_string()).or_insert(next);
            }
            known
        };
        let parts = number(readings.iter().map(|r| r.part.as_str()).collect());
        let appraisers = number(readings.iter().map(|r| r.appraiser.as_str()).collect());
        let mut cells = vec![vec![Vec::new(); appraisers.len()]; parts.len()];
        for r in readings {
            cells[parts[&r.part]][appraisers[&r.appraiser]].push(r.value);
        }
        let trials = cells[0][0].len();
        let full = cells.iter().flatten().all(|c| c.len() == trials) && trials > 0;
        if !full {
            return Err(StatsError::Layout(
                "a gauge study needs every appraiser to read every part equally often".to_string(),
            ));
        }
        let layout = Self { cells, parts: parts.len(), appraisers: appraisers.len(), trials };
        for (what, count) in
            [("parts", layout.parts), ("appraisers", layout.appraisers), ("trials", layout.trials)]
        {
            if count < 2 {
                return Err(StatsError::TooFew { what, need: 2, got: count });
            }
        }
        Ok(layout)
    }

    fn of_part(&self, part: usize) -> Vec<f64> {
        self.cells[part].iter().flatten().copied().collect()
    }

    fn of_appraiser(&self, appraiser: usize) -> Vec<f64> {
        self.cells.iter().flat_map(|part| part[appraiser].iter().copied()).collect()
    }
}

/// Analyses a crossed gauge study.
///
/// # Errors
/// When the layout is not full, has fewer than two parts, appraisers or trials, or a value is not
/// finite.
pub fn gauge(readings: &[Reading]) -> Result<Gauge, StatsError> {
    let layout = Layout::new(readings)?;
    let (parts, appraisers, trials) = (layout.parts, layout.appraisers, layout.trials);
    let all: Vec<f64> = layout.cells.iter().flatten().flatten().copied().collect();
    let (grand, total) = number::mean_and_squares(&all);
    let about = |values: Vec<f64>| {
        (number::mean(&values) - grand).squared() * Dd::from(values.len() as f64)
    };
    let of_parts: Dd = (0..parts).map(|i| about(layout.of_part(i))).sum();
    let of_appraisers: Dd = (0..appraisers).map(|j| about(layout.of_appraiser(j))).sum();
    let cells: Dd = layout.cells.iter().flatten().map(|c| about(c.clone())).sum();
    let repeats: Dd = layout.cells.iter().flatten().map(|c| number::mean_and_squares(c).1).sum();
    let interaction = cells - of_parts - of_appraisers;

    let plain = |source: &str, freedom: usize, squares: Dd| -> Result<Row, StatsError> {
        Ok(Row::plain(source, freedom, checked(squares.to_f64().max(0.0))?))
    };
    let equipment_row = plain("equipment", parts * appraisers * (trials - 1), repeats)?;
    let interaction_row =
        plain("interaction", (parts - 1) * (appraisers - 1), interaction)?.against(&equipment_row);
    let pooled = !matches!(interaction_row.p, Ok(p) if p < 0.25);
    let error = if pooled {
        let freedom = equipment_row.degrees_of_freedom + interaction_row.degrees_of_freedom;
        plain("pooled", freedom, repeats + interaction)?
    } else {
        interaction_row.clone()
    };
    let appraiser_row = plain("appraiser", appraisers - 1, of_appraisers)?.against(&error);
    let part_row = plain("part", parts - 1, of_parts)?.against(&error);

    let repeat = if pooled { &error.mean_square } else { &equipment_row.mean_square };
    let (p, a, r) = (parts as f64, appraisers as f64, trials as f64);
    let mut components = vec![
        Component::plain("equipment", repeat),
        Component::new("appraiser", &appraiser_row.mean_square, &error.mean_square, p * r),
    ];
    if !pooled {
        let of = Component::new("interaction", &interaction_row.mean_square, repeat, r);
        components.push(of);
    }
    components.push(Component::new("part", &part_row.mean_square, &error.mean_square, a * r));
    let of = |sources: &[&str]| -> Figure {
        let chosen = components.iter().filter(|c| sources.contains(&c.source.as_str()));
        let sum = chosen.map(|c| c.variance.clone()).sum::<Figure>()?;
        checked(sum.sqrt())
    };
    let gauge = of(&["equipment", "appraiser", "interaction"]);
    let part = of(&["part"]);
    let total_spread = of(&["equipment", "appraiser", "interaction", "part"]);
    let over = |top: &Figure, bottom: &Figure, factor: f64, what: &'static str| {
        top.clone().and_then(|t| bottom.clone().and_then(|b| ratio(factor * t, b, what)))
    };
    Ok(Gauge {
        pooled,
        equipment: of(&["equipment"]),
        appraiser: of(&["appraiser", "interaction"]),
        percent: over(&gauge, &total_spread, 100.0, "any reading"),
        distinct_categories: over(&part, &gauge, 1.41, "the gauge"),
        gauge,
        part,
        total: total_spread,
        components,
        table: Table {
            rows: vec![
                appraiser_row,
                part_row,
                interaction_row,
                equipment_row,
                plain("total", all.len() - 1, total)?,
            ],
        },
    })
}

/// Evaluates a crossed gauge study by averages and ranges. The factors of the manual (K1, K2, K3) are
/// computed: 1/d2 for the many ranges of trials, 1/d2* for the single ranges of means, with d2*² = d2²
/// + d3².
///
/// # Errors
/// As [`gauge`].
pub fn gauge_by_range(readings: &[Reading]) -> Result<GaugeByRange, StatsError> {
    let layout = Layout::new(readings)?;
    let range = |values: &[f64]| {
        let most = values.iter().copied().fold(f64::NEG_INFINITY, f64::max);
        most - values.iter().copied().fold(f64::INFINITY, f64::min)
    };
    let ranges: Vec<f64> = layout.cells.iter().flatten().map(|c| range(c)).collect();
    let mean = |values: Vec<f64>| number::mean(&values).to_f64();
    let appraisers: Vec<f64> =
        (0..layout.appraisers).map(|j| mean(layout.of_appraiser(j))).collect();
    let parts: Vec<f64> = (0..layout.parts).map(|i| mean(layout.of_part(i))).collect();
    let single = |n: usize| -> Result<f64, StatsError> { Ok(libm::hypot(d2(n)?, d3(n)?)) };
    let mean_range = checked(number::mean(&ranges).to_f64())?;
    let (appraiser_range, part_range) = (range(&appraisers), range(&parts));
    let equipment = mean_range / d2(layout.trials)?;
    let by_appraiser = appraiser_range / single(layout.appraisers)?;
    // The appraisers' means still hold some of the repeatability.
    let rest = equipment * equipment / (layout.parts * layout.trials) as f64;
    let appraiser = (by_appraiser * by_appraiser - rest).max(0.0).sqrt();
    let gauge = libm::hypot(equipment, appraiser);
    let part = part_range / single(layout.parts)?;
    Ok(GaugeByRange {
        mean_range,
        appraiser_range,
        part_range,
        equipment,
        appraiser,
        gauge,
        part,
        total: checked(libm::hypot(gauge, part))?,
    })
}
