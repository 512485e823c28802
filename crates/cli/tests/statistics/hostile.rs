//! Whatever people put into a CSV file: never a panic, never NaN, always a reason.

use crate::desk::{Desk, Said};

/// Every command that reads one column of numbers, and more that read several.
const COMMANDS: [&str; 21] = [
    "describe FILE",
    "describe FILE --normality",
    "robust FILE",
    "outliers FILE",
    "outliers FILE --test dixon",
    "outliers FILE --test esd --most 2",
    "acceptance FILE --upper 18",
    "tolerance FILE",
    "chart individuals FILE --rules 1,2,3,4",
    "chart ewma FILE",
    "chart cusum FILE",
    "chart individuals FILE --target 12 --sigma 1",
    "chart cusum FILE --target 12 --sigma 1",
    "compare FILE FILE",
    "compare FILE FILE --paired",
    "equivalence FILE FILE --lower -1 --upper 1",
    "equivalence FILE --lower -1 --upper 1",
    "fit FILE --x v --y v --at 3 --svg out.svg",
    "trend FILE --x v --y v --limit 3 --svg out.svg",
    "anova FILE --response v --factor v",
    "relations FILE --level v --sd v",
];

/// Holds for every answer there is.
#[track_caller]
fn sound(said: &Said, line: &str) {
    assert!(said.status <= 2, "{line}: status {}\n{}", said.status, said.stderr);
    assert!(!said.stderr.contains("panicked"), "{line}: {}", said.stderr);
    let lower = said.stdout.to_lowercase();
    for word in lower.split(|c: char| !c.is_alphanumeric()) {
        assert!(!["nan", "inf", "infinity"].contains(&word), "{line}: {}", said.stdout);
    }
    if said.status == 2 {
        assert!(said.stdout.is_empty() && !said.stderr.is_empty(), "{line}");
    } else if line.ends_with("--json") {
        let document: serde_json::Value = serde_json::from_str(&said.stdout).unwrap();
        reasons(&document, line);
    }
}

/// Every null has its reason beside it.
#[track_caller]
fn reasons(value: &serde_json::Value, line: &str) {
    match value {
        serde_json::Value::Object(fields) => {
            for (name, field) in fields {
                if field.is_null() {
                    let why = fields.get("undefined").and_then(|u| u.get(name));
                    assert!(
                        why.is_some_and(serde_json::Value::is_string),
                        "{line}: {name} in {value}"
                    );
                }
                reasons(field, line);
            }
        }
        serde_json::Value::Array(all) => all.iter().for_each(|one| reasons(one, line)),
        _ => {}
    }
}

#[test]
fn numbers_that_are_hard_to_compute_with() {
    let desk = Desk::new();
    let columns: [(&str, String); 9] = [
        ("one value", "12.3".into()),
        ("two values", "12.3\n12.5".into()),
        ("all equal", "5\n5\n5\n5\n5\n5".into()),
        ("zeros", "0\n0\n0\n0".into()),
        ("the largest", "1e308\n-1e308\n1e308\n1e308".into()),
        ("the smallest", "1e-308\n2e-308\n5e-324\n1e-308".into()),
        ("far apart", "1e-300\n1e300\n1\n2".into()),
        ("almost equal", "1.0000000000000002\n1\n1\n1\n1".into()),
        ("large and close", "1e15\n1000000000000001\n1000000000000002".into()),
    ];
    for (what, values) in &columns {
        desk.write("file.csv", format!("v\n{values}\n"));
        for command in COMMANDS {
            for json in ["", " --json"] {
                let line = format!("{}{json}", command.replace("FILE", "file.csv"));
                let said = desk.run(&line);
                sound(&said, &format!("{what}: {line}"));
                if let Ok(svg) = std::fs::read_to_string(desk.path().join("out.svg")) {
                    let drawing = svg.split_once("</desc>").map_or("", |(_, drawing)| drawing);
                    assert!(!drawing.contains("NaN") && !drawing.contains("inf"), "{what}: {line}");
                }
            }
        }
    }
}

