//! A laboratory where much has happened, and what people and broken programs type there.

use super::Story;
use stonewear_lab::request::*;

/// Texts that fit some field of some request in [`Story::busy`], and no field of another.
#[allow(dead_code, reason = "each test file uses its part")]
pub(crate) const TYPED: &[&str] = &[
    "J1",
    "B1",
    "BAL",
    "S118",
    "MILL",
    "S26-001",
    "S26-001-1",
    "R26-001",
    "L26-001",
    "C26-001",
    "AB",
    "CD",
    "astm-d6928",
    "en-1097-1",
    "astm-c127",
    "astm-c131",
    "dry",
    "kept_early",
    "19.0",
    "9.5",
    "yes",
    "no",
    "revolutions",
    "time",
    "in-service",
    "held",
    "retired",
    "function-check",
    "1500",
    "1.5 kg",
    "ST,GS,+ 3.307 lb",
    "handed-over",
    "disposed",
    "5000",
    "2.00",
    "12000",
    "120",
    "1",
    "only",
    "test",
    "manage",
    "2026-03-01",
    "water.volume_l.tolerance",
    "3/4 in.",
    "No. 4",
    "all-passing",
    "en-933-1",
    "sieve_mm,retained_g\n19,0\n9.5,1000\npan,500",
    "lid.jpg",
    "make-up",
    "run",
    "A26-001",
    "suspended",
    "authorisation",
    "decision-rule",
    "guarded",
    "uncertainty",
    "results-differ",
    "test-another-pair",
    "release-by-another",
    "required",
    "RA-1",
    "N26-001",
    "record",
    "moved",
    "stated",
    "moving-range",
    "control-rules",
    "1 cusum 0.5 5",
    "date,loss\n2026-01-05,14.2\n2026-01-06,14.4",
    "added",
    "charge",
    "X26-001",
    "Y26-001",
    "same",
    "run,loss\n1,14.8\n2,15.1",
    "S26-002-1",
    "level,loss\n9000,11\n12000,14.8\n15000,18",
    "image/jpeg",
    "test-report",
    "project-report",
    "L26-001/1",
    "letter",
    "http://bench:7007",
    "B26-001",
    "P26-001",
    "granite",
    "2030-06-30",
    "code,material,replicate,value\nKT-47,granite,1,10.4",
    "material,bag,value\ngranite,1,10\ngranite,1,11\ngranite,2,10",
    "round,date,material,value,assigned,sigma_pt\n1,2026-02-01,A,14.8,14.0,0.3",
    "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855",
];

#[allow(dead_code, reason = "each test file uses its part")]
impl Story {
    /// A laboratory in which most of what can happen has happened once: a released result and a doubt about
    /// it, a sieve analysis, an experiment, reference results, a round, a score.
    pub(crate) fn busy() -> Self {
        let mut story = Story::equipped();
        let (_, result) = story.loss();
        story.given(ReleaseResult { result, ..ReleaseResult::default() });
        story.given(OpenDoubt {
            item: "BAL".into(),
            attribute: "indication".into(),
            found: "1.5".into(),
            since: String::new(),
            reason: "found heavy".into(),
        });
        let sample = story.sample("19.0");
        story.specimen(&sample);
        story.given(RecordSieving {
            sample: sample.clone(),
            table: "sieve_mm,retained_g\n25,0\n19,400\n16,1100\n12.5,2000\npan,6500".into(),
            before_g: "10000".into(),
            ..RecordSieving::default()
        });
        story.given(HandOverSample {
            sample: sample.clone(),
            to: "CD".into(),
            place: "bay 4".into(),
            ..HandOverSample::default()
        });
        story.given(ChangeCharge {
            charge: "B1".into(),
            change: "added".into(),
            before_g: "4996".into(),
            after_g: "5003".into(),
            balls: "2".into(),
            reason: "worn".into(),
            ..ChangeCharge::default()
        });
        story.given(PlanExperiment {
            title: "revolutions".into(),
            condition: "revolutions".into(),
            method: "astm-d6928".into(),
            grading: "19.0".into(),
            levels: vec!["9000".into(), "12000".into(), "15000".into()],
            replicates: "2".into(),
            seed: "7".into(),
            ..PlanExperiment::default()
        });
        story.given(AttachFile {
            to: sample,
            name: "bag.jpg".into(),
            media_type: "image/jpeg".into(),
            sha256: "a".repeat(64),
            bytes: "1200".into(),
            ..AttachFile::default()
        });
        story.lot("RA-1");
        story.stated_baseline("RA-1");
        story.reference_tenths("RA-1", 143);
        story.reference_tenths("RA-1", 180);
        story.given(PlanRound {
            title: "split sample".into(),
            method: "astm-d6928".into(),
            materials: "granite; 10 to 14 mm; 0.5".into(),
            replicates: "2".into(),
            participants: "own\nInvented Other".into(),
            closes_on: "2030-06-30".into(),
            seed: "3".into(),
            ..PlanRound::default()
        });
        story.given(TestHomogeneity {
            round: "B26-001".into(),
            table: "material,bag,value\ngranite,1,10\ngranite,1,11\ngranite,2,10".into(),
            ..TestHomogeneity::default()
        });
        story.given(TakeInOwnResults {
            round: "B26-001".into(),
            material: "granite".into(),
            results: "L26-001".into(),
            ..TakeInOwnResults::default()
        });
        story.given(TakeInScores {
            provider: "Invented Rounds".into(),
            method: "astm-d6928".into(),
            table: "round,date,material,value,assigned,sigma_pt\n1,2026-02-01,A,15.8,14.0,0.3"
                .into(),
            ..TakeInScores::default()
        });
        story
    }
}
