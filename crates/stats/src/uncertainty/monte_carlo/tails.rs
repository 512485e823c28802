//! Coverage intervals without keeping and sorting everything.
//!
//! An interval that holds the share p of M sorted values begins among the M - pM lowest and ends
//! among as many highest; the middle is never looked at. So a pilot block guesses thresholds a
//! little inside, each block hands over only what lies beyond them, and only that is sorted. The
//! order statistics found are exact: when a guess was too bold the run is made again with wider
//! ones.

/// What to keep: everything at or below `low`, everything at or above `high`.
#[derive(Debug, Clone, Copy)]
pub(super) struct Thresholds {
    pub(super) low: f64,
    pub(super) high: f64,
}

impl Thresholds {
    /// Keeps everything.
    pub(super) const ALL: Self = Self { low: f64::INFINITY, high: f64::NEG_INFINITY };

    /// Thresholds that keep the share `outside` of values at each end, with a margin of eight
    /// standard errors of the pilot.
    pub(super) fn guess(mut pilot: Vec<f64>, outside: f64) -> Self {
        let n = pilot.len() as f64;
        let margin = 8.0 * (outside * (1.0 - outside) / n).sqrt() + 20.0 / n;
        let keep = ((outside + margin) * n).ceil() as usize;
        if keep >= pilot.len() || pilot.iter().any(|v| !v.is_finite()) {
            return Self::ALL;
        }
        pilot.sort_unstable_by(f64::total_cmp);
        Self { low: pilot[keep], high: pilot[pilot.len() - 1 - keep] }
    }

    /// Hands over what lies beyond.
    pub(super) fn pick(self, values: &[f64], low: &mut Vec<f64>, high: &mut Vec<f64>) {
        pick_into(values, low, |v| v <= self.low);
        pick_into(values, high, |v| v >= self.high);
    }
}

/// Appends what passes, without a branch a value: they are taken at random places, which a processor
/// cannot foresee.
fn pick_into(values: &[f64], to: &mut Vec<f64>, take: impl Fn(f64) -> bool) {
    let start = to.len();
    to.resize(start + values.len(), 0.0);
    let room = &mut to[start..];
    let mut taken = 0;
    for &v in values {
        room[taken] = v;
        taken += usize::from(take(v));
    }
    to.truncate(start + taken);
}

/// Both ends of the sorted values.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Tails {
    /// The lowest, ascending.
    low: Vec<f64>,
    /// The highest, ascending.
    high: Vec<f64>,
    total: usize,
}

impl Tails {
    /// Sorts what the blocks handed over, or gives it back when it is not enough for intervals that
    /// hold `inside` of `total` values.
    pub(super) fn new(
        mut low: Vec<f64>,
        mut high: Vec<f64>,
        total: usize,
        inside: usize,
    ) -> Option<Self> {
        let need = total - inside;
        if low.len() < need || high.len() < need {
            return None;
        }
        rayon::join(
            || low.sort_unstable_by(f64::total_cmp),
            || high.sort_unstable_by(f64::total_cmp),
        );
        Some(Self { low, high, total })
    }

    /// Value of the given rank, counted from 0, for a rank among the lowest.
    fn among_lowest(&self, rank: usize) -> f64 {
        self.low[rank]
    }

    /// Value of the given rank, counted from 0, for a rank among the highest.
    fn among_highest(&self, rank: usize) -> f64 {
        self.high[self.high.len() - (self.total - rank)]
    }

    /// The interval that leaves as many values below as above (JCGM 101, 7.7.2).
    pub(super) fn symmetric(&self, inside: usize) -> (f64, f64) {
        // With an odd number left over, half-way is rounded up as the guide says.
        let r = (self.total - inside).div_ceil(2).max(1) - 1;
        (self.among_lowest(r), self.among_highest(r + inside))
    }

    /// The shortest interval (JCGM 101, 5.3.4 and 7.7.3); of equally short ones, the lowest.
    pub(super) fn shortest(&self, inside: usize) -> (f64, f64) {
        let mut best = (self.among_lowest(0), self.among_highest(inside));
        for r in 1..self.total - inside {
            let ends = (self.among_lowest(r), self.among_highest(r + inside));
            if ends.1 - ends.0 < best.1 - best.0 {
                best = ends;
            }
        }
        best
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ranks_are_those_of_the_sorted_whole() {
        // A skewed set whose order is known.
        let values: Vec<f64> = (0..1000).map(|i| f64::from((i * 389) % 1000).powi(2)).collect();
        let mut sorted = values.clone();
        sorted.sort_by(f64::total_cmp);
        let inside = 900;
        let (mut low, mut high) = (Vec::new(), Vec::new());
        let thresholds = Thresholds { low: sorted[150], high: sorted[850] };
        thresholds.pick(&values, &mut low, &mut high);
        let tails = Tails::new(low, high, 1000, inside).expect("enough");
        assert_eq!(tails.symmetric(inside), (sorted[49], sorted[949]));
        // The square is flattest at zero, so the shortest interval begins there.
        assert_eq!(tails.shortest(inside), (sorted[0], sorted[900]));
        let (mut low, mut high) = (Vec::new(), Vec::new());
        Thresholds { low: sorted[10], high: sorted[990] }.pick(&values, &mut low, &mut high);
        assert_eq!(Tails::new(low, high, 1000, inside), None);
    }
}
