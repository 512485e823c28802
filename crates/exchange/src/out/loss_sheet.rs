//! A loss as a sheet of living formulas, which give the very number that the laboratory reports.
//!
//! A spreadsheet counts in binary floats, and `100 * (A - B) / A` may fall on the wrong side of a
//! half. So the formulas count in whole numbers, which a float holds exactly below 2^53: masses in
//! units of their last decimal, the loss in whole steps of the method's rounding place and a rest,
//! the halves judged by comparing whole numbers. Only the last step divides, to show the number.

use super::xlsx::{dated, invented};
use crate::out::WorkbookError;
use jiff::Timestamp;
use rust_xlsxwriter::{Format, FormatBorder, Formula, Worksheet, XlsxError};
use stonewear_lab::Lab;
use stonewear_lab::state::TestResult;
use stonewear_measure::{Decimal, Rule};
use stonewear_method::model::Formula as Of;
use stonewear_method::{Loss, Method};
use stonewear_report::report_number;
use thiserror::Error;

/// Whole numbers up to here are exact in a spreadsheet, and so is the floor of their quotients; a
/// little below 2^53, since some spreadsheets take what differs in the sixteenth digit as equal.
const MOST_EXACT: i128 = 100_000_000_000_000;

/// Why there is no loss sheet.
#[derive(Debug, Error)]
pub enum LossSheetError {
    /// The test gives no loss from masses before and after.
    #[error(
        "{0} has no loss that follows from the masses before and after; its values are in the table of results"
    )]
    NoLoss(String),
    /// The masses have more decimals than the formulas can hold exactly.
    #[error(
        "the masses of {0} have too many decimals, or are too many, for a spreadsheet to work the loss out exactly; the page of the result shows how it was worked out"
    )]
    TooFine(String),
    /// The workbook could not be made.
    #[error(transparent)]
    Workbook(#[from] WorkbookError),
}

impl From<XlsxError> for LossSheetError {
    fn from(error: XlsxError) -> Self {
        Self::Workbook(error.into())
    }
}

/// A workbook with a sheet for each of these results.
///
/// # Errors
/// When a result has no such loss, or its masses are beyond what a spreadsheet counts exactly.
pub fn loss_sheets(
    lab: &Lab,
    as_of: Timestamp,
    results: &[&TestResult],
) -> Result<Vec<u8>, LossSheetError> {
    let mut workbook = dated(lab, as_of)?;
    for result in results {
        let no_loss = || LossSheetError::NoLoss(result.code.to_string());
        let position = result.current().map_or(0, |version| version.position);
        let method = lab.methods.get(&result.method).ok_or_else(no_loss)?.at(position);
        let loss = lab.loss_of(result).map_err(|_| no_loss())?;
        let sum = Sum::of(&loss).ok_or_else(|| LossSheetError::TooFine(result.code.to_string()))?;
        let sheet = workbook.add_worksheet();
        sheet.set_name(result.code.as_str())?;
        write(sheet, lab, result, method, &loss, &sum)?;
    }
    Ok(workbook.save_to_buffer().map_err(WorkbookError::from)?)
}

/// The loss in whole numbers, step by step as the formulas go.
#[derive(Debug)]
struct Sum {
    /// Units of mass in a gram: a power of ten.
    per_gram: i128,
    /// The rounding place is so many…
    place: i128,
    /// …of these in one percent: a power of ten.
    per_percent: i128,
    decimals: u32,
    specimens: Vec<OfSpecimen>,
    /// Steps of all specimens together, without the rests.
    whole_sum: i128,
    /// The rests together, over their common denominator.
    rests: i128,
    common: i128,
    carried: i128,
    steps: i128,
    left: i128,
    twice: i128,
    full: i128,
    up: i128,
}

#[derive(Debug)]
struct OfSpecimen {
    base: i128,
    lost: i128,
    denominator: i128,
    whole: i128,
    rest: i128,
}

