//! Authorising people, and what the laboratory asks of work without an authorisation.

use super::Desk;
use super::form::Form;
use crate::authorisation::{Activity, AuthorisationRule, AuthorisationStanding, Cover};
use crate::code::{AuthorisationCode, PersonCode, numbered};
use crate::fact::{AuthorisationChanged, AuthorisationGranted, Fact, Right, SupervisionBegun};
use crate::find::ThingKind;
use crate::refusal::Refusal;
use crate::request::{ChangeAuthorisation, GrantAuthorisation, SuperviseWork};
use crate::state::{Person, TestResult};
use crate::words::listed;
use jiff::ToSpan;
use jiff::civil::Date;
use stonewear_method::{Method, MethodId};

/// Supervision is watching, not a standing leave: it is recorded anew at least so often.
const LONGEST_SUPERVISION_DAYS: i64 = 31;

impl<'a> Desk<'a> {
    pub(super) fn grant_authorisation(
        &self,
        request: &GrantAuthorisation,
    ) -> Result<Vec<Fact>, Refusal> {
        self.person_who_may(Right::Manage)?;
        let mut form = Form::new();
        let person = self.somebody(&mut form, &request.person);
        let method = self.method_to_authorise(&mut form, &request.method);
        let activities = activities(&mut form, &request.activities);
        let training = form.optional("training", &request.training);
        let until = self.last_day(&mut form, &request.until);
        let (Some(person), Some(method)) = (person, method) else { return form.refuse() };
        let evidence = self.witnessed(&mut form, &request.evidence, person, &method);
        if training.is_empty() && evidence.is_empty() {
            form.wrong(
                "training",
                "evidence-missing",
                "nothing says on what evidence",
                "name the record of the training, or codes of what was witnessed",
            );
        }
        for activity in &activities {
            let right = if *activity == Activity::Release { Right::Release } else { Right::Test };
            if !person.may(right) {
                let message = format!("{} has not the right to {}", person.name, right.in_words());
                form.wrong("activities", "right-missing", message, "grant them the right first");
            }
        }
        let until = until.or_else(|| self.last_day_by_policy());
        let (year, number) = self.lab.next_number('A', self.context.at);
        form.facts(vec![Fact::AuthorisationGranted(AuthorisationGranted {
            authorisation: AuthorisationCode::from(numbered('A', year, number)),
            person: person.code.clone(),
            method,
            activities,
            training,
            evidence,
            until,
        })])
    }

    pub(super) fn change_authorisation(
        &self,
        request: &ChangeAuthorisation,
    ) -> Result<Vec<Fact>, Refusal> {
        self.person_who_may(Right::Manage)?;
        let mut form = Form::new();
        let reason = form.text("reason", &request.reason, "the grounds for the change");
        let typed = request.authorisation.trim();
        let Some(known) = self.lab.authorisations.get(typed.to_uppercase().as_str()) else {
            let message = self.is_no("authorisation", typed);
            form.wrong("authorisation", "authorisation-unknown", message, "look under people");
            return form.refuse();
        };
        let standing = match request.standing.parse::<AuthorisationStanding>() {
            Ok(standing) => standing,
            Err(right) => {
                let message = format!("“{}” is not how it can stand", request.standing.trim());
                form.wrong("standing", "input-unknown", message, right);
                return form.refuse();
            }
        };
        let now = known.standing_before(u64::MAX);
        if now == AuthorisationStanding::Withdrawn {
            let message = format!("{} was withdrawn", known.code);
            form.wrong("authorisation", "authorisation-withdrawn", message, "grant a new one");
        } else if now == standing {
            let message = format!("{} is already {}", known.code, standing.in_words());
            form.wrong("standing", "authorisation-unchanged", message, "nothing needs to be done");
        }
        form.facts(vec![Fact::AuthorisationChanged(AuthorisationChanged {
            authorisation: known.code.clone(),
            standing,
            reason,
        })])
    }

