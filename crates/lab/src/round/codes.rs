//! Codes of participants: drawn from a seed, so that the same round always has the same codes,
//! and so that a code says nothing of whose it is.

use crate::code::ParticipantCode;
use rand_xoshiro::Xoshiro256PlusPlus;
use rand_xoshiro::rand_core::{Rng, SeedableRng};
use std::collections::BTreeSet;

/// No vowels, so that no code is a word, and nothing that is taken for a digit.
const LETTERS: &[u8; 18] = b"BCDFGHJKLMNPRTVWXZ";
/// No 0 and 1, which are taken for letters.
const DIGITS: &[u8; 8] = b"23456789";

/// The most participants that one round can have codes for, far below the 20,736 that there are.
pub(crate) const MOST: usize = 2_000;

/// The code of the participant that joined in this place, counted from 0: `KT-47`. No two places
/// below [`MOST`] get the same.
pub fn participant_code(seed: u64, place: usize) -> ParticipantCode {
    let mut stream = Xoshiro256PlusPlus::seed_from_u64(seed);
    let mut drawn = BTreeSet::new();
    loop {
        let code = draw(&mut stream);
        if drawn.insert(code.clone()) && drawn.len() > place.min(MOST) {
            return ParticipantCode::from(code);
        }
    }
}

fn draw(stream: &mut Xoshiro256PlusPlus) -> String {
    // Both lists are far shorter than the range of a draw: that some letters come more often by
    // one part in 10^17 does not matter.
    let mut one_of = |all: &[u8]| {
        let place = stream.next_u64() % all.len() as u64;
        usize::try_from(place).ok().and_then(|place| all.get(place)).copied().unwrap_or(b'B')
    };
    let letters = [one_of(LETTERS), one_of(LETTERS)];
    let digits = [one_of(DIGITS), one_of(DIGITS)];
    let text = |bytes: [u8; 2]| bytes.map(char::from).iter().collect::<String>();
    format!("{}-{}", text(letters), text(digits))
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn a_seed_gives_the_same_codes_on_every_machine() {
        let codes: Vec<String> =
            (0..3).map(|place| participant_code(1097, place).to_string()).collect();
        insta::assert_snapshot!(codes.join(" "));
    }

    proptest! {
        #[test]
        fn no_two_participants_have_one_code(seed in any::<u64>(), many in 2_usize..200) {
            let codes: BTreeSet<_> = (0..many).map(|place| participant_code(seed, place)).collect();
            prop_assert_eq!(codes.len(), many);
            for code in &codes {
                let is_right = code.as_str().len() == 5 && code.as_str().as_bytes()[2] == b'-';
                prop_assert!(is_right, "{}", code);
            }
        }
    }
}
