//! How often a phrase may be tried, and how long to wait after wrong ones.
//!
//! The wait grows with the failures and ends by itself, so nobody is locked out. What is typed at a
//! device that the person has signed in from before is counted by itself: whoever guesses elsewhere
//! does not hinder them, not even from the same address.
//!
//! A try is counted before the phrase is compared, and taken back when it was right: many at once do
//! not slip through. All of it is kept in memory; a new start of the program begins anew, which nobody
//! outside can cause.

use jiff::{SignedDuration, Timestamp};
use std::collections::HashMap;

/// Failures are forgotten when none came for so long.
const FORGOTTEN_AFTER: SignedDuration = SignedDuration::from_hours(1);
/// More than this many counts are never kept: who comes from more addresses is not slowed by more.
const MOST_COUNTS: usize = 50_000;
/// Refusals of one address that are written down in a minute; the rest is only counted.
const MOST_NOTES: u32 = 20;
/// A minute.
const NOTES_PER: SignedDuration = SignedDuration::from_mins(1);

/// Who tries.
#[derive(Debug, Clone, Copy)]
pub struct Asker<'a> {
    /// The person whose phrase is tried; empty for all that there are not.
    pub person: &'a str,
    /// Where from.
    pub address: &'a str,
    /// The device, where this person has signed in from it before.
    pub device: Option<i64>,
}

#[derive(Debug, Clone, PartialEq, Eq, Hash)]
enum Count {
    /// A person at a device that is known.
    Device(String, i64),
    /// A person from an address.
    Pair(String, String),
    /// Everybody from an address.
    Address(String),
    /// A person from all unknown devices together.
    Person(String),
}

impl Count {
    /// How many failures cost nothing, and the longest wait in seconds.
    fn patience(&self) -> (u32, i64) {
        match self {
            Self::Device(..) => (5, 60),
            Self::Pair(..) => (5, 15 * 60),
            Self::Address(_) => (20, 60),
            // A phrase of one person is tried at most 100 times an hour (OWASP ASVS 4.0.3, 2.2.1, from
            // memory, unconfirmed).
            Self::Person(_) => (30, 60),
        }
    }

    fn of(asker: &Asker<'_>) -> Vec<Self> {
        let person = asker.person.to_owned();
        match asker.device {
            Some(device) => vec![Self::Device(person, device)],
            None => vec![
                Self::Pair(person.clone(), asker.address.to_owned()),
                Self::Address(asker.address.to_owned()),
                Self::Person(person),
            ],
        }
    }
}

#[derive(Debug, Clone, Copy)]
struct Tries {
    failures: u32,
    last: Timestamp,
}

impl Tries {
    fn is_forgotten(&self, now: Timestamp) -> bool {
        now.duration_since(self.last) >= FORGOTTEN_AFTER
    }
}

/// The counts of failures.
#[derive(Debug, Default)]
pub struct Limits {
    tries: HashMap<Count, Tries>,
    notes: HashMap<String, Notes>,
}

#[derive(Debug, Clone, Copy)]
struct Notes {
    since: Timestamp,
    written: u32,
    left_out: u32,
}

/// How long to wait after so many failures: a second, then twice as long each time.
fn wait((free, longest): (u32, i64), failures: u32) -> SignedDuration {
    let Some(beyond) = failures.checked_sub(free) else { return SignedDuration::ZERO };
    SignedDuration::from_secs(1_i64.checked_shl(beyond.min(30)).unwrap_or(longest).min(longest))
}

impl Limits {
    /// Whether a phrase may be tried now. If so the try counts as a failure until
    /// [`Limits::was_right`] takes it back.
    ///
    /// # Errors
    /// How long to wait.
    pub fn may_try(&mut self, asker: &Asker<'_>, now: Timestamp) -> Result<(), SignedDuration> {
        let counts = Count::of(asker);
        let left = |count: &Count| {
            let tries = self.tries.get(count).filter(|tries| !tries.is_forgotten(now))?;
            let since = now.duration_since(tries.last);
            // A clock that was set back must not make the wait longer than it is.
            let since = since.max(SignedDuration::ZERO);
            Some(wait(count.patience(), tries.failures) - since)
        };
        let longest = counts.iter().filter_map(left).max().unwrap_or_default();
        if longest > SignedDuration::ZERO {
            return Err(longest);
        }
        self.make_room(now);
        for count in counts {
            let tries = self.tries.entry(count).or_insert(Tries { failures: 0, last: now });
            if tries.is_forgotten(now) {
                tries.failures = 0;
            }
            *tries = Tries { failures: tries.failures.saturating_add(1), last: now };
        }
        Ok(())
    }