    pub(super) fn supervise_work(&self, request: &SuperviseWork) -> Result<Vec<Fact>, Refusal> {
        let supervisor = self.person_who_may(Right::Test)?;
        let mut form = Form::new();
        let person = self.somebody(&mut form, &request.person);
        let method = self.method_to_authorise(&mut form, &request.method);
        let activities = activities(&mut form, &request.activities);
        let typed_until = self.last_day(&mut form, &request.until);
        let (Some(person), Some(method)) = (person, method) else { return form.refuse() };
        if person.code == supervisor.code {
            let message = format!("{} cannot watch their own work", person.name);
            form.wrong("person", "supervises-self", message, "name whose work is watched");
        }
        for activity in &activities {
            if *activity == Activity::Release {
                let message = "a release is not watched: who releases stands for it";
                form.wrong("activities", "release-supervised", message, "leave release out");
                continue;
            }
            let (at, before) = (self.context.at, u64::MAX);
            match self.lab.cover(&supervisor.code, &method, *activity, at, before) {
                Cover::Authorised { .. } => {}
                Cover::Supervised { .. } | Cover::Nothing { .. } => {
                    let message = format!(
                        "{} is not authorised to {} by {method}",
                        supervisor.name,
                        activity.in_words()
                    );
                    let hint = self.whom_to_ask(&method, *activity);
                    form.wrong("by", "supervisor-not-authorised", message, hint);
                }
            }
        }
        let today = self.lab.local(self.context.at).date();
        let until = typed_until.unwrap_or(today);
        let latest = today.saturating_add(LONGEST_SUPERVISION_DAYS.days());
        if until > latest {
            let message = format!("{until} is more than {LONGEST_SUPERVISION_DAYS} days away");
            let hint = format!("name a day up to {latest}, and record it anew then");
            form.wrong("until", "input-date", message, hint);
        }
        form.facts(vec![Fact::SupervisionBegun(SupervisionBegun {
            person: person.code.clone(),
            method,
            activities,
            until,
        })])
    }

    /// Notes a departure where the laboratory asks for an authorisation, and nothing stands behind
    /// the work of the person who asks.
    pub(super) fn judge_authorised(&self, form: &mut Form, method: &Method, activity: Activity) {
        let rule = self.lab.authorisation_rule();
        if rule == AuthorisationRule::NotRequired {
            return;
        }
        let (by, dated, method) = (&self.context.by, method.dated(), method.key());
        let Cover::Nothing { why } =
            self.lab.cover(by, &method, activity, self.context.at, u64::MAX)
        else {
            return;
        };
        let name = self.lab.people.get(by).map_or(by.as_str(), |person| person.name.as_str());
        let message =
            format!("{name} is not authorised to {} by {dated}: {why}", activity.in_words());
        let ask = self.whom_to_ask(&method, activity);
        let watched = match activity {
            Activity::Release => "",
            _ => ", who can also record that they watch",
        };
        if rule == AuthorisationRule::Required {
            form.wrong("by", "not-authorised", message, format!("{ask}{watched}"));
        } else {
            let hint = format!("{ask}{watched}, or record why it is done all the same");
            form.departs("by", "not-authorised", message, hint);
        }
    }

    /// The same for the release of a result.
    pub(super) fn judge_releaser(&self, form: &mut Form, result: &TestResult) {
        if let Some(in_use) = self.lab.methods.get(&result.method) {
            self.judge_authorised(form, &in_use.method, Activity::Release);
        }
    }

    fn whom_to_ask(&self, method: &MethodId, activity: Activity) -> String {
        let authorised = self.lab.authorised_for(method, activity, self.context.at);
        let others = authorised.iter().filter(|(code, _)| **code != self.context.by);
        let names = listed(others.map(|(code, _)| code.to_string()));
        if names.is_empty() {
            "somebody who may manage can authorise a person".to_owned()
        } else {
            format!("ask {names}")
        }
    }

