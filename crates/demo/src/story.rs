//! Telling the scenario: one request after another, on a simulated calendar.

use crate::chance::Chance;
use crate::equipment::OLD_MILL;
use crate::wear::WornCharge;
use jiff::{Span, Timestamp, ToSpan};
use stonewear_lab::{Context, Fact, Lab, PersonCode, Recorded, Refusal, Request, decide};
use stonewear_method::Method;
use stonewear_procedure::Procedure;
use thiserror::Error;

/// The facts of one request, as the journal takes them.
#[derive(Debug, Clone)]
pub struct Batch {
    /// When the request was made.
    pub at: Timestamp,
    /// Who made it.
    pub by: PersonCode,
    /// Its key, unique in the journal.
    pub key: String,
    /// What followed from it.
    pub facts: Vec<Fact>,
}

/// The scenario broke a rule of the laboratory, or of the calendar: a fault in the scenario.
#[derive(Debug, Error)]
pub enum DemoError {
    /// A request was refused.
    #[error("the demo scenario is refused at {at}, {request}: {refusal}")]
    Refused {
        /// When in the scenario.
        at: Timestamp,
        /// Which request.
        request: String,
        /// Why.
        refusal: Refusal,
    },
    /// A date went wrong.
    #[error("the demo calendar cannot go on: {0}")]
    Calendar(#[from] jiff::Error),
    /// A request was not followed by the fact that the scenario counts on.
    #[error("the demo scenario expected {0}")]
    Expected(&'static str),
}

/// The scenario as it is told.
pub(crate) struct Story<'a> {
    pub(crate) lab: Lab,
    pub(crate) at: Timestamp,
    pub(crate) chance: Chance,
    pub(crate) batches: Vec<Batch>,
    /// The apparatus that is in use for the everyday work.
    pub(crate) mill: &'static str,
    /// The lot of reference aggregate in use; empty while there is none.
    pub(crate) lot: &'static str,
    /// The charge that wears.
    pub(crate) worn: WornCharge,
    /// Whether clients' samples are sieved on arrival by now.
    pub(crate) sieves: bool,
    /// How many work side by side: what one pair of hands does takes that much less of the calendar.
    pub(crate) hands: i64,
    methods: &'a [Method],
    pub(crate) procedures: &'a [Procedure],
}

impl<'a> Story<'a> {
    pub(crate) fn new(
        seed: u64,
        begins: Timestamp,
        methods: &'a [Method],
        procedures: &'a [Procedure],
    ) -> Self {
        Self {
            lab: Lab::new(),
            at: begins,
            chance: Chance::new(seed),
            batches: Vec::new(),
            mill: OLD_MILL,
            lot: "",
            worn: WornCharge::default(),
            sieves: false,
            hands: 1,
            methods,
            procedures,
        }
    }

    /// Lets time pass.
    pub(crate) fn later(&mut self, span: Span) -> Result<(), DemoError> {
        self.at = self.at.checked_add(span)?;
        Ok(())
    }

    /// Lets so many minutes of the work of one pair of hands pass.
    pub(crate) fn by_hand(&mut self, minutes: i64) -> Result<(), DemoError> {
        self.later((minutes * 60 / self.hands).seconds())
    }

    /// Asks the laboratory for something; the facts are applied and kept.
    pub(crate) fn ask(
        &mut self,
        by: &str,
        request: impl Into<Request>,
    ) -> Result<Vec<Fact>, DemoError> {
        let request = request.into();
        let context = Context {
            at: self.at,
            made: None,
            by: PersonCode::from(by),
            methods: self.methods,
            procedures: self.procedures,
        };
        let facts = decide(&self.lab, &context, &request).map_err(|refusal| {
            DemoError::Refused { at: self.at, request: format!("{request:?}"), refusal }
        })?;
        for fact in &facts {
            let recorded = Recorded {
                position: self.lab.position + 1,
                at: self.at,
                by: context.by.clone(),
                fact: fact.clone(),
            };
            self.lab.apply(&recorded);
        }
        self.batches.push(Batch {
            at: self.at,
            by: context.by,
            key: format!("demo-{}", self.batches.len() + 1),
            facts: facts.clone(),
        });
        Ok(facts)
    }
}
