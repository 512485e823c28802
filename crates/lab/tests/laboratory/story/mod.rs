//! Given these facts, when this is asked, then these facts follow, or this refusal. No store, no
//! clock: the story keeps the time.

pub(crate) mod busy;
mod reference;

use jiff::{Timestamp, ToSpan};
use std::sync::LazyLock;
use stonewear_lab::fact::Seen;
use stonewear_lab::request::*;
use stonewear_lab::{Context, Fact, Lab, PersonCode, Recorded, Refusal, Request, decide};
use stonewear_measure::Decimal;
use stonewear_method::Method;
use stonewear_method::library::built_in_methods;
use stonewear_procedure::apparatus::{Control, CounterSenses, Tier};
use stonewear_procedure::{Apparatus, Difference, Expect, Procedure, built_in_procedures};

static METHODS: LazyLock<Vec<Method>> = LazyLock::new(built_in_methods);
static PROCEDURES: LazyLock<Vec<Procedure>> = LazyLock::new(built_in_procedures);

/// Minutes that pass while the jars turn: those of a whole test and one more.
pub(crate) const TURNING: i64 = 121;

/// A laboratory whose story is being told.
pub(crate) struct Story {
    pub(crate) lab: Lab,
    pub(crate) at: Timestamp,
    pub(crate) by: String,
    pub(crate) recorded: Vec<Recorded>,
    pub(crate) methods: Vec<Method>,
    pub(crate) procedures: Vec<Procedure>,
}

impl Story {
    /// Nobody has founded it yet.
    pub(crate) fn empty() -> Self {
        Self {
            lab: Lab::new(),
            at: "2026-03-02T08:00:00Z".parse().unwrap(),
            by: "AB".to_owned(),
            recorded: Vec::new(),
            methods: METHODS.clone(),
            procedures: PROCEDURES.clone(),
        }
    }

    /// Founded by AB, who may do everything; CD may only test.
    pub(crate) fn founded() -> Self {
        let mut story = Self::empty();
        story.given(FoundLaboratory {
            name: "Invented laboratory".into(),
            address: "1 Invented Street".into(),
            founder_code: "AB".into(),
            founder_name: "Ada Brook".into(),
            invented: "yes".into(),
            time_zone: "America/Toronto".into(),
        });
        story.given(AddPerson {
            code: "CD".into(),
            name: "Cyd Dell".into(),
            rights: vec!["test".into()],
        });
        story
    }

    /// Founded, and everything that a coarse test needs is in service.
    pub(crate) fn equipped() -> Self {
        let mut story = Self::founded();
        for (code, kind, opening) in [
            ("BAL", "balance", ""),
            ("S118", "sieve", "1.18"),
            ("S160", "sieve", "1.6"),
            ("J1", "jar", ""),
            ("J2", "jar", ""),
            ("B1", "ball-charge", ""),
            ("B2", "ball-charge", ""),
            ("MILL", "apparatus", ""),
        ] {
            story.register(code, kind, opening);
            story.prove(code);
        }
        story
    }

    pub(crate) fn register(&mut self, code: &str, kind: &str, opening_mm: &str) {
        let tiers = vec![Tier { name: "only".into(), positions: 2 }];
        let (kind, apparatus) = match kind {
            "apparatus" => {
                let control = vec![Control::Time, Control::Revolutions];
                (kind, Some(Apparatus { control, tiers, ..Apparatus::default() }))
            }
            "apparatus without a counter" => {
                let counter_senses = CounterSenses::Nothing;
                let control = vec![Control::Time];
                (
                    "apparatus",
                    Some(Apparatus { control, counter_senses, tiers, ..Apparatus::default() }),
                )
            }
            other => (other, None),
        };
        self.given(RegisterItem {
            code: code.into(),
            kind: kind.into(),
            name: format!("the {kind} {code}"),
            opening_mm: opening_mm.into(),
            apparatus,
            ..RegisterItem::default()
        });
    }

