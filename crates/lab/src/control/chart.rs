//! The chart of a lot on an apparatus: its losses against the baseline that holds, by the rules of
//! the laboratory.

use super::points::Known;
use super::rules::signal_words;
use super::{ChartEvent, Memory, Rules};
use crate::code::{ItemCode, LotCode};
use crate::estimate::{double, rounded};
use crate::fact::{BaselineFrozen, CentreFrom, SpreadFrom};
use crate::state::{Lab, Noted, ReferenceLot};
use jiff::Timestamp;
use serde::Serialize;
use stonewear_measure::Decimal;
use stonewear_method::MethodId;
use stonewear_stats::chart::{
    CusumDesign, Established, EwmaDesign, EwmaLimits, Side, cusum, ewma, individuals,
};

/// Centre and limits, % loss.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
pub struct Lines {
    /// The centre.
    pub centre: Decimal,
    /// The standard deviation of single results.
    pub sigma: Decimal,
    /// The warning limits, 2 s to both sides.
    pub warning: (Decimal, Decimal),
    /// The action limits, 3 s to both sides.
    pub action: (Decimal, Decimal),
}

impl Lines {
    /// The lines of a baseline.
    pub fn of(baseline: &BaselineFrozen) -> Self {
        let (centre, sigma) = (baseline.centre_percent, baseline.sigma_percent);
        let about = |half: Decimal| (centre - half, centre + half);
        Self {
            centre,
            sigma,
            warning: about(sigma * Decimal::TWO),
            action: about(sigma * Decimal::from(3)),
        }
    }
}

/// What a point is for.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
#[serde(tag = "role", rename_all = "kebab-case")]
pub enum Role {
    /// The limits stand on it.
    Baseline,
    /// It was left out of the baseline.
    Excluded {
        /// Why.
        reason: String,
    },
    /// There are no limits for it: no baseline is frozen, or it is older than the baseline.
    NotJudged,
    /// It is judged.
    Judged,
}

/// A rule that a point completes.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Signal {
    /// The rule: its number, or `ewma` or `cusum`.
    pub rule: String,
    /// In a few words, as it stands at the point.
    pub words: String,
    /// Whether the point lies above the centre.
    pub above: bool,
}

/// One point.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Point {
    /// The result, or the row of an import.
    pub name: String,
    /// When it was worked out.
    pub at: Timestamp,
    /// The loss, %, to 0.01.
    pub loss_percent: Decimal,
    /// Who ran it.
    pub operator: String,
    /// Whether it was taken over from a table.
    pub imported: bool,
    /// What it is for.
    #[serde(flatten)]
    pub role: Role,
    /// How far it lies from the centre, in standard deviations, where it is judged.
    pub deviations: Option<f64>,
    /// What the chart with a memory stands at: the average, or the sums above and below.
    pub memory: Vec<f64>,
    /// The rules that it completes.
    pub signals: Vec<Signal>,
    #[serde(skip)]
    pub(crate) position: u64,
    #[serde(skip)]
    pub(crate) history: bool,
}

impl Point {
    /// Whether a rule speaks against it.
    pub fn is_signal(&self) -> bool {
        !self.signals.is_empty()
    }

    /// What the chart with a memory stands at, to three decimals; empty where there is none.
    pub fn memory_text(&self) -> String {
        let figures = self.memory.iter().filter_map(|value| rounded(*value, 3));
        figures.map(|figure| figure.to_string()).collect::<Vec<_>>().join(" / ")
    }

    /// Its signals in words; nothing where there are none.
    pub fn signal_words(&self) -> Option<String> {
        let first = self.signals.first()?;
        let words: Vec<&str> = self.signals.iter().map(|signal| signal.words.as_str()).collect();
        let side = if first.above { "high" } else { "low" };
        Some(format!("{}, {side}", words.join("; ")))
    }
}

/// The lines of the chart with a memory.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct MemoryLine {
    /// Which chart.
    #[serde(flatten)]
    pub memory: Memory,
    /// Its centre, in the unit of what is drawn.
    pub centre: f64,
    /// Its lower limit, where it has one.
    pub lower: Option<f64>,
    /// Its upper limit.
    pub upper: f64,
}

/// Where a chart stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum State {
    /// There are no limits yet.
    NoBaseline,
    /// There are limits, and nothing was judged by them yet.
    NotJudged,
    /// The last result completes no rule.
    InControl,
    /// The last result completes a rule.
    OutOfControl,
}

impl State {
    /// In words, as page, paper and command say it.
    pub fn in_words(self) -> &'static str {
        match self {
            Self::NoBaseline => "no baseline yet",
            Self::NotJudged => "nothing judged yet",
            Self::InControl => "in control",
            Self::OutOfControl => "out of control",
        }
    }
}

