//! A control chart as pictures, as a table for other programs, and as a paper: the same points, limits
//! and words in all of them.

use super::{capital, sheet_of};
use crate::{Cell, Column, JournalAnchor, Sheet, Table};
use jiff::Timestamp;
use jiff::civil::Date;
use stonewear_lab::Lab;
use stonewear_lab::control::{ChartEvent, ControlChart, Lines, Memory, Point, Role};
use stonewear_lab::estimate::double;
use stonewear_measure::Decimal;
use stonewear_picture::{Event, Limits, Point as Drawn, PointMark, SeriesChart};
use stonewear_stats::table::row;

/// More points than this are drawn too close to be told apart; the table has all.
const MOST_DRAWN: usize = 60;

/// Which results of a chart are drawn. By its default the last ones, as many as can be told apart.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct ChartWindow {
    /// From this day on, by the laboratory's calendar.
    pub from: Option<Date>,
    /// Up to this day.
    pub to: Option<Date>,
    /// At most so many of the last ones.
    pub last: Option<usize>,
}

impl ChartWindow {
    /// The results that are drawn; they lie one after the other.
    fn points<'a>(&self, lab: &Lab, chart: &'a ControlChart) -> &'a [Point] {
        let day = |point: &Point| lab.local(point.at).date();
        let begin =
            chart.points.partition_point(|one| self.from.is_some_and(|from| day(one) < from));
        let end = chart.points.partition_point(|one| self.to.is_none_or(|to| day(one) <= to));
        let within = chart.points.get(begin..end).unwrap_or_default();
        let is_named = self.from.is_some() || self.to.is_some();
        let most = self.last.unwrap_or(if is_named { usize::MAX } else { MOST_DRAWN });
        &within[within.len().saturating_sub(most)..]
    }

    /// How many of all results are drawn, where it is not all of them; else empty.
    pub fn in_words(&self, lab: &Lab, chart: &ControlChart) -> String {
        match (self.points(lab, chart).len(), chart.points.len()) {
            (drawn, all) if drawn == all => String::new(),
            (0, all) => format!("None of {all} results lies there."),
            (drawn, all) => format!("{drawn} of {all} results are drawn."),
        }
    }
}

/// The chart of the losses, as a paper draws it.
pub fn control_picture(lab: &Lab, chart: &ControlChart) -> SeriesChart {
    control_picture_within(lab, chart, &ChartWindow::default())
}

/// The chart of the losses within a window.
pub fn control_picture_within(
    lab: &Lab,
    chart: &ControlChart,
    window: &ChartWindow,
) -> SeriesChart {
    let points = window.points(lab, chart);
    let pair = |(lower, upper)| Limits { lower: double(lower), upper: double(upper) };
    SeriesChart {
        title: format!("Loss of {} on {}", chart.lot, chart.apparatus),
        unit: "loss, %".to_owned(),
        points: points
            .iter()
            .map(|point| drawn(lab, point, double(point.loss_percent), point.signal_words()))
            .collect(),
        centre: chart.lines.map(|lines| double(lines.centre)),
        warning: chart.lines.map(|lines| pair(lines.warning)),
        action: chart.lines.map(|lines| pair(lines.action)),
        events: events_since(chart, points).map(marked).collect(),
    }
}

/// The chart with a memory beside it, where the rules have one: of two sums the greater is drawn.
pub fn memory_picture(lab: &Lab, chart: &ControlChart) -> Option<SeriesChart> {
    memory_picture_within(lab, chart, &ChartWindow::default())
}

/// The same within a window.
pub fn memory_picture_within(
    lab: &Lab,
    chart: &ControlChart,
    window: &ChartWindow,
) -> Option<SeriesChart> {
    let line = chart.memory?;
    let (title, unit) = match line.memory {
        Memory::Ewma { lambda, .. } => {
            (format!("Weighted average, weight {lambda}"), "average loss, %")
        }
        Memory::Cusum { k, .. } => {
            (format!("Greater of the cumulative sums, allowance {k} s"), "sum, % loss")
        }
    };
    let points = window.points(lab, chart);
    let remembered = points.iter().filter_map(|point| {
        let greatest = point.memory.iter().copied().reduce(f64::max)?;
        let own = point.signals.iter().find(|signal| signal.rule == line.memory.name());
        Some(drawn(lab, point, greatest, own.map(|signal| signal.words.clone())))
    });
    Some(SeriesChart {
        title,
        unit: unit.to_owned(),
        points: remembered.collect(),
        centre: Some(line.centre),
        warning: None,
        action: Some(Limits { lower: line.lower.unwrap_or(line.centre), upper: line.upper }),
        events: Vec::new(),
    })
}

/// What is said where not all points are drawn; empty where they are.
pub fn drawn_in_part(chart: &ControlChart) -> String {
    match chart.points.len() {
        all if all > MOST_DRAWN => format!("The last {MOST_DRAWN} of {all} results are drawn."),
        _ => String::new(),
    }
}

fn drawn(lab: &Lab, point: &Point, value: f64, signal: Option<String>) -> Drawn {
    let when = lab.local(point.at).date().to_string();
    let operator = if point.operator.is_empty() { "" } else { ", by " };
    Drawn {
        at: point.at.as_second(),
        says: format!(
            "{when}, {}: {} %, {}{operator}{}",
            point.name,
            point.loss_percent,
            verdict_words(point),
            point.operator
        ),
        href: if point.imported { String::new() } else { format!("/results/{}", point.name) },
        when,
        value,
        signal,
        mark: match point.role {
            Role::Judged => PointMark::Whole,
            Role::Baseline | Role::NotJudged => PointMark::Ring,
            Role::Excluded { .. } => PointMark::Cross,
        },
    }
}

