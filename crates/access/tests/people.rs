//! Stories of people who come in, go, and are refused: through the public functions, over a real file.

#![allow(clippy::unwrap_used, reason = "a test that cannot go on fails")]

use jiff::{SignedDuration, Timestamp};
use stonewear_access::challenge::Purpose;
use stonewear_access::openid::Vouched;
use stonewear_access::passkey::{Asking, Refused, of_session};
use stonewear_access::session::{Means, Which};
use stonewear_access::vouched::NotLinked;
use stonewear_access::webauthn::{KeyMade, KeyUsed};
use stonewear_access::{
    Access, Attempt, Browser, Code, Lasting, NewToken, NotIn, NotOpened, Opening, Phrase, Scope,
    Session, SignedIn, Site,
};

#[path = "support/authenticator.rs"]
mod authenticator;
use authenticator::Authenticator;

const PHRASE: &str = "granite and wet sand";
const OTHER: &str = "basalt and dry sand";

fn at(hours: i64) -> Timestamp {
    "2026-11-26T08:00:00Z".parse::<Timestamp>().unwrap() + SignedDuration::from_hours(hours)
}

fn minutes(minutes: i64) -> Timestamp {
    at(0) + SignedDuration::from_mins(minutes)
}

/// Opens an account; whatever comes of it.
fn open(
    access: &Access,
    (person, code): (&str, &str),
    phrase: &str,
    now: Timestamp,
) -> Result<(), NotOpened> {
    let phrase = Phrase::read(phrase);
    let opening = Opening { person, code, phrase: &phrase, address: "10.1.1.1" };
    access.open_account(&opening, now).unwrap()
}

/// The first account, of AB.
fn first(access: &Access) {
    let (code, phrase) = (Code::new().unwrap(), Phrase::read(PHRASE));
    let typed = code.to_string().to_lowercase();
    let opening = Opening { person: "AB", code: &typed, phrase: &phrase, address: "::1" };
    assert_eq!(access.open_first_account(&opening, &code, at(0)).unwrap(), Ok(()));
}

const ORIGIN: &str = "https://lab.example.org";
const NAME: &str = "lab.example.org";
const ISSUER: &str = "https://login.example.org";
const BROWSER: Browser<'static> =
    Browser { device: "", before: "", address: "10.0.0.66", browser: "Invented/1.0" };

fn site() -> Site {
    Site { origin: ORIGIN.to_owned(), name: NAME.to_owned() }
}

struct Lab {
    access: Access,
    _folder: tempfile::TempDir,
}

impl Lab {
    fn new() -> Self {
        let folder = tempfile::tempdir().unwrap();
        Self { access: Access::open(folder.path()).unwrap(), _folder: folder }
    }

    /// With the owner AB and the person CD, whose phrases are [`PHRASE`] and [`OTHER`].
    fn with_two() -> Self {
        let lab = Self::new();
        first(&lab.access);
        lab.give("CD", OTHER);
        lab
    }

    fn give(&self, person: &str, phrase: &str) {
        let code = self.access.give_account(person, false, "AB", at(0)).unwrap().to_string();
        assert_eq!(open(&self.access, (person, &code), phrase, at(1)), Ok(()));
    }

    fn tried(
        &self,
        person: &str,
        phrase: &str,
        device: &str,
        now: Timestamp,
    ) -> Result<SignedIn, NotIn> {
        let phrase = Phrase::read(phrase);
        let attempt = Attempt {
            person,
            phrase: &phrase,
            device,
            before: "",
            address: "10.0.0.66",
            browser: "Invented/1.0",
        };
        self.access.sign_in(&attempt, now).unwrap()
    }

    fn session(&self, secret: &str, now: Timestamp) -> Option<Session> {
        self.access.session(secret, now).unwrap()
    }

    /// CD signs in and asks to add a passkey; gives the session, the passkey and its answer.
    fn asks_to_add(&self, now: Timestamp) -> (Session, Authenticator, KeyMade) {
        let came = self.tried("CD", OTHER, "", now).unwrap();
        let session = self.session(&came.session, now).unwrap();
        let challenge = self.asks(Purpose::Add, &of_session(&session), now);
        let one =
            Authenticator { user: self.access.handle("CD").unwrap(), ..Authenticator::p256() };
        let answer = KeyMade::read(&one.make(&challenge, ORIGIN, NAME)).unwrap();
        (session, one, answer)
    }

