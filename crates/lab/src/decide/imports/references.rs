//! Past losses of reference aggregate: history on the control charts of their lot and apparatus.

use super::reader::Reader;
use super::{Desk, Made, ROWS_A_FACT};
use crate::code::{ImportCode, ItemCode, LotCode, numbered, scanned};
use crate::fact::{Fact, ImportedResult, ReferenceImported};
use crate::request::ImportRow;
use jiff::civil::Date;
use std::collections::HashMap;
use stonewear_measure::Decimal;
use stonewear_procedure::ItemKind;

/// What makes a row the same as one that is here: all that it says.
type Key = (LotCode, ItemCode, Date, String, String, String);

fn key(lot: &LotCode, apparatus: &ItemCode, one: &ImportedResult) -> Key {
    let loss = one.loss_percent.normalize().to_string();
    (lot.clone(), apparatus.clone(), one.on, loss, one.operator.clone(), one.note.clone())
}

impl Desk<'_> {
    pub(super) fn references(&self, reader: &mut Reader<'_>, import: &ImportCode) -> Made {
        reader.needs("on", "on which day each result was found");
        reader.needs("loss_percent", "the loss");
        reader.needs("lot", "of which lot of reference aggregate each result is");
        reader.needs("apparatus", "on which apparatus each result was found");
        let mut made = Made::default();
        if reader.is_hopeless() {
            return made;
        }
        let mut known: HashMap<Key, u64> = HashMap::new();
        for lot in self.lab.lots.values() {
            for taken in &lot.imports {
                for one in &taken.value.results {
                    *known.entry(key(&lot.code, &taken.value.apparatus, one)).or_default() += 1;
                }
            }
        }
        let mut groups: Vec<(LotCode, ItemCode, Vec<ImportedResult>)> = Vec::new();
        for row in reader.rows() {
            let on = reader.day(row, "on");
            let all = (Decimal::ZERO, Decimal::ONE_HUNDRED);
            let loss_percent = reader.needed_number(row, "loss_percent", "%", all);
            let lot = self.lot_of_row(reader, row);
            let apparatus = self.machine_of_row(reader, row);
            let (operator, note) = (reader.text(row, "operator"), reader.text(row, "note"));
            let (Some(on), Some(loss_percent), Some(lot), Some(apparatus), false) =
                (on, loss_percent, lot, apparatus, reader.is_bad(row))
            else {
                continue;
            };
            let one = ImportedResult { on, loss_percent, operator, note, row: Some(row.row) };
            if let Some(left) =
                known.get_mut(&key(&lot, &apparatus, &one)).filter(|left| **left > 0)
            {
                *left -= 1;
                made.known += 1;
                continue;
            }
            let fits = |(of, on, results): &&mut (LotCode, ItemCode, Vec<ImportedResult>)| {
                *of == lot && *on == apparatus && results.len() < ROWS_A_FACT
            };
            match groups.iter_mut().find(fits) {
                Some((.., results)) => results.push(one),
                None => groups.push((lot, apparatus, vec![one])),
            }
        }
        let (year, first) = self.lab.next_number('M', self.context.at);
        for (number, (lot, apparatus, results)) in (first..).zip(groups) {
            made.facts.push(Fact::ReferenceImported(ReferenceImported {
                import: numbered('M', year, number),
                lot,
                apparatus,
                document: import.to_string(),
                results,
                file: Some(import.clone()),
            }));
        }
        made
    }

    fn lot_of_row<'r>(&self, reader: &mut Reader<'r>, row: &'r ImportRow) -> Option<LotCode> {
        let typed = reader.cell(row, "lot");
        let found = self.lab.lots.get(scanned(typed).as_str()).map(|lot| lot.code.clone());
        if found.is_none() {
            let known = crate::words::listed(self.lab.lots.keys().map(ToString::to_string));
            let hint = match known.as_str() {
                "" => "register the lot first".to_owned(),
                known => format!("known: {known}"),
            };
            reader.wrong(row, "lot", format!("there is no lot “{typed}”"), hint);
        }
        found
    }

    fn machine_of_row<'r>(&self, reader: &mut Reader<'r>, row: &'r ImportRow) -> Option<ItemCode> {
        let typed = reader.cell(row, "apparatus");
        let is_machine = |kind| matches!(kind, ItemKind::Apparatus | ItemKind::Drum);
        let found = self.lab.items.get(scanned(typed).as_str());
        let found = found.filter(|item| is_machine(item.kind)).map(|item| item.code.clone());
        if found.is_none() {
            let machines = self.lab.items.values().filter(|item| is_machine(item.kind));
            let known = crate::words::listed(machines.map(|item| item.code.to_string()));
            let hint = match known.as_str() {
                "" => "register the apparatus first".to_owned(),
                known => format!("known: {known}"),
            };
            reader.wrong(row, "apparatus", format!("there is no apparatus “{typed}”"), hint);
        }
        found
    }
}
