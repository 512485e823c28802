//! The laboratory itself: name, people, methods, policies, what is due.

use super::parts::{Document, Figure, Recorded, code, codes, document, figure, recorded, word};
use super::{Reading, View, listed, many, one};
use crate::interface::requests::{FormGiven, form_given};
use crate::interface::trouble::Kind;
use schemars::JsonSchema;
use serde::Serialize;
use stonewear_lab::due::{Due, Sure, Wanted};
use stonewear_lab::policy::Policy;

pub(super) fn views() -> Vec<View> {
    let mut views = vec![
        one(
            "/laboratory",
            "laboratory",
            "Name, time zone, and where the journal stands.",
            |reading| Some(laboratory_given(reading)),
        )
        .timely(),
        many(
            "/requests",
            "requests",
            "Every request that can be sent, with its fields and the scope that it needs.",
            |_| crate::interface::forms::ALL.keys().cloned().collect(),
            |_, name| -> Option<FormGiven> { form_given(name) },
        ),
        many(
            "/due",
            "due",
            "Everything that falls due, the most urgent first.",
            |reading| {
                let due = reading.lab.due(reading.now, &Wanted::default());
                due.into_iter().map(|due| due.key).collect()
            },
            |reading, key| {
                let due = reading.lab.due(reading.now, &Wanted::default());
                due.iter().find(|due| due.key == key).map(|due| due_given(reading, due))
            },
        )
        .timely(),
    ];
    views.extend(listed(
        ("/people", "/people/{code}"),
        ("people", "person"),
        "People, what they may do and what they are authorised for.",
        |reading| codes(reading.lab.people.keys()),
        person_given,
    ));
    views.extend(listed(
        ("/methods", "/methods/{id}"),
        ("methods", "method"),
        "Methods in use, whole, with every number, its source and how sure it is: the document that \
         docs/methods.md describes.",
        |reading| codes(reading.lab.methods.keys()),
        method_given,
    ));
    views.extend(listed(
        ("/policies", "/policies/{name}"),
        ("policies", "policy"),
        "What the laboratory decides where methods and standards leave it open.",
        |_| Policy::ALL.iter().map(|policy| policy.name().to_owned()).collect(),
        policy_given,
    ));
    views.push(many(
        "/sensitivities",
        "sensitivities",
        "What experiments of the laboratory say about how the loss follows a condition, oldest first.",
        |reading| (0..reading.lab.sensitivities.len()).map(|index| index.to_string()).collect(),
        sensitivity_given,
    ));
    views.extend(listed(
        ("/problems", "/problems/{name}"),
        ("problems", "problem"),
        "The kinds of problems that this interface answers with, by the last part of their type.",
        |_| Kind::ALL.iter().map(|(_, name, ..)| (*name).to_owned()).collect(),
        |_, name| {
            let (_, name, status, title) =
                Kind::ALL.iter().find(|(_, known, ..)| *known == name)?;
            Some(ProblemKind {
                name: (*name).to_owned(),
                status: status.as_u16(),
                title: (*title).to_owned(),
            })
        },
    ));
    views
}

/// A kind of problem.
#[derive(Debug, Serialize, JsonSchema)]
struct ProblemKind {
    /// Its name: the last part of its type.
    name: String,
    /// The status that it is answered with.
    status: u16,
    /// What it is, in a few words.
    title: String,
}

/// The laboratory.
#[derive(Debug, Serialize, JsonSchema)]
#[schemars(rename = "Laboratory")]
struct LaboratoryGiven {
    /// Its name; empty while nobody has founded it.
    name: String,
    /// Postal address.
    address: String,
    /// Whether everything in it is invented.
    invented: bool,
    /// Time zone by which days are counted, by its IANA name.
    time_zone: String,
    /// The last place in the journal.
    position: u64,
    /// The hash of the entry there, as hexadecimal.
    head: String,
    /// The time by the laboratory's clock.
    #[schemars(extend("format" = "date-time"))]
    now: String,
    /// Where the journal is damaged, if it is: then nothing can be recorded.
    damage: Option<String>,
    /// Why nothing can be recorded now, and what to do about it; absent while entries are taken.
    hindrance: Option<String>,
    /// Version of the program.
    version: &'static str,
}

