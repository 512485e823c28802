//! Pass phrases: which are taken, and what is kept of them.
//!
//! Length counts, and nothing else is asked of a phrase: no digits, no signs, no change every quarter
//! (NIST SP 800-63B-4, section 3.1.1.2, from memory, unconfirmed). What is kept is an Argon2id hash
//! (RFC 9106) with 19 MiB, 2 passes, 1 lane: the OWASP Password Storage Cheat Sheet's first choice for
//! Argon2id (from memory, unconfirmed), and the default of the library.

use crate::base::{AccessError, random};
use argon2::password_hash::{PasswordHasher, PasswordVerifier};
use argon2::{Algorithm, Argon2, Params, Version};
use std::collections::BTreeSet;
use std::fmt;
use unicode_normalization::UnicodeNormalization;

/// The fewest characters of a phrase. NIST asks for at least 8, or 15 where nothing else is asked;
/// 12 is OWASP ASVS 4.0.3, 2.1.1 (both from memory, unconfirmed).
pub const SHORTEST: usize = 12;
/// The most characters of a phrase; OWASP ASVS 4.0.3, 2.1.2 (from memory, unconfirmed).
pub const LONGEST: usize = 128;
/// Memory in KiB.
const MEMORY_KIB: u32 = 19 * 1024;
/// Passes over the memory.
const PASSES: u32 = 2;
/// Lanes.
const LANES: u32 = 1;
/// What a hash of today's cost begins with.
const TODAY: &str = "$argon2id$v=19$m=19456,t=2,p=1$";
/// A hash of no phrase, with today's cost: what a phrase is compared with where there is no account, so
/// that the answer takes as long as where there is one.
const NOBODYS: &str = "$argon2id$v=19$m=19456,t=2,p=1$AAAAAAAAAAAAAAAAAAAAAA\
                       $AAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAA";

/// Phrases of twelve signs and more that everybody tries first, without their spaces. Our own short
/// list, from memory: it names the kind, and [`Weak::Repeats`] and [`Weak::Runs`] find the rest of it.
const COMMONEST: [&str; 36] = [
    "administrator",
    "changemechangeme",
    "changeme1234",
    "correcthorsebatterystaple",
    "diesistmeinpasswort",
    "footballfootball",
    "geheim123456",
    "iloveyou1234",
    "iloveyouiloveyou",
    "laboratorio123",
    "laboratory123",
    "laboratory2025",
    "laboratory2026",
    "letmein12345",
    "letmeinletmein",
    "motdepasse12",
    "motdepasse123",
    "mypassword123",
    "p@ssw0rd1234",
    "passphrase12",
    "passphrase123",
    "passwort1234",
    "passwort12345",
    "password1234",
    "password12345",
    "password123456",
    "password2025",
    "password2026",
    "qwerty123456",
    "qwertyqwerty",
    "qwertyuiop12",
    "qwertyuiop123",
    "thisismypassword",
    "trustno1trustno1",
    "welcome12345",
    "welcomewelcome",
];
/// Rows of a keyboard and of the alphabet, along which fingers run.
const ROWS: [&str; 6] = [
    "01234567890123456789",
    "98765432109876543210",
    "abcdefghijklmnopqrstuvwxyz",
    "qwertyuiopasdfghjklzxcvbnm",
    "qwertzuiopasdfghjklyxcvbnm",
    "azertyuiopqsdfghjklmwxcvbn",
];

/// Why a phrase is not taken.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Weak {
    /// Fewer than [`SHORTEST`] characters.
    TooShort,
    /// More than [`LONGEST`] characters.
    TooLong,
    /// One of those that everybody tries.
    Commonest,
    /// The same few signs again and again.
    Repeats,
    /// A run along the keyboard or the alphabet.
    Runs,
    /// Little more than the name of the person or the laboratory.
    Names,
}

