//! Finding what has a code, or a name like the one that was typed.

use crate::code::scanned;
use crate::state::Lab;
use serde::Serialize;
use stonewear_procedure::ItemKind;

/// One letter in so many may be mistyped; with more, what is offered confuses more than it helps.
const LETTERS_A_SLIP: usize = 4;

/// What kind of thing has a code.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum ThingKind {
    /// A piece of equipment.
    Item(ItemKind),
    /// What was received.
    Sample,
    /// What was made up for one jar.
    Specimen,
    /// A turning of jars.
    Run,
    /// A loss.
    Result,
    /// A check of equipment.
    Check,
    /// A doubt that was opened.
    Doubt,
    /// A designed study.
    Study,
    /// A lot of reference aggregate.
    Lot,
    /// An investigation of a reference result.
    Investigation,
    /// A round between laboratories.
    Round,
    /// A score in a proficiency round.
    Score,
    /// An experiment.
    Experiment,
    /// A file of the past that was taken over.
    Import,
    /// Somebody who works here.
    Person,
    /// What somebody is authorised for.
    Authorisation,
}

/// Something that has a code.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Thing {
    /// What kind.
    pub kind: ThingKind,
    /// Its code.
    pub code: String,
    /// What people call it, or know it by.
    pub name: String,
}

impl Thing {
    /// What it is, with its article: `a jar`, `a specimen`.
    pub fn what(&self) -> String {
        match self.kind {
            ThingKind::Item(kind) => kind.with_article(),
            ThingKind::Sample => "a sample".to_owned(),
            ThingKind::Specimen => "a specimen".to_owned(),
            ThingKind::Run => "a run".to_owned(),
            ThingKind::Result => "a result".to_owned(),
            ThingKind::Check => "a check".to_owned(),
            ThingKind::Doubt => "a doubt".to_owned(),
            ThingKind::Study => "a study".to_owned(),
            ThingKind::Lot => "a lot of reference aggregate".to_owned(),
            ThingKind::Investigation => "an investigation".to_owned(),
            ThingKind::Round => "a round".to_owned(),
            ThingKind::Score => "a score".to_owned(),
            ThingKind::Experiment => "an experiment".to_owned(),
            ThingKind::Import => "an imported file".to_owned(),
            ThingKind::Person => "a person".to_owned(),
            ThingKind::Authorisation => "an authorisation".to_owned(),
        }
    }
}

impl Lab {
    /// What has exactly this code, as it was typed or scanned. Initials may be those of a person
    /// and the code of an item; then the item is meant.
    pub fn thing(&self, typed: &str) -> Option<Thing> {
        let code = scanned(typed);
        if code.is_empty() {
            return None;
        }
        self.things().find(|thing| thing.code == code)
    }

    /// What is near to what was typed: it stands in the code or the name, or the code resembles
    /// it. Codes before names, at most `most`; of what is equally near the newest.
    pub fn near(&self, typed: &str, most: usize) -> Vec<Thing> {
        let wanted = scanned(typed);
        if wanted.is_empty() {
            return Vec::new();
        }
        let rank = |thing: &Thing| {
            if thing.code.starts_with(&wanted) {
                Some(0)
            } else if thing.code.contains(&wanted) {
                Some(1)
            } else if thing.name.to_uppercase().contains(&wanted) {
                Some(2)
            } else {
                let slips = wanted.chars().count() / LETTERS_A_SLIP;
                (strsim::levenshtein(&wanted, &thing.code) <= slips).then_some(3)
            }
        };
        let mut near: Vec<(u8, Thing)> =
            self.things().filter_map(|thing| Some((rank(&thing)?, thing))).collect();
        near.sort_by_key(|(rank, _)| *rank);
        near.into_iter().take(most).map(|(_, thing)| thing).collect()
    }

    /// Everything that has a code; of what every year brings, the newest first.
    fn things(&self) -> impl Iterator<Item = Thing> {
        let thing =
            |kind: ThingKind, code: &str, name: String| Thing { kind, code: code.to_owned(), name };
        let items = self.items.values().map(move |item| {
            thing(ThingKind::Item(item.kind), item.code.as_str(), item.name.clone())
        });
        let samples = self.samples.values().rev().map(move |sample| {
            let name = format!("{}, {}", sample.source, sample.material);
            thing(ThingKind::Sample, sample.code.as_str(), name)
        });
        let specimens = self.specimens.values().rev().map(move |specimen| {
            let name = format!("{}, grading {}", specimen.method, specimen.grading);
            thing(ThingKind::Specimen, specimen.code.as_str(), name)
        });
        let runs = self.runs.values().rev().map(move |run| {
            thing(ThingKind::Run, run.code.as_str(), format!("in {}", run.apparatus))
        });
        let results = self.results.values().rev().map(move |result| {
            thing(ThingKind::Result, result.code.as_str(), format!("of {}", result.sample))
        });
        let checks = self.checks.values().rev().map(move |check| {
            let name = format!("{} of {}", check.procedure.title, check.item);
            thing(ThingKind::Check, check.code.as_str(), name)
        });
        let doubts = self.doubts.values().map(move |doubt| {
            let name = format!("{} of {}", doubt.attribute, doubt.item);
            thing(ThingKind::Doubt, doubt.code.as_str(), name)
        });
        let studies = self.studies.iter().map(move |(code, study)| {
            thing(ThingKind::Study, code.as_str(), study.plan.value.title.clone())
        });
        let lots = self
            .lots
            .values()
            .map(move |lot| thing(ThingKind::Lot, lot.code.as_str(), lot.name.clone()));
        let investigations = self.investigations.values().map(move |one| {
            let name = format!("of {} on {}", one.point, one.apparatus);
            thing(ThingKind::Investigation, one.code.as_str(), name)
        });
        let rounds = self.rounds.values().map(move |round| {
            thing(ThingKind::Round, round.code().as_str(), round.plan.value.title.clone())
        });
        let scores = self.scores.values().map(move |score| {
            let told = &score.told.value;
            let name = format!("{}, round {}", told.provider, told.round);
            thing(ThingKind::Score, score.code().as_str(), name)
        });
        let experiments = self.experiments.values().map(move |experiment| {
            thing(ThingKind::Experiment, experiment.code.as_str(), experiment.title.clone())
        });
        let imports = self.file_imports.iter().map(move |(code, import)| {
            thing(ThingKind::Import, code.as_str(), import.file.value.name.clone())
        });
        let people = self
            .people
            .values()
            .map(move |person| thing(ThingKind::Person, person.code.as_str(), person.name.clone()));
        let authorisations = self.authorisations.values().map(move |one| {
            let name = format!("{}, {}", one.person, one.method);
            thing(ThingKind::Authorisation, one.code.as_str(), name)
        });
        items
            .chain(authorisations)
            .chain(samples)
            .chain(specimens)
            .chain(runs)
            .chain(results)
            .chain(checks)
            .chain(doubts)
            .chain(studies)
            .chain(lots)
            .chain(investigations)
            .chain(rounds)
            .chain(scores)
            .chain(experiments)
            .chain(imports)
            .chain(people)
    }
}