fn laboratory_given(reading: &Reading<'_>) -> LaboratoryGiven {
    let identity = reading.lab.identity.as_ref();
    let head = reading.laboratory.head();
    LaboratoryGiven {
        name: identity.map(|one| one.name.clone()).unwrap_or_default(),
        address: identity.map(|one| one.address.clone()).unwrap_or_default(),
        invented: identity.is_some_and(|one| one.invented),
        time_zone: identity.map(|one| one.time_zone.clone()).unwrap_or_default(),
        position: head.position,
        head: head.hash.to_string(),
        now: reading.now.to_string(),
        damage: reading.laboratory.damage().map(ToString::to_string),
        hindrance: reading.laboratory.hindrance().map(|one| format!("{one} {}", one.remedy())),
        version: env!("CARGO_PKG_VERSION"),
    }
}

/// Something that falls due.
#[derive(Debug, Serialize, JsonSchema)]
#[schemars(rename = "Due")]
struct DueGiven {
    /// What names it for as long as it is the same duty.
    key: String,
    /// Its kind: `check`, `authorisation`, `doubt`, …
    kind: String,
    /// `overdue`, `now`, `soon` or `later`.
    urgency: String,
    /// The day, where one is known.
    #[schemars(extend("format" = "date"))]
    day: Option<String>,
    /// When, in words.
    when: String,
    /// What is to be done.
    what: String,
    /// Why it falls due then.
    why: String,
    /// The page where it is done.
    path: String,
    /// The item that it is about.
    item: Option<String>,
    /// The person whom it is about.
    person: Option<String>,
    /// Who can do it: people with this right.
    right: String,
    /// From what the day was forecast, if it was; absent where it is certain.
    forecast: Option<String>,
}

fn due_given(reading: &Reading<'_>, due: &Due) -> DueGiven {
    DueGiven {
        key: due.key.clone(),
        kind: word(due.kind),
        urgency: word(due.urgency(reading.lab, reading.now)),
        day: code(&due.day(reading.lab)),
        when: due.when_in_words(reading.lab),
        what: due.what.clone(),
        why: due.why.clone(),
        path: due.path.clone(),
        item: code(&due.item),
        person: code(&due.person),
        right: word(due.right),
        forecast: match &due.sure {
            Sure::Certain => None,
            Sure::Forecast { basis } => Some(basis.clone()),
        },
    }
}

/// What a person is authorised for.
#[derive(Debug, Serialize, JsonSchema)]
#[schemars(rename = "Authorisation")]
struct AuthorisationGiven {
    /// Its code.
    code: String,
    /// By which method.
    method: String,
    /// For what.
    activities: Vec<String>,
    /// The last day on which it holds.
    #[schemars(extend("format" = "date"))]
    until: Option<String>,
    /// How it stands, whatever the day: `in-force`, `suspended` or `withdrawn`.
    standing: String,
    granted: Recorded,
}

/// Somebody who works here.
#[derive(Debug, Serialize, JsonSchema)]
#[schemars(rename = "Person")]
struct PersonGiven {
    /// Initials.
    code: String,
    /// Name.
    name: String,
    /// What they may do: `test`, `release`, `manage`.
    rights: Vec<String>,
    /// What they are authorised for.
    authorisations: Vec<AuthorisationGiven>,
    since: Recorded,
}

fn person_given(reading: &Reading<'_>, typed: &str) -> Option<PersonGiven> {
    let person = reading.lab.people.get(typed)?;
    let own = reading.lab.authorisations.values().filter(|one| one.person == person.code);
    let authorisations = own.map(|one| AuthorisationGiven {
        code: one.code.to_string(),
        method: one.method.to_string(),
        activities: one.activities.iter().map(word).collect(),
        until: code(&one.until),
        standing: word(one.standing_before(u64::MAX)),
        granted: recorded(&one.granted),
    });
    Some(PersonGiven {
        code: person.code.to_string(),
        name: person.name.clone(),
        rights: person.rights.iter().map(word).collect(),
        authorisations: authorisations.collect(),
        since: recorded(&person.since),
    })
}

