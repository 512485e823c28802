//! The pages where something is done, found by the words that people have for it.

use stonewear_language::Language;

/// A page that stands by itself.
pub(super) struct Place {
    /// What it is called, or what is done there.
    pub(super) words: &'static str,
    /// What else is there: it is found by these words too.
    pub(super) holds: &'static str,
    pub(super) path: &'static str,
}

const fn place(words: &'static str, holds: &'static str, path: &'static str) -> Place {
    Place { words, holds, path }
}

const PLACES: [Place; 36] = [
    place("Benches", "what turns now, what is asked next", "/"),
    place("Receive a sample", "bag, delivery, new sample", "/samples/new"),
    place("Start a run", "turn jars, machine", "/runs/new"),
    place("Samples", "what was received", "/samples"),
    place("Results", "losses, release", "/results"),
    place("To be released", "results that wait for a release", "/results?state=to-be-released"),
    place("Register an item", "new jar, balance, sieve, apparatus, charge", "/equipment/new"),
    place("Equipment", "items, checks, calibration", "/equipment"),
    place("What is due", "checks, calibration, calendar", "/due"),
    place("Control charts", "reference aggregate, lots, in control", "/control"),
    place("Register a lot", "reference aggregate", "/control/new"),
    place("Doubts", "results in doubt after a failed check", "/doubts"),
    place("Methods", "limits, gradings, numbers and their sources", "/methods"),
    place("Policies", "how a loss is judged", "/policies"),
    place("Experiments", "conditions, sensitivity", "/experiments"),
    place("Plan an experiment", "conditions, sensitivity", "/experiments/new"),
    place("Studies", "repeatability, uncertainty", "/studies"),
    place("Plan a study", "repeatability, uncertainty", "/studies/new"),
    place("Duplicates", "two specimens of one sample", "/duplicates"),
    place("Rounds between laboratories", "interlaboratory, precision", "/rounds"),
    place("Plan a round", "interlaboratory, precision", "/rounds/new"),
    place("Proficiency", "scores in the rounds of others", "/proficiency"),
    place("Papers", "issued reports", "/papers"),
    place("Check a paper", "is a report real and still good", "/papers/check"),
    place("Guide", "help, how to, tutorial", "/guide"),
    place("The look", "every part of the page", "/look"),
    place("Letterhead", "name and logo on papers", "/letterhead"),
    place("People", "rights, authorisation", "/people"),
    place("Who is at the bench", "change the person, sit down", "/who"),
    place("Programs", "tokens, webhooks, interface", "/programs"),
    place("Journal", "everything that was recorded", "/journal"),
    place("Verify the journal", "hash chain, tampering", "/journal?verify=now"),
    place("Tables out", "export, spreadsheet, CSV, XLSX", "/export"),
    place("Files in", "import, spreadsheet of the past", "/imports"),
    place("Release a result", "sign, approve", "/results?state=to-be-released"),
    place("Equipment that is held", "failed checks", "/equipment?standing=held"),
];

/// The places that the words lead to: those that are called so before those that hold it.
pub(super) fn near(typed: &str, language: Language) -> impl Iterator<Item = &'static Place> {
    // In English too, whatever the language: its words stand in methods and manuals.
    let fits =
        move |text: &str| all_begin_in(typed, text) || all_begin_in(typed, &language.say(text));
    let holds = move |place: &Place| {
        let said = format!("{} {}", language.say(place.words), language.say(place.holds));
        all_begin_in(typed, &format!("{} {}", place.words, place.holds))
            || all_begin_in(typed, &said)
    };
    let called = PLACES.iter().filter(move |place| fits(place.words));
    let holding = PLACES.iter().filter(move |place| !fits(place.words) && holds(place));
    called.chain(holding)
}

/// Whether every typed word begins a word of the text, whatever its case.
pub(super) fn all_begin_in(typed: &str, text: &str) -> bool {
    let words = |text: &str| -> Vec<String> {
        text.split(|letter: char| !letter.is_alphanumeric())
            .filter(|word| !word.is_empty())
            .map(str::to_lowercase)
            .collect()
    };
    let (typed, text) = (words(typed), words(text));
    !typed.is_empty() && typed.iter().all(|word| text.iter().any(|of| of.starts_with(word)))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_place_is_found_in_the_language_of_the_reader_too() {
        for (language, typed) in [
            (Language::French, "réceptionner éch"),
            (Language::Spanish, "recibir"),
            (Language::German, "probe annehmen"),
            (Language::German, "receive a sample"),
        ] {
            let first = near(typed, language).next().map(|place| place.path);
            assert_eq!(
                first,
                Some("/samples/new"),
                "{typed}: {}",
                language.say("Receive a sample")
            );
        }
    }

    #[test]
    fn a_place_is_found_by_what_people_call_it() {
        for (typed, first) in [
            ("receive", Some("/samples/new")),
            ("NEW SAM", Some("/samples/new")),
            ("control ch", Some("/control")),
            ("calib", Some("/equipment")),
            ("verify", Some("/journal?verify=now")),
            ("release", Some("/results?state=to-be-released")),
            ("jar zebra", None),
            ("", None),
            ("–", None),
        ] {
            assert_eq!(
                near(typed, Language::English).next().map(|place| place.path),
                first,
                "{typed}"
            );
        }
    }
}