/// The chart of a lot on an apparatus.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ControlChart {
    /// The lot.
    pub lot: LotCode,
    /// The apparatus.
    pub apparatus: ItemCode,
    /// The method.
    pub method: MethodId,
    /// What it is judged against.
    pub baseline: Option<Noted<BaselineFrozen>>,
    /// Centre and limits.
    pub lines: Option<Lines>,
    /// The rules.
    pub rules: Rules,
    /// The lines of the chart with a memory, where the rules have one.
    pub memory: Option<MemoryLine>,
    /// The points, oldest first.
    pub points: Vec<Point>,
    /// What happened in that time, oldest first.
    pub events: Vec<ChartEvent>,
}

impl ControlChart {
    /// Where it stands.
    pub fn state(&self) -> State {
        let last = self.points.iter().rev().find(|point| point.role == Role::Judged);
        match (&self.baseline, last) {
            (None, _) => State::NoBaseline,
            (Some(_), None) => State::NotJudged,
            (Some(_), Some(last)) if last.is_signal() => State::OutOfControl,
            (Some(_), Some(_)) => State::InControl,
        }
    }

    /// The point of this name.
    pub fn point(&self, name: &str) -> Option<&Point> {
        self.points.iter().find(|point| point.name == name)
    }

    /// The last point before the one of this name that shows the apparatus in control.
    pub fn last_in_control_before(&self, name: &str) -> Option<&Point> {
        let here = self.points.iter().position(|point| point.name == name)?;
        let shows = |point: &&Point| match point.role {
            Role::Judged => !point.is_signal(),
            Role::Baseline => true,
            _ => false,
        };
        self.points[..here].iter().rev().find(shows)
    }

    /// What the limits stand on, in a sentence.
    pub fn basis(&self) -> String {
        let Some(baseline) = &self.baseline else {
            return "no baseline is frozen, so there are no limits yet".to_owned();
        };
        let value = &baseline.value;
        let results = crate::words::counted(value.points.len(), "result");
        let centre = match value.centre_from {
            CentreFrom::Mean => format!("the mean of {results}"),
            CentreFrom::Assigned => format!("the assigned value ({})", value.document),
            CentreFrom::Stated => format!("stated ({})", value.document),
        };
        let spread = match value.spread_from {
            SpreadFrom::MovingRange => format!("the mean moving range of {results} over 1.128"),
            SpreadFrom::StandardDeviation => format!("the standard deviation of {results}"),
            SpreadFrom::Stated => format!("stated ({})", value.document),
        };
        let left_out = match value.excluded.len() {
            0 => String::new(),
            some => format!(", {} left out with reasons", crate::words::counted(some, "result")),
        };
        format!(
            "centre {} %: {centre}{left_out}; s {} %: {spread}; warning at 2 s, action at 3 s",
            value.centre_percent.normalize(),
            value.sigma_percent.normalize()
        )
    }
}

impl Lab {
    /// The chart of a lot on an apparatus; nothing where there is no such lot.
    pub fn control_chart(&self, lot: &LotCode, apparatus: &ItemCode) -> Option<ControlChart> {
        let lot = self.lots.get(lot)?;
        Some(self.chart_with(lot, apparatus, None))
    }

    /// Every chart that there is, by lot and apparatus.
    pub fn control_charts(&self) -> Vec<ControlChart> {
        let of_lot = |lot: &ReferenceLot| {
            let apparatus = self.apparatus_of_lot(lot).into_iter();
            apparatus.map(|on| self.chart_with(lot, &on, None)).collect::<Vec<_>>()
        };
        self.lots.values().flat_map(of_lot).collect()
    }

    /// The chart as it would stand with one loss more, or with another loss of a result.
    pub(crate) fn chart_with(
        &self,
        lot: &ReferenceLot,
        apparatus: &ItemCode,
        more: Option<Known>,
    ) -> ControlChart {
        let mut known = self.known_losses(lot, apparatus).to_vec();
        if let Some(more) = more {
            match known.iter_mut().find(|one| one.name == more.name) {
                Some(same) => same.loss_percent = more.loss_percent,
                None => known.push(more),
            }
        }
        let baseline = lot.baseline(apparatus).cloned();
        let rules = self.control_rules();
        let mut points: Vec<Point> = known.into_iter().map(not_judged).collect();
        let restarts: Vec<u64> = self
            .investigations
            .values()
            .filter(|one| one.apparatus == *apparatus)
            .map(|one| one.opened.position)
            .collect();
        if let Some(baseline) = &baseline {
            // History that no baseline stands on is shown and not judged.
            let stands = |point: &Point| {
                let named = |name: &String| *name == point.name;
                !point.history || baseline.value.points.iter().any(named)
            };
            let (mut judged, history): (Vec<Point>, Vec<Point>) =
                points.into_iter().partition(stands);
            judge(&mut judged, &baseline.value, &rules, &restarts);
            judged.extend(history);
            judged.sort_by_key(|point| (point.at, point.position));
            points = judged;
        }
        let process = baseline.as_ref().and_then(|baseline| process_of(&baseline.value));
        ControlChart {
            lot: lot.code.clone(),
            apparatus: apparatus.clone(),
            method: lot.method.clone(),
            lines: baseline.as_ref().map(|baseline| Lines::of(&baseline.value)),
            memory: process.and_then(|process| memory_line(rules.memory?, process)),
            baseline,
            rules,
            events: self.chart_events(lot, apparatus, points.first().map(|point| point.at)),
            points,
        }
    }
}