/// What the laboratory has confirmed or corrected of a method.
#[derive(Debug, Serialize, JsonSchema)]
#[schemars(rename = "Confirmation")]
struct ConfirmationGiven {
    /// Which number.
    figure: String,
    /// The value it was corrected to; absent when it was right.
    corrected_to: Option<String>,
    /// Which copy it was compared with.
    against: String,
    recorded: Recorded,
}

/// A method in use.
#[derive(Debug, Serialize, JsonSchema)]
#[schemars(rename = "Method")]
struct MethodGiven {
    /// Its identity: `astm-d6928-2010`.
    id: String,
    /// How people call the document.
    designation: String,
    /// The method as it stands now.
    method: Document,
    /// What the laboratory has confirmed or corrected, oldest first.
    confirmations: Vec<ConfirmationGiven>,
    adopted: Recorded,
}

fn method_given(reading: &Reading<'_>, typed: &str) -> Option<MethodGiven> {
    let in_use = reading.lab.methods.values().find(|one| one.id.as_str() == typed)?;
    let confirmations = in_use.confirmations.iter().map(|one| ConfirmationGiven {
        figure: one.value.figure.clone(),
        corrected_to: one.value.corrected_to.clone(),
        against: one.value.against.clone(),
        recorded: recorded(one),
    });
    Some(MethodGiven {
        id: in_use.id.to_string(),
        designation: in_use.method.designation.clone(),
        method: document(&in_use.method),
        confirmations: confirmations.collect(),
        adopted: recorded(&in_use.adopted),
    })
}

/// A decision about a policy.
#[derive(Debug, Serialize, JsonSchema)]
struct PolicyDecided {
    /// The value from then on.
    value: String,
    /// On what grounds.
    reason: String,
    recorded: Recorded,
}

/// A policy.
#[derive(Debug, Serialize, JsonSchema)]
#[schemars(rename = "Policy")]
struct PolicyGiven {
    /// Its name.
    name: String,
    /// What it decides.
    question: String,
    /// Its value now.
    value: String,
    /// The value in words.
    in_words: String,
    /// The value that holds while nobody has decided.
    default: String,
    /// Where that comes from, or what it follows.
    source: String,
    /// What was decided, oldest first.
    decided: Vec<PolicyDecided>,
}

fn policy_given(reading: &Reading<'_>, typed: &str) -> Option<PolicyGiven> {
    let policy = Policy::ALL.into_iter().find(|policy| policy.name() == typed)?;
    let in_force = reading.lab.policy(policy);
    let decided = reading.lab.policies.get(&policy).into_iter().flatten();
    let decided = decided.map(|one| PolicyDecided {
        value: one.value.value.clone(),
        reason: one.value.reason.clone(),
        recorded: recorded(one),
    });
    Some(PolicyGiven {
        name: policy.name().to_owned(),
        question: policy.question().to_owned(),
        value: in_force.value.to_owned(),
        in_words: in_force.words.clone(),
        default: policy.default_value().to_owned(),
        source: policy.source().to_owned(),
        decided: decided.collect(),
    })
}

/// How the loss follows a condition.
#[derive(Debug, Serialize, JsonSchema)]
#[schemars(rename = "Sensitivity")]
struct SensitivityGiven {
    /// The condition.
    condition: String,
    /// The method.
    method: String,
    /// Percent of the loss per 1 % more of the condition, or per 1 °C warmer water.
    percent_of_loss: Figure,
    /// Its expanded uncertainty (k = 2), in the same unit.
    uncertainty: Option<Figure>,
    /// The experiment.
    experiment: String,
    recorded: Recorded,
}

fn sensitivity_given(reading: &Reading<'_>, key: &str) -> Option<SensitivityGiven> {
    let one = reading.lab.sensitivities.get(key.parse::<usize>().ok()?)?;
    Some(SensitivityGiven {
        condition: word(one.value.condition),
        method: one.value.method.to_string(),
        percent_of_loss: figure(one.value.percent_of_loss),
        uncertainty: one.value.uncertainty.map(figure),
        experiment: one.value.experiment.clone(),
        recorded: recorded(one),
    })
}
