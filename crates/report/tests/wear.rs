//! The papers of the wear of a charge and of an experiment, from the demo laboratory: what they say, as
//! plain data.

#![allow(clippy::unwrap_used, reason = "a test that fails here says where")]

mod laboratory;

use laboratory::{demo, tables};
use stonewear_lab::charge::Forecast;
use stonewear_report::{
    Cell, csv, experiment_plot, experiment_sheet, experiment_table, wear_plot, wear_sheet,
    wear_table,
};

#[test]
fn the_paper_of_a_charge_holds_what_the_page_holds() {
    let (lab, at) = demo();
    let wear = lab.wear(&"BC-1".into(), at).unwrap();
    let sheet = wear_sheet(&lab, &wear, None, at);
    assert!(sheet.invented && sheet.kind == "Ball charge BC-1", "{sheet:?}");
    for table in tables(&sheet) {
        assert!(table.rows.iter().all(|row| row.len() == table.columns.len()), "{table:?}");
    }
    let readings = wear_table(&lab, &wear);
    assert_eq!(readings.rows.len(), wear.history.readings.len());
    assert!(tables(&sheet).contains(&&readings));
    let said = format!("{:?}", sheet.blocks);
    for says in [wear.rate_in_words(), wear.forecast_in_words(), "2 balls added".to_owned()] {
        assert!(said.contains(&says), "{says}");
    }
}

/// The line of the picture passes where the forecast says, and its bands hold it.
#[test]
fn the_picture_shows_where_the_line_leaves_the_tolerance() {
    let (lab, at) = demo();
    let wear = lab.wear(&"BC-1".into(), at).unwrap();
    let plot = wear_plot(&wear);
    let Forecast::Leaves(leaving) = &wear.forecast else { panic!("{:?}", wear.forecast) };
    let [mark] = plot.marks.as_slice() else { panic!("{:?}", plot.marks) };
    assert_eq!((mark.x, mark.y), (leaving.at, 4995.0));
    assert!(mark.name.contains(&leaving.day.unwrap().to_string()));
    assert_eq!(plot.points.len(), wear.history.readings.len());
    assert_eq!(plot.cuts.len(), 2);
    assert_eq!(plot.levels.iter().map(|level| level.y).collect::<Vec<_>>(), [4995.0, 5005.0]);
    // Beyond the crossing the line lies below the limit, before it above.
    for (x, y) in &plot.curves[0].points {
        assert_eq!(*x > leaving.at, *y < 4995.0, "{x} {y}");
    }
    let [one, mean] = plot.bands.as_slice() else { panic!("two bands") };
    for (((_, wide_low, wide_high), (_, low, high)), (_, y)) in
        one.edges.iter().zip(&mean.edges).zip(&plot.curves[0].points)
    {
        assert!(wide_low < low && low < y && y < high && high < wide_high);
    }
    // A charge that does not change has no mark.
    let level = lab.wear(&"BC-2".into(), at).unwrap();
    assert!(wear_plot(&level).marks.is_empty());
}

#[test]
fn the_paper_of_an_experiment_has_room_to_write_until_it_is_done() {
    let (lab, at) = demo();
    let experiment = lab.experiments.values().next().unwrap();
    let done = experiment_table(&lab, experiment);
    assert_eq!(done.rows.len(), 6);
    assert!(!done.rows.iter().flatten().any(|cell| *cell == Cell::ToFill));
    let analysis = lab.experiment_analysis(experiment).unwrap();
    let plot = experiment_plot(experiment, &analysis);
    assert_eq!((plot.points.len(), plot.bands.len(), plot.cuts.len()), (6, 2, 1));
    assert_eq!(plot.cuts[0].x, 12_000.0);
    let sheet = experiment_sheet(&lab, experiment, None, at);
    let said = format!("{:?}", sheet.blocks);
    assert!(said.contains(&analysis.sensitivity_in_words()) && said.contains("the seed 20260126"));
    assert_eq!(csv(&done).lines().count(), 7);

    let mut open = experiment.clone();
    open.runs.iter_mut().for_each(|run| run.specimens.clear());
    let open = experiment_table(&lab, &open);
    let to_fill = |row: &Vec<Cell>| row.iter().filter(|cell| **cell == Cell::ToFill).count();
    assert!(open.rows.iter().all(|row| to_fill(row) == 3), "{open:?}");
}
