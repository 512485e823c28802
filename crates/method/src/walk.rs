//! One walk over every figure of a method: the only place that lists them all.
//!
//! Reading, confirming, correcting, comparing and checking all go through it, so that a figure
//! that is added to the model is added to all of them by one line here.

mod readings;

use crate::figure::{Confidence, Figure, Toleranced};
use crate::model::{Formula, Grading, Method, Precision, PropertyFormula, Vessel};
use std::fmt::Display;
use std::str::FromStr;
use stonewear_measure::{Decimal, Rule, read};

/// What a figure measures: its unit, and between which values it can be meant seriously.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Quantity {
    Specimens,
    Mass,
    Length,
    Volume,
    Temperature,
    Speed,
    Revolutions,
    Minutes,
    Hours,
    Percent,
    /// A rounding place, %.
    Place,
    /// A part of a precision line, which may be negative.
    OfLine,
    Months,
    /// Balls of a charge.
    Balls,
    /// A ratio or another number without a unit.
    Ratio,
    /// Mg/m³.
    Density,
    /// Rounds of a treatment.
    Cycles,
    Words,
    Choice,
}

/// Between which values a quantity can lie.
pub(crate) struct Bounds {
    pub(crate) least: i64,
    /// Whether the least value itself is out.
    pub(crate) above_least: bool,
    pub(crate) most: i64,
}

impl Quantity {
    /// The unit as it is written; empty where there is none.
    pub(crate) fn unit(self) -> &'static str {
        match self {
            Self::Mass => "g",
            Self::Length => "mm",
            Self::Volume => "L",
            Self::Temperature => "°C",
            Self::Speed => "rpm",
            Self::Revolutions => "rev",
            Self::Minutes => "min",
            Self::Hours => "h",
            Self::Percent | Self::Place => "%",
            Self::Months => "months",
            Self::Balls => "balls",
            Self::Density => "Mg/m³",
            Self::Cycles => "cycles",
            Self::Ratio | Self::Specimens | Self::OfLine | Self::Words | Self::Choice => "",
        }
    }

    /// Wide bounds: they catch a slipped point or a wrong unit, not an unusual method.
    pub(crate) fn bounds(self) -> Option<Bounds> {
        let (least, above_least, most) = match self {
            Self::Specimens => (1, false, 20),
            Self::Mass => (0, true, 100_000),
            Self::Length => (0, true, 2_000),
            Self::Volume => (0, true, 100),
            Self::Temperature => (0, false, 300),
            Self::Speed => (0, true, 1_000),
            Self::Revolutions => (0, true, 1_000_000),
            Self::Minutes => (0, true, 10_000),
            Self::Hours => (0, false, 1_000),
            Self::Percent => (0, false, 100),
            Self::Place => (0, true, 100),
            Self::OfLine => (-100, false, 100),
            Self::Months => (1, false, 120),
            Self::Balls => (1, false, 1_000),
            Self::Ratio | Self::Density => (0, true, 100),
            Self::Cycles => (1, false, 1_000),
            Self::Words | Self::Choice => return None,
        };
        Some(Bounds { least, above_least, most })
    }
}

/// Where a figure stands in its method.
#[derive(Debug, Clone)]
pub(crate) struct Spot {
    /// Stable name: `grading.19.0.revolutions.nominal`.
    pub(crate) path: String,
    /// In words: `grading 19.0: revolutions, tolerance`.
    pub(crate) label: String,
    /// The grading that it belongs to; none for what holds for all.
    pub(crate) grading: Option<String>,
    pub(crate) quantity: Quantity,
    /// The nominal value that this is the tolerance of.
    pub(crate) tolerance_of: Option<Decimal>,
}

/// A value that can stand in a figure, as it is typed.
pub(crate) trait Typed: Sized + Display + Clone {
    /// Reads it; the error says what would be right.
    fn from_typed(typed: &str) -> Result<Self, String>;
    /// As a number, for bounds and comparison.
    fn number(&self) -> Option<Decimal> {
        None
    }
}

