//! What a result stands on: the links from the result back to apparatus, balance and people, each
//! with what proved it when it was used.

use crate::authorisation::{Activity, AuthorisationRule, Cover};
use crate::code::{AuthorisationCode, CheckCode, ItemCode, PersonCode};
use crate::fact::Standing;
use crate::state::{Lab, Noted, Run, Specimen, TestResult};
use jiff::Timestamp;
use serde::Serialize;
use stonewear_method::MethodId;
use stonewear_method::model::When;

/// What a link of the evidence is about.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum LinkKind {
    /// The result itself.
    Result,
    /// The method it was worked out by.
    Method,
    /// What was received.
    Sample,
    /// What was made up for one jar.
    Specimen,
    /// A turning of jars.
    Run,
    /// A piece of equipment.
    Item,
    /// Somebody.
    Person,
}

/// How a link holds.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
#[serde(tag = "state", rename_all = "kebab-case")]
pub enum Proof {
    /// It is on record; nothing about it has to be proved.
    Recorded,
    /// A check that was passed before it was used proves it.
    Proved {
        /// The check.
        check: CheckCode,
    },
    /// The person was authorised for the work when they did it.
    Authorised {
        /// By which authorisation.
        authorisation: AuthorisationCode,
    },
    /// Somebody who was authorised watched the work.
    Supervised {
        /// Who.
        by: PersonCode,
    },
    /// It was used without being proved.
    NotProved {
        /// Why not.
        why: String,
    },
}

impl Proof {
    /// How much is left to be wished: of two proofs of one link the weaker is what counts.
    fn weakness(&self) -> u8 {
        match self {
            Self::Proved { .. } | Self::Authorised { .. } => 0,
            Self::Supervised { .. } => 1,
            Self::Recorded => 2,
            Self::NotProved { .. } => 3,
        }
    }
}

/// One link of the evidence of a result.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Link {
    /// What it is about.
    pub kind: LinkKind,
    /// What it is, in a word: `jar`, `balance`, `run`.
    pub role: String,
    /// Its code.
    pub code: String,
    /// What people call it.
    pub name: String,
    /// How it holds.
    #[serde(flatten)]
    pub proof: Proof,
    /// Since when it is proved, or when it was recorded.
    pub since: Option<Timestamp>,
    /// Until when it is proved; absent when the proof does not run out.
    pub until: Option<Timestamp>,
    /// Places in the journal of the facts that it rests on.
    pub positions: Vec<u64>,
}

impl Lab {
    /// The evidence of a result, from the result back to what it stands on.
    pub fn evidence(&self, result: &TestResult) -> Vec<Link> {
        let mut line = Line { lab: self, links: Vec::new() };
        line.result(result);
        for specimen in result.specimens.iter().filter_map(|code| self.specimens.get(code)) {
            line.specimen(specimen);
        }
        line.links
    }
}

/// The evidence as it grows; a link that is there already is not added twice.
struct Line<'a> {
    lab: &'a Lab,
    links: Vec<Link>,
}

