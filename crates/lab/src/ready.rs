//! May I test now? For an apparatus and a method: ready, until when, or what is missing, with the
//! check that would mend it.

use crate::authorisation::{Activity, AuthorisationRule};
use crate::charge::due_of;
use crate::code::{ItemCode, LotCode, PersonCode};
use crate::control::{Due, ReferenceDue};
use crate::fact::{Right, Standing};
use crate::state::{Check, Item, Lab, MethodInUse};
use jiff::Timestamp;
use jiff::civil::Date;
use serde::Serialize;
use stonewear_measure::{Decimal, Limits};
use stonewear_method::model::Vessel;
use stonewear_method::{Method, MethodId};
use stonewear_procedure::{Expect, ItemKind, Procedure};

/// Where something that is missing is mended.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum About {
    /// At this item.
    Item(ItemCode),
    /// With an item of this kind, which is still to be registered.
    Kind(ItemKind),
    /// Among the people, their rights and authorisations.
    People,
    /// With this lot of reference aggregate.
    Lot(LotCode),
}

/// Something that is missing, why, and what would mend it.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Lack {
    /// Where it is mended.
    pub about: About,
    /// What it is about: an item's code, or a kind of item or right.
    pub what: String,
    /// Why it does not do.
    pub why: String,
    /// What would mend it.
    pub mend: String,
}

/// A proof that holds, and until when.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Holding {
    /// The item.
    pub item: ItemCode,
    /// Until when; absent when its proof does not run out.
    pub until: Option<Timestamp>,
}

/// Who is authorised for an activity, and until when.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Authorised {
    /// The activity.
    pub activity: Activity,
    /// Who is authorised longest.
    pub person: PersonCode,
    /// The last day; absent when it holds until it is withdrawn.
    pub until: Option<Date>,
}

/// Whether a method can be tested with an apparatus at some instant.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Readiness {
    /// The apparatus.
    pub apparatus: ItemCode,
    /// The method.
    pub method: MethodId,
    /// Nothing is missing.
    pub ready: bool,
    /// When the first proof runs out that the readiness rests on; absent when none does.
    pub until: Option<Timestamp>,
    /// The proofs that it rests on: of each kind the one that holds longest.
    pub rests_on: Vec<Holding>,
    /// Where the laboratory asks for authorisations: for each activity who has one longest.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub authorised: Vec<Authorised>,
    /// What is missing.
    pub lacks: Vec<Lack>,
    /// What is not missing and wants doing: a ball charge that is about to leave its tolerance, a
    /// run of reference aggregate that is due.
    pub warnings: Vec<Lack>,
}

impl Lab {
    /// The readiness of every machine that is not retired for every method in use that it runs.
    pub fn readiness(&self, at: Timestamp) -> Vec<Readiness> {
        let machines = self.items.values().filter(|item| item.standing() != Standing::Retired);
        let due = self.reference_due(at);
        machines.flat_map(|machine| self.readiness_with(machine, at, &due)).collect()
    }

    /// The readiness of one machine for every method in use that it runs: a drum runs no jars.
    pub fn readiness_of(&self, machine: &Item, at: Timestamp) -> Vec<Readiness> {
        self.readiness_with(machine, at, &self.reference_due(at))
    }

    fn readiness_with(
        &self,
        machine: &Item,
        at: Timestamp,
        due: &[ReferenceDue],
    ) -> Vec<Readiness> {
        let runs = |in_use: &&MethodInUse| {
            crate::outcome::machine_of(in_use.method.vessel) == Some(machine.kind)
        };
        let methods = self.methods.values().filter(runs);
        methods.map(|in_use| self.readiness_for(machine, in_use, at, due)).collect()
    }

    fn readiness_for(
        &self,
        apparatus: &Item,
        in_use: &MethodInUse,
        at: Timestamp,
        due: &[ReferenceDue],
    ) -> Readiness {
        let mut asked = Asked {
            lab: self,
            at,
            rests_on: Vec::new(),
            authorised: Vec::new(),
            lacks: Vec::new(),
        };
        asked.item(apparatus);
        if in_use.method.vessel == Vessel::JarMill {
            asked.a_jar_of(&in_use.method);
        }
        if in_use.method.gradings.iter().any(|grading| grading.charge_g.is_some()) {
            asked.one_of(ItemKind::BallCharge, None);
        }
        asked.one_of(ItemKind::Balance, None);
        asked.one_of(ItemKind::Oven, None);
        if let Some(mm) = in_use.method.loss_sieve_mm() {
            asked.one_of(ItemKind::Sieve, Some(mm));
        }
        asked.somebody_who_may(Right::Test);
        asked.somebody_who_may(Right::Release);
        asked.somebody_authorised(&in_use.id);
        Readiness {
            apparatus: apparatus.code.clone(),
            method: in_use.id.clone(),
            ready: asked.lacks.is_empty(),
            until: asked.until(),
            rests_on: asked.rests_on,
            authorised: asked.authorised,
            lacks: asked.lacks,
            warnings: self
                .worn_charges(in_use, at)
                .into_iter()
                .chain(reference_due(apparatus, in_use, due))
                .collect(),
        }
    }

