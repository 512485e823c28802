//! Outside time stamps (RFC 3161): the request that a time-stamping authority answers, as a file, and a
//! first look at its answer. Nothing here asks the network, and nothing here checks the authority's own
//! signature: `openssl ts -verify` does that with the authority's certificate.

use crate::hash::Hash;

/// `SEQUENCE { OID 2.16.840.1.101.3.4.2.1, NULL }`: SHA-256.
const SHA256: [u8; 15] =
    [0x30, 0x0d, 0x06, 0x09, 0x60, 0x86, 0x48, 0x01, 0x65, 0x03, 0x04, 0x02, 0x01, 0x05, 0x00];
const SEQUENCE: u8 = 0x30;
const INTEGER: u8 = 0x02;
const OCTETS: u8 = 0x04;

/// A request to stamp this hash, DER (RFC 3161, section 2.4.1): version 1, the hash, a number used
/// once, and that the answer shall bring the authority's certificate.
pub fn request(of: Hash, once: u64) -> Vec<u8> {
    let imprint = tagged(SEQUENCE, &[&SHA256, &tagged(OCTETS, &[of.as_bytes()])[..]]);
    let once = (once >> 1).to_be_bytes();
    let first = once.iter().position(|byte| *byte != 0).unwrap_or(7);
    // Its first bit is the sign, so a leading one takes a zero before it.
    let digits = &once[first..];
    let sign: &[u8] = if digits[0] & 0x80 == 0 { &[] } else { &[0] };
    tagged(
        SEQUENCE,
        &[
            &tagged(INTEGER, &[&[1]]),
            &imprint,
            &tagged(INTEGER, &[sign, digits]),
            &[0x01, 0x01, 0xff],
        ],
    )
}

/// Whether an answer grants a stamp and speaks of this hash.
///
/// # Errors
/// In words, what it is instead.
pub fn looks_right(answer: &[u8], of: Hash) -> Result<(), &'static str> {
    let not_one = "this is no answer of a time-stamping authority (RFC 3161, DER)";
    let (SEQUENCE, whole, []) = split(answer).ok_or(not_one)? else { return Err(not_one) };
    let (SEQUENCE, status, token) = split(whole).ok_or(not_one)? else { return Err(not_one) };
    let (INTEGER, status, _) = split(status).ok_or(not_one)? else { return Err(not_one) };
    // 0 granted, 1 granted with changes.
    if !matches!(status, [0] | [1]) || token.is_empty() {
        return Err("the authority did not grant the stamp");
    }
    let imprint = tagged(OCTETS, &[of.as_bytes()]);
    if token.windows(imprint.len()).any(|window| window == imprint) {
        Ok(())
    } else {
        Err("the stamp is of something else than the last signature that was to be stamped")
    }
}

fn tagged(tag: u8, parts: &[&[u8]]) -> Vec<u8> {
    let content = parts.concat();
    let length = content.len();
    let mut bytes = vec![tag];
    // What is built here stays below 128 bytes, where the length is one byte.
    bytes.push(u8::try_from(length).unwrap_or(u8::MAX));
    bytes.extend(content);
    bytes
}

/// The first element: its tag, its content, and what comes behind it.
fn split(bytes: &[u8]) -> Option<(u8, &[u8], &[u8])> {
    let (tag, rest) = bytes.split_first()?;
    let (first, rest) = rest.split_first()?;
    let (length, rest) = if first & 0x80 == 0 {
        (usize::from(*first), rest)
    } else {
        let count = usize::from(first & 0x7f);
        if count == 0 || count > 4 || rest.len() < count {
            return None;
        }
        let (digits, rest) = rest.split_at(count);
        (digits.iter().fold(0, |sum, digit| sum << 8 | usize::from(*digit)), rest)
    };
    (rest.len() >= length).then(|| {
        let (content, behind) = rest.split_at(length);
        (*tag, content, behind)
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_request_has_the_form_of_the_standard() {
        let hash = Hash::of(b"stone");
        let bytes = request(hash, u64::MAX);
        let (SEQUENCE, whole, []) = split(&bytes).unwrap() else { panic!("{bytes:?}") };
        let (INTEGER, [1], rest) = split(whole).unwrap() else { panic!("{whole:?}") };
        let (SEQUENCE, imprint, rest) = split(rest).unwrap() else { panic!("{rest:?}") };
        assert_eq!(imprint[..15], SHA256);
        assert_eq!(imprint[17..], *hash.as_bytes());
        let (INTEGER, once, rest) = split(rest).unwrap() else { panic!("{rest:?}") };
        assert_eq!((once.len(), rest), (8, [0x01, 0x01, 0xff].as_slice()));
        assert_eq!(request(hash, 0)[..1], [SEQUENCE]);
    }

    #[test]
    fn an_answer_is_looked_at() {
        let hash = Hash::of(b"stone");
        let answer = |status: u8, of: Hash| {
            let status = tagged(SEQUENCE, &[&tagged(INTEGER, &[&[status]])]);
            let token = tagged(SEQUENCE, &[&tagged(OCTETS, &[of.as_bytes()])]);
            tagged(SEQUENCE, &[&status, &token])
        };
        assert_eq!(looks_right(&answer(0, hash), hash), Ok(()));
        assert_eq!(looks_right(&answer(1, hash), hash), Ok(()));
        assert!(looks_right(&answer(2, hash), hash).unwrap_err().contains("did not grant"));
        let other = looks_right(&answer(0, Hash::of(b"sand")), hash);
        assert!(other.unwrap_err().contains("something else"));
        for junk in [&b""[..], b"\x30", b"\x30\x02\x01\x01", b"\x30\x84\xff\xff\xff\xff", b"<html>"]
        {
            assert!(looks_right(junk, hash).unwrap_err().contains("no answer"), "{junk:?}");
        }
    }
}
