//! Papers for use in the house and for assessors: records, dossiers, bench sheets, audit extracts,
//! control charts, the wear of a charge, duplicates, labels.

use super::{Asked, Handed, Paper, Withheld};
use crate::app::asked as in_query;
use stonewear_lab::ItemCode;
use stonewear_lab::charge::Wear;
use stonewear_lab::code::LotCode;
use stonewear_lab::control::ControlChart;
use stonewear_report::{
    LabelSize, audit_csv, audit_sheet, bench_sheet, check_record, control_csv, control_sheet, csv,
    dossier_sheet, duplicates_csv, duplicates_sheet, makeup_sheet, wear_sheet, wear_table,
};

/// The most labels of one request.
const MOST_LABELS: usize = 240;

pub(super) const ALL: &[Handed] = &[
    Handed {
        path: "/checks/{code}/record.pdf",
        name: "check-record",
        says: "The record of a check: every step, what was read, by whom, against its limits.",
        make: |asked| {
            let check = asked.lab().checks.get(asked.code(0))?;
            let (anchor, now) = (Some(asked.laboratory.anchor()), asked.laboratory.now());
            Some(Paper::marked("check-record", check_record(asked.lab(), check, anchor, now)))
        },
    },
    Handed {
        path: "/equipment/{code}/dossier.pdf",
        name: "dossier",
        says: "The dossier of an apparatus: every check, the reference runs, studies, who accepted it.",
        make: |asked| {
            let item = asked.lab().items.get(asked.code(0))?;
            let (anchor, now) = (Some(asked.laboratory.anchor()), asked.laboratory.now());
            Some(Paper::marked("dossier", dossier_sheet(asked.lab(), item, anchor, now)))
        },
    },
    Handed {
        path: "/specimens/{code}/bench-sheet.pdf",
        name: "bench-sheet",
        says: "A sheet to write the readings of a specimen on by hand, beside their limits.",
        make: |asked| {
            let specimen = asked.lab().specimens.get(asked.code(0))?;
            let (anchor, now) = (Some(asked.laboratory.anchor()), asked.laboratory.now());
            Some(Paper::marked("bench-sheet", bench_sheet(asked.lab(), specimen, anchor, now)?))
        },
    },
    Handed {
        path: "/specimens/{code}/make-up.pdf",
        name: "make-up-sheet",
        says: "What a specimen is made up of, with room for the masses.",
        make: |asked| {
            let specimen = asked.lab().specimens.get(asked.code(0))?;
            let (anchor, now) = (Some(asked.laboratory.anchor()), asked.laboratory.now());
            Some(Paper::marked("make-up-sheet", makeup_sheet(asked.lab(), specimen, anchor, now)?))
        },
    },
    Handed {
        path: "/results/{code}/audit.pdf",
        name: "audit-extract",
        says: "A result with its whole evidence, fact by fact, for an assessor.",
        make: |asked| {
            let (lab, laboratory) = (asked.lab(), asked.laboratory);
            let result = lab.results.get(asked.code(0))?;
            let facts = laboratory.chain_of(result).ok()?;
            let (anchor, now) = (Some(laboratory.anchor()), laboratory.now());
            Some(Paper::marked("audit-extract", audit_sheet(lab, result, &facts, anchor, now)))
        },
    },
    Handed {
        path: "/results/{code}/audit.csv",
        name: "audit-facts",
        says: "The facts that bear on a result, with their whole hashes.",
        make: |asked| {
            let result = asked.lab().results.get(asked.code(0))?;
            Some(Paper::Csv(audit_csv(&asked.laboratory.chain_of(result).ok()?)))
        },
    },
    Handed {
        path: "/control/{lot}/{apparatus}/chart.pdf",
        name: "control-chart-sheet",
        says: "The control chart of a reference lot on an apparatus, with its figures.",
        make: |asked| {
            let (anchor, now) = (Some(asked.laboratory.anchor()), asked.laboratory.now());
            Some(Paper::sheet(control_sheet(asked.lab(), &chart(asked)?, anchor, now)))
        },
    },
    Handed {
        path: "/control/{lot}/{apparatus}/chart.csv",
        name: "control-chart-table",
        says: "The points of a control chart.",
        make: |asked| Some(Paper::Csv(control_csv(asked.lab(), &chart(asked)?))),
    },
    Handed {
        path: "/equipment/{code}/wear.pdf",
        name: "wear-sheet",
        says: "The wear of a ball charge.",
        make: |asked| {
            let (anchor, now) = (Some(asked.laboratory.anchor()), asked.laboratory.now());
            Some(Paper::sheet(wear_sheet(asked.lab(), &wear(asked)?, anchor, now)))
        },
    },
    Handed {
        path: "/equipment/{code}/wear.csv",
        name: "wear-table",
        says: "The masses of a ball charge, one row for each.",
        make: |asked| Some(Paper::Csv(csv(&wear_table(asked.lab(), &wear(asked)?)))),
    },
    Handed {
        path: "/duplicates/report.pdf",
        name: "duplicates-sheet",
        says: "The duplicates of the laboratory and what they say about people.",
        make: |asked| {
            let lab = asked.lab();
            Some(Paper::sheet(duplicates_sheet(lab, &lab.duplicates(), asked.laboratory.now())))
        },
    },
    Handed {
        path: "/duplicates/pairs.csv",
        name: "duplicates-table",
        says: "The pairs of duplicates.",
        make: |asked| Some(Paper::Csv(duplicates_csv(&asked.lab().duplicates()))),
    },
    Handed {
        path: "/labels.pdf",
        name: "labels",
        says: "Labels of what the query names, as ?code=JAR-3&code=JAR-4&size=62x29.",
        make: |asked| Some(labels(asked).unwrap_or_else(Paper::Withheld)),
    },
];

fn chart(asked: &Asked<'_>) -> Option<ControlChart> {
    let lab = asked.lab();
    let (lot, apparatus) = (asked.code(0), asked.code(1));
    lab.items.get(apparatus)?;
    lab.control_chart(&LotCode::from(lot), &ItemCode::from(apparatus))
}

fn wear(asked: &Asked<'_>) -> Option<Wear> {
    asked.lab().wear(&asked.code(0).into(), asked.laboratory.now())
}

fn labels(asked: &Asked<'_>) -> Result<Paper, Withheld> {
    let size = in_query(asked.uri, "size");
    let size = if size.is_empty() { Ok(LabelSize::default()) } else { size.parse() };
    let size = size.map_err(Withheld::malformed)?;
    let query = asked.uri.query().unwrap_or_default();
    let codes = form_urlencoded::parse(query.as_bytes()).filter(|(name, _)| name == "code");
    let lab = asked.lab();
    let things = codes.take(MOST_LABELS).map(|(_, code)| {
        lab.thing(&code).ok_or_else(|| Withheld {
            words: format!("nothing here has the code “{code}”"),
            ..Withheld::unknown()
        })
    });
    let things = things.collect::<Result<Vec<_>, Withheld>>()?;
    if things.is_empty() {
        let words = "no code is named; write /labels.pdf?code=JAR-3".to_owned();
        return Err(Withheld { words, ..Withheld::unknown() });
    }
    let made = stonewear_report::labels(lab, &things, size, "", asked.laboratory.now());
    Ok(Paper::Labels(Box::new(made)))
}