fn events_since<'a>(
    chart: &'a ControlChart,
    points: &'a [Point],
) -> impl Iterator<Item = &'a ChartEvent> {
    let first = points.first().map(|point| point.at);
    chart.events.iter().filter(move |event| first.is_some_and(|first| event.at >= first))
}

fn marked(event: &ChartEvent) -> Event {
    Event { at: event.at.as_second(), name: event.name.clone() }
}

/// What a point is for, in words.
fn role_words(role: &Role) -> String {
    match role {
        Role::Baseline => "baseline".to_owned(),
        Role::Excluded { reason } => format!("left out of the baseline: {reason}"),
        Role::NotJudged => "not judged".to_owned(),
        Role::Judged => "judged".to_owned(),
    }
}

/// What the table says of a point: its signal, or that there is none; or what it is for.
pub fn verdict_words(point: &Point) -> String {
    match (&point.role, point.signal_words()) {
        (Role::Judged, Some(signal)) => format!("out of control: {signal}"),
        (Role::Judged, None) => "in control".to_owned(),
        (role, _) => role_words(role),
    }
}

/// A number of standard deviations, to two decimals.
pub fn deviations_text(point: &Point) -> String {
    point.deviations.map(|z| format!("{z:+.2}")).unwrap_or_default()
}

/// The points as a table for other programs (RFC 4180), with the limits that they are judged by.
pub fn control_csv(lab: &Lab, chart: &ControlChart) -> String {
    let head = "date result loss_percent operator imported role deviations_s memory signal \
                centre_percent sigma_percent";
    let mut table = row(head.split(' '));
    let (centre, sigma) = chart
        .lines
        .map(|lines| (lines.centre.to_string(), lines.sigma.to_string()))
        .unwrap_or_default();
    for point in &chart.points {
        let cells = [
            lab.local(point.at).date().to_string(),
            point.name.clone(),
            point.loss_percent.to_string(),
            point.operator.clone(),
            if point.imported { "yes" } else { "no" }.to_owned(),
            role_words(&point.role),
            deviations_text(point),
            point.memory_text(),
            point.signal_words().unwrap_or_default(),
            centre.clone(),
            sigma.clone(),
        ];
        table += &row(cells);
    }
    table
}

/// The lines of a chart, for those who read a table.
pub fn lines_words(lines: &Lines) -> [(&'static str, String); 4] {
    let pair = |(lower, upper): (Decimal, Decimal)| {
        format!("{} % and {} %", lower.normalize(), upper.normalize())
    };
    [
        ("Centre", format!("{} %", lines.centre.normalize())),
        ("Standard deviation", format!("{} %", lines.sigma.normalize())),
        ("Warning limits (2 s)", pair(lines.warning)),
        ("Action limits (3 s)", pair(lines.action)),
    ]
}

/// The chart on paper.
pub fn control_sheet(
    lab: &Lab,
    chart: &ControlChart,
    anchor: Option<JournalAnchor>,
    at: Timestamp,
) -> Sheet {
    let picture = control_picture(lab, chart);
    let memory = memory_picture(lab, chart);
    let lot = lab.lots.get(&chart.lot);
    let mut sheet = sheet_of(
        lab,
        format!("Control chart {} on {}", chart.lot, chart.apparatus),
        "Reference aggregate: is the apparatus in control?",
        anchor,
        at,
    );
    sheet.lead = format!("{}.", capital(chart.state().in_words()));
    sheet = sheet.pairs([
        ("Lot", lot.map(|lot| format!("{}, {}", lot.name, lot.source)).unwrap_or_default()),
        (
            "Test",
            lot.map(|lot| format!("{}, grading {}", lot.method, lot.grading)).unwrap_or_default(),
        ),
        ("Limits", chart.basis()),
        ("Rules", chart.rules.in_words()),
        ("What they cost", chart.rules.run_lengths_in_words()),
    ]);
    if let Some(lines) = &chart.lines {
        sheet = sheet.pairs(lines_words(lines));
    }
    let caption = format!(
        "Rings: results that the limits stand on, or that are not judged. Diamonds: signals. {}",
        drawn_in_part(chart)
    );
    sheet = sheet.picture(picture.svg(), picture.sentence(), caption.trim_end());
    if let Some(memory) = memory {
        sheet = sheet.picture(memory.svg(), memory.sentence(), memory.title.clone());
    }
    let mut table = Table::new(
        "Results, oldest first",
        [
            Column::text("Date"),
            Column::text("Result"),
            Column::number("Loss, %"),
            Column::text("Operator"),
            Column::number("From centre, s"),
            Column::sentence("Verdict"),
        ],
    );
    for point in &chart.points {
        let imported = if point.imported { " (taken over)" } else { "" };
        table = table.row([
            Cell::from(lab.local(point.at).date().to_string()),
            Cell::from(format!("{}{imported}", point.name)),
            Cell::from(point.loss_percent.to_string()),
            Cell::from(point.operator.clone()),
            Cell::from(deviations_text(point)),
            Cell::from(verdict_words(point)),
        ]);
    }
    sheet = sheet.heading("Results").table(table);
    if !chart.events.is_empty() {
        let columns = [Column::text("Date"), Column::sentence("What happened")];
        let mut events = Table::new("What happened in that time", columns);
        for event in &chart.events {
            let day = lab.local(event.at).date().to_string();
            events = events.row([Cell::from(day), Cell::from(event.what.clone())]);
        }
        sheet = sheet.heading("What happened in that time").table(events);
    }
    sheet
}
