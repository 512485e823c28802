//! Sensitivity experiments: how the loss follows a condition of the run, by the laboratory's own
//! runs at other levels than the method's.
//!
//! A planned run is an ordinary run of an ordinary specimen. Its specimen is marked, once and for
//! all, as one of the experiment: the rules of its run are those of the method with the one
//! condition moved to the planned level, and no result is ever worked out from it.

mod fit;
mod import;
mod rules;

pub use fit::{Analysis, FoundSensitivity, LackOfFit, Model};
pub(crate) use import::read_table;
pub(crate) use rules::at_level;
pub use rules::nominal;

use crate::code::SpecimenCode;
use crate::fact::Condition;
use crate::state::{Experiment, ExperimentRun, Lab};
use stonewear_measure::Decimal;
use stonewear_method::Weighed;

/// Level of every interval of this module.
pub const LEVEL: f64 = 0.95;
/// Decimals of a loss that go into a fit: far more than any balance gives.
const LOSS_DECIMALS: u32 = 12;

/// One loss of an experiment.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct MeasuredLoss {
    /// The run.
    pub run: u32,
    /// The level that was planned.
    pub planned: Decimal,
    /// The level as it was counted, weighed or read, where it was; else as it was planned.
    pub level: Decimal,
    /// The loss of its specimen, not rounded, %.
    pub loss_percent: Decimal,
    /// Whether it takes part in the fit.
    pub is_in_fit: bool,
}

impl Lab {
    /// The experiment that a specimen belongs to, and its run. It stays so also when another
    /// specimen has taken its place: it may have run at another level than the method's.
    pub fn experiment_of(&self, specimen: &SpecimenCode) -> Option<(&Experiment, &ExperimentRun)> {
        let (experiment, run) = self.experiment_by_specimen.get(specimen)?;
        let experiment = self.experiments.get(experiment)?;
        Some((experiment, experiment.run(*run)?))
    }

    /// The losses of an experiment so far, in the order of its runs.
    pub fn experiment_losses(&self, experiment: &Experiment) -> Vec<MeasuredLoss> {
        experiment.runs.iter().filter_map(|run| self.experiment_loss(experiment, run)).collect()
    }

    fn experiment_loss(
        &self,
        experiment: &Experiment,
        run: &ExperimentRun,
    ) -> Option<MeasuredLoss> {
        let (level, loss_percent) = match run.imported_percent {
            Some(loss) => (run.level, loss),
            None => {
                let specimen = self.specimens.get(run.specimen()?)?;
                let method = &self.methods.get(&specimen.method)?.method;
                let weighed =
                    Weighed { before_g: specimen.before_g()?, after_g: specimen.after_g()? };
                let loss = stonewear_method::loss::loss(method, &[weighed]).ok()?;
                let loss = loss.exact_percent.to_decimals(LOSS_DECIMALS).parse().ok()?;
                let actual = self.actual_level(experiment.condition, &specimen.code);
                (actual.unwrap_or(run.level), loss)
            }
        };
        Some(MeasuredLoss {
            run: run.number,
            planned: run.level,
            level,
            loss_percent,
            is_in_fit: run.left_out.is_none(),
        })
    }

    /// The level of a condition as it was counted, weighed or read in the run of a specimen.
    fn actual_level(&self, condition: Condition, specimen: &SpecimenCode) -> Option<Decimal> {
        let run = self.runs.get(self.specimens.get(specimen)?.run.as_ref()?)?;
        let placed = run.placed(specimen)?;
        match condition {
            Condition::Revolutions => run.in_all()?.revolutions,
            Condition::Charge => placed.charge_g,
            Condition::WaterTemperature => run.water_c,
            Condition::WaterVolume => placed.water_l,
        }
    }

    /// What an experiment says so far.
    ///
    /// # Errors
    /// In words, while there is nothing to fit.
    pub fn experiment_analysis(&self, experiment: &Experiment) -> Result<Analysis, String> {
        let losses = self.experiment_losses(experiment);
        let method = self.methods.get(&experiment.method).map(|in_use| &in_use.method);
        let nominal =
            method.and_then(|method| nominal(method, experiment.condition, &experiment.grading));
        Analysis::of(experiment.condition, &losses, nominal)
    }
}
