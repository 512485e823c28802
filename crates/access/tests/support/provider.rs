//! What a provider of OpenID Connect signs with, for tests: tokens with any claims, right and wrong.

#![allow(dead_code, reason = "each test program uses a part of it")]

use base64::Engine;
use base64::engine::general_purpose::{STANDARD, URL_SAFE_NO_PAD};
use ring::rand::SystemRandom;
use ring::signature::{
    ECDSA_P256_SHA256_FIXED_SIGNING, EcdsaKeyPair, Ed25519KeyPair, KeyPair, RSA_PKCS1_SHA256,
    RsaKeyPair,
};
use serde_json::{Value, json};

/// A key of RSA with 2048 bits, made for these tests and used by nothing else (RFC 8017, A.1.2).
const RSA: &str = "\
                MIIEpAIBAAKCAQEA04iMbtFQPBEWssUOdPCreRdf8jLTy+OOzPodJM5Oj49gOZ95OJ+6jKi1o0xPXOyLVxRsLbPtI9/t\
                zn1t0EsLKq6TcR7FnhkwhmBoc6f0DyD9U4zUYy2BgNTkNtYPMkmavrZibryJOp8cWO/9lb/KuZOKwPktRPj1kEcFf9He\
                YIH9uBpSzBcPBh/naTH6RqdlNi04RpR4/infwhyGMefjDE6BZPXs6M11RnFv1Ue6viO2o8y2obG60xEj75GWOYY4EByv\
                r4TbLWcY7nkr4Rcl67PJIlKggTijzEzG+4t2+9TsKE6cVg0TIwS57wAo3HaO330uIuD738l5+AWouWuwjQIDAQABAoIB\
                ABvq/inUC0RaNwYyFsXdS6xIJvwWtDhJGLw52GXWqqyszhTc1Mlh32OYEpzyQdkwSPWdtudTQ12EPOUPTdJ7TQZ9ku0P\
                lCJZDbv2dmKpTH9Aqd6AjDlotJpVvqb0Gn5XE4rPFG+sB2qKvFmKlwvQC8fxTpNIb66WMwavMO0dPD29PMTRavVMr3FC\
                IwEfxEqyEile2HxgrybI6aoRhZ91CWaoTZOSq0NtmxgY8sMeV6WA3Z/dt2btib2zMN+VCHWWbqdYBDdPCgFhhGenIb4B\
                +95bwPbZ9xVy5kF2N2CBJqJ9Tc3sq7BxA5V+J35X4JomkAYC4yl6CRdLvPtOhH43YosCgYEA9ZsI2JynAMeOQCZeEI3b\
                Dk04Od3Jv8YLCDPXodK+7N4mvsVsMa2/AWsLQmFqoOZ98PRH8MACawIEigrQGj/ETdZcT4A3JI1Kv9tIQjvN9nPtzxEu\
                pv1ABrXEpTlwav1/d7qE8wiGTaGx+7r3+cY/VrbjgR8yqifFS/t4J/iwLfMCgYEA3HxdiJuB2eOKcE5r/Dxn3JJ5Xvpf\
                +xLbGIWbQC64OwRybUEKw8Q+KZO+Ss+YxKqhSNLNlrMWAjiFzI5C1k1m7SXEtb2GWlgV5vGNijSpitqBb2qR+WKG5UO9\
                /RDr/4dqHqKLl8ct5AUCJoh2I4N0I8sqOQ6YroaFL2Qc6+q/x38CgYAgm5XAFIRDoTrsn2trrTnBG1V0sVKAyI1caG2f\
                iXhZwGDKgTGNIvEyAgE7re1XMWLVI8mNWCC6DkmF/kuEwKSSZPxafb5UdwHOmRFt4bzFlLyk+jYEa6kdevKBsS+QtNlA\
                jx3pml8iXW5g6oDTw5NTMvLfiMHUP3V9UgSw4d6aKwKBgQCisaY3EkCb7hoOSt/FzTD6gp7KpcfDNaO0EYqArrjE28Av\
                vCncUOdpuJpXC553qEzAtsR7agRYeSrJyUOqbI0BergPPx1vdsYalq1RiRB95ERUWXgDZF+TtwvvO9hYwqxclKaaxZ+o\
                PMXcdx9tjydY7iZm2c1yItMOKDprHtqKswKBgQDeuQooRktjyD73LoWeXD9164Q0s4Zx6MFJf/oaJw0ExvUkMu3Ve8ZT\
                YvZWlhEupUANNpQq3u+omsHZWXRPqKhSnbK6y1BWDWuRjIOFvb+GM7hRyBL4E3QWFGyRdLnHB2Eh1KiyYYIyHFrwXCjf\
                6Xft10zZLEmMvmRBrDH+GeiBqg==";