impl Sum {
    /// `None` where some step is beyond what a spreadsheet holds exactly.
    fn of(loss: &Loss) -> Option<Self> {
        let place = loss.place.normalize();
        let (place, decimals) = (place.mantissa(), place.scale());
        let per_percent = 10_i128.checked_pow(decimals)?;
        let masses = loss.specimens.iter().flat_map(|one| [one.base_g, one.weighed.after_g]);
        // One decimal at least, so that the sheet takes other masses as they are usually read.
        let finest = masses.map(|mass| mass.normalize().scale()).max()?.max(1);
        let per_gram = 10_i128.checked_pow(finest)?;
        let units = |mass: Decimal| {
            let mass = mass.normalize();
            mass.mantissa().checked_mul(10_i128.checked_pow(finest - mass.scale())?)
        };
        let scale = 100 * per_percent;
        let mut specimens = Vec::new();
        let mut common = 1_i128;
        for one in &loss.specimens {
            let base = units(one.base_g)?;
            let lost = base.checked_sub(units(one.weighed.after_g)?)?;
            let denominator = base.checked_mul(place)?;
            exact(scale.checked_mul(base)?)?;
            let whole = scale * lost / denominator;
            let rest = scale * lost - whole * denominator;
            common = exact(common.checked_mul(denominator)?)?;
            specimens.push(OfSpecimen { base, lost, denominator, whole, rest });
        }
        let count = i128::try_from(specimens.len()).ok()?;
        // Other masses of about this size must be exact, too.
        let full = exact(count.checked_mul(common)?.checked_mul(4)?)? / 4;
        let whole_sum = specimens.iter().map(|one| one.whole).sum::<i128>();
        let rests = specimens.iter().map(|one| one.rest * (common / one.denominator)).sum::<i128>();
        let carried = rests / common;
        let over = rests - carried * common;
        let steps = (whole_sum + carried) / count;
        let left = whole_sum + carried - steps * count;
        let twice = 2 * (left * common + over);
        let up = match twice.cmp(&full) {
            std::cmp::Ordering::Less => 0,
            std::cmp::Ordering::Greater => 1,
            std::cmp::Ordering::Equal => match loss.rule {
                Rule::HalfEven => steps % 2,
                Rule::HalfUp => 1,
            },
        };
        Some(Self {
            per_gram,
            place,
            per_percent,
            decimals,
            specimens,
            whole_sum,
            rests,
            common,
            carried,
            steps,
            left,
            twice,
            full,
            up,
        })
    }

    fn reported(&self) -> Decimal {
        let parts = (self.steps + self.up) * self.place;
        Decimal::try_from_i128_with_scale(parts, self.decimals).unwrap_or_default()
    }
}

fn exact(number: i128) -> Option<i128> {
    (number <= MOST_EXACT).then_some(number)
}

/// Rows of the sheet, from 1 as its formulas name them.
mod at {
    pub(super) const PLACE: u32 = 7;
    pub(super) const PER_PERCENT: u32 = 8;
    pub(super) const PER_GRAM: u32 = 9;
    pub(super) const NOMINAL: u32 = 10;
    pub(super) const HEAD: u32 = 12;
    pub(super) const FIRST: u32 = 13;
}

/// Formats of the sheet.
struct Looks {
    title: Format,
    head: Format,
    typed: Format,
    whole: Format,
    worked: Format,
    reported: Format,
}

impl Looks {
    fn of(sum: &Sum) -> Self {
        let decimals = |count: u32| {
            let zeros = "0".repeat(usize::try_from(count).unwrap_or_default());
            Format::new().set_num_format(if count == 0 { "0".into() } else { format!("0.{zeros}") })
        };
        let read = u32::try_from(sum.per_gram.to_string().len() - 1).unwrap_or(1);
        let framed = decimals(read).set_border(FormatBorder::Thin);
        Self {
            title: Format::new().set_bold().set_font_size(14),
            head: Format::new().set_bold().set_text_wrap(),
            typed: framed,
            whole: Format::new().set_num_format("0"),
            worked: decimals(sum.decimals + 4),
            reported: decimals(sum.decimals).set_bold().set_border(FormatBorder::Medium),
        }
    }
}

