//! The figures of the readings and of the properties that are worked out from them.

use super::{Quantity, Walker};
use crate::model::{Property, Reading};

impl Walker<'_> {
    pub(super) fn reading(&mut self, reading: &mut Reading) {
        let path = format!("reading.{}", reading.name);
        let quantity = Quantity::of_unit(&reading.unit);
        self.maybe(&format!("{path}.wanted"), &reading.title, quantity, &mut reading.wanted);
        if let Some(revolutions) = &mut reading.revolutions {
            let path = format!("{path}.revolutions");
            let label = format!("{}: revolutions until then", reading.title);
            self.one(&path, &label, Quantity::Revolutions, revolutions);
        }
    }

    pub(super) fn property(&mut self, property: &mut Property) {
        let path = format!("property.{}", property.name);
        let title = &property.title;
        let quantity = Quantity::of_unit(&property.unit);
        let label = format!("formula of the {title}");
        self.one(&format!("{path}.formula"), &label, Quantity::Choice, &mut property.formula);
        let label = format!("{title} rounded to");
        self.one(&format!("{path}.round_to"), &label, quantity.place(), &mut property.round_to);
        let (path_of_rule, label) =
            (format!("{path}.rounding_rule"), format!("rounding rule of the {title}"));
        self.one(&path_of_rule, &label, Quantity::Choice, &mut property.rounding_rule);
        if let Some(most) = &mut property.at_most {
            self.one(&format!("{path}.at_most"), &format!("{title}, at most"), quantity, most);
        }
        for precision in &mut property.precisions {
            let conditions = precision.conditions;
            for (number, level) in (1_usize..).zip(&mut precision.levels) {
                let path = format!("{path}.precision.{conditions}.level.{number}");
                let what = format!("{title}, {conditions}, level {number}");
                self.one(&format!("{path}.at"), &format!("{what}: mean"), quantity, &mut level.at);
                let label = format!("{what}: difference of two values");
                self.one(&format!("{path}.difference"), &label, quantity, &mut level.difference);
            }
        }
    }
}

impl Quantity {
    /// What is measured in this unit of a reading or property.
    fn of_unit(unit: &str) -> Self {
        match unit {
            "g" => Self::Mass,
            "%" => Self::Percent,
            "°C" => Self::Temperature,
            "h" => Self::Hours,
            "min" => Self::Minutes,
            "cycles" => Self::Cycles,
            "Mg/m³" => Self::Density,
            _ => Self::Ratio,
        }
    }

    /// The rounding place of the same, which is never zero.
    fn place(self) -> Self {
        if self == Self::Percent { Self::Place } else { self }
    }
}
