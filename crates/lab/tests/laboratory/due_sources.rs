//! What falls due of reference aggregate, rounds, scores and experiments.

use crate::story::Story;
use jiff::ToSpan;
use stonewear_lab::due::{Due, Urgency, Wanted, When};
use stonewear_lab::request::*;

fn due(story: &Story, key: &str) -> Option<Due> {
    let all = story.lab.due(story.at, &Wanted::default());
    all.into_iter().find(|due| due.key.starts_with(key))
}

fn due_at(story: &Story, key: &str) -> (String, Urgency) {
    let due = due(story, key).unwrap_or_else(|| panic!("{key} is not due"));
    (due.when_in_words(&story.lab), due.urgency(&story.lab, story.at))
}

#[test]
fn reference_runs_fall_due_by_samples_and_by_days_where_tests_are_run() {
    let mut story = Story::with_lot();
    story.given(SetPolicy {
        policy: "reference-interval".into(),
        value: "2 samples 7 days".into(),
        reason: "our manual".into(),
    });
    assert_eq!(due(&story, "reference."), None, "nothing was run");
    story.reference_tenths("RA-1", 142);
    let key = "reference.MILL.";
    // The apparatus rests: nothing is owed before it is used again.
    let rests = ("before the first test after 2026-03-09".to_owned(), Urgency::Soon);
    assert_eq!(due_at(&story, key), rests);
    let last = story.at;
    story.at = last.checked_add((30 * 24).hours()).unwrap();
    assert_eq!(due_at(&story, key).1, Urgency::Now);
    story.at = last;
    story.loss();
    assert_eq!(due_at(&story, key), ("2026-03-09".to_owned(), Urgency::Soon));
    story.at = last.checked_add((30 * 24).hours()).unwrap();
    assert_eq!(due_at(&story, key).1, Urgency::Overdue);
    let before = due(&story, key).unwrap().position;
    story.loss();
    let now = due(&story, key).unwrap();
    assert!(matches!(now.when, When::Now { .. }) && now.position > before, "{now:?}");
    assert_eq!(now.path, "/control/RA-1/MILL");
    story.reference_tenths("RA-1", 143);
    assert_ne!(due_at(&story, key).1, Urgency::Overdue);
    assert!(matches!(due(&story, key).unwrap().when, When::NextTest { after: Some(_) }));
}

#[test]
fn a_lot_runs_out_after_results_or_on_a_day() {
    let mut story = Story::with_lot();
    assert_eq!(due_at(&story, "lot.RA-1"), ("after 40 more results".to_owned(), Urgency::Later));
    story.reference_tenths("RA-1", 142);
    story.at = story.at.checked_add((10 * 24).hours()).unwrap();
    story.reference_tenths("RA-1", 142);
    let lot = due(&story, "lot.RA-1").unwrap();
    let When::Day { day } = lot.when else { panic!("{lot:?}") };
    // The day does not move while nothing is recorded.
    story.at = story.at.checked_add((40 * 24).hours()).unwrap();
    assert_eq!(due(&story, "lot.RA-1").unwrap().when, When::Day { day });
    story.given(CountStock {
        lot: "RA-1".into(),
        stock_g: "100".into(),
        reason: "a bag was torn".into(),
    });
    assert!(matches!(due(&story, "lot.RA-1").unwrap().when, When::Now { .. }));
}

#[test]
fn an_investigation_waits_until_it_is_finished() {
    let mut story = Story::with_lot();
    story.stated_baseline("RA-1");
    let result = story.reference_tenths("RA-1", 170);
    let open = due(&story, "investigation.").expect("a loss of 17 % is out of control");
    assert_eq!(open.urgency(&story.lab, story.at), Urgency::Now);
    assert!(open.why.contains(&result), "{}", open.why);
    assert!(open.path.starts_with("/control/investigations/"), "{}", open.path);
}

#[test]
fn a_round_falls_due_on_its_day_and_an_experiment_is_open_without_one() {
    let mut story = Story::with_lot();
    story.given(PlanRound {
        title: "in spring".into(),
        method: "astm-d6928".into(),
        materials: "granite; granite; 0.5".into(),
        participants: "Laboratory <A>; somebody\nLaboratory <B>; somebody".into(),
        replicates: "2".into(),
        closes_on: "2026-06-30".into(),
        seed: "1".into(),
        ..PlanRound::default()
    });
    assert_eq!(due_at(&story, "round."), ("2026-06-30".to_owned(), Urgency::Later));
    story.given(PlanExperiment {
        title: "loss over revolutions".into(),
        condition: "revolutions".into(),
        method: "astm-d6928".into(),
        grading: "19.0".into(),
        levels: ["9000", "12000", "15000"].map(String::from).to_vec(),
        replicates: "2".into(),
        seed: "7".into(),
        ..PlanExperiment::default()
    });
    assert_eq!(due_at(&story, "experiment."), ("open since 2026-03-02".to_owned(), Urgency::Later));
    let experiment = due(&story, "experiment.").unwrap();
    assert!(experiment.what.ends_with(": 6 runs to go"), "{}", experiment.what);
    assert_eq!(experiment.day(&story.lab), None);
    story.at = "2026-07-01T14:00:00Z".parse().unwrap();
    assert_eq!(due_at(&story, "round.").1, Urgency::Overdue);
}