    /// The charges in service for a method that have left their tolerance or are about to.
    fn worn_charges(&self, in_use: &MethodInUse, at: Timestamp) -> Vec<Lack> {
        if in_use.method.gradings.iter().all(|grading| grading.charge_g.is_none()) {
            return Vec::new();
        }
        let is_for_it = |charge: &ItemCode| {
            let limits = self.charge_tolerance(charge).map(|tolerance| tolerance.limits);
            let mut rules = in_use.method.gradings.iter().filter_map(|one| one.charge_g.as_ref());
            rules.any(|rule| Some(rule.limits()) == limits)
        };
        self.in_service(ItemKind::BallCharge)
            .filter(|item| is_for_it(&item.code))
            .filter_map(|item| due_of(self, &item.code, at))
            .filter(|due| due.is_near)
            .map(|due| Lack {
                about: About::Item(due.charge.clone()),
                what: due.charge.to_string(),
                why: due.sentence.split_once(": ").map_or(String::new(), |(_, why)| why.to_owned()),
                mend: "add balls of the full size or renew the charge, and record it".to_owned(),
            })
            .collect()
    }

    /// Until when an item can be used, or what it lacks.
    fn usable(&self, item: &Item, at: Timestamp) -> Result<Holding, Lack> {
        let lack = |why: String, mend: &str| Lack {
            about: About::Item(item.code.clone()),
            what: item.code.to_string(),
            why,
            mend: mend.to_owned(),
        };
        if item.standing() != Standing::InService {
            if let Some(open) = self.open_investigation_of(&item.code) {
                let why = format!("it is held: {} ({})", open.opened.value, open.code);
                return Err(lack(
                    why,
                    "finish the investigation; a reference result in control releases it",
                ));
            }
            let why = format!("it is {}", item.standing().in_words());
            return Err(lack(why, "pass its checks and put it into service"));
        }
        let Some(check) = self.proof_of(&item.code) else {
            return Err(lack("no passed check proves it".to_owned(), "pass the check of its kind"));
        };
        let until = self.proves_until(check);
        if until.is_some_and(|until| until < at) {
            let day = until.map(|until| self.local(until).date().to_string()).unwrap_or_default();
            return Err(lack(
                format!("its proof ran out on {day}"),
                &format!("repeat the {}", check.procedure.id),
            ));
        }
        Ok(Holding { item: item.code.clone(), until })
    }

    /// The same for a jar, by its inspection as a jar of this method.
    fn usable_jar(&self, item: &Item, method: &Method, at: Timestamp) -> Result<Holding, Lack> {
        let holding = self.usable(item, at)?;
        let Some(height) = jar_height_of(method) else { return Ok(holding) };
        let lack = |why: String| Lack {
            about: About::Item(item.code.clone()),
            what: item.code.to_string(),
            why,
            mend: format!("pass the inspection of a jar {height} mm high inside"),
        };
        // A procedure of the laboratory's own that reads no height leaves the jar to whoever wrote it.
        let is_of_method = |check: &&Check| {
            jar_height(&check.procedure).is_none_or(|inspected| overlap(inspected, height))
        };
        let proof = self
            .passed_before(&item.code, u64::MAX)
            .filter(|check| check.lets_into_service())
            .find(is_of_method);
        let Some(proof) = proof else {
            let why = format!("it was not inspected as a jar of {}", method.dated());
            return Err(lack(why));
        };
        let until = self.proves_until(proof);
        if until.is_some_and(|until| until < at) {
            let day = until.map(|until| self.local(until).date().to_string()).unwrap_or_default();
            return Err(lack(format!(
                "its inspection as a jar of {} ran out on {day}",
                method.dated()
            )));
        }
        Ok(Holding { item: item.code.clone(), until })
    }
}

/// Sources give one jar somewhat different heights (168 to 172 mm, 170 to 177 mm); those of another
/// method's jar have none in common with them.
fn overlap(one: Limits, other: Limits) -> bool {
    let reaches = |lower: Option<Decimal>, upper: Option<Decimal>| match (lower, upper) {
        (Some(lower), Some(upper)) => lower <= upper,
        _ => true,
    };
    reaches(one.lower, other.upper) && reaches(other.lower, one.upper)
}

/// The inside height of the jars that an inspection proves; none where it reads no height.
pub fn jar_height(procedure: &Procedure) -> Option<Limits> {
    let height = procedure.steps.iter().find(|step| step.id == "height")?;
    match &height.expect {
        Expect::Number { limits, .. } if procedure.proves_kind == ItemKind::Jar => Some(*limits),
        _ => None,
    }
}

