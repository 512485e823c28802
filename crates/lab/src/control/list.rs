//! Short lists of counted things, as policies keep them: `10 samples 7 days`.

/// The counts of `units` in a text, in their order; nothing where a word is not understood, a unit
/// is named twice, or a count is not within 1 to 1000. A unit that is not named has no count.
pub fn read<const N: usize>(typed: &str, units: [&str; N]) -> Option<[Option<u32>; N]> {
    let mut counts = [None; N];
    let words: Vec<&str> = typed.split_whitespace().collect();
    if words.is_empty() || !words.len().is_multiple_of(2) {
        return None;
    }
    for pair in words.chunks(2) {
        let [count, unit] = pair else { return None };
        let singular = |whole: &str| whole.strip_suffix('s').is_some_and(|one| one == *unit);
        let place = units.iter().position(|known| known == unit || singular(known))?;
        let count = count.parse::<u32>().ok().filter(|count| (1..=1000).contains(count))?;
        if counts[place].replace(count).is_some() {
            return None;
        }
    }
    Some(counts)
}

/// The same as it is kept.
pub fn write<const N: usize>(counts: [Option<u32>; N], units: [&str; N]) -> String {
    let parts = counts.iter().zip(units).filter_map(|(count, unit)| Some((count.as_ref()?, unit)));
    parts.map(|(count, unit)| format!("{count} {unit}")).collect::<Vec<_>>().join(" ")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn counts_are_read_with_their_units() {
        let units = ["samples", "days"];
        for (typed, read_as) in [
            ("10 samples 7 days", Some([Some(10), Some(7)])),
            ("7 days 1 sample", Some([Some(1), Some(7)])),
            ("14 days", Some([None, Some(14)])),
            ("", None),
            ("10", None),
            ("10 weeks", None),
            ("0 days", None),
            ("7 days 8 days", None),
            ("1001 days", None),
        ] {
            assert_eq!(read(typed, units), read_as, "{typed}");
        }
        assert_eq!(write([Some(10), None], units), "10 samples");
    }
}
