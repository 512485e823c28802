//! What a paper says, as plain data made from the laboratory.
//!
//! One file per paper (today: [`TestReport`]) and shared parts beside it. Texts are ready to
//! print: a mass stands here as `1499.8`, exactly as it was recorded, and no paper ever rounds,
//! judges or computes. How a paper *looks* is the matter of a [`Typesetter`]; the trait lives here
//! so that the server and the program can be given one without knowing the typesetting library.

mod build;
mod check;
mod evidence;
mod example;
mod gaps;
mod grading;
mod issue;
mod label;
mod mark;
mod outcome;
mod remarks;
mod sheet;
mod specimen;
mod test_report;
mod texts;
mod typesetter;

pub use build::pictures::{means_charts, needle_charts, score_chart};
pub use build::proficiency::proficiency_sheet;
pub use build::round::{
    participant_report, relation_words, round_instructions, round_report, test_words,
};
pub use build::{
    ChainedFact, ChartWindow, audit_csv, audit_sheet, bench_sheet, check_record, codes_of,
    control_csv, control_picture, control_picture_within, control_sheet, csv, deviations_text,
    dossier_sheet, drawn_in_part, duplicates_csv, duplicates_picture, duplicates_sentence,
    duplicates_sheet, experiment_plot, experiment_sheet, experiment_table, letterhead_preview,
    lines_words, makeup_sheet, memory_picture, memory_picture_within, project_sheet, report_number,
    stones_table, study_agreement_table, study_changed_since, study_differences_table, study_facts,
    study_intervals_in_words, study_makeup_table, study_means_table, study_pictures,
    study_plan_sheet, study_report_sheet, study_runs_table, study_variance_table, test_report,
    verdict_words, wear_plot, wear_sheet, wear_table, worn_table,
};
pub use check::{PaperCheck, PaperVerdict};
pub use evidence::{EvidenceLink, Standing};
pub use grading::grading_curve;
pub use issue::{Amendment, Authorisation, JournalAnchor, Laboratory, Logo, PaperSize};
pub use label::{Label, LabelSize, Labels, labels};
pub use mark::{Mark, Origin, printed};
pub use outcome::{Decision, Outcome, Strip, Uncertainty, WorkedLine};
pub use remarks::{Deviation, Doubt, UnconfirmedFigure};
pub use sheet::{Block, Cell, CellStrip, Column, Pair, Picture, Sheet, Table, Width};
pub use specimen::{Condition, Fraction, Specimen, Verdict, Weighing};
pub use test_report::{
    AttachedFile, Customer, Dates, MethodName, ReportedLoss, SampleFacts, TestReport,
};
pub use texts::{Text, each_text};
pub use typesetter::{TypesetError, Typesetter};