/// The inside height of the jar of a method; none where no source says it.
pub fn jar_height_of(method: &Method) -> Option<Limits> {
    Some(method.jar.as_ref()?.inside_height_mm.as_ref()?.limits())
}

/// The runs of reference aggregate that a machine owes by a method.
fn reference_due<'d>(
    apparatus: &'d Item,
    in_use: &'d MethodInUse,
    due: &'d [ReferenceDue],
) -> impl Iterator<Item = Lack> + 'd {
    let here = move |one: &&ReferenceDue| {
        one.apparatus == apparatus.code && one.method == in_use.id && one.due != Due::NotYet
    };
    due.iter().filter(here).map(|one| Lack {
        about: About::Lot(one.lot.clone()),
        what: one.lot.to_string(),
        why: one.sentence.split_once(": ").map_or(String::new(), |(_, why)| why.to_owned()),
        mend: "run a specimen of the lot".to_owned(),
    })
}

/// A question of readiness as it is answered.
struct Asked<'a> {
    lab: &'a Lab,
    at: Timestamp,
    rests_on: Vec<Holding>,
    authorised: Vec<Authorised>,
    lacks: Vec<Lack>,
}

impl Asked<'_> {
    fn item(&mut self, item: &Item) {
        match self.lab.usable(item, self.at) {
            Ok(holding) => self.rests_on.push(holding),
            Err(lack) => self.lacks.push(lack),
        }
    }

    /// At least one item of a kind; for a sieve, of this opening.
    fn one_of(&mut self, kind: ItemKind, opening_mm: Option<Decimal>) {
        self.one_that_is(kind, opening_mm, Lab::usable);
    }

    /// At least one jar that was inspected as the jar of this method: methods differ in its height.
    fn a_jar_of(&mut self, method: &Method) {
        self.one_that_is(ItemKind::Jar, None, |lab, item, at| lab.usable_jar(item, method, at));
    }

    fn one_that_is(
        &mut self,
        kind: ItemKind,
        opening_mm: Option<Decimal>,
        usable: impl Fn(&Lab, &Item, Timestamp) -> Result<Holding, Lack>,
    ) {
        let fits = |item: &&Item| kind != ItemKind::Sieve || item.opening_mm == opening_mm;
        let items: Vec<&Item> = self
            .lab
            .items_of(kind)
            .filter(|item| item.standing() != Standing::Retired)
            .filter(fits)
            .collect();
        let judged: Vec<Result<Holding, Lack>> =
            items.iter().map(|item| usable(self.lab, item, self.at)).collect();
        let longest =
            judged.iter().flatten().max_by_key(|holding| holding.until.unwrap_or(Timestamp::MAX));
        match longest {
            Some(holding) => self.rests_on.push(holding.clone()),
            None if items.is_empty() => {
                let what = opening_mm.map_or_else(
                    || kind.in_words().to_owned(),
                    |mm| format!("{} of {mm} mm", kind.in_words()),
                );
                let mend = format!("register and prove one ({})", kind.as_str());
                let why = "there is none".to_owned();
                self.lacks.push(Lack { about: About::Kind(kind), what, why, mend });
            }
            None => self.lacks.extend(judged.into_iter().filter_map(Result::err)),
        }
    }

    /// When the first of all that it rests on runs out.
    fn until(&self) -> Option<Timestamp> {
        let days = self.authorised.iter().filter_map(|one| self.lab.end_of(one.until?));
        self.rests_on.iter().filter_map(|holding| holding.until).chain(days).min()
    }

    /// Where the laboratory asks for authorisations: somebody has one for each part of the work.
    fn somebody_authorised(&mut self, method: &MethodId) {
        if self.lab.authorisation_rule() == AuthorisationRule::NotRequired {
            return;
        }
        for activity in Activity::ALL {
            let people = self.lab.authorised_for(method, activity, self.at);
            let longest = people.into_iter().max_by_key(|(_, until)| until.unwrap_or(Date::MAX));
            match longest {
                Some((person, until)) => {
                    self.authorised.push(Authorised { activity, person: person.clone(), until });
                }
                None => self.lacks.push(Lack {
                    about: About::People,
                    what: "people".to_owned(),
                    why: format!("nobody is authorised to {}", activity.in_words()),
                    mend: "authorise somebody, or renew what ran out".to_owned(),
                }),
            }
        }
    }

    fn somebody_who_may(&mut self, right: Right) {
        if !self.lab.people.values().any(|person| person.may(right)) {
            self.lacks.push(Lack {
                about: About::People,
                what: "people".to_owned(),
                why: format!("nobody may {}", right.in_words()),
                mend: "grant somebody the right".to_owned(),
            });
        }
    }
}
