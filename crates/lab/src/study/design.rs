//! Which design the numbers allow, and its runs in an order by chance.

use crate::fact::{Design, PlannedRun, Question, StudyFactor};
use std::collections::BTreeSet;
use stonewear_stats::design::Chance;

/// The factor whose level is one turning of the machine: its runs are made together.
pub(crate) const TURNING: &str = "turning";

/// The design for these factors, when each combination is run this often, and why; or what is wrong.
pub(crate) fn choose(
    question: Question,
    factors: &[StudyFactor],
    nested: bool,
    repetitions: u32,
) -> Result<(Design, String), (String, String)> {
    let counts: Vec<usize> = factors.iter().map(|factor| factor.levels.len()).collect();
    let wrong = |message: &str, hint: &str| Err((message.to_owned(), hint.to_owned()));
    if nested && counts.len() != 2 {
        let hint = "name the outer factor first and the inner one second";
        return wrong("a nested study has two factors", hint);
    }
    match (question, counts.as_slice()) {
        (Question::Reference, []) => Ok((
            Design::OneSample,
            "Results on one material are held against one value: no factor is varied.".to_owned(),
        )),
        (Question::Reference, _) => wrong(
            "a study against a reference value varies nothing",
            "leave the factors out, or ask whether they are the same",
        ),
        (Question::Equivalent, [2]) => Ok((
            Design::TwoSamples,
            "Two levels and nothing to block by: two independent sets, in an order by chance so \
             that drift falls on both."
                .to_owned(),
        )),
        (Question::Equivalent, [2, _]) if !nested => Ok((
            Design::RandomizedBlocks,
            "Both levels in every block: differences between blocks fall out of the comparison."
                .to_owned(),
        )),
        (Question::Equivalent, _) => wrong(
            "agreement is asked of two levels",
            "name one factor with two levels, and at most one more to block by",
        ),
        (Question::Same, []) => wrong("no factor is named", "name what is to be compared"),
        (Question::Same, [2]) => Ok((
            Design::TwoSamples,
            "One factor of two levels: two independent sets, in an order by chance.".to_owned(),
        )),
        (Question::Same, [_]) => Ok((
            Design::OneWay,
            "One factor: each level as often as the others, in an order by chance so that drift \
             cannot look like a difference."
                .to_owned(),
        )),
        (Question::Same, [_, _]) if nested => Ok((
            Design::Nested,
            format!(
                "The levels of {} lie within those of {}: a difference of {} has to stand out from \
                 that within.",
                factors[1].name, factors[0].name, factors[0].name
            ),
        )),
        (Question::Same, [_, _]) if repetitions == 1 => Ok((
            Design::RandomizedBlocks,
            format!(
                "Every {} once with every {}: each is compared free of the other. One run a \
                 combination cannot show whether they act together.",
                factors[0].name, factors[1].name
            ),
        )),
        (Question::Same, [a, b, c]) if a == b && b == c && *a > 2 => Ok((
            Design::LatinSquare,
            format!(
                "Three factors of {a} levels each: a Latin square needs {} runs in place of {}, and \
                 compares each factor free of the other two, as long as they do not act together.",
                a * a,
                a * a * a
            ),
        )),
        (Question::Same, [_, _] | [_, _, _]) => Ok((
            Design::Crossed,
            "Every combination of levels as often as the others: each factor is compared free of \
             the others, and repetitions show whether two act together."
                .to_owned(),
        )),
        (Question::Same, _) => wrong(
            "a study varies at most three factors",
            "leave the least important out and keep it constant, or plan two studies",
        ),
    }
}

/// The design of runs that were carried out elsewhere.
pub(crate) fn recognise(
    question: Question,
    factors: &[StudyFactor],
    nested: bool,
    runs: &[Vec<String>],
) -> Result<(Design, String), (String, String)> {
    let distinct: BTreeSet<&Vec<String>> = runs.iter().collect();
    let once = distinct.len() == runs.len();
    let (design, _) = choose(question, factors, nested, if once { 1 } else { 2 })?;
    let design = match design {
        Design::LatinSquare if !is_latin_square(factors, runs) => Design::Crossed,
        other => other,
    };
    let why = format!(
        "The runs were carried out elsewhere; by their table the layout is: {}. Whether their order \
         was left to chance is not known here.",
        design.in_words()
    );
    Ok((design, why))
}

/// Whether each level of one factor comes once with each level of each other.
fn is_latin_square(factors: &[StudyFactor], runs: &[Vec<String>]) -> bool {
    let size = factors.first().map_or(0, |factor| factor.levels.len());
    let pairs_of = |one: usize, other: usize| -> BTreeSet<(&String, &String)> {
        runs.iter().map(|levels| (&levels[one], &levels[other])).collect()
    };
    runs.len() == size * size
        && [(0, 1), (0, 2), (1, 2)].iter().all(|(a, b)| pairs_of(*a, *b).len() == runs.len())
}

/// The levels of each run of one repetition, as numbers.
fn combinations(design: Design, factors: &[StudyFactor], chance: &mut Chance) -> Vec<Vec<usize>> {
    if let (Design::LatinSquare, Some(first)) = (design, factors.first()) {
        // Rows and columns are the second and third factor, the letters are the one in question.
        let square = chance.latin_square(first.levels.len());
        let rows = square.iter().enumerate();
        return rows
            .flat_map(|(row, letters)| {
                letters.iter().enumerate().map(move |(column, letter)| vec![*letter, row, column])
            })
            .collect();
    }
    factors.iter().fold(vec![Vec::new()], |so_far, factor| {
        so_far
            .iter()
            .flat_map(|head| {
                (0..factor.levels.len())
                    .map(move |level| head.iter().copied().chain([level]).collect::<Vec<usize>>())
            })
            .collect()
    })
}

/// The runs of a plan in their order: by chance from the seed. What turns together or stands in one
/// block stays together.
pub(crate) fn runs(
    design: Design,
    factors: &[StudyFactor],
    repetitions: u32,
    seed: u64,
) -> Vec<PlannedRun> {
    let mut chance = Chance::new(seed);
    let mut all: Vec<(u32, Vec<usize>)> = Vec::new();
    for repetition in 1..=repetitions {
        let cells = combinations(design, factors, &mut chance);
        all.extend(cells.into_iter().map(|levels| (repetition, levels)));
    }
    let order = chance.order(all.len());
    let mut ordered: Vec<&(u32, Vec<usize>)> = order.iter().filter_map(|at| all.get(*at)).collect();
    let turning = factors.iter().position(|factor| factor.name == TURNING);
    let together = turning.or((design == Design::RandomizedBlocks).then_some(1));
    if let Some(place) = together {
        ordered.sort_by_key(|(repetition, levels)| (*repetition, levels.get(place).copied()));
    }
    (1..)
        .zip(ordered)
        .map(|(run, (repetition, levels))| PlannedRun {
            run,
            levels: levels
                .iter()
                .zip(factors)
                .map(|(level, factor)| factor.levels.get(*level).cloned().unwrap_or_default())
                .collect(),
            repetition: *repetition,
        })
        .collect()
}