impl Weak {
    /// What is wrong.
    pub fn in_words(self) -> &'static str {
        match self {
            Self::TooShort => "the pass phrase has fewer than 12 characters",
            Self::TooLong => "the pass phrase has more than 128 characters",
            Self::Commonest => "the pass phrase is one of those that everybody tries first",
            Self::Repeats => "the pass phrase repeats the same few signs",
            Self::Runs => "the pass phrase runs along the keyboard or the alphabet",
            Self::Names => "the pass phrase is little more than a name that everybody here knows",
        }
    }
}

/// A phrase as it was typed, with letters that look alike made one (Unicode NFKC): the same phrase from
/// any keyboard.
#[derive(Clone, PartialEq, Eq)]
pub struct Phrase(String);

impl Phrase {
    /// Reads what was typed. Spaces are part of it, also at its ends.
    pub fn read(typed: &str) -> Self {
        Self(typed.nfkc().collect())
    }

    fn length(&self) -> usize {
        self.0.chars().count()
    }

    /// Whether it can be taken as a new phrase; `names` are those that everybody here knows.
    ///
    /// # Errors
    /// Why it cannot.
    pub fn judge(&self, names: &[&str]) -> Result<(), Weak> {
        match self.length() {
            length if length < SHORTEST => return Err(Weak::TooShort),
            length if length > LONGEST => return Err(Weak::TooLong),
            _ => {}
        }
        let bare = bare(&self.0);
        if COMMONEST.contains(&bare.as_str()) {
            return Err(Weak::Commonest);
        }
        let signs: Vec<char> = bare.chars().collect();
        if is_repeated(&signs) {
            return Err(Weak::Repeats);
        }
        if ROWS.iter().any(|row| runs_along(&signs, row)) {
            return Err(Weak::Runs);
        }
        let names = names.iter().map(|name| self::bare(name)).filter(|name| name.len() > 3);
        let rest = names.fold(bare, |rest, name| rest.replace(&name, ""));
        if rest.chars().count() < SHORTEST / 3 {
            return Err(Weak::Names);
        }
        Ok(())
    }

    /// What is kept of it, in the PHC string format.
    ///
    /// # Errors
    /// When the system gives no random bytes.
    pub fn hashed(&self) -> Result<String, AccessError> {
        let salt = random::<16>()?;
        let failed = |error: &dyn fmt::Display| AccessError::NoChance(error.to_string());
        let params =
            Params::new(MEMORY_KIB, PASSES, LANES, None).map_err(|error| failed(&error))?;
        let hasher = Argon2::new(Algorithm::Argon2id, Version::V0x13, params);
        let hash = hasher.hash_password_with_salt(self.0.as_bytes(), &salt);
        Ok(hash.map_err(|error| failed(&error))?.to_string())
    }

    /// Whether this is the phrase of what was kept. Takes as long where nothing was kept.
    pub fn is(&self, kept: Option<&str>) -> bool {
        let verified =
            Argon2::default().verify_password(self.0.as_bytes(), kept.unwrap_or(NOBODYS));
        verified.is_ok() && kept.is_some() && self.length() <= LONGEST
    }
}

/// Whether what was kept cost less than it would today: it is made anew when the phrase is next given.
pub fn is_of_old_cost(kept: &str) -> bool {
    !kept.starts_with(TODAY)
}

// It is a secret: a log of a structure that holds one must not show it.
impl fmt::Debug for Phrase {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("Phrase(…)")
    }
}

/// A text in small letters, without what stands between them.
fn bare(text: &str) -> String {
    let letters = text.chars().filter(|sign| !sign.is_whitespace() && !"-_.,'’".contains(*sign));
    letters.flat_map(char::to_lowercase).collect()
}

/// The same few signs again and again: `aaaaaaaaaaab`, `abcde1abcde1`.
fn is_repeated(signs: &[char]) -> bool {
    let different: BTreeSet<&char> = signs.iter().collect();
    let longest = signs.len() / 2;
    different.len() < 5
        || (1..=longest.min(6)).any(|block| {
            signs.iter().enumerate().all(|(place, sign)| *sign == signs[place % block])
        })
}

