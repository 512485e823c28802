//! Who may release a result: a person with the right, and another than those who tested it where
//! the laboratory wants that.

use crate::code::PersonCode;
use crate::evidence::LinkKind;
use crate::fact::Right;
use crate::state::{Lab, Person, TestResult};
use std::collections::BTreeSet;

impl Lab {
    /// Who tested: made up, dried, soaked, weighed, ran or read a specimen of the result.
    pub fn testers(&self, result: &TestResult) -> BTreeSet<PersonCode> {
        let named = self
            .evidence(result)
            .into_iter()
            .filter(|link| link.kind == LinkKind::Person && link.role != "released by")
            .map(|link| PersonCode::from(link.code.as_str()));
        let specimens = result.specimens.iter().filter_map(|code| self.specimens.get(code));
        let begun = specimens.clone().map(|specimen| specimen.begun.by.clone());
        // The evidence names who gave the mass that counts; whoever gave one that was replaced
        // had the specimen in hand, too.
        let weighed = specimens.clone().flat_map(|specimen| {
            let fractions = specimen.fractions.values().flatten();
            fractions.chain(&specimen.before).chain(&specimen.after).map(|mass| mass.by.clone())
        });
        let read = specimens
            .clone()
            .flat_map(|specimen| specimen.readings.values().flatten().map(|one| one.by.clone()));
        let dried =
            specimens.clone().flat_map(|specimen| specimen.drying.iter().map(|one| one.by.clone()));
        let soaked =
            specimens.clone().filter_map(|specimen| Some(specimen.soak.as_ref()?.by.clone()));
        let runs = specimens.filter_map(|specimen| self.runs.get(specimen.run.as_ref()?));
        let turned = runs.flat_map(|run| {
            let paused = run.interruptions.iter().flat_map(|one| {
                let resumed = one.value.resumed.as_ref().map(|resumed| resumed.by.clone());
                std::iter::once(one.by.clone()).chain(resumed)
            });
            paused.chain(run.stopped.as_ref().map(|end| end.by.clone()))
        });
        named
            .chain(begun)
            .chain(weighed)
            .chain(read)
            .chain(dried)
            .chain(soaked)
            .chain(turned)
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
