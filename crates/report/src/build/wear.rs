//! The wear of a ball charge as a picture, as tables, and as a paper: the same readings and words in
//! all of them.

use super::{capital, day, sheet_of};
use crate::{Cell, Column, JournalAnchor, Sheet, Table};
use jiff::Timestamp;
use stonewear_lab::Lab;
use stonewear_lab::charge::{Forecast, Stones, Trend, Wear, WornShare};
use stonewear_lab::estimate::{decimals_for, double, rounded};
use stonewear_picture::{Band, Curve, Cut, Level, Mark, Plot};
use stonewear_stats::regression::{Interval, Prediction};

/// Places at which a curve is worked out.
const STEPS: u32 = 60;
/// Of what is still to come so much more than what was is drawn at most.
const AHEAD: f64 = 2.0;

/// The mass of a charge over its revolutions, with the line, its bands, the tolerance, every change,
/// and where the line leaves the tolerance.
pub fn wear_plot(wear: &Wear) -> Plot {
    let history = &wear.history;
    let thousands = |turned| double(turned) / 1000.0;
    let points: Vec<(f64, f64)> = history
        .readings
        .iter()
        .map(|reading| (thousands(reading.turned), double(reading.mass_g)))
        .collect();
    let limits = wear.tolerance.as_ref().map(|tolerance| tolerance.limits).unwrap_or_default();
    let levels = [("lower limit", limits.lower), ("upper limit", limits.upper)]
        .into_iter()
        .filter_map(|(name, limit)| Some(Level { name: name.to_owned(), y: double(limit?) }));
    let now = thousands(history.turned);
    let until = match &wear.forecast {
        Forecast::Leaves(leaving) => leaving.within.1.min(now * AHEAD).max(now),
        Forecast::Outside { .. } | Forecast::Unknown { .. } => now,
    };
    let from = history.readings.iter().filter(|one| one.segment + 1 == history.stretches);
    let from = from.map(|one| thousands(one.turned)).fold(now, f64::min);
    let line = wear.trend.as_ref().ok().map(|trend| {
        let step = (until - from) / f64::from(STEPS);
        let places = (0..=STEPS).map(|n| from + step * f64::from(n));
        places.filter_map(|x| Some((x, trend.mass_after(x)?))).collect::<Vec<_>>()
    });
    let line = line.filter(|_| until > from).unwrap_or_default();
    let curve = Curve {
        name: "fitted line".to_owned(),
        points: line.iter().map(|(x, there)| (*x, there.value)).collect(),
    };
    let bands = [
        band("one reading (95 %)", &line, |there| there.prediction.as_ref().ok()),
        band("the mean (95 %)", &line, |there| there.confidence.as_ref().ok()),
    ];
    let cuts = history.changed_at.iter().zip(&history.changes).map(|(turned, change)| Cut {
        name: change.value.change.in_words().to_owned(),
        x: thousands(*turned),
    });
    Plot {
        title: format!("Mass of charge {} over its revolutions", history.charge),
        description: format!(
            "{} of the mass; {}; {}",
            stonewear_lab::words::counted(points.len(), "reading"),
            wear.rate_in_words(),
            wear.forecast_in_words()
        ),
        x_label: "thousand revolutions".to_owned(),
        y_label: "mass, g".to_owned(),
        points,
        curves: [curve].into_iter().filter(|curve| !curve.points.is_empty()).collect(),
        bands: bands.into_iter().filter(|band| !band.edges.is_empty()).collect(),
        levels: levels.collect(),
        marks: leaves(wear, until).into_iter().collect(),
        cuts: cuts.collect(),
    }
}

/// Where the line leaves the tolerance, if that lies within what is drawn.
fn leaves(wear: &Wear, until: f64) -> Option<Mark> {
    let Forecast::Leaves(leaving) = &wear.forecast else { return None };
    let (lower, upper) = leaving.within;
    let name = match leaving.day {
        Some(day) => format!("leaves its tolerance around {day}"),
        None => "leaves its tolerance".to_owned(),
    };
    (leaving.at <= until).then(|| Mark {
        name,
        x: leaving.at,
        y: double(leaving.limit_g),
        within: Some((lower, upper.min(until))),
    })
}

pub(super) fn band(
    name: &str,
    line: &[(f64, Prediction)],
    of: impl Fn(&Prediction) -> Option<&Interval>,
) -> Band {
    let edges =
        line.iter().filter_map(|(x, there)| of(there).map(|one| (*x, one.lower, one.upper)));
    Band { name: name.to_owned(), edges: edges.collect() }
}

