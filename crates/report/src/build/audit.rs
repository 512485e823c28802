//! The audit extract: one result with its whole evidence, for an assessor.

use super::record::person;
use super::{day, sheet_of, test_report};
use crate::{Cell, Column, JournalAnchor, Sheet, Table};
use jiff::Timestamp;
use stonewear_lab::Lab;
use stonewear_lab::evidence::{Link, LinkKind, Proof};
use stonewear_lab::fact::PaperKind;
use stonewear_lab::state::{TestResult, in_words};
use stonewear_lab::words::{counted, listed};
use stonewear_stats::table::row;

/// A fact of the journal that bears on a result, as the extract lists it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ChainedFact {
    /// Its place in the journal.
    pub position: u64,
    /// When it was recorded.
    pub at: Timestamp,
    /// Who recorded it.
    pub by: String,
    /// What it is: `mass-weighed`.
    pub kind: String,
    /// Which of the codes that the result stands on it names.
    pub about: Vec<String>,
    /// Its hash, 64 hexadecimal digits.
    pub hash: String,
}

/// The codes of all that was done for a result: its own, sample, specimens and runs, the checks and
/// authorisations that prove what it stands on. Equipment, people and doubts are not among them, as
/// they are named by the facts of other results, too; a fact about a doubt names the result.
pub fn codes_of(lab: &Lab, result: &TestResult) -> Vec<String> {
    let mut codes: Vec<String> = Vec::new();
    let mut add = |code: String| {
        if !code.is_empty() && !codes.contains(&code) {
            codes.push(code);
        }
    };
    add(result.code.to_string());
    for link in lab.evidence(result) {
        match &link.proof {
            Proof::Proved { check } => add(check.to_string()),
            Proof::Authorised { authorisation } => add(authorisation.to_string()),
            Proof::Recorded | Proof::Supervised { .. } | Proof::NotProved { .. } => {}
        }
        if !matches!(link.kind, LinkKind::Item | LinkKind::Person | LinkKind::Method) {
            add(link.code);
        }
    }
    codes
}

/// One result with its whole evidence.
pub fn audit_sheet(
    lab: &Lab,
    result: &TestResult,
    facts: &[ChainedFact],
    anchor: Option<JournalAnchor>,
    at: Timestamp,
) -> Sheet {
    let report = test_report(lab, result, None);
    let kind = format!("Audit extract {}", result.code);
    let found = result.current().map(|now| in_words(now.value.loss_percent, &now.value.properties));
    let title = format!("{}: {}", report.loss.name, found.unwrap_or_default());
    let links = lab.evidence(result);
    let broken = report.evidence.iter().filter(|link| link.standing.is_broken()).count();
    let mut sheet = sheet_of(lab, kind, title, anchor, at);
    sheet.lead = "What this result stands on, fact by fact, with the places and hashes by which \
                  anybody who holds the journal finds each and sees that nothing was changed."
        .to_owned();
    sheet = sheet.pairs([
        (
            "Sample",
            format!("{}, {}, {}", report.sample.code, report.sample.material, report.sample.source),
        ),
        ("Method", format!("{}, edition {}", report.method.designation, report.method.edition)),
        ("Tested", report.dates.tested.clone()),
        (
            "Released",
            report
                .authorised
                .as_ref()
                .map_or("nobody yet".to_owned(), |who| format!("{}, {}", who.at, who.name)),
        ),
        ("Links", counted(links.len(), "link")),
    ]);
    sheet = if broken == 0 {
        sheet.remark("Verdict", "Every link that needs a proof has one.")
    } else {
        let words = format!("{} not proved: marked below.", counted(broken, "link"));
        sheet.remark("Verdict", words)
    };
    sheet = sheet
        .heading("Working")
        .pairs(report.loss.working.iter().map(|line| (line.label.clone(), line.text.clone())));
    sheet = sheet.heading("Versions").table(versions(lab, result));
    sheet = sheet.heading("Links and what proves each").table(proofs(lab, &links));
    sheet = sheet.heading("Checks behind the links").table(checks(lab, &links));
    sheet = competence(lab, &links, sheet);
    sheet = corrections(lab, result, sheet);
    for one in &report.deviations {
        let words = format!("{}. Reason: {}. Allowed by {}.", one.what, one.reason, one.who);
        sheet = sheet.remark("Deviation", words);
    }
    for one in &report.doubts {
        let words = format!("{}. {}. Known since {}.", one.what, one.effect, one.since);
        sheet = sheet.remark("Doubt", words);
    }
    if !report.files.is_empty() {
        let columns = [Column::text("Of"), Column::text("File"), Column::sentence("SHA-256")];
        let files = report.files.iter().fold(Table::new("", columns), |table, file| {
            let cells = [file.of.clone(), file.name.clone(), file.sha256.clone()];
            table.row(cells.map(Cell::from))
        });
        sheet = sheet.heading("Files").table(files);
    }
    sheet.heading("The facts in the journal").table(audit_table(lab, facts))
}

