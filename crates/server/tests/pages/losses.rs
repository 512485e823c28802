//! A thousand random specimens: the page and the command's own way of asking give the loss that
//! whole numbers, rounded by hand, give. `stonewear loss --file` is held to the same numbers by
//! the tests of the commands.

use crate::site::Site;

/// Masses before and after in tenths of a gram, and the loss in tenths of a percent: by whole
/// numbers alone, an exact half to the even digit (ASTM E29).
fn specimens() -> impl Iterator<Item = (i64, i64, i64)> {
    // A linear congruence (Knuth's MMIX constants) is chance enough, and the same everywhere.
    let mut state = 1_097_u64;
    let mut below = move |most: u64| {
        state =
            state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        i64::try_from((state >> 33) % most).unwrap()
    };
    std::iter::from_fn(move || {
        let before = 14_950 + below(101);
        let after = 9_000 + below(5_900);
        let (whole, rest) = ((before - after) * 1_000 / before, (before - after) * 1_000 % before);
        let up = rest * 2 > before || (rest * 2 == before && whole % 2 == 1);
        Some((before, after, whole + i64::from(up)))
    })
}

fn tenths(value: i64) -> String {
    format!("{}.{}", value / 10, value % 10)
}

#[test]
fn a_thousand_corrections_on_the_page_give_the_losses_of_whole_numbers() {
    let site = Site::demo();
    let (specimen, result) = site.a_finished_specimen();
    let path = format!("/specimens/{specimen}");
    let weigh = |request: &str, mass: &str| {
        let answer = site.post(
            &path,
            &[
                ("request", request),
                ("specimen", &specimen),
                ("mass_g", mass),
                ("balance", "BAL-2"),
                ("reason", "random specimens"),
                ("deviation", "random specimens"),
            ],
        );
        assert_eq!(answer.onward(), format!("/results/{result}"));
    };
    for (before, after, loss) in specimens().take(1000) {
        weigh("weigh-before", &tenths(before));
        weigh("weigh-after", &tenths(after));
        let shown = site.loss_of(&result);
        assert_eq!(shown, tenths(loss), "{} → {}", tenths(before), tenths(after));
    }
}
