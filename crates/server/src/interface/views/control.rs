//! In control: lots of reference aggregate, control charts, investigations.

use super::parts::{Document, Figure, Recorded, code, codes, document, figure, recorded, word};
use super::{Reading, View, listed, many, one};
use schemars::JsonSchema;
use serde::Serialize;
use stonewear_lab::control::{ControlChart, Point, Role, StepState};

pub(super) fn views() -> Vec<View> {
    let mut views = Vec::new();
    let [lots, lot] = listed(
        ("/lots", "/lots/{code}"),
        ("lots", "lot"),
        "Lots of reference aggregate: value, stock, the apparatus that they are tested on.",
        |reading| codes(reading.lab.lots.keys()),
        lot_given,
    );
    views.extend([lots.timely(), lot.timely()]);
    views.push(many(
        "/control-charts",
        "control-charts",
        "Control charts of every lot and apparatus: points, limits, signals, events.",
        |reading| {
            let charts = reading.lab.control_charts();
            charts.iter().map(|chart| format!("{}/{}", chart.lot, chart.apparatus)).collect()
        },
        |reading, key| {
            let (lot, apparatus) = key.split_once('/')?;
            chart(reading, lot, apparatus)
        },
    ));
    views.push(one(
        "/control-charts/{lot}/{apparatus}",
        "control-chart",
        "The control chart of a lot on an apparatus. Losses and limits are decimal text in % loss; \
         deviations and what the chart with a memory stands at are JSON numbers, in standard deviations \
         or % loss as its rule has them.",
        |reading| match reading.codes {
            [lot, apparatus] => chart(reading, lot, apparatus),
            _ => None,
        },
    ));
    views.extend(listed(
        ("/investigations", "/investigations/{code}"),
        ("investigations", "investigation"),
        "Investigations of reference results: their steps, what each showed, how they ended.",
        |reading| codes(reading.lab.investigations.keys()),
        investigation_given,
    ));
    views
}

/// A lot of reference aggregate.
#[derive(Debug, Serialize, JsonSchema)]
#[schemars(rename = "Lot")]
struct LotGiven {
    /// The code marked on its bin.
    code: String,
    /// What people call it.
    name: String,
    /// Where the material comes from.
    source: String,
    /// The method that it is tested by.
    method: String,
    /// And the grading.
    grading: String,
    /// The loss that a document gives it, %.
    assigned_percent: Option<Figure>,
    /// Its expanded uncertainty (k = 2), % loss.
    assigned_expanded_percent: Option<Figure>,
    /// The document.
    assigned_document: Option<String>,
    /// What is left of it, g.
    left_g: Figure,
    /// How many results can still be made of it.
    results_left: Option<u32>,
    /// The day on which it runs out, if it is used as of late.
    #[schemars(extend("format" = "date"))]
    runs_out_on: Option<String>,
    /// The apparatus that it is tested on.
    apparatus: Vec<String>,
    registered: Recorded,
}

fn lot_given(reading: &Reading<'_>, typed: &str) -> Option<LotGiven> {
    let lot = reading.lab.lots.get(typed)?;
    let stock = reading.lab.stock_of(lot, reading.now);
    let assigned = lot.assigned.as_ref();
    Some(LotGiven {
        code: lot.code.to_string(),
        name: lot.name.clone(),
        source: lot.source.clone(),
        method: lot.method.to_string(),
        grading: lot.grading.clone(),
        assigned_percent: assigned.map(|value| figure(value.loss_percent)),
        assigned_expanded_percent: assigned.map(|value| figure(value.expanded_percent)),
        assigned_document: assigned.map(|value| value.document.clone()),
        left_g: figure(stock.left_g),
        results_left: stock.results_left,
        runs_out_on: code(&stock.runs_out_on),
        apparatus: codes(reading.lab.apparatus_of_lot(lot)),
        registered: recorded(&lot.registered),
    })
}

/// Centre and limits, % loss.
#[derive(Debug, Serialize, JsonSchema)]
#[schemars(rename = "ChartLines")]
struct LinesGiven {
    /// The centre.
    centre: Figure,
    /// The standard deviation of single results.
    sigma: Figure,
    /// Lower warning limit, centre less 2 s.
    warning_lower: Figure,
    /// Upper warning limit.
    warning_upper: Figure,
    /// Lower action limit, centre less 3 s.
    action_lower: Figure,
    /// Upper action limit.
    action_upper: Figure,
}

/// A rule that a point completes.
#[derive(Debug, Serialize, JsonSchema)]
#[schemars(rename = "Signal")]
struct SignalGiven {
    /// The rule: its number, or `ewma` or `cusum`.
    rule: String,
    /// In a few words.
    words: String,
    /// Whether the point lies above the centre.
    above: bool,
}

/// A point of a chart.
#[derive(Debug, Serialize, JsonSchema)]
#[schemars(rename = "ChartPoint")]
struct PointGiven {
    /// The result, or the row of an import.
    name: String,
    /// When it was worked out.
    #[schemars(extend("format" = "date-time"))]
    at: String,
    /// The loss, %, to 0.01.
    loss_percent: Figure,
    /// Who ran it.
    operator: String,
    /// Whether it was taken over from a table.
    imported: bool,
    /// `baseline`, `excluded`, `not-judged` or `judged`.
    role: String,
    /// Why it was left out, if it was.
    reason: String,
    /// How far it lies from the centre, standard deviations.
    deviations: Option<f64>,
    /// What the chart with a memory stands at: the average, or the sums above and below.
    memory: Vec<f64>,
    /// The rules that it completes.
    signals: Vec<SignalGiven>,
}

