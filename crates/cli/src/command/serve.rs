//! `stonewear serve`: the page of a laboratory.

use super::backup::Schedule;
use crate::answer::{Answer, Failure};
use crate::arguments::Folder;
use std::io::Write;
use std::net::SocketAddr;
use std::sync::Arc;
use stonewear_runtime::OpenLaboratory;

/// Serve a laboratory's page on this machine.
#[derive(Debug, clap::Args)]
#[command(after_help = "\
Example:\n\
\x20 stonewear serve --dir laboratory")]
pub(crate) struct Serve {
    #[command(flatten)]
    folder: Folder,
    /// Address to listen on; port 0 takes a free one. Only addresses of this machine's loopback:
    /// there are no passwords yet.
    #[arg(long, value_name = "ADDR", default_value = "127.0.0.1:7640")]
    listen: String,
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

pub(crate) fn run(serve_: Serve) -> Result<Answer, Failure> {
    let mut laboratory = OpenLaboratory::open_whatever_its_state(&serve_.folder.dir)?;
    if serve_.clock_is_right {
        laboratory.take_clock_for_right();
    }
    if let Some(log) = serve_.log {
        log.begin();
    }
    serve_.schedule.begin(&serve_.folder.dir)?;
    serve(laboratory, &serve_.listen)
}

pub(super) fn serve(laboratory: OpenLaboratory, listen: &str) -> Result<Answer, Failure> {
    let address: SocketAddr = listen.parse().map_err(|_| {
        Failure::WrongInput(format!(
            "--listen: “{listen}” is not an address; write it like 127.0.0.1:7640"
        ))
    })?;
    if !address.ip().is_loopback() {
        return Err(Failure::Refused(format!(
            "--listen: {address} can be reached from other machines, and there are no passwords yet; use 127.0.0.1 or [::1]"
        )));
    }
    if let Some(hindrance) = laboratory.hindrance() {
        let _ = writeln!(
            std::io::stderr(),
            "stonewear: nothing can be recorded. {hindrance} {}",
            hindrance.remedy()
        );
    }
    let typesetter = stonewear_paper::Press::new().map_err(Failure::surroundings)?;
    stonewear_server::serve(laboratory, Arc::new(typesetter), address, |address| {
        // The address is the answer here, and it must be seen before the program ends.
        let mut stdout = std::io::stdout().lock();
        let _ = writeln!(stdout, "Stonewear is at http://{address}/ (stop it with Ctrl-C)");
        let _ = stdout.flush();
    })
    .map_err(Failure::surroundings)?;
    Ok(Answer::said())
}
