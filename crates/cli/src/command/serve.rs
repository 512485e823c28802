//! `stonewear serve`: the page of a laboratory.

use super::backup::Schedule;
use crate::answer::{Answer, Failure};
use crate::arguments::Folder;
use std::io::Write;
use std::net::SocketAddr;
use std::path::PathBuf;
use std::sync::Arc;
use stonewear_access::{Access, Code};
use stonewear_runtime::{Clock, OpenLaboratory};
use stonewear_server::{Certificate, Organisation, Reach, Serving};

/// Serve a laboratory's page on this machine.
#[derive(Debug, clap::Args)]
#[command(after_help = "\
Example:\n\
\x20 stonewear serve --dir laboratory\n\
\x20 stonewear serve --dir laboratory --listen 0.0.0.0:7640 --tls-generated --tls-name lab-pc.local\n\
\x20 stonewear serve --behind-proxy https://stonewear.example.org --openid https://login.example.org \\\n\
\x20     --openid-client stonewear --openid-secret-file /etc/stonewear/openid-secret")]
pub(crate) struct Serve {
    #[command(flatten)]
    folder: Folder,
    /// Address to listen on; port 0 takes a free one. Other addresses than those of this machine's
    /// loopback need accounts, and a line that is encrypted.
    #[arg(long, value_name = "ADDR", default_value = "127.0.0.1:7640")]
    listen: String,
    #[command(flatten)]
    line: Line,
    #[command(flatten)]
    vouching: Vouching,
    #[command(flatten)]
    schedule: Schedule,
    /// Write a line about every answer and event to stderr. No line names a person or what was typed.
    #[arg(long, value_name = "FORM")]
    log: Option<Log>,
    /// The clock of this machine is right, although the last fact was recorded later than it shows.
    #[arg(long)]
    clock_is_right: bool,
}

/// In which form the log is written.
#[derive(Debug, Clone, Copy, clap::ValueEnum)]
enum Log {
    /// One JSON object a line.
    Json,
    /// For people.
    Text,
}

impl Log {
    fn begin(self) {
        let lines = tracing_subscriber::fmt().with_writer(std::io::stderr).with_ansi(false);
        // It fails only where a log was begun before.
        let _ = match self {
            Self::Json => lines.json().flatten_event(true).try_init(),
            Self::Text => lines.try_init(),
        };
    }
}

/// How the line to browsers is encrypted.
#[derive(Debug, Default, clap::Args)]
pub(crate) struct Line {
    /// Encrypt with this certificate, and those that lead to its issuer: a file in PEM.
    #[arg(long, value_name = "FILE", requires = "tls_key", conflicts_with = "tls_generated")]
    tls_cert: Option<PathBuf>,
    /// The key of the certificate: a file in PEM.
    #[arg(long, value_name = "FILE", requires = "tls_cert")]
    tls_key: Option<PathBuf>,
    /// Encrypt with a certificate that is generated and kept in the folder; browsers ask about it once,
    /// and people compare its fingerprint.
    #[arg(long)]
    tls_generated: bool,
    /// A name or address of this machine in the generated certificate; can be given several times.
    #[arg(long, value_name = "NAME", requires = "tls_generated")]
    tls_name: Vec<String>,
    /// A proxy encrypts, and people reach it at this address, such as https://stonewear.example.org.
    #[arg(long, value_name = "URL", conflicts_with_all = ["tls_cert", "tls_generated"])]
    behind_proxy: Option<String>,
}

/// An organisation that vouches for people, by OpenID Connect.
#[derive(Debug, Default, clap::Args)]
pub(crate) struct Vouching {
    /// Let people sign in through their organisation: the address of its OpenID Connect provider, as it
    /// names itself. Who may come in is linked by an owner; the organisation alone lets nobody in.
    #[arg(long, value_name = "ISSUER", requires = "openid_client")]
    openid: Option<String>,
    /// What the provider calls this program (its client ID).
    #[arg(long, value_name = "ID", requires = "openid")]
    openid_client: Option<String>,
    /// A file with the secret that the provider gave for it, where it gave one. It may stand in the
    /// variable STONEWEAR_OPENID_SECRET instead; never on the command line, which others can read.
    #[arg(long, value_name = "FILE", requires = "openid")]
    openid_secret_file: Option<PathBuf>,
}

impl Vouching {
    fn organisation(&self) -> Result<Option<Organisation>, Failure> {
        let (Some(issuer), Some(client)) = (&self.openid, &self.openid_client) else {
            return Ok(None);
        };
        let secret = match &self.openid_secret_file {
            Some(file) => Some(std::fs::read_to_string(file).map_err(|error| {
                Failure::WrongInput(format!("--openid-secret-file: {}: {error}", file.display()))
            })?),
            None => std::env::var("STONEWEAR_OPENID_SECRET").ok(),
        };
        let secret = secret.map(|secret| secret.trim().to_owned());
        Organisation::new(issuer, client, secret)
            .map(Some)
            .map_err(|words| Failure::WrongInput(format!("--openid: {words}")))
    }
}

pub(crate) fn run(serve_: Serve) -> Result<Answer, Failure> {
    let mut laboratory = OpenLaboratory::open_whatever_its_state(&serve_.folder.place()?)?;
    if serve_.clock_is_right {
        laboratory.take_clock_for_right();
    }
    if let Some(log) = serve_.log {
        log.begin();
    }
    serve_.schedule.begin(&serve_.folder)?;
    let organisation = serve_.vouching.organisation()?;
    serve(laboratory, &serve_.listen, &serve_.line, organisation)
}

