//! Plain tables for people.

use stonewear_stats::Figure;

/// A number with up to seven significant digits, which is more than a person reads off.
pub(super) fn short(value: f64) -> String {
    let size = value.abs();
    if value == 0.0 {
        return "0".to_owned();
    }
    if !(1e-4..1e9).contains(&size) {
        return format!("{value:.5e}");
    }
    let whole = size.log10().floor() as i32;
    let places = (6 - whole).clamp(0, 9) as usize;
    let text = format!("{value:.places$}");
    if text.contains('.') {
        text.trim_end_matches('0').trim_end_matches('.').to_owned()
    } else {
        text
    }
}

/// A number with three significant digits, for uncertainties and for words in pictures: nobody knows
/// more of them.
pub(super) fn brief(value: f64) -> String {
    if value == 0.0 || !(1e-4..1e9).contains(&value.abs()) {
        return short(value);
    }
    let places = (2 - value.abs().log10().floor() as i32).clamp(0, 9) as usize;
    format!("{value:.places$}")
}

/// A figure, or its reason in brackets.
pub(super) fn figure(figure: &Figure) -> String {
    match figure {
        Ok(value) => short(*value),
        Err(why) => format!("not defined ({why})"),
    }
}

/// Lines of a label and a value.
pub(super) fn lines(pairs: &[(&str, String)]) -> String {
    let width = pairs.iter().map(|(label, _)| label.chars().count()).max().unwrap_or(0);
    let line = |(label, value): &(&str, String)| format!("{label:width$}  {value}\n");
    pairs.iter().map(line).collect()
}

/// Columns below a header: the first to the left, the others to the right.
pub(crate) fn columns(header: &[&str], rows: &[Vec<String>]) -> String {
    let width = |column: usize| {
        let cells = rows.iter().filter_map(|row| row.get(column)).map(|c| c.chars().count());
        cells.chain(header.get(column).map(|h| h.chars().count())).max().unwrap_or(0)
    };
    let widths: Vec<usize> = (0..header.len()).map(width).collect();
    let line = |cells: &[String]| {
        let padded: Vec<String> = cells
            .iter()
            .zip(&widths)
            .enumerate()
            .map(
                |(i, (cell, &width))| {
                    if i == 0 { format!("{cell:width$}") } else { format!("{cell:>width$}") }
                },
            )
            .collect();
        format!("{}\n", padded.join("  ").trim_end())
    };
    let header: Vec<String> = header.iter().map(|h| (*h).to_owned()).collect();
    std::iter::once(line(&header)).chain(rows.iter().map(|row| line(row))).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_are_short_and_whole_where_they_are_whole() {
        let cases = [
            (0.0, "0"),
            (14.8, "14.8"),
            (1500.0, "1500"),
            (1234567.0, "1234567"),
            (0.016_674_156, "0.01667416"),
            (-370.398_347, "-370.3983"),
            (2.5e-7, "2.50000e-7"),
            (1e12, "1.00000e12"),
            (123_456_789.0, "123456789"),
        ];
        for (value, expected) in cases {
            assert_eq!(short(value), expected);
        }
    }

    #[test]
    fn brief_numbers_keep_three_digits() {
        let cases = [
            (0.28072, "0.281"),
            (746.89, "747"),
            (0.09647, "0.0965"),
            (12.0, "12.0"),
            (5006.2, "5006"),
        ];
        for (value, expected) in cases {
            assert_eq!(brief(value), expected);
        }
    }

    #[test]
    fn columns_are_aligned_by_what_is_seen() {
        let rows = vec![
            vec!["a × b".to_owned(), "1".to_owned()],
            vec!["total".to_owned(), "10.5".to_owned()],
        ];
        assert_eq!(columns(&["source", "F"], &rows), "source     F\na × b      1\ntotal   10.5\n");
    }
}
