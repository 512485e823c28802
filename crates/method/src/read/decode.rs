//! Which keys a method file has: the model, key by key.
//!
//! Every key is taken before any fault ends the reading of its table, so that one reading names
//! all of them.

mod readings;

use super::fields::{Desk, Fields, figure};
use super::tree::Node;
use crate::model::{
    BallRule, Conditions, DryingRule, Fraction, Grading, Interval, JarRule, Line, LossRule,
    Material, Method, Precision, PrecisionLevel, SoakRule, SpecimenRule, Vessel, WaterRule,
};

const MATERIALS: &[(&str, Material)] =
    &[("coarse", Material::Coarse), ("fine", Material::Fine), ("ballast", Material::Ballast)];
const CONDITIONS: &[(&str, Conditions)] = &[
    ("repeatability", Conditions::Repeatability),
    ("reproducibility", Conditions::Reproducibility),
];

pub(super) fn method(desk: &mut Desk, root: Node) -> Option<Method> {
    let mut file = Fields::open(desk, root, String::new())?;
    let id = file.text(desk, "id");
    let edition = file.text(desk, "edition");
    let designation = file.text(desk, "designation");
    let title = file.text(desk, "title");
    let material = file.word(desk, "material", MATERIALS);
    let vessel = file.maybe_word(desk, "vessel", Vessel::WORDS);
    let notes = file.texts(desk, "notes");
    let sources = file.table(desk, "sources", |desk, fields| fields.names(desk));
    let specimen = file.table(desk, "specimen", specimen);
    // What a method must have follows from what its specimen is tested in.
    let tested_in = vessel.flatten().unwrap_or_default();
    let (in_jar, turns) = (tested_in == Vessel::JarMill, tested_in.turns());
    let soak = file.table_if(in_jar, desk, "soak", soak);
    let water = file.table_if(in_jar, desk, "water", water);
    let balls = file.maybe_table(desk, "balls", balls);
    let speed_rpm = file.toleranced_if(turns, desk, "speed_rpm");
    let wash_sieves_mm = file.tables_if(turns, desk, "wash_sieves_mm", figure);
    let drying = file.table(desk, "drying", drying);
    let loss = file.table_if(turns, desk, "loss", loss);
    let readings = file.maybe_tables(desk, "reading", readings::reading);
    let properties = file.maybe_tables(desk, "property", readings::property);
    let jar = file.maybe_table(desk, "jar", jar);
    let precisions = file.maybe_tables(desk, "precision", precision);
    let intervals = file.maybe_tables(desk, "interval", interval);
    let gradings = file.tables(desk, "grading", grading);
    file.close(desk);
    Some(Method {
        id: id?,
        edition: edition?,
        designation: designation?,
        title: title?,
        material: material?,
        vessel: vessel.map(Option::unwrap_or_default)?,
        notes: notes?,
        sources: sources?,
        specimen: specimen?,
        soak: soak?,
        water: water?,
        balls: balls?,
        speed_rpm: speed_rpm?,
        wash_sieves_mm: wash_sieves_mm?,
        drying: drying?,
        loss: loss?,
        readings: readings?,
        properties: properties?,
        jar: jar?,
        precisions: precisions?,
        intervals: intervals?,
        gradings: gradings?,
    })
}

fn specimen(desk: &mut Desk, mut fields: Fields) -> Option<SpecimenRule> {
    let count = fields.figure(desk, "count");
    let mass_g = fields.maybe_toleranced(desk, "mass_g");
    let weigh_to_g = fields.figure(desk, "weigh_to_g");
    let differ_at_most_percent = fields.maybe_figure(desk, "differ_at_most_percent");
    fields.close(desk);
    Some(SpecimenRule {
        count: count?,
        mass_g: mass_g?,
        weigh_to_g: weigh_to_g?,
        differ_at_most_percent: differ_at_most_percent?,
    })
}

fn soak(desk: &mut Desk, mut fields: Fields) -> Option<SoakRule> {
    let hours_at_least = fields.figure(desk, "hours_at_least");
    fields.close(desk);
    Some(SoakRule { hours_at_least: hours_at_least? })
}

fn water(desk: &mut Desk, mut fields: Fields) -> Option<WaterRule> {
    let volume_l = fields.toleranced(desk, "volume_l");
    let temperature_c = fields.maybe_toleranced(desk, "temperature_c");
    fields.close(desk);
    Some(WaterRule { volume_l: volume_l?, temperature_c: temperature_c? })
}

fn balls(desk: &mut Desk, mut fields: Fields) -> Option<BallRule> {
    let diameter_mm = fields.toleranced(desk, "diameter_mm");
    let mass_g = fields.maybe_toleranced(desk, "mass_g");
    fields.close(desk);
    Some(BallRule { diameter_mm: diameter_mm?, mass_g: mass_g? })
}

