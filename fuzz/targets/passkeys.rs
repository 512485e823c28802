//! What a browser sends of a passkey, and what an organisation sends of a person: read and judged.
#![no_main]

use jiff::Timestamp;
use libfuzzer_sys::fuzz_target;
use stonewear_access::openid::{self, Keys, Provider};
use stonewear_access::webauthn::{self, KeyMade, KeyUsed, Known};

fuzz_target!(|sent: &[u8]| {
    let Some((which, sent)) = sent.split_first() else { return };
    let expected = webauthn::Expected {
        challenge: &[0; 32],
        origin: "https://lab.example.org",
        name: "lab.example.org",
    };
    let known = |key| Known { key, counter: 1, may_be_copied: false };
    match which % 6 {
        0 => {
            let text = String::from_utf8_lossy(sent);
            if let Ok(answer) = KeyMade::read(&text) {
                let _ = webauthn::made(&answer, &expected);
            }
            if let Ok(answer) = KeyUsed::read(&text) {
                let used = webauthn::used(&answer, &expected, &known(&answer.id));
                assert!(used.is_err(), "nobody signs with a key that was never made");
            }
        }
        // Past the text, so that what lies within it is reached sooner.
        1 => {
            let client = br#"{"type":"webauthn.create","challenge":"AAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAA","origin":"https://lab.example.org"}"#;
            let answer = KeyMade { client: client.to_vec(), attestation: sent.to_vec() };
            if let Ok(made) = webauthn::made(&answer, &expected) {
                assert!(!made.id.is_empty() && made.id.len() <= 1023);
            }
        }
        2 => {
            let _ = webauthn::challenge_of(sent);
        }
        3 => {
            let expected = openid::Expected {
                issuer: "https://login.example.org",
                client: "stonewear",
                nonce: "n",
                again_since: None,
            };
            let token = String::from_utf8_lossy(sent);
            let judged = openid::judge(&token, &Keys::default(), &expected, Timestamp::UNIX_EPOCH);
            assert!(judged.is_err(), "nobody is vouched for without a key");
        }
        4 => {
            let _ = Keys::read(sent);
            let _ = Provider::read(sent, "https://login.example.org");
        }
        _ => {
            let _ = openid::read_state(&String::from_utf8_lossy(sent));
        }
    }
});
