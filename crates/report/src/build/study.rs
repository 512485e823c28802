//! A designed study as pictures, as tables and as papers: the plan with room to write, and the report
//! of what it showed.

use super::{capital, day, sheet_of};
use crate::{Cell, Column, JournalAnchor, Sheet, Table};
use jiff::Timestamp;
use stonewear_lab::Lab;
use stonewear_lab::estimate::double;
use stonewear_lab::fact::{Question, StudyPlanned};
use stonewear_lab::state::Study;
use stonewear_lab::study::{
    Analysis, EquivalenceFound, FactorFound, LOSS, LevelMean, RunStanding, bare, p_in_words, shown,
};
use stonewear_measure::Decimal;
use stonewear_method::Method;
use stonewear_picture::{Mean, MeansChart};

/// A picture for each factor, its means with their intervals; or, where agreement was asked for, the
/// difference with its interval between the margins.
pub fn study_pictures(study: &Study, analysis: &Analysis) -> Vec<MeansChart> {
    let plan = &study.plan.value;
    let factors = analysis.factors.iter().map(|factor| means(plan, factor));
    factors.chain(analysis.equivalence.iter().filter_map(|found| agreement(plan, found))).collect()
}

fn means(plan: &StudyPlanned, factor: &FactorFound) -> MeansChart {
    let mean = |level: &LevelMean| {
        Some(Mean {
            name: level.level.clone(),
            value: double(level.mean?),
            reach: factor.half_width.map(double),
            remark: stonewear_lab::words::counted(level.runs, "run"),
            ..Mean::default()
        })
    };
    MeansChart {
        title: format!("{}: means by {}", plan.study, factor.name),
        scale: scale(plan),
        means: in_order(plan, factor).into_iter().filter_map(mean).collect(),
        centre: None,
        limits: Vec::new(),
    }
}

/// The levels in the order in which the plan names them.
fn in_order<'a>(plan: &StudyPlanned, factor: &'a FactorFound) -> Vec<&'a LevelMean> {
    let planned = plan.factors.iter().find(|planned| planned.name == factor.name);
    let place = |level: &&LevelMean| planned?.levels.iter().position(|one| *one == level.level);
    let mut levels: Vec<&LevelMean> = factor.levels.iter().collect();
    levels.sort_by_key(place);
    levels
}

fn agreement(plan: &StudyPlanned, found: &EquivalenceFound) -> Option<MeansChart> {
    let (lower, upper) = (double(found.lower?), double(found.upper?));
    Some(MeansChart {
        title: format!("{}: {}", plan.study, found.what),
        scale: format!("difference, {}; dashed: the margin", plan.unit),
        means: vec![Mean {
            name: found.what.clone(),
            value: double(found.difference?),
            reach: Some((upper - lower) / 2.0),
            remark: if found.agrees { "within the margin" } else { "not within the margin" }.into(),
            ..Mean::default()
        }],
        centre: Some((0.0, "0".to_owned())),
        limits: [-found.margin, found.margin]
            .map(|end| (double(end), bare(end, &plan.unit)))
            .to_vec(),
    })
}

fn scale(plan: &StudyPlanned) -> String {
    if plan.unit == LOSS { "loss, %".to_owned() } else { plan.unit.clone() }
}

/// Every run in the order of the plan, with its levels, specimen and value as far as they are known.
pub fn study_runs_table(lab: &Lab, study: &Study) -> Table {
    let plan = &study.plan.value;
    let open = study.is_open() && plan.document.is_empty();
    let repeated = plan.runs.iter().any(|run| run.repetition > 1) && !plan.factors.is_empty();
    let mut columns = vec![Column::number("Run")];
    columns.extend(plan.factors.iter().map(|factor| Column::text(capital(&factor.name))));
    if repeated {
        columns.push(Column::number("Repetition"));
    }
    columns.push(Column::text("Specimen"));
    columns.push(Column::number(capital(&scale(plan))));
    columns.push(Column::sentence("Remark"));
    let caption = format!("Runs of {}, in their order", plan.study);
    lab.study_runs(study).iter().fold(Table::new(caption, columns), |table, run| {
        let known = |text: Option<String>| match text {
            Some(text) => Cell::from(text),
            None if open && run.imported_from.is_none() => Cell::to_fill(),
            None => Cell::Blank,
        };
        let planned = &run.planned;
        let mut cells = vec![Cell::from(planned.run.to_string())];
        cells.extend(planned.levels.iter().map(|level| Cell::from(level.clone())));
        if repeated {
            cells.push(Cell::from(planned.repetition.to_string()));
        }
        let specimen = run.specimen.as_ref().filter(|_| run.imported_from.is_none());
        cells.push(known(specimen.map(ToString::to_string)));
        cells.push(known(run.value.map(|value| value_shown(value, plan))));
        cells.push(Cell::from(remarks(run)));
        table.row(cells)
    })
}