    /// The phrase was right: what it was counted for is taken back.
    pub fn was_right(&mut self, asker: &Asker<'_>) {
        for count in Count::of(asker) {
            match count {
                // Their own failures are forgotten.
                Count::Device(..) | Count::Pair(..) => {
                    self.tries.remove(&count);
                }
                // Those of others are not.
                Count::Address(_) | Count::Person(_) => {
                    if let Some(tries) = self.tries.get_mut(&count) {
                        tries.failures = tries.failures.saturating_sub(1);
                    }
                }
            }
        }
    }

    /// Whether a refusal at this address is written down, or only counted: nobody fills the disk by
    /// being refused. Gives how many were left out since the last that was written.
    pub fn is_noted(&mut self, address: &str, now: Timestamp) -> Option<u32> {
        if self.notes.len() >= MOST_COUNTS {
            self.notes.retain(|_, notes| now.duration_since(notes.since) < NOTES_PER);
        }
        let new = Notes { since: now, written: 0, left_out: 0 };
        let notes = self.notes.entry(address.to_owned()).or_insert(new);
        if now.duration_since(notes.since) >= NOTES_PER {
            *notes = Notes { since: now, written: 0, left_out: notes.left_out };
        }
        if notes.written >= MOST_NOTES {
            notes.left_out = notes.left_out.saturating_add(1);
            return None;
        }
        notes.written += 1;
        Some(std::mem::take(&mut notes.left_out))
    }

    fn make_room(&mut self, now: Timestamp) {
        if self.tries.len() < MOST_COUNTS {
            return;
        }
        self.tries.retain(|_, tries| !tries.is_forgotten(now));
        if self.tries.len() >= MOST_COUNTS {
            // The counts of persons are few and protect most.
            self.tries.retain(|count, _| !matches!(count, Count::Pair(..) | Count::Address(_)));
        }
    }
}

