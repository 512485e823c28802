//! Reference aggregate, control charts, investigations.

use super::Noter;
use crate::fact::Fact;
use crate::state::{Import, Investigation, Lab, ReferenceLot};
use std::collections::BTreeMap;

impl Lab {
    pub(super) fn apply_control(&mut self, note: &Noter<'_>) {
        match &note.0.fact {
            Fact::LotRegistered(lot) => {
                let registered = ReferenceLot {
                    code: lot.lot.clone(),
                    name: lot.name.clone(),
                    source: lot.source.clone(),
                    method: lot.method.clone(),
                    grading: lot.grading.clone(),
                    assigned: lot.assigned.clone(),
                    stock_g: lot.stock_g,
                    received_on: lot.received_on,
                    registered: note.that(()),
                    counts: Vec::new(),
                    imports: Vec::new(),
                    baselines: BTreeMap::new(),
                    took_over: Vec::new(),
                };
                self.lots.insert(lot.lot.clone(), registered);
            }
            Fact::SampleLinked(linked) => {
                let lot = note.that(linked.lot.clone());
                self.lot_of_sample.insert(linked.sample.clone(), lot);
            }
            Fact::StockCounted(counted) => {
                if let Some(lot) = self.lots.get_mut(&counted.lot) {
                    lot.counts.push(note.that(counted.clone()));
                }
            }
            Fact::ReferenceImported(imported) => {
                self.count('M', note);
                if let Some(lot) = self.lots.get_mut(&imported.lot) {
                    lot.imports.push(note.that(Import {
                        code: imported.import.clone(),
                        apparatus: imported.apparatus.clone(),
                        document: imported.document.clone(),
                        results: imported.results.clone(),
                        file: imported.file.clone(),
                    }));
                }
                let file = imported.file.as_ref().and_then(|file| self.file_imports.get_mut(file));
                if let Some(file) = file {
                    file.references.push(imported.import.clone());
                    file.reference_results += imported.results.len();
                }
            }
            Fact::BaselineFrozen(frozen) => {
                if let Some(lot) = self.lots.get_mut(&frozen.lot) {
                    let of_apparatus = lot.baselines.entry(frozen.apparatus.clone()).or_default();
                    of_apparatus.push(note.that(frozen.clone()));
                }
            }
            Fact::LotTakenOver(taken) => {
                if let Some(lot) = self.lots.get_mut(&taken.lot) {
                    lot.took_over.push(note.that(taken.clone()));
                }
            }
            Fact::EventNoted(event) => {
                let noted = note.that(event.clone());
                self.events.entry(event.item.clone()).or_default().push(noted);
            }
            _ => self.apply_investigation(note),
        }
    }

    fn apply_investigation(&mut self, note: &Noter<'_>) {
        match &note.0.fact {
            Fact::InvestigationOpened(opened) => {
                self.count('N', note);
                let investigation = Investigation {
                    code: opened.investigation.clone(),
                    lot: opened.lot.clone(),
                    apparatus: opened.apparatus.clone(),
                    point: opened.point.clone(),
                    last_in_control: opened.last_in_control.clone(),
                    opened: note.that(opened.why.clone()),
                    findings: Vec::new(),
                    closed: None,
                };
                self.investigations.insert(opened.investigation.clone(), investigation);
            }
            Fact::FindingRecorded(finding) => {
                if let Some(open) = self.investigations.get_mut(&finding.investigation) {
                    open.findings.push(note.that(finding.clone()));
                }
            }
            Fact::InvestigationClosed(closed) => {
                if let Some(open) = self.investigations.get_mut(&closed.investigation) {
                    open.closed = Some(note.that(closed.clone()));
                }
            }
            _ => {}
        }
    }
}
