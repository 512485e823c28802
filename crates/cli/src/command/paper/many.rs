//! `stonewear paper all`: the reports of a project or of a time, into a folder.

use crate::answer::{Answer, Failure};
use crate::arguments::Folder;
use crate::command::sheet;
use indicatif::{ProgressBar, ProgressStyle};
use jiff::civil::Date;
use serde_json::json;
use std::path::PathBuf;
use std::sync::Mutex;
use std::sync::atomic::{AtomicUsize, Ordering};
use stonewear_lab::Lab;
use stonewear_lab::state::TestResult;
use stonewear_report::{TestReport, Typesetter};
use stonewear_runtime::LaboratoryView;

#[derive(Debug, clap::Args)]
pub(super) struct All {
    #[command(flatten)]
    folder: Folder,
    /// Only results of this project, as its samples name it.
    #[arg(long, value_name = "PROJECT")]
    project: Option<String>,
    /// Only results that were released on this day or later, YYYY-MM-DD.
    #[arg(long, value_name = "DAY")]
    from: Option<Date>,
    /// Only results that were released on this day or earlier, YYYY-MM-DD.
    #[arg(long, value_name = "DAY")]
    to: Option<Date>,
    /// Folder to write into; it is made where it is missing.
    #[arg(long, short, value_name = "DIR")]
    out: PathBuf,
}

/// A report on its way into its file.
enum Job {
    Issued { number: String, bytes: Vec<u8> },
    Copy(Box<TestReport>),
}

impl Job {
    fn number(&self) -> &str {
        match self {
            Self::Issued { number, .. } => number,
            Self::Copy(report) => &report.number,
        }
    }
}

pub(super) fn all(all: &All) -> Result<Answer, Failure> {
    let view = LaboratoryView::open(&all.folder.place()?)?;
    let lab = view.lab();
    let wanted: Vec<&TestResult> =
        lab.results.values().filter(|result| is_wanted(lab, all, result)).collect();
    if wanted.is_empty() {
        return Err(Failure::WrongInput(
            "no released result fits; leave --project, --from or --to out, or look with `stonewear show`"
                .to_owned(),
        ));
    }
    let jobs = wanted.iter().map(|result| job(&view, result)).collect::<Result<Vec<_>, _>>()?;
    std::fs::create_dir_all(&all.out).map_err(|error| {
        Failure::Surroundings(format!("{} cannot be made: {error}", all.out.display()))
    })?;
    let press = stonewear_paper::Press::new().map_err(Failure::surroundings)?;
    let begun = std::time::Instant::now();
    // It is drawn on stderr, and only where that is a terminal.
    let bar = ProgressBar::new(jobs.len() as u64).with_style(
        ProgressStyle::with_template("{wide_bar} {pos}/{len} reports, {per_sec}, {eta} left")
            .map_err(Failure::surroundings)?,
    );
    let issued = jobs.iter().filter(|job| matches!(job, Job::Issued { .. })).count();
    let files = on_all_cores(&jobs, |job| {
        let out = all.out.join(format!("{}.pdf", job.number().replace('/', "-")));
        match job {
            Job::Issued { bytes, .. } => sheet::write(&out, bytes)?,
            Job::Copy(report) => {
                let bytes = press.test_report(report).map_err(|error| {
                    Failure::Surroundings(format!("report {}: {error}", report.number))
                })?;
                sheet::write(&out, &bytes)?;
            }
        }
        bar.inc(1);
        Ok(out)
    })?;
    bar.finish_and_clear();
    let seconds = begun.elapsed().as_secs_f64();
    let text = format!(
        "wrote {} into {}: {issued} as issued, {} copies for checking; {:.1} a second",
        stonewear_lab::words::counted(files.len(), "report"),
        all.out.display(),
        files.len() - issued,
        files.len() as f64 / seconds.max(0.001)
    );
    Ok(Answer::new(text, json!({ "files": files, "issued": issued, "seconds": seconds })))
}

/// Does the work of each job, on as many threads as there are cores; the first failure ends it.
///
/// The typesetter divides its own work among a pool of threads. Were these threads of that pool, one
/// that waits for its page would begin another report on top of it, and so on, until its stack is full.
fn on_all_cores<'j>(
    jobs: &'j [Job],
    work: impl Fn(&'j Job) -> Result<PathBuf, Failure> + Sync,
) -> Result<Vec<PathBuf>, Failure> {
    let next = AtomicUsize::new(0);
    let done = Mutex::new(Vec::with_capacity(jobs.len()));
    let take = || -> Result<(), Failure> {
        while let Some(job) = jobs.get(next.fetch_add(1, Ordering::Relaxed)) {
            match work(job) {
                Ok(file) => {
                    done.lock().unwrap_or_else(std::sync::PoisonError::into_inner).push(file);
                }
                Err(failure) => {
                    next.store(jobs.len(), Ordering::Relaxed);
                    return Err(failure);
                }
            }
        }
        Ok(())
    };
    let cores = std::thread::available_parallelism().map_or(1, usize::from);
    std::thread::scope(|scope| {
        let threads: Vec<_> = (0..cores.min(jobs.len())).map(|_| scope.spawn(take)).collect();
        let failed = || Failure::Surroundings("the program failed while it printed".to_owned());
        threads.into_iter().try_for_each(|thread| thread.join().map_err(|_| failed())?)
    })?;
    let mut files = done.into_inner().unwrap_or_else(std::sync::PoisonError::into_inner);
    files.sort();
    Ok(files)
}

fn is_wanted(lab: &Lab, all: &All, result: &TestResult) -> bool {
    let Some(release) = result.release() else { return false };
    let day = lab.local(release.at).date();
    let project = lab.samples.get(&result.sample).map(|sample| sample.project.as_str());
    all.from.is_none_or(|from| day >= from)
        && all.to.is_none_or(|to| day <= to)
        && all.project.as_deref().is_none_or(|wanted| project == Some(wanted.trim()))
}

fn job(view: &LaboratoryView, result: &TestResult) -> Result<Job, Failure> {
    let lab = view.lab();
    if let Some(issued) = lab.issued_report(result) {
        let bytes = view.issued_file(&issued.value).map_err(Failure::surroundings)?;
        return Ok(Job::Issued { number: issued.value.number.clone(), bytes });
    }
    let anchor = view.anchor_of(result).map_err(Failure::surroundings)?;
    let origin = view.origin().map_err(Failure::surroundings)?;
    let report = stonewear_report::test_report(lab, result, anchor);
    Ok(Job::Copy(Box::new(report.marked(&origin))))
}
