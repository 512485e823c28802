//! One invented report, for tests, examples and whoever wants to see what a paper looks like.

use crate::*;

impl TestReport {
    /// A complete report of an ordinary coarse test. Everything in it is invented and it is marked
    /// so; the figures of the method are those of the coarse test with the 19.0 mm grading.
    pub fn example() -> Self {
        Self {
            language: "en".into(),
            paper: PaperSize::A4,
            invented: true,
            number: "R-2026-0117".into(),
            title: "Loss of coarse aggregate in wet attrition".into(),
            issued_at: "2026-03-18T14:05:00Z".into(),
            laboratory: Laboratory {
                name: "Alder Ford Materials Laboratory".into(),
                address: vec!["4 Weir Lane".into(), "Alder Ford".into()],
                place_of_work: Some("Bay 2, wet room".into()),
                ..Laboratory::default()
            },
            customer: Customer {
                name: "Harrow Vale Roads".into(),
                address: vec!["12 Old Toll House".into(), "Harrow Vale".into()],
                reference: "HV 26/041".into(),
            },
            project: "Harrow Vale bypass, section 3".into(),
            method: MethodName {
                designation: "ASTM D6928".into(),
                edition: "2010".into(),
                title: "Coarse aggregate, abrasion in a rolling jar with water".into(),
            },
            sample: SampleFacts {
                code: "S-2026-0231".into(),
                source: "Cold Knuckle quarry, bench 4".into(),
                material: "Crushed dolerite, 19 mm".into(),
                intended_use: "Surface course".into(),
                condition: "Two sealed bags, damp, undamaged".into(),
                sampling: "Taken by the customer from the stockpile".into(),
            },
            dates: Dates {
                sampled: "2026-03-09".into(),
                received: "2026-03-11".into(),
                tested: "2026-03-17".into(),
                issued: "2026-03-18".into(),
            },
            loss: loss(),
            specimens: vec![specimen()],
            deviations: Vec::new(),
            doubts: Vec::new(),
            amendments: Vec::new(),
            unconfirmed: vec![
                unconfirmed("water, tolerance", "± 0.05 L"),
                unconfirmed("water temperature", "20 ± 5 °C"),
                unconfirmed("revolutions, tolerance", "± 100"),
                unconfirmed("running time, tolerance", "± 1 min"),
            ],
            precision: "Two results of one sample from two laboratories: coefficient of variation \
                        about 5.6 % near a loss of 17 % (from memory, unconfirmed)."
                .into(),
            agreement: Vec::new(),
            external: Vec::new(),
            evidence: evidence(),
            files: Vec::new(),
            authorised: Some(Authorisation {
                name: "Ilse Maron".into(),
                role: "Head of the aggregate bench".into(),
                at: "2026-03-18 14:05 UTC".into(),
            }),
            anchor: Some(JournalAnchor {
                position: 4182,
                head: "9c1f4b7ad20e83566f0b1d94c7e2a83b5d6e901f7a24c8b35e0d716f29ab84c3".into(),
            }),
            before_issue: false,
            remark: String::new(),
            stated: "Source, sampling and intended use as stated by the customer.".into(),
            mark: None,
        }
    }
}

fn loss() -> ReportedLoss {
    ReportedLoss {
        name: "Loss in wet attrition".into(),
        value: "14.8".into(),
        unit: "%".into(),
        working: vec![
            line("Formula", "L = 100 (A − B) / A"),
            line("With numbers", "L = 100 (1499.8 − 1278.1) / 1499.8"),
            line("Unrounded", "14.78197…"),
            line("Rounding", "to 0.1, a half to the even digit (ASTM E29)"),
            line("Reported", "14.8 %"),
        ],
        uncertainty: Some(Uncertainty {
            expanded: "1.1".into(),
            coverage_factor: "2".into(),
            coverage: "95 %".into(),
            basis: "from the laboratory's own reference aggregate".into(),
        }),
        decision: Some(Decision {
            requirement: "at most 17.0 %".into(),
            document: "Harrow Vale specification HV-7, table 2".into(),
            rule: "guard band equal to the expanded uncertainty; risk of a false acceptance at \
                   most 2.5 %"
                .into(),
            outcome: Outcome::Conforms,
            strip: Strip {
                upper: Some("17.0".into()),
                acceptance_upper: Some("15.9".into()),
                ..Strip::default()
            },
        }),
    }
}