    /// Somebody who works here.
    pub(super) fn somebody(&self, form: &mut Form, typed: &str) -> Option<&'a Person> {
        let typed = typed.trim();
        let found = self.lab.people.get(typed.to_uppercase().as_str());
        if found.is_none() {
            let message = format!("nobody here has the initials “{typed}”");
            form.wrong("person", "person-unknown", message, format!("known: {}", self.initials()));
        }
        found
    }

    /// The edition of a method that is in use, or else of one that can be taken into use.
    fn method_to_authorise(&self, form: &mut Form, typed: &str) -> Option<MethodId> {
        let in_use = self.lab.method_in_use(typed.trim()).map(|in_use| in_use.id.clone());
        in_use.or_else(|| self.method_in_library(form, "method", typed).map(Method::key))
    }

    /// A day that is not over yet; nothing typed, none.
    fn last_day(&self, form: &mut Form, typed: &str) -> Option<Date> {
        let typed = typed.trim();
        if typed.is_empty() {
            return None;
        }
        let today = self.lab.local(self.context.at).date();
        match typed.parse::<Date>() {
            Ok(day) if day < today => {
                let message = format!("{day} is over");
                form.wrong("until", "input-date", message, format!("today is {today}"));
                None
            }
            Ok(day) => Some(day),
            Err(_) => {
                let message = format!("“{typed}” is not a day");
                form.wrong("until", "input-date", message, format!("write it like {today}"));
                None
            }
        }
    }

    fn last_day_by_policy(&self) -> Option<Date> {
        let months = i64::from(self.lab.authorisation_months()?);
        self.lab.local(self.context.at).date().checked_add(months.months()).ok()
    }

    /// The codes of what was witnessed. What says by whom and by which method it was done must be
    /// of this person and method.
    fn witnessed(
        &self,
        form: &mut Form,
        typed: &str,
        person: &Person,
        method: &MethodId,
    ) -> Vec<String> {
        let mut codes: Vec<String> = Vec::new();
        for typed in typed.split([',', ' ', '\n']).map(str::trim).filter(|typed| !typed.is_empty())
        {
            let thing = self.lab.thing(typed).filter(|thing| thing.kind != ThingKind::Person);
            let Some(thing) = thing else {
                let message = format!("nothing here has the code “{typed}”");
                let hint = "name specimens, results, runs or checks that were witnessed";
                form.wrong("evidence", "code-unknown", message, hint);
                continue;
            };
            if let Some((of, by)) = self.work_on(&thing.kind, &thing.code) {
                if of != *method {
                    let (of, by) = (self.lab.dated(of.as_str()), self.lab.dated(method.as_str()));
                    let message = format!("{} was tested by {of}, not by {by}", thing.code);
                    let hint = "name work by the method that the authorisation is for";
                    form.wrong("evidence", "evidence-of-other-method", message, hint);
                } else if !by.contains(&person.code) {
                    let message = format!("{} had no hand in {}", person.name, thing.code);
                    form.wrong("evidence", "evidence-of-other-person", message, "name their work");
                }
            }
            if !codes.contains(&thing.code) {
                codes.push(thing.code);
            }
        }
        codes
    }

    /// By which method, and by whom, something was done; `None` where neither is kept with it.
    fn work_on(&self, kind: &ThingKind, code: &str) -> Option<(MethodId, Vec<PersonCode>)> {
        match kind {
            ThingKind::Specimen => {
                let specimen = self.lab.specimens.get(code)?;
                Some((specimen.method.clone(), self.lab.hands_on(specimen).into_iter().collect()))
            }
            ThingKind::Result => {
                let result = self.lab.results.get(code)?;
                let released = result.release().map(|release| release.by.clone());
                let by = self.lab.testers(result).into_iter().chain(released).collect();
                Some((result.method.clone(), by))
            }
            _ => None,
        }
    }
}

fn activities(form: &mut Form, typed: &[String]) -> Vec<Activity> {
    let mut activities: Vec<Activity> = Vec::new();
    for text in typed.iter().map(|text| text.trim()).filter(|text| !text.is_empty()) {
        match text.parse() {
            Ok(activity) => activities.push(activity),
            Err(known) => {
                let message = format!("“{text}” is not an activity");
                form.wrong("activities", "input-unknown", message, known);
            }
        }
    }
    if activities.is_empty() && !form.is_hopeless() {
        let names = listed(Activity::ALL.map(Activity::name));
        form.wrong("activities", "input-missing", "no activity is named", format!("write {names}"));
    }
    activities.sort_unstable();
    activities.dedup();
    activities
}
