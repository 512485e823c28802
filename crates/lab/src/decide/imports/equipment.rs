//! Lists of equipment: each row an item, registered by the same rules as by hand.

use super::reader::Reader;
use super::{Desk, Made};
use crate::code::tidy;
use crate::fact::{Fact, ImportedItem};
use crate::request::RegisterItem;
use std::collections::BTreeMap;
use stonewear_procedure::ItemKind;

impl Desk<'_> {
    pub(super) fn equipment(&self, reader: &mut Reader<'_>) -> Made {
        reader.needs("code", "the code of each item");
        reader.needs("kind", "what kind of item each is");
        let mut made = Made::default();
        if reader.is_hopeless() {
            return made;
        }
        let mut seen: BTreeMap<String, u64> = BTreeMap::new();
        for row in reader.rows() {
            let code = reader.needed(row, "code", "JAR-3");
            // “Ball charge” is the same as ball-charge.
            let kind = reader.needed(row, "kind", "balance").to_lowercase().replace(' ', "-");
            let name = match reader.text(row, "name") {
                empty if empty.is_empty() => kind.replace('-', " "),
                name => name,
            };
            let (maker, serial) = (reader.text(row, "maker"), reader.text(row, "serial"));
            let maker_and_serial = match (maker.as_str(), serial.as_str()) {
                (maker, "") => maker.to_owned(),
                ("", serial) => serial.to_owned(),
                (maker, serial) => format!("{maker}, {serial}"),
            };
            if reader.is_bad(row) {
                continue;
            }
            let tidied = tidy(&code).unwrap_or_default();
            if let Some(first) = seen.insert(tidied.clone(), row.row) {
                let hint = "give each item a code of its own";
                reader.wrong(row, "code", format!("{tidied} stands in row {first}, too"), hint);
                continue;
            }
            let known = self.lab.items.get(tidied.as_str());
            if known.is_some_and(|known| known.kind.as_str() == kind && known.name == name) {
                made.known += 1;
                continue;
            }
            if [ItemKind::Apparatus.as_str()].contains(&kind.as_str()) {
                let hint = "register it by hand, and leave the row out";
                let message = "a list cannot say how an apparatus is built";
                reader.wrong(row, "kind", message, hint);
                continue;
            }
            let request = RegisterItem {
                code,
                kind,
                name,
                maker_and_serial,
                opening_mm: reader.cell(row, "opening_mm").to_owned(),
                resolution: reader.cell(row, "resolution").to_owned(),
                apparatus: None,
            };
            match self.register_item(&request) {
                Ok(facts) => {
                    for fact in &facts {
                        if let Fact::ItemRegistered { item, .. } = fact {
                            made.items.push(ImportedItem { row: row.row, item: item.clone() });
                        }
                    }
                    made.facts.extend(facts);
                }
                Err(refusal) => {
                    for problem in refusal.problems {
                        reader.wrong(row, &problem.field, problem.message, problem.hint);
                    }
                }
            }
        }
        made
    }
}
