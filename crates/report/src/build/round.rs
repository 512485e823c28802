//! The papers of a round: instructions, the report for its organiser, and one for each participant
//! that holds no code and no name but their own.

use super::pictures::{means_charts, needle_charts};
use super::sheet_of;
use crate::{Cell, Column, Sheet, Table};
use jiff::Timestamp;
use stonewear_lab::Lab;
use stonewear_lab::fact::round::Joining;
use stonewear_lab::round::{
    Analysis, HomogeneityVerdict, MaterialAnalysis, analyse, cell_lines, homogeneity, significant,
};
use stonewear_lab::state::Round;
use stonewear_lab::words::{counted, listed};
use stonewear_stats::interlab::{Precision, Verdict};
use stonewear_stats::{Figure, StatsError};

/// A sheet with the head that every paper of a round has.
pub(super) fn begun(lab: &Lab, kind: String, title: String, made: Timestamp) -> Sheet {
    sheet_of(lab, kind, title, None, made)
}

/// What every participant is told: what is in the bags, how to test, what can hurt, how and until
/// when to report; with the code of one of them, if it is for one.
pub fn round_instructions(
    lab: &Lab,
    round: &Round,
    to: Option<&Joining>,
    made: Timestamp,
) -> Sheet {
    let plan = &round.plan.value;
    let mut sheet =
        begun(lab, format!("Round {}", plan.round), format!("Instructions: {}", plan.title), made);
    if let Some(to) = to {
        sheet = sheet
            .pairs([("Your code", to.participant.to_string()), ("For", to.laboratory.clone())]);
        sheet = sheet.text("Keep your code to yourself: the reports name results by code only.");
    }
    let materials = round.materials().iter().fold(
        Table::new("Materials", [Column::text("On the bag"), Column::sentence("What is in it")]),
        |table, one| table.row([Cell::from(one.name.clone()), one.description.clone().into()]),
    );
    sheet = sheet
        .heading("What you get")
        .text("One bag of each material, split from one lot. Look whether a bag is torn; if so, do not test it, and ask for another.")
        .table(materials)
        .heading("What to do")
        .pairs([
            ("Test method", plan.method.clone()),
            ("Report", plan.quantity.clone()),
            ("Results of each material", plan.replicates.to_string()),
            ("Until", plan.closes_on.to_string()),
        ])
        .block(crate::Block::List {
            numbered: true,
            points: [
                "Check the equipment as you do before any work, and write down which was used.".to_owned(),
                "Wash and dry the material to constant mass before you make up specimens; use all of the bag for this round and nothing else.".to_owned(),
                format!(
                    "Test {} of each material one after the other, by one operator on one apparatus, each from a new specimen.",
                    counted(plan.replicates as usize, "specimen")
                ),
                "Work exactly as in daily work: no extra care, no repeats that are left out. If something went wrong, say so beside the result.".to_owned(),
                "Report every result as your method rounds it, or with one digit more; not the mean.".to_owned(),
                format!(
                    "Fill the column “value” of the form that came with this sheet, leave the other columns as they are, and send the file back by {}.",
                    plan.closes_on
                ),
            ]
            .to_vec(),
        });
    if !plan.instructions.is_empty() {
        sheet = sheet.text(plan.instructions.clone());
    }
    sheet
        .heading("What can hurt")
        .remark("Caution", CAUTIONS[0])
        .remark("Caution", CAUTIONS[1])
        .remark("Caution", CAUTIONS[2])
        .remark("Caution", CAUTIONS[3])
}

/// In our words, with their sources; none of them replaces the rules of the place.
const CAUTIONS: [&str; 4] = [
    "Dust: emptying bags, splitting and dry sieving raise silica dust. Extraction on, damp down what may be damp, respirator where the air asks for one. Local codes and licensed practice come first. (29 CFR 1910.1053, from memory, unconfirmed)",
    "Lifting: split heavy bags or lift them with two; for one person, 23 kg is the load under the best of conditions. Local codes and licensed practice come first. (NIOSH 94-110)",
    "Oven: dishes and stone come out near 110 °C. Heat-proof gloves, face away from the door, nothing that burns in the oven. Local codes and licensed practice come first. (common practice, no published source)",
    "Turning jars and drums: guard closed and hands away while anything turns, power off before reaching in, hearing protection where it is loud. Local codes and licensed practice come first. (29 CFR 1910.212(a)(4), 1910.147 and 1910.95, from memory, unconfirmed)",
];

