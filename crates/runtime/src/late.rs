//! Entries that waited on a tablet while the laboratory could not be reached. The journal tells when
//! they arrived; their key tells when they were made, by the clock of the tablet.

use jiff::Timestamp;

const MADE: &str = " made ";

/// The key of an entry that waited.
pub fn late_key(key: &str, made: Timestamp) -> String {
    format!("{key}{MADE}{made}")
}

/// Whether this key is that one, of an entry that came at once or waited.
pub fn is_key(kept: &str, key: &str) -> bool {
    kept.strip_prefix(key).is_some_and(|rest| rest.is_empty() || rest.starts_with(MADE))
}

/// When the entry with this key was made, where it waited.
pub(crate) fn made(key: &str) -> Option<Timestamp> {
    key.rsplit_once(MADE)?.1.parse().ok()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_key_tells_when_its_entry_was_made() {
        let at: Timestamp = "2026-03-02T08:15:00Z".parse().unwrap();
        assert_eq!(made(&late_key("k1", at)), Some(at));
        assert_eq!(made("k1"), None);
        assert_eq!(made("k1 made of sand"), None);
        assert!(is_key(&late_key("k1", at), "k1") && is_key("k1", "k1"));
        assert!(!is_key("k12", "k1") && !is_key(&late_key("k12", at), "k1"));
    }
}
