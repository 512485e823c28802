//! Each check of 7.1 and 7.2, by an answer that is right but for the one thing that it looks at.

use super::*;
use ciborium::Value;
use serde_json::json;

#[path = "../../tests/support/authenticator.rs"]
mod authenticator;
use authenticator::{Authenticator, THERE_AND_VERIFIED, cbor};

const CHALLENGE: [u8; 32] = [42; 32];
const ORIGIN: &str = "https://lab.example.org";
const NAME: &str = "lab.example.org";
const EXPECTED: Expected<'static> = Expected { challenge: &CHALLENGE, origin: ORIGIN, name: NAME };

fn makes(one: &Authenticator) -> Result<Made, Fault> {
    made(&KeyMade::read(&one.make(&CHALLENGE, ORIGIN, NAME)).unwrap(), &EXPECTED)
}

fn known(one: &Authenticator) -> Made {
    Made { key: one.cose(), id: one.id.clone(), counter: 5, may_be_copied: false }
}

fn answers_with(one: &Authenticator, known: &Made) -> Result<u32, Fault> {
    let answer = KeyUsed::read(&one.answer(&CHALLENGE, ORIGIN, NAME)).unwrap();
    let known =
        Known { key: &known.key, counter: known.counter, may_be_copied: known.may_be_copied };
    used(&answer, &EXPECTED, &known)
}

fn answers(one: &Authenticator) -> Result<u32, Fault> {
    answers_with(one, &known(one))
}

#[test]
fn a_key_that_was_made_is_used() {
    for one in [Authenticator::p256(), Authenticator::ed25519()] {
        let kept = makes(&one).unwrap();
        assert_eq!((&kept.id, &kept.key), (&one.id, &one.cose()));
        assert_eq!(answers_with(&one, &kept), Ok(0), "one that does not count");
        let counting = Authenticator { counter: 6, ..one };
        assert_eq!(answers_with(&counting, &kept), Ok(6));
    }
}

#[test]
fn what_the_browser_says_must_answer_to_what_was_asked() {
    for (name, value, fault) in [
        ("type", json!("webauthn.create"), Fault::Kind),
        ("type", json!("payment.get"), Fault::Kind),
        ("challenge", json!("AAAA"), Fault::Challenge),
        ("challenge", json!("not base64url!"), Fault::Unreadable),
        ("challenge", json!(7), Fault::Unreadable),
        ("origin", json!("https://evil.example"), Fault::Origin),
        ("origin", json!("http://lab.example.org"), Fault::Origin),
        ("origin", json!("https://lab.example.org:8443"), Fault::Origin),
        ("origin", json!("https://lab.example.org.evil.example"), Fault::Origin),
        ("crossOrigin", json!(true), Fault::Origin),
        ("topOrigin", json!("https://evil.example"), Fault::Origin),
    ] {
        let says = vec![(name, value.clone())];
        assert_eq!(answers(&counting(says)), Err(fault), "{name} {value}");
    }
    for (name, value, fault) in [
        ("type", json!("webauthn.get"), Fault::Kind),
        ("challenge", json!("AAAA"), Fault::Challenge),
        ("origin", json!("https://evil.example"), Fault::Origin),
    ] {
        let one = Authenticator { says: vec![(name, value)], ..Authenticator::p256() };
        assert_eq!(makes(&one), Err(fault), "{name}");
    }
    // What browsers add is left alone.
    let more = vec![("other_keys_can_be_added_here", json!("do not compare"))];
    assert_eq!(answers(&counting(more)), Ok(6));
}

