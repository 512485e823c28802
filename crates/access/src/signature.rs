//! Signatures that others make: an authenticator over its answer, an organisation over what it says of a
//! person. The arithmetic is that of `ring`, which TLS uses as well.

use ring::signature as by;

/// A key that a signature is verified with.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum PublicKey {
    /// A point of P-256, uncompressed (SEC 1, 2.3.3): `04`, x, y.
    P256([u8; 65]),
    /// Of Ed25519 (RFC 8032).
    Ed25519([u8; 32]),
    /// Of RSA with 2048 bits or more.
    Rsa {
        /// Its modulus, without leading zeros.
        modulus: Vec<u8>,
        /// Its exponent, without leading zeros.
        exponent: Vec<u8>,
    },
}

/// How the two numbers of an ECDSA signature are written.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Written {
    /// As ASN.1, as authenticators do (WebAuthn, 6.5.5).
    Asn1,
    /// One behind the other, as tokens do (RFC 7518, 3.4).
    Fixed,
}

impl PublicKey {
    /// A point by its two coordinates; none where they are not 32 bytes long.
    pub fn point(x: &[u8], y: &[u8]) -> Option<Self> {
        let (x, y): ([u8; 32], [u8; 32]) = (x.try_into().ok()?, y.try_into().ok()?);
        let mut point = [4; 65];
        point[1..33].copy_from_slice(&x);
        point[33..].copy_from_slice(&y);
        Some(Self::P256(point))
    }

    /// A key of Ed25519; none where it is not 32 bytes long.
    pub fn edwards(x: &[u8]) -> Option<Self> {
        x.try_into().ok().map(Self::Ed25519)
    }

    /// A key of RSA; none where its modulus has not 2048 to 8192 bits or its exponent is none.
    pub fn rsa(modulus: &[u8], exponent: &[u8]) -> Option<Self> {
        let plain = |number: &[u8]| -> Vec<u8> {
            number.iter().copied().skip_while(|byte| *byte == 0).collect()
        };
        let (modulus, exponent) = (plain(modulus), plain(exponent));
        let bits = modulus.len().checked_mul(8)? - modulus.first()?.leading_zeros() as usize;
        let is_good = (2048..=8192).contains(&bits) && (1..=4).contains(&exponent.len());
        is_good.then_some(Self::Rsa { modulus, exponent })
    }

    /// Whether this key made the signature of a message: ECDSA and RSA (PKCS #1 v1.5) over SHA-256, or
    /// Ed25519.
    pub fn verifies(&self, message: &[u8], signature: &[u8], written: Written) -> bool {
        let is_by = |algorithm: &'static dyn by::VerificationAlgorithm, key: &[u8]| {
            by::UnparsedPublicKey::new(algorithm, key).verify(message, signature)
        };
        let verified = match self {
            Self::P256(point) => match written {
                Written::Asn1 => is_by(&by::ECDSA_P256_SHA256_ASN1, point),
                Written::Fixed => is_by(&by::ECDSA_P256_SHA256_FIXED, point),
            },
            Self::Ed25519(key) => is_by(&by::ED25519, key),
            Self::Rsa { modulus, exponent } => {
                let key = by::RsaPublicKeyComponents { n: modulus, e: exponent };
                key.verify(&by::RSA_PKCS1_2048_8192_SHA256, message, signature)
            }
        };
        verified.is_ok()
    }
}