fn specimen() -> Specimen {
    use Verdict::{Inside, NotJudged};
    let fraction =
        |passing_mm: &str, retained_mm: &str, wanted_g: &str, weighed_g: &str, verdict| Fraction {
            passing_mm: passing_mm.into(),
            retained_mm: retained_mm.into(),
            wanted_g: wanted_g.into(),
            weighed_g: weighed_g.into(),
            verdict,
        };
    let condition = |what: &str, observed: &str, limit: &str, verdict| Condition {
        what: what.into(),
        observed: observed.into(),
        limit: limit.into(),
        verdict,
    };
    let weighing = |symbol: &str, what: &str, mass_g: &str| Weighing {
        symbol: symbol.into(),
        what: what.into(),
        mass_g: mass_g.into(),
        balance: "BAL-02".into(),
    };
    Specimen {
        code: "S-2026-0231-A".into(),
        grading: "19.0 mm".into(),
        fractions: vec![
            fraction("19.0", "16.0", "375", "375.1", NotJudged),
            fraction("16.0", "12.5", "375", "374.8", NotJudged),
            fraction("12.5", "9.5", "750", "749.9", NotJudged),
        ],
        total: Some(fraction("", "", "1500 ± 5", "1499.8", Inside)),
        conditions: vec![
            condition("Apparatus", "AP-01, jar mill in bay 2", "", NotJudged),
            condition("Jar and position", "J-03, lower left", "", NotJudged),
            condition("Charge", "5001.2 g", "4995 to 5005 g", Inside),
            condition("Water", "2.00 L", "1.95 to 2.05 L", Inside),
            condition("Water temperature", "20.4 °C", "15 to 25 °C", Inside),
            condition("Soak", "1 h 10 min", "at least 1 h", Inside),
            condition("Revolutions", "12 004", "11 900 to 12 100", Inside),
            condition("Running time", "119.6 min", "119 to 121 min", Inside),
            condition("Speed", "100.4 rpm", "95 to 105 rpm", Inside),
        ],
        weighings: vec![
            weighing("A", "oven-dry, before", "1499.8"),
            weighing("B", "oven-dry, kept on 1.18 mm, after", "1278.1"),
        ],
    }
}

fn evidence() -> Vec<EvidenceLink> {
    let link = |kind: &str, code: &str, name: &str, state: &str, standing| EvidenceLink {
        kind: kind.into(),
        code: code.into(),
        name: name.into(),
        state: state.into(),
        standing,
    };
    let on = |day: &str| Standing::Recorded { on: day.into() };
    let proved = |since: &str, until: &str| Standing::Proved {
        since: since.into(),
        until: Some(until.into()),
    };
    vec![
        link("Specimen", "S-2026-0231-A", "", "made up", on("2026-03-16")),
        link("Run", "RUN-0409", "", "complete", on("2026-03-17")),
        link("Jar", "J-03", "", "in service", proved("2026-01-12", "2027-01-12")),
        link("Ball charge", "C-02", "", "in service", proved("2026-03-02", "2026-04-02")),
        link("Apparatus", "AP-01", "jar mill", "in service", proved("2025-11-20", "2026-11-20")),
        link("Balance", "BAL-02", "6 kg", "in service", proved("2026-02-04", "2027-02-04")),
        link("Person", "T. Okoro", "", "authorised", proved("2024-05-01", "2026-05-01")),
    ]
}

fn line(label: &str, text: &str) -> WorkedLine {
    WorkedLine { label: label.into(), text: text.into() }
}

fn unconfirmed(name: &str, value: &str) -> UnconfirmedFigure {
    UnconfirmedFigure { name: name.into(), value: value.into(), confidence: "from memory".into() }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_example_says_that_it_is_invented_and_survives_json() {
        let report = TestReport::example();
        assert!(report.invented);
        let json = serde_json::to_string(&report).unwrap();
        assert_eq!(serde_json::from_str::<TestReport>(&json).unwrap(), report);
    }

    #[test]
    fn a_broken_link_is_told_from_a_whole_one() {
        assert!(Standing::NotProved { why: "never checked".into() }.is_broken());
        assert!(TestReport::example().evidence.iter().all(|link| !link.standing.is_broken()));
    }
}