fn point_given(point: &Point) -> PointGiven {
    let (role, reason) = match &point.role {
        Role::Baseline => ("baseline", String::new()),
        Role::Excluded { reason } => ("excluded", reason.clone()),
        Role::NotJudged => ("not-judged", String::new()),
        Role::Judged => ("judged", String::new()),
    };
    let signals = point.signals.iter().map(|signal| SignalGiven {
        rule: signal.rule.clone(),
        words: signal.words.clone(),
        above: signal.above,
    });
    PointGiven {
        name: point.name.clone(),
        at: point.at.to_string(),
        loss_percent: figure(point.loss_percent),
        operator: point.operator.clone(),
        imported: point.imported,
        role: role.to_owned(),
        reason,
        deviations: point.deviations,
        memory: point.memory.clone(),
        signals: signals.collect(),
    }
}

/// Something that happened to the apparatus.
#[derive(Debug, Serialize, JsonSchema)]
#[schemars(rename = "ChartEvent")]
struct EventGiven {
    /// When.
    #[schemars(extend("format" = "date-time"))]
    at: String,
    /// In a word or two.
    name: String,
    /// In a sentence.
    what: String,
}

/// The control chart of a lot on an apparatus.
#[derive(Debug, Serialize, JsonSchema)]
#[schemars(rename = "ControlChart")]
struct ChartGiven {
    /// The lot.
    lot: String,
    /// The apparatus.
    apparatus: String,
    /// The method.
    method: String,
    /// `no-baseline`, `not-judged`, `in-control` or `out-of-control`.
    state: String,
    /// Centre and limits; absent while no baseline is frozen.
    lines: Option<LinesGiven>,
    /// What the limits stand on, in a sentence.
    basis: String,
    /// The rules, as the policy keeps them.
    rules: String,
    /// The points, oldest first.
    points: Vec<PointGiven>,
    /// What happened in that time, oldest first.
    events: Vec<EventGiven>,
}

fn chart(reading: &Reading<'_>, lot: &str, apparatus: &str) -> Option<ChartGiven> {
    reading.lab.items.get(apparatus)?;
    let chart: ControlChart = reading.lab.control_chart(&lot.into(), &apparatus.into())?;
    let lines = chart.lines.map(|lines| LinesGiven {
        centre: figure(lines.centre),
        sigma: figure(lines.sigma),
        warning_lower: figure(lines.warning.0),
        warning_upper: figure(lines.warning.1),
        action_lower: figure(lines.action.0),
        action_upper: figure(lines.action.1),
    });
    let events = chart.events.iter().map(|event| EventGiven {
        at: event.at.to_string(),
        name: event.name.clone(),
        what: event.what.clone(),
    });
    Some(ChartGiven {
        lot: chart.lot.to_string(),
        apparatus: chart.apparatus.to_string(),
        method: chart.method.to_string(),
        state: word(chart.state()),
        lines,
        basis: chart.basis(),
        rules: chart.rules.text(),
        points: chart.points.iter().map(point_given).collect(),
        events: events.collect(),
    })
}

/// A step of an investigation.
#[derive(Debug, Serialize, JsonSchema)]
#[schemars(rename = "InvestigationStep")]
struct StepGiven {
    /// Short name.
    id: String,
    /// What it is about.
    title: String,
    /// What to do.
    ask: String,
    /// `open`, `going`, `right` or `wrong`.
    state: String,
    /// The check or the finding that says so.
    by: String,
}

/// How an investigation ended.
#[derive(Debug, Serialize, JsonSchema)]
struct InvestigationEnd {
    /// The cause, or that none was found.
    cause: String,
    /// What was done about it.
    done: String,
    /// What became of the results since the last one in control.
    past_results: String,
    /// The reference result that shows the apparatus in control again.
    repeat: String,
    recorded: Recorded,
}

/// An investigation of a reference result.
#[derive(Debug, Serialize, JsonSchema)]
#[schemars(rename = "Investigation")]
struct InvestigationGiven {
    /// Its code.
    code: String,
    /// The lot.
    lot: String,
    /// The apparatus.
    apparatus: String,
    /// The result that is investigated.
    point: String,
    /// The last result before it that was in control.
    last_in_control: Option<String>,
    /// What it shows, or why somebody looks into it.
    why: String,
    /// Whether it holds the apparatus.
    holds_apparatus: bool,
    /// Its steps.
    steps: Vec<StepGiven>,
    /// What its steps showed, oldest first; of each the last one counts.
    findings: Vec<Document>,
    closed: Option<InvestigationEnd>,
    opened: Recorded,
}

fn investigation_given(reading: &Reading<'_>, typed: &str) -> Option<InvestigationGiven> {
    let lab = reading.lab;
    let one = lab.investigations.get(typed)?;
    let steps = lab.steps_of(one).into_iter().map(|step| {
        let (state, by) = match step.state {
            StepState::Open => ("open", String::new()),
            StepState::Going { check } => ("going", check.to_string()),
            StepState::Right { by } => ("right", by),
            StepState::Wrong { by } => ("wrong", by),
        };
        StepGiven { id: step.id, title: step.title, ask: step.ask, state: state.to_owned(), by }
    });
    let closed = one.closed.as_ref().map(|end| InvestigationEnd {
        cause: end.value.cause.clone(),
        done: end.value.done.clone(),
        past_results: end.value.past_results.clone(),
        repeat: end.value.repeat.to_string(),
        recorded: recorded(end),
    });
    Some(InvestigationGiven {
        code: one.code.to_string(),
        lot: one.lot.to_string(),
        apparatus: one.apparatus.to_string(),
        point: one.point.to_string(),
        last_in_control: one.last_in_control.clone(),
        why: one.opened.value.clone(),
        holds_apparatus: lab.is_held_by(one),
        steps: steps.collect(),
        findings: one.findings.iter().map(|finding| document(&finding.value)).collect(),
        closed,
        opened: recorded(&one.opened),
    })
}