/// An address as it is counted: who has one IPv6 address has the other 2⁶⁴ of its network, too.
pub fn counted(address: std::net::IpAddr) -> String {
    match address {
        std::net::IpAddr::V4(v4) => v4.to_string(),
        std::net::IpAddr::V6(v6) => match v6.to_ipv4_mapped() {
            Some(v4) => v4.to_string(),
            None if v6.is_loopback() => v6.to_string(),
            None => {
                let [a, b, c, d, ..] = v6.segments();
                format!("{a:x}:{b:x}:{c:x}:{d:x}::/64")
            }
        },
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const START: &str = "2026-11-26T08:00:00Z";

    fn at(seconds: i64) -> Timestamp {
        START.parse::<Timestamp>().unwrap() + SignedDuration::from_secs(seconds)
    }

    const THIEF: Asker<'_> = Asker { person: "IK", address: "10.0.0.66", device: None };
    const OWN: Asker<'_> = Asker { person: "IK", address: "10.0.0.66", device: Some(7) };

    /// Tries as fast as it is let; gives how many tries there were in so many seconds.
    fn tries_in(limits: &mut Limits, asker: &Asker<'_>, from: i64, seconds: i64) -> usize {
        (from..from + seconds).filter(|second| limits.may_try(asker, at(*second)).is_ok()).count()
    }

    #[test]
    fn the_wait_grows_and_ends_by_itself() {
        let mut limits = Limits::default();
        for _ in 0..5 {
            assert_eq!(limits.may_try(&THIEF, at(0)), Ok(()));
        }
        for (now, left) in [(0, 1), (1, 0), (1, 2), (3, 0), (3, 4), (5, 2), (7, 0), (7, 8)] {
            let wanted = if left == 0 { Ok(()) } else { Err(SignedDuration::from_secs(left)) };
            assert_eq!(limits.may_try(&THIEF, at(now)), wanted, "after {now} s");
        }
        assert_eq!(limits.may_try(&THIEF, at(7 + 3600)), Ok(()), "forgotten after an hour");
        assert_eq!(limits.may_try(&THIEF, at(7 + 3600)), Ok(()));
    }

    #[test]
    fn one_address_gets_few_tries_in_an_hour_and_ten_thousand_addresses_not_many_more() {
        let mut limits = Limits::default();
        let one = tries_in(&mut limits, &THIEF, 0, 3600);
        assert!(one < 20, "{one} tries from one address");
        let mut limits = Limits::default();
        let mut many = 0;
        for second in 0..3600 {
            for n in 0..3 {
                let address = format!("10.{n}.{}.{}", second / 250, second % 250);
                let asker = Asker { address: &address, ..THIEF };
                many += usize::from(limits.may_try(&asker, at(second)).is_ok());
            }
        }
        assert!(many <= 100, "{many} tries from many addresses");
    }

    #[test]
    fn whoever_guesses_elsewhere_does_not_hinder_a_known_device() {
        let mut limits = Limits::default();
        tries_in(&mut limits, &THIEF, 0, 1000);
        assert!(limits.may_try(&THIEF, at(1000)).is_err());
        assert_eq!(limits.may_try(&OWN, at(1000)), Ok(()), "from the same address, too");
        limits.was_right(&OWN);
        assert!(limits.may_try(&THIEF, at(1000)).is_err(), "and the thief still waits");
        // A device can be stolen, too: it is slowed by itself.
        let stolen = tries_in(&mut limits, &OWN, 2000, 3600);
        assert!(stolen <= 70, "{stolen}");
    }

    #[test]
    fn one_person_guessing_slows_their_address_for_others_by_a_minute_at_most() {
        let mut limits = Limits::default();
        for person in 0..50 {
            let person = format!("P{person}");
            let asker = Asker { person: &person, ..THIEF };
            let _ = limits.may_try(&asker, at(0));
        }
        let other = Asker { person: "DO", ..THIEF };
        let left = limits.may_try(&other, at(0)).unwrap_err();
        assert!(left <= SignedDuration::from_secs(60), "{left:?}");
        let elsewhere = Asker { person: "DO", address: "10.0.0.7", device: None };
        assert_eq!(limits.may_try(&elsewhere, at(0)), Ok(()));
    }

    #[test]
    fn what_was_right_does_not_count() {
        let mut limits = Limits::default();
        for second in 0..500 {
            assert_eq!(limits.may_try(&THIEF, at(second)), Ok(()), "{second}");
            limits.was_right(&THIEF);
        }
    }

    #[test]
    fn many_at_once_are_counted_before_they_are_compared() {
        let mut limits = Limits::default();
        let let_through = (0..100).filter(|_| limits.may_try(&THIEF, at(0)).is_ok()).count();
        assert_eq!(let_through, 5);
    }

    #[test]
    fn a_clock_that_is_set_back_makes_nobody_wait_longer() {
        let mut limits = Limits::default();
        while limits.may_try(&THIEF, at(10_000)).is_ok() {}
        let left = limits.may_try(&THIEF, at(0)).unwrap_err();
        assert!(left <= SignedDuration::from_mins(15), "{left:?}");
    }

    #[test]
    fn refusals_do_not_fill_the_disk_and_none_goes_uncounted() {
        let mut limits = Limits::default();
        let written = (0..100).filter(|_| limits.is_noted("10.0.0.66", at(0)).is_some()).count();
        assert_eq!(written, 20);
        assert_eq!(limits.is_noted("10.0.0.7", at(0)), Some(0));
        assert_eq!(limits.is_noted("10.0.0.66", at(60)), Some(80));
        assert_eq!(limits.is_noted("10.0.0.66", at(61)), Some(0));
    }

    #[test]
    fn addresses_of_one_network_are_counted_as_one() {
        for (address, counts) in [
            ("192.0.2.7", "192.0.2.7"),
            ("::ffff:192.0.2.7", "192.0.2.7"),
            ("::1", "::1"),
            ("2001:db8:1:2:3:4:5:6", "2001:db8:1:2::/64"),
            ("2001:db8:1:2:ffff::", "2001:db8:1:2::/64"),
        ] {
            assert_eq!(counted(address.parse().unwrap()), counts);
        }
    }
}
