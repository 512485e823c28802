//! The file that describes a measurand.

use serde::Deserialize;
use stonewear_stats::StatsError;
use stonewear_stats::describe::describe;
use stonewear_stats::uncertainty::{Correlation, Distribution, Input};

/// Shown below the help.
pub(super) const EXAMPLE: &str = r#"Example:
  stonewear uncertainty loss.toml --digits 2

where loss.toml is (invented figures):

  measurand = "loss, %"
  model = "100 * (before - after) / before + sieving"
  level = 0.95

  [[inputs]]
  name = "before"
  distribution = "normal"
  mean = 1500.0
  standard_deviation = 0.3

  [[inputs]]
  name = "after"
  distribution = "observed"
  values = [1279.8, 1280.2, 1280.1, 1279.9]

  [[inputs]]
  name = "sieving"
  distribution = "triangular"
  lower = -0.2
  upper = 0.2

Distributions: constant (value), normal (mean, standard_deviation), rectangular (lower, upper),
triangular (lower, upper, mode), u-shaped (lower, upper), t (location, scale, degrees_of_freedom),
curvilinear-trapezoid (lower, upper, inexactness), observed (values). Any input may carry
degrees_of_freedom for its uncertainty. Normal inputs may be correlated:

  [[correlations]]
  between = ["before", "after"]
  coefficient = 0.6

With the model in model.toml:

  stonewear uncertainty model.toml --trials 200000 --seed 1"#;

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct ModelFile {
    #[serde(default = "measurand")]
    pub(super) measurand: String,
    pub(super) model: String,
    #[serde(default = "level")]
    pub(super) level: f64,
    inputs: Vec<InputEntry>,
    #[serde(default)]
    correlations: Vec<CorrelationEntry>,
}

fn measurand() -> String {
    "the measurand".to_owned()
}

fn level() -> f64 {
    0.95
}

/// What is known about an input.
#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
pub(in crate::statistics) struct InputEntry {
    #[serde(default)]
    pub(in crate::statistics) name: String,
    distribution: Shape,
    value: Option<f64>,
    mean: Option<f64>,
    standard_deviation: Option<f64>,
    lower: Option<f64>,
    upper: Option<f64>,
    mode: Option<f64>,
    location: Option<f64>,
    scale: Option<f64>,
    inexactness: Option<f64>,
    degrees_of_freedom: Option<f64>,
    values: Option<Vec<f64>>,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "kebab-case")]
enum Shape {
    Constant,
    Normal,
    Rectangular,
    Triangular,
    UShaped,
    T,
    CurvilinearTrapezoid,
    Observed,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct CorrelationEntry {
    between: [String; 2],
    coefficient: f64,
}

impl ModelFile {
    /// Reads a model; a fault names its line.
    pub(super) fn read(text: &str) -> Result<Self, String> {
        let text = text.strip_prefix('\u{feff}').unwrap_or(text);
        toml::from_str(text).map_err(|error| error.to_string())
    }

    pub(super) fn inputs(&self) -> Result<Vec<Input>, StatsError> {
        if let Some(place) = self.inputs.iter().position(|input| input.name.is_empty()) {
            return Err(StatsError::Layout(format!("input {} needs a name", place + 1)));
        }
        self.inputs.iter().map(InputEntry::input).collect()
    }

    pub(super) fn correlations(&self) -> Result<Vec<Correlation>, StatsError> {
        let place = |name: &String| {
            self.inputs.iter().position(|input| input.name == *name).ok_or_else(|| {
                StatsError::Layout(format!("the correlation names {name}, which is no input"))
            })
        };
        self.correlations
            .iter()
            .map(|c| {
                Ok(Correlation {
                    one: place(&c.between[0])?,
                    other: place(&c.between[1])?,
                    coefficient: c.coefficient,
                })
            })
            .collect()
    }
}

impl InputEntry {
    /// The input, with its distribution checked.
    pub(in crate::statistics) fn input(&self) -> Result<Input, StatsError> {
        let need = |key: &str, value: Option<f64>| {
            value.ok_or_else(|| StatsError::Layout(format!("the input {} needs {key}", self.name)))
        };
        let bounds = || -> Result<(f64, f64), StatsError> {
            Ok((need("lower", self.lower)?, need("upper", self.upper)?))
        };
        let distribution = match self.distribution {
            Shape::Constant => Distribution::Constant(need("value", self.value)?),
            Shape::Normal => Distribution::Normal {
                mean: need("mean", self.mean)?,
                sd: need("standard_deviation", self.standard_deviation)?,
            },
            Shape::Rectangular => {
                let (lower, upper) = bounds()?;
                Distribution::Rectangular { lower, upper }
            }
            Shape::Triangular => {
                let (lower, upper) = bounds()?;
                let mode = self.mode.unwrap_or(0.5 * lower + 0.5 * upper);
                Distribution::Triangular { lower, mode, upper }
            }
            Shape::UShaped => {
                let (lower, upper) = bounds()?;
                Distribution::Arcsine { lower, upper }
            }
            Shape::T => Distribution::T {
                location: need("location", self.location)?,
                scale: need("scale", self.scale)?,
                freedom: need("degrees_of_freedom", self.degrees_of_freedom)?,
            },
            Shape::CurvilinearTrapezoid => {
                let (lower, upper) = bounds()?;
                let inexactness = need("inexactness", self.inexactness)?;
                Distribution::CurvilinearTrapezoid { lower, upper, inexactness }
            }
            Shape::Observed => self.observed()?,
        };
        let input = Input::new(&self.name, distribution)?;
        match (self.distribution, self.degrees_of_freedom) {
            (Shape::T | Shape::Observed, _) | (_, None) => Ok(input),
            (_, Some(freedom)) => input.with_freedom(freedom),
        }
    }

    /// The mean of observations: a t distribution about it (JCGM 101, 6.4.9.2).
    fn observed(&self) -> Result<Distribution, StatsError> {
        let values = self.values.as_deref().unwrap_or(&[]);
        if values.len() < 2 {
            return Err(StatsError::Layout(format!(
                "the input {} needs at least two observed values",
                self.name
            )));
        }
        let found = describe(values)?;
        let n = values.len() as f64;
        Ok(Distribution::T {
            location: found.mean?,
            scale: found.standard_deviation? / n.sqrt(),
            freedom: n - 1.0,
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_example_of_the_help_is_a_model() {
        let lines = EXAMPLE.lines().map(|line| line.strip_prefix("  ").unwrap_or(""));
        let text: String = lines
            .skip_while(|l| !l.starts_with("measurand"))
            .take_while(|l| !l.starts_with("[[corr"))
            .map(|l| format!("{l}\n"))
            .collect();
        let file = ModelFile::read(&text).expect("a model");
        let inputs = file.inputs().expect("inputs");
        assert_eq!(inputs.len(), 3);
        assert_eq!(inputs[1].freedom, Some(3.0));
        assert!((inputs[2].distribution.mean()).abs() < 1e-15);
    }

    #[test]
    fn faults_are_named() {
        let fault = |text: &str| ModelFile::read(text).map(|_| ()).expect_err("a fault");
        assert!(fault("model = \"a\"\ninputs = []\ncolour = 1\n").contains("colour"));
        let file = ModelFile::read(
            "model = \"a\"\n[[inputs]]\nname = \"a\"\ndistribution = \"normal\"\nmean = 1.0\n",
        );
        assert_eq!(
            file.expect("a file").inputs().map_err(|e| e.to_string()),
            Err("the input a needs standard_deviation".to_owned())
        );
    }
}