impl Typed for Decimal {
    fn from_typed(typed: &str) -> Result<Self, String> {
        read(typed).map_err(|error| error.to_string())
    }
    fn number(&self) -> Option<Decimal> {
        Some(*self)
    }
}

impl Typed for u32 {
    fn from_typed(typed: &str) -> Result<Self, String> {
        typed
            .trim()
            .parse()
            .map_err(|_| format!("“{}” is not a whole number; write one like 2", typed.trim()))
    }
    fn number(&self) -> Option<Decimal> {
        Some(Decimal::from(*self))
    }
}

impl Typed for String {
    fn from_typed(typed: &str) -> Result<Self, String> {
        match typed.trim() {
            "" => Err("nothing is written here; say it in a few words".to_owned()),
            words => Ok(words.to_owned()),
        }
    }
}

impl Typed for Formula {
    fn from_typed(typed: &str) -> Result<Self, String> {
        Self::from_str(typed.trim()).map_err(|error| error.to_string())
    }
}

impl Typed for PropertyFormula {
    fn from_typed(typed: &str) -> Result<Self, String> {
        Self::from_str(typed.trim()).map_err(|error| error.to_string())
    }
}

impl Typed for Rule {
    fn from_typed(typed: &str) -> Result<Self, String> {
        Self::from_str(typed.trim()).map_err(|error| error.to_string())
    }
}

/// A figure of any type.
pub(crate) trait AnyFigure {
    fn text(&self) -> String;
    fn number(&self) -> Option<Decimal>;
    fn confidence(&self) -> Confidence;
    fn source(&self) -> &str;
    fn note(&self) -> Option<&str>;
    /// Whether the typed text means the value that already stands here.
    fn says(&self, typed: &str) -> Result<bool, String>;
    fn replace(&mut self, typed: &str, note: String) -> Result<(), String>;
    fn confirm(&mut self);
}

impl<T: Typed + PartialEq> AnyFigure for Figure<T> {
    fn text(&self) -> String {
        self.value.to_string()
    }
    fn number(&self) -> Option<Decimal> {
        self.value.number()
    }
    fn confidence(&self) -> Confidence {
        self.confidence
    }
    fn source(&self) -> &str {
        &self.source
    }
    fn note(&self) -> Option<&str> {
        self.note.as_deref()
    }
    fn says(&self, typed: &str) -> Result<bool, String> {
        Ok(T::from_typed(typed)? == self.value)
    }
    fn replace(&mut self, typed: &str, note: String) -> Result<(), String> {
        self.value = T::from_typed(typed)?;
        self.confidence = Confidence::Confirmed;
        self.source.clear();
        self.note = Some(note);
        Ok(())
    }
    fn confirm(&mut self) {
        self.confidence = Confidence::Confirmed;
    }
}

