//! What must hold of a method beyond its form: the rules for a file and for a correction alike.

mod readings;

use crate::figure::Confidence;
use crate::model::{Grading, Method, Precision, Vessel};
use crate::walk::{Quantity, Spot, fraction_path, grading_path, walk};
use std::collections::BTreeMap;
use std::fmt;
use stonewear_measure::Decimal;

/// A rule that a method breaks.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Broken {
    /// The figure or the part of the method, as in [`crate::figures::FigureAt::path`].
    pub path: String,
    /// What is wrong.
    pub what: String,
    /// What would be right.
    pub right: String,
}

/// What is wrong; what would be right.
impl fmt::Display for Broken {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}; {}", self.what, self.right)
    }
}

/// Every rule that the method breaks, in the order of the method.
pub fn broken(method: &Method) -> Vec<Broken> {
    let mut found = Found(Vec::new());
    found.identity(method);
    found.vessel(method);
    found.every_figure(method);
    found.wash_sieves(method);
    found.readings(method);
    found.properties(method);
    found.balls(method);
    found.precisions(&method.precisions);
    found.repeated(
        method
            .intervals
            .iter()
            .map(|interval| (format!("interval.{}", interval.of), &*interval.of)),
        "interval",
    );
    if method.gradings.is_empty() {
        found.add("grading", "there is no grading", "give at least one [[grading]]");
    }
    found.repeated(
        method.gradings.iter().map(|grading| (grading_path(&grading.name), &*grading.name)),
        "grading",
    );
    for grading in &method.gradings {
        found.grading(method, grading);
    }
    found.0
}

struct Found(Vec<Broken>);

impl Found {
    fn add(&mut self, path: impl Into<String>, what: impl Into<String>, right: impl Into<String>) {
        self.0.push(Broken { path: path.into(), what: what.into(), right: right.into() });
    }

    fn identity(&mut self, method: &Method) {
        for (key, text) in [("id", &method.id), ("edition", &method.edition)] {
            let plain = |c: char| c.is_ascii_lowercase() || c.is_ascii_digit() || ".-".contains(c);
            if text.is_empty() || !text.chars().all(plain) {
                let what = format!("“{text}” cannot be the {key} of a method");
                self.add(key, what, "use small letters, digits, points and hyphens only");
            }
        }
        for (key, text) in [("designation", &method.designation), ("title", &method.title)] {
            if text.trim().is_empty() {
                self.add(key, format!("the {key} is empty"), "say it in a few words");
            }
        }
    }

    fn every_figure(&mut self, method: &Method) {
        let sources = &method.sources;
        // The walk lends each figure to be changed; here it is only looked at, on a copy.
        walk(&mut method.clone(), &mut |spot, figure| {
            if figure.confidence() == Confidence::Seen && figure.source().trim().is_empty() {
                self.add(
                    &spot.path,
                    format!("{} is marked as seen without a source", spot.label),
                    "name the key of the source, or mark it memory, practice or derived",
                );
            }
            let keys = figure.source().split(',').map(str::trim).filter(|key| !key.is_empty());
            for key in keys.filter(|key| !sources.contains_key(*key)) {
                self.add(
                    &spot.path,
                    format!("{}: the source key “{key}” is not in [sources]", spot.label),
                    format!("add {key} there, or use one of: {}", listed(sources.keys())),
                );
            }
            if let Some(value) = figure.number() {
                self.bounds(&spot, value);
            }
        });
    }

    fn bounds(&mut self, spot: &Spot, value: Decimal) {
        let unit = spot.quantity.unit();
        let what = format!("{}: {} is given", spot.label, with_unit(value, unit));
        if let Some(nominal) = spot.tolerance_of {
            if value < Decimal::ZERO {
                self.add(&spot.path, what, "a tolerance is never negative");
            } else if nominal > Decimal::ZERO && value > nominal {
                let nominal = with_unit(nominal, unit);
                self.add(
                    &spot.path,
                    what,
                    format!("it must not be more than the value, {nominal}"),
                );
            }
            return;
        }
        let Some(bounds) = spot.quantity.bounds() else { return };
        let (least, most) = (Decimal::from(bounds.least), Decimal::from(bounds.most));
        if value < least || value > most || (bounds.above_least && value == least) {
            let from = if bounds.above_least { "more than" } else { "at least" };
            let right = format!("it must be {from} {least} and at most {}", with_unit(most, unit));
            self.add(&spot.path, what, right);
        }
    }

    fn wash_sieves(&mut self, method: &Method) {
        if method.wash_sieves_mm.is_empty() && method.vessel.turns() {
            let right = "give the sieve whose undersize is the loss, like { value = 1.18, … }";
            self.add("wash_sieves_mm", "there is no wash sieve", right);
        }
        for (number, pair) in (2_usize..).zip(method.wash_sieves_mm.windows(2)) {
            if let [coarser, finer] = pair
                && finer.value >= coarser.value
            {
                self.add(
                    format!("wash_sieves_mm.{number}"),
                    format!("wash sieve {} mm follows {} mm", finer.value, coarser.value),
                    "list the wash sieves coarsest first",
                );
            }
        }
    }

