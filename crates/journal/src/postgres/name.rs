//! What a laboratory is called in a database.

use super::error::DatabaseError;
use std::fmt;
use std::str::FromStr;

/// The most letters of a name.
const LONGEST: usize = 40;

/// The name of a laboratory in a database that it shares with others: `granite-hill`.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct LaboratoryName(String);

impl LaboratoryName {
    /// The name as text.
    pub fn as_str(&self) -> &str {
        &self.0
    }
}

impl FromStr for LaboratoryName {
    type Err = DatabaseError;

    fn from_str(typed: &str) -> Result<Self, Self::Err> {
        let is_letter = |letter: char| letter.is_ascii_lowercase();
        let may_stand =
            |letter: char| is_letter(letter) || letter.is_ascii_digit() || letter == '-';
        let is_name =
            typed.starts_with(is_letter) && typed.len() <= LONGEST && typed.chars().all(may_stand);
        if is_name {
            Ok(Self(typed.to_owned()))
        } else {
            Err(DatabaseError::Name(typed.to_owned()))
        }
    }
}

impl fmt::Display for LaboratoryName {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.0)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_are_short_and_plain() {
        for good in ["a", "granite-hill", "lab2", &"a".repeat(40)] {
            assert_eq!(good.parse::<LaboratoryName>().unwrap().as_str(), good);
        }
        for bad in ["", "2lab", "-a", "Granite", "granite hill", "a'b", "é", &"a".repeat(41)] {
            let error = bad.parse::<LaboratoryName>().unwrap_err().to_string();
            assert!(error.contains("granite-hill"), "{error}");
        }
    }
}
