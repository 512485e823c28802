//! A sample is sieved at the page: typed sieve by sieve or pasted as a table, judged as it is
//! typed, drawn, and planned from.

use crate::site::{Answer, Site};

/// 10 000 g: 4, 11, 20, 25, 20, 12 and 8 %.
const EVEN: [(&str, &str); 7] = [
    ("25.0", "0"),
    ("19.0", "400"),
    ("16.0", "1100"),
    ("12.5", "2000"),
    ("9.5", "2500"),
    ("6.3", "2000"),
    ("4.75", "1200"),
];

/// A sample that nobody has sieved yet.
fn sample(site: &Site) -> String {
    let fields = [
        ("request", "receive-sample"),
        ("source", "Invented pit"),
        ("material", "crushed stone"),
        ("nominal_maximum_mm", "12.5"),
    ];
    site.post("/samples/new", &fields).onward().rsplit('/').next().unwrap().to_owned()
}

/// The form as a browser sends it: the sieves are hidden fields beside their masses.
fn typed(
    sample: &str,
    rows: &[(&str, &str)],
    pan: &str,
    more: &[(&str, &str)],
) -> Vec<(String, String)> {
    let mut fields = vec![
        ("request".to_owned(), "record-sieving".to_owned()),
        ("sample".to_owned(), sample.to_owned()),
        ("balance".to_owned(), "BAL-1".to_owned()),
        ("before_g".to_owned(), "10000".to_owned()),
        ("pan_g".to_owned(), pan.to_owned()),
    ];
    for (index, (sieve, mass)) in rows.iter().enumerate() {
        fields.push((format!("rows.{index}.sieve"), (*sieve).to_owned()));
        fields.push((format!("rows.{index}.retained_g"), (*mass).to_owned()));
    }
    fields.extend(more.iter().map(|(name, value)| ((*name).to_owned(), (*value).to_owned())));
    fields
}

fn post(site: &Site, path: &str, fields: &[(String, String)]) -> Answer {
    let fields: Vec<(&str, &str)> =
        fields.iter().map(|(name, value)| (name.as_str(), value.as_str())).collect();
    site.post(path, &fields)
}

#[test]
fn an_analysis_is_typed_drawn_and_planned_from() {
    let site = Site::demo();
    let sample = sample(&site);
    let path = format!("/samples/{sample}/sieving");
    let empty = site.get(&path);
    empty.is_a_good_page();
    assert!(empty.body.contains("name=\"rows.8.retained_g\""), "nine sieves of the coarse US set");
    assert!(empty.text().contains("19.0 mm (3/4 in.)"));
    assert!(site.get(&format!("{path}/fine-us")).text().contains("0.075 mm (No. 200)"));

    let sent = typed(&sample, &EVEN, "800", &[("received_g", "3200")]);
    assert_eq!(post(&site, &path, &sent).onward(), path);
    let page = site.get(&path);
    page.is_a_good_page();
    let text = page.text();
    for said in [
        "nominal maximum size 19.0 mm",
        "10000 g after sieving against 10000 g before: 0.00 % apart",
        "19.0 to 16.0 mm",
        "352.0 g received",
        "The next smaller grading, 12.5, can be made up.",
        "Sieve at least 3750 g",
    ] {
        assert!(text.contains(said), "{said}\n{text}");
    }
    assert!(page.body.contains("picture grading"));

    // The size by sieving wins over the 12.5 mm with which the sample came in.
    let text = site.get(&format!("/samples/{sample}")).text();
    assert!(text.contains("12.5 mm, as received"), "{text}");
    assert!(text.contains("the sample came in as 12.5 mm"), "{text}");
    let begun = site.post(
        &format!("/samples/{sample}"),
        &[
            ("request", "begin-specimen"),
            ("sample", &sample),
            ("method", "astm-d6928"),
            ("grading", ""),
            ("balance", "BAL-1"),
        ],
    );
    let specimen = site.get(begun.onward());
    specimen.is_a_good_page();
    let text = specimen.text();
    assert!(text.contains("Make-up sheet"), "{text}");
    assert!(
        text.contains("Grading 19.0: the nominal maximum size by the sieve analysis is 19.0 mm"),
        "{text}"
    );
}