/// The report of a round for its organiser.
pub fn round_report(lab: &Lab, round: &Round, made: Timestamp) -> Sheet {
    let analysis = analyse(round);
    let mut sheet = headed(lab, round, "Report for the organiser", made);
    sheet = with_participants(sheet, round);
    sheet = with_homogeneity(sheet, lab, round);
    sheet = sheet.heading("Precision").text(HOW_PRECISION).table(precision_table(&analysis));
    for material in &analysis.materials {
        for words in test_words(material) {
            sheet = sheet.remark(material.material.clone(), words);
        }
    }
    for words in relation_words(&analysis) {
        sheet = sheet.text(words);
    }
    for chart in needle_charts(&analysis, None) {
        sheet = sheet.picture(chart.svg(), chart.sentence(), chart.title.clone());
    }
    sheet = sheet.heading("Assigned values and scores").text(HOW_SCORES);
    sheet = sheet.table(assigned_table(&analysis));
    for chart in means_charts(round, &analysis, None) {
        sheet = sheet.picture(chart.svg(), chart.sentence(), INTERVALS);
    }
    let sheet = sheet.heading("Results").table(results_table(&analysis, None));
    with_departures(sheet, round)
}

/// The report of a round for one participant; `None` where nobody takes part under this code.
pub fn participant_report(
    lab: &Lab,
    round: &Round,
    participant: &str,
    made: Timestamp,
) -> Option<Sheet> {
    let joined = round.participants.get(participant)?;
    let analysis = analyse(round);
    let mut sheet = headed(lab, round, "Report to a participant", made).pairs([
        ("Your code", participant.to_owned()),
        ("For", joined.value.laboratory.clone()),
        ("Participants", round.participants.len().to_string()),
    ]);
    let own = analysis.materials.iter().any(|material| material.cell(participant).is_some());
    sheet = sheet.heading("Your results");
    sheet = if own {
        sheet.table(results_table(&analysis, Some(participant)))
    } else {
        sheet.text("No result came from you.")
    };
    sheet = sheet.text(VERDICTS);
    for chart in means_charts(round, &analysis, Some(participant)) {
        let caption = format!("{INTERVALS} Yours is the diamond; nobody else is named.");
        sheet = sheet.picture(chart.svg(), chart.sentence(), caption);
    }
    for chart in needle_charts(&analysis, Some(participant)) {
        let title = chart.title.replace("of the laboratories", "of your results");
        sheet = sheet.picture(chart.svg(), chart.sentence(), title);
    }
    sheet = sheet.heading("All participants together").text(HOW_PRECISION);
    sheet = sheet.table(precision_table(&analysis)).text(HOW_SCORES);
    Some(sheet.table(assigned_table(&analysis)))
}

const HOW_PRECISION: &str = "Repeatability and reproducibility by ISO 5725-2, which for cells of one size is ASTM E691; limits are 2.8 standard deviations. h and k are held against their critical values at 0.5 %. No result is left out by a test alone: a person decides, and gives the reason.";
const HOW_SCORES: &str = "The assigned value is the robust mean of all participants' means (ISO 13528, Algorithm A); its standard uncertainty is 1.25 s*/√p. Where it is more than 0.3 of the standard deviation for assessment, z' is given in place of z.";
const VERDICTS: &str = "A score up to 2 is satisfactory, between 2 and 3 questionable, from 3 on unsatisfactory, whatever its sign (ISO 13528, from memory, unconfirmed).";
const INTERVALS: &str =
    "Mean of each laboratory ± 2 s_r/√n: about 95 %, as far as scatter within a laboratory goes.";