    fn balls(&mut self, method: &Method) {
        for grading in &method.gradings {
            let path = grading_path(&grading.name);
            match (method.balls.is_some() || grading.balls.is_some(), &grading.charge_g) {
                (true, None) => self.add(
                    path,
                    format!(
                        "grading {} has no charge_g, though the method has [balls]",
                        grading.name
                    ),
                    "give the mass of the balls for one jar, or leave [balls] out",
                ),
                (false, Some(_)) => self.add(
                    format!("{path}.charge_g"),
                    format!(
                        "grading {} has a charge_g, but the method has no [balls]",
                        grading.name
                    ),
                    "describe the balls, or leave the charge out",
                ),
                _ => {}
            }
        }
    }

    fn precisions(&mut self, precisions: &[Precision]) {
        let names: Vec<String> =
            precisions.iter().map(|precision| precision.conditions.to_string()).collect();
        self.repeated(names.iter().map(|name| (format!("precision.{name}"), &**name)), "precision");
        for precision in precisions {
            let path = format!("precision.{}", precision.conditions);
            let found = match (&precision.limit_line, precision.levels.is_empty()) {
                (Some(_), true) | (None, false) => None,
                (Some(_), false) => Some("both a line and levels"),
                (None, true) => Some("neither a line nor levels"),
            };
            if let Some(found) = found {
                let what = format!("the {} has {found}", precision.conditions);
                self.add(&path, what, "give either limit_line or at least one [[precision.level]]");
            }
            for (number, pair) in (2_usize..).zip(precision.levels.windows(2)) {
                if let [lower, higher] = pair
                    && higher.loss_percent.value <= lower.loss_percent.value
                {
                    let (lower, higher) = (lower.loss_percent.value, higher.loss_percent.value);
                    self.add(
                        format!("{path}.level.{number}.loss_percent"),
                        format!("the precision at {higher} % follows that at {lower} %"),
                        "list the levels from the lowest loss to the highest",
                    );
                }
            }
        }
    }

    fn repeated<'n>(&mut self, names: impl Iterator<Item = (String, &'n str)>, kind: &str) {
        let mut seen: BTreeMap<&str, usize> = BTreeMap::new();
        for (path, name) in names {
            let times = seen.entry(name).or_default();
            *times += 1;
            if *times == 2 {
                self.add(
                    path,
                    format!("the {kind} “{name}” is there twice"),
                    "each needs its own name",
                );
            }
        }
    }

    fn grading(&mut self, method: &Method, grading: &Grading) {
        let name = &grading.name;
        let path = grading_path(name);
        let plain = |c: char| c.is_ascii_alphanumeric() || ".-/".contains(c);
        if name.is_empty() || !name.chars().all(plain) {
            let what = format!("“{name}” cannot be the name of a grading");
            self.add(&path, what, "use letters, digits, points, hyphens and slashes only");
        }
        if grading.fractions.is_empty() && method.vessel != Vessel::Bench {
            let right = "give at least one [[grading.fraction]]";
            self.add(&path, format!("grading {name} has no fraction"), right);
            return;
        }
        for (number, fraction) in (1_usize..).zip(&grading.fractions) {
            let (passing, retained) = (fraction.passing_mm.value, fraction.retained_mm.value);
            if passing <= retained {
                self.add(
                    format!("{}.retained_mm", fraction_path(name, number)),
                    format!(
                        "grading {name}: fraction {number} passes {passing} mm and is retained on {retained} mm"
                    ),
                    "the sieve it passes must be the coarser one",
                );
            }
        }
        for (number, pair) in (2_usize..).zip(grading.fractions.windows(2)) {
            if let [coarser, finer] = pair
                && coarser.retained_mm.value != finer.passing_mm.value
            {
                let (above, below) = (coarser.retained_mm.value, finer.passing_mm.value);
                self.add(
                    format!("{}.passing_mm", fraction_path(name, number)),
                    format!(
                        "grading {name}: fraction {} ends at {above} mm, fraction {number} starts at {below} mm",
                        number - 1
                    ),
                    "list the fractions coarsest first, each starting where the one before ends",
                );
            }
        }
        self.total(method, grading);
    }

    fn total(&mut self, method: &Method, grading: &Grading) {
        let total: Decimal =
            grading.fractions.iter().map(|fraction| fraction.mass_g.nominal.value).sum();
        let Some(mass) = &method.specimen.mass_g else { return };
        let tolerance = mass.tolerance.as_ref().map_or(Decimal::ZERO, |figure| figure.value);
        if (total - mass.nominal.value).abs() > tolerance {
            let unit = Quantity::Mass.unit();
            self.add(
                grading_path(&grading.name),
                format!("the fractions of grading {} add up to {total} {unit}", grading.name),
                format!("they must make a specimen of {mass} {unit}"),
            );
        }
    }
}

fn with_unit(value: Decimal, unit: &str) -> String {
    format!("{value} {unit}").trim_end().to_owned()
}

/// `a, b, c`.
pub(crate) fn listed(names: impl IntoIterator<Item = impl AsRef<str>>) -> String {
    names.into_iter().map(|name| name.as_ref().to_owned()).collect::<Vec<_>>().join(", ")
}
