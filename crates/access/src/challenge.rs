//! Questions that are answered once, by whoever was asked, and soon: the challenge that an authenticator
//! signs, the state with which an organisation sends a browser back.
//!
//! They are kept in memory: whoever asked before the program was started anew asks again.

use crate::webauthn::Fault;
use jiff::{SignedDuration, Timestamp};
use std::collections::HashMap;

/// How long somebody may take to find their key and touch it (WebAuthn, 15.1 recommends five minutes).
pub const ANSWERED_WITHIN: SignedDuration = SignedDuration::from_mins(5);
/// Open ones of one address: the oldest goes for a new one.
const MOST_OF_AN_ADDRESS: usize = 20;
/// All open ones.
const MOST: usize = 10_000;

/// What is asked for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Purpose {
    /// A new passkey.
    Add,
    /// Coming in.
    SignIn,
    /// Showing again who one is, to sign.
    Prove,
}

#[derive(Debug)]
struct Open<T> {
    purpose: Purpose,
    holder: String,
    address: String,
    until: Timestamp,
    with: T,
}

/// The questions that wait for an answer, each with what must be remembered until then.
#[derive(Debug)]
pub(crate) struct Challenges<T = ()> {
    open: HashMap<[u8; 32], Open<T>>,
}

impl<T> Default for Challenges<T> {
    fn default() -> Self {
        Self { open: HashMap::new() }
    }
}

impl<T> Challenges<T> {
    /// Keeps one that was drawn for whoever holds this.
    pub(crate) fn keep(
        &mut self,
        challenge: [u8; 32],
        purpose: Purpose,
        (holder, address): (&str, &str),
        with: T,
        now: Timestamp,
    ) {
        self.open.retain(|_, open| open.until > now);
        let same = self.open.values().filter(|open| open.address == address).count();
        let goes = |open: &Open<T>| match same >= MOST_OF_AN_ADDRESS {
            true => open.address == address,
            false => self.open.len() >= MOST,
        };
        let oldest = self.open.iter().filter(|(_, open)| goes(open));
        let oldest = oldest.min_by_key(|(_, open)| open.until).map(|(challenge, _)| *challenge);
        if let Some(oldest) = oldest {
            self.open.remove(&oldest);
        }
        let until = now.checked_add(ANSWERED_WITHIN).unwrap_or(now);
        let (holder, address) = (holder.to_owned(), address.to_owned());
        self.open.insert(challenge, Open { purpose, holder, address, until, with });
    }

    /// Takes one: it is good for nothing afterwards, whatever becomes of the answer.
    pub(crate) fn take(
        &mut self,
        challenge: &[u8],
        purpose: Purpose,
        holder: &str,
        now: Timestamp,
    ) -> Result<([u8; 32], T), Fault> {
        let key: [u8; 32] = challenge.try_into().map_err(|_| Fault::Challenge)?;
        let open = self.open.remove(&key).ok_or(Fault::Challenge)?;
        let is_good = open.purpose == purpose && open.holder == holder && open.until > now;
        if is_good && !holder.is_empty() { Ok((key, open.with)) } else { Err(Fault::Challenge) }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn at(seconds: i64) -> Timestamp {
        Timestamp::UNIX_EPOCH + SignedDuration::from_secs(seconds)
    }

    fn with_one() -> Challenges {
        let mut challenges = Challenges::default();
        challenges.keep([7; 32], Purpose::SignIn, ("a browser", "10.0.0.7"), (), at(0));
        challenges
    }

    #[test]
    fn it_is_answered_once_by_whoever_was_asked_in_time_and_for_what_it_was_asked() {
        let good = (Purpose::SignIn, "a browser", 299);
        for ((purpose, holder, second), is_taken) in [
            (good, true),
            ((Purpose::Prove, good.1, good.2), false),
            ((good.0, "another browser", good.2), false),
            ((good.0, "", good.2), false),
            ((good.0, good.1, 300), false),
        ] {
            let mut challenges = with_one();
            let taken = challenges.take(&[7; 32], purpose, holder, at(second));
            assert_eq!(taken.is_ok(), is_taken, "{purpose:?} {holder} {second}");
            let again = challenges.take(&[7; 32], good.0, good.1, at(1));
            assert_eq!(again, Err(Fault::Challenge), "it was used up by the first answer");
        }
        assert_eq!(with_one().take(&[8; 32], good.0, good.1, at(1)), Err(Fault::Challenge));
        assert_eq!(with_one().take(&[7; 31], good.0, good.1, at(1)), Err(Fault::Challenge));
    }

    #[test]
    fn who_asks_again_and_again_drives_out_their_own_only() {
        let mut challenges = with_one();
        for number in 0..200_u8 {
            let mut challenge = [0; 32];
            challenge[0] = number;
            challenges.keep(challenge, Purpose::SignIn, ("x", "10.0.0.66"), (), at(1));
        }
        assert_eq!(challenges.open.len(), 1 + MOST_OF_AN_ADDRESS);
        assert!(challenges.take(&[7; 32], Purpose::SignIn, "a browser", at(2)).is_ok());
    }
}