fn drying(desk: &mut Desk, mut fields: Fields) -> Option<DryingRule> {
    let temperature_c = fields.toleranced(desk, "temperature_c");
    let constant_within_percent = fields.figure(desk, "constant_within_percent");
    let weighings_apart_h = fields.figure(desk, "weighings_apart_h");
    fields.close(desk);
    Some(DryingRule {
        temperature_c: temperature_c?,
        constant_within_percent: constant_within_percent?,
        weighings_apart_h: weighings_apart_h?,
    })
}

fn loss(desk: &mut Desk, mut fields: Fields) -> Option<LossRule> {
    let formula = fields.figure(desk, "formula");
    let round_to_percent = fields.figure(desk, "round_to_percent");
    let rounding_rule = fields.figure(desk, "rounding_rule");
    let untested_below_percent = fields.maybe_figure(desk, "untested_below_percent");
    fields.close(desk);
    Some(LossRule {
        formula: formula?,
        round_to_percent: round_to_percent?,
        rounding_rule: rounding_rule?,
        untested_below_percent: untested_below_percent?,
    })
}

fn jar(desk: &mut Desk, mut fields: Fields) -> Option<JarRule> {
    let inside_diameter_mm = fields.maybe_toleranced(desk, "inside_diameter_mm");
    let outside_diameter_mm = fields.maybe_toleranced(desk, "outside_diameter_mm");
    let inside_height_mm = fields.maybe_toleranced(desk, "inside_height_mm");
    fields.close(desk);
    Some(JarRule {
        inside_diameter_mm: inside_diameter_mm?,
        outside_diameter_mm: outside_diameter_mm?,
        inside_height_mm: inside_height_mm?,
    })
}

fn precision(desk: &mut Desk, fields: Fields) -> Option<Precision> {
    let mut fields = named(desk, fields, "precision", "conditions");
    let conditions = fields.word(desk, "conditions", CONDITIONS);
    let limit_line = fields.maybe_table(desk, "limit_line", line);
    let levels = fields.maybe_tables(desk, "level", level);
    fields.close(desk);
    Some(Precision { conditions: conditions?, limit_line: limit_line?, levels: levels? })
}

fn line(desk: &mut Desk, mut fields: Fields) -> Option<Line> {
    let intercept = fields.figure(desk, "intercept");
    let slope = fields.figure(desk, "slope");
    fields.close(desk);
    Some(Line { intercept: intercept?, slope: slope? })
}

fn level(desk: &mut Desk, mut fields: Fields) -> Option<PrecisionLevel> {
    let loss_percent = fields.figure(desk, "loss_percent");
    let variation = fields.figure(desk, "coefficient_of_variation_percent");
    let difference = fields.figure(desk, "difference_percent_of_mean");
    fields.close(desk);
    Some(PrecisionLevel {
        loss_percent: loss_percent?,
        coefficient_of_variation_percent: variation?,
        difference_percent_of_mean: difference?,
    })
}

fn interval(desk: &mut Desk, fields: Fields) -> Option<Interval> {
    let mut fields = named(desk, fields, "interval", "of");
    let of = fields.text(desk, "of");
    let months = fields.figure(desk, "months");
    fields.close(desk);
    Some(Interval { of: of?, months: months? })
}

fn grading(desk: &mut Desk, fields: Fields) -> Option<Grading> {
    let mut fields = named(desk, fields, "grading", "name");
    let name = fields.text(desk, "name");
    let applies = fields.figure(desk, "applies");
    let nominal_maximum_mm = fields.maybe_figure(desk, "nominal_maximum_mm");
    let charge_g = fields.maybe_toleranced(desk, "charge_g");
    let balls = fields.maybe_figure(desk, "balls");
    let revolutions = fields.maybe_toleranced(desk, "revolutions");
    let minutes = fields.maybe_toleranced(desk, "minutes");
    let fractions = fields.maybe_tables(desk, "fraction", fraction);
    fields.close(desk);
    Some(Grading {
        name: name?,
        applies: applies?,
        nominal_maximum_mm: nominal_maximum_mm?,
        charge_g: charge_g?,
        balls: balls?,
        revolutions: revolutions?,
        minutes: minutes?,
        fractions: fractions?,
    })
}

fn fraction(desk: &mut Desk, mut fields: Fields) -> Option<Fraction> {
    let passing_mm = fields.figure(desk, "passing_mm");
    let retained_mm = fields.figure(desk, "retained_mm");
    let mass_g = fields.toleranced(desk, "mass_g");
    fields.close(desk);
    Some(Fraction { passing_mm: passing_mm?, retained_mm: retained_mm?, mass_g: mass_g? })
}

/// Calls the table by its own name where it has one, as the paths of the figures do.
fn named(desk: &mut Desk, fields: Fields, kind: &str, key: &str) -> Fields {
    match fields.peek(key).map(|name| format!("{kind}.{name}")) {
        Some(path) => fields.called(desk, path),
        None => fields,
    }
}
