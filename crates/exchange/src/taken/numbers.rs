//! Numbers as files write them, in the one form that the laboratory reads.

/// Significant digits of a double that spreadsheets show.
const DIGITS: usize = 15;
/// Decimals that a reading may have.
const DECIMALS: usize = 6;

/// A double of a workbook in decimal digits: as a spreadsheet would show it, to 15 significant
/// digits and at most 6 decimals.
pub(super) fn of_double(number: f64) -> String {
    if !number.is_finite() {
        return number.to_string();
    }
    let whole = format!("{:.0}", number.trunc().abs());
    let before = if whole == "0" { 0 } else { whole.len() };
    let decimals = DIGITS.saturating_sub(before).min(DECIMALS);
    let text = format!("{number:.decimals$}");
    if !text.contains('.') {
        return text;
    }
    let text = text.trim_end_matches('0').trim_end_matches('.');
    if text == "-0" { "0".to_owned() } else { text.to_owned() }
}

/// Whether a column of texts writes its decimals with a comma: some cell can be read in no other
/// way, and none has a decimal point.
pub(super) fn has_decimal_comma<'a>(cells: impl Iterator<Item = &'a str>) -> bool {
    let mut comma = false;
    for cell in cells {
        let cell = bare(cell);
        if cell.split_once('.').is_some_and(|(whole, rest)| digits(whole) && digits(rest)) {
            return false;
        }
        if let Some((whole, rest)) = cell.split_once(',')
            && digits(whole)
            && digits(rest)
        {
            // 1,234 alone may be a thousand; 14,8 and 0,125 may not.
            comma = comma || rest.len() != 3 || whole.trim_start_matches('-') == "0";
        }
    }
    comma
}

fn digits(text: &str) -> bool {
    let text = text.trim_start_matches(['-', '+']);
    !text.is_empty() && text.bytes().all(|byte| byte.is_ascii_digit())
}

/// Without the unit behind it.
fn bare(cell: &str) -> &str {
    let cell = cell.trim();
    let units = ["%", "mm", "g", "µm", "in."];
    let unit = units.iter().find_map(|unit| cell.strip_suffix(unit));
    match unit.map(str::trim_end) {
        Some(number) if number.ends_with(|last: char| last.is_ascii_digit()) => number,
        _ => cell,
    }
}

/// A number as the laboratory reads it: with a point, without the unit.
pub(super) fn plain(cell: &str, decimal_comma: bool) -> String {
    let number = bare(cell);
    match number.split_once(',') {
        Some((whole, rest)) if decimal_comma && digits(whole) && digits(rest) => {
            format!("{whole}.{rest}")
        }
        _ => number.to_owned(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn doubles_become_what_a_spreadsheet_shows() {
        for (number, text) in [
            (14.8, "14.8"),
            (14.799_999_999_999_999, "14.8"),
            (0.1 + 0.2, "0.3"),
            (1500.0, "1500"),
            (14.766_666_666_666_7, "14.766667"),
            (-0.000_000_1, "0"),
            (123_456_789_012.5, "123456789012.5"),
            (f64::NAN, "NaN"),
        ] {
            assert_eq!(of_double(number), text);
        }
    }

    #[test]
    fn a_decimal_comma_is_seen_and_replaced() {
        assert!(has_decimal_comma(["14,8 %", "15"].into_iter()));
        assert!(has_decimal_comma(["0,125"].into_iter()));
        assert!(!has_decimal_comma(["14,8", "15.2"].into_iter()));
        assert!(!has_decimal_comma(["1,234"].into_iter()));
        assert_eq!(plain("14,8 %", true), "14.8");
        assert_eq!(plain("1,234", false), "1,234");
        assert_eq!(plain("1,234 g", true), "1.234");
        assert_eq!(plain("about 15", true), "about 15");
    }
}
