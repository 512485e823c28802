//! Founding the laboratory, and who may do what.

use super::Desk;
use super::form::{Form, yes_or_no};
use crate::code::{PersonCode, tidy};
use crate::fact::{Fact, Right};
use crate::refusal::Refusal;
use crate::request::{AddPerson, FoundLaboratory, SetRights};
use jiff::tz::TimeZone;

impl Desk<'_> {
    pub(super) fn found_laboratory(&self, request: &FoundLaboratory) -> Result<Vec<Fact>, Refusal> {
        let mut form = Form::new();
        if let Some(identity) = &self.lab.identity {
            let message = format!("this is already the laboratory “{}”", identity.name);
            form.wrong(
                "",
                "laboratory-founded",
                message,
                "use another folder for another laboratory",
            );
            return form.refuse();
        }
        let name = form.text("name", &request.name, "the name of the laboratory");
        let address = form.text("address", &request.address, "the address");
        let time_zone = time_zone(&mut form, &request.time_zone);
        let person = initials(&mut form, "founder_code", &request.founder_code);
        let founder = form.text("founder_name", &request.founder_name, "your name");
        form.facts(vec![
            Fact::LaboratoryFounded {
                name,
                address,
                invented: yes_or_no(&request.invented).unwrap_or(false),
                time_zone,
            },
            Fact::PersonAdded {
                person,
                name: founder,
                rights: vec![Right::Test, Right::Release, Right::Manage],
            },
        ])
    }

    pub(super) fn add_person(&self, request: &AddPerson) -> Result<Vec<Fact>, Refusal> {
        self.person_who_may(Right::Manage)?;
        let mut form = Form::new();
        let person = initials(&mut form, "code", &request.code);
        if let Some(known) = self.lab.people.get(&person) {
            let message = format!("{person} are already the initials of {}", known.name);
            form.wrong("code", "code-in-use", message, "use others");
        }
        let name = form.text("name", &request.name, "the name");
        let rights = rights(&mut form, &request.rights);
        form.facts(vec![Fact::PersonAdded { person, name, rights }])
    }

    pub(super) fn set_rights(&self, request: &SetRights) -> Result<Vec<Fact>, Refusal> {
        self.person_who_may(Right::Manage)?;
        let mut form = Form::new();
        let Some(person) = self.lab.people.get(request.person.trim().to_uppercase().as_str())
        else {
            let message = format!("nobody here has the initials “{}”", request.person.trim());
            form.wrong("person", "person-unknown", message, format!("known: {}", self.initials()));
            return form.refuse();
        };
        let rights = rights(&mut form, &request.rights);
        let reason = form.text("reason", &request.reason, "the grounds for the change");
        let managers = self.lab.people.values().filter(|other| other.may(Right::Manage)).count();
        if person.may(Right::Manage) && !rights.contains(&Right::Manage) && managers == 1 {
            let message = format!("{} is the only one who may manage", person.name);
            form.wrong("rights", "last-manager", message, "grant it to somebody else first");
        }
        form.facts(vec![Fact::RightsSet { person: person.code.clone(), rights, reason }])
    }
}

fn time_zone(form: &mut Form, typed: &str) -> String {
    let typed = typed.trim();
    if typed.is_empty() {
        return "UTC".to_owned();
    }
    match TimeZone::get(typed) {
        Ok(zone) => zone.iana_name().unwrap_or(typed).to_owned(),
        Err(_) => {
            let message = format!("“{typed}” is not a time zone");
            form.wrong("time_zone", "input-unknown", message, zone_hint(typed));
            String::new()
        }
    }
}

/// The zones that name what was typed, where there are any.
fn zone_hint(typed: &str) -> String {
    const SHOWN: usize = 4;
    let wanted = typed.to_lowercase().replace(' ', "_");
    let near: Vec<String> = crate::words::time_zones()
        .filter(|name| name.to_lowercase().contains(&wanted))
        .take(SHOWN)
        .collect();
    if near.is_empty() {
        "write it like Europe/Madrid or America/Toronto, or leave it empty for UTC".to_owned()
    } else {
        format!("write {}", crate::words::listed_or(&near))
    }
}

fn initials(form: &mut Form, field: &str, typed: &str) -> PersonCode {
    if typed.trim().is_empty() {
        form.wrong(
            field,
            "input-missing",
            "the initials are missing",
            "write two to four letters, like RVK",
        );
        return PersonCode::from("");
    }
    tidy(typed).map_or_else(
        || {
            let message = format!("“{}” cannot be used as initials", typed.trim());
            form.wrong(field, "input-code", message, "write two to four letters, like RVK");
            PersonCode::from("")
        },
        PersonCode::from,
    )
}

fn rights(form: &mut Form, typed: &[String]) -> Vec<Right> {
    let mut rights: Vec<Right> = Vec::new();
    for text in typed.iter().map(|text| text.trim()).filter(|text| !text.is_empty()) {
        match text {
            "test" => rights.push(Right::Test),
            "release" => rights.push(Right::Release),
            "manage" => rights.push(Right::Manage),
            other => {
                let message = format!("“{other}” is not a right");
                form.wrong("rights", "input-unknown", message, "write test, release or manage");
            }
        }
    }
    rights.sort_unstable();
    rights.dedup();
    rights
}
