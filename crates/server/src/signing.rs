//! What is signed: done only by somebody who has just shown that it is they.
//!
//! Where people have accounts, what speaks for the laboratory to others, or changes what it goes by, wants
//! the phrase again, unless it was given within the last minutes ([`PROVED_FOR`]). A session shows who
//! signed in at a tablet; the phrase shows who stands at it now.
//!
//! [`PROVED_FOR`]: stonewear_access::session::PROVED_FOR

use crate::app::{App, problem};
use crate::door::Guest;
use crate::form::Typed;
use stonewear_access::{NotIn, Phrase};
use stonewear_lab::refusal::Problem;
use stonewear_runtime::Clock;

/// The field of a form that carries the phrase. Its name begins as those of fields do that are no part
/// of a request and that no draft keeps.
pub(crate) const FIELD: &str = "_phrase";

/// The requests that are signed.
const SIGNED: [&str; 13] = [
    // What speaks for the laboratory: all that needs the right to release.
    "release-result",
    "issue-paper",
    "close-doubt",
    "conclude-study",
    "judge-cell",
    "close-round",
    "reopen-round",
    // What it goes by, and who may do what.
    "set-policy",
    "confirm-figure",
    "add-person",
    "set-rights",
    "grant-authorisation",
    "change-authorisation",
];

/// How whoever sits here stands to signing.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Hash)]
pub(crate) enum Signing {
    /// Nobody here has to prove who they are.
    #[default]
    Open,
    /// The phrase was given a moment ago.
    Proved,
    /// The phrase is asked for, or what may stand for it.
    Asked(Means),
}

/// What somebody can show who they are with, beside their phrase.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Hash)]
pub(crate) struct Means {
    /// A passkey for this page.
    pub(crate) passkey: bool,
    /// An organisation that vouches for them.
    pub(crate) organisation: bool,
}

impl Signing {
    pub(crate) fn as_str(self) -> &'static str {
        match self {
            Self::Open => "open",
            Self::Proved => "proved",
            Self::Asked(Means { passkey: false, organisation: false }) => "asked",
            Self::Asked(Means { passkey: true, organisation: false }) => "asked-passkey",
            Self::Asked(Means { passkey: false, organisation: true }) => "asked-organisation",
            Self::Asked(Means { passkey: true, organisation: true }) => "asked-both",
        }
    }

    pub(crate) fn named(name: &str) -> Self {
        match name {
            "open" => Self::Open,
            "proved" => Self::Proved,
            other => Self::Asked(Means {
                passkey: matches!(other, "asked-passkey" | "asked-both"),
                organisation: matches!(other, "asked-organisation" | "asked-both"),
            }),
        }
    }

    /// What can be shown, where something is asked for.
    pub(crate) fn asks(self) -> Option<Means> {
        match self {
            Self::Asked(means) => Some(means),
            Self::Open | Self::Proved => None,
        }
    }
}

/// Whether a request is signed.
pub(crate) fn is_signed(request: &str) -> bool {
    SIGNED.contains(&request)
}

/// Holds that whoever asks for something that is signed has shown who they are.
///
/// # Errors
/// Why it is not done.
pub(crate) async fn hold(app: &App, guest: &Guest, typed: &Typed) -> Result<(), Vec<Problem>> {
    if !guest.has_accounts || !is_signed(&typed.request) {
        return Ok(());
    }
    prove(app, guest, typed.sent_field(FIELD).unwrap_or_default()).await
}