pub(crate) enum Signer {
    Rsa(Box<RsaKeyPair>),
    P256(EcdsaKeyPair),
    Ed25519(Ed25519KeyPair),
}

impl Signer {
    pub(crate) fn rsa() -> Self {
        let key = RsaKeyPair::from_der(&STANDARD.decode(RSA).unwrap());
        Self::Rsa(Box::new(key.unwrap()))
    }

    pub(crate) fn p256() -> Self {
        let (how, chance) = (&ECDSA_P256_SHA256_FIXED_SIGNING, SystemRandom::new());
        let pkcs8 = EcdsaKeyPair::generate_pkcs8(how, &chance).unwrap();
        Self::P256(EcdsaKeyPair::from_pkcs8(how, pkcs8.as_ref(), &chance).unwrap())
    }

    pub(crate) fn ed25519() -> Self {
        let pkcs8 = Ed25519KeyPair::generate_pkcs8(&SystemRandom::new()).unwrap();
        Self::Ed25519(Ed25519KeyPair::from_pkcs8(pkcs8.as_ref()).unwrap())
    }

    pub(crate) fn algorithm(&self) -> &'static str {
        match self {
            Self::Rsa(_) => "RS256",
            Self::P256(_) => "ES256",
            Self::Ed25519(_) => "EdDSA",
        }
    }

    /// Its public key as a key set holds it.
    pub(crate) fn jwk(&self, name: &str) -> Value {
        let mut jwk = match self {
            Self::Rsa(key) => {
                let public = ring::rsa::PublicKeyComponents::<Vec<u8>>::from(key.public());
                json!({ "kty": "RSA", "n": written(&public.n), "e": written(&public.e) })
            }
            Self::P256(key) => {
                let point = key.public_key().as_ref();
                json!({ "kty": "EC", "crv": "P-256", "x": written(&point[1..33]), "y": written(&point[33..]) })
            }
            Self::Ed25519(key) => {
                json!({ "kty": "OKP", "crv": "Ed25519", "x": written(key.public_key().as_ref()) })
            }
        };
        jwk["kid"] = name.into();
        jwk["use"] = "sig".into();
        jwk
    }

    pub(crate) fn sign(&self, message: &[u8]) -> Vec<u8> {
        let chance = SystemRandom::new();
        match self {
            Self::Rsa(key) => {
                let mut signature = vec![0; key.public().modulus_len()];
                key.sign(&RSA_PKCS1_SHA256, &chance, message, &mut signature).unwrap();
                signature
            }
            Self::P256(key) => key.sign(&chance, message).unwrap().as_ref().to_vec(),
            Self::Ed25519(key) => key.sign(message).as_ref().to_vec(),
        }
    }

    /// A token with these claims, by the key of this name.
    pub(crate) fn token(&self, name: &str, claims: &Value) -> String {
        self.token_with(&json!({ "alg": self.algorithm(), "kid": name }), claims)
    }

    /// The same with any head.
    pub(crate) fn token_with(&self, head: &Value, claims: &Value) -> String {
        let signed = format!("{}.{}", text(head), text(claims));
        format!("{signed}.{}", written(&self.sign(signed.as_bytes())))
    }
}

pub(crate) fn text(json: &Value) -> String {
    written(json.to_string().as_bytes())
}

pub(crate) fn written(bytes: &[u8]) -> String {
    URL_SAFE_NO_PAD.encode(bytes)
}