    fn asks(&self, purpose: Purpose, holder: &str, now: Timestamp) -> [u8; 32] {
        self.access.challenge(&Asking { purpose, holder, address: "10.0.0.66" }, now).unwrap()
    }

    fn adds(&self, session: &Session, answer: &KeyMade, now: Timestamp) -> Result<(), Refused> {
        self.access.add_passkey(session, ("phone", answer), &site(), "10.0.0.66", now).unwrap()
    }

    fn comes_by_passkey(
        &self,
        one: &Authenticator,
        at: &Site,
        now: Timestamp,
    ) -> Result<SignedIn, Refused> {
        let challenge = self.asks(Purpose::SignIn, "a browser", now);
        let answer = KeyUsed::read(&one.answer(&challenge, &at.origin, &at.name)).unwrap();
        self.access.sign_in_by_passkey(&answer, ("a browser", at), &BROWSER, now).unwrap()
    }

    fn comes_vouched(&self, issuer: &str, now: Timestamp) -> Result<SignedIn, NotLinked> {
        let vouched = Vouched { subject: "248289761001".to_owned(), at: Some(now) };
        self.access.sign_in_vouched(issuer, &vouched, &BROWSER, now).unwrap()
    }

    /// What the log says, as `kind person about`.
    fn log(&self) -> Vec<String> {
        let events = self.access.events(1000).unwrap();
        assert!(self.access.verify_log().unwrap().is_ok());
        let said = |event: &stonewear_access::Event| {
            format!("{} {} {}", event.kind, event.person, event.about).trim_end().to_owned()
        };
        events.iter().map(said).collect()
    }
}

#[test]
fn nobody_proves_anything_until_the_first_account_has_its_phrase_and_then_for_good() {
    let lab = Lab::new();
    assert!(!lab.access.has_accounts().unwrap());
    assert!(lab.access.give_account("CD", false, "at the machine", at(0)).is_err(), "no owner yet");
    let code = lab.access.give_account("AB", true, "at the machine", at(0)).unwrap().to_string();
    assert!(!lab.access.has_accounts().unwrap(), "a code alone closes no door");
    assert_eq!(open(&lab.access, ("AB", &code), PHRASE, at(0)), Ok(()));
    assert!(lab.access.has_accounts().unwrap());
    lab.access.reset_account("AB", "at the machine", at(1)).unwrap();
    assert!(lab.access.has_accounts().unwrap(), "a reset opens no door");
    let (code, phrase) = (Code::new().unwrap(), Phrase::read(PHRASE));
    let typed = code.to_string();
    let again = Opening { person: "CD", code: &typed, phrase: &phrase, address: "::1" };
    assert!(lab.access.open_first_account(&again, &code, at(1)).is_err());
}

#[test]
fn who_knows_the_phrase_comes_in_and_nobody_else() {
    let lab = Lab::with_two();
    let came = lab.tried("AB", PHRASE, "", at(2)).unwrap();
    let session = lab.session(&came.session, at(2)).unwrap();
    assert_eq!((session.person.as_str(), session.address.as_str()), ("AB", "10.0.0.66"));
    assert_eq!(came.session.len(), 64, "256 bits");
    for (person, phrase) in
        [("AB", OTHER), ("CD", PHRASE), ("ZZ", PHRASE), ("", ""), ("ab", PHRASE)]
    {
        assert_eq!(lab.tried(person, phrase, "", at(3)), Err(NotIn::Wrong), "{person}");
    }
    assert_eq!(lab.session("", at(3)), None);
    assert_eq!(lab.session(&came.session[1..], at(3)), None);
    let log = lab.log();
    assert!(log.contains(&"signed-in AB at a device that is new".to_owned()), "{log:?}");
    assert!(log.contains(&"sign-in-refused AB wrong phrase".to_owned()), "{log:?}");
    // What was typed for a name may be a phrase in the wrong field.
    assert!(log.contains(&"sign-in-refused  nobody who has an account".to_owned()), "{log:?}");
    assert!(!log.iter().any(|line| line.contains("ZZ")), "{log:?}");
}