/// Holds that the phrase was given a moment ago, or is given now.
///
/// # Errors
/// Why it is not taken.
pub(crate) async fn prove(app: &App, guest: &Guest, typed: &str) -> Result<(), Vec<Problem>> {
    let now = Clock::Machine.now();
    let at_the_phrase = |rule, message: &str, hint: &str| {
        let field = FIELD.to_owned();
        Err(vec![Problem { field, hint: hint.to_owned(), ..problem(rule, message.to_owned()) }])
    };
    let Some(session) = guest.session.clone() else {
        return at_the_phrase("signed-out", "nobody has signed in here", "sign in first");
    };
    if session.is_proved(now) {
        return Ok(());
    }
    if typed.is_empty() {
        return at_the_phrase(
            "phrase-missing",
            "this is signed with your name, and your pass phrase was not given",
            "type your pass phrase",
        );
    }
    let address = guest.address.clone();
    let phrase = Phrase::read(typed);
    let proved = app
        .with_phrases(move |access| access.prove(&session, &phrase, &address, now))
        .await
        .map_err(|words| vec![problem("not-recorded", words)])?;
    match proved {
        Ok(()) => Ok(()),
        Err(NotIn::Wrong) => {
            at_the_phrase("phrase-wrong", "this is not your pass phrase", "type it again")
        }
        Err(NotIn::Wait(left)) => {
            let hint = format!("try again in {}", in_words(left));
            at_the_phrase("phrase-wait", "too many wrong pass phrases were typed", &hint)
        }
    }
}

/// A wait, rounded up.
pub(crate) fn in_words(left: jiff::SignedDuration) -> String {
    match left.as_secs() + 1 {
        1 => "1 second".to_owned(),
        seconds if seconds < 60 => format!("{seconds} seconds"),
        seconds => format!("{} minutes", seconds.div_euclid(60) + 1),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use jiff::{SignedDuration, Timestamp};
    use stonewear_lab::fact::Right;
    use stonewear_lab::{Context, Fact, Lab, PersonCode, Recorded, Request, decide};

    /// Asked of the decision itself: what it grants to nobody without the right to release.
    fn needs_release(request: &Request) -> bool {
        let (by, at) = (PersonCode::from("X"), Timestamp::UNIX_EPOCH);
        let mut lab = Lab::new();
        let founded = Fact::LaboratoryFounded {
            name: "x".to_owned(),
            address: String::new(),
            invented: true,
            time_zone: "UTC".to_owned(),
        };
        let rights = vec![Right::Test, Right::Manage];
        let person = Fact::PersonAdded { person: by.clone(), name: "x".to_owned(), rights };
        for (position, fact) in (1..).zip([founded, person]) {
            lab.apply(&Recorded { position, at, by: by.clone(), fact });
        }
        let context = Context { at, made: None, by, methods: &[], procedures: &[] };
        decide(&lab, &context, request).is_err_and(|refusal| {
            refusal.problems.iter().any(|problem| problem.rule == "right-missing")
        })
    }

    /// Whatever speaks for the laboratory is signed, also what is added to it later.
    #[test]
    fn all_that_needs_the_right_to_release_is_signed_and_every_name_is_one() {
        let all = Request::empty_ones();
        for request in all.iter().filter(|request| needs_release(request)) {
            assert!(is_signed(&request.name()), "{} is not signed", request.name());
        }
        for name in SIGNED {
            assert!(all.iter().any(|request| request.name() == name), "there is no {name}");
        }
        for name in ["weigh-before", "observe", "start-run", "receive-sample"] {
            assert!(!is_signed(name), "{name} would ask for a phrase at the wet bench");
        }
    }

    #[test]
    fn a_wait_is_rounded_up() {
        for (seconds, words) in
            [(0, "1 second"), (58, "59 seconds"), (59, "2 minutes"), (899, "16 minutes")]
        {
            assert_eq!(in_words(SignedDuration::from_secs(seconds)), words);
        }
    }

    #[test]
    fn a_name_that_is_not_known_asks_for_the_phrase() {
        let means = [(false, false), (false, true), (true, false), (true, true)]
            .map(|(passkey, organisation)| Signing::Asked(Means { passkey, organisation }));
        for signing in [Signing::Open, Signing::Proved].into_iter().chain(means) {
            assert_eq!(Signing::named(signing.as_str()), signing);
        }
        assert_eq!(Signing::named(""), Signing::Asked(Means::default()));
    }
}
