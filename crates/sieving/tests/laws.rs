//! What holds for every analysis.

#![allow(clippy::unwrap_used, reason = "a test that fails here says where")]

use proptest::prelude::*;
use stonewear_measure::{Decimal, Exact};
use stonewear_method::library;
use stonewear_sieving::{
    ClosingRule, Definition, Retained, Sieve, SieveAnalysis, SieveSet, make_up, read,
};

/// Masses in tenths of a gram on some sieves of a stack, a pan, and what was lost and washed out.
fn analysis() -> impl Strategy<Value = SieveAnalysis> {
    let stack = SieveSet::CoarseUs.sieves();
    let rows = prop::collection::vec(prop::option::of(0_i64..50_000), stack.len());
    (rows, 1_i64..50_000, prop::option::of((0_i64..50, 0_i64..5_000)), any::<u64>())
        .prop_filter_map("at least one sieve", move |(masses, pan, other, seed)| {
            let mut kept: Vec<Retained> = stack
                .iter()
                .zip(masses)
                .filter_map(|(sieve, mass)| {
                    Some(Retained { sieve: *sieve, retained_g: Decimal::new(mass?, 1) })
                })
                .collect();
            let found = kept.iter().fold(Decimal::new(pan, 1), |sum, row| sum + row.retained_g);
            // The order in which they come does not matter: turn them round.
            let turn = usize::try_from(seed % 7).unwrap() % kept.len().max(1);
            kept.rotate_left(turn);
            let after = other.map(|(lost, _)| found + Decimal::new(lost, 1));
            let before = other.map(|(lost, washed)| found + Decimal::new(lost + washed, 1));
            SieveAnalysis::new(kept, Decimal::new(pan, 1), before, after).ok()
        })
}

proptest! {
    /// Shares on the sieves and what passes the finest make a hundred, exactly; passing never
    /// grows towards the finer sieves and stays between 0 and 100.
    #[test]
    fn sums_close_and_passing_falls(analysis in analysis()) {
        let hundred = Exact::from(Decimal::ONE_HUNDRED);
        let lines = analysis.lines();
        let sum = lines.iter().fold(analysis.finest_percent(), |sum, line| sum.plus(&line.retained_percent));
        prop_assert_eq!(sum, hundred.clone());
        for line in &lines {
            prop_assert_eq!(line.passing_percent.plus(&line.cumulative_percent), hundred.clone());
            prop_assert!(line.passing_percent >= Exact::from(Decimal::ZERO));
        }
        for two in lines.windows(2) {
            prop_assert!(two[0].sieve > two[1].sieve);
            prop_assert!(two[0].passing_percent >= two[1].passing_percent);
        }
    }

    /// The order of the rows changes nothing.
    #[test]
    fn rows_may_come_in_any_order(analysis in analysis(), turn in 0_usize..9) {
        let mut rows = analysis.retained().to_vec();
        rows.reverse();
        let many = rows.len();
        rows.rotate_left(turn % many);
        let again = SieveAnalysis::new(rows, analysis.pan_g(), analysis.before_g(), analysis.after_wash_g()).unwrap();
        prop_assert_eq!(&again, &analysis);
        for definition in Definition::ALL {
            prop_assert_eq!(definition.of(&again), definition.of(&analysis));
        }
    }

    /// The definitions stand in an order: what retains more than 10 % retains more than 1 %.
    #[test]
    fn definitions_disagree_in_one_direction_only(analysis in analysis()) {
        let of = |definition: Definition| definition.of(&analysis).ok();
        if let (Some(one), Some(five)) = (of(Definition::OneAbove10Percent), of(Definition::AtMost5Percent)) {
            prop_assert!(one <= five);
        }
        if let (Some(more), Some(any)) = (of(Definition::MoreThan1Percent), of(Definition::AnyRetained)) {
            prop_assert!(more <= any);
        }
        if let (Some(any), Some(all)) = (of(Definition::AnyRetained), of(Definition::AllPassing)) {
            prop_assert!(any < all);
        }
    }

    /// A closing check that holds by the stricter rule holds by the other.
    #[test]
    fn the_stricter_rule_implies_the_other(analysis in analysis()) {
        let holds = |rule| analysis.closing(rule).is_none_or(|closing| closing.holds());
        prop_assert!(!holds(ClosingRule::AstmC136) || holds(ClosingRule::En9331));
    }

    /// The bulk that is said to be needed gives every wanted mass; a gram less than the exact bulk
    /// does not give the one that governs.
    #[test]
    fn the_bulk_needed_is_enough_and_no_more(analysis in analysis()) {
        let methods = library::built_in_methods();
        let method = library::find(&methods, "astm-d6928").unwrap();
        for grading in &method.gradings {
            let plan = make_up(method, grading, &analysis, None, Decimal::ZERO);
            let Some(bulk_g) = plan.bulk_needed_g else { continue };
            prop_assert!(!make_up(method, grading, &analysis, Some(bulk_g), Decimal::ZERO).is_short());
            let less = make_up(method, grading, &analysis, Some(bulk_g - Decimal::ONE), Decimal::ZERO);
            prop_assert!(less.fractions[plan.governs.unwrap()].is_short);
        }
    }

    /// An analysis written as a file is read back as it was, with every separator.
    #[test]
    fn a_written_file_is_read_back(analysis in analysis(), separator in prop::sample::select(vec![',', ';', '\t'])) {
        let mut text = format!("sieve_mm{separator}retained_g\n");
        for row in analysis.retained() {
            text += &format!("{}{separator}{}\n", row.sieve.in_mm(), row.retained_g);
        }
        text += &format!("pan{separator}{}\n", analysis.pan_g());
        let read = read(text.as_bytes()).unwrap();
        prop_assert_eq!(&read.retained[..], analysis.retained());
        prop_assert_eq!(read.pan_g, analysis.pan_g());
        prop_assert_eq!(read.remarks, Vec::<String>::new());
    }

    /// Whatever is typed is a sieve or refused, and a sieve is read back from how it is shown.
    #[test]
    fn designations_never_panic(typed in "\\PC{0,16}") {
        if let Ok(sieve) = typed.parse::<Sieve>() {
            prop_assert_eq!(sieve.in_mm().parse::<Sieve>(), Ok(sieve));
        }
    }

    /// Whatever bytes are given, they are read or refused.
    #[test]
    fn files_never_panic(bytes in prop::collection::vec(any::<u8>(), 0..200)) {
        let _ = read(&bytes);
    }
}