#[test]
fn neither_phrases_nor_secrets_stand_in_the_files() {
    let folder = tempfile::tempdir().unwrap();
    let lab =
        Lab { access: Access::open(folder.path()).unwrap(), _folder: tempfile::tempdir().unwrap() };
    first(&lab.access);
    let code = lab.access.give_account("CD", false, "AB", at(0)).unwrap().to_string();
    let came = lab.tried("AB", PHRASE, "", at(0)).unwrap();
    drop(lab);
    let device = came.device.unwrap();
    let bare = code.replace('-', "");
    for file in std::fs::read_dir(folder.path()).unwrap() {
        let bytes = std::fs::read(file.unwrap().path()).unwrap();
        for secret in [PHRASE, &came.session, &device, &code, &bare] {
            let is_in = bytes.windows(secret.len()).any(|part| part == secret.as_bytes());
            assert!(!is_in, "a secret stands in a file");
        }
    }
}

#[test]
fn a_session_ends_after_a_pause_and_after_its_whole_time() {
    let lab = Lab::with_two();
    let came = lab.tried("AB", PHRASE, "", at(0)).unwrap();
    assert!(lab.session(&came.session, at(11)).is_some());
    assert!(lab.session(&came.session, at(12)).is_none(), "12 hours without a use");
    // Used every ten hours it goes on, for a week.
    for hours in (10..168).step_by(10) {
        let session = lab.session(&came.session, at(hours)).unwrap();
        lab.access.session_was_used(&session, at(hours)).unwrap();
    }
    assert!(lab.session(&came.session, at(167)).is_some());
    assert!(lab.session(&came.session, at(168)).is_none(), "a week");

    let came = lab.tried("AB", PHRASE, "", at(200)).unwrap();
    let half_an_hour = SignedDuration::from_mins(30);
    let lasting = Lasting { idle: half_an_hour, ..Lasting::default() };
    lab.access.set_lasting(lasting, "AB", at(200)).unwrap();
    assert!(lab.session(&came.session, at(200) + SignedDuration::from_mins(29)).is_some());
    assert!(lab.session(&came.session, at(200) + half_an_hour).is_none());
    for wrong in [SignedDuration::ZERO, SignedDuration::from_hours(24 * 31)] {
        assert!(
            lab.access.set_lasting(Lasting { idle: wrong, whole: wrong }, "AB", at(0)).is_err()
        );
    }
}

#[test]
fn whoever_goes_is_gone_and_an_owner_can_send_others_away() {
    let lab = Lab::with_two();
    let tablet = lab.tried("CD", OTHER, "", at(2)).unwrap();
    let desk = lab.tried("CD", OTHER, "", at(2)).unwrap();
    let session = lab.session(&tablet.session, at(2)).unwrap();
    lab.access.sign_out(&session, "10.0.0.66", at(2)).unwrap();
    assert!(lab.session(&tablet.session, at(2)).is_none());
    let other = lab.session(&desk.session, at(2)).expect("the other one goes on");
    assert!(lab.access.is_session_in_force(other.number, at(2)).unwrap());
    let ended = lab.access.end_sessions(&Which::One(other.number), "AB", "", at(2)).unwrap();
    assert_eq!(ended, 1);
    assert!(lab.session(&desk.session, at(2)).is_none());
    assert!(!lab.access.is_session_in_force(other.number, at(2)).unwrap());
    assert_eq!(lab.access.end_sessions(&Which::One(other.number), "AB", "", at(2)).unwrap(), 0);
    for _ in 0..3 {
        lab.tried("CD", OTHER, "", at(3)).unwrap();
    }
    assert_eq!(lab.access.sessions(at(3)).unwrap().len(), 3);
    assert_eq!(lab.access.end_sessions(&Which::AllOf("CD"), "CD", "", at(3)).unwrap(), 3);
    assert!(lab.log().contains(&"sessions-ended CD 3 of CD".to_owned()));
}

