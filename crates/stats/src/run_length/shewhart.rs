//! Shewhart charts with run rules, as a Markov chain over what the rules still remember
//! (C. W. Champ and W. H. Woodall, Technometrics 29 (1987) 393-399).

use std::collections::HashMap;

use nalgebra::{DMatrix, DVector};

use super::{run_length, solve};
use crate::chart::Rule;
use crate::distribution::normal;
use crate::error::{self, StatsError};

/// A chain with more states than this is refused: its solution would take minutes.
const MOST_STATES: usize = 2500;

/// What each rule remembers of the points before: for each rule, bits of the points above its line
/// and of those below, the newest lowest.
type Memory = Vec<(u32, u32)>;

/// The average number of points until one of the rules signals, for normal values shifted by
/// `shift` standard deviations.
///
/// # Errors
/// When there is no rule, the shift is not finite, the rules remember too much, or they practically
/// never signal.
pub fn shewhart(rules: &[Rule], shift: f64) -> Result<f64, StatsError> {
    error::finite("the shift", &[shift])?;
    if rules.is_empty() {
        return Err(StatsError::TooFew { what: "run rules", need: 1, got: 0 });
    }
    let zones = zones(rules, shift);
    let mut known: HashMap<Memory, usize> = HashMap::new();
    let start: Memory = vec![(0, 0); rules.len()];
    known.insert(start.clone(), 0);
    let mut queue = vec![start];
    let mut steps: Vec<(usize, usize, f64)> = Vec::new();
    let mut next = 0;
    while next < queue.len() {
        let memory = queue[next].clone();
        for &(middle, probability) in &zones {
            let Some(after) = remember(&memory, rules, middle) else { continue };
            let count = known.len();
            let to = *known.entry(after.clone()).or_insert_with(|| {
                queue.push(after);
                count
            });
            steps.push((next, to, probability));
        }
        if queue.len() > MOST_STATES {
            return Err(StatsError::Layout(
                "these run rules remember too many patterns together; choose fewer or shorter ones"
                    .to_string(),
            ));
        }
        next += 1;
    }
    // L = 1 + P L over the states in which nothing has signalled yet.
    let mut matrix = DMatrix::<f64>::identity(queue.len(), queue.len());
    for (from, to, probability) in steps {
        matrix[(from, to)] -= probability;
    }
    let lengths = solve(matrix, DVector::from_element(queue.len(), 1.0))?;
    run_length(lengths[0])
}

/// The zones between all lines of the rules: a value inside each, and its probability.
fn zones(rules: &[Rule], shift: f64) -> Vec<(f64, f64)> {
    let mut lines: Vec<f64> = rules.iter().flat_map(|r| [r.beyond, -r.beyond]).collect();
    lines.sort_by(f64::total_cmp);
    lines.dedup_by(|a, b| a == b);
    let mut edges = vec![f64::NEG_INFINITY];
    edges.extend(lines);
    edges.push(f64::INFINITY);
    edges
        .windows(2)
        .map(|edge| {
            let middle = match (edge[0].is_finite(), edge[1].is_finite()) {
                (true, true) => 0.5 * (edge[0] + edge[1]),
                (true, false) => edge[0] + 1.0,
                _ => edge[1] - 1.0,
            };
            (middle, normal::between(edge[0] - shift, edge[1] - shift))
        })
        .collect()
}

/// The memory after one more point, or nothing when a rule signals.
fn remember(memory: &Memory, rules: &[Rule], z: f64) -> Option<Memory> {
    let mut after = Vec::with_capacity(rules.len());
    for (rule, &(above, below)) in rules.iter().zip(memory) {
        let above = push(rule, above, z > rule.beyond)?;
        let below = push(rule, below, -z > rule.beyond)?;
        after.push((above, below));
    }
    Some(after)
}

/// One side of one rule: adds the newest point, or nothing when the rule signals.
fn push(rule: &Rule, bits: u32, beyond: bool) -> Option<u32> {
    let window = (1u32 << rule.window) - 1;
    let mut bits = ((bits << 1) | u32::from(beyond)) & window;
    if beyond && bits.count_ones() as usize >= rule.needed {
        return None;
    }
    // The oldest point of the window falls out before the next one is judged, and a point that can
    // no longer be one of enough is forgotten, which keeps the chain small.
    bits &= window >> 1;
    for age in (1..rule.window).rev() {
        let bit = 1u32 << (age - 1);
        if bits & bit == 0 {
            continue;
        }
        let with_younger = (bits & ((bit << 1) - 1)).count_ones() as usize;
        let still_to_come = rule.window - age;
        if with_younger + still_to_come < rule.needed {
            bits &= !bit;
        }
    }
    Some(bits)
}
