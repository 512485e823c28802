//! Lots of reference aggregate, and investigations.

use super::Noted;
use crate::code::{ImportCode, InvestigationCode, ItemCode, LotCode, ResultCode};
use crate::fact::{
    AssignedValue, BaselineFrozen, FindingRecorded, ImportedResult, InvestigationClosed,
    LotTakenOver, StockCounted,
};
use jiff::civil::Date;
use serde::Serialize;
use std::collections::BTreeMap;
use stonewear_measure::Decimal;
use stonewear_method::MethodId;

/// A lot of reference aggregate with its history.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct ReferenceLot {
    /// The code marked on its bin.
    pub code: LotCode,
    /// What people call it.
    pub name: String,
    /// Where the material comes from.
    pub source: String,
    /// The method that it is tested by.
    pub method: MethodId,
    /// And the grading.
    pub grading: String,
    /// The value that a document gives it.
    pub assigned: Option<AssignedValue>,
    /// How much of it there was when it was registered, g.
    pub stock_g: Decimal,
    /// The day it arrived.
    pub received_on: Date,
    /// Since when it is known.
    pub registered: Noted<()>,
    /// Every time that what is left was weighed, oldest first.
    pub counts: Vec<Noted<StockCounted>>,
    /// Past results that were taken over, oldest first.
    pub imports: Vec<Noted<Import>>,
    /// What its charts are judged against, by apparatus; the last one holds.
    pub baselines: BTreeMap<ItemCode, Vec<Noted<BaselineFrozen>>>,
    /// The lots that it took the place of.
    pub took_over: Vec<Noted<LotTakenOver>>,
}

impl ReferenceLot {
    /// What the chart of an apparatus is judged against.
    pub fn baseline(&self, apparatus: &ItemCode) -> Option<&Noted<BaselineFrozen>> {
        self.baselines.get(apparatus).and_then(|frozen| frozen.last())
    }
}

/// Past results that were taken over.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Import {
    /// Its code.
    pub code: String,
    /// On which apparatus they were found.
    pub apparatus: ItemCode,
    /// Where they come from.
    pub document: String,
    /// The results.
    pub results: Vec<ImportedResult>,
    /// The file of the past that they came from.
    pub file: Option<ImportCode>,
}

/// An investigation of a reference result.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Investigation {
    /// Its code.
    pub code: InvestigationCode,
    /// The lot.
    pub lot: LotCode,
    /// The apparatus.
    pub apparatus: ItemCode,
    /// The result that is investigated.
    pub point: ResultCode,
    /// The last result before it that was in control.
    pub last_in_control: Option<String>,
    /// What it shows, or why somebody looks into it.
    pub opened: Noted<String>,
    /// What its steps showed, oldest first; of each step the last one counts.
    pub findings: Vec<Noted<FindingRecorded>>,
    /// How it ended.
    pub closed: Option<Noted<InvestigationClosed>>,
}

impl Investigation {
    /// Whether it still goes on.
    pub fn is_open(&self) -> bool {
        self.closed.is_none()
    }

    /// What a step showed.
    pub fn finding(&self, step: &str) -> Option<&Noted<FindingRecorded>> {
        self.findings.iter().rev().find(|finding| finding.value.step == step)
    }
}
