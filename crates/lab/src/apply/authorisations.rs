//! Folding in what people are authorised for.

use super::Noter;
use crate::fact::{AuthorisationChanged, AuthorisationGranted, Fact, SupervisionBegun};
use crate::state::{Authorisation, AuthorisationChange, Lab, Supervision};

impl Lab {
    pub(super) fn apply_authorisation(&mut self, note: &Noter<'_>) {
        match &note.0.fact {
            Fact::AuthorisationGranted(AuthorisationGranted {
                authorisation,
                person,
                method,
                activities,
                training,
                evidence,
                until,
            }) => {
                self.count('A', note);
                let granted = Authorisation {
                    code: authorisation.clone(),
                    person: person.clone(),
                    method: method.clone(),
                    activities: activities.clone(),
                    training: training.clone(),
                    evidence: evidence.clone(),
                    until: *until,
                    granted: note.that(()),
                    changes: Vec::new(),
                };
                self.authorisations.insert(authorisation.clone(), granted);
            }
            Fact::AuthorisationChanged(AuthorisationChanged {
                authorisation,
                standing,
                reason,
            }) => {
                if let Some(known) = self.authorisations.get_mut(authorisation) {
                    let change =
                        AuthorisationChange { standing: *standing, reason: reason.clone() };
                    known.changes.push(note.that(change));
                }
            }
            Fact::SupervisionBegun(SupervisionBegun { person, method, activities, until }) => {
                self.supervisions.push(note.that(Supervision {
                    person: person.clone(),
                    method: method.clone(),
                    activities: activities.clone(),
                    until: *until,
                }));
            }
            _ => {}
        }
    }
}