#[test]
fn files_that_are_no_tables_are_named_with_line_and_column() {
    let desk = Desk::new();
    let files: [(&[u8], &str); 10] = [
        (b"", "the file is empty"),
        (b"v\n", "no row of values"),
        (b"v\nNaN\n", "line 2, column v"),
        (b"v\n1\ninf\n", "line 3, column v"),
        (b"v\n1e999\n", "too large"),
        (b"v,w\n1,2\n3\n", "line 3: 1 cells"),
        (b"v\n1\nabc\n", "line 3, column v"),
        (b"\x00\xff\xfe\x00PNG\n\x01\x02", "not UTF-8"),
        (b"1\n2\n", "header row"),
        (b"v\n\"1\n", "a quote is opened"),
    ];
    for (bytes, wanted) in files {
        desk.write("file.csv", bytes);
        for command in
            ["describe file.csv", "chart individuals file.csv", "fit file.csv --x v --y v"]
        {
            let said = desk.run(command);
            assert_eq!((said.status, said.stdout.as_str()), (2, ""), "{command}: {wanted}");
            let message = &said.stderr;
            assert!(message.contains("file.csv: ") && message.contains(wanted), "{message}");
        }
    }
    desk.write("file.csv", "lab,loss,mass\nA,1,2\n");
    let said = desk.run("describe file.csv --column los");
    assert!(said.status == 2 && said.stderr.contains("lab, loss, mass"), "{}", said.stderr);
    assert_eq!(desk.run("describe file.csv").status, 2);
    let said = desk.run("describe nowhere.csv");
    assert!(said.status == 4 && said.stderr.contains("nowhere.csv"), "{}", said.stderr);
}

#[test]
fn what_spreadsheets_write_is_read() {
    let desk = Desk::new();
    let files = [
        "\u{feff}lab;loss\r\nA;12,3\r\nB;12,5\r\nC;12,7\r\n",
        "lab\tloss\nA\t12.3\nB\t12.5\nC\t12.7",
        "# invented\n\nlab,\"loss\"\nA,\"12.3\"\nB,12.5\nC,12.7\n",
    ];
    for text in files {
        desk.write("file.csv", text);
        let said = desk.run("describe file.csv --json");
        let found: serde_json::Value = serde_json::from_str(&said.stdout).unwrap();
        crate::desk::near(&found, "mean", 12.5, 1e-12);
        crate::desk::near(&found, "standard_deviation", 0.2, 1e-12);
    }
}

#[test]
fn rounds_that_are_hardly_rounds() {
    let desk = Desk::new();
    let rounds = [
        "A,1,1,8.1\n",
        "A,1,1,8.1\nB,1,1,8.2\n",
        "A,1,1,5\nA,1,2,5\nB,1,1,5\nB,1,2,5\nC,1,1,5\nC,1,2,5\n",
        "A,1,1,1e308\nA,1,2,-1e308\nB,1,1,1e308\nB,1,2,1\n",
        "A,1,1,\nB,1,1,\n",
        "A,1,1,3\nB,2,1,4\nC,3,1,5\n",
    ];
    for rows in rounds {
        desk.write("file.csv", format!("lab,material,replicate,value\n{rows}"));
        desk.write("pairs.csv", "lab,x,y\nA,1,\nB,2,3\n");
        for line in [
            "interlab file.csv --svg h.svg --svg-k k.svg --json",
            "interlab file.csv",
            "proficiency pairs.csv --json",
        ] {
            sound(&desk.run(line), &format!("{rows}: {line}"));
        }
    }
}

#[test]
fn a_million_rows() {
    let desk = Desk::new();
    let mut text = String::from("loss\n");
    for n in 0..1_000_000_u32 {
        text.push_str(&format!("{}\n", 1200 + (n % 1000 * 7919) % 101));
    }
    desk.write("file.csv", text);
    let said = desk.run("describe file.csv --json");
    sound(&said, "describe --json");
    let found: serde_json::Value = serde_json::from_str(&said.stdout).unwrap();
    assert_eq!(found["n"], 1_000_000);
    let chart = desk.run("chart individuals file.csv --svg million.svg --json");
    assert!(chart.status <= 1, "{}", chart.stderr);
    assert!(!chart.stdout.contains("NaN"));
}