fn counting(says: Vec<(&'static str, serde_json::Value)>) -> Authenticator {
    Authenticator { counter: 6, says, ..Authenticator::p256() }
}

#[test]
fn the_authenticator_must_be_asked_for_this_name_and_have_looked_at_its_person() {
    let one = counting(Vec::new());
    let other = KeyUsed::read(&one.answer(&CHALLENGE, ORIGIN, "evil.example")).unwrap();
    let kept = known(&one);
    let of = Known { key: &kept.key, counter: 5, may_be_copied: false };
    assert_eq!(used(&other, &EXPECTED, &of), Err(Fault::Name));
    for (flags, may_be_copied, expected) in [
        (0b0_0000, false, Err(Fault::NobodyThere)),
        (0b0_0100, false, Err(Fault::NobodyThere)),
        (0b0_0001, false, Err(Fault::NotVerified)),
        (0b0_0101, false, Ok(6)),
        // Is copied, and may not be.
        (0b1_0101, false, Err(Fault::Copies)),
        // May be copied now, and could not before; and the other way round.
        (0b0_1101, false, Err(Fault::Copies)),
        (0b0_0101, true, Err(Fault::Copies)),
        (0b0_1101, true, Ok(6)),
        (0b1_1101, true, Ok(6)),
    ] {
        let one = Authenticator { flags, ..counting(Vec::new()) };
        let kept = Made { may_be_copied, ..known(&one) };
        assert_eq!(answers_with(&one, &kept), expected, "{flags:b} {may_be_copied}");
        let fault = match expected {
            Err(fault @ (Fault::NobodyThere | Fault::NotVerified)) => Some(fault),
            _ if flags == 0b1_0101 => Some(Fault::Copies),
            _ => None,
        };
        assert_eq!(makes(&one).err(), fault, "{flags:b}");
    }
}

#[test]
fn a_counter_that_does_not_grow_shows_a_copy() {
    for (before, now, expected) in [
        (0, 0, Ok(0)),
        (0, 1, Ok(1)),
        (5, 6, Ok(6)),
        (5, 5, Err(Fault::Counter)),
        (5, 4, Err(Fault::Counter)),
        (5, 0, Err(Fault::Counter)),
        (u32::MAX, 0, Err(Fault::Counter)),
    ] {
        let one = Authenticator { counter: now, ..Authenticator::p256() };
        let kept = Made { counter: before, ..known(&one) };
        assert_eq!(answers_with(&one, &kept), expected, "{before} {now}");
    }
}

#[test]
fn no_byte_of_an_answer_can_be_changed() {
    for one in [Authenticator::p256(), Authenticator::ed25519()] {
        let one = Authenticator { counter: 6, ..one };
        let right = KeyUsed::read(&one.answer(&CHALLENGE, ORIGIN, NAME)).unwrap();
        let kept = known(&one);
        let of = Known { key: &kept.key, counter: 5, may_be_copied: false };
        assert_eq!(used(&right, &EXPECTED, &of), Ok(6));
        type Part = fn(&mut KeyUsed) -> &mut Vec<u8>;
        let parts: [Part; 3] = [|a| &mut a.client, |a| &mut a.authenticator, |a| &mut a.signature];
        for part in parts {
            for place in 0..part(&mut right.clone()).len() {
                let mut answer = right.clone();
                part(&mut answer)[place] ^= 1;
                assert!(used(&answer, &EXPECTED, &of).is_err(), "{place}");
                let mut answer = right.clone();
                part(&mut answer).remove(place);
                assert!(used(&answer, &EXPECTED, &of).is_err(), "{place}");
            }
            let mut answer = right.clone();
            part(&mut answer).push(0);
            assert!(used(&answer, &EXPECTED, &of).is_err());
        }
        let stranger = known(&Authenticator::p256());
        let of = Known { key: &stranger.key, counter: 5, may_be_copied: false };
        assert_eq!(used(&right, &EXPECTED, &of), Err(Fault::Signature), "the key of another");
    }
}

#[test]
fn a_new_key_must_be_whole_and_of_a_kind_that_was_asked_for() {
    let one = Authenticator::p256();
    let number = |number: i64| Value::from(number);
    let with = |label: i64, value: Option<Value>| {
        let mut rest = &one.cose()[..];
        let mut entries = key::map(&mut rest).unwrap();
        entries.retain(|(known, _)| *known != number(label));
        entries.extend(value.map(|value| (number(label), value)));
        cbor(&Value::Map(entries))
    };
    let tried = |cose: &[u8]| {
        let client = one.client("webauthn.create", &CHALLENGE, ORIGIN);
        let attestation = attested("none", one.data(NAME, Some(cose)));
        made(&KeyMade { client, attestation }, &EXPECTED).map(|made| made.key)
    };
    assert_eq!(tried(&one.cose()), Ok(one.cose()));
    for (label, value, fault) in [
        (3, Some(number(-257)), Fault::Unreadable),
        (3, Some(number(-8)), Fault::Unreadable),
        (3, Some(number(-35)), Fault::Algorithm),
        (3, Some(number(-65_535)), Fault::Algorithm),
        (3, None, Fault::Unreadable),
        (1, Some(number(1)), Fault::Unreadable),
        (1, None, Fault::Unreadable),
        (-1, Some(number(2)), Fault::Unreadable),
        (-2, Some(Value::Bytes(vec![1; 31])), Fault::Unreadable),
        (-2, Some(Value::from("text")), Fault::Unreadable),
        (-3, Some(Value::Bool(true)), Fault::Unreadable),
        (-3, None, Fault::Unreadable),
    ] {
        assert_eq!(tried(&with(label, value.clone())), Err(fault), "{label} {value:?}");
    }
    // A key twice in the map, nothing at all, no map, and something behind it.
    let twice = [&[0xa6, 0x01, 0x02][..], &one.cose()[1..]].concat();
    for cose in [&twice[..], &[], &[0x01], &[&one.cose()[..], &[0x00]].concat()] {
        assert_eq!(tried(cose), Err(Fault::Unreadable), "{cose:?}");
    }
    let deep: Vec<u8> = [&[0xa1, 0x01][..], &[0x81; 4000], &[0x01]].concat();
    assert_eq!(tried(&deep), Err(Fault::Unreadable));
}

fn attested(format: &str, data: Vec<u8>) -> Vec<u8> {
    cbor(&Value::Map(vec![
        (Value::from("fmt"), Value::from(format)),
        (Value::from("attStmt"), Value::Map(Vec::new())),
        (Value::from("authData"), Value::Bytes(data)),
    ]))
}

#[test]
fn extensions_are_read_over_and_nothing_else_stands_behind() {
    let extensions = cbor(&Value::Map(vec![(Value::from("credProps"), Value::Bool(true))]));
    let with = |flags: u8, more: &[u8]| Authenticator {
        flags: THERE_AND_VERIFIED | flags,
        more: more.to_vec(),
        ..Authenticator::p256()
    };
    assert!(makes(&with(1 << 7, &extensions)).is_ok());
    assert_eq!(makes(&with(0, &extensions)), Err(Fault::Unreadable));
    assert_eq!(makes(&with(1 << 7, &[])), Err(Fault::Unreadable));
    assert_eq!(makes(&with(1 << 7, &[0x01])), Err(Fault::Unreadable));
    let long = Authenticator { id: vec![1; 1024], ..Authenticator::p256() };
    assert_eq!(makes(&long), Err(Fault::Unreadable));
    let none = Authenticator { id: Vec::new(), ..Authenticator::p256() };
    assert_eq!(makes(&none), Err(Fault::Unreadable));
    // A use that brings no key makes none.
    let one = Authenticator::p256();
    let client = one.client("webauthn.create", &CHALLENGE, ORIGIN);
    let attestation = attested("none", one.data(NAME, None));
    assert_eq!(made(&KeyMade { client, attestation }, &EXPECTED), Err(Fault::Unreadable));
}

#[test]
fn only_a_key_that_says_nothing_or_vouches_for_itself_is_taken() {
    let mut one = Authenticator::p256();
    let client = one.client("webauthn.create", &CHALLENGE, ORIGIN);
    let data = one.data(NAME, Some(&one.cose()));
    let signature = one.sign(&[&data[..], digest(&SHA256, &client).as_ref()].concat());
    let statement = |alg: i64, signature: &[u8]| {
        vec![
            (Value::from("alg"), Value::from(alg)),
            (Value::from("sig"), Value::Bytes(signature.to_vec())),
        ]
    };
    let certified =
        [statement(-7, &signature), vec![(Value::from("x5c"), Value::Array(Vec::new()))]].concat();
    for (format, statement, is_taken) in [
        ("none", Vec::new(), true),
        ("none", statement(-7, &signature), false),
        ("packed", statement(-7, &signature), true),
        ("packed", statement(-8, &signature), false),
        ("packed", statement(-7, &signature[1..]), false),
        ("packed", Vec::new(), false),
        ("packed", certified, false),
        ("fido-u2f", statement(-7, &signature), false),
        ("tpm", Vec::new(), false),
    ] {
        one.attests = Some((format, statement));
        let expected = if is_taken { None } else { Some(Fault::Attestation) };
        assert_eq!(makes(&one).err(), expected, "{format}");
    }
}

#[test]
fn what_a_page_sends_is_five_parts_or_two() {
    let one = Authenticator::p256();
    let (made, used) = (one.make(&CHALLENGE, ORIGIN, NAME), one.answer(&CHALLENGE, ORIGIN, NAME));
    assert!(KeyMade::read(&made).is_ok() && KeyUsed::read(&used).is_ok());
    for sent in
        ["", ".", "a.b.c", "====", "AA.AA.AA.AA.AA.AA", "AA=.AA.AA.AA.AA", &"A".repeat(20_000)]
    {
        assert_eq!(
            KeyMade::read(sent).and(KeyUsed::read(sent).map(|_| ())),
            Err(Fault::Unreadable)
        );
    }
    assert!(KeyMade::read(&used).is_err() && KeyUsed::read(&made).is_err());
}
