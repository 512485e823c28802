//! Reports: the issued files, and copies for checking.

use super::{Asked, Handed, Paper, Withheld};

pub(super) const ALL: &[Handed] = &[
    Handed {
        path: "/results/{code}/report.pdf",
        name: "report-file",
        says: "The issued report to the byte, or a copy for checking while the version that counts is not issued.",
        make: report,
    },
    Handed {
        path: "/papers/{fingerprint}/file.pdf",
        name: "paper-file",
        says: "The file of an issued paper.",
        make: issued,
    },
];

fn report(asked: &Asked<'_>) -> Option<Paper> {
    let (laboratory, lab) = (asked.laboratory, asked.lab());
    let result = lab.results.get(asked.code(0))?;
    if let Some(issued) = lab.issued_report(result) {
        return Some(match laboratory.issued_file(&issued.value) {
            Ok(bytes) => Paper::Issued(bytes, issued.value.number.clone()),
            Err(error) => Paper::Withheld(Withheld::failed(error.to_string())),
        });
    }
    let anchor = match laboratory.anchor_of(result) {
        Ok(anchor) => anchor,
        Err(error) => return Some(Paper::Withheld(Withheld::failed(error.to_string()))),
    };
    Some(Paper::Report(Box::new(stonewear_report::test_report(lab, result, anchor))))
}

fn issued(asked: &Asked<'_>) -> Option<Paper> {
    let paper = asked.lab().paper_of(asked.code(0))?;
    Some(match asked.laboratory.issued_file(&paper.value) {
        Ok(bytes) => Paper::Issued(bytes, paper.value.number.clone()),
        Err(error) => Paper::Withheld(Withheld::failed(error.to_string())),
    })
}
