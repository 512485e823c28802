//! The page over TLS (RFC 8446), by rustls: with a certificate of the laboratory's own, or with one that is
//! generated here and that people compare by its fingerprint.

use crate::lines::at_once;
use axum::serve::Listener;
use jiff::civil::Date;
use rcgen::{CertificateParams, DnType, KeyPair};
use std::fs;
use std::io;
use std::net::SocketAddr;
use std::path::Path;
use std::sync::Arc;
use std::time::Duration;
use tokio::net::{TcpListener, TcpStream};
use tokio::sync::{Semaphore, mpsc};
use tokio_rustls::TlsAcceptor;
use tokio_rustls::rustls::ServerConfig;
use tokio_rustls::rustls::crypto::ring;
use tokio_rustls::rustls::pki_types::pem::PemObject;
use tokio_rustls::rustls::pki_types::{CertificateDer, PrivateKeyDer};
use tokio_rustls::server::TlsStream;

/// The longest that a line may take to be agreed on.
const PATIENCE: Duration = Duration::from_secs(10);
/// Lines that are being agreed on at once.
const AT_ONCE: usize = 256;
/// A generated certificate holds for a year and a month: browsers take none that holds for longer than
/// 398 days (CA/Browser Forum Baseline Requirements, 6.3.2, from memory, unconfirmed).
const HOLDS_DAYS: i32 = 397;
/// It is made anew so many days before it ends.
const ANEW_DAYS: i32 = 30;
/// Where it is kept within the laboratory's folder.
const FOLDER: &str = "tls";

/// A certificate with its key, ready to serve.
#[derive(Debug, Clone)]
pub struct Certificate {
    config: Arc<ServerConfig>,
    /// SHA-256 of the certificate, as browsers show it: `AB:CD:…`.
    pub fingerprint: String,
}

impl Certificate {
    /// Reads a certificate, with those that lead to its issuer, and its key, both as PEM.
    ///
    /// # Errors
    /// In words: which file, and what is wrong with it.
    pub fn from_files(certificate: &Path, key: &Path) -> Result<Self, String> {
        let fault =
            |path: &Path, error: &dyn std::fmt::Display| format!("{}: {error}", path.display());
        let certificates = CertificateDer::pem_file_iter(certificate)
            .and_then(Iterator::collect::<Result<Vec<_>, _>>)
            .map_err(|error| fault(certificate, &error))?;
        let Some(first) = certificates.first() else {
            return Err(fault(certificate, &"there is no certificate in it"));
        };
        let fingerprint = fingerprint(first);
        let private = PrivateKeyDer::from_pem_file(key).map_err(|error| fault(key, &error))?;
        let provider = Arc::new(ring::default_provider());
        let mut config = ServerConfig::builder_with_provider(provider)
            .with_safe_default_protocol_versions()
            .map_err(|error| error.to_string())?
            .with_no_client_auth()
            .with_single_cert(certificates, private)
            .map_err(|error| format!("{} and its key: {error}", certificate.display()))?;
        config.alpn_protocols = vec![b"http/1.1".to_vec()];
        Ok(Self { config: Arc::new(config), fingerprint })
    }

    /// The certificate that was generated in this laboratory's folder for these names; it is made where
    /// there is none, where it is for other names, and before it ends.
    ///
    /// # Errors
    /// In words, when it cannot be made or kept.
    pub fn generated(folder: &Path, names: &[String], today: Date) -> Result<Self, String> {
        let folder = folder.join(FOLDER);
        let [certificate, key, about] =
            ["certificate.pem", "key.pem", "about.txt"].map(|name| folder.join(name));
        let wanted = names.join(" ");
        if !is_for(&fs::read_to_string(&about).unwrap_or_default(), &wanted, today) {
            let until = later(today, HOLDS_DAYS);
            let (made, private) = make(names, today, until).map_err(|error| error.to_string())?;
            let kept = make_private(&folder)
                .and_then(|()| write(&key, &private))
                .and_then(|()| fs::write(&certificate, made))
                .and_then(|()| fs::write(&about, format!("{until}\n{wanted}\n")));
            kept.map_err(|error| format!("{}: {error}", folder.display()))?;
        }
        Self::from_files(&certificate, &key)
    }
}

/// Whether what is kept is for these names and holds for a while yet.
fn is_for(about: &str, wanted: &str, today: Date) -> bool {
    let mut lines = about.lines();
    let until: Option<Date> = lines.next().and_then(|until| until.parse().ok());
    until.is_some_and(|until| until > later(today, ANEW_DAYS)) && lines.next() == Some(wanted)
}

fn later(day: Date, days: i32) -> Date {
    day.saturating_add(jiff::Span::new().days(days))
}

fn make(names: &[String], today: Date, until: Date) -> Result<(String, String), rcgen::Error> {
    let mut params = CertificateParams::new(names)?;
    params.distinguished_name.push(DnType::CommonName, "Stonewear");
    let of = |day: Date| {
        let [month, day_of] = [day.month(), day.day()].map(i8::unsigned_abs);
        rcgen::date_time_ymd(i32::from(day.year()), month, day_of)
    };
    // A clock that is a little behind takes it, too.
    params.not_before = of(later(today, -1));
    params.not_after = of(until);
    let key = KeyPair::generate()?;
    Ok((params.self_signed(&key)?.pem(), key.serialize_pem()))
}

