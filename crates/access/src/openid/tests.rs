//! Each check of a token, by one that is right but for the one thing that it looks at.

use super::*;
use serde_json::{Value, json};

#[path = "../../tests/support/provider.rs"]
mod provider;
use provider::{Signer, text, written};

const NOW: i64 = 1_795_000_000;
const EXPECTED: Expected<'static> = Expected {
    issuer: "https://login.example.org",
    client: "stonewear",
    nonce: "n-0S6_WzA2Mj",
    again_since: None,
};

fn now() -> Timestamp {
    Timestamp::from_second(NOW).unwrap()
}

fn claims() -> Value {
    json!({
        "iss": EXPECTED.issuer,
        "sub": "248289761001",
        "aud": "stonewear",
        "exp": NOW + 300,
        "iat": NOW - 1,
        "auth_time": NOW - 2,
        "nonce": EXPECTED.nonce,
    })
}

fn keys(signers: &[&Signer]) -> Keys {
    let keys: Vec<Value> =
        (1..).zip(signers).map(|(number, signer)| signer.jwk(&format!("k{number}"))).collect();
    Keys::read(json!({ "keys": keys }).to_string().as_bytes()).unwrap()
}

/// Judges a token whose claims were changed; nothing stands for a claim that is not there.
fn with(changes: &[(&str, Value)]) -> Result<Vouched, Fault> {
    let signer = Signer::ed25519();
    let mut claims = claims();
    for (name, value) in changes {
        if value.is_null() {
            claims.as_object_mut().unwrap().remove(*name);
        } else {
            claims[*name] = value.clone();
        }
    }
    judge(&signer.token("k1", &claims), &keys(&[&signer]), &EXPECTED, now())
}

#[test]
fn every_kind_of_key_that_is_taken_vouches() {
    for signer in [Signer::rsa(), Signer::p256(), Signer::ed25519()] {
        let vouched = judge(&signer.token("k1", &claims()), &keys(&[&signer]), &EXPECTED, now());
        let at = Timestamp::from_second(NOW - 2).ok();
        let subject = "248289761001".to_owned();
        assert_eq!(vouched, Ok(Vouched { subject, at }), "{}", signer.algorithm());
    }
}

/// RFC 7515, A.3 (ES256) and RFC 8037, A.4 (EdDSA).
#[test]
fn published_signatures_are_verified() {
    for (jwk, signed, signature) in [
        (
            json!({ "kty": "EC", "crv": "P-256",
                "x": "f83OJ3D2xF1Bg8vub9tLe1gHMzV76e8Tus9uPHvRVEU",
                "y": "x_FEzRu9m36HLN_tue659LNpXW6pCyStikYjKIWI5a0" }),
            "eyJhbGciOiJFUzI1NiJ9.eyJpc3MiOiJqb2UiLA0KICJleHAiOjEzMDA4MTkzODAsDQogImh0dHA6Ly9leGFt\
             cGxlLmNvbS9pc19yb290Ijp0cnVlfQ",
            "DtEhU3ljbEg8L38VWAfUAqOyKAM6-Xx-F4GawxaepmXFCgfTjDxw5djxLa8ISlSApmWQxfKTUJqPP3-Kg6NU1Q",
        ),
        (
            json!({ "kty": "OKP", "crv": "Ed25519",
                "x": "11qYAYKxCrfVS_7TyWQHOg7hcvPapiMlrwIaaPcHURo" }),
            "eyJhbGciOiJFZERTQSJ9.RXhhbXBsZSBvZiBFZDI1NTE5IHNpZ25pbmc",
            "hgyY0il_MGCjP0JzlnLWG1PPOt7-09PGcvMg3AIbQR6dWbhijcNR4ki4iylGjg5BhVsPt9g7sVvpAr_MuM0KAg",
        ),
    ] {
        let (_, key) = key(&jwk).unwrap();
        let signature = decoded(signature).unwrap();
        assert!(key.verifies(signed.as_bytes(), &signature, Written::Fixed), "{jwk}");
        assert!(!key.verifies(&signed.as_bytes()[1..], &signature, Written::Fixed), "{jwk}");
    }
}

