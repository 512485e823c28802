//! One writer: it sends entries one after another, each under a key of its own, and remembers what it
//! was answered. What was open when the line broke is sent again under the same key.

use crate::program::{Laboratory, Server};
use rand::{RngExt, SeedableRng};
use rand_xoshiro::Xoshiro256PlusPlus;
use serde_json::{Value, json};
use std::sync::atomic::{AtomicBool, Ordering};
use std::time::Duration;

/// A server that is killed answers nothing more; waiting longer would only be slow.
const PATIENCE: Duration = Duration::from_secs(20);

/// Something that is sent.
#[derive(Debug, Clone)]
pub(crate) enum Matter {
    /// A sample, from this source.
    Sample(String),
    /// A note attached to a sample.
    Note { sample: String, bytes: Vec<u8> },
    /// A sample that no rule lets through.
    Wrong,
}

/// An answer as it came.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Answer {
    pub(crate) status: u16,
    pub(crate) body: Value,
}

/// An entry and what became of it.
#[derive(Debug)]
pub(crate) struct Sent {
    pub(crate) key: String,
    pub(crate) matter: Matter,
    /// `None` while it is open: sent, and never answered.
    pub(crate) answer: Option<Answer>,
}

/// What a run has shown.
#[derive(Debug, Clone, Copy, Default)]
pub(crate) struct Figures {
    pub(crate) acknowledged: u64,
    pub(crate) open: u64,
    pub(crate) open_recorded: u64,
    pub(crate) same_again: u64,
    pub(crate) facts: u64,
}

impl Figures {
    pub(crate) fn add(&mut self, other: Self) {
        self.acknowledged += other.acknowledged;
        self.open += other.open;
        self.open_recorded += other.open_recorded;
        self.same_again += other.same_again;
        self.facts += other.facts;
    }
}

pub(crate) struct Client {
    number: usize,
    chance: Xoshiro256PlusPlus,
    pub(crate) sent: Vec<Sent>,
    figures: Figures,
}

impl Client {
    pub(crate) fn new(number: usize, seed: u64) -> Self {
        let chance = Xoshiro256PlusPlus::seed_from_u64(seed);
        Self { number, chance, sent: Vec::new(), figures: Figures::default() }
    }

    pub(crate) fn figures(&self) -> Figures {
        let acknowledged = self.sent.iter().filter(|sent| sent.answer.is_some()).count() as u64;
        Figures { acknowledged, ..self.figures }
    }

    /// Sends until the line breaks. First what is open, then now and then something old once more.
    pub(crate) fn works(&mut self, address: &str, token: &str, is_over: &AtomicBool) {
        let line = Line::to(address, token);
        if self.finishes_open(&line).is_err() {
            return;
        }
        while !is_over.load(Ordering::Relaxed) {
            if self.chance.random_ratio(1, 5) && self.asks_again(&line).is_err() {
                return;
            }
            let matter = self.thinks_of_something();
            let key = format!("client-{}-entry-{}", self.number, self.sent.len());
            let answer = line.send(&key, &matter).ok();
            let is_broken = answer.is_none();
            self.sent.push(Sent { key, matter, answer });
            if is_broken {
                self.figures.open += 1;
                return;
            }
        }
    }

    /// Everything that was ever sent is asked for once more, and nothing may change by that.
    pub(crate) fn settles(&mut self, server: &Server, laboratory: &Laboratory) {
        let line = Line::to(&server.address, &laboratory.token);
        self.finishes_open(&line).unwrap();
        for place in 0..self.sent.len() {
            self.is_the_same_again(&line, place).unwrap();
        }
    }

    fn finishes_open(&mut self, line: &Line) -> Result<(), ureq::Error> {
        for sent in self.sent.iter_mut().filter(|sent| sent.answer.is_none()) {
            let before = line.position()?;
            let answer = line.send(&sent.key, &sent.matter)?;
            let first = answer.body["facts"][0]["position"].as_u64();
            self.figures.open_recorded += u64::from(first.is_some_and(|first| first <= before));
            sent.answer = Some(answer);
        }
        Ok(())
    }

