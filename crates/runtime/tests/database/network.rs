//! Laboratories of a database seen together, as far as a role may.

use crate::support::{admitted, another_seed, demo, desk, found, prepared};
use stonewear_lab::Lab;
use stonewear_runtime::{LaboratoryView, Network, push};
use stonewear_stats::interlab::{Cell, precision};

/// The losses of a reference aggregate that nobody doubts, by where it comes from.
fn losses(lab: &Lab, reference: &str) -> Vec<f64> {
    let charts = lab.control_charts();
    let of_it = charts.iter().filter(|chart| lab.lots[&chart.lot].source == reference);
    let points = of_it.flat_map(|chart| &chart.points).filter(|point| !point.imported);
    let doubted = |name: &str| {
        lab.doubts
            .values()
            .flat_map(stonewear_lab::state::Doubt::open_results)
            .any(|one| one.as_str() == name)
    };
    let kept = points.filter(|point| !doubted(&point.name));
    kept.map(|point| point.loss_percent.to_string().parse().unwrap()).collect()
}

#[test]
fn the_network_sees_all_and_a_laboratory_itself() {
    let database = prepared();
    let mut labs = Vec::new();
    for (name, seed) in [("granite-hill", stonewear_demo::SEED), ("north-bank", another_seed())] {
        database.role(&name.replace('-', "_"), "");
        let shared = admitted(&database, name, &name.replace('-', "_"));
        let folder = tempfile::tempdir().unwrap();
        demo(folder.path(), seed);
        push(folder.path(), &shared, 500).unwrap();
        labs.push(LaboratoryView::open(folder.path()).unwrap());
    }
    let third = admitted(&database, "young", "bench");
    let (_desk, place) = desk(&third);
    found(&place, 1);

    let own = Network::open(
        &database.address("granite_hill").parse().unwrap(),
        Some(&"granite-hill".parse().unwrap()),
    );
    let report = own.unwrap().look().unwrap();
    assert_eq!(report.laboratories.len(), 1, "its own role sees itself");
    assert_eq!(report.laboratories[0].laboratory, "granite-hill");
    assert!(report.comparisons.is_empty());

    let role = database.role("office", "");
    database.sql(&format!("GRANT stonewear_network TO {role}"));
    let mut network = Network::open(&database.address("office").parse().unwrap(), None).unwrap();
    let report = network.look().unwrap();
    let names: Vec<&str> = report.laboratories.iter().map(|one| one.laboratory.as_str()).collect();
    assert_eq!(names, ["granite-hill", "north-bank", "young"]);
    let first = &report.laboratories[0];
    let lab = labs[0].lab();
    assert_eq!(first.name, lab.identity.as_ref().unwrap().name);
    assert_eq!((first.facts, first.last_fact_at), (lab.position, Some(labs[0].last_at())));
    assert_eq!(first.readiness, lab.readiness(labs[0].now()), "by its own calendar");
    assert_eq!(first.control.len(), lab.control_charts().len());
    assert!(first.damage.is_none() && first.invented);
    let young = &report.laboratories[2];
    assert_eq!((young.facts, young.readiness.len(), young.control.len()), (3, 0, 0));

    // What they have in common compares as the library says of the losses on their own charts.
    assert!(!report.comparisons.is_empty());
    for one in &report.comparisons {
        let cells: Vec<Cell> = ["granite-hill", "north-bank"]
            .iter()
            .zip(&labs)
            .map(|(name, view)| Cell::new(name, &losses(view.lab(), &one.reference)).unwrap())
            .collect();
        let expected = precision(&cells).unwrap();
        assert!((one.mean_percent - expected.mean).abs() < 1e-9, "{one:?}");
        assert_eq!(one.between_percent, expected.s_l.ok());
        assert_eq!(one.laboratories.len(), 2);
        for (compared, cell) in one.laboratories.iter().zip(&cells) {
            assert_eq!(
                (compared.results, &compared.laboratory),
                (cell.values.len(), &cell.laboratory)
            );
        }
    }

    // Looked at again, it has read on.
    let mut laboratory = stonewear_runtime::OpenLaboratory::open(&place).unwrap();
    laboratory.submit("AB", None, &crate::support::person(5).into()).unwrap();
    assert_eq!(network.look().unwrap().laboratories[2].facts, 4);
    // Damage is said where it is, and the others are shown.
    database.sql(
        "ALTER TABLE stonewear.entry DISABLE TRIGGER ALL; \
         DELETE FROM stonewear.entry WHERE laboratory = 'north-bank' AND position = 3",
    );
    let mut network = Network::open(&database.address("office").parse().unwrap(), None).unwrap();
    let report = network.look().unwrap();
    let damage = report.laboratories[1].damage.as_ref().unwrap();
    assert!(damage.contains("entry 3"), "{damage}");
    assert_eq!(report.laboratories[0].damage, None);
}
