//! Anybody's CSV as columns; every cell can be asked for as text and as number.
#![no_main]

use libfuzzer_sys::fuzz_target;
use stonewear_table::{Table, cell, row};

fuzz_target!(|bytes: &[u8]| {
    let Ok(table) = Table::read(bytes) else { return };
    assert!(!table.is_empty());
    for name in table.names() {
        let texts = table.texts(name).expect("a named column has texts");
        assert_eq!(texts.len(), table.len());
        for number in table.numbers(name).into_iter().flatten() {
            assert!(number.is_finite());
        }
        let _ = table.numbers_or_empty(name);
    }
    let _ = table.only_number_column();
    let lines: Vec<_> = (1..=table.len()).filter_map(|row| table.line(row)).collect();
    assert!(lines.len() == table.len() && lines.is_sorted());
    // Its names written out again are one line, which holds them all.
    let _ = (cell(&table.names()[0]), row(table.names().iter().map(String::as_str)));
});