/// A value as other programs read it: no unit, a plain sign.
fn value_shown(value: Decimal, plan: &StudyPlanned) -> String {
    if plan.unit == LOSS {
        bare(value, LOSS).replace('\u{2212}', "-")
    } else {
        value.normalize().to_string()
    }
}

fn remarks(run: &RunStanding) -> String {
    let departures = run.departures.iter().map(|one| match &run.excused {
        Some(why) => format!("departs: {one} ({why})"),
        None => format!("departs: {one}"),
    });
    let from = run.imported_from.iter().map(|document| format!("from {document}"));
    let doubts = run.doubts.iter().map(|one| format!("in doubt: {one}"));
    from.chain(departures).chain(doubts).collect::<Vec<_>>().join("; ")
}

/// What has to be made up before the first run: one specimen a run, with room for its masses.
pub fn study_makeup_table(lab: &Lab, study: &Study) -> Table {
    let plan = &study.plan.value;
    let gradings = gradings(lab, plan);
    // Where only one grading can be meant, its fractions are the columns.
    let fractions: Vec<String> = match gradings.as_slice() {
        [one] => one
            .fractions
            .iter()
            .map(|fraction| {
                let nominal = &fraction.mass_g.nominal.value;
                format!(
                    "{}–{} mm: {} g",
                    fraction.passing_mm.value, fraction.retained_mm.value, nominal
                )
            })
            .collect(),
        _ => Vec::new(),
    };
    let mut columns = vec![Column::number("Run"), Column::text("Specimen")];
    columns.extend(fractions.iter().map(Column::number));
    columns.push(Column::number("Dry mass before, g"));
    columns.push(Column::text("Made up by"));
    let caption = format!("Specimens to make up for {}", plan.study);
    let runs = lab.study_runs(study);
    runs.iter().filter(|run| run.value.is_none()).fold(
        Table::new(caption, columns),
        |table, run| {
            let specimen = run.specimen.as_ref().map(ToString::to_string);
            let mut cells = vec![
                Cell::from(run.planned.run.to_string()),
                specimen.map_or_else(Cell::to_fill, Cell::from),
            ];
            cells.extend((0..fractions.len() + 2).map(|_| Cell::to_fill()));
            table.row(cells)
        },
    )
}

/// The gradings of the method that the sample of a study can be run by.
fn gradings<'a>(lab: &'a Lab, plan: &StudyPlanned) -> Vec<&'a stonewear_method::model::Grading> {
    let Some(method) = method(lab, plan) else { return Vec::new() };
    let sample = plan.sample.as_ref().and_then(|sample| lab.samples.get(sample));
    let size = sample.map(|sample| sample.nominal_maximum_mm);
    let fits = |one: &&stonewear_method::model::Grading| {
        one.nominal_maximum_mm.as_ref().is_some_and(|from| Some(from.value) == size)
    };
    let fitting: Vec<_> = method.gradings.iter().filter(fits).collect();
    if fitting.is_empty() { method.gradings.iter().collect() } else { fitting }
}

fn method<'a>(lab: &'a Lab, plan: &StudyPlanned) -> Option<&'a Method> {
    plan.method.as_ref().and_then(|id| lab.methods.get(id)).map(|in_use| &in_use.method)
}