fn headed(lab: &Lab, round: &Round, title: &str, made: Timestamp) -> Sheet {
    let plan = &round.plan.value;
    let mut sheet =
        begun(lab, format!("Round {}", plan.round), format!("{title}: {}", plan.title), made);
    let closed = round.closed();
    sheet = sheet.pairs([
        ("Test method", plan.method.clone()),
        ("Quantity", plan.quantity.clone()),
        ("Materials", listed(round.materials().iter().map(|one| one.name.as_str()))),
        ("Results of each", plan.replicates.to_string()),
        (
            "State",
            match &closed {
                Some(closed) => format!("closed on {}", lab.local(closed.at).date()),
                None => format!("draft: {}", round.standing(lab.local(made).date())),
            },
        ),
    ]);
    match closed.map(|closed| closed.value.remark.clone()).filter(|remark| !remark.is_empty()) {
        Some(remark) => sheet.text(remark),
        None => sheet,
    }
}

fn with_participants(sheet: Sheet, round: &Round) -> Sheet {
    let columns =
        [Column::text("Code"), Column::sentence("Laboratory"), Column::sentence("Contact")];
    let table = round.participants.values().map(|joined| &joined.value).fold(
        Table::new("Participants", columns),
        |table, one| {
            let own = if one.ours { " (this laboratory)" } else { "" };
            table.row([
                Cell::from(one.participant.to_string()),
                format!("{}{own}", one.laboratory).into(),
                one.contact.clone().into(),
            ])
        },
    );
    sheet
        .heading("Participants")
        .remark("Confidential", "This table says whose each code is. It stays with the organiser.")
        .table(table)
}

fn with_homogeneity(sheet: Sheet, lab: &Lab, round: &Round) -> Sheet {
    let tested = homogeneity(lab, round);
    if tested.is_empty() {
        return sheet.heading("Homogeneity").remark(
            "Departure",
            "No homogeneity test is recorded: differences between bags count as differences between laboratories.",
        );
    }
    let columns = [
        Column::text("Material"),
        Column::number("Bags"),
        Column::number("Between bags"),
        Column::number("Within a bag"),
        Column::number("Limit"),
        Column::text("Verdict"),
    ];
    let table = tested.iter().fold(Table::new("Homogeneity", columns), |table, one| {
        table.row([
            Cell::from(one.material.clone()),
            one.bags.to_string().into(),
            significant(one.between, 3).into(),
            significant(one.within, 3).into(),
            significant(one.limit, 3).into(),
            one.verdict.in_words().into(),
        ])
    });
    let mut sheet = sheet
        .heading("Homogeneity")
        .text("Standard deviations from an analysis of variance; the limit is 0.3 of the standard deviation for assessment (ISO 13528, Annex B, from memory, unconfirmed).")
        .table(table);
    for one in &tested {
        for remark in &one.remarks {
            sheet = sheet.text(format!("{}: {remark}.", one.material));
        }
        if one.verdict == HomogeneityVerdict::NotHomogeneous {
            sheet = sheet.remark(
                one.material.clone(),
                "The bags differ too much: scores of this material say less than they seem to.",
            );
        }
    }
    sheet
}

fn figure(found: Option<&Precision>, of: fn(&Precision) -> &Figure) -> Cell {
    significant(found.and_then(|found| of(found).clone().ok()), 3).into()
}

fn precision_table(analysis: &Analysis) -> Table {
    let columns = [
        Column::text("Material"),
        Column::number("Laboratories"),
        Column::number("Mean"),
        Column::number("s_r"),
        Column::number("s_R"),
        Column::number("r"),
        Column::number("R"),
    ];
    analysis.materials.iter().fold(Table::new("Precision", columns), |table, one| {
        let found = one.precision.as_ref().ok();
        table.row([
            Cell::from(one.material.clone()),
            found.map_or(0, |found| found.laboratories).to_string().into(),
            significant(found.map(|found| found.mean), 4).into(),
            figure(found, |found| &found.s_r),
            figure(found, |found| &found.s_reproducibility),
            figure(found, |found| &found.repeatability_limit),
            figure(found, |found| &found.reproducibility_limit),
        ])
    })
}