/// Visits every figure of the method, in the order in which a reader meets them.
pub(crate) fn walk(method: &mut Method, visit: &mut dyn FnMut(Spot, &mut dyn AnyFigure)) {
    let mut at = Walker { grading: None, visit };
    use Quantity as Q;
    let specimen = &mut method.specimen;
    at.one("specimen.count", "specimens for one result", Q::Specimens, &mut specimen.count);
    at.maybe("specimen.mass_g", "mass of a specimen", Q::Mass, &mut specimen.mass_g);
    at.one("specimen.weigh_to_g", "masses weighed to", Q::Mass, &mut specimen.weigh_to_g);
    if let Some(limit) = &mut specimen.differ_at_most_percent {
        let label = "losses of the specimens of one result, difference at most";
        at.one("specimen.differ_at_most_percent", label, Q::Percent, limit);
    }
    if let Some(soak) = &mut method.soak {
        at.one("soak.hours_at_least", "soak, at least", Q::Hours, &mut soak.hours_at_least);
    }
    if let Some(water) = &mut method.water {
        at.both("water.volume_l", "water", Q::Volume, &mut water.volume_l);
        let temperature = &mut water.temperature_c;
        at.maybe("water.temperature_c", "temperature of the water", Q::Temperature, temperature);
    }
    if let Some(balls) = &mut method.balls {
        at.both("balls.diameter_mm", "diameter of a ball", Q::Length, &mut balls.diameter_mm);
        at.maybe("balls.mass_g", "mass of a ball", Q::Mass, &mut balls.mass_g);
    }
    let speed =
        if method.vessel == Vessel::Drum { "speed of the drum" } else { "speed of the jar" };
    at.maybe("speed_rpm", speed, Q::Speed, &mut method.speed_rpm);
    for (number, sieve) in (1_usize..).zip(&mut method.wash_sieves_mm) {
        let path = format!("wash_sieves_mm.{number}");
        at.one(&path, &format!("wash sieve {number}"), Q::Length, sieve);
    }
    let drying = &mut method.drying;
    at.both("drying.temperature_c", "oven", Q::Temperature, &mut drying.temperature_c);
    at.one(
        "drying.constant_within_percent",
        "constant mass, change of the mass at most",
        Q::Percent,
        &mut drying.constant_within_percent,
    );
    at.one(
        "drying.weighings_apart_h",
        "constant mass, time between weighings",
        Q::Hours,
        &mut drying.weighings_apart_h,
    );
    if let Some(loss) = &mut method.loss {
        at.one("loss.formula", "formula of the loss", Q::Choice, &mut loss.formula);
        at.one("loss.round_to_percent", "loss rounded to", Q::Place, &mut loss.round_to_percent);
        at.one("loss.rounding_rule", "rounding rule", Q::Choice, &mut loss.rounding_rule);
        if let Some(below) = &mut loss.untested_below_percent {
            let path = "loss.untested_below_percent";
            at.one(path, "share below which a size need not be tested", Q::Percent, below);
        }
    }
    for reading in &mut method.readings {
        at.reading(reading);
    }
    for property in &mut method.properties {
        at.property(property);
    }
    if let Some(jar) = &mut method.jar {
        for (key, label, length) in [
            ("jar.inside_diameter_mm", "inside diameter of the jar", &mut jar.inside_diameter_mm),
            (
                "jar.outside_diameter_mm",
                "outside diameter of the jar",
                &mut jar.outside_diameter_mm,
            ),
            ("jar.inside_height_mm", "inside height of the jar", &mut jar.inside_height_mm),
        ] {
            at.maybe(key, label, Q::Length, length);
        }
    }
    for precision in &mut method.precisions {
        at.precision(precision);
    }
    for interval in &mut method.intervals {
        let path = format!("interval.{}.months", interval.of);
        let label = format!("time between two proofs: {}", interval.of);
        at.one(&path, &label, Q::Months, &mut interval.months);
    }
    for grading in &mut method.gradings {
        at.grading(grading);
    }
}

struct Walker<'v> {
    grading: Option<String>,
    visit: &'v mut dyn FnMut(Spot, &mut dyn AnyFigure),
}