/// The means of all levels with their intervals: the figures of the pictures. Where agreement was
/// asked for, both means and the difference.
pub fn study_means_table(study: &Study, analysis: &Analysis) -> Table {
    let plan = &study.plan.value;
    let unit = &plan.unit;
    let columns = [
        Column::text("Factor"),
        Column::text("Level"),
        Column::number("Runs"),
        Column::number(format!("Mean, {unit}")),
        Column::number("From"),
        Column::number("To"),
    ];
    let caption = format!("Means of {}", plan.study);
    let say =
        |value: Option<Decimal>| Cell::from(value.map_or_else(String::new, |it| plain(it, unit)));
    let levels = analysis.factors.iter().flat_map(|factor| {
        in_order(plan, factor).into_iter().map(move |level| {
            let ends = level.mean.zip(factor.half_width);
            [
                Cell::from(factor.name.clone()),
                Cell::from(level.level.clone()),
                Cell::from(level.runs.to_string()),
                say(level.mean),
                say(ends.and_then(|(mean, half)| mean.checked_sub(half))),
                say(ends.and_then(|(mean, half)| mean.checked_add(half))),
            ]
        })
    });
    let found = analysis.equivalence.iter().map(|found| {
        [
            Cell::from("difference"),
            Cell::from(found.what.clone()),
            Cell::from(found.results.iter().sum::<usize>().to_string()),
            say(found.difference),
            say(found.lower),
            say(found.upper),
        ]
    });
    let margin = analysis.equivalence.iter().map(|found| {
        [
            Cell::from("margin"),
            Cell::from("agreement"),
            Cell::Blank,
            Cell::Blank,
            say(Some(-found.margin)),
            say(Some(found.margin)),
        ]
    });
    levels.chain(found).chain(margin).fold(Table::new(caption, columns), Table::row)
}

/// A figure as other programs read it.
fn plain(value: Decimal, unit: &str) -> String {
    let decimals = if unit == LOSS { 3 } else { 6 };
    let value = value.round_sf(7).unwrap_or(value);
    if unit == LOSS { value.round_dp(decimals).to_string() } else { value.normalize().to_string() }
}

/// All pairs of levels with the intervals of their differences.
pub fn study_differences_table(study: &Study, analysis: &Analysis) -> Table {
    let plan = &study.plan.value;
    let columns = [
        Column::text("Factor"),
        Column::text("Pair"),
        Column::number(format!("Difference, {}", plan.unit)),
        Column::number("From"),
        Column::number("To"),
        Column::number("p"),
    ];
    let caption = format!(
        "Differences of {}, intervals at {} % for all pairs of a factor together",
        plan.study, plan.figures.confidence_percent
    );
    let say = |value: Option<Decimal>| {
        Cell::from(value.map_or_else(String::new, |it| bare(it, &plan.unit)))
    };
    let rows = analysis.factors.iter().flat_map(|factor| {
        factor.differences.iter().map(move |one| {
            [
                Cell::from(factor.name.clone()),
                Cell::from(format!("{} less {}", one.second, one.first)),
                say(one.difference),
                say(one.lower),
                say(one.upper),
                Cell::from(one.p.map(p_in_words).unwrap_or_default()),
            ]
        })
    });
    rows.fold(Table::new(caption, columns), Table::row)
}

/// The analysis of variance; `None` where none was made.
pub fn study_variance_table(analysis: &Analysis) -> Option<Table> {
    if analysis.table.is_empty() {
        return None;
    }
    let columns = [
        Column::text("Source"),
        Column::number("Degrees of freedom"),
        Column::number("Sum of squares"),
        Column::number("Mean square"),
        Column::number("F"),
        Column::number("p"),
    ];
    let say = |value: Option<Decimal>| {
        let rounded = value.and_then(|value| value.round_sf(5));
        Cell::from(rounded.map_or_else(String::new, |value| value.normalize().to_string()))
    };
    let rows = analysis.table.iter().map(|row| {
        [
            Cell::from(row.source.clone()),
            Cell::from(row.freedom.to_string()),
            say(row.sum_of_squares),
            say(row.mean_square),
            say(row.f),
            Cell::from(row.p.map(p_in_words).unwrap_or_default()),
        ]
    });
    Some(rows.fold(Table::new("Analysis of variance", columns), Table::row))
}

