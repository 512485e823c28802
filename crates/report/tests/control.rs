//! A control chart on paper, as a picture and as a table: one and the same chart.

#![allow(clippy::unwrap_used, reason = "a test that fails here says where")]

use stonewear_demo::{SEED, scenario};
use stonewear_lab::control::ControlChart;
use stonewear_lab::{Lab, Recorded};
use stonewear_picture::PointMark;
use stonewear_report::{Block, Cell, control_csv, control_picture, control_sheet};

fn demo() -> Lab {
    let methods = stonewear_method::library::built_in_methods();
    let procedures = stonewear_procedure::built_in_procedures();
    let mut lab = Lab::new();
    for batch in scenario(SEED, &methods, &procedures).unwrap() {
        for fact in batch.facts {
            let position = lab.position + 1;
            lab.apply(&Recorded { position, at: batch.at, by: batch.by.clone(), fact });
        }
    }
    lab
}

fn chart(lab: &Lab) -> ControlChart {
    lab.control_chart(&"RA-2".into(), &"MILL-1".into()).unwrap()
}

#[test]
fn the_picture_draws_every_point_by_what_it_is_for() {
    let lab = demo();
    let chart = chart(&lab);
    let picture = control_picture(&lab, &chart);
    assert_eq!(picture.points.len(), chart.points.len());
    let rings = picture.points.iter().filter(|point| point.mark == PointMark::Ring).count();
    assert_eq!(rings, chart.baseline.as_ref().unwrap().value.points.len());
    let signals: Vec<&str> =
        picture.points.iter().filter_map(|point| point.signal.as_deref()).collect();
    assert_eq!(signals.len(), 1, "{signals:?}");
    assert!(picture.sentence().contains(signals[0]));
    assert!(picture.action.unwrap().upper > picture.warning.unwrap().upper);
    for name in ["held", "in service", "lot replaced"] {
        assert!(picture.events.iter().any(|event| event.name == name), "{name}");
    }
}

#[test]
fn the_paper_has_the_points_of_the_chart_and_says_what_the_rules_cost() {
    let lab = demo();
    let chart = chart(&lab);
    let at = chart.points.last().unwrap().at;
    let sheet = control_sheet(&lab, &chart, None, at);
    assert_eq!(sheet.kind, "Control chart RA-2 on MILL-1");
    assert_eq!(sheet.lead, "In control.");
    assert!(sheet.invented && sheet.laboratory.name == "Tarnbeck Materials Laboratory");
    let tables: Vec<_> = sheet
        .blocks
        .iter()
        .filter_map(|block| if let Block::Table(table) = block { Some(table) } else { None })
        .collect();
    assert_eq!(tables[0].rows.len(), chart.points.len());
    assert_eq!(tables[1].rows.len(), chart.events.len());
    assert!(
        tables
            .iter()
            .all(|table| { table.rows.iter().all(|row| row.len() == table.columns.len()) })
    );
    let last = tables[0].rows.last().unwrap();
    let point = chart.points.last().unwrap();
    assert_eq!(last[1], Cell::from(point.name.clone()));
    assert_eq!(last[2], Cell::from(point.loss_percent.to_string()));
    assert_eq!(last[5], Cell::from("in control"));
    let pairs: String = sheet
        .blocks
        .iter()
        .filter_map(|block| if let Block::Pairs { pairs } = block { Some(pairs) } else { None })
        .flatten()
        .map(|pair| format!("{}: {}\n", pair.name, pair.value))
        .collect();
    assert!(pairs.contains("What they cost: false alarms: one in 225 results"), "{pairs}");
    assert!(pairs.contains("Action limits (3 s): "), "{pairs}");
    let pictures = sheet.blocks.iter().filter(|block| matches!(block, Block::Picture(_))).count();
    assert_eq!(pictures, 1, "no chart with a memory is watched");
}

/// What people typed never becomes a formula in somebody's spreadsheet, and never breaks a row.
#[test]
fn the_table_quotes_what_has_to_be_quoted() {
    let lab = demo();
    let mut chart = chart(&lab);
    chart.points.truncate(2);
    chart.points[0].operator = "=1+1".into();
    chart.points[1].operator = "a \"b\", c".into();
    let table = control_csv(&lab, &chart);
    let lines: Vec<&str> = table.split("\r\n").collect();
    assert_eq!(lines.len(), 4, "a head, two rows, and nothing after the last end of line");
    assert!(lines[1].contains(",'=1+1,"), "{}", lines[1]);
    assert!(lines[2].contains(",\"a \"\"b\"\", c\","), "{}", lines[2]);
    let signs = lines[1].split(',').nth(6).unwrap();
    assert!(signs.is_empty(), "a point of the baseline is not judged: {signs}");
}
