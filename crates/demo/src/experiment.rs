//! An experiment of the demo laboratory: the loss of one stone over the revolutions, three levels
//! twice each in an order drawn by chance. Its sensitivity waits for somebody to record it.

use crate::chance::Chance;
use crate::everyday::Stone;
use crate::story::{DemoError, Story};
use jiff::ToSpan;
use stonewear_lab::ExperimentCode;
use stonewear_lab::fact::Fact;
use stonewear_lab::request::{AssignToExperiment, PlanExperiment};
use stonewear_measure::Decimal;

/// The levels, in revolutions.
const LEVELS: [&str; 3] = ["9000", "12000", "15000"];
/// The seed of the order.
const SEED: &str = "20260126";

impl Story<'_> {
    /// The whole experiment, run after run.
    pub(crate) fn revolutions_experiment(
        &mut self,
        tester: &str,
        manager: &str,
        stone: Stone,
    ) -> Result<(), DemoError> {
        // What chance gives here must not move what it gives to the weeks that follow.
        let everyday = std::mem::replace(&mut self.chance, Chance::new(62));
        let done = self.experiment_runs(tester, manager, stone);
        self.chance = everyday;
        done
    }

    fn experiment_runs(
        &mut self,
        tester: &str,
        manager: &str,
        stone: Stone,
    ) -> Result<(), DemoError> {
        let sample =
            self.receive(tester, Stone { limit_percent: "", limit_document: "", ..stone })?;
        self.later(1.hour())?;
        let facts = self.ask(
            manager,
            PlanExperiment {
                title: "loss over revolutions, dolerite".to_owned(),
                condition: "revolutions".to_owned(),
                method: "astm-d6928".to_owned(),
                grading: stone.grading.to_owned(),
                sample: sample.to_string(),
                levels: LEVELS.map(str::to_owned).to_vec(),
                replicates: "2".to_owned(),
                seed: SEED.to_owned(),
            },
        )?;
        let Some(Fact::ExperimentPlanned(planned)) = facts.first() else {
            return Err(DemoError::Expected("an experiment"));
        };
        let experiment: ExperimentCode = planned.experiment.clone();
        for level in planned.runs.clone() {
            self.later(1.hour())?;
            let specimen = self.make_up(tester, "BAL-1", stone, &sample)?;
            self.later(20.minutes())?;
            self.ask(
                tester,
                AssignToExperiment {
                    experiment: experiment.to_string(),
                    specimen: specimen.to_string(),
                    ..AssignToExperiment::default()
                },
            )?;
            self.later(80.minutes())?;
            let (run, wanted) = self.start(tester, &specimen)?;
            self.later(40.minutes())?;
            self.stop(tester, &run, wanted)?;
            self.later(9.hours())?;
            // Invented: in truth 0.85 % of the loss for each percent of the revolutions.
            let at_method = Decimal::new(stone.loss_tenths, 1);
            let more = (level - Decimal::from(12_000)) / Decimal::from(12_000);
            let loss = at_method + at_method * more * Decimal::new(85, 2);
            let loss = loss + self.chance.noise(loss * Decimal::new(15, 3), 2);
            self.weigh_after(tester, "BAL-1", loss, &specimen)?;
        }
        Ok(())
    }
}