/// The facts as a table.
fn audit_table(lab: &Lab, facts: &[ChainedFact]) -> Table {
    let columns = [
        Column::number("Fact"),
        Column::text("Recorded"),
        Column::text("By"),
        Column::text("What"),
        Column::sentence("Names"),
        Column::text("Hash begins"),
    ];
    facts.iter().fold(Table::new("", columns), |table, fact| {
        let local = lab.local(fact.at);
        table.row([
            Cell::from(fact.position.to_string()),
            Cell::from(local.strftime("%Y-%m-%d %H:%M").to_string()),
            Cell::from(fact.by.clone()),
            Cell::from(fact.kind.replace('-', " ")),
            Cell::from(fact.about.join(", ")),
            Cell::from(fact.hash.chars().take(16).collect::<String>()),
        ])
    })
}

/// The facts for other programs (RFC 4180), with their whole hashes.
pub fn audit_csv(facts: &[ChainedFact]) -> String {
    let head = row(["fact", "recorded", "by", "kind", "names", "hash"]);
    let rows = facts.iter().map(|fact| {
        row([
            fact.position.to_string(),
            fact.at.to_string(),
            fact.by.clone(),
            fact.kind.clone(),
            fact.about.join(" "),
            fact.hash.clone(),
        ])
    });
    std::iter::once(head).chain(rows).collect()
}

fn versions(lab: &Lab, result: &TestResult) -> Table {
    let columns = [
        Column::number("Version"),
        Column::text("Found"),
        Column::text("Worked out"),
        Column::text("Released"),
        Column::text("Issued as"),
        Column::sentence("Because"),
    ];
    let issued = lab.papers_about(PaperKind::TestReport, result.code.as_str());
    (1_usize..).zip(&result.versions).fold(Table::new("", columns), |table, (number, version)| {
        let released = version.value.release.as_ref();
        let papers = issued
            .iter()
            .filter(|paper| paper.value.covers.iter().any(|one| one.version == number))
            .map(|paper| paper.value.number.clone());
        table.row([
            Cell::from(number.to_string()),
            Cell::from(version.value.in_words()),
            Cell::from(format!(
                "fact {}, {}, {}",
                version.position,
                day(lab, Some(version.at)),
                version.by
            )),
            Cell::from(released.map_or("no".to_owned(), |release| {
                format!("fact {}, {}, {}", release.position, day(lab, Some(release.at)), release.by)
            })),
            Cell::from(listed(papers)),
            Cell::from(version.value.reason.clone()),
        ])
    })
}

fn proofs(lab: &Lab, links: &[Link]) -> Table {
    let columns = [
        Column::text("Link"),
        Column::text("Code"),
        Column::sentence("Held by"),
        Column::text("Since"),
        Column::text("Until"),
        Column::sentence("Facts"),
    ];
    links.iter().fold(Table::new("", columns), |table, link| {
        let held = match &link.proof {
            Proof::Recorded => "on record".to_owned(),
            Proof::Proved { check } => format!("check {check}"),
            Proof::Authorised { authorisation } => format!("authorisation {authorisation}"),
            Proof::Supervised { by } => format!("watched by {}", person(lab, by.as_str())),
            Proof::NotProved { why } => format!("NOT PROVED: {why}"),
        };
        let places: Vec<String> = link.positions.iter().map(ToString::to_string).collect();
        table.row([
            Cell::from(link.role.clone()),
            Cell::from(link.code.clone()),
            Cell::from(held),
            Cell::from(day(lab, link.since)),
            Cell::from(day(lab, link.until)),
            Cell::from(places.join(", ")),
        ])
    })
}

