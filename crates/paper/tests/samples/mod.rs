//! Reports that strain the page in different ways. All invented.

use stonewear_report::{
    Amendment, Condition, Deviation, Doubt, Fraction, Outcome, PaperSize, Standing, TestReport,
    Verdict,
};

/// Every sample by name.
pub(crate) fn all() -> Vec<(&'static str, TestReport)> {
    vec![
        ("plain", TestReport::example()),
        ("letter", TestReport { paper: PaperSize::Letter, ..TestReport::example() }),
        ("failing", failing()),
        ("guarded", guarded()),
        ("no-limit", no_limit()),
        ("two-specimens", two_specimens()),
        ("crowded", crowded()),
        ("thirty-fractions", thirty_fractions()),
        ("letters", letters()),
        ("draft", TestReport { authorised: None, ..TestReport::example() }),
        ("empty", empty()),
    ]
}

/// Over the limit, on an apparatus that nobody proved.
pub(crate) fn failing() -> TestReport {
    let mut report = TestReport::example();
    with_loss(&mut report, "1180.3", "21.30284…", "21.3");
    decide(&mut report, Outcome::DoesNotConform);
    report.evidence[4].standing = Standing::NotProved { why: "speed check failed".into() };
    report.evidence[4].state = "held".into();
    let speed = &mut report.specimens[0].conditions[8];
    speed.observed = "93.8 rpm".into();
    speed.verdict = Verdict::Outside;
    report.deviations.push(Deviation {
        rule: "Apparatus in service".into(),
        what: "run on AP-01 while it was held".into(),
        reason: "the only machine with free positions; customer informed".into(),
        who: "Ilse Maron".into(),
    });
    report
}

/// Another outcome of the decision.
pub(crate) fn decide(report: &mut TestReport, outcome: Outcome) {
    if let Some(decision) = &mut report.loss.decision {
        decision.outcome = outcome;
    }
}

/// Another mass after the run, and what follows from it.
fn with_loss(report: &mut TestReport, after_g: &str, unrounded: &str, value: &str) {
    report.specimens[0].weighings[1].mass_g = after_g.into();
    report.loss.working[1].text = format!("L = 100 (1499.8 − {after_g}) / 1499.8");
    report.loss.working[2].text = unrounded.into();
    report.loss.working[4].text = format!("{value} %");
    report.loss.value = value.into();
}

/// In the guard band.
pub(crate) fn guarded() -> TestReport {
    let mut report = TestReport::example();
    with_loss(&mut report, "1253.8", "16.40218…", "16.4");
    decide(&mut report, Outcome::ConformsInGuardBand);
    report
}

/// Nothing to compare with, nothing known of the uncertainty.
pub(crate) fn no_limit() -> TestReport {
    let mut report = TestReport::example();
    report.loss.decision = None;
    report.loss.uncertainty = None;
    report.unconfirmed.clear();
    report.precision.clear();
    report
}

/// A method that averages two specimens.
pub(crate) fn two_specimens() -> TestReport {
    let mut report = TestReport::example();
    let mut second = report.specimens[0].clone();
    second.code = "S-2026-0231-B".into();
    report.specimens.push(second);
    report
}

/// Long names everywhere, everything that can go wrong.
pub(crate) fn crowded() -> TestReport {
    let mut report = failing();
    report.title = "Loss of coarse aggregate in wet attrition, from the joint stockpile of the \
                    northern and the southern bench"
        .into();
    report.customer.name =
        "The Harrow Vale and Upper Weir Joint Board of Road Surveyors and Bridge Wardens".into();
    report.project = "Donaudampfschifffahrtsgesellschaftskapitänshaus, Zufahrtsstraße".into();
    report.sample.source = "x".repeat(90);
    report.amendments.push(Amendment {
        replaces: "R-2026-0101".into(),
        what: "Sample's source corrected from bench 3 to bench 4".into(),
        reason: "the delivery note was misread".into(),
        who: "T. Okoro".into(),
        at: "2026-03-18".into(),
    });
    for number in 1..=7 {
        report.deviations.push(Deviation {
            rule: format!("Rule number {number} of the method"),
            what:
                "the sample rested four hours longer in the soak than planned, because the power \
                   was off in the whole street"
                    .into(),
            reason: "power cut".into(),
            who: "Ilse Maron".into(),
        });
    }
    report.doubts.push(Doubt {
        what: "Balance BAL-02 read 0.6 g high on 2026-03-17".into(),
        effect: "The loss changes by less than 0.1 %.".into(),
        since: "2026-03-19".into(),
    });
    let mut more = report.evidence.clone();
    for link in &mut more {
        link.code = format!("{}-second-of-the-kind", link.code);
    }
    report.evidence.extend(more);
    report.specimens[0].conditions.push(Condition {
        what: "Temperature of the wet room".into(),
        observed: "between 19.2 °C and 22.8 °C through the day".into(),
        limit: "15 to 25 °C by the house rules of the laboratory".into(),
        verdict: Verdict::Inside,
    });
    report
}

/// More fractions than any method has.
pub(crate) fn thirty_fractions() -> TestReport {
    let mut report = TestReport::example();
    report.specimens[0].fractions = (0..30)
        .map(|number| Fraction {
            passing_mm: format!("{}.0", 63 - 2 * number),
            retained_mm: format!("{}.0", 61 - 2 * number),
            wanted_g: "50 ± 1".into(),
            weighed_g: if number == 7 { "51.4" } else { "50.2" }.into(),
            verdict: if number == 7 { Verdict::Outside } else { Verdict::Inside },
        })
        .collect();
    report
}

/// Letters of many languages, and everything that means something to the typesetter.
pub(crate) fn letters() -> TestReport {
    let mut report = TestReport::example();
    report.customer.name = "Łódź Żwir & Größe, Σίγμα, Щебень, 石材".into();
    report.project =
        r##"#let x = 1 *bold* _it_ $a^2$ <tag> @ref \ `raw` = head // "q" #panic()"##.into();
    report.sample.material = "déjà vu – “naïve” 1 ≤ 2 ± 0.5 µm · 20 °C".into();
    report.sample.condition = "- list + more / term: \u{202E}evil\u{7}".into();
    report
}

/// Nothing but the instant, which every file must carry.
pub(crate) fn empty() -> TestReport {
    TestReport { issued_at: "2026-03-18T14:05:00Z".into(), ..TestReport::default() }
}