impl Walker<'_> {
    fn one(&mut self, path: &str, label: &str, quantity: Quantity, figure: &mut dyn AnyFigure) {
        self.visit_at(path.to_owned(), label.to_owned(), quantity, None, figure);
    }

    fn both(&mut self, path: &str, label: &str, quantity: Quantity, value: &mut Toleranced) {
        self.one(&format!("{path}.nominal"), label, quantity, &mut value.nominal);
        if let Some(tolerance) = &mut value.tolerance {
            let nominal = Some(value.nominal.value);
            let (path, label) = (format!("{path}.tolerance"), format!("{label}, tolerance"));
            self.visit_at(path, label, quantity, nominal, tolerance);
        }
    }

    fn maybe(&mut self, path: &str, label: &str, q: Quantity, value: &mut Option<Toleranced>) {
        if let Some(value) = value {
            self.both(path, label, q, value);
        }
    }

    fn visit_at(
        &mut self,
        path: String,
        label: String,
        quantity: Quantity,
        tolerance_of: Option<Decimal>,
        figure: &mut dyn AnyFigure,
    ) {
        let label = match &self.grading {
            Some(name) => format!("grading {name}: {label}"),
            None => label,
        };
        let grading = self.grading.clone();
        (self.visit)(Spot { path, label, grading, quantity, tolerance_of }, figure);
    }

    fn precision(&mut self, precision: &mut Precision) {
        let conditions = precision.conditions;
        let path = format!("precision.{conditions}");
        if let Some(line) = &mut precision.limit_line {
            let what = format!("{conditions} limit");
            let q = Quantity::OfLine;
            self.one(
                &format!("{path}.limit_line.intercept"),
                &format!("{what}, at no loss (% loss)"),
                q,
                &mut line.intercept,
            );
            self.one(
                &format!("{path}.limit_line.slope"),
                &format!("{what}, growth with 1 % of loss"),
                q,
                &mut line.slope,
            );
        }
        for (number, level) in (1_usize..).zip(&mut precision.levels) {
            let path = format!("{path}.level.{number}");
            let what = format!("{conditions}, level {number}");
            for (key, words, figure) in [
                ("loss_percent", "loss", &mut level.loss_percent),
                (
                    "coefficient_of_variation_percent",
                    "coefficient of variation",
                    &mut level.coefficient_of_variation_percent,
                ),
                (
                    "difference_percent_of_mean",
                    "difference of two results, of their mean",
                    &mut level.difference_percent_of_mean,
                ),
            ] {
                let (path, label) = (format!("{path}.{key}"), format!("{what}: {words}"));
                self.one(&path, &label, Quantity::Percent, figure);
            }
        }
    }

    fn grading(&mut self, grading: &mut Grading) {
        use Quantity as Q;
        let path = grading_path(&grading.name);
        self.grading = Some(grading.name.clone());
        self.one(&format!("{path}.applies"), "applies to", Q::Words, &mut grading.applies);
        if let Some(size) = &mut grading.nominal_maximum_mm {
            let path = format!("{path}.nominal_maximum_mm");
            self.one(&path, "nominal maximum size", Q::Length, size);
        }
        self.maybe(&format!("{path}.charge_g"), "charge of balls", Q::Mass, &mut grading.charge_g);
        if let Some(balls) = &mut grading.balls {
            self.one(&format!("{path}.balls"), "number of balls", Q::Balls, balls);
        }
        let revolutions = format!("{path}.revolutions");
        self.maybe(&revolutions, "revolutions", Q::Revolutions, &mut grading.revolutions);
        self.maybe(
            &format!("{path}.minutes"),
            "length of the run",
            Q::Minutes,
            &mut grading.minutes,
        );
        for (number, fraction) in (1_usize..).zip(&mut grading.fractions) {
            let path = fraction_path(&grading.name, number);
            let what = format!("fraction {number}");
            let passing = format!("{path}.passing_mm");
            self.one(&passing, &format!("{what}, passes"), Q::Length, &mut fraction.passing_mm);
            let retained = format!("{path}.retained_mm");
            let label = format!("{what}, retained on");
            self.one(&retained, &label, Q::Length, &mut fraction.retained_mm);
            let mass = format!("{path}.mass_g");
            self.both(&mass, &format!("{what}, mass"), Q::Mass, &mut fraction.mass_g);
        }
        self.grading = None;
    }
}

/// The path of a grading.
pub(crate) fn grading_path(name: &str) -> String {
    format!("grading.{name}")
}

/// The path of a fraction, numbered from 1, coarsest first.
pub(crate) fn fraction_path(grading: &str, number: usize) -> String {
    format!("grading.{grading}.fraction.{number}")
}
