//! Sheets for the wet bench: what is to be made up, and room to write every reading by hand, each
//! beside its limits.

use super::sheet_of;
use crate::{Block, Cell, Column, JournalAnchor, Sheet, Table};
use jiff::Timestamp;
use stonewear_lab::Lab;
use stonewear_lab::state::Specimen;
use stonewear_measure::balance::shown;
use stonewear_measure::{Decimal, Limits};
use stonewear_method::model::{Of, Vessel};
use stonewear_method::{Grading, Method, Toleranced};

/// Lifting, turning, water near mains, ovens: what a bench sheet always says.
const CAUTION: &str = "A full jar weighs several kilograms: lift it with two hands, only while the \
    drive is stopped and cannot start. Keep hands, hair and sleeves away from what turns. Keep water \
    away from mains. Oven-dry pans are hot; stone dust harms the lungs: wet it or extract it. Local \
    codes and licensed practice come first.";

/// The bench sheet of a specimen; with the address of the laboratory's page its square code leads
/// to the page where the readings are entered.
pub fn bench_sheet(
    lab: &Lab,
    specimen: &Specimen,
    anchor: Option<JournalAnchor>,
    at: Timestamp,
) -> Option<Sheet> {
    let (method, grading) = lab.rules_of(specimen)?;
    let title = format!("{}, grading {}", method.designation, specimen.grading);
    let mut sheet = sheet_of(lab, format!("Bench sheet {}", specimen.code), title, anchor, at);
    sheet.lead = format!("Edition {}: {}.", method.edition, method.title);
    sheet = begun(lab, specimen, sheet).remark("Caution", CAUTION);
    sheet = sheet.heading("Make-up").table(make_up(specimen, method, grading));
    sheet = sheet.heading("Readings").table(readings(method, grading));
    Some(
        sheet
            .heading("What was seen")
            .text("Anything unusual, interruptions with the count, departures and why:")
            .block(Block::Lines { count: 2 }),
    )
}

/// The make-up sheet of a specimen: each fraction with its mass, and the sum to come to.
pub fn makeup_sheet(
    lab: &Lab,
    specimen: &Specimen,
    anchor: Option<JournalAnchor>,
    at: Timestamp,
) -> Option<Sheet> {
    let (method, grading) = lab.rules_of(specimen)?;
    let title = format!("Fractions of grading {}", specimen.grading);
    let mut sheet = sheet_of(lab, format!("Make-up sheet {}", specimen.code), title, anchor, at);
    sheet.lead = format!("{}, edition {}.", method.designation, method.edition);
    sheet = begun(lab, specimen, sheet);
    let columns = [
        Column::number("No."),
        Column::text("Passing – kept on, mm"),
        Column::text("Wanted, g"),
        Column::number("Sum so far, g"),
        Column::text("Weighed, g"),
        Column::text("Sum weighed, g"),
    ];
    let mut sum = Decimal::ZERO;
    let mut table = Table::new("Coarsest first, weighed into one pan", columns);
    for (index, fraction) in grading.fractions.iter().enumerate() {
        sum = sum.saturating_add(fraction.mass_g.nominal.value);
        table = table.row([
            Cell::from((index + 1).to_string()),
            Cell::from(format!("{} – {}", fraction.passing_mm.value, fraction.retained_mm.value)),
            Cell::from(fraction.mass_g.to_string()),
            Cell::from(sum.to_string()),
            weighed(specimen.fraction_g(index)),
            Cell::ToFill,
        ]);
    }
    table = table.row([
        Cell::Blank,
        Cell::from("In all"),
        Cell::from(method.specimen_mass()),
        Cell::Blank,
        Cell::Blank,
        Cell::ToFill,
    ]);
    sheet = sheet.table(table);
    let before =
        Table::new("", [Column::sentence("Then"), Column::text("Limits"), Column::text("Read")])
            .row([
                Cell::from("Washed and oven-dried to constant mass, weighed, g"),
                Cell::from(words(method.specimen_limits(), "g")),
                weighed(specimen.before_g()),
            ])
            .row([Cell::from("Weighed by, on"), Cell::Blank, Cell::ToFill]);
    Some(sheet.table(before))
}

fn begun(lab: &Lab, specimen: &Specimen, sheet: Sheet) -> Sheet {
    let sample = lab.samples.get(&specimen.sample);
    let page = lab.letterhead().map(|head| head.page.as_str()).unwrap_or_default();
    let (scanned, words) = if page.is_empty() {
        (
            specimen.code.to_string(),
            "Scanned into the field at the top of any page, it opens the page where this is entered.",
        )
    } else {
        (format!("{page}/specimens/{}", specimen.code), "Opens the page where this is entered.")
    };
    sheet
        .pairs([
            ("Specimen", specimen.code.to_string()),
            (
                "Sample",
                sample
                    .map(|sample| {
                        format!("{}, {}, {}", sample.code, sample.material, sample.source)
                    })
                    .unwrap_or_default(),
            ),
            ("Balance", specimen.balance.to_string()),
            ("Why this grading", specimen.grading_reason.clone()),
        ])
        .block(Block::SquareCode { scanned, words: words.to_owned() })
}

