//! Who is authorised in the demo laboratory, and on what evidence.

use crate::story::{DemoError, Story};
use jiff::ToSpan;
use stonewear_lab::request::{GrantAuthorisation, SetPolicy};
use stonewear_lab::state::Specimen;
use stonewear_lab::words::listed;

/// The method that everybody here tests by.
const METHOD: &str = "astm-d6928";
/// How many specimens of a person are named as witnessed.
const WITNESSED: usize = 3;

impl Story<'_> {
    /// Everybody is authorised for the part of the work that is theirs; one of the authorisations
    /// runs out soon, so that the list of what is due has somebody on it.
    pub(crate) fn authorise(
        &mut self,
        manager: &str,
        technicians: [&str; 2],
        engineer: &str,
    ) -> Result<(), DemoError> {
        let until = ["2028-10-31", "2026-12-11"];
        for (person, until) in technicians.into_iter().zip(until) {
            let witnessed: Vec<String> = self
                .lab
                .specimens
                .values()
                .rev()
                .filter(|specimen| {
                    specimen.method.answers_to(METHOD) && self.alone(person, specimen)
                })
                .take(WITNESSED)
                .map(|specimen| specimen.code.to_string())
                .collect();
            self.grant(
                manager,
                GrantAuthorisation {
                    person: person.to_owned(),
                    activities: ["make-up", "run", "weigh-after"].map(str::to_owned).to_vec(),
                    training: format!("training record {person}-2, wet attrition, invented"),
                    evidence: witnessed.join(", "),
                    until: until.to_owned(),
                    ..GrantAuthorisation::default()
                },
            )?;
        }
        let everything = ["make-up", "run", "weigh-after", "release"];
        for (person, activities, training) in [
            (engineer, &everything[3..], "contract of the engineer, competence file 4, invented"),
            (manager, &everything[..], "competence file 1, countersigned by the owner, invented"),
        ] {
            self.grant(
                manager,
                GrantAuthorisation {
                    person: person.to_owned(),
                    activities: activities.iter().map(|one| (*one).to_owned()).collect(),
                    training: training.to_owned(),
                    ..GrantAuthorisation::default()
                },
            )?;
        }
        let grounds = format!(
            "{} are authorised now",
            listed([technicians[0], technicians[1], engineer, manager])
        );
        self.ask(
            manager,
            SetPolicy {
                policy: "authorisation".to_owned(),
                value: "reason".to_owned(),
                reason: grounds,
            },
        )?;
        Ok(())
    }

    fn grant(&mut self, manager: &str, request: GrantAuthorisation) -> Result<(), DemoError> {
        self.later(10.minutes())?;
        self.ask(manager, GrantAuthorisation { method: METHOD.to_owned(), ..request })?;
        Ok(())
    }

    /// Whether a person tested a specimen to the end, with nobody else.
    fn alone(&self, person: &str, specimen: &Specimen) -> bool {
        let hands = self.lab.hands_on(specimen);
        specimen.after_g().is_some()
            && hands.len() == 1
            && hands.iter().all(|one| one.as_str() == person)
    }
}
