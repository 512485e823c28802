//! The keys of readings and properties.

use super::{CONDITIONS, Desk, Fields, named};
use crate::model::{Need, Of, Property, PropertyLevel, PropertyPrecision, Reading, When};

pub(super) fn reading(desk: &mut Desk, fields: Fields) -> Option<Reading> {
    let mut fields = named(desk, fields, "reading", "name");
    let name = fields.text(desk, "name");
    let title = fields.text(desk, "title");
    let when = fields.word(desk, "when", When::WORDS);
    let unit = fields.maybe_text(desk, "unit");
    let of = fields.maybe_word(desk, "of", Of::WORDS);
    let need = fields.maybe_word(desk, "need", Need::WORDS);
    let read_with = fields.maybe_text(desk, "read_with");
    let wanted = fields.maybe_toleranced(desk, "wanted");
    let revolutions = fields.maybe_figure(desk, "revolutions");
    fields.close(desk);
    Some(Reading {
        name: name?,
        title: title?,
        when: when?,
        unit: unit?.unwrap_or_default(),
        of: of?.unwrap_or(Of::Specimen),
        need: need?.unwrap_or(Need::Always),
        read_with: read_with?,
        wanted: wanted?,
        revolutions: revolutions?,
    })
}

pub(super) fn property(desk: &mut Desk, fields: Fields) -> Option<Property> {
    let mut fields = named(desk, fields, "property", "name");
    let name = fields.text(desk, "name");
    let title = fields.text(desk, "title");
    let unit = fields.maybe_text(desk, "unit");
    let formula = fields.figure(desk, "formula");
    let round_to = fields.figure(desk, "round_to");
    let rounding_rule = fields.figure(desk, "rounding_rule");
    let at_most = fields.maybe_figure(desk, "at_most");
    let precisions = fields.maybe_tables(desk, "precision", precision);
    fields.close(desk);
    Some(Property {
        name: name?,
        title: title?,
        unit: unit?.unwrap_or_default(),
        formula: formula?,
        round_to: round_to?,
        rounding_rule: rounding_rule?,
        at_most: at_most?,
        precisions: precisions?,
    })
}

fn precision(desk: &mut Desk, fields: Fields) -> Option<PropertyPrecision> {
    let mut fields = fields.numbered_by(desk, "conditions");
    let conditions = fields.word(desk, "conditions", CONDITIONS);
    let levels = fields.tables(desk, "level", level);
    fields.close(desk);
    Some(PropertyPrecision { conditions: conditions?, levels: levels? })
}

fn level(desk: &mut Desk, mut fields: Fields) -> Option<PropertyLevel> {
    let at = fields.figure(desk, "at");
    let difference = fields.figure(desk, "difference");
    fields.close(desk);
    Some(PropertyLevel { at: at?, difference: difference? })
}