fn make_up(specimen: &Specimen, method: &Method, grading: &Grading) -> Table {
    let columns = [
        Column::text("Passing – kept on, mm"),
        Column::text("Wanted, g"),
        Column::text("Weighed, g"),
        Column::sentence(""),
    ];
    let table = grading.fractions.iter().enumerate().fold(
        Table::new("", columns),
        |table, (index, fraction)| {
            table.row([
                Cell::from(format!(
                    "{} – {}",
                    fraction.passing_mm.value, fraction.retained_mm.value
                )),
                Cell::from(fraction.mass_g.to_string()),
                weighed(specimen.fraction_g(index)),
                Cell::Blank,
            ])
        },
    );
    table.row([Cell::from("In all"), Cell::from(method.specimen_mass()), Cell::ToFill, Cell::Blank])
}

/// What is there already, or room for it.
fn weighed(mass: Option<Decimal>) -> Cell {
    mass.map_or(Cell::ToFill, |mass| Cell::from(shown(mass).to_string()))
}

fn readings(method: &Method, grading: &Grading) -> Table {
    let columns = [
        Column::sentence("Reading"),
        Column::text("Limits"),
        Column::text("Read"),
        Column::text("Time"),
        Column::text("With"),
        Column::text("By"),
    ];
    let mut rows: Vec<(String, String)> = Vec::new();
    let mut row = |what: &str, limits: String| rows.push((what.to_owned(), limits));
    let toleranced = |one: Option<&Toleranced>, unit: &str| {
        one.map(|one| format!("{one} {unit}").trim_end().to_owned()).unwrap_or_default()
    };
    if method.weighs_before_and_after() {
        row("Mass before, washed, oven-dry, g", words(method.specimen_limits(), "g"));
    }
    if let Some(soak) = &method.soak {
        row("Soak begun", format!("at least {} h", soak.hours_at_least.value));
    }
    if matches!(method.vessel, Vessel::JarMill | Vessel::Drum) {
        row("Apparatus, jar, tier and position", String::new());
    }
    if grading.charge_g.is_some() {
        row("Ball charge, its mass, g", toleranced(grading.charge_g.as_ref(), "g"));
    }
    if let Some(balls) = &grading.balls {
        row("Balls counted", balls.value.to_string());
    }
    if let Some(water) = &method.water {
        row("Water, L", toleranced(Some(&water.volume_l), "L"));
        row("Temperature of the water, °C", toleranced(water.temperature_c.as_ref(), "°C"));
    }
    if let Some(revolutions) = &grading.revolutions {
        row("Run begun, counter at", String::new());
        row("Revolutions at the end", toleranced(Some(revolutions), ""));
    }
    if grading.revolutions.is_some() || grading.minutes.is_some() {
        row("Minutes turned", toleranced(grading.minutes.as_ref(), "min"));
        row("Speed, rev/min", toleranced(method.speed_rpm.as_ref(), "rev/min"));
    }
    if method.weighs_before_and_after() {
        let sieve = method.loss_sieve_mm().map(|mm| format!(" on {mm} mm")).unwrap_or_default();
        row(&format!("Mass kept{sieve}, oven-dry, g"), String::new());
        row("The same after more drying, g", constant(method));
    }
    for reading in &method.readings {
        let limits = reading.wanted.as_ref();
        let sizes: Vec<String> = match reading.of {
            Of::Specimen => vec![String::new()],
            Of::Fraction => grading
                .fractions
                .iter()
                .map(|one| format!(", {} – {} mm", one.passing_mm.value, one.retained_mm.value))
                .collect(),
        };
        for size in sizes {
            let unit =
                if reading.unit.is_empty() { String::new() } else { format!(", {}", reading.unit) };
            row(&format!("{}{size}{unit}", reading.title), toleranced(limits, &reading.unit));
        }
    }
    rows.into_iter().fold(Table::new("", columns), |table, (what, limits)| {
        table.row([
            Cell::from(what),
            Cell::from(limits),
            Cell::ToFill,
            Cell::ToFill,
            Cell::ToFill,
            Cell::ToFill,
        ])
    })
}

fn constant(method: &Method) -> String {
    let drying = &method.drying;
    format!(
        "within {} % in {} h",
        drying.constant_within_percent.value, drying.weighings_apart_h.value
    )
}

fn words(limits: Limits, unit: &str) -> String {
    if limits == Limits::default() {
        String::new()
    } else {
        format!("{limits} {unit}").trim_end().to_owned()
    }
}