pub(super) fn serve(
    laboratory: OpenLaboratory,
    listen: &str,
    line: &Line,
    organisation: Option<Organisation>,
) -> Result<Answer, Failure> {
    let address: SocketAddr = listen.parse().map_err(|_| {
        Failure::WrongInput(format!(
            "--listen: “{listen}” is not an address; write it like 127.0.0.1:7640"
        ))
    })?;
    let has_accounts = has_accounts(&laboratory)?;
    let proxy = line.behind_proxy.as_deref();
    let is_encrypted = line.tls_generated || line.tls_cert.is_some() || proxy.is_some();
    if !address.ip().is_loopback() && !is_encrypted {
        return Err(Failure::Refused(format!(
            "--listen: {address} can be reached from other machines, and the line would not be encrypted; \
             say --tls-generated, or --tls-cert and --tls-key, or --behind-proxy; or use 127.0.0.1"
        )));
    }
    if !has_accounts && (!address.ip().is_loopback() || proxy.is_some()) {
        return Err(Failure::Refused(
            "the page would be reached from other machines, and nobody has to prove who they are yet; serve \
             it on 127.0.0.1 first and make the first account at /account/first, or use `stonewear people \
             give CODE --owner`"
                .to_owned(),
        ));
    }
    let certificate = certificate(&laboratory, address, line)?;
    let reach = match (proxy, &certificate) {
        (Some(address), _) => Reach::through_proxy(address)
            .map_err(|words| Failure::WrongInput(format!("--behind-proxy: {words}")))?,
        (None, Some(_)) => Reach::Tls,
        (None, None) => Reach::Loopback,
    };
    if let Some(hindrance) = laboratory.hindrance() {
        let _ = writeln!(
            std::io::stderr(),
            "stonewear: nothing can be recorded. {hindrance} {}",
            hindrance.remedy()
        );
    }
    let first_code =
        if has_accounts { None } else { Some(Code::new().map_err(Failure::surroundings)?) };
    let shown = first_code.as_ref().map(ToString::to_string);
    let fingerprint = certificate.as_ref().map(|certificate| certificate.fingerprint.clone());
    let scheme = if certificate.is_some() { "https" } else { "http" };
    let typesetter = stonewear_paper::Press::new().map_err(Failure::surroundings)?;
    let back = organisation.is_some().then(|| match proxy {
        Some(origin) => origin.trim_end_matches('/').to_owned(),
        None => format!("{scheme}://NAME:{}", address.port()),
    });
    let serving = Serving { reach, certificate, first_code, organisation };
    stonewear_server::serve(laboratory, Arc::new(typesetter), address, serving, |address| {
        // The address is the answer here, and it must be seen before the program ends.
        let mut stdout = std::io::stdout().lock();
        let _ = writeln!(stdout, "Stonewear is at {scheme}://{address}/ (stop it with Ctrl-C)");
        if let Some(fingerprint) = fingerprint {
            let _ = writeln!(stdout, "Its certificate has the SHA-256 fingerprint {fingerprint}");
        }
        if let Some(origin) = back {
            let _ = writeln!(
                stdout,
                "The organisation sends people back to {origin}/sign-in/organisation/back: register that with \
                 its provider, with the name by which people open the page"
            );
        }
        if let Some(code) = shown {
            let _ = writeln!(
                stdout,
                "Nobody has to prove who they are yet. The first account is made at \
                 {scheme}://{address}/account/first with the code {code}"
            );
        }
        let _ = stdout.flush();
    })
    .map_err(Failure::surroundings)?;
    Ok(Answer::said())
}

/// Whether people prove who they are. What cannot be read is for the page to say: it lets nobody in.
fn has_accounts(laboratory: &OpenLaboratory) -> Result<bool, Failure> {
    match Access::open(laboratory.path()) {
        Ok(access) => access.has_accounts().map_err(Failure::surroundings),
        Err(_) => Ok(Access::is_in(laboratory.path())),
    }
}

fn certificate(
    laboratory: &OpenLaboratory,
    address: SocketAddr,
    line: &Line,
) -> Result<Option<Certificate>, Failure> {
    if let (Some(certificate), Some(key)) = (&line.tls_cert, &line.tls_key) {
        return Certificate::from_files(certificate, key).map(Some).map_err(Failure::WrongInput);
    }
    if !line.tls_generated {
        return Ok(None);
    }
    let mut names = ["localhost", "127.0.0.1", "::1"].map(str::to_owned).to_vec();
    // Linux tells it here; elsewhere it is said with --tls-name.
    let own = std::fs::read_to_string("/proc/sys/kernel/hostname").unwrap_or_default();
    names.extend(Some(own.trim().to_owned()).filter(|name| !name.is_empty()));
    if !address.ip().is_unspecified() {
        names.push(address.ip().to_string());
    }
    names.extend(line.tls_name.iter().map(|name| name.trim().to_owned()));
    let mut seen = std::collections::BTreeSet::new();
    names.retain(|name| seen.insert(name.clone()));
    let today = jiff::tz::Offset::UTC.to_datetime(Clock::Machine.now()).date();
    Certificate::generated(laboratory.path(), &names, today)
        .map(Some)
        .map_err(Failure::Surroundings)
}
