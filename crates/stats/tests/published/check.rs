//! Reading a case and holding figures against it.

use std::path::PathBuf;

use serde_json::Value;

/// One case.
pub(crate) struct Check {
    id: String,
    document: Value,
    /// Relative tolerance against the reference.
    relative: f64,
    /// Names whose published digits double precision cannot carry: `(name, relative tolerance)`.
    limited: Vec<(&'static str, f64)>,
}

fn folder() -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("checks")
}

/// A number, or text of a number.
fn number(value: &Value) -> Option<f64> {
    match value {
        Value::Number(n) => n.as_f64(),
        Value::String(s) => s.trim().parse().ok(),
        _ => None,
    }
}

impl Check {
    pub(crate) fn load(id: &str) -> Self {
        let text = std::fs::read_to_string(folder().join(format!("{id}.json"))).unwrap();
        let document = serde_json::from_str(&text).unwrap();
        Self { id: id.to_string(), document, relative: 1e-6, limited: Vec::new() }
    }

    /// Holds figures against the reference at this relative tolerance instead of 1e-6.
    pub(crate) fn relative(mut self, tolerance: f64) -> Self {
        self.relative = tolerance;
        self
    }

    /// Says that doubles cannot carry the digits of these values; the reason stands at the call.
    pub(crate) fn limited(mut self, names: &[(&'static str, f64)]) -> Self {
        self.limited = names.to_vec();
        self
    }

    pub(crate) fn input(&self, name: &str) -> &Value {
        &self.document["inputs"][name]
    }

    pub(crate) fn number(&self, name: &str) -> f64 {
        number(self.input(name)).unwrap()
    }

    pub(crate) fn numbers(&self, name: &str) -> Vec<f64> {
        list(self.input(name))
    }

    /// The names of all expected values.
    pub(crate) fn names(&self) -> Vec<String> {
        let expected = self.document["expected"].as_array().unwrap();
        expected.iter().map(|e| e["name"].as_str().unwrap().to_string()).collect()
    }

    /// The expected values that are words.
    pub(crate) fn texts(&self) -> Vec<(String, String)> {
        let expected = self.document["expected"].as_array().unwrap();
        let words = expected.iter().filter(|e| number(&e["reference"]).is_none());
        words
            .map(|e| (e["name"].as_str().unwrap().into(), e["reference"].as_str().unwrap().into()))
            .collect()
    }

    /// Holds every expected value against the figure that `compute` gives for its name.
    pub(crate) fn verify(&self, compute: impl Fn(&str) -> f64) {
        self.verify_some(|name| Some(compute(name)));
    }

    /// As [`verify`](Self::verify), passing over the names for which `compute` gives nothing.
    pub(crate) fn verify_some(&self, compute: impl Fn(&str) -> Option<f64>) {
        let mut failures = Vec::new();
        for expected in self.document["expected"].as_array().unwrap() {
            let name = expected["name"].as_str().unwrap();
            let Some(found) = compute(name) else { continue };
            if !found.is_finite() {
                failures.push(format!("{name}: nothing computed"));
                continue;
            }
            let limit = self.limited.iter().find(|(n, _)| *n == name).map(|(_, l)| *l);
            let reference = number(&expected["reference"]).unwrap();
            let scale = reference.abs().max(1e-9);
            if (found - reference).abs() > limit.unwrap_or(self.relative) * scale {
                failures.push(format!("{name}: {found:e}, reference {reference:e}"));
            }
            let (Some(published), None) = (number(&expected["published"]), limit) else { continue };
            let tolerance = number(&expected["tolerance"]).unwrap_or(0.0) * (1.0 + 1e-9);
            let met = (found - published).abs() <= tolerance;
            let wrong = expected["published_is_wrong"].as_bool().unwrap_or(false);
            if met == wrong {
                failures.push(format!(
                    "{name}: {found:e}, published {published:e} ± {tolerance:e}{}",
                    if wrong { ", which the notes call wrong" } else { "" }
                ));
            }
        }
        assert!(failures.is_empty(), "{}:\n{}", self.id, failures.join("\n"));
    }
}

/// A JSON list of numbers.
pub(crate) fn list(value: &Value) -> Vec<f64> {
    value.as_array().unwrap().iter().map(|v| number(v).unwrap()).collect()
}

/// The cells of a data file, without comments and header.
pub(crate) fn rows(file: &str) -> Vec<Vec<String>> {
    let text = std::fs::read_to_string(folder().join(file)).unwrap();
    text.lines()
        .filter(|line| !line.starts_with('#') && !line.trim().is_empty())
        .skip(1)
        .map(|line| line.split(',').map(|cell| cell.trim().to_string()).collect())
        .collect()
}

/// One column of numbers of a data file.
pub(crate) fn column(file: &str, index: usize) -> Vec<f64> {
    rows(file).iter().map(|row| row[index].parse().unwrap()).collect()
}