#[test]
fn signing_in_ends_what_the_browser_held_before() {
    let lab = Lab::with_two();
    let first = lab.tried("AB", PHRASE, "", at(2)).unwrap();
    let phrase = Phrase::read(OTHER);
    let attempt = Attempt {
        person: "CD",
        phrase: &phrase,
        device: first.device.as_deref().unwrap(),
        before: &first.session,
        address: "10.0.0.66",
        browser: "",
    };
    let second = lab.access.sign_in(&attempt, at(2)).unwrap().unwrap();
    assert_ne!(first.session, second.session);
    assert_eq!(second.device, None, "the device is the same");
    assert!(lab.session(&first.session, at(2)).is_none());
    let device = lab.access.device(attempt.device, at(3)).unwrap().unwrap();
    assert!(device.knows("AB") && device.knows("CD") && !device.knows("EF"));
    assert_eq!(lab.access.device("no such secret", at(3)).unwrap(), None);
    assert_eq!(lab.access.device(attempt.device, at(24 * 181)).unwrap(), None, "half a year");
}

#[test]
fn guessing_is_slowed_and_does_not_hinder_a_known_device() {
    let lab = Lab::with_two();
    let own = lab.tried("AB", PHRASE, "", at(2)).unwrap().device.unwrap();
    for _ in 0..5 {
        assert_eq!(lab.tried("AB", "wrong phrase here", "", at(3)), Err(NotIn::Wrong));
    }
    let waits = lab.tried("AB", PHRASE, "", at(3)).unwrap_err();
    assert!(matches!(waits, NotIn::Wait(left) if left.as_secs() == 1), "{waits:?}");
    assert!(lab.tried("AB", PHRASE, &own, at(3)).is_ok(), "from where they have been before");
    // A device that another person is known at is none of theirs.
    let others = lab.tried("CD", OTHER, "", at(1)).unwrap().device.unwrap();
    assert!(matches!(lab.tried("AB", PHRASE, &others, at(3)), Err(NotIn::Wait(_))));
    assert!(lab.tried("AB", PHRASE, "", at(4)).is_ok(), "and it ends by itself");
    let log = lab.log();
    assert!(log.contains(&"sign-in-refused AB too many wrong ones before".to_owned()), "{log:?}");
}

#[test]
fn a_phrase_that_was_given_again_signs_for_five_minutes() {
    let lab = Lab::with_two();
    let came = lab.tried("AB", PHRASE, "", minutes(0)).unwrap();
    let session = |now| lab.session(&came.session, minutes(now)).unwrap();
    assert!(session(4).is_proved(minutes(4)) && !session(5).is_proved(minutes(5)));
    let prove = |phrase: &str, now: i64| {
        lab.access.prove(&session(now), &Phrase::read(phrase), "::1", minutes(now)).unwrap()
    };
    assert_eq!(prove(OTHER, 6), Err(NotIn::Wrong));
    assert!(!session(6).is_proved(minutes(6)));
    assert_eq!(prove(PHRASE, 6), Ok(()));
    assert!(session(10).is_proved(minutes(10)) && !session(11).is_proved(minutes(11)));
    // A session that was left open is no place to guess from.
    for _ in 0..5 {
        assert_eq!(prove(OTHER, 12), Err(NotIn::Wrong));
    }
    assert!(matches!(prove(PHRASE, 12), Err(NotIn::Wait(_))));
    assert!(lab.log().contains(&"proof-refused AB".to_owned()));
}

#[test]
fn a_code_opens_once_for_its_person_and_for_a_day() {
    let lab = Lab::with_two();
    let access = &lab.access;
    let phrase = "limestone and clay";
    let code = access.give_account("EF", false, "AB", at(0)).unwrap().to_string();
    assert!(access.give_account("EF", false, "AB", at(0)).is_err(), "given twice");
    for (person, typed, hours) in [
        ("CD", code.as_str(), 1),
        ("ZZ", &code, 1),
        ("EF", "0000-0000-0000", 1),
        ("EF", "", 1),
        ("EF", &code, 24),
    ] {
        let opened = open(access, (person, typed), phrase, at(hours));
        assert_eq!(opened, Err(NotOpened::Code), "{person} {hours}");
    }
    assert_eq!(access.account("EF").unwrap().unwrap().standing(at(25)), "its code has run out");
    assert_eq!(lab.tried("EF", "limestone and clay", "", at(1)), Err(NotIn::Wrong));
    assert_eq!(open(access, ("EF", &code), phrase, at(23)), Ok(()));
    assert_eq!(access.account("EF").unwrap().unwrap().standing(at(23)), "open");
    let again = open(access, ("EF", &code), phrase, at(23));
    assert_eq!(again, Err(NotOpened::Code), "a code opens once");
    assert!(lab.tried("EF", "limestone and clay", "", at(23)).is_ok());
    for _ in 0..5 {
        let _ = open(access, ("CD", "0000-0000-0000"), phrase, at(30));
    }
    let waits = open(access, ("CD", "0000-0000-0000"), phrase, at(30));
    assert!(matches!(waits, Err(NotOpened::Wait(_))), "{waits:?}");
}

