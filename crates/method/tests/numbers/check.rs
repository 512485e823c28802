//! Ticking off the figures of a method against a table.

use std::collections::BTreeSet;
use stonewear_measure::read as number;
use stonewear_method::figures::figures;
use stonewear_method::library::built_in_method;
use stonewear_method::{Confidence, FigureAt};

/// Path, value, mark.
pub(crate) type Row<'r> = (&'r str, &'r str, &'r str);

/// What differs between the coarse family's gradings: name, minutes, revolutions, fractions.
pub(crate) type Family<'r> = (&'r str, &'r str, &'r str, &'r [[&'r str; 3]]);

/// Marks of a coarse method's gradings.
pub(crate) struct Marks {
    pub(crate) charge: &'static str,
    pub(crate) mass: &'static str,
    pub(crate) sieve: &'static str,
    pub(crate) two_hours: &'static str,
    pub(crate) twelve_thousand: &'static str,
}

/// A method whose figures are ticked off one by one.
pub(crate) struct Check {
    id: &'static str,
    pub(crate) figures: Vec<FigureAt>,
    ticked: BTreeSet<String>,
}

impl Check {
    pub(crate) fn of(id: &'static str) -> Self {
        let method = built_in_method(id).unwrap_or_else(|error| panic!("{error}"));
        Self { id, figures: figures(&method), ticked: BTreeSet::new() }
    }

    pub(crate) fn rows(&mut self, rows: &[Row<'_>]) {
        for (path, value, mark) in rows {
            self.row(path, value, mark);
        }
    }

    pub(crate) fn row(&mut self, path: &str, value: &str, mark: &str) {
        let at = format!("{}: {path}", self.id);
        let figure = self.figures.iter().find(|figure| figure.path == path);
        let figure = figure.unwrap_or_else(|| panic!("{at} is missing"));
        match (number(&figure.value), number(value)) {
            (Ok(found), Ok(wanted)) => assert_eq!(found, wanted, "{at}"),
            _ => assert_eq!(figure.value, value, "{at}"),
        }
        let (letter, source) = mark.split_once(':').unwrap_or((mark, ""));
        let confidence = match letter {
            "S" => Confidence::Seen,
            "M" => Confidence::Memory,
            "C" => Confidence::Practice,
            "D" => Confidence::Derived,
            other => panic!("{at}: {other} is no mark"),
        };
        assert_eq!(figure.confidence, confidence, "{at}");
        let named = source.is_empty() || figure.source.split(", ").any(|key| key == source);
        assert!(named, "{at}: {} does not name {source}", figure.source);
        assert!(self.ticked.insert(path.to_owned()), "{at} is listed twice");
    }

    /// The figures of the family, from memory, without the jar and but for those that are given.
    pub(crate) fn as_remembered(&mut self, family: &[Row<'_>], but: &[Row<'_>]) {
        self.rows(but);
        let other: Vec<Row<'_>> = family
            .iter()
            .filter(|(path, ..)| !path.starts_with("jar."))
            .filter(|(path, ..)| !but.iter().any(|(given, ..)| given == path))
            .map(|(path, value, _)| (*path, *value, "M"))
            .collect();
        self.rows(&other);
    }

    pub(crate) fn gradings(&mut self, gradings: &[Family<'_>], marks: &Marks) {
        for (name, minutes, revolutions, fractions) in gradings {
            let (for_minutes, for_revolutions) = if *minutes == "120" {
                (marks.two_hours, marks.twelve_thousand)
            } else {
                ("M", "M")
            };
            let path = format!("grading.{name}");
            self.row(&format!("{path}.nominal_maximum_mm"), name, "C");
            self.row(&format!("{path}.charge_g.nominal"), "5000", marks.charge);
            self.row(&format!("{path}.charge_g.tolerance"), "5", marks.charge);
            self.row(&format!("{path}.revolutions.nominal"), revolutions, for_revolutions);
            self.row(&format!("{path}.revolutions.tolerance"), "100", "M");
            self.row(&format!("{path}.minutes.nominal"), minutes, for_minutes);
            self.row(&format!("{path}.minutes.tolerance"), "1", "M");
            self.fractions(name, fractions, marks.sieve, marks.mass);
        }
    }

    pub(crate) fn fractions(&mut self, grading: &str, rows: &[[&str; 3]], sieve: &str, mass: &str) {
        for (number, [passing, retained, grams]) in (1..).zip(rows) {
            let path = format!("grading.{grading}.fraction.{number}");
            self.row(&format!("{path}.passing_mm"), passing, sieve);
            self.row(&format!("{path}.retained_mm"), retained, sieve);
            self.row(&format!("{path}.mass_g.nominal"), grams, mass);
        }
    }

    /// No figure is left that no table has, but the words that say what a grading is for.
    pub(crate) fn nothing_else(&self) {
        let left: Vec<&str> = self
            .figures
            .iter()
            .map(|figure| &*figure.path)
            .filter(|path| !path.ends_with(".applies") && !self.ticked.contains(*path))
            .collect();
        assert!(left.is_empty(), "{}: no table has {left:?}", self.id);
    }
}