fn checks(lab: &Lab, links: &[Link]) -> Table {
    let columns = [
        Column::text("Check"),
        Column::text("Item"),
        Column::sentence("Procedure"),
        Column::text("Ended"),
        Column::text("By"),
        Column::text("Verdict"),
        Column::number("Readings"),
    ];
    let mut seen = Vec::new();
    let mut table = Table::new("", columns);
    for link in links {
        let Proof::Proved { check: code } = &link.proof else { continue };
        let Some(check) = lab.checks.get(code).filter(|_| !seen.contains(&code)) else { continue };
        seen.push(code);
        let end = check.ended.as_ref();
        table = table.row([
            Cell::from(check.code.to_string()),
            Cell::from(check.item.to_string()),
            Cell::from(check.procedure.title.clone()),
            Cell::from(day(lab, end.map(|end| end.at))),
            Cell::from(end.map(|end| end.by.to_string()).unwrap_or_default()),
            Cell::from(if check.passed() { "passed" } else { "not passed" }),
            Cell::from(check.observations.len().to_string()),
        ]);
    }
    table
}

fn competence(lab: &Lab, links: &[Link], sheet: Sheet) -> Sheet {
    let columns = [
        Column::text("Authorisation"),
        Column::text("Person"),
        Column::sentence("For"),
        Column::text("Granted"),
        Column::text("Until"),
        Column::sentence("Training and what was witnessed"),
    ];
    let mut seen = Vec::new();
    let mut table = Table::new("", columns);
    for link in links {
        let Proof::Authorised { authorisation: code } = &link.proof else { continue };
        let Some(one) = lab.authorisations.get(code).filter(|_| !seen.contains(&code)) else {
            continue;
        };
        seen.push(code);
        let activities = one.activities.iter().map(|one| one.in_words().to_owned());
        let training = std::iter::once(one.training.clone()).chain(one.evidence.iter().cloned());
        table = table.row([
            Cell::from(code.to_string()),
            Cell::from(person(lab, one.person.as_str())),
            Cell::from(format!("{} by {}", listed(activities), one.method)),
            Cell::from(format!("{}, {}", day(lab, Some(one.granted.at)), one.granted.by)),
            Cell::from(one.until.map(|day| day.to_string()).unwrap_or_default()),
            Cell::from(listed(training.filter(|words| !words.is_empty()))),
        ]);
    }
    let sheet = sheet.heading("Competence");
    if table.rows.is_empty() {
        sheet.text("No authorisation stands behind a link: the laboratory does not ask for one, or the links above say what is missing.")
    } else {
        sheet.table(table)
    }
}

/// Everything that was recorded otherwise first.
fn corrections(lab: &Lab, result: &TestResult, sheet: Sheet) -> Sheet {
    let mut said = Vec::new();
    let mut say = |position: u64, what: String, reason: &str, by: &str, at: Timestamp| {
        said.push((
            position,
            format!(
                "fact {position}: {what}; {reason} ({}, {})",
                person(lab, by),
                day(lab, Some(at))
            ),
        ));
    };
    if let Some(sample) = lab.samples.get(&result.sample) {
        for one in &sample.corrections {
            let what = format!("{} was corrected", sample.code);
            say(one.position, what, &one.value.reason, one.by.as_str(), one.at);
        }
    }
    for specimen in result.specimens.iter().filter_map(|code| lab.specimens.get(code)) {
        let masses = specimen.fractions.values().chain([&specimen.before, &specimen.after]);
        for pair in masses.flat_map(|masses| masses.windows(2)) {
            let [former, now] = pair else { continue };
            let what = format!(
                "a mass of {}: {} g became {} g",
                specimen.code, former.value.mass_g, now.value.mass_g
            );
            say(now.position, what, &now.value.reason, now.by.as_str(), now.at);
        }
        let run = specimen.run.as_ref().and_then(|run| lab.runs.get(run));
        for one in run.iter().flat_map(|run| &run.corrections) {
            let what = format!("what lay with {} was corrected", one.value.placed.specimen);
            say(one.position, what, &one.value.reason, one.by.as_str(), one.at);
        }
    }
    said.sort();
    said.dedup();
    let sheet = sheet.heading("Corrections");
    if said.is_empty() {
        return sheet.text("Nothing under this result was corrected.");
    }
    let points = said.into_iter().map(|(_, words)| words).collect();
    sheet.block(crate::Block::List { numbered: false, points })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_table_for_programs_has_whole_hashes() {
        let fact = ChainedFact {
            position: 7,
            at: Timestamp::UNIX_EPOCH,
            by: "AB".into(),
            kind: "mass-weighed".into(),
            about: vec!["S26-001-1".into(), "BAL-1".into()],
            hash: "ab".repeat(32),
        };
        let csv = audit_csv(&[fact]);
        let line = csv.lines().nth(1).unwrap();
        assert_eq!(
            line,
            format!("7,1970-01-01T00:00:00Z,AB,mass-weighed,S26-001-1 BAL-1,{}", "ab".repeat(32))
        );
    }
}