#[test]
fn it_is_from_the_organisation_for_this_program_and_to_this_question() {
    let evil = json!("https://evil.example");
    for (changes, expected) in [
        (vec![("iss", evil)], Err(Fault::Issuer)),
        (vec![("iss", json!("https://login.example.org/"))], Err(Fault::Issuer)),
        (vec![("iss", Value::Null)], Err(Fault::Unreadable)),
        (vec![("aud", json!("other"))], Err(Fault::Audience)),
        (vec![("aud", json!([]))], Err(Fault::Audience)),
        (vec![("aud", json!(["other"]))], Err(Fault::Audience)),
        (vec![("aud", json!(["stonewear"]))], Ok(())),
        (vec![("aud", json!(["stonewear", "other"]))], Err(Fault::Audience)),
        (vec![("aud", json!(["stonewear", "other"])), ("azp", json!("stonewear"))], Ok(())),
        (vec![("azp", json!("other"))], Err(Fault::Audience)),
        (vec![("aud", json!(7))], Err(Fault::Unreadable)),
        (vec![("nonce", json!("another"))], Err(Fault::Nonce)),
        (vec![("nonce", Value::Null)], Err(Fault::Nonce)),
        (vec![("sub", Value::Null)], Err(Fault::Unreadable)),
        (vec![("sub", json!(""))], Err(Fault::Unreadable)),
        (vec![("sub", json!("é"))], Err(Fault::Unreadable)),
        (vec![("sub", json!("x".repeat(256)))], Err(Fault::Unreadable)),
        (vec![("more", json!({ "a": 1 }))], Ok(())),
    ] {
        assert_eq!(with(&changes).map(|_| ()), expected, "{changes:?}");
    }
}

#[test]
fn it_was_said_just_now_and_holds_still() {
    for (name, value, expected) in [
        ("exp", json!(NOW - 59), Ok(())),
        ("exp", json!(NOW - 60), Err(Fault::Old)),
        ("exp", json!(NOW as f64 + 0.5), Ok(())),
        ("exp", json!((NOW + 300).to_string()), Err(Fault::Unreadable)),
        ("exp", json!(1e300), Err(Fault::Unreadable)),
        ("exp", Value::Null, Err(Fault::Unreadable)),
        ("iat", json!(NOW + 60), Ok(())),
        ("iat", json!(NOW + 61), Err(Fault::Early)),
        ("iat", json!(NOW - 600), Ok(())),
        ("iat", json!(NOW - 601), Err(Fault::Old)),
        ("iat", Value::Null, Err(Fault::Unreadable)),
        ("auth_time", json!(NOW + 61), Err(Fault::Early)),
        ("auth_time", Value::Null, Ok(())),
    ] {
        assert_eq!(with(&[(name, value.clone())]).map(|_| ()), expected, "{name} {value}");
    }
}

#[test]
fn to_sign_somebody_must_have_signed_in_there_anew() {
    let since = Some(now());
    let signer = Signer::ed25519();
    for (auth_time, expected) in [
        (json!(NOW + 5), Ok(())),
        (json!(NOW - 60), Ok(())),
        (json!(NOW - 61), Err(Fault::NotAgain)),
        (Value::Null, Err(Fault::NotAgain)),
    ] {
        let mut claims = claims();
        claims["auth_time"] = auth_time.clone();
        let token = signer.token("k1", &claims);
        let expects = Expected { again_since: since, ..EXPECTED };
        let judged = judge(&token, &keys(&[&signer]), &expects, now());
        assert_eq!(judged.map(|_| ()), expected, "{auth_time}");
    }
}

#[test]
fn only_the_key_that_is_published_for_it_verifies() {
    let (rsa, p256, edwards) = (Signer::rsa(), Signer::p256(), Signer::ed25519());
    let all = keys(&[&rsa, &p256, &edwards]);
    let judged = |token: &str| judge(token, &all, &EXPECTED, now()).err();
    let head = |alg: &str, kid: &str| json!({ "alg": alg, "kid": kid });
    assert_eq!(judged(&edwards.token("k3", &claims())), None);
    // Not signed at all, in every way that it is written.
    for alg in ["none", "None", "NONE", "", "HS256", "RS384", "PS256", "ES384"] {
        let token = edwards.token_with(&head(alg, "k3"), &claims());
        assert_eq!(judged(&token), Some(Fault::Algorithm), "{alg}");
    }
    let bare = format!("{}.{}.", text(&json!({ "alg": "none" })), text(&claims()));
    assert_eq!(judged(&bare), Some(Fault::Algorithm));
    let bare = format!("{}.{}.", text(&head("EdDSA", "k3")), text(&claims()));
    assert_eq!(judged(&bare), Some(Fault::Signature));
    // One kind of key for another algorithm, a key that nobody publishes, and the key of another.
    assert_eq!(judged(&edwards.token_with(&head("RS256", "k3"), &claims())), Some(Fault::Key));
    assert_eq!(
        judged(&edwards.token_with(&head("ES256", "k2"), &claims())),
        Some(Fault::Signature)
    );
    assert_eq!(judged(&edwards.token("k9", &claims())), Some(Fault::Key));
    let stranger = Signer::ed25519();
    assert_eq!(judged(&stranger.token("k3", &claims())), Some(Fault::Signature));
    // Without a name the only key of its kind is meant; of two none is.
    let nameless = edwards.token_with(&json!({ "alg": "EdDSA" }), &claims());
    assert_eq!(judged(&nameless), None);
    let two = keys(&[&edwards, &stranger]);
    assert_eq!(judge(&nameless, &two, &EXPECTED, now()).err(), Some(Fault::Key));
    let critical = json!({ "alg": "EdDSA", "kid": "k3", "crit": ["exp"] });
    assert_eq!(judged(&edwards.token_with(&critical, &claims())), Some(Fault::Algorithm));
}

