//! Reads the description of an apparatus and says which values were assumed.

use crate::apparatus::{
    AfterPowerLoss, Apparatus, Control, CounterSenses, Door, ModeChange, Tier, description_faults,
};
use crate::file_faults::FileFaults;
use crate::reader::{Fields, Reader, Value, read_file};

/// The keys of a description, in the order in which they are listed to a reader.
pub(crate) const KEYS: [&str; 11] = [
    "name",
    "control",
    "time_step",
    "counter_senses",
    "mode_change",
    "after_power_loss",
    "nominal_rpm",
    "tiers",
    "doors",
    "interlock",
    "separate_stop",
];

/// A description as it was read.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Described {
    /// The apparatus.
    pub apparatus: Apparatus,
    /// Each value that the file did not give and that was assumed, as the file would write it:
    /// `counter_senses = "roller"`.
    pub defaults_used: Vec<String>,
}

/// Reads the description of an apparatus, written as TOML.
///
/// Some defaults follow from what is said: without a counter a run can only end by time, a
/// machine that only goes by time needs no counter (AASHTO T 327-12(2020) §6.1), and without a
/// door there is no interlock.
///
/// # Errors
/// Every unknown key or value and every contradiction, with its line and what would be right.
/// `file` is only used to say where.
pub fn read_apparatus(file: &str, text: &str) -> Result<Described, FileFaults> {
    read_file(file, text, |reader, root| {
        reader.only(root, &KEYS);
        let described = Description { reader, root, defaults_used: Vec::new() }.read();
        // A contradiction with a value that could not be read, and was replaced by its default,
        // would only confuse.
        if reader.is_clean() {
            contradictions(reader, root, &described.apparatus);
        }
        Some(described)
    })
}

fn contradictions(reader: &mut Reader<'_>, root: &Fields<'_, '_>, apparatus: &Apparatus) {
    for fault in description_faults(apparatus) {
        let entry = fault.entry.and_then(|entry| root.get(fault.key)?.get_ref().get(entry));
        let place = entry.map_or_else(|| root.place_of(fault.key), |entry| entry.span().start);
        reader.fault(place, fault.wrong, fault.right);
    }
}

struct Description<'r, 'e, 'a, 't> {
    reader: &'r mut Reader<'e>,
    root: &'a Fields<'a, 't>,
    defaults_used: Vec<String>,
}

impl<'a, 't> Description<'_, '_, 'a, 't> {
    fn read(mut self) -> Described {
        let default = Apparatus::default();
        let name = self.text("name", &default.name);
        let (control, counter_senses) = self.control_and_counter();
        let time_step = self.text("time_step", &default.time_step);
        let mode_change = self.word("mode_change", ModeChange::WORDS, default.mode_change);
        let after_power_loss =
            self.word("after_power_loss", AfterPowerLoss::WORDS, default.after_power_loss);
        let nominal_rpm = match self.root.get("nominal_rpm") {
            Some(value) => self.reader.decimal(value, "nominal_rpm").unwrap_or_default(),
            None => {
                self.assumed(format!("nominal_rpm = {}", default.nominal_rpm), default.nominal_rpm)
            }
        };
        let tiers = self.tiers(default.tiers);
        let doors = self.doors(default.doors);
        let interlock = self.flag("interlock", !doors.is_empty());
        let separate_stop = self.flag("separate_stop", default.separate_stop);
        let apparatus = Apparatus {
            name,
            control,
            time_step,
            counter_senses,
            mode_change,
            after_power_loss,
            nominal_rpm,
            tiers,
            doors,
            interlock,
            separate_stop,
        };
        Described { apparatus, defaults_used: self.defaults_used }
    }

    fn assumed<T>(&mut self, as_written: String, value: T) -> T {
        self.defaults_used.push(as_written);
        value
    }

    fn text(&mut self, key: &str, default: &str) -> String {
        match self.root.get(key) {
            Some(value) => self.reader.text(value, key).unwrap_or_default(),
            None => self.assumed(format!("{key} = \"{default}\""), default.to_owned()),
        }
    }