fn assigned_table(analysis: &Analysis) -> Table {
    let columns = [
        Column::text("Material"),
        Column::number("Assigned value"),
        Column::number("Its standard uncertainty"),
        Column::number("s for assessment"),
        Column::text("From"),
    ];
    analysis.materials.iter().fold(Table::new("Assigned values", columns), |table, one| {
        let from = if one.sigma_is_given { "given with the material" } else { "robust, s*" };
        table.row([
            Cell::from(one.material.clone()),
            significant(one.assigned(), 4).into(),
            significant(one.assigned_uncertainty, 2).into(),
            significant(one.sigma_pt, 3).into(),
            from.into(),
        ])
    })
}

fn results_table(analysis: &Analysis, only: Option<&str>) -> Table {
    let columns = [
        Column::text("Code"),
        Column::text("Material"),
        Column::text("Results"),
        Column::number("Mean"),
        Column::number("s"),
        Column::number("h"),
        Column::number("k"),
        Column::text("Score"),
        Column::number(""),
        Column::text("Verdict"),
        Column::sentence("Left out because"),
    ];
    let lines = cell_lines(analysis, only);
    lines
        .into_iter()
        .fold(Table::new("Results", columns), |table, line| table.row(line.map(Cell::from)))
}

/// What the tests of outliers say of a material, where they say anything.
pub fn test_words(one: &MaterialAnalysis) -> Vec<String> {
    let mut words = Vec::new();
    let level = |verdict: Verdict| match verdict {
        Verdict::Consistent => None,
        Verdict::Straggler => Some("stands out at 5 %"),
        Verdict::Outlier => Some("stands out at 1 %"),
    };
    if let Ok(found) = &one.cochran
        && let Some(level) = level(found.verdict)
    {
        words.push(format!(
            "Scatter of {} {level} (Cochran {:.3}, critical {:.3} at 5 %, {:.3} at 1 %).",
            found.laboratory, found.statistic, found.critical_5, found.critical_1
        ));
    }
    if let Ok((found, code)) = &one.grubbs
        && let Some(level) = level(found.verdict)
    {
        words.push(format!(
            "Mean of {code} {level} (Grubbs {:.3}, critical {:.3} at 5 %, {:.3} at 1 %).",
            found.statistic, found.critical_5, found.critical_1
        ));
    }
    if let Ok((found, codes)) = &one.grubbs_pair
        && let Some(level) = level(found.verdict)
    {
        words.push(format!(
            "The means of {} together {} (Grubbs for two {:.4}, critical {:.4} at 5 %, {:.4} at 1 %).",
            listed(codes.iter().map(String::as_str)),
            level.replace("stands", "stand"),
            found.statistic,
            found.critical_5,
            found.critical_1
        ));
    }
    words
}

/// How precision follows the level, where there are levels enough.
pub fn relation_words(analysis: &Analysis) -> Vec<String> {
    let say = |name: &str, found: &Result<stonewear_stats::interlab::Relation, StatsError>| {
        // A line through two levels passes through both, and says nothing.
        if analysis.materials.len() < 3 {
            return None;
        }
        let (a, b) = found.as_ref().ok()?.linear.clone().ok()?;
        let sign = if b < 0.0 { "−" } else { "+" };
        Some(format!(
            "{name} = {} {sign} {} m over {} (ISO 5725-2, iterated weighted line; m is the level).",
            significant(Some(a), 3),
            significant(Some(b.abs()), 3),
            counted(analysis.materials.len(), "level")
        ))
    };
    [say("s_r", &analysis.repeatability), say("s_R", &analysis.reproducibility)]
        .into_iter()
        .flatten()
        .collect()
}

fn with_departures(sheet: Sheet, round: &Round) -> Sheet {
    if round.deviations.is_empty() {
        return sheet;
    }
    round.deviations.iter().fold(sheet.heading("Departures"), |sheet, deviation| {
        let one = &deviation.value;
        sheet.remark("Departure", format!("{}. Reason: {}", one.what, one.reason))
    })
}