fn write(
    sheet: &mut Worksheet,
    lab: &Lab,
    result: &TestResult,
    method: &Method,
    loss: &Loss,
    sum: &Sum,
) -> Result<(), XlsxError> {
    let looks = Looks::of(sum);
    let is_nominal = loss.formula == Of::OfNominalMass;
    sheet.set_column_width(0, 34)?;
    for column in 1..=8 {
        sheet.set_column_width(column, 15)?;
    }
    sheet.set_column_width(9, 26)?;
    let title = format!("Loss {} of sample {}", result.code, result.sample);
    sheet.write_string_with_format(0, 0, title, &looks.title)?;
    let version = report_number(result, result.version());
    let standing = match result.release() {
        Some(release) => format!("released {} by {}", lab.local(release.at).date(), release.by),
        None => "not released".to_owned(),
    };
    sheet.write_string(1, 0, format!("Version {version}, {standing}"))?;
    sheet.write_string(2, 0, format!("{} ({})", method.designation, method.edition))?;
    let rule = format!(
        "loss = {}, the mean of the specimens, rounded once to {} %: {}",
        loss.formula.in_symbols(),
        loss.place,
        loss.rule.in_words()
    );
    sheet.write_string(3, 0, rule)?;
    let how = "The masses in the frames may be changed; everything else follows from them in \
               whole numbers, which a spreadsheet holds exactly.";
    sheet.write_string(4, 0, how)?;
    if let Some(words) = invented(lab) {
        sheet.write_string(5, 0, words)?;
    }
    for (row, name, value) in [
        (at::PLACE, "Rounding place, in the parts below", sum.place),
        (at::PER_PERCENT, "Parts of a percent", sum.per_percent),
        (at::PER_GRAM, "Units of mass in a gram", sum.per_gram),
    ] {
        sheet.write_string(row - 1, 0, name)?;
        sheet.write_number_with_format(row - 1, 1, double(value), &looks.whole)?;
    }
    if is_nominal {
        let base = loss.specimens.first().map(|one| one.base_g).unwrap_or_default();
        sheet.write_string(at::NOMINAL - 1, 0, "Mass that the method takes the loss of, g")?;
        let base: f64 = base.to_string().parse().unwrap_or_default();
        sheet.write_number_with_format(at::NOMINAL - 1, 1, base, &looks.typed)?;
    }
    let heads = [
        "Specimen",
        "Mass before, g",
        "Mass after, g",
        "Loss is taken of, units",
        "Lost, units",
        "Loss in whole steps",
        "Rest",
        "Rest is over",
        "Loss, % (unrounded)",
        "Masses",
    ];
    for (column, head) in (0_u16..).zip(heads) {
        sheet.write_string_with_format(at::HEAD - 1, column, head, &looks.head)?;
    }
    let count = u32::try_from(sum.specimens.len()).unwrap_or(1);
    let last = at::FIRST + count - 1;
    for ((row, code), (weighed, one)) in
        (at::FIRST..).zip(&result.specimens).zip(loss.specimens.iter().zip(&sum.specimens))
    {
        sheet.write_string(row - 1, 0, code.as_str())?;
        for (column, mass) in [(1, weighed.weighed.before_g), (2, weighed.weighed.after_g)] {
            let mass: f64 = mass.to_string().parse().unwrap_or_default();
            sheet.write_number_with_format(row - 1, column, mass, &looks.typed)?;
        }
        let base = match is_nominal {
            true => format!("ROUND($B${}*$B${},0)", at::NOMINAL, at::PER_GRAM),
            false => format!("ROUND(B{row}*$B${},0)", at::PER_GRAM),
        };
        let scaled = format!("100*$B${}*E{row}", at::PER_PERCENT);
        let unrounded = 100.0 * double(one.lost) / double(one.base);
        let finest = format!("type the masses to 1/{} g", sum.per_gram);
        let off = |cell: &str| {
            format!("ABS({cell}*$B${0}-ROUND({cell}*$B${0},0))>0.000001", at::PER_GRAM)
        };
        let judged = format!(
            "IF(OR(B{row}=\"\",C{row}=\"\"),\"type both masses\",IF(OR({},{}),\"{finest}\",\
             IF(OR(C{row}<0,C{row}>B{row},E{row}<0),\"more after than before\",\"ok\")))",
            off(&format!("B{row}")),
            off(&format!("C{row}")),
        );
        let cells = [
            (3, base, one.base.to_string(), &looks.whole),
            (
                4,
                format!("D{row}-ROUND(C{row}*$B${},0)", at::PER_GRAM),
                one.lost.to_string(),
                &looks.whole,
            ),
            (5, format!("INT({scaled}/H{row})"), one.whole.to_string(), &looks.whole),
            (6, format!("{scaled}-F{row}*H{row}"), one.rest.to_string(), &looks.whole),
            (7, format!("D{row}*$B${}", at::PLACE), one.denominator.to_string(), &looks.whole),
            (8, format!("100*E{row}/D{row}"), unrounded.to_string(), &looks.worked),
            (9, judged, "ok".to_owned(), &looks.whole),
        ];
        for (column, formula, shown, look) in cells {
            let formula = Formula::new(format!("={formula}")).set_result(shown);
            sheet.write_formula_with_format(row - 1, column, formula, look)?;
        }
    }
    conclusion(sheet, loss, sum, last, &looks)
}