#[test]
fn no_sign_of_a_token_can_be_changed() {
    for signer in [Signer::rsa(), Signer::p256(), Signer::ed25519()] {
        let (token, keys) = (signer.token("k1", &claims()), keys(&[&signer]));
        for place in 0..token.len() {
            let mut changed = token.clone().into_bytes();
            changed[place] = if changed[place] == b'A' { b'B' } else { b'A' };
            let changed = String::from_utf8(changed).unwrap();
            assert!(judge(&changed, &keys, &EXPECTED, now()).is_err(), "{place}: {changed}");
        }
        for changed in
            [&token[1..], &token[..token.len() - 1], &format!("{token}."), "", "..", "a.b.c"]
        {
            assert!(judge(changed, &keys, &EXPECTED, now()).is_err(), "{changed}");
        }
    }
}

#[test]
fn keys_for_other_uses_are_left_out() {
    let signer = Signer::p256();
    let token = signer.token("k1", &claims());
    for (name, value, is_used) in [
        ("use", json!("sig"), true),
        ("use", json!("enc"), false),
        ("alg", json!("ES256"), true),
        ("alg", json!("RS256"), false),
        ("crv", json!("P-384"), false),
        ("kty", json!("oct"), false),
        ("x", json!(written(&[1; 31])), false),
        ("y", json!(7), false),
    ] {
        let mut jwk = signer.jwk("k1");
        jwk[name] = value.clone();
        let set = json!({ "keys": ["no key", jwk, { "kty": "oct", "k": "AAAA" }] });
        let keys = Keys::read(set.to_string().as_bytes()).unwrap();
        let judged = judge(&token, &keys, &EXPECTED, now());
        assert_eq!(judged.is_ok(), is_used, "{name} {value}: {judged:?}");
    }
    let short = json!({ "kty": "RSA", "n": written(&[255; 128]), "e": "AQAB" });
    assert_eq!(key(&short), None, "1024 bits");
    for none in ["", "[]", "{}", "{\"keys\":7}"] {
        assert_eq!(Keys::read(none.as_bytes()), Err(Fault::Unreadable));
    }
}

#[test]
fn a_provider_says_that_it_is_the_one_that_was_named() {
    let said = json!({
        "issuer": EXPECTED.issuer, "authorization_endpoint": "a", "token_endpoint": "b", "jwks_uri": "c",
        "token_endpoint_auth_methods_supported": ["client_secret_post"],
    });
    let read = |issuer: &str| Provider::read(said.to_string().as_bytes(), issuer);
    assert!(read(EXPECTED.issuer).unwrap().takes_secret_in_form());
    assert_eq!(read("https://evil.example"), Err(Fault::Issuer));
    assert_eq!(Provider::read(b"{}", EXPECTED.issuer), Err(Fault::Unreadable));
}

/// RFC 7636, appendix B.
#[test]
fn the_verifier_is_hashed_as_it_is_published() {
    let verifier = "dBjftJeZ4CVP-mB92K27uhbUJU1p1r_wW1gFWFOEjXk".to_owned();
    let question = Question { nonce: String::new(), verifier, back: String::new() };
    assert_eq!(question.challenge(), "E9Melhoa2OwvFrEMTJguCHaoeK1t8URWbuGJSstw-cM");
    let (one, other) = (Question::new("/").unwrap(), Question::new("/").unwrap());
    assert!(one.verifier.len() == 43 && one.verifier != other.verifier && one.nonce != other.nonce);
}

#[test]
fn a_state_says_what_was_asked_for() {
    for purpose in [Purpose::SignIn, Purpose::Prove] {
        assert_eq!(read_state(&state(purpose, &[7; 32])), Some((purpose, vec![7; 32])));
    }
    for sent in ["", "s", "x", "é", "sAA=", &format!("s{}", "A".repeat(65)), "aAAAA"] {
        let read = read_state(sent);
        assert!(read.is_none_or(|(_, state)| state.is_empty()), "{sent}");
    }
}
