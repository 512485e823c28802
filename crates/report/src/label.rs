//! Labels: what is stuck on a bag, a jar, a balance, so that a scanner finds it.

use jiff::Timestamp;
use serde::{Deserialize, Serialize};
use std::str::FromStr;
use stonewear_lab::Lab;
use stonewear_lab::find::{Thing, ThingKind};

/// Bounds of a label's sides, in whole millimetres: below them no code can be scanned, above
/// them it is no label.
const SIDES_MM: std::ops::RangeInclusive<u32> = 20..=300;

/// What labels are printed on.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case", tag = "on")]
pub enum LabelSize {
    /// One label a page, for a label printer.
    Roll {
        /// Width, mm.
        width_mm: u32,
        /// Height, mm.
        height_mm: u32,
    },
    /// Sheets of 210 mm × 297 mm with 3 × 8 labels of 70 mm × 37 mm.
    A4Sheet,
}

impl Default for LabelSize {
    /// 62 mm × 29 mm, which every label printer of a laboratory takes.
    fn default() -> Self {
        Self::Roll { width_mm: 62, height_mm: 29 }
    }
}

impl FromStr for LabelSize {
    type Err = String;

    /// Reads `62x29`, in millimetres, or `A4-sheet`.
    fn from_str(typed: &str) -> Result<Self, Self::Err> {
        let text = typed.trim().to_lowercase();
        if text == "a4-sheet" {
            return Ok(Self::A4Sheet);
        }
        let sides = text.split_once(['x', '×']).and_then(|(width, height)| {
            Some((width.trim().parse::<u32>().ok()?, height.trim().parse::<u32>().ok()?))
        });
        match sides {
            Some((width_mm, height_mm))
                if SIDES_MM.contains(&width_mm)
                    && SIDES_MM.contains(&height_mm)
                    && height_mm <= width_mm =>
            {
                Ok(Self::Roll { width_mm, height_mm })
            }
            _ => Err(format!(
                "“{typed}” is no size of a label; write width x height in mm, like 62x29 (each from {} to {}, not higher than wide), or A4-sheet",
                SIDES_MM.start(),
                SIDES_MM.end()
            )),
        }
    }
}

/// One label.
#[derive(Debug, Clone, PartialEq, Eq, Default, Serialize, Deserialize)]
pub struct Label {
    /// The code, to be read by people.
    pub code: String,
    /// What it is the code of: `Sample`, `Jar`.
    pub kind: String,
    /// What people call it.
    pub name: String,
    /// What else helps to put it where it belongs, most important first.
    pub lines: Vec<String>,
    /// What a scanner types: the code, or an address that leads to it.
    pub scanned: String,
}

/// Labels that are printed together.
#[derive(Debug, Clone, PartialEq, Eq, Default, Serialize, Deserialize)]
pub struct Labels {
    /// What they are printed on.
    pub size: LabelSize,
    /// The laboratory's name.
    pub laboratory: String,
    /// Whether everything in the laboratory is invented; each label says so.
    pub invented: bool,
    /// The language of their words, as a tag.
    pub language: String,
    /// When they were made, in UTC like `2026-03-18T14:05:00Z`.
    pub made_at: String,
    /// The labels, in the order in which they are printed.
    pub labels: Vec<Label>,
}

/// The labels of these things. With a `base` address, such as `http://bench:7007`, a scanner
/// types the address of the page instead of the code.
pub fn labels(lab: &Lab, things: &[Thing], size: LabelSize, base: &str, at: Timestamp) -> Labels {
    Labels {
        size,
        laboratory: lab.identity.as_ref().map(|one| one.name.clone()).unwrap_or_default(),
        invented: lab.identity.as_ref().is_some_and(|identity| identity.invented),
        language: crate::build::language(lab),
        made_at: at.strftime("%Y-%m-%dT%H:%M:%SZ").to_string(),
        labels: things.iter().map(|thing| label(lab, thing, base)).collect(),
    }
}

fn label(lab: &Lab, thing: &Thing, base: &str) -> Label {
    let what = thing.what();
    let kind = what.split_once(' ').map_or(what.as_str(), |(_, noun)| noun);
    let mut letters = kind.chars();
    let kind = letters.next().map(|first| first.to_uppercase().chain(letters).collect());
    let (name, lines) = match thing.kind {
        ThingKind::Sample => of_sample(lab, thing),
        ThingKind::Specimen => of_specimen(lab, thing),
        ThingKind::Item(_) => (thing.name.clone(), vec![proved(lab, &thing.code)]),
        _ => (thing.name.clone(), Vec::new()),
    };
    Label {
        code: thing.code.clone(),
        kind: kind.unwrap_or_default(),
        name,
        lines: lines.into_iter().filter(|line| !line.is_empty()).collect(),
        scanned: match base.trim().trim_end_matches('/') {
            "" => thing.code.clone(),
            base => format!("{base}/find?q={}", thing.code),
        },
    }
}

fn of_sample(lab: &Lab, thing: &Thing) -> (String, Vec<String>) {
    let Some(sample) = lab.samples.get(thing.code.as_str()) else { return Default::default() };
    let received = format!("received {}", sample.received_on);
    (sample.material.clone(), vec![sample.client.clone(), sample.source.clone(), received])
}

fn of_specimen(lab: &Lab, thing: &Thing) -> (String, Vec<String>) {
    let Some(specimen) = lab.specimens.get(thing.code.as_str()) else {
        return Default::default();
    };
    let sample = lab.samples.get(&specimen.sample);
    let material = sample.map(|sample| sample.material.clone()).unwrap_or_default();
    let client = sample.map(|sample| sample.client.clone()).unwrap_or_default();
    (material, vec![thing.name.clone(), client])
}

/// Until when an item is proved. The label of an item is printed anew with every proof.
fn proved(lab: &Lab, item: &str) -> String {
    let check = lab.items.get(item).and_then(|item| lab.proof_of(&item.code));
    match check.map(|check| lab.proves_until(check)) {
        None => "not yet proved".to_owned(),
        Some(None) => "proved".to_owned(),
        Some(Some(until)) => format!("proved until {}", lab.local(until).date()),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_size_is_read_as_people_write_it() {
        for (typed, size) in [
            ("62x29", LabelSize::Roll { width_mm: 62, height_mm: 29 }),
            (" 100 × 50 ", LabelSize::Roll { width_mm: 100, height_mm: 50 }),
            ("A4-sheet", LabelSize::A4Sheet),
        ] {
            assert_eq!(typed.parse(), Ok(size), "{typed}");
        }
        for wrong in ["", "62", "62x", "x29", "10x10", "29x62", "62x2900", "a5-sheet", "-62x29"] {
            let message = wrong.parse::<LabelSize>().unwrap_err();
            assert!(message.contains("like 62x29"), "{wrong}: {message}");
        }
    }
}
