//! Two studies of the demo laboratory: whether the positions and jars of its mill are the same, a
//! Latin square that is concluded; and the qualification of the mill after a repair, in progress.

use crate::chance::Chance;
use crate::everyday::Stone;
use crate::story::{DemoError, Story};
use jiff::ToSpan;
use stonewear_lab::fact::{Fact, StudyPlanned};
use stonewear_lab::request::{
    AssignStudyRun, ConcludeStudy, FactorForm, ImportStudyValues, Placement, PlanStudy,
    ReleaseResult, StartRun,
};
use stonewear_lab::{SampleCode, SpecimenCode};
use stonewear_measure::Decimal;

const BALANCE: &str = "BAL-1";
/// The places of the mill.
const PLACES: [(&str, &str); 4] = [("upper", "1"), ("upper", "2"), ("lower", "1"), ("lower", "2")];
/// Runs of the qualification that are done when the scenario ends.
const QUALIFIED_SO_FAR: usize = 3;

/// Who plans and concludes, who works, who releases.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Crew {
    pub(crate) manager: &'static str,
    pub(crate) tester: &'static str,
    pub(crate) engineer: &'static str,
}

/// A specimen on its way into a jar.
struct Placed {
    specimen: SpecimenCode,
    tier: &'static str,
    position: &'static str,
    jar: String,
}

