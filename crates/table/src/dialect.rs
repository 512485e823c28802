//! Which separators a file uses.

/// The sign between units and tenths.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum DecimalSign {
    /// 12.3
    Point,
    /// 12,3
    Comma,
}

/// How a file is written.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Dialect {
    /// Between cells: comma, semicolon or tab.
    pub separator: char,
    /// In numbers.
    pub decimal: DecimalSign,
}

/// The separator that the header uses: a semicolon or a tab wins over a comma, because names of columns
/// may hold a comma ("loss, %") and hardly ever the others.
pub(super) fn separator(header: &str) -> char {
    let mut quoted = false;
    let outside: String = header
        .chars()
        .filter(|c| {
            if *c == '"' {
                quoted = !quoted;
            }
            !quoted
        })
        .collect();
    [';', '\t', ','].into_iter().find(|s| outside.contains(*s)).unwrap_or(',')
}

/// Whether a cell is a number with exactly one decimal comma and no point: `12,3`, `-0,5`, `1,2e-3`.
pub(super) fn has_decimal_comma(cell: &str) -> bool {
    let Some((whole, rest)) = cell.split_once(',') else { return false };
    let whole = whole.trim_start_matches(['+', '-']);
    let digits = rest.split(['e', 'E']).next().unwrap_or("");
    let all_digits = |text: &str| text.chars().all(|c| c.is_ascii_digit());
    !digits.is_empty()
        && all_digits(digits)
        && all_digits(whole)
        && cell.replacen(',', ".", 1).parse::<f64>().is_ok()
}

/// Whether a cell is a number with a decimal point.
pub(super) fn has_decimal_point(cell: &str) -> bool {
    cell.contains('.') && !cell.contains(',') && cell.parse::<f64>().is_ok_and(f64::is_finite)
}