fn not_judged(known: Known) -> Point {
    Point {
        name: known.name,
        at: known.at,
        loss_percent: known.loss_percent,
        operator: known.operator,
        imported: known.imported,
        role: Role::NotJudged,
        deviations: None,
        memory: Vec::new(),
        signals: Vec::new(),
        position: known.position,
        history: known.history,
    }
}

/// The process that a baseline describes.
fn process_of(baseline: &BaselineFrozen) -> Option<Established> {
    Established::new(double(baseline.centre_percent), double(baseline.sigma_percent)).ok()
}

/// Judges every point after the baseline. What the rules remember begins anew after each
/// investigation was opened: what follows is another process, or the same one put right.
fn judge(points: &mut [Point], baseline: &BaselineFrozen, rules: &Rules, restarts: &[u64]) {
    let Some(process) = process_of(baseline) else { return };
    let mut first_judged = 0;
    for (place, point) in points.iter_mut().enumerate() {
        let excluded = baseline.excluded.iter().find(|one| one.point == point.name);
        if let Some(excluded) = excluded {
            point.role = Role::Excluded { reason: excluded.reason.clone() };
        } else if baseline.points.contains(&point.name) {
            point.role = Role::Baseline;
        } else {
            continue;
        }
        first_judged = place + 1;
    }
    let judged = &mut points[first_judged..];
    let mut from = 0;
    while from < judged.len() {
        let begun = judged[from].position;
        let next = restarts.iter().copied().filter(|restart| *restart > begun).min();
        let same = judged[from..]
            .iter()
            .take_while(|point| next.is_none_or(|restart| point.position < restart));
        let until = from + same.count().max(1);
        judge_segment(&mut judged[from..until], process, rules);
        from = until;
    }
}

/// Judges points that the rules remember together.
fn judge_segment(points: &mut [Point], process: Established, rules: &Rules) {
    let values: Vec<f64> = points.iter().map(|point| double(point.loss_percent)).collect();
    let Ok(chart) = individuals(&values, process, &rules.run_rules()) else { return };
    for (point, found) in points.iter_mut().zip(chart.points) {
        point.role = Role::Judged;
        point.deviations = Some(found.statistic);
        point.signals = found
            .signals
            .iter()
            .map(|signal| Signal {
                rule: signal.rule.to_string(),
                words: signal_words(signal.rule).to_owned(),
                above: signal.side == Side::Above,
            })
            .collect();
    }
    match rules.memory {
        None => {}
        Some(Memory::Ewma { lambda, width }) => {
            let design = ewma_design(lambda, width);
            let Ok(chart) = ewma(&values, process, design) else { return };
            for (point, found) in points.iter_mut().zip(chart.points) {
                point.memory = vec![found.average];
                if found.signal {
                    let above = found.average > process.centre;
                    point.signals.push(remembered("ewma", "the weighted average is out", above));
                }
            }
        }
        Some(Memory::Cusum { k, h }) => {
            let sigma = process.sigma;
            let design = CusumDesign {
                target: process.centre,
                allowance: double(k) * sigma,
                decision: double(h) * sigma,
            };
            let Ok(chart) = cusum(&values, design) else { return };
            for (point, found) in points.iter_mut().zip(chart.points) {
                point.memory = vec![found.high, found.low];
                if found.signal {
                    let above = found.high > design.decision;
                    point.signals.push(remembered("cusum", "the cumulative sum is out", above));
                }
            }
        }
    }
}

/// Limits at their final width from the first result on: so the run lengths are those worked out.
fn ewma_design(lambda: Decimal, width: Decimal) -> EwmaDesign {
    EwmaDesign { lambda: double(lambda), width: double(width), limits: EwmaLimits::Asymptotic }
}

fn remembered(rule: &str, words: &str, above: bool) -> Signal {
    Signal { rule: rule.to_owned(), words: words.to_owned(), above }
}

fn memory_line(memory: Memory, process: Established) -> Option<MemoryLine> {
    Some(match memory {
        Memory::Ewma { lambda, width } => {
            let chart = ewma(&[process.centre], process, ewma_design(lambda, width)).ok()?;
            MemoryLine {
                memory,
                centre: process.centre,
                lower: Some(chart.limits.lower),
                upper: chart.limits.upper,
            }
        }
        Memory::Cusum { h, .. } => {
            MemoryLine { memory, centre: 0.0, lower: None, upper: double(h) * process.sigma }
        }
    })
}