/// Whether all signs, but for two at most, follow each other along a row of keys.
fn runs_along(signs: &[char], row: &str) -> bool {
    let row: Vec<char> = row.chars().collect();
    let follows = |pair: &[char]| row.windows(2).any(|keys| keys == pair);
    let broken = signs.windows(2).filter(|pair| !follows(pair)).count();
    broken <= 2
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn length_is_all_that_is_asked_but_for_what_everybody_tries() {
        let names = ["Ada Brook", "Invented laboratory", "AB"];
        for (typed, judged) in [
            ("eleven sign", Err(Weak::TooShort)),
            ("twelve signs", Ok(())),
            ("granit und nasser Sand", Ok(())),
            ("十二個漢字十二個漢字十二三四", Ok(())),
            ("            ", Err(Weak::Repeats)),
            ("aaaaaaaaaaaaaaaa", Err(Weak::Repeats)),
            ("aaaaaaaaaaab", Err(Weak::Repeats)),
            ("abcde1abcde1", Err(Weak::Repeats)),
            ("123456789012", Err(Weak::Runs)),
            ("0987654321098", Err(Weak::Runs)),
            ("qwertyuiopas", Err(Weak::Runs)),
            ("qwertzuiopas1", Err(Weak::Runs)),
            ("abcdefghijklm!", Err(Weak::Runs)),
            ("Password 1234", Err(Weak::Commonest)),
            ("correct horse battery staple", Err(Weak::Commonest)),
            ("Ada Brook 12", Err(Weak::Names)),
            ("invented laboratory 1", Err(Weak::Names)),
            ("Ada Brook likes wet gravel", Ok(())),
            ("ﬁfteen ﬂat jars", Ok(())),
        ] {
            assert_eq!(Phrase::read(typed).judge(&names), judged, "{typed}");
        }
        let longest = "wet gravel in jar ".repeat(8)[..LONGEST - 1].to_owned();
        assert_eq!(Phrase::read(&format!("{longest}x")).judge(&[]), Ok(()));
        assert_eq!(Phrase::read(&format!("{longest}xy")).judge(&[]), Err(Weak::TooLong));
    }

    #[test]
    fn the_phrase_is_the_same_from_every_keyboard_and_no_other_is() {
        let kept = Phrase::read("caf\u{e9} \u{fb01}ltré au banc").hashed().unwrap();
        assert!(kept.starts_with(TODAY) && !is_of_old_cost(&kept), "{kept}");
        assert!(Phrase::read("cafe\u{301} filtré au banc").is(Some(&kept)), "composed or not");
        assert!(!Phrase::read("cafe filtré au banc").is(Some(&kept)));
        assert!(!Phrase::read("café filtré au banc ").is(Some(&kept)), "a space is a sign");
        assert!(!Phrase::read("").is(Some(&kept)));
        let again = Phrase::read("caf\u{e9} \u{fb01}ltré au banc").hashed().unwrap();
        assert_ne!(kept, again, "salted");
        assert!(is_of_old_cost(&kept.replace("m=19456", "m=4096")));
    }

    /// The comparison with nobody's hash must be a whole one, not one that fails when it is read.
    #[test]
    fn nobodys_hash_is_a_hash_of_todays_cost() {
        use argon2::password_hash::Error;
        let outcome = Argon2::default().verify_password(b"any phrase at all", NOBODYS);
        assert_eq!(outcome, Err(Error::PasswordInvalid));
        assert!(NOBODYS.starts_with(TODAY));
        assert!(!Phrase::read("any phrase at all").is(None));
    }

    #[test]
    fn a_phrase_does_not_show_itself() {
        assert_eq!(format!("{:?}", Phrase::read("twelve signs")), "Phrase(…)");
    }
}
