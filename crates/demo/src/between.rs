//! Between laboratories: four years of scores in the rounds of a provider, one of them questionable
//! with what was done about it; and one finished round of six laboratories that was organised here.
//! Laboratories, provider and figures are invented.

use crate::everyday::Stone;
use crate::story::{DemoError, Story};
use jiff::ToSpan;
use stonewear_lab::request::{
    ActOnScore, CloseRound, CloseScore, JudgeCell, PlanRound, TakeInOwnResults, TakeInResults,
    TakeInScores, TestHomogeneity,
};
use stonewear_lab::state::Round;

/// What the provider sent, two rounds a year.
const SCORES: &str = "\
Round;Date;Material;Value, %;Assigned value, %;Standard deviation, %;Assigned standard uncertainty
2023 spring;2023-03-21;andesite;11,9;12,2;0,6;0,1
2023 autumn;2023-09-19;limestone;21,4;20,8;0,9;0,15
2024 spring;2024-03-19;gravel;15,1;14,8;0,7;0,12
2024 autumn;2024-09-17;dolerite;9,6;9,2;0,5;0,08
2025 spring;2025-03-18;gritstone;18,6;16,7;0,8;0,14
2025 autumn;2025-09-16;andesite;12,7;12,4;0,6;0,1
2026 spring;2026-03-17;limestone;20,3;20,6;0,9;0,16
2026 autumn;2026-09-08;gravel;14,6;14,9;0,7;0,11
";

/// Which of them is questionable: (18.6 - 16.7) / 0.8 = 2.4, the fifth row.
const QUESTIONABLE: usize = 4;

/// Who takes part beside this laboratory.
const OTHERS: [&str; 5] = [
    "Kelsby Road Laboratory; Ansa Birk",
    "Fenwick Aggregates Laboratory; R. Vale",
    "Orrin Stone Testing; the laboratory manager",
    "Marl & Pike Materials; Joss Pike",
    "Sandholm Technical School; Dr Ude Falk",
];

/// Their results of the materials A and B, in the order of the list.
const RESULTS: [[&str; 4]; 5] = [
    ["11.9", "12.1", "19.8", "20.1"],
    ["12.6", "12.4", "20.9", "20.6"],
    ["11.4", "11.7", "19.2", "19.6"],
    ["12.2", "12.0", "24.6", "20.3"],
    ["13.7", "13.5", "21.4", "21.1"],
];

/// Two results of each of ten bags of a material, hundredths of a percent beside its level.
const BAGS: [[i64; 2]; 10] = [
    [-12, 10],
    [4, -8],
    [15, -3],
    [-10, -2],
    [9, 1],
    [-5, 12],
    [2, -14],
    [11, -6],
    [-9, 7],
    [3, 6],
];

/// What we tested of them ourselves, tenths of a percent.
const OURS: [(&str, Stone, [i64; 2]); 2] = [
    ("A", split("split sample, material A", "crushed andesite 10/20"), [119, 122]),
    ("B", split("split sample, material B", "crushed limestone 10/20"), [198, 202]),
];

const fn split(source: &'static str, material: &'static str) -> Stone {
    Stone {
        source,
        material,
        client: "own use",
        project: "round between laboratories",
        intended_use: "comparison",
        nominal_maximum_mm: "19.0",
        grading: "19.0",
        loss_tenths: 0,
        limit_percent: "",
        limit_document: "",
        reference: false,
    }
}

