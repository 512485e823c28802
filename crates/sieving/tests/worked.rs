//! Examples worked by hand. The masses are invented and chosen so that every share is round.

#![allow(clippy::unwrap_used, reason = "a test that fails here says where")]

use stonewear_measure::{Decimal, Exact};
use stonewear_method::{Method, library};
use stonewear_sieving::{
    AnalysisError, ClosingRule, Definition, FractionPlan, MakeUp, Retained, Sieve, SieveAnalysis,
    choose, make_up,
};

fn dec(text: &str) -> Decimal {
    text.parse().unwrap()
}

fn rows(rows: &[(&str, &str)]) -> Vec<Retained> {
    let row = |(sieve, mass): &(&str, &str)| Retained {
        sieve: sieve.parse().unwrap(),
        retained_g: dec(mass),
    };
    rows.iter().map(row).collect()
}

/// 10 000 g: 4, 11, 20, 25, 20, 12 and 8 %.
fn even() -> SieveAnalysis {
    let kept = rows(&[
        ("25.0", "0"),
        ("3/4 in.", "400"),
        ("16.0", "1100"),
        ("1/2 in.", "2000"),
        ("3/8 in.", "2500"),
        ("1/4 in.", "2000"),
        ("No. 4", "1200"),
    ]);
    SieveAnalysis::new(kept, dec("800"), None, None).unwrap()
}

/// 10 000 g with a long coarse tail: 0.6, 3.4, 5, 30, 30, 21 and 10 %.
fn tailed() -> SieveAnalysis {
    let kept = rows(&[
        ("25.0", "0"),
        ("19.0", "60"),
        ("16.0", "340"),
        ("12.5", "500"),
        ("9.5", "3000"),
        ("6.3", "3000"),
        ("4.75", "2100"),
    ]);
    SieveAnalysis::new(kept, dec("1000"), None, None).unwrap()
}

fn method(id: &str) -> Method {
    library::built_in_method(id).unwrap()
}

fn percents(analysis: &SieveAnalysis) -> Vec<String> {
    analysis.lines().iter().map(|line| line.passing_percent.to_string()).collect()
}

#[test]
fn passing_is_what_all_coarser_sieves_left() {
    assert_eq!(percents(&even()), ["100", "96", "85", "65", "40", "20", "8"]);
    assert_eq!(percents(&tailed()), ["100", "99.4", "96", "91", "61", "31", "10"]);
    // A third stays a third: nothing is rounded before it is shown.
    let thirds = SieveAnalysis::new(rows(&[("4.75", "1")]), dec("2"), None, None).unwrap();
    let third = Exact::from(dec("100")).divided_by(&Exact::from(dec("3"))).unwrap();
    assert_eq!(thirds.lines()[0].cumulative_percent, third);
}

#[test]
fn what_was_washed_away_passes_every_sieve() {
    // 1000 g before, 960 g after washing, 957.6 g found: 40 g washed out, 2.4 g lost (0.25 %).
    let kept = rows(&[("9.5", "500"), ("4.75", "400")]);
    let washed =
        SieveAnalysis::new(kept, dec("57.6"), Some(dec("1000")), Some(dec("960"))).unwrap();
    assert_eq!(percents(&washed), ["50", "10"]);
    assert_eq!(washed.wash_loss_percent().unwrap().to_string(), "4");
    assert_eq!(washed.finest_percent().to_string(), "10");
    let closing = washed.closing(ClosingRule::AstmC136).unwrap();
    assert_eq!(closing.difference_percent.to_string(), "0.25");
    assert!(closing.holds());
    assert_eq!(
        closing.to_string(),
        "957.6 g after sieving against 960 g before: 0.25 % lost; ASTM C136, AASHTO T 27 allows 0.3 %"
    );
}

#[test]
fn the_closing_check_catches_a_sieve_that_was_not_weighed() {
    // What each found mass differs from 1000 g, and whom it satisfies.
    let cases = [
        ("1000", "0", true, true),
        ("997", "0.3", true, true),
        ("996.9", "0.31", false, true),
        ("1003.1", "0.31", false, true),
        ("990", "1", false, true),
        ("989.9", "1.01", false, false),
        ("600", "40", false, false),
    ];
    for (found, apart, astm, en) in cases {
        let kept = rows(&[("4.75", "500")]);
        let pan = dec(found) - dec("500");
        let analysis = SieveAnalysis::new(kept, pan, Some(dec("1000")), None).unwrap();
        let by = |rule| analysis.closing(rule).unwrap();
        assert_eq!(by(ClosingRule::AstmC136).difference_percent.to_string(), apart, "{found}");
        assert_eq!(by(ClosingRule::AstmC136).holds(), astm, "{found}");
        assert_eq!(by(ClosingRule::En9331).holds(), en, "{found}");
    }
    assert_eq!(even().closing(ClosingRule::AstmC136), None, "nothing was weighed before");
}