impl Line<'_> {
    fn recorded(
        &mut self,
        kind: LinkKind,
        role: &str,
        code: &str,
        name: &str,
        since: Timestamp,
        positions: Vec<u64>,
    ) {
        self.add(Link {
            kind,
            role: role.to_owned(),
            code: code.to_owned(),
            name: name.to_owned(),
            proof: Proof::Recorded,
            since: Some(since),
            until: None,
            positions,
        });
    }

    fn add(&mut self, link: Link) {
        let known = self.links.iter_mut().find(|known| {
            (known.kind, &known.role, &known.code) == (link.kind, &link.role, &link.code)
        });
        match known {
            None => self.links.push(link),
            // The same item used twice, or the same person at work: the weaker proof is what the evidence must show.
            Some(known) => {
                if link.proof.weakness() > known.proof.weakness() {
                    known.proof = link.proof;
                    (known.since, known.until) = (link.since, link.until);
                }
                known.positions.extend(link.positions);
                known.positions.sort_unstable();
                known.positions.dedup();
            }
        }
    }

    fn result(&mut self, result: &TestResult) {
        if let Some(version) = result.current() {
            let loss = version.value.in_words();
            let positions = result.versions.iter().map(|version| version.position).collect();
            self.recorded(
                LinkKind::Result,
                "result",
                result.code.as_str(),
                &loss,
                version.at,
                positions,
            );
        }
        if let Some(release) = result.release() {
            self.person("released by", release, &result.method, Activity::Release);
        }
        if let Some(in_use) = self.lab.methods.get(&result.method) {
            let confirmed = in_use.confirmations.iter().map(|confirmation| confirmation.position);
            let positions = std::iter::once(in_use.adopted.position).chain(confirmed).collect();
            let name = in_use.method.designation.clone();
            self.recorded(
                LinkKind::Method,
                "method",
                in_use.id.as_str(),
                &name,
                in_use.adopted.at,
                positions,
            );
        }
        if let Some(sample) = self.lab.samples.get(&result.sample) {
            let (at, position) = (sample.received.at, sample.received.position);
            self.recorded(
                LinkKind::Sample,
                "sample",
                sample.code.as_str(),
                &sample.source,
                at,
                vec![position],
            );
            if let Some(last) = sample.custody.last() {
                let steps = sample.custody.len();
                let (holder, last_step) = (sample.holder(), last.value.step.in_words());
                let name = match last.value.step.is_the_last() {
                    true => format!("{last_step} after {}", crate::words::counted(steps, "step")),
                    false => format!("{}, now with {holder}", crate::words::counted(steps, "step")),
                };
                self.recorded(
                    LinkKind::Sample,
                    "custody",
                    sample.code.as_str(),
                    &name,
                    last.at,
                    sample.custody.iter().map(|step| step.position).collect(),
                );
            }
        }
    }

    fn specimen(&mut self, specimen: &Specimen) {
        let weighed = [
            ("weighed before by", Activity::MakeUp, &specimen.before),
            ("weighed after by", Activity::WeighAfter, &specimen.after),
        ];
        let fractions = specimen
            .fractions
            .values()
            .map(|masses| ("fractions weighed by", Activity::MakeUp, masses));
        let masses: Vec<_> = fractions.chain(weighed).collect();
        let weighings =
            masses.iter().flat_map(|(_, _, masses)| masses.iter().map(|mass| mass.position));
        let readings = specimen.readings.values().flatten().map(|reading| reading.position);
        let positions =
            std::iter::once(specimen.begun.position).chain(weighings).chain(readings).collect();
        let name = format!("grading {}", specimen.grading);
        let code = specimen.code.as_str();
        self.recorded(LinkKind::Specimen, "specimen", code, &name, specimen.begun.at, positions);
        for (role, activity, masses) in masses {
            let Some(mass) = masses.last() else { continue };
            self.person(role, mass, &specimen.method, activity);
            self.item("balance", &mass.value.balance, mass.position, mass.at);
            let used = [
                ("sieve", &mass.value.sieve),
                ("guard sieve", &mass.value.guard_sieve),
                ("oven", &mass.value.oven),
            ];
            for (role, item) in used {
                if let Some(item) = item {
                    self.item(role, item, mass.position, mass.at);
                }
            }
        }
        for (key, readings) in &specimen.readings {
            let Some(reading) = readings.last() else { continue };
            let name = key.split('.').next().unwrap_or_default();
            let rules = self.lab.rules_of(specimen);
            let when = rules.and_then(|(method, _)| Some(method.reading(name)?.when));
            let activity = Activity::of_reading(when.unwrap_or(When::After));
            self.person("read by", reading, &specimen.method, activity);
            let Some(instrument) = &reading.value.instrument else { continue };
            let known = self.lab.items.get(instrument);
            let role = known.map_or("instrument", |item| item.kind.in_words());
            self.item(role, instrument, reading.position, reading.at);
        }
        if let Some(run) = specimen.run.as_ref().and_then(|run| self.lab.runs.get(run)) {
            self.run(run, specimen);
        }
    }

    fn run(&mut self, run: &Run, specimen: &Specimen) {
        let position = run.started.position;
        let interrupted = run.interruptions.iter().flat_map(|one| {
            let resumed = one.value.resumed.as_ref().map(|resumed| resumed.position);
            std::iter::once(one.position).chain(resumed)
        });
        let corrected = run.corrections_of(specimen.code.as_str()).map(|one| one.position);
        let positions = std::iter::once(position)
            .chain(interrupted)
            .chain(run.stopped.as_ref().map(|stopped| stopped.position))
            .chain(corrected);
        let turned = run.in_all().and_then(|stopped| stopped.revolutions);
        let name =
            turned.map_or_else(|| "by time".to_owned(), |count| format!("{count} revolutions"));
        self.recorded(
            LinkKind::Run,
            "run",
            run.code.as_str(),
            &name,
            run.started.at,
            positions.collect(),
        );
        self.person("run by", &run.started, &specimen.method, Activity::Run);
        if let Some(placed) = run.placed(&specimen.code) {
            if let Some(jar) = &placed.jar {
                self.item("jar", jar, position, run.started.at);
            }
            if let Some(charge) = &placed.charge {
                self.item("ball charge", charge, position, run.started.at);
            }
        }
        if let Some(thermometer) = &run.thermometer {
            self.item("thermometer", thermometer, position, run.started.at);
        }
        self.item("apparatus", &run.apparatus, position, run.started.at);
    }

    /// A person with what stood behind their work when they did it. Where the laboratory asks for
    /// no authorisation, one that is there is shown, and none is missed.
    fn person<T>(&mut self, role: &str, done: &Noted<T>, method: &MethodId, activity: Activity) {
        let lab = self.lab;
        let name = lab.people.get(&done.by).map_or(done.by.as_str(), |person| &person.name);
        let cover = lab.cover(&done.by, method, activity, done.at, done.position);
        let asked = lab.authorisation_rule_before(done.position) != AuthorisationRule::NotRequired;
        let (proof, since, until) = match cover {
            Cover::Authorised { authorisation, since, until } => {
                let until = until.and_then(|last| lab.end_of(last));
                (Proof::Authorised { authorisation }, since, until)
            }
            Cover::Supervised { by, since, until } => {
                (Proof::Supervised { by }, since, lab.end_of(until))
            }
            Cover::Nothing { why } if asked => {
                (Proof::NotProved { why: format!("not authorised: {why}") }, done.at, None)
            }
            Cover::Nothing { .. } => (Proof::Recorded, done.at, None),
        };
        self.add(Link {
            kind: LinkKind::Person,
            role: role.to_owned(),
            code: done.by.to_string(),
            name: name.to_owned(),
            proof,
            since: Some(since),
            until,
            positions: vec![done.position],
        });
    }

    /// An item with what proved it when the fact at `used_at` was recorded.
    fn item(&mut self, role: &str, code: &ItemCode, used_at: u64, when: Timestamp) {
        let Some(item) = self.lab.items.get(code) else { return };
        let check = self.lab.passed_before(code, used_at).find(|check| check.lets_into_service());
        let until = check.and_then(|check| self.lab.proves_until(check));
        let standing = item.standing_at(used_at);
        let proof = match (check, standing) {
            (_, Standing::BeingProved | Standing::Held | Standing::Retired) => {
                Proof::NotProved { why: format!("was {} when used", standing.in_words()) }
            }
            (None, Standing::InService) => {
                Proof::NotProved { why: "in service without a passed check".to_owned() }
            }
            (Some(_), Standing::InService) if until.is_some_and(|until| until < when) => {
                Proof::NotProved { why: "the proof had run out when it was used".to_owned() }
            }
            (Some(check), Standing::InService) => Proof::Proved { check: check.code.clone() },
        };
        self.add(Link {
            kind: LinkKind::Item,
            role: role.to_owned(),
            code: code.to_string(),
            name: item.name.clone(),
            since: check.and_then(|check| check.ended.as_ref()).map(|ended| ended.at),
            until,
            proof,
            positions: vec![used_at],
        });
    }
}
