//! The papers, tables and pictures of the demo laboratory's studies, as plain data.

#![allow(clippy::unwrap_used, reason = "a test that fails here says where")]

mod laboratory;

use laboratory::{demo, tables};
use stonewear_lab::estimate::double;
use stonewear_lab::state::Study;
use stonewear_measure::Decimal;
use stonewear_report::{
    Cell, study_agreement_table, study_changed_since, study_differences_table, study_makeup_table,
    study_means_table, study_pictures, study_plan_sheet, study_report_sheet, study_runs_table,
};

const POSITIONS: &str = "Y26-001";
const QUALIFICATION: &str = "Y26-002";

fn text(cell: &Cell) -> &str {
    if let Cell::Text(text) = cell { text } else { "" }
}

#[test]
fn the_plan_of_a_study_in_progress_has_room_to_write_for_every_run_that_is_to_come() {
    let (lab, at) = demo();
    let study = &lab.studies[QUALIFICATION];
    let sheet = study_plan_sheet(&lab, study, None, at);
    assert!(sheet.invented && sheet.kind == "Study Y26-002", "{sheet:?}");
    let runs = study_runs_table(&lab, study);
    let makeup = study_makeup_table(&lab, study);
    assert_eq!(tables(&sheet), [&runs, &makeup]);
    for table in [&runs, &makeup] {
        assert!(table.rows.iter().all(|row| row.len() == table.columns.len()), "{table:?}");
    }
    let done = lab.study_runs(study).iter().filter(|run| run.value.is_some()).count();
    assert_eq!(makeup.rows.len(), runs.rows.len() - done);
    let open = |row: &&Vec<Cell>| row.contains(&Cell::ToFill);
    assert_eq!(runs.rows.iter().filter(open).count(), makeup.rows.len());
    // The fractions of the grading of its sample, with their masses.
    assert!(makeup.columns.iter().any(|one| one.head.ends_with("mm: 375 g")), "{makeup:?}");
    let said = format!("{:?}", sheet.blocks);
    for says in ["Local codes and licensed practice come first.", "from the seed 20261116"] {
        assert!(said.contains(says), "{says}");
    }
}

#[test]
fn the_report_of_a_concluded_study_holds_its_verdict_pictures_and_figures() {
    let (lab, at) = demo();
    let study = &lab.studies[POSITIONS];
    let analysis = lab.study_analysis(study).unwrap();
    let sheet = study_report_sheet(&lab, study, None, at);
    assert!(sheet.lead.starts_with("Concluded by TR, 2026-"), "{}", sheet.lead);
    let said = format!("{:?}", sheet.blocks);
    let concluded = &study.concluded.as_ref().unwrap().value;
    for says in concluded.verdict.iter().chain([&concluded.remark]) {
        assert!(said.contains(says), "{says}");
    }
    assert!(!said.contains("Verdict so far") && !said.contains("Changed since"));
    assert!(tables(&sheet).contains(&&study_differences_table(study, &analysis)));
    // Six pairs of each of three factors of four levels.
    assert_eq!(study_differences_table(study, &analysis).rows.len(), 18);
    // The pictures and the table beside them say the same.
    let means = study_means_table(study, &analysis);
    let charts = study_pictures(study, &analysis);
    assert_eq!(charts.len(), 3);
    let drawn = charts.iter().flat_map(|chart| &chart.means);
    for (mean, row) in drawn.zip(&means.rows) {
        let [value, from, to] = [3, 4, 5].map(|cell| text(&row[cell]).parse::<f64>().unwrap());
        assert_eq!(mean.name, text(&row[1]));
        assert!((mean.value - value).abs() < 0.001, "{mean:?} {row:?}");
        let reach = mean.reach.unwrap();
        assert!((value - from - reach).abs() < 0.002 && (to - value - reach).abs() < 0.002);
    }
}

/// Bars that do not overlap are those of levels whose difference has an interval without 0.
#[test]
fn bars_about_means_say_what_the_intervals_of_differences_say() {
    let (lab, _) = demo();
    let study = &lab.studies[POSITIONS];
    for factor in lab.study_analysis(study).unwrap().factors {
        let half = double(factor.half_width.unwrap());
        for one in &factor.differences {
            let reach = (double(one.upper.unwrap()) - double(one.lower.unwrap())) / 2.0;
            assert!((reach - 2.0 * half).abs() < 1e-5, "{one:?} {half}");
        }
    }
}

#[test]
fn agreement_is_drawn_between_its_margins() {
    let (lab, _) = demo();
    let study = &lab.studies[QUALIFICATION];
    let analysis = lab.study_analysis(study).unwrap();
    let found = analysis.equivalence.as_ref().unwrap();
    let [chart] = study_pictures(study, &analysis).try_into().unwrap();
    let margins: Vec<f64> = chart.limits.iter().map(|(value, _)| *value).collect();
    assert_eq!(margins, [-0.8, 0.8]);
    let [bar] = chart.means.as_slice() else { panic!("{chart:?}") };
    let reach = bar.reach.unwrap();
    assert!((bar.value - reach - double(found.lower.unwrap())).abs() < 1e-6, "{chart:?}");
    assert!((bar.value + reach - double(found.upper.unwrap())).abs() < 1e-6, "{chart:?}");
    let tests = study_agreement_table(study, &analysis).unwrap();
    assert_eq!(tests.rows.len(), 3, "{tests:?}");
}

#[test]
fn a_conclusion_that_the_records_no_longer_say_is_named() {
    let (lab, at) = demo();
    let mut study: Study = lab.studies[POSITIONS].clone();
    let analysis = lab.study_analysis(&study).unwrap();
    assert_eq!(study_changed_since(&study, &analysis), None);
    let last = study.imported.values_mut().next().unwrap().last_mut().unwrap();
    last.value.value += Decimal::TEN;
    let analysis = lab.study_analysis(&study).unwrap();
    let changed = study_changed_since(&study, &analysis).unwrap();
    assert!(changed.starts_with("Records were corrected after the conclusion."), "{changed}");
    let sheet = study_report_sheet(&lab, &study, None, at);
    assert!(format!("{:?}", sheet.blocks).contains("Changed since"));
}
