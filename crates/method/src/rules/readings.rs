//! Rules about what a test is done in, what it reads, and what it works out from that.

use super::{Found, listed};
use crate::model::{Formula, Method, Of, Reading};
use crate::walk::grading_path;
use crate::work_out::GRADING_PERCENT;

impl Found {
    /// Which parts a method needs for what its specimen is tested in.
    pub(super) fn vessel(&mut self, method: &Method) {
        if method.vessel.turns() && method.specimen.mass_g.is_none() {
            let right = "add mass_g.nominal = { value = …, confidence = \"memory\" }";
            self.add("specimen.mass_g", "specimen has no mass_g", right);
        }
        if method.loss.is_none() && method.properties.is_empty() {
            self.add("loss", "the file has no loss", "add a table [loss], or a [[property]]");
        }
        for grading in &method.gradings {
            let path = grading_path(&grading.name);
            match (method.vessel.turns(), grading.revolutions.is_some()) {
                (true, false) => self.add(
                    path,
                    format!("grading {} has no revolutions", grading.name),
                    "add revolutions.nominal = { value = …, confidence = \"memory\" }",
                ),
                (false, true) => self.add(
                    format!("{path}.revolutions"),
                    format!("grading {} has revolutions, but nothing turns", grading.name),
                    "name the vessel, jar-mill or drum, or leave the revolutions out",
                ),
                _ => {}
            }
        }
        let weighted = method
            .loss
            .as_ref()
            .is_some_and(|rule| rule.formula.value == Formula::WeightedByGrading);
        if weighted && method.vessel.turns() {
            let right = "a loss weighted by grading is of a bath; of-mass-before is of a run";
            self.add(
                "loss.formula",
                "the vessel turns, but the loss is weighted by grading",
                right,
            );
        }
        if weighted {
            for name in [GRADING_PERCENT, crate::work_out::KEPT] {
                if method.reading(name).is_none_or(|reading| reading.of != Of::Fraction) {
                    let what = format!("the loss weighted by grading needs a reading {name}");
                    self.add(
                        "loss.formula",
                        what,
                        "add a [[reading]] of that name, of = \"fraction\"",
                    );
                }
            }
        }
    }

    pub(super) fn readings(&mut self, method: &Method) {
        let named = |reading: &Reading| (format!("reading.{}", reading.name), reading.name.clone());
        let names: Vec<(String, String)> = method.readings.iter().map(named).collect();
        self.repeated(names.iter().map(|(path, name)| (path.clone(), &**name)), "reading");
        for reading in &method.readings {
            let path = format!("reading.{}", reading.name);
            self.name(&path, &reading.name, "reading");
            if !Reading::UNITS.contains(&&*reading.unit) {
                let what = format!("“{}” is not a unit of a reading", reading.unit);
                let known = Reading::UNITS.iter().filter(|unit| !unit.is_empty());
                self.add(format!("{path}.unit"), what, format!("write one of: {}", listed(known)));
            }
        }
    }

    pub(super) fn properties(&mut self, method: &Method) {
        let names: Vec<(String, &str)> = method
            .properties
            .iter()
            .map(|property| (format!("property.{}", property.name), &*property.name))
            .collect();
        self.repeated(names.into_iter(), "property");
        for property in &method.properties {
            let path = format!("property.{}", property.name);
            self.name(&path, &property.name, "property");
            for name in property.formula.value.readings() {
                if method.reading(name).is_none_or(|reading| reading.of != Of::Specimen) {
                    let what = format!("the {} needs a reading {name}", property.title);
                    self.add(
                        format!("{path}.formula"),
                        what,
                        "add a [[reading]] of that name, of = \"specimen\"",
                    );
                }
            }
        }
    }

    fn name(&mut self, path: &str, name: &str, kind: &str) {
        let plain = |c: char| c.is_ascii_lowercase() || c.is_ascii_digit() || c == '_';
        if name.is_empty() || !name.chars().all(plain) {
            let what = format!("“{name}” cannot be the name of a {kind}");
            self.add(path, what, "use small letters, digits and _ only");
        }
    }
}