/// Every reading of the mass, oldest first.
pub fn wear_table(lab: &Lab, wear: &Wear) -> Table {
    let columns = [
        Column::number("Revolutions"),
        Column::number("Mass, g"),
        Column::text("Read"),
        Column::text("Day"),
    ];
    let caption = format!("Every reading of the mass of {}, oldest first", wear.history.charge);
    wear.history.readings.iter().fold(Table::new(caption, columns), |table, reading| {
        table.row([
            Cell::from(reading.turned.normalize().to_string()),
            Cell::from(reading.mass_g.to_string()),
            Cell::from(reading.from.in_words()),
            Cell::from(day(lab, Some(reading.at))),
        ])
    })
}

/// How fast each kind of stone wears the charge.
pub fn stones_table(stones: &Stones) -> Table {
    let columns = [
        Column::text("Stone"),
        Column::number("Runs"),
        Column::number("Revolutions"),
        Column::number("Loss in 1,000 revolutions, g"),
        Column::number("95 % interval, g"),
    ];
    let caption = "Wear by kind of stone";
    stones.kinds.iter().fold(Table::new(caption, columns), |table, kind| {
        let half = kind.interval.map(|one| (one.upper - one.lower) / 2.0);
        let places = half.map_or(3, decimals_for);
        let figure =
            |value: f64| rounded(value, places).map(|it| it.to_string()).unwrap_or_default();
        let interval =
            kind.interval.map(|one| format!("{} to {}", figure(one.lower), figure(one.upper)));
        table.row([
            Cell::from(if kind.kind.is_empty() { "not named" } else { kind.kind.as_str() }),
            Cell::from(kind.runs.to_string()),
            Cell::from(kind.revolutions.normalize().to_string()),
            Cell::from(kind.rate.clone().map_or_else(|_| "not told".to_owned(), figure)),
            Cell::from(interval.unwrap_or_else(|| "not told".to_owned())),
        ])
    })
}

/// The share of worn balls, by check.
pub fn worn_table(lab: &Lab, worn: &[WornShare]) -> Table {
    let columns = [
        Column::text("Check"),
        Column::text("Day"),
        Column::number("Tried"),
        Column::number("Below nominal"),
        Column::number("Share, %"),
        Column::number("95 % interval, %"),
    ];
    let caption = "Balls below the nominal size, as gauges counted them";
    worn.iter().fold(Table::new(caption, columns), |table, one| {
        let figure = |value: f64| rounded(value, 1).map(|it| it.to_string()).unwrap_or_default();
        let (lower, upper) = (figure(one.interval.lower), figure(one.interval.upper));
        table.row([
            Cell::from(one.check.to_string()),
            Cell::from(day(lab, Some(one.at))),
            Cell::from(one.tried.to_string()),
            Cell::from(one.worn.to_string()),
            Cell::from(figure(one.percent)),
            Cell::from(format!("{lower} to {upper}")),
        ])
    })
}

/// The wear of a charge as a paper.
pub fn wear_sheet(lab: &Lab, wear: &Wear, anchor: Option<JournalAnchor>, at: Timestamp) -> Sheet {
    let history = &wear.history;
    let plot = wear_plot(wear);
    let (stones, worn) = (wear.stones(), lab.worn_shares(&history.charge));
    let tolerance = wear.tolerance.as_ref();
    let basis = wear.trend.as_ref().map(Trend::basis_in_words).unwrap_or_default();
    let pairs = [
        (
            "Turned",
            format!(
                "{} revolutions in {}",
                history.turned.normalize(),
                stonewear_lab::words::counted(history.turnings.len(), "run")
            ),
        ),
        (
            "To be kept",
            tolerance.map(|it| format!("{} g: {}", it.limits, it.source)).unwrap_or_default(),
        ),
        ("Wear", wear.rate_in_words()),
        ("Rests on", basis),
        ("Forecast", wear.forecast_in_words()),
    ];
    let changes = history.changes.iter().map(|change| {
        let words = change.value.in_words();
        format!("{}: {words}; {} ({})", day(lab, Some(change.at)), change.value.reason, change.by)
    });
    let (kind, title) = (format!("Ball charge {}", history.charge), "Wear of the ball charge");
    let mut sheet = sheet_of(lab, kind, title, anchor, at).pairs(pairs).picture(
        plot.svg(),
        plot.description.clone(),
        plot.title.clone(),
    );
    let changes: Vec<String> = changes.collect();
    if !changes.is_empty() {
        sheet = sheet
            .heading("What was done to it")
            .block(crate::Block::List { numbered: false, points: changes });
    }
    sheet = sheet.heading("Kinds of stone").text(format!("{}.", capital(&stones.verdict)));
    if !stones.kinds.is_empty() {
        sheet = sheet.table(stones_table(&stones));
    }
    if !worn.is_empty() {
        sheet = sheet.heading("Worn balls").table(worn_table(lab, &worn));
    }
    sheet.heading("Readings").table(wear_table(lab, wear))
}