/// The tests for agreement within the margin; `None` where that was not asked.
pub fn study_agreement_table(study: &Study, analysis: &Analysis) -> Option<Table> {
    let unit = &study.plan.value.unit;
    let found = analysis.equivalence.as_ref()?;
    let say = |value: Option<Decimal>| {
        let rounded = value.and_then(|value| value.round_sf(4));
        Cell::from(rounded.map_or_else(String::new, |value| value.normalize().to_string()))
    };
    let p = |value: Option<Decimal>| Cell::from(value.map(p_in_words).unwrap_or_default());
    let columns = [Column::text("Test"), Column::number("t"), Column::number("p")];
    let margin = shown(found.margin, unit);
    Some(
        Table::new(format!("Two one-sided tests of {}, margin ± {margin}", found.what), columns)
            .row([Cell::from("above −margin"), say(found.t_lower), p(found.p_lower)])
            .row([Cell::from("below +margin"), say(found.t_upper), p(found.p_upper)])
            .row([Cell::from("differs from 0, two-sided"), say(found.t), p(found.p_difference)]),
    )
}

/// What a study was planned with: names and values.
pub fn study_facts(lab: &Lab, study: &Study) -> Vec<(&'static str, String)> {
    let plan = &study.plan.value;
    let figures = &plan.figures;
    let unit = &plan.unit;
    let sourced = |text: String, source: &str| match source {
        "" => text,
        source => format!("{text} ({source})"),
    };
    let factors = plan.factors.iter().map(|factor| {
        format!("{} ({})", factor.name, stonewear_lab::words::listed(factor.levels.iter().cloned()))
    });
    let wanted = (figures.difference > Decimal::ZERO).then(|| {
        let text = shown(figures.difference, unit);
        let text = if plan.question == Question::Same { text } else { format!("± {text}") };
        sourced(text, &figures.difference_source)
    });
    let deviation = figures
        .deviation
        .map(|deviation| sourced(three_digits(deviation, unit), &figures.deviation_source));
    let reference = figures.reference_value.map(|value| {
        let uncertainty = figures.reference_uncertainty.unwrap_or_default();
        let text = format!(
            "{}, standard uncertainty {}",
            shown(value, unit),
            three_digits(uncertainty, unit)
        );
        sourced(text, &figures.reference_source)
    });
    let order = match (plan.seed, plan.document.as_str()) {
        (Some(seed), _) => format!("drawn by chance from the seed {seed}"),
        (None, document) => format!("as carried out elsewhere: {document}"),
    };
    let margin = if plan.question == Question::Same { "Difference to be seen" } else { "Margin" };
    vec![
        ("Question", plan.question.in_words().to_owned()),
        ("Design", plan.design.in_words().to_owned()),
        ("Factors", factors.collect::<Vec<_>>().join("; ")),
        ("About", plan.item.as_ref().map(ToString::to_string).unwrap_or_default()),
        (
            "Method",
            method(lab, plan)
                .map(|it| format!("{} ({})", it.designation, it.edition))
                .unwrap_or_default(),
        ),
        ("Sample", plan.sample.as_ref().map(ToString::to_string).unwrap_or_default()),
        (margin, wanted.unwrap_or_default()),
        ("Standard deviation of single results", deviation.unwrap_or_default()),
        ("Reference value", reference.unwrap_or_default()),
        (
            "Confidence and power",
            format!("{} %, {} %", figures.confidence_percent, figures.power_percent),
        ),
        ("Order of the runs", order),
        ("Planned", format!("{}, {}", day(lab, Some(study.plan.at)), study.plan.by)),
    ]
}

/// A spread to three digits: two decimals are too few for it.
fn three_digits(value: Decimal, unit: &str) -> String {
    format!("{} {unit}", value.round_sf(3).unwrap_or(value).normalize())
}

fn begun(lab: &Lab, study: &Study, anchor: Option<JournalAnchor>, at: Timestamp) -> Sheet {
    let plan = &study.plan.value;
    sheet_of(lab, format!("Study {}", plan.study), plan.title.clone(), anchor, at)
        .pairs(study_facts(lab, study))
}

/// The plan as a paper for the bench: why so, the order of the runs and the make-up list, with room to
/// write.
pub fn study_plan_sheet(
    lab: &Lab,
    study: &Study,
    anchor: Option<JournalAnchor>,
    at: Timestamp,
) -> Sheet {
    let plan = &study.plan.value;
    let mut sheet =
        Sheet { lead: "Plan of a designed study.".to_owned(), ..begun(lab, study, anchor, at) };
    sheet = plan.why.iter().fold(sheet, |sheet, why| sheet.text(why.clone()));
    if plan.document.is_empty() {
        sheet = sheet.remark("Caution", CAUTION);
    }
    sheet = sheet.heading("Order of the runs").table(study_runs_table(lab, study));
    let makeup = study_makeup_table(lab, study);
    if plan.document.is_empty() && study.is_open() && !makeup.rows.is_empty() {
        sheet = sheet.heading("Make-up list");
        for grading in gradings(lab, plan) {
            sheet = sheet.text(format!("Grading {}: {}.", grading.name, grading.applies.value));
        }
        sheet = sheet.table(makeup);
    }
    sheet
}