/// From the specimens to the reported loss.
fn conclusion(
    sheet: &mut Worksheet,
    loss: &Loss,
    sum: &Sum,
    last: u32,
    looks: &Looks,
) -> Result<(), XlsxError> {
    let rows: Vec<u32> = (at::FIRST..=last).collect();
    let count = rows.len();
    let product = |rows: &mut dyn Iterator<Item = u32>| {
        rows.map(|row| format!("H{row}")).collect::<Vec<_>>().join("*")
    };
    let rests = rows.iter().map(|row| {
        let others = product(&mut rows.iter().copied().filter(|other| other != row));
        if others.is_empty() { format!("G{row}") } else { format!("G{row}*{others}") }
    });
    let rests = rests.collect::<Vec<_>>().join("+");
    // Row numbers of the lines below, as they are written.
    let first = last + 2;
    let line = |place: u32| format!("B{}", first + place);
    let (whole, rest, common, carried, steps, left, twice, full, up) =
        (line(0), line(1), line(2), line(3), line(4), line(5), line(6), line(7), line(8));
    let half = match loss.rule {
        Rule::HalfEven => format!("MOD({steps},2)"),
        Rule::HalfUp => "1".to_owned(),
    };
    let lines = [
        ("Whole steps of all specimens", format!("SUM(F{}:F{last})", at::FIRST), sum.whole_sum),
        ("Rests of all, over one denominator", rests, sum.rests),
        ("That denominator", product(&mut rows.iter().copied()), sum.common),
        ("Whole steps in the rests", format!("INT({rest}/{common})"), sum.carried),
        ("Mean in whole steps", format!("INT(({whole}+{carried})/{count})"), sum.steps),
        ("Steps left over", format!("{whole}+{carried}-{steps}*{count}"), sum.left),
        (
            "Twice what is left…",
            format!("2*({left}*{common}+{rest}-{carried}*{common})"),
            sum.twice,
        ),
        ("…against one step", format!("{count}*{common}"), sum.full),
        ("One step up", format!("IF({twice}<{full},0,IF({twice}>{full},1,{half}))"), sum.up),
    ];
    for (row, (name, formula, shown)) in (first - 1..).zip(lines) {
        sheet.write_string(row, 0, name)?;
        let formula = Formula::new(format!("={formula}")).set_result(shown.to_string());
        sheet.write_formula_with_format(row, 1, formula, &looks.whole)?;
    }
    let reported = format!(
        "=IF(COUNTIF(J{}:J{last},\"ok\")={count},ROUND(({steps}+{up})*$B${}/$B${},{}),\"see the column Masses\")",
        at::FIRST,
        at::PLACE,
        at::PER_PERCENT,
        sum.decimals
    );
    let row = first + 9;
    sheet.write_string_with_format(row, 0, "Reported loss, %", &looks.head)?;
    let formula = Formula::new(reported).set_result(sum.reported().to_string());
    sheet.write_formula_with_format(row, 1, formula, &looks.reported)?;
    Ok(())
}

/// A whole number that was found to be exact.
fn double(number: i128) -> f64 {
    number.to_string().parse().unwrap_or_default()
}