#[test]
fn the_sum_runs_along_and_the_closing_check_is_judged_as_it_is_typed() {
    let site = Site::demo();
    let sample = sample(&site);
    let judged = |rows: &[(&str, &str)], pan: &str, field: &str| {
        post(&site, &format!("/judge?unit=g&field={field}"), &typed(&sample, rows, pan, &[])).text()
    };
    assert_eq!(
        judged(&EVEN[..3], "", "rows.2.retained_g"),
        "1500 g of 10000 g so far; 8500 g still to be found"
    );
    assert!(
        judged(&EVEN, "790", "pan_g")
            .starts_with("9990 g after sieving against 10000 g before: 0.10 % lost")
    );
    let lost = judged(&EVEN, "700", "pan_g");
    assert!(lost.contains("1.00 % lost; ASTM C136, AASHTO T 27 allows 0.3 %"), "{lost}");
    assert!(judged(&[("19.0", "x")], "", "rows.0.retained_g").contains("is not a number"));
}

#[test]
fn a_refused_analysis_keeps_what_was_typed_and_a_reason_excuses_it() {
    let site = Site::demo();
    let sample = sample(&site);
    let path = format!("/samples/{sample}/sieving");
    let typed_at = format!("{path}/coarse-us");
    assert!(site.get(&path).body.contains(&format!("action=\"{typed_at}\"")));
    // The page of the coarse set: 37.5 mm comes first and was not used.
    let over_all = [&[("37.5", "")], &EVEN[..]].concat();
    let refused = post(&site, &typed_at, &typed(&sample, &over_all, "700", &[]));
    assert_eq!(refused.status, 422);
    refused.is_a_good_page();
    assert!(refused.body.contains("value=\"1100\""), "a typed mass is still there");
    assert!(refused.body.contains("name=\"deviation\""), "a reason can be given");
    let excused = [("deviation", "a little was spilled")];
    assert_eq!(post(&site, &typed_at, &typed(&sample, &over_all, "700", &excused)).onward(), path);
    let text = site.get(&path).text();
    assert!(text.contains("fails") && text.contains("a little was spilled"), "{text}");
    // Each way has a page, and so a draft, of its own.
    for way in ["table", "as-before", "coarse-us", "fine-us", "coarse-metric", "fine-metric"] {
        let page = site.get(&format!("{path}/{way}"));
        page.is_a_good_page();
        assert!(
            page.body.contains(&format!("data-draft=\"{path}/{way}:record-sieving\"")),
            "{way}"
        );
    }
    assert_eq!(site.get(&format!("{path}/other")).status, 404);
}

#[test]
fn a_table_can_be_pasted_and_is_shown_again_when_it_is_refused() {
    let site = Site::demo();
    let sample = sample(&site);
    let path = format!("/samples/{sample}/sieving");
    let form = site.get(&format!("{path}/table"));
    form.is_a_good_page();
    assert!(form.body.contains("name=\"table\"") && !form.body.contains("rows.0"));
    let send = |table: &str| {
        let fields = [
            ("request", "record-sieving"),
            ("sample", sample.as_str()),
            ("balance", "BAL-1"),
            ("before_g", "1000"),
            ("table", table),
        ];
        site.post(&format!("{path}/table"), &fields)
    };
    let refused = send("sieve_mm;retained_g\r\n12,5;0\r\n9,5;600\r\n");
    refused.is_a_good_page();
    assert!(refused.text().contains("There is no row “pan”"), "{}", refused.text());
    assert!(refused.body.contains("9,5;600"), "what was pasted is still there");
    assert_eq!(send("sieve_mm;retained_g\r\n12,5;0\r\n9,5;600\r\npan;400\r\n").onward(), path);
    assert!(site.get(&path).text().contains("12.5 mm one sieve above"));
    // A second one needs a reason.
    assert!(
        send("sieve_mm;retained_g\n12,5;0\n9,5;600\npan;400\n")
            .text()
            .contains("is already recorded")
    );
}

#[test]
fn the_laboratory_decides_how_it_reads_its_analyses() {
    let site = Site::demo();
    let sample = sample(&site);
    let path = format!("/samples/{sample}/sieving");
    let rules = [
        ("request", "set-sieving-rules"),
        ("definition", "all-passing"),
        ("closing", "en-933-1"),
        ("reason", "our specifications are written so"),
    ];
    assert_eq!(site.post(&path, &rules).onward(), path);
    assert!(site.get(&path).text().contains("31.5 mm"), "the metric set is proposed with EN 933-1");
    post(&site, &path, &typed(&sample, &EVEN, "710", &[]));
    let text = site.get(&path).text();
    assert!(text.contains("25.0 mm the smallest sieve through which all of it passes"), "{text}");
    assert!(text.contains("EN 933-1 allows 1 %"), "{text}");
}
