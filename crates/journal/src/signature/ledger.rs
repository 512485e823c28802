//! The signatures held against a journal: what they vouch for, and what speaks against them.

use super::line::genesis;
use super::{Kind, Line, PublicKey};
use crate::hash::Hash;
use crate::instant::Instant;
use crate::store::Head;
use serde::Serialize;
use std::collections::{BTreeMap, BTreeSet};

/// A file of signatures as it was read.
#[derive(Debug, Clone, Default)]
pub struct Ledger {
    lines: Vec<(usize, Line)>,
    /// What is wrong with the file itself.
    faults: Vec<String>,
}

/// A key that signed.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct KeySeen {
    /// The key.
    pub public_key: PublicKey,
    /// Its fingerprint.
    pub fingerprint: Hash,
    /// The fingerprint of the key that vouches for it; `None` when it vouches for itself.
    pub vouched_by: Option<Hash>,
    /// From which place on it signs.
    pub from: u64,
    /// When it was introduced.
    pub at: Instant,
}

/// Entries that are lost, and somebody took that over.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Loss {
    /// The first.
    pub from: u64,
    /// The last.
    pub until: u64,
    /// When it was taken over.
    pub at: Instant,
    /// By whom and why, in their words.
    pub why: String,
}

/// What signatures vouch for.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize)]
pub struct Coverage {
    /// How many checkpoints hold.
    pub checkpoints: u64,
    /// The last place that a signature covers; 0 when there is none.
    pub until: u64,
    /// When that signature was made.
    pub at: Option<Instant>,
    /// By which key, as its fingerprint.
    pub key: Option<Hash>,
    /// Every key, in the order of their introduction.
    pub keys: Vec<KeySeen>,
    /// Entries that were taken over as lost.
    pub losses: Vec<Loss>,
    /// What speaks against the signatures or the journal, in words.
    pub faults: Vec<String>,
}

impl Ledger {
    /// Reads a file of signatures. What a killed program left of a last line is no line.
    pub fn read(text: &str) -> Self {
        let mut ledger = Self::default();
        let mut previous = genesis();
        for (number, whole) in (1..).zip(text.split_inclusive('\n')) {
            let Some(text) = whole.strip_suffix('\n') else { break };
            let line: Line = match serde_json::from_str(text) {
                Ok(line) => line,
                Err(error) => {
                    ledger.faults.push(format!("line {number} is no signature: {error}"));
                    continue;
                }
            };
            if line.text() != text.as_bytes() {
                ledger.faults.push(format!("line {number} was written anew by another program"));
            }
            if line.previous != previous {
                ledger.faults.push(format!(
                    "line {number} does not follow the one before it: a line was changed, taken out or added"
                ));
            }
            previous = Hash::of(text.as_bytes());
            ledger.lines.push((number, line));
        }
        ledger
    }

    /// The places in the journal that the signatures speak of.
    pub fn positions(&self) -> BTreeSet<u64> {
        self.lines.iter().map(|(_, line)| line.position).collect()
    }

    /// The hash of every line, oldest first: what an outside time stamp is made of.
    pub fn hashes(&self) -> Vec<(Hash, Head)> {
        self.lines.iter().map(|(_, line)| (Hash::of(&line.text()), line.head())).collect()
    }

    /// Where the journal ended last, by the signatures: it must reach at least so far. What somebody
    /// took over as lost does not count.
    pub fn end(&self) -> Option<Head> {
        let accepted = self.lines.iter().rposition(|(_, line)| line.kind == Kind::AcceptedLoss);
        let since = &self.lines[accepted.unwrap_or(0)..];
        since.iter().map(|(_, line)| line.head()).max_by_key(|head| head.position)
    }

    /// Holds the signatures against a journal that ends at `end` and has these hashes at the places of
    /// [`Ledger::positions`]. With `trusted`, a key that was handed over by another way, only what it,
    /// or a key that it vouches for, has signed counts.
    pub fn judged(
        &self,
        hashes: &BTreeMap<u64, Hash>,
        end: Head,
        trusted: Option<&PublicKey>,
    ) -> Coverage {
        let mut coverage = Coverage { faults: self.faults.clone(), ..Coverage::default() };
        let mut keys: BTreeMap<Hash, (PublicKey, bool)> = BTreeMap::new();
        for (place, (number, line)) in self.lines.iter().enumerate() {
            let mut fault = |what: String| coverage.faults.push(format!("line {number}: {what}"));
            // A key that vouches for itself brings itself along.
            let own = line.public_key.filter(|key| key.fingerprint() == line.key);
            let known = keys.get(&line.key).copied();
            let Some((key, is_trusted)) =
                known.or(own.map(|key| (key, trusted.is_none_or(|trusted| *trusted == key))))
            else {
                fault(format!("it names a key that was not introduced, {}", line.key));
                continue;
            };
            if !line.is_signed_by(&key) {
                fault("its signature is not of this line: one of the two was changed".to_owned());
                continue;
            }
            let is_first_of_journal = hashes.get(&1).is_none_or(|first| *first == line.laboratory);
            if !is_first_of_journal {
                fault("it is of the journal of another laboratory".to_owned());
                continue;
            }
            let stands = match hashes.get(&line.position) {
                Some(hash) if *hash == line.head => true,
                Some(_) => {
                    fault(format!(
                        "entry {}, or one before it, was written anew after it was signed at {}",
                        line.position, line.at
                    ));
                    false
                }
                None if line.position > end.position && !self.is_accepted(place, line.position) => {
                    fault(format!(
                        "entries {} to {} were signed at {} and are missing",
                        end.position + 1,
                        line.position,
                        line.at
                    ));
                    false
                }
                None => false,
            };
            if let Some(new) = line.public_key {
                let of_new = trusted.is_none_or(|trusted| *trusted == new) || is_trusted;
                keys.insert(new.fingerprint(), (new, of_new));
                coverage.keys.push(KeySeen {
                    public_key: new,
                    fingerprint: new.fingerprint(),
                    vouched_by: (new.fingerprint() != line.key).then_some(line.key),
                    from: line.position,
                    at: line.at,
                });
            }
            if line.kind == Kind::AcceptedLoss {
                coverage.losses.push(Loss {
                    from: line.position + 1,
                    until: line.lost_until.unwrap_or(line.position),
                    at: line.at,
                    why: line.why.clone(),
                });
            }
            if stands && is_trusted {
                coverage.checkpoints += 1;
                if line.position >= coverage.until {
                    coverage.until = line.position;
                    coverage.at = Some(line.at);
                    coverage.key = Some(line.key);
                }
            }
        }
        if let Some(trusted) = trusted
            && !keys.contains_key(&trusted.fingerprint())
        {
            let what = "none of the signatures is by the key that was named";
            coverage.faults.push(what.to_owned());
        }
        coverage
    }

    /// Whether somebody took over, behind this line, that the journal lost this place.
    fn is_accepted(&self, place: usize, position: u64) -> bool {
        self.lines[place..].iter().any(|(_, line)| {
            line.kind == Kind::AcceptedLoss
                && line.position < position
                && line.lost_until.is_some_and(|until| until >= position)
        })
    }
}