    /// Passes every check that the item needs and puts it into service.
    pub(crate) fn prove(&mut self, item: &str) {
        let known = self.lab.items[item].clone();
        let procedures = stonewear_lab::decide::items::procedures_for(&self.procedures, &known);
        for procedure in procedures.iter().filter(|procedure| procedure.needed_for_service) {
            self.given(StartCheck { item: item.into(), procedure: procedure.id.clone() });
            self.pass_open_check();
        }
        self.given(ChangeStanding {
            item: item.into(),
            standing: "in-service".into(),
            reason: String::new(),
        });
    }

    /// Answers every step of the check begun last as it must be.
    pub(crate) fn pass_open_check(&mut self) {
        let check =
            self.lab.checks.values().max_by_key(|check| check.started.position).unwrap().clone();
        self.pass_steps_before(check.code.as_str(), "");
    }

    /// Answers every step of a check before the one with this name as it must be.
    pub(crate) fn pass_steps_before(&mut self, check: &str, name: &str) {
        let check = self.lab.checks[check].clone();
        let open = &check.procedure.steps[check.steps_done()..];
        for step in open.iter().take_while(|step| step.id != name) {
            let (seen, less) = self.answer(check.code.as_str(), &step.expect);
            self.given(Observe {
                check: check.code.to_string(),
                step: step.id.clone(),
                seen,
                less,
                ..Observe::default()
            });
        }
    }

    /// What passes a step at its limit: what is seen or read, and what is taken off it.
    pub(crate) fn answer(&self, check: &str, expect: &Expect) -> (String, String) {
        let Expect::Number { limits, difference, .. } = expect else {
            return ("yes".to_owned(), String::new());
        };
        let wanted = limits.lower.or(limits.upper).unwrap_or_default();
        match difference {
            None => (wanted.to_string(), String::new()),
            Some(Difference::Less { .. }) => {
                ((wanted + Decimal::TEN).to_string(), Decimal::TEN.to_string())
            }
            Some(Difference::From { from, .. }) => {
                let seen = self.lab.checks[check].last_observation(from).unwrap();
                let Seen::Number(before) = seen.value.known() else { panic!("{seen:?}") };
                ((*before - wanted).to_string(), String::new())
            }
        }
    }

    pub(crate) fn ask(&self, request: impl Into<Request>) -> Result<Vec<Fact>, Refusal> {
        self.ask_late(None, request)
    }

    /// Asks what was entered on a tablet at a time of its own.
    fn ask_late(
        &self,
        made: Option<Timestamp>,
        request: impl Into<Request>,
    ) -> Result<Vec<Fact>, Refusal> {
        let context = Context {
            at: self.at,
            made,
            by: PersonCode::from(self.by.as_str()),
            methods: &self.methods,
            procedures: &self.procedures,
        };
        decide(&self.lab, &context, &request.into())
    }

    /// Asks, and lets the facts happen.
    pub(crate) fn when(&mut self, request: impl Into<Request>) -> Result<Vec<Fact>, Refusal> {
        self.late(None, request)
    }

    /// What waited on a tablet arrives, and happens.
    pub(crate) fn late(
        &mut self,
        made: Option<Timestamp>,
        request: impl Into<Request>,
    ) -> Result<Vec<Fact>, Refusal> {
        let facts = self.ask_late(made, request)?;
        self.at = self.at.checked_add(1.minute()).unwrap();
        for fact in &facts {
            let recorded = Recorded {
                position: self.lab.position + 1,
                at: self.at,
                by: PersonCode::from(self.by.as_str()),
                fact: fact.clone(),
            };
            self.lab.apply(&recorded);
            self.recorded.push(recorded);
        }
        Ok(facts)
    }