fn make_private(folder: &Path) -> io::Result<()> {
    let mut builder = fs::DirBuilder::new();
    builder.recursive(true);
    #[cfg(unix)]
    {
        use std::os::unix::fs::DirBuilderExt;
        builder.mode(0o700);
    }
    builder.create(folder)
}

/// Writes what nobody else on the machine may read.
fn write(path: &Path, text: &str) -> io::Result<()> {
    use std::io::Write;
    // An older one may have been left readable.
    let _ = fs::remove_file(path);
    let mut options = fs::OpenOptions::new();
    options.write(true).create_new(true);
    #[cfg(unix)]
    {
        use std::os::unix::fs::OpenOptionsExt;
        options.mode(0o600);
    }
    options.open(path)?.write_all(text.as_bytes())
}

fn fingerprint(certificate: &CertificateDer<'_>) -> String {
    let digits = stonewear_runtime::sha256(certificate).to_uppercase();
    let pairs = digits.as_bytes().chunks(2).map(String::from_utf8_lossy);
    pairs.collect::<Vec<_>>().join(":")
}

/// Accepts lines, and hands on those that are agreed on. Whoever opens one and says nothing holds up
/// nobody else.
pub(crate) struct TlsListener {
    agreed: mpsc::Receiver<(TlsStream<TcpStream>, SocketAddr)>,
    address: SocketAddr,
}

impl TlsListener {
    pub(crate) fn new(listener: TcpListener, certificate: &Certificate) -> io::Result<Self> {
        let address = listener.local_addr()?;
        let acceptor = TlsAcceptor::from(certificate.config.clone());
        let (hand_on, agreed) = mpsc::channel(1);
        tokio::spawn(accept(listener, acceptor, hand_on));
        Ok(Self { agreed, address })
    }
}

async fn accept(
    mut listener: TcpListener,
    acceptor: TlsAcceptor,
    hand_on: mpsc::Sender<(TlsStream<TcpStream>, SocketAddr)>,
) {
    let room = Arc::new(Semaphore::new(AT_ONCE));
    loop {
        let Ok(permit) = room.clone().acquire_owned().await else { return };
        let (mut line, from) = tokio::select! {
            accepted = Listener::accept(&mut listener) => accepted,
            () = hand_on.closed() => return,
        };
        at_once(&mut line);
        let (acceptor, hand_on) = (acceptor.clone(), hand_on.clone());
        tokio::spawn(async move {
            let agreed = tokio::time::timeout(PATIENCE, acceptor.accept(line)).await;
            drop(permit);
            // Whoever cannot agree on a line, or speaks unencrypted, is gone.
            if let Ok(Ok(line)) = agreed {
                let _ = hand_on.send((line, from)).await;
            }
        });
    }
}

impl Listener for TlsListener {
    type Io = TlsStream<TcpStream>;
    type Addr = SocketAddr;

    async fn accept(&mut self) -> (Self::Io, Self::Addr) {
        match self.agreed.recv().await {
            Some(line) => line,
            // The task that accepts lives as long as this does.
            None => std::future::pending().await,
        }
    }

    fn local_addr(&self) -> io::Result<Self::Addr> {
        Ok(self.address)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn day(text: &str) -> Date {
        text.parse().unwrap()
    }

    #[test]
    fn a_certificate_is_kept_until_its_names_change_or_its_end_comes() {
        let folder = tempfile::tempdir().unwrap();
        let names = ["localhost", "192.168.0.7"].map(str::to_owned);
        let made = |names: &[String], today: &str| {
            Certificate::generated(folder.path(), names, day(today)).unwrap().fingerprint
        };
        let first = made(&names, "2026-11-26");
        assert_eq!(first.len(), 32 * 3 - 1);
        assert_eq!(made(&names, "2027-11-01"), first);
        let second = made(&names, "2027-12-01");
        assert_ne!(second, first, "a month before its end");
        assert_ne!(made(&names[..1], "2027-12-01"), second, "for other names");
    }

    #[cfg(unix)]
    #[test]
    fn nobody_else_may_read_the_key() {
        use std::os::unix::fs::PermissionsExt;
        let folder = tempfile::tempdir().unwrap();
        Certificate::generated(folder.path(), &["localhost".to_owned()], day("2026-11-26"))
            .unwrap();
        for (name, mode) in [("tls", 0o700), ("tls/key.pem", 0o600)] {
            let kept = fs::metadata(folder.path().join(name)).unwrap().permissions().mode();
            assert_eq!(kept & 0o777, mode, "{name}");
        }
    }

    #[test]
    fn files_that_are_none_of_a_certificate_are_named() {
        let folder = tempfile::tempdir().unwrap();
        let [none, text] = ["none.pem", "text.pem"].map(|name| folder.path().join(name));
        fs::write(&text, "no certificate").unwrap();
        for (certificate, key, named) in [(&none, &text, "none.pem"), (&text, &text, "text.pem")] {
            let error = Certificate::from_files(certificate, key).unwrap_err();
            assert!(error.contains(named), "{error}");
        }
        let names = ["localhost".to_owned()];
        Certificate::generated(folder.path(), &names, day("2026-11-26")).unwrap();
        let good = folder.path().join("tls/certificate.pem");
        assert!(Certificate::from_files(&good, &text).unwrap_err().contains("text.pem"));
    }
}
