//! Who may release a result: a person with the right, and another than those who tested it where
//! the laboratory wants that.

use crate::code::PersonCode;
use crate::fact::Right;
use crate::state::{Lab, Person, Specimen, TestResult};
use std::collections::BTreeSet;

impl Lab {
    /// Who tested: made up, dried, soaked, weighed, ran or read a specimen of the result.
    pub fn testers(&self, result: &TestResult) -> BTreeSet<PersonCode> {
        let specimens = result.specimens.iter().filter_map(|code| self.specimens.get(code));
        specimens.flat_map(|specimen| self.hands_on(specimen)).collect()
    }

    /// Who had a specimen in hand: also who gave a mass that was replaced.
    pub fn hands_on(&self, specimen: &Specimen) -> BTreeSet<PersonCode> {
        let fractions = specimen.fractions.values().flatten();
        let masses = fractions.chain(&specimen.before).chain(&specimen.after);
        let read = specimen.readings.values().flatten().map(|one| &one.by);
        let dried = specimen.drying.iter().map(|one| &one.by);
        let soaked = specimen.soak.iter().map(|soak| &soak.by);
        let run = specimen.run.as_ref().and_then(|run| self.runs.get(run));
        let turned = run.into_iter().flat_map(|run| {
            let paused = run.interruptions.iter().flat_map(|one| {
                let resumed = one.value.resumed.as_ref().map(|resumed| &resumed.by);
                std::iter::once(&one.by).chain(resumed)
            });
            let ended = run.stopped.as_ref().map(|end| &end.by);
            std::iter::once(&run.started.by).chain(paused).chain(ended)
        });
        std::iter::once(&specimen.begun.by)
            .chain(masses.map(|mass| &mass.by))
            .chain(read)
            .chain(dried)
            .chain(soaked)
            .chain(turned)
            .cloned()
            .collect()
    }

    /// Who may release a result by the rights and the policies as they stand.
    pub fn may_release(&self, result: &TestResult) -> Vec<&Person> {
        let testers =
            if self.wants_release_by_another() { self.testers(result) } else { BTreeSet::new() };
        self.people
            .values()
            .filter(|person| person.may(Right::Release) && !testers.contains(&person.code))
            .collect()
    }
}