    /// Something that is not in question happens.
    pub(crate) fn given(&mut self, request: impl Into<Request>) -> Vec<Fact> {
        let request = request.into();
        match self.when(request.clone()) {
            Ok(facts) => {
                // The jars turn before anybody asks for more.
                let turns =
                    |fact: &Fact| matches!(fact, Fact::RunStarted { .. } | Fact::RunResumed { .. });
                if facts.iter().any(turns) {
                    self.at = self.at.checked_add(TURNING.minutes()).unwrap();
                }
                facts
            }
            Err(refusal) => panic!("{request:?} was refused: {refusal}"),
        }
    }

    /// The refusal of something, as its rules and message.
    pub(crate) fn refused(&self, request: impl Into<Request>) -> String {
        match self.ask(request) {
            Ok(facts) => panic!("expected a refusal, got {facts:?}"),
            Err(refusal) => refusal
                .problems
                .iter()
                .map(|problem| format!("[{}] {problem}", problem.rule))
                .collect::<Vec<_>>()
                .join("\n"),
        }
    }

    pub(crate) fn sample(&mut self, nominal_maximum_mm: &str) -> String {
        let facts = self.given(ReceiveSample {
            source: "Invented quarry".into(),
            material: "crushed stone".into(),
            nominal_maximum_mm: nominal_maximum_mm.into(),
            limit_percent: "18".into(),
            limit_document: "invented contract".into(),
            ..ReceiveSample::default()
        });
        match &facts[0] {
            Fact::SampleReceived { sample, .. } => sample.to_string(),
            other => panic!("{other:?}"),
        }
    }

    /// Begins a specimen; its code.
    pub(crate) fn begin(&mut self, request: BeginSpecimen) -> String {
        let facts = self.given(request);
        match facts.last() {
            Some(Fact::SpecimenBegun { specimen, .. }) => specimen.to_string(),
            other => panic!("{other:?}"),
        }
    }

    /// A specimen by the 19.0 grading of ASTM D6928, weighed before the run.
    pub(crate) fn specimen(&mut self, sample: &str) -> String {
        let specimen = self.begin(BeginSpecimen {
            sample: sample.into(),
            method: "astm-d6928".into(),
            grading: "19.0".into(),
            ..BeginSpecimen::default()
        });
        self.given(WeighFractions {
            specimen: specimen.clone(),
            masses_g: vec!["375.2".into(), "374.9".into(), "750.1".into()],
            ..WeighFractions::default()
        });
        self.given(WeighBefore {
            specimen: specimen.clone(),
            mass_g: "1500".into(),
            ..WeighBefore::default()
        });
        specimen
    }

    pub(crate) fn start(&self, specimen: &str) -> StartRun {
        StartRun {
            apparatus: "MILL".into(),
            ended_by: "revolutions".into(),
            water_c: "20".into(),
            placements: vec![Placement {
                position: "1".into(),
                specimen: specimen.into(),
                jar: "J1".into(),
                charge: "B1".into(),
                charge_g: "5000.5".into(),
                water_l: "2.00".into(),
                soaked_h: "1".into(),
                ..Placement::default()
            }],
            ..StartRun::default()
        }
    }

    /// A specimen that has turned 12 000 revolutions in two hours.
    pub(crate) fn run(&mut self, specimen: &str) -> String {
        let facts = self.given(self.start(specimen));
        let run = match &facts[0] {
            Fact::RunStarted { run, .. } => run.to_string(),
            other => panic!("{other:?}"),
        };
        self.given(StopRun {
            run: run.clone(),
            revolutions: "12000".into(),
            minutes: "120".into(),
            ..StopRun::default()
        });
        run
    }

    /// The whole way to a loss of 14.8 %.
    pub(crate) fn loss(&mut self) -> (String, String) {
        let sample = self.sample("19.0");
        let specimen = self.specimen(&sample);
        self.run(&specimen);
        let facts = self.given(WeighAfter {
            specimen: specimen.clone(),
            mass_g: "1278".into(),
            ..WeighAfter::default()
        });
        match &facts[1] {
            Fact::ResultWorkedOut { result, .. } => (specimen, result.to_string()),
            other => panic!("{other:?}"),
        }
    }
}