#[test]
fn a_reset_ends_everything_and_gives_a_code() {
    let lab = Lab::with_two();
    let came = lab.tried("CD", OTHER, "", at(2)).unwrap();
    let code = lab.access.reset_account("CD", "at the machine", at(3)).unwrap().to_string();
    assert!(lab.session(&came.session, at(3)).is_none());
    assert_eq!(lab.tried("CD", OTHER, "", at(3)), Err(NotIn::Wrong));
    assert_eq!(lab.access.device(&came.device.unwrap(), at(3)).unwrap(), None);
    assert_eq!(open(&lab.access, ("CD", &code), "gabbro and mica", at(4)), Ok(()));
    assert!(lab.tried("CD", "gabbro and mica", "", at(4)).is_ok());
    assert!(lab.access.reset_account("ZZ", "AB", at(3)).is_err());
}

#[test]
fn a_changed_phrase_ends_the_other_sessions() {
    let lab = Lab::with_two();
    let (here, there) =
        (lab.tried("CD", OTHER, "", at(2)).unwrap(), lab.tried("CD", OTHER, "", at(2)).unwrap());
    let session = lab.session(&here.session, at(2)).unwrap();
    lab.access.change_phrase(&session, &Phrase::read("gabbro and mica"), "::1", at(2)).unwrap();
    assert!(lab.session(&here.session, at(2)).is_some());
    assert!(lab.session(&there.session, at(2)).is_none());
    assert_eq!(lab.tried("CD", OTHER, "", at(3)), Err(NotIn::Wrong));
    assert!(lab.tried("CD", "gabbro and mica", "", at(3)).is_ok());
}

#[test]
fn a_closed_account_lets_nobody_in_neither_its_person_nor_their_programs() {
    let lab = Lab::with_two();
    let came = lab.tried("CD", OTHER, "", at(2)).unwrap();
    let new =
        NewToken { name: "bridge", person: "CD", scope: Scope::Read, until: None, made_by: "AB" };
    let (_, token) = lab.access.make_token(&new, at(2)).unwrap();
    lab.access.close_account("CD", "AB", at(3)).unwrap();
    assert!(lab.session(&came.session, at(3)).is_none());
    assert_eq!(lab.tried("CD", OTHER, "", at(3)), Err(NotIn::Wrong));
    assert!(lab.access.bearer(&token, at(3)).unwrap().is_err());
    assert!(lab.access.close_account("CD", "AB", at(3)).is_err(), "closed twice");
    assert_eq!(lab.access.account("CD").unwrap().unwrap().standing(at(3)), "closed");
    // Given again it has a phrase of its own.
    lab.give("CD", "gabbro and mica");
    assert_eq!(lab.tried("CD", OTHER, "", at(4)), Err(NotIn::Wrong));
    assert!(lab.tried("CD", "gabbro and mica", "", at(4)).is_ok());
}

#[test]
fn there_is_always_an_owner() {
    let lab = Lab::with_two();
    let access = &lab.access;
    assert!(access.account("AB").unwrap().unwrap().is_owner);
    assert!(access.close_account("AB", "AB", at(2)).is_err());
    assert!(access.set_owner("AB", false, "AB", at(2)).is_err());
    // An owner who has no phrase yet is none that could do anything.
    access.give_account("EF", true, "AB", at(2)).unwrap();
    assert!(access.close_account("AB", "AB", at(2)).is_err());
    access.set_owner("CD", true, "AB", at(2)).unwrap();
    access.set_owner("AB", false, "CD", at(2)).unwrap();
    access.close_account("AB", "CD", at(2)).unwrap();
    assert!(lab.log().contains(&"owner-changed CD AB is no owner any longer".to_owned()));
}