    fn flag(&mut self, key: &str, default: bool) -> bool {
        match self.root.get(key) {
            Some(value) => self.reader.flag(value, key).unwrap_or(default),
            None => self.assumed(format!("{key} = {default}"), default),
        }
    }

    fn word<T: Copy + PartialEq>(&mut self, key: &str, words: &[(&str, T)], default: T) -> T {
        match self.root.get(key) {
            Some(value) => self.reader.word(value, key, words).unwrap_or(default),
            None => {
                let word = words.iter().find(|(_, value)| *value == default);
                let word = word.map_or("", |(word, _)| word);
                self.assumed(format!("{key} = \"{word}\""), default)
            }
        }
    }

    fn control_and_counter(&mut self) -> (Vec<Control>, CounterSenses) {
        let key = "control";
        let written: Option<Vec<Control>> = self.root.get(key).map(|value| {
            let entries = self.reader.list(value, key);
            entries
                .iter()
                .filter_map(|entry| self.reader.word(entry, key, Control::WORDS))
                .collect()
        });
        let only_time = written.as_deref() == Some([Control::Time].as_slice());
        let counter = if only_time { CounterSenses::Nothing } else { CounterSenses::Roller };
        let counter = self.word("counter_senses", CounterSenses::WORDS, counter);
        let control = written.unwrap_or_else(|| {
            let assumed = if counter == CounterSenses::Nothing {
                Control::Time
            } else {
                Control::Revolutions
            };
            self.assumed(format!("control = [\"{}\"]", assumed.as_str()), vec![assumed])
        });
        (control, counter)
    }

    /// The tables of a list, each with its number from 1.
    fn entries(&mut self, key: &str, value: &'a Value<'t>) -> Vec<(u32, Fields<'a, 't>)> {
        let one = key.trim_end_matches('s');
        let entries = self.reader.list(value, key);
        (1..)
            .zip(entries)
            .filter_map(|(number, entry)| {
                Some((number, self.reader.table(entry, format!("{one} {number}"))?))
            })
            .collect()
    }

    fn entry_name(&mut self, fields: &Fields<'_, '_>, one: &str, number: u32) -> String {
        match fields.get("name") {
            Some(value) => self.reader.text(value, "name").unwrap_or_default(),
            None => {
                let name = format!("{one} {number}");
                self.assumed(format!("{one} {number}: name = \"{name}\""), name)
            }
        }
    }

    fn entry_whole(&mut self, fields: &Fields<'_, '_>, of: &str, key: &str, default: u32) -> u32 {
        match fields.get(key) {
            Some(value) => self.reader.whole(value, key).unwrap_or(default),
            None => self.assumed(format!("{of}: {key} = {default}"), default),
        }
    }

    fn tiers(&mut self, default: Vec<Tier>) -> Vec<Tier> {
        let Some(value) = self.root.get("tiers") else {
            let written = "tiers = [{ name = \"only\", positions = 1 }]".to_owned();
            return self.assumed(written, default);
        };
        let mut tiers = Vec::new();
        for (number, fields) in self.entries("tiers", value) {
            self.reader.only(&fields, &["name", "positions"]);
            let name = self.entry_name(&fields, "tier", number);
            let positions = self.entry_whole(&fields, &format!("tier “{name}”"), "positions", 1);
            tiers.push(Tier { name, positions });
        }
        tiers
    }

    fn doors(&mut self, default: Vec<Door>) -> Vec<Door> {
        let Some(value) = self.root.get("doors") else {
            let written = "doors = [{ name = \"guard\", close = 1, latch = false }]".to_owned();
            return self.assumed(written, default);
        };
        let mut doors = Vec::new();
        for (number, fields) in self.entries("doors", value) {
            self.reader.only(&fields, &["name", "close", "latch"]);
            let name = self.entry_name(&fields, "door", number);
            let of = format!("door “{name}”");
            // In the order in which they are written, unless it is said otherwise.
            let close = self.entry_whole(&fields, &of, "close", number);
            let latch = match fields.get("latch") {
                Some(value) => self.reader.flag(value, "latch").unwrap_or(false),
                None => self.assumed(format!("{of}: latch = false"), false),
            };
            doors.push(Door { name, close, latch });
        }
        doors
    }
}