    fn asks_again(&mut self, line: &Line) -> Result<(), ureq::Error> {
        if self.sent.is_empty() {
            return Ok(());
        }
        let place = self.chance.random_range(0..self.sent.len());
        self.is_the_same_again(line, place)
    }

    fn is_the_same_again(&mut self, line: &Line, place: usize) -> Result<(), ureq::Error> {
        let sent = &self.sent[place];
        let again = line.send(&sent.key, &sent.matter)?;
        assert_eq!(Some(&again), sent.answer.as_ref(), "{} is answered otherwise", sent.key);
        self.figures.same_again += 1;
        Ok(())
    }

    fn thinks_of_something(&mut self) -> Matter {
        let samples =
            self.sent.iter().rev().filter_map(|sent| match (&sent.matter, &sent.answer) {
                (Matter::Sample(_), Some(answer)) => answer.body["codes"][0].as_str(),
                _ => None,
            });
        let sample = samples.take(1).next().map(str::to_owned);
        match (self.chance.random_range(0..10_u32), sample) {
            (0, _) => Matter::Wrong,
            (1..=3, Some(sample)) => {
                let mut bytes = format!("Note {} of {}: ", self.sent.len(), self.number);
                let length = self.chance.random_range(1..40_000_usize);
                bytes.extend(std::iter::repeat_n('.', length));
                Matter::Note { sample, bytes: bytes.into_bytes() }
            }
            _ => Matter::Sample(format!("Invented quarry {}-{}", self.number, self.sent.len())),
        }
    }
}

/// The way to a server.
struct Line {
    agent: ureq::Agent,
    root: String,
    token: String,
}

impl Line {
    fn to(address: &str, token: &str) -> Self {
        let config = ureq::Agent::config_builder()
            .http_status_as_error(false)
            .timeout_global(Some(PATIENCE))
            .proxy(None)
            .build();
        let root = format!("http://{address}/api/v1");
        Self { agent: config.into(), root, token: format!("Bearer {token}") }
    }

    /// How far the journal has come.
    fn position(&self) -> Result<u64, ureq::Error> {
        let asked = self.agent.get(format!("{}/laboratory", self.root));
        let mut answer = asked.header("authorization", &self.token).call()?;
        let body: Value = serde_json::from_slice(&answer.body_mut().read_to_vec()?).unwrap();
        Ok(body["position"].as_u64().unwrap())
    }

    /// Sends an entry. An answer that is neither a receipt nor a refusal is a fault of the program.
    fn send(&self, key: &str, matter: &Matter) -> Result<Answer, ureq::Error> {
        let sample = |source: &str, size: &str| {
            let form = json!({ "source": source, "material": "crushed gravel", "nominal_maximum_mm": size });
            (format!("{}/requests/receive-sample", self.root), form.to_string().into_bytes())
        };
        let (address, body) = match matter {
            Matter::Sample(source) => sample(source, "19.0"),
            Matter::Wrong => sample("", "a handful"),
            Matter::Note { sample, bytes } => {
                (format!("{}/attachments?to={sample}&name=note.txt", self.root), bytes.clone())
            }
        };
        let mut answer = self
            .agent
            .post(address)
            .header("authorization", &self.token)
            .header("content-type", "application/json")
            .header("idempotency-key", key)
            .send(&body[..])?;
        let status = answer.status().as_u16();
        let body = answer.body_mut().read_to_vec()?;
        let body: Value = serde_json::from_slice(&body).unwrap();
        let wanted = if matches!(matter, Matter::Wrong) { 422 } else { 201 };
        assert_eq!(status, wanted, "{key}: {body}");
        Ok(Answer { status, body })
    }
}
