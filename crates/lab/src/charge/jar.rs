//! What a jar has turned, and how its bore was found over that.

use crate::code::{CheckCode, ItemCode, SpecimenCode};
use crate::fact::Seen;
use crate::state::{Lab, Run};
use jiff::Timestamp;
use std::collections::BTreeSet;
use stonewear_measure::Decimal;
use stonewear_procedure::{Expect, ItemKind};

/// One reading of a dimension of a jar.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct BoreReading {
    /// The check.
    pub check: CheckCode,
    /// When it was read.
    pub at: Timestamp,
    /// What was read, as the procedure calls it.
    pub what: String,
    /// The dimension, mm.
    pub mm: Decimal,
    /// Revolutions that the jar had turned by then since it is on record.
    pub turned: Decimal,
}

/// What a jar has turned.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct JarUse {
    /// The jar.
    pub jar: ItemCode,
    /// Runs since it is on record.
    pub runs: usize,
    /// Revolutions since then.
    pub turned: Decimal,
    /// Of the runs, those whose revolutions were not counted.
    pub not_counted: usize,
    /// When it turned last.
    pub last: Option<Timestamp>,
    /// What was read of its bore, oldest first.
    pub bore: Vec<BoreReading>,
}

impl Lab {
    /// What a jar has turned; `None` where there is no such jar.
    pub fn jar_use(&self, jar: &ItemCode) -> Option<JarUse> {
        self.items.get(jar).filter(|item| item.kind == ItemKind::Jar)?;
        let uses = self.uses.get(jar).map(Vec::as_slice).unwrap_or_default();
        let specimens: BTreeSet<&SpecimenCode> = uses.iter().map(|one| &one.specimen).collect();
        let mut turnings: Vec<(&Run, Decimal, bool)> = specimens
            .into_iter()
            .filter_map(|code| {
                let run = self.runs.get(self.specimens.get(code)?.run.as_ref()?)?;
                let is_in_it = run.placed(code)?.jar.as_ref() == Some(jar);
                let (revolutions, is_counted) = self.turned_in(run, code);
                is_in_it.then_some((run, revolutions, is_counted))
            })
            .collect();
        turnings.sort_by_key(|(run, ..)| run.started.position);
        let sum = |until: u64| {
            let before = turnings.iter().filter(|(run, ..)| run.started.position < until);
            before.fold(Decimal::ZERO, |sum, (_, turned, _)| sum.saturating_add(*turned))
        };
        let bore = self.checks_of(jar).flat_map(|check| {
            let read = check.observations.iter().filter_map(|noted| {
                let step = check.procedure.step(&noted.value.step)?;
                let Expect::Number { what, unit, .. } = &step.expect else { return None };
                let Seen::Number(mm) = noted.value.known() else { return None };
                (unit == "mm" && what.contains("diameter")).then(|| BoreReading {
                    check: check.code.clone(),
                    at: noted.at,
                    what: what.clone(),
                    mm: *mm,
                    turned: sum(noted.position),
                })
            });
            read.collect::<Vec<_>>()
        });
        Some(JarUse {
            jar: jar.clone(),
            runs: turnings.len(),
            turned: sum(u64::MAX),
            not_counted: turnings
                .iter()
                .filter(|(_, turned, counted)| !counted && !turned.is_zero())
                .count(),
            last: turnings.last().map(|(run, ..)| run.started.at),
            bore: bore.collect(),
        })
    }
}
