//! Designations as people write them.

use super::*;

fn read(typed: &str) -> Result<String, String> {
    typed.parse::<Sieve>().map(|sieve| sieve.to_string()).map_err(|error| error.to_string())
}

#[test]
fn a_sieve_is_known_by_its_opening_and_by_its_us_designation() {
    let cases = [
        (
            "19.0 mm (3/4 in.)",
            &["19", "19.0", "19,0", " 19.00 mm", "3/4 in.", "3/4\"", "3/4", "¾ in"][..],
        ),
        ("37.5 mm (1 1/2 in.)", &["37.5", "1 1/2 in.", "1-1/2\"", "1½ in", "1 1/2"]),
        ("25.0 mm (1 in.)", &["25", "1 in.", "1\"", "1 inch"]),
        ("4.75 mm (No. 4)", &["4.75", "No. 4", "no 4", "No.4", "#4", "NO. 4"]),
        ("4.00 mm (No. 5)", &["4", "4.00", "No. 5"]),
        ("1.18 mm (No. 16)", &["1.18", "No. 16", "# 16"]),
        ("0.600 mm (No. 30)", &["0.6", "600 µm", "600um", "0,600", "No. 30"]),
        ("0.075 mm (No. 200)", &["0.075", "75 µm", "No. 200", "#200"]),
        ("20 mm", &["20", "20.0 mm"]),
        ("1.6 mm", &["1.6", "1.60"]),
        ("0.063 mm (No. 230)", &["0.063", "63 µm"]),
    ];
    for (wanted, texts) in cases {
        for text in texts {
            assert_eq!(read(text), Ok(wanted.to_owned()), "{text:?}");
        }
    }
}

#[test]
fn what_is_no_sieve_is_refused_with_what_would_be_right() {
    assert_eq!(
        read("17.3").unwrap_err(),
        "no sieve of the general sets has an opening of 17.3 mm; the nearest are 16.0 mm (5/8 in.) and 18 mm"
    );
    assert_eq!(
        read("12,500").unwrap_err(),
        "“12,500” can mean 12500 or 12,500; write 12500 or 12.500"
    );
    let not_a_sieve = "is not a sieve; write its opening in mm like 19.0, or its US designation like 3/4 in. or No. 4";
    for typed in ["coarse", "No. 3", "5/9 in.", "19 cm", "pan"] {
        assert_eq!(read(typed).unwrap_err(), format!("“{typed}” {not_a_sieve}"));
    }
    for typed in ["0", "-4.75", "1000", "0.001"] {
        assert!(read(typed).unwrap_err().starts_with("no sieve of the general sets"), "{typed}");
    }
    assert!(read(" ").unwrap_err().starts_with("a sieve is missing"));
}

#[test]
fn both_series_are_whole() {
    // Twenty openings a decade, each 10^(1/20) times the one before, within the rounding of the
    // standard.
    for digits in R20 {
        for shift in [0, 1, 2, 3] {
            let opening = Decimal::new(digits, shift + 1);
            let is_made = opening >= R20_FROM_TO.0 && opening <= R20_FROM_TO.1;
            assert_eq!(Sieve::with_opening(opening).is_some(), is_made, "{opening}");
        }
    }
    for (opening, name) in US {
        assert_eq!(name.parse::<Sieve>(), opening.parse::<Sieve>(), "{opening} {name}");
        assert_eq!(opening.parse::<Sieve>().map(Sieve::in_mm), Ok(opening.to_owned()));
    }
    assert!(US.windows(2).all(|two| {
        let opening = |text: &str| text.parse::<Decimal>().unwrap();
        opening(two[0].0) > opening(two[1].0)
    }));
}

#[test]
fn the_next_coarser_sieve_is_of_the_same_set() {
    let next = |typed: &str| typed.parse::<Sieve>().unwrap().next_coarser().map(Sieve::in_mm);
    assert_eq!(next("4.75").as_deref(), Some("5.6"));
    assert_eq!(next("20").as_deref(), Some("22.4"));
    assert_eq!(next("125"), None);
}

#[test]
fn every_stack_is_sorted_and_known() {
    for set in SieveSet::ALL {
        assert!(set.sieves().len() >= 8, "{set:?} lost a sieve");
        assert!(set.sieves().windows(2).all(|two| two[0] > two[1]), "{set:?}");
        assert_eq!(set.name().parse(), Ok(set));
    }
}