#[test]
fn the_published_definitions_disagree_about_one_analysis() {
    let sizes = |analysis: &SieveAnalysis| {
        Definition::ALL
            .map(|definition| definition.of(analysis).map_or_else(|why| why, Sieve::in_mm))
    };
    // In the order of `Definition::ALL`.
    assert_eq!(sizes(&even()), ["19.0", "19.0", "19.0", "25.0", "19.0"]);
    assert_eq!(sizes(&tailed()), ["12.5", "16.0", "16.0", "25.0", "19.0"]);
}

#[test]
fn exactly_ten_percent_is_not_more_than_ten() {
    let with = |on_12_5: &str, pan: &str| {
        let kept = rows(&[("19.0", "0"), ("16.0", "0"), ("12.5", on_12_5), ("9.5", "500")]);
        let analysis = SieveAnalysis::new(kept, dec(pan), None, None).unwrap();
        Definition::OneAbove10Percent.of(&analysis).unwrap().in_mm()
    };
    assert_eq!(with("100", "400"), "12.5");
    assert_eq!(with("100.1", "399.9"), "16.0");
}

#[test]
fn no_size_is_invented_beyond_the_sieves_that_were_used() {
    let of = |kept: &[(&str, &str)], pan: &str| {
        let analysis = SieveAnalysis::new(rows(kept), dec(pan), None, None).unwrap();
        Definition::OneAbove10Percent.of(&analysis).unwrap_err()
    };
    assert_eq!(
        of(&[("12.5", "200"), ("9.5", "500")], "300"),
        "the coarsest sieve, 12.5 mm (1/2 in.), already retains more than 10 %; sieve over a coarser one as well"
    );
    assert_eq!(
        of(&[("12.5", "0"), ("9.5", "50")], "950"),
        "no sieve down to 9.5 mm (3/8 in.) retains more than 10 %; sieve over a finer one as well"
    );
}

#[test]
fn the_method_takes_the_grading_of_the_size_and_says_why() {
    let method = method("astm-d6928");
    let why = |size: &str| {
        let choice = choose(&method, dec(size)).unwrap();
        (choice.grading.name.clone(), choice.why)
    };
    let cases = [
        ("37.5", "19.0"),
        ("25.0", "19.0"),
        ("19.0", "19.0"),
        ("16.0", "12.5"),
        ("12.5", "12.5"),
        ("9.5", "9.5"),
        ("4.75", "9.5"),
    ];
    for (size, grading) in cases {
        assert_eq!(why(size).0, grading, "{size} mm");
    }
    assert_eq!(
        why("19.0").1,
        "the nominal maximum size is 19.0 mm; ASTM D6928 takes the grading 19.0 for: nominal maximum size 19.0 mm or larger"
    );
    assert_eq!(
        why("16.0").1,
        "the nominal maximum size is 16.0 mm; ASTM D6928 takes the grading 12.5 for: nominal maximum size 12.5 mm; the next, 19.0, begins at 19.0 mm (the usual choice; 16.0 mm stone is run with it too)"
    );
    assert!(why("4.75").1.ends_with(", the smallest that it has"));
    assert!(choose(&self::method("en-1097-1"), dec("14")).is_none(), "EN does not go by size");
    assert_eq!(
        choose(&self::method("astm-d7428"), dec("4.75")).unwrap().grading.fractions.len(),
        6
    );
}

fn planned(analysis: &SieveAnalysis, grading: &str, received: Option<&str>) -> MakeUp {
    let method = method("astm-d6928");
    let grading = method.grading(grading).unwrap();
    make_up(&method, grading, analysis, received.map(dec), dec("10"))
}

#[test]
fn bulk_is_wanted_over_share_with_the_margin_and_the_scarcest_fraction_governs() {
    let plan = planned(&even(), "19.0", None);
    let rows: Vec<_> = plan
        .fractions
        .iter()
        .map(|one| {
            let share = one.share_percent.as_ref().unwrap().to_string();
            (one.in_words(), one.mass_g.to_string(), share, one.bulk_needed_g.unwrap().to_string())
        })
        .collect();
    let row = |a: &str, b: &str, c: &str, d: &str| (a.into(), b.into(), c.into(), d.into());
    // 375 / 11 % = 3409.09…, with 10 % exactly 3750; 375 / 20 % = 1875, 2062.5 up to 2063;
    // 750 / 25 % = 3000, 3300.
    let wanted: Vec<(String, String, String, String)> = vec![
        row("19.0 to 16.0 mm", "375", "11", "3750"),
        row("16.0 to 12.5 mm", "375", "20", "2063"),
        row("12.5 to 9.5 mm", "750", "25", "3300"),
    ];
    assert_eq!(rows, wanted);
    assert_eq!((plan.bulk_needed_g, plan.governs), (Some(dec("3750")), Some(0)));
    assert!(!plan.is_short());
}

