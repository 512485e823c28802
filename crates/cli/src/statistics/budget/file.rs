//! What a laboratory knows about the errors of its losses, and what a method says about them.

use super::super::uncertainty::model::InputEntry;
use serde::Deserialize;
use stonewear_method::{Confidence, Figure, Method};
use stonewear_stats::StatsError;
use stonewear_stats::budget::{ActsOn, Contributor};
use stonewear_stats::uncertainty::Distribution;

/// The sources that a budget of a loss has to speak of.
pub(super) const SOURCES: [&str; 7] =
    ["balance", "drying", "sieving", "charge", "revolutions", "temperature", "sampling"];

/// A contributor and where its figures come from.
#[derive(Debug, Clone)]
pub(super) struct Known {
    pub(super) contributor: Contributor,
    /// In words.
    pub(super) origin: String,
    /// Keys of the method's sources; empty where the laboratory gave the figures.
    pub(super) source: String,
    /// How sure a figure of the method is; none where the laboratory gave it.
    pub(super) confidence: Option<Confidence>,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct InputsFile {
    #[serde(default)]
    contributions: Vec<Entry>,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct Entry {
    source: String,
    acts_on: Place,
    sensitivity: Option<f64>,
    error: InputEntry,
    origin: String,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "kebab-case")]
enum Place {
    EachMass,
    ShareOfEachMass,
    MassBefore,
    MassAfter,
    Loss,
    ShareOfLoss,
    Quantity,
}

/// Reads what a laboratory knows; a fault names its line.
pub(super) fn read(text: &str) -> Result<Vec<Known>, String> {
    let text = text.strip_prefix('\u{feff}').unwrap_or(text);
    let file: InputsFile = toml::from_str(text).map_err(|error| error.to_string())?;
    file.contributions.iter().map(Entry::known).collect()
}

impl Entry {
    fn known(&self) -> Result<Known, String> {
        let fault = |what: &str| format!("the contribution of {:?} {what}", self.source);
        if self.source.trim().is_empty() {
            return Err("a contribution has an empty source; name it".to_owned());
        }
        if self.origin.trim().is_empty() {
            return Err(fault("has no origin; say where its figures come from"));
        }
        let acts_on = match (self.acts_on, self.sensitivity) {
            (Place::Quantity, Some(sensitivity)) if sensitivity.is_finite() => {
                ActsOn::Quantity { sensitivity }
            }
            (Place::Quantity, _) => {
                return Err(fault(
                    "acts on a quantity: it needs a sensitivity, % of mass per unit",
                ));
            }
            (_, Some(_)) => {
                return Err(fault("has a sensitivity, which only a quantity has"));
            }
            (Place::EachMass, None) => ActsOn::EachMass,
            (Place::ShareOfEachMass, None) => ActsOn::ShareOfEachMass,
            (Place::MassBefore, None) => ActsOn::MassBefore,
            (Place::MassAfter, None) => ActsOn::MassAfter,
            (Place::Loss, None) => ActsOn::Loss,
            (Place::ShareOfLoss, None) => ActsOn::ShareOfLoss,
        };
        let mut entry = self.error.clone();
        entry.name.clone_from(&self.source);
        let input = entry.input().map_err(|error: StatsError| error.to_string())?;
        let contributor = Contributor {
            source: self.source.trim().to_owned(),
            acts_on,
            error: input.distribution,
            freedom: input.freedom,
        };
        Ok(Known {
            contributor,
            origin: self.origin.clone(),
            source: String::new(),
            confidence: None,
        })
    }
}

/// What the method itself says about the errors of a loss: the step of its weighing, what it calls a
/// constant mass, and how far the revolutions may be off. Sources about which no figure is published are
/// not here.
pub(super) fn of_method(method: &Method, grading: Option<&str>) -> Vec<Known> {
    let known = |name: &str, acts_on, half: f64, figure: &Figure<_>, origin: String| Known {
        contributor: Contributor {
            source: name.to_owned(),
            acts_on,
            error: Distribution::Rectangular { lower: -half, upper: half },
            freedom: None,
        },
        origin,
        source: figure.source.clone(),
        confidence: Some(figure.confidence.less_sure(Confidence::Derived)),
    };
    let step = &method.specimen.weigh_to_g;
    let constant = &method.drying.constant_within_percent;
    let mut all = vec![
        known(
            "balance",
            ActsOn::EachMass,
            0.5 * number(step.value),
            step,
            format!("half of the step to which the method weighs, {} g", step.value),
        ),
        known(
            "drying",
            ActsOn::ShareOfEachMass,
            0.5 * number(constant.value) / 100.0,
            constant,
            format!(
                "half of what a mass that is called constant may still lose, {} %",
                constant.value
            ),
        ),
    ];
    let gradings = method.gradings.iter().filter(|g| grading.is_none_or(|name| g.name == name));
    let widest = gradings
        .filter_map(|g| {
            let revolutions = g.revolutions.as_ref()?;
            let tolerance = revolutions.tolerance.as_ref()?;
            let nominal = number(revolutions.nominal.value);
            (nominal > 0.0).then(|| (number(tolerance.value) / nominal, g, revolutions, tolerance))
        })
        .max_by(|a, b| a.0.total_cmp(&b.0));
    if let Some((share, grading, revolutions, tolerance)) = widest {
        all.push(known(
            "revolutions",
            ActsOn::ShareOfLoss,
            share,
            tolerance,
            format!(
                "{} ± {} revolutions (grading {}), the loss taken as proportional to them near the \
                 end of a run",
                revolutions.nominal.value, tolerance.value, grading.name
            ),
        ));
    }
    all
}

/// A figure of a method for statistics.
fn number(value: stonewear_measure::Decimal) -> f64 {
    // Every decimal of a method is a short one, so its text is a float.
    value.to_string().parse().unwrap_or(0.0)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_example_is_read_and_names_where_its_figures_come_from() {
        let known = read(super::super::EXAMPLE).expect("contributions");
        let sources: Vec<&str> = known.iter().map(|k| k.contributor.source.as_str()).collect();
        assert_eq!(sources, ["balance", "sieving", "charge", "sampling"]);
        assert!(known.iter().all(|k| k.origin.contains("invented")));
        assert_eq!(known[2].contributor.acts_on, ActsOn::Quantity { sensitivity: 0.002 });
        assert_eq!(known[3].contributor.freedom, Some(9.0));
    }

    #[test]
    fn faults_are_named() {
        let entry = |more: &str| {
            let text = format!(
                "[[contributions]]\nsource = \"charge\"\norigin = \"o\"\n\
                 error = {{ distribution = \"normal\", mean = 0.0, standard_deviation = 1.0 }}\n{more}\n"
            );
            read(&text).map(|_| ()).expect_err("a fault")
        };
        assert!(entry("acts_on = \"quantity\"").contains("needs a sensitivity"));
        assert!(entry("acts_on = \"loss\"\nsensitivity = 1.0").contains("only a quantity"));
        assert!(entry("acts_on = \"moon\"").contains("each-mass"));
        assert!(read("[[contributions]]\nsource = \"x\"\n").is_err_and(|e| e.contains("line 1")));
    }

    #[test]
    fn a_method_gives_what_it_publishes_and_how_sure_that_is() {
        let method = stonewear_method::library::built_in_method("en-1097-1").expect("a method");
        let known = of_method(&method, None);
        let revolutions = known.iter().find(|k| k.contributor.source == "revolutions");
        assert!(revolutions.is_some_and(|k| k.confidence.is_some_and(|c| !c.is_sure())));
        assert!(known.iter().all(|k| SOURCES.contains(&k.contributor.source.as_str())));
        assert!(known.iter().all(|k| k.contributor.source != "sampling"));
    }
}