impl Story<'_> {
    /// The provider's table is taken in, and its one questionable score dealt with.
    pub(crate) fn scores(&mut self, manager: &str) -> Result<(), DemoError> {
        self.later(9.hours())?;
        self.ask(
            manager,
            TakeInScores {
                provider: "Northmoor Comparison Rounds".to_owned(),
                method: "astm-d6928".to_owned(),
                table: SCORES.to_owned(),
                ..TakeInScores::default()
            },
        )?;
        let score = self.lab.scores.keys().nth(QUESTIONABLE).map(ToString::to_string);
        let score = score.ok_or(DemoError::Expected("a score"))?;
        self.later(20.minutes())?;
        self.ask(
            manager,
            ActOnScore {
                score: score.clone(),
                cause: "the charge was 22 g light after a winter without a check of its balls"
                    .to_owned(),
                action: "charge made up, its check now every month, operators told".to_owned(),
            },
        )?;
        self.later(10.minutes())?;
        let finding = "three rounds since, all satisfactory, none beyond half a standard deviation"
            .to_owned();
        self.ask(manager, CloseScore { score, finding }).map(drop)
    }

    /// A round is planned, and its bags are tested.
    pub(crate) fn plan_round(&mut self, manager: &str, tester: &str) -> Result<(), DemoError> {
        self.later(10.hours())?;
        self.ask(
            manager,
            PlanRound {
                title: "Autumn round with split samples".to_owned(),
                method: "astm-d6928".to_owned(),
                materials: "A; crushed andesite 10/20, 6 kg; 0.6\n\
                            B; crushed limestone 10/20, 6 kg; 0.9"
                    .to_owned(),
                replicates: "2".to_owned(),
                participants: format!("own\n{}", OTHERS.join("\n")),
                closes_on: "2026-11-20".to_owned(),
                seed: "1097".to_owned(),
                instructions: "Grading 19.0. Ask for a new bag if one is torn.".to_owned(),
                ..PlanRound::default()
            },
        )?;
        let mut table = "material,bag,value\n".to_owned();
        for (material, hundredths) in [("A", 1205), ("B", 2010)] {
            for (bag, beside) in (1..).zip(BAGS) {
                for one in beside.map(|beside| hundredths + beside) {
                    table += &format!("{material},{bag},{}.{:02}\n", one / 100, one % 100);
                }
            }
        }
        let round = self.the_round()?.code().to_string();
        self.later(5.hours())?;
        self.ask(tester, TestHomogeneity { round, table, ..TestHomogeneity::default() }).map(drop)
    }

    /// Our own part of a material is tested and handed in.
    pub(crate) fn own_part(
        &mut self,
        part: usize,
        people: (&str, &str),
        balance: &str,
    ) -> Result<(), DemoError> {
        let &(material, stone, losses_tenths) =
            OURS.get(part).ok_or(DemoError::Expected("a material of the round"))?;
        let sample = self.replicate(people, balance, stone, losses_tenths, "")?;
        let results = self.lab.results.values();
        let of_sample = results.filter(|result| result.sample.as_str() == sample);
        let codes: Vec<String> = of_sample.map(|result| result.code.to_string()).collect();
        let round = self.the_round()?.code().to_string();
        self.later(5.minutes())?;
        let own = TakeInOwnResults {
            round,
            material: material.to_owned(),
            results: codes.join(" "),
            ..TakeInOwnResults::default()
        };
        self.ask(people.0, own).map(drop)
    }

    /// The others' files come in, one at a time; one cell is left out, and the round is closed.
    pub(crate) fn end_round(&mut self, manager: &str, releaser: &str) -> Result<(), DemoError> {
        let round = self.the_round()?.code().to_string();
        let mut odd = String::new();
        self.later(9.hours())?;
        for (laboratory, values) in OTHERS.into_iter().zip(RESULTS) {
            let name = laboratory.split(';').next().unwrap_or_default();
            let joined = self.the_round()?.participants.values();
            let code = joined.map(|joined| &joined.value).find(|joined| joined.laboratory == name);
            let code = code.ok_or(DemoError::Expected("a participant"))?.participant.to_string();
            let [a1, a2, b1, b2] = values;
            let table = format!(
                "code,material,replicate,value\n{code},A,1,{a1}\n{code},A,2,{a2}\n{code},B,1,{b1}\n{code},B,2,{b2}\n"
            );
            if values[2] == "24.6" {
                odd.clone_from(&code);
            }
            self.later(7.minutes())?;
            let source = format!("file {code}.csv by e-mail");
            let round = round.clone();
            self.ask(manager, TakeInResults { round, table, source, ..TakeInResults::default() })?;
        }
        self.later(1.hour())?;
        self.ask(
            releaser,
            JudgeCell {
                round: round.clone(),
                participant: odd,
                material: "B".to_owned(),
                left_out: "yes".to_owned(),
                reason: "they write that the lid of the first jar leaked and water was lost"
                    .to_owned(),
            },
        )?;
        self.later(15.minutes())?;
        let remark = "Thank you all. The next round is planned for spring.".to_owned();
        self.ask(releaser, CloseRound { round, remark }).map(drop)
    }

    fn the_round(&self) -> Result<&Round, DemoError> {
        self.lab.rounds.values().next().ok_or(DemoError::Expected("a round"))
    }
}