/// What is to be heeded at the machine.
const CAUTION: &str = "Nobody reaches between rollers that turn, and jars are heavy: lift one at a time. Local codes and licensed practice come first. (29 CFR 1910.212(a)(4), from memory, unconfirmed)";

/// What the study showed as a paper; of one that is open, as it stands.
pub fn study_report_sheet(
    lab: &Lab,
    study: &Study,
    anchor: Option<JournalAnchor>,
    at: Timestamp,
) -> Sheet {
    let plan = &study.plan.value;
    let mut sheet = begun(lab, study, anchor, at);
    sheet.lead = match &study.concluded {
        None => "As it stands: nobody has concluded it yet.".to_owned(),
        Some(concluded) => {
            let day = day(lab, Some(concluded.at));
            format!("{} by {}, {day}.", capital(study.in_words()), concluded.by)
        }
    };
    let analysis = lab.study_analysis(study);
    sheet = sheet.heading("What it says");
    if let Some(concluded) = &study.concluded {
        let told = &concluded.value;
        sheet =
            told.verdict.iter().fold(sheet, |sheet, said| sheet.remark("Verdict", said.clone()));
        let kind = if told.withdrawn { "Withdrawn" } else { "Conclusion" };
        sheet = sheet.remark(kind, told.remark.clone());
        for deviation in &told.deviations {
            sheet = sheet.remark("Departure", format!("{}: {}", deviation.what, deviation.reason));
        }
    }
    match &analysis {
        Err(why) => sheet = sheet.text(format!("{}.", capital(why))),
        Ok(found) => {
            if let Some(changed) = study_changed_since(study, found) {
                sheet = sheet.remark("Changed since", changed);
            }
            if study.is_open() {
                sheet = found
                    .verdict
                    .iter()
                    .fold(sheet, |sheet, said| sheet.remark("Verdict so far", said.clone()));
            }
            sheet =
                found.notes.iter().fold(sheet, |sheet, note| sheet.remark("Note", note.clone()));
            sheet = sheet.text(found.model.clone());
            for chart in study_pictures(study, found) {
                sheet = sheet.picture(chart.svg(), chart.sentence(), chart.title.clone());
            }
            sheet = sheet.text(study_intervals_in_words(plan, found));
            sheet = sheet.table(study_means_table(study, found));
            let differences = study_differences_table(study, found);
            if !differences.rows.is_empty() {
                sheet = sheet.table(differences);
            }
            let tables = [study_variance_table(found), study_agreement_table(study, found)];
            sheet = tables.into_iter().flatten().fold(sheet, Sheet::table);
        }
    }
    sheet.heading("Runs").table(study_runs_table(lab, study))
}

/// What the intervals of the pictures are.
pub fn study_intervals_in_words(plan: &StudyPlanned, analysis: &Analysis) -> String {
    match &analysis.equivalence {
        Some(found) => format!(
            "The bar is the {} % interval of the difference (two one-sided tests at {} %); agreement is shown when it lies between the margins.",
            found.interval_percent.normalize(),
            (Decimal::ONE_HUNDRED - plan.figures.confidence_percent).normalize()
        ),
        None => format!(
            "Bars about the means: half of Tukey's interval of a difference, at {} % for all pairs together. Two levels whose bars do not overlap differ.",
            plan.figures.confidence_percent
        ),
    }
}

/// That the records say something else today than when the study was concluded; `None` where they do
/// not.
pub fn study_changed_since(study: &Study, analysis: &Analysis) -> Option<String> {
    let concluded = study.concluded.as_ref().filter(|concluded| !concluded.value.withdrawn)?;
    (concluded.value.verdict != analysis.verdict).then(|| {
        format!(
            "Records were corrected after the conclusion. Today they say: {}",
            analysis.verdict.join(" ")
        )
    })
}
