//! The instant of issue, for the file's own properties.

use stonewear_report::TypesetError;
use typst::foundations::Datetime;

/// Reads `2026-03-18T14:05:00Z`.
///
/// Only this one form is taken: it is what the rest of the program writes, and a paper must not
/// guess a zone. Blank is refused too, because an archival file must carry its date.
///
/// # Errors
/// When the text is not a real instant in that form.
pub(crate) fn read(field: &'static str, text: &str) -> Result<Datetime, TypesetError> {
    utc(text.trim()).ok_or_else(|| TypesetError::Instant { field, given: text.to_owned() })
}

fn utc(text: &str) -> Option<Datetime> {
    let (day, time) = text.strip_suffix('Z')?.split_once('T')?;
    let [year, month, day] = parts(day, '-', [4, 2, 2])?;
    let [hour, minute, second] = parts(time, ':', [2, 2, 2])?;
    let small = |number: u16| u8::try_from(number).ok();
    Datetime::from_ymd_hms(
        i32::from(year),
        small(month)?,
        small(day)?,
        small(hour)?,
        small(minute)?,
        small(second)?,
    )
}

/// Three numbers of fixed lengths with a mark between them.
fn parts(text: &str, mark: char, lengths: [usize; 3]) -> Option<[u16; 3]> {
    let mut numbers = [0; 3];
    let mut pieces = text.split(mark);
    for (number, length) in numbers.iter_mut().zip(lengths) {
        let piece = pieces.next()?;
        let digits = piece.len() == length && piece.bytes().all(|byte| byte.is_ascii_digit());
        *number = digits.then(|| piece.parse().ok()).flatten()?;
    }
    pieces.next().is_none().then_some(numbers)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn one_form_is_read() {
        assert!(read("instant of issue", "2026-02-28T23:59:59Z").is_ok());
        for wrong in [
            "2026-02-30T00:00:00Z",
            "2026-02-28T24:00:00Z",
            "2026-02-28T23:59:59",
            "2026-02-28T23:59:59+01:00",
            "2026-2-28T23:59:59Z",
            "2026-02-28 23:59:59Z",
            "2026-02-28-01T23:59:59Z",
            "+026-02-28T23:59:59Z",
            "yesterday",
            "",
        ] {
            let error = read("instant of issue", wrong).unwrap_err();
            assert_eq!(
                error.to_string(),
                format!("instant of issue is “{wrong}”; write it in UTC like 2026-03-18T14:05:00Z")
            );
        }
    }
}
