//! Small helpers for sentences that page, command line and paper share.

/// `1 specimen`, `2 specimens`.
pub fn counted(count: usize, noun: &str) -> String {
    if count == 1 { format!("1 {noun}") } else { format!("{count} {noun}s") }
}

/// `1 more specimen`, `2 more specimens`.
pub fn counted_more(count: usize, noun: &str) -> String {
    counted(count, noun).replacen(' ', " more ", 1)
}

/// `a, b and c`.
pub fn listed<I, S>(parts: I) -> String
where
    I: IntoIterator<Item = S>,
    S: Into<String>,
{
    let mut parts: Vec<String> = parts.into_iter().map(Into::into).collect();
    match parts.pop() {
        None => String::new(),
        Some(last) if parts.is_empty() => last,
        Some(last) => format!("{} and {last}", parts.join(", ")),
    }
}

/// `a, b or c`.
pub fn listed_or(parts: &[String]) -> String {
    match parts.split_last() {
        None => String::new(),
        Some((last, [])) => last.clone(),
        Some((last, others)) => format!("{} or {last}", others.join(", ")),
    }
}

/// The names of the IANA time zone database, in order.
pub fn time_zones() -> impl Iterator<Item = String> {
    let names: std::collections::BTreeSet<String> =
        jiff::tz::db().available().map(|name| name.to_string()).collect();
    names.into_iter()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn sentences() {
        assert_eq!(counted(1, "specimen"), "1 specimen");
        assert_eq!(counted(3, "jar"), "3 jars");
        assert_eq!(counted_more(1, "result"), "1 more result");
        assert_eq!(counted_more(8, "result"), "8 more results");
        assert_eq!(listed(["a"]), "a");
        assert_eq!(listed(["a", "b", "c"]), "a, b and c");
        assert_eq!(listed(Vec::<String>::new()), "");
        let parts = ["a", "b", "c"].map(str::to_owned);
        assert_eq!(listed_or(&parts), "a, b or c");
        assert_eq!((listed_or(&parts[..1]), listed_or(&[])), ("a".to_owned(), String::new()));
    }
}