#[test]
fn everything_is_there_after_a_new_start() {
    let folder = tempfile::tempdir().unwrap();
    let came = {
        let access = Access::open(folder.path()).unwrap();
        first(&access);
        let phrase = Phrase::read(PHRASE);
        let attempt = Attempt {
            person: "AB",
            phrase: &phrase,
            device: "",
            before: "",
            address: "::1",
            browser: "",
        };
        access.sign_in(&attempt, at(0)).unwrap().unwrap()
    };
    let access = Access::open(folder.path()).unwrap();
    assert_eq!(access.session(&came.session, at(1)).unwrap().unwrap().person, "AB");
    assert_eq!(access.verify_log().unwrap(), Ok(2));
}

#[test]
fn the_first_account_wants_the_code_of_the_terminal() {
    let lab = Lab::new();
    let (code, phrase) = (Code::new().unwrap(), Phrase::read(PHRASE));
    for typed in ["", "0000-0000-0000"] {
        let opening = Opening { person: "AB", code: typed, phrase: &phrase, address: "::1" };
        let refused = lab.access.open_first_account(&opening, &code, at(0)).unwrap();
        assert_eq!(refused, Err(NotOpened::Code));
    }
    assert!(!lab.access.has_accounts().unwrap());
    assert_eq!(lab.log(), ["code-refused", "code-refused"]);
}

#[test]
fn who_came_in_by_a_passkey_or_an_organisation_and_left_comes_in_no_more() {
    let lab = Lab::with_two();
    let (session, one, answer) = lab.asks_to_add(at(2));
    assert_eq!(session.means, Some(Means::Phrase));
    assert_eq!(lab.adds(&session, &answer, at(2)), Ok(()));
    let link = |subject: &str| {
        lab.access.link("CD", (ISSUER, subject), ("AB", "10.0.0.66"), at(2)).map_err(|_| ())
    };
    assert_eq!(link("248289761001"), Ok(()));
    let means = |came: SignedIn| lab.session(&came.session, at(3)).unwrap().means;
    assert_eq!(means(lab.comes_by_passkey(&one, &site(), at(3)).unwrap()), Some(Means::Passkey));
    assert_eq!(means(lab.comes_vouched(ISSUER, at(3)).unwrap()), Some(Means::Organisation));
    // Another organisation may have the same mark for somebody else.
    assert_eq!(lab.comes_vouched("https://evil.example", at(3)), Err(NotLinked));
    // The same laboratory under another name: the passkey is none of that name.
    let other = Site { origin: "https://10.0.0.7".to_owned(), name: "10.0.0.7".to_owned() };
    assert_eq!(lab.comes_by_passkey(&one, &other, at(3)).unwrap_err(), Refused::Unknown);

    lab.access.close_account("CD", "AB", at(4)).unwrap();
    assert_eq!(lab.comes_by_passkey(&one, &site(), at(4)).unwrap_err(), Refused::Unknown);
    assert_eq!(lab.comes_vouched(ISSUER, at(4)), Err(NotLinked));
    assert_eq!(link("248289761001"), Err(()), "who has no account is linked to nobody");
    // Given an account again, they begin anew.
    lab.give("CD", OTHER);
    assert_eq!(lab.comes_by_passkey(&one, &site(), at(5)).unwrap_err(), Refused::Unknown);
    assert_eq!(lab.comes_vouched(ISSUER, at(5)), Err(NotLinked));
}

/// Whoever was sent away while their device asked for a finger must leave no key behind.
#[test]
fn in_a_session_that_has_ended_nothing_is_added_and_nothing_signed() {
    let lab = Lab::with_two();
    let (session, one, answer) = lab.asks_to_add(at(2));
    lab.access.reset_account("CD", "AB", at(2)).unwrap();
    assert!(matches!(lab.adds(&session, &answer, at(2)), Err(Refused::NotAdded(_))));
    assert!(lab.access.passkeys("CD").unwrap().is_empty());

    let lab = Lab::with_two();
    let (session, _, answer) = lab.asks_to_add(at(2));
    assert_eq!(lab.adds(&session, &answer, at(2)), Ok(()));
    // A passkey of nobody's proves nothing, nor does one where the session is another's.
    let challenge = lab.asks(Purpose::Prove, &of_session(&session), at(3));
    let answer = KeyUsed::read(&one.answer(&challenge, ORIGIN, NAME)).unwrap();
    let proved = lab.access.prove_by_passkey(&session, &answer, &site(), "10.0.0.66", at(3));
    assert_eq!(proved.unwrap(), Err(Refused::Unknown));
}