impl Story<'_> {
    /// The positions study from its plan to its conclusion: four turnings of four jars, whose losses
    /// come from a notebook.
    pub(crate) fn positions_study(&mut self, crew: Crew, stone: Stone) -> Result<(), DemoError> {
        // What chance gives here must not move what it gives to the weeks that follow.
        let everyday = std::mem::replace(&mut self.chance, Chance::new(74));
        let done = self.positions(crew, stone);
        self.chance = everyday;
        done
    }

    fn positions(&mut self, crew: Crew, stone: Stone) -> Result<(), DemoError> {
        let sample = self.study_sample(crew, stone, "30 kg")?;
        let positions = PLACES.map(|(tier, position)| format!("{tier}-{position}")).join(", ");
        let plan = self.study(
            crew,
            PlanStudy {
                title: "are the four positions and jars the same".to_owned(),
                question: "same".to_owned(),
                item: self.mill.to_owned(),
                sample: sample.to_string(),
                factors: vec![
                    factor("position", &positions),
                    factor("jar", "JAR-1, JAR-2, JAR-3, JAR-4"),
                    factor("turning", "1, 2, 3, 4"),
                ],
                difference: "1.0".to_owned(),
                deviation: "0.35".to_owned(),
                deviation_source: "scatter of the reference lot on its chart (invented)".to_owned(),
                repetitions: "1".to_owned(),
                seed: "20260323".to_owned(),
                ..PlanStudy::default()
            },
        )?;
        // Done in the same week beside the everyday work, kept in the bench notebook.
        self.later(76.hours())?;
        let true_loss = Decimal::new(stone.loss_tenths, 1);
        let mut table = "run,loss\n".to_owned();
        for run in &plan.runs {
            let loss = true_loss + self.chance.noise(Decimal::new(35, 2), 2);
            table.push_str(&format!("{},{loss}\n", run.run));
        }
        self.ask(
            crew.manager,
            ImportStudyValues {
                study: plan.study.to_string(),
                table,
                document: "bench notebook 4, pages 12 to 15".to_owned(),
                reason: String::new(),
            },
        )?;
        self.later(1.hour())?;
        self.ask(
            crew.engineer,
            ConcludeStudy {
                study: plan.study.to_string(),
                remark: "positions and jars are used as they come; looked at again when a jar is replaced"
                    .to_owned(),
                ..ConcludeStudy::default()
            },
        )
        .map(drop)
    }

    /// The qualification of the mill after a repair: planned, and its first runs done.
    pub(crate) fn qualification(&mut self, crew: Crew, stone: Stone) -> Result<(), DemoError> {
        let everyday = std::mem::replace(&mut self.chance, Chance::new(104));
        let done = self.qualify(crew, stone);
        self.chance = everyday;
        done
    }

    fn qualify(&mut self, crew: Crew, stone: Stone) -> Result<(), DemoError> {
        let sample = self.study_sample(crew, stone, "15 kg")?;
        let plan = self.study(
            crew,
            PlanStudy {
                title: "the mill in bay 1 after its lower rollers were renewed".to_owned(),
                question: "reference".to_owned(),
                item: self.mill.to_owned(),
                sample: sample.to_string(),
                difference: "0.8".to_owned(),
                difference_source: "laboratory manual, 7.9 (invented)".to_owned(),
                reference_value: Decimal::new(stone.loss_tenths, 1).to_string(),
                reference_uncertainty: "0.12".to_owned(),
                reference_source: "baseline of this material on the chart (invented)".to_owned(),
                deviation: "0.4".to_owned(),
                deviation_source: "scatter of the reference lot on its chart (invented)".to_owned(),
                repetitions: "6".to_owned(),
                seed: "20261116".to_owned(),
                ..PlanStudy::default()
            },
        )?;
        let specimens = self.made_up_together(crew.tester, stone, &sample, QUALIFIED_SO_FAR)?;
        let mut placed = Vec::new();
        for ((run, specimen), (number, (tier, position))) in
            plan.runs.iter().zip(specimens).zip((2..).zip(PLACES))
        {
            self.assigned(crew.tester, &plan, run.run, &specimen)?;
            placed.push(Placed { specimen, tier, position, jar: format!("JAR-{number}") });
        }
        self.turned_together(crew, stone, &placed)
    }

    fn study_sample(
        &mut self,
        crew: Crew,
        stone: Stone,
        received: &str,
    ) -> Result<SampleCode, DemoError> {
        // The material of a study is no point of the chart of its lot.
        let lot = std::mem::take(&mut self.lot);
        let sample = self.receive_of(crew.tester, stone, received);
        self.lot = lot;
        self.later(1.hour())?;
        sample
    }

    fn study(&mut self, crew: Crew, plan: PlanStudy) -> Result<StudyPlanned, DemoError> {
        let plan = PlanStudy { method: "astm-d6928".to_owned(), ..plan };
        match self.ask(crew.manager, plan)?.into_iter().next() {
            Some(Fact::StudyPlanned(plan)) => Ok(*plan),
            _ => Err(DemoError::Expected("a study")),
        }
    }

    fn assigned(
        &mut self,
        by: &str,
        plan: &StudyPlanned,
        run: u32,
        specimen: &SpecimenCode,
    ) -> Result<(), DemoError> {
        self.later(2.minutes())?;
        self.ask(
            by,
            AssignStudyRun {
                study: plan.study.to_string(),
                run: run.to_string(),
                specimen: specimen.to_string(),
                ..AssignStudyRun::default()
            },
        )
        .map(drop)
    }

    /// Specimens that are dried in the same oven at once.
    fn made_up_together(
        &mut self,
        by: &str,
        stone: Stone,
        sample: &SampleCode,
        count: usize,
    ) -> Result<Vec<SpecimenCode>, DemoError> {
        let mut wet = Vec::new();
        for _ in 0..count {
            self.later(5.minutes())?;
            wet.push(self.fractions(by, BALANCE, stone, sample)?);
        }
        self.later(4.hours())?;
        let mut specimens = Vec::new();
        for (specimen, total) in wet {
            self.later(3.minutes())?;
            self.dry_mass(by, BALANCE, &specimen, total)?;
            specimens.push(specimen);
        }
        Ok(specimens)
    }

    /// One run of several jars, its losses and their release; nothing differs but by chance.
    fn turned_together(
        &mut self,
        crew: Crew,
        stone: Stone,
        placed: &[Placed],
    ) -> Result<(), DemoError> {
        self.later(80.minutes())?;
        let mut placements = Vec::new();
        let mut charges = Vec::new();
        for one in placed {
            let charge = one.jar.replace("JAR", "BC");
            let off = self.chance.between(-30, 30);
            let charge_g = self.charge_g(crew.tester, &charge, off)?;
            placements.push(Placement {
                tier: one.tier.to_owned(),
                position: one.position.to_owned(),
                specimen: one.specimen.to_string(),
                jar: one.jar.clone(),
                charge: charge.clone(),
                charge_g: charge_g.to_string(),
                charge_balls: String::new(),
                water_l: "2.00".to_owned(),
                soaked_h: "1.5".to_owned(),
            });
            charges.push(charge);
        }
        let facts = self.ask(
            crew.tester,
            StartRun {
                apparatus: self.mill.to_owned(),
                ended_by: "revolutions".to_owned(),
                water_c: "20".to_owned(),
                thermometer: String::new(),
                placements,
                deviation: String::new(),
            },
        )?;
        let Some(Fact::RunStarted { run, revolutions_wanted, .. }) = facts.first() else {
            return Err(DemoError::Expected("a run"));
        };
        for (one, charge) in placed.iter().zip(&charges) {
            self.wears(charge, &one.specimen, *revolutions_wanted);
        }
        self.stop(crew.tester, run, *revolutions_wanted)?;
        self.later(13.hours())?;
        let loss = Decimal::new(stone.loss_tenths, 1);
        for one in placed {
            self.later(4.minutes())?;
            let loss = loss + self.chance.noise(Decimal::new(35, 2), 2);
            self.weigh_after(crew.tester, BALANCE, loss, &one.specimen)?;
        }
        for one in placed {
            self.later(4.minutes())?;
            let result = self.lab.result_of(&one.specimen);
            let result = result.ok_or(DemoError::Expected("a result"))?.code.to_string();
            self.ask(crew.engineer, ReleaseResult { result, ..ReleaseResult::default() })?;
        }
        Ok(())
    }
}

fn factor(name: &str, levels: &str) -> FactorForm {
    FactorForm { name: name.to_owned(), levels: levels.to_owned() }
}