#[test]
fn a_fraction_that_the_received_material_cannot_give_is_short() {
    // 11 % of 3200 g are 352 g of the 375 wanted. The next smaller grading can be had: 800, 640
    // and 384 g of 750, 375 and 375.
    let plan = planned(&even(), "19.0", Some("3200"));
    let short: Vec<String> = plan.short().map(FractionPlan::in_words).collect();
    assert_eq!(short, ["19.0 to 16.0 mm"]);
    assert_eq!(plan.fractions[0].available_g.as_ref().unwrap().to_string(), "352");
    assert_eq!(plan.instead.as_deref(), Some("12.5"));
    // Of 3000 g the smaller one is short too: 360 g of the 375 between 6.3 and 4.75 mm.
    assert_eq!(planned(&even(), "19.0", Some("3000")).instead, None);
    // Exactly enough is enough.
    assert!(!planned(&even(), "12.5", Some("3125")).is_short());
    assert!(planned(&even(), "12.5", Some("3124.9")).is_short());
}

#[test]
fn a_fraction_of_which_there_is_nothing_is_short_however_much_is_received() {
    let kept = rows(&[("19.0", "0"), ("16.0", "0"), ("12.5", "500"), ("9.5", "500")]);
    let none = SieveAnalysis::new(kept, dec("0"), None, None).unwrap();
    let plan = planned(&none, "19.0", None);
    assert!(plan.fractions[0].is_short);
    assert_eq!((plan.fractions[0].bulk_needed_g, plan.bulk_needed_g), (None, None));
}

#[test]
fn a_share_is_not_invented_where_the_analysis_has_no_sieve() {
    // 6.7 mm, as older sets have it, instead of 6.3 mm.
    let kept = rows(&[("12.5", "0"), ("9.5", "400"), ("6.7", "300"), ("4.75", "200")]);
    let older = SieveAnalysis::new(kept, dec("100"), None, None).unwrap();
    let plan = planned(&older, "12.5", Some("5000"));
    assert_eq!(plan.missing_sieves_mm(), [dec("6.3")]);
    assert_eq!(plan.fractions[0].share_percent.as_ref().unwrap().to_string(), "40");
    assert_eq!(plan.fractions[1].share_percent, Err(vec![dec("6.3")]));
    assert!(!plan.is_short(), "not known is not short");
    assert_eq!((plan.bulk_needed_g, plan.governs), (None, None));
    // Where the sieves around kept nothing between them, the share is known without the sieve.
    let kept = rows(&[("12.5", "0"), ("9.5", "500"), ("6.7", "0"), ("4.75", "0")]);
    let narrow = SieveAnalysis::new(kept, dec("500"), None, None).unwrap();
    assert_eq!(narrow.cumulative_g_at(dec("6.3")), Some(dec("500")));
    assert_eq!(narrow.cumulative_g_at(dec("19.0")), Some(dec("0")));
    assert_eq!(narrow.cumulative_g_at(dec("2.36")), None);
}

#[test]
fn masses_that_cannot_be_are_refused() {
    let new = |kept: &[(&str, &str)], pan: &str, before: Option<&str>, after: Option<&str>| {
        SieveAnalysis::new(rows(kept), dec(pan), before.map(dec), after.map(dec)).unwrap_err()
    };
    let one: &[(&str, &str)] = &[("4.75", "5")];
    assert_eq!(new(&[], "1", None, None), AnalysisError::NoSieve);
    assert_eq!(
        new(&[("3/4", "1"), ("19", "2")], "1", None, None).to_string(),
        "the sieve 19.0 mm (3/4 in.) stands twice; add up what it kept, or put one of them right"
    );
    assert!(matches!(new(&[("19", "-1")], "1", None, None), AnalysisError::Negative { .. }));
    assert!(matches!(new(one, "1000001", None, None), AnalysisError::TooHeavy { .. }));
    assert_eq!(new(&[("4.75", "0")], "0", None, None), AnalysisError::Empty);
    assert_eq!(new(one, "1", None, Some("6")), AnalysisError::WashedWithoutBefore);
    assert!(matches!(new(one, "1", Some("6"), Some("7")), AnalysisError::GainedInWash { .. }));
}
