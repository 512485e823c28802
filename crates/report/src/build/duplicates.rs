//! Duplicates as pictures, as a table for other programs, and as a paper.

use super::round::begun;
use crate::{Cell, Column, Sheet, Table};
use jiff::Timestamp;
use stonewear_lab::Lab;
use stonewear_lab::duplicates::{DAYS_APART, Duplicates, OfPerson, PAIRS_WANTED};
use stonewear_picture::{Limits, Point, SeriesChart};
use stonewear_stats::table::row;

/// The ranges of a person's pairs over the time, in standard deviations of one specimen, with the
/// limit of a range chart of two.
pub fn duplicates_picture(lab: &Lab, of_method: &Duplicates, own: &OfPerson) -> SeriesChart {
    let points = own.pairs.iter().filter_map(|pair| {
        Some(Point {
            at: pair.at.as_second(),
            when: lab.local(pair.at).date().to_string(),
            value: pair.range_deviations?,
            signal: pair.is_far.then(|| format!("{} lies far apart", pair.sample)),
            ..Point::default()
        })
    });
    SeriesChart {
        title: format!(
            "Ranges of the pairs of {} by {}",
            own.person,
            lab.dated(of_method.method.as_str())
        ),
        unit: "range, standard deviations".to_owned(),
        points: points.collect(),
        centre: Some(of_method.centre),
        warning: None,
        action: Some(Limits { lower: 0.0, upper: of_method.upper_limit }),
        events: Vec::new(),
    }
}

/// How far people repeat and differ by one method, in a sentence.
pub fn duplicates_sentence(of_method: &Duplicates) -> String {
    let spread = |value: Option<f64>| {
        value.map_or_else(|| "not known".to_owned(), |value| format!("{value:.2} % loss"))
    };
    format!(
        "Standard deviation within a person {}, between people {} ({}); {} in several hands count \
         for nobody.",
        spread(of_method.within_percent),
        spread(of_method.between_percent),
        stonewear_lab::words::counted(of_method.shared_samples, "shared sample"),
        stonewear_lab::words::counted(of_method.several_hands, "specimen"),
    )
}

/// The pairs as a table for other programs (RFC 4180).
pub fn duplicates_csv(all: &[Duplicates]) -> String {
    let head = "method person sample one other weighed_at mean_percent range_percent \
                range_deviations far";
    let mut table = row(head.split_whitespace());
    for of_method in all {
        for own in &of_method.people {
            for pair in &own.pairs {
                let apart = pair.range_deviations;
                table.push_str(&row([
                    of_method.method.to_string(),
                    own.person.to_string(),
                    pair.sample.to_string(),
                    pair.one.to_string(),
                    pair.other.to_string(),
                    pair.at.to_string(),
                    format!("{:.3}", pair.mean_percent),
                    format!("{:.3}", pair.range_percent),
                    apart.map_or_else(String::new, |apart| format!("{apart:.3}")),
                    if pair.is_far { "yes" } else { "no" }.to_owned(),
                ]));
            }
        }
    }
    table
}

/// The paper about the duplicates of everybody.
pub fn duplicates_sheet(lab: &Lab, all: &[Duplicates], made: Timestamp) -> Sheet {
    let sheet = begun(lab, "Duplicates".to_owned(), "How far people repeat".to_owned(), made).text(
        format!(
            "Two specimens of one sample, tested by one person alone within {DAYS_APART} days, are \
             a pair. About {PAIRS_WANTED} pairs of own samples are wanted for each person (BRE \
             repeatability check, seen)."
        ),
    );
    if all.is_empty() {
        return sheet.text("Nothing was tested yet.");
    }
    all.iter().fold(sheet, |sheet, of_method| {
        let sheet =
            sheet.heading(of_method.method.to_string()).text(duplicates_sentence(of_method));
        of_method.people.iter().fold(sheet, |sheet, own| of_person(lab, sheet, of_method, own))
    })
}

fn of_person(lab: &Lab, sheet: Sheet, of_method: &Duplicates, own: &OfPerson) -> Sheet {
    let name = lab.people.get(own.person.as_str()).map_or("", |person| person.name.as_str());
    let sheet = sheet.remark(format!("{}, {name}", own.person), own.words.join(" "));
    if own.pairs.is_empty() {
        return sheet;
    }
    let columns = [
        Column::text("Weighed"),
        Column::text("Sample"),
        Column::text("Specimens"),
        Column::number("Mean, %"),
        Column::number("Range, % loss"),
        Column::number("Range, s"),
        Column::text(""),
    ];
    let caption = format!("Pairs of {} by {}", own.person, of_method.method);
    let table = own.pairs.iter().fold(Table::new(caption, columns), |table, pair| {
        let apart = pair.range_deviations.map_or_else(String::new, |apart| format!("{apart:.2}"));
        table.row([
            Cell::from(lab.local(pair.at).date().to_string()),
            pair.sample.to_string().into(),
            format!("{}, {}", pair.one, pair.other).into(),
            format!("{:.2}", pair.mean_percent).into(),
            format!("{:.2}", pair.range_percent).into(),
            apart.into(),
            if pair.is_far { "far apart" } else { "" }.to_owned().into(),
        ])
    });
    let chart = duplicates_picture(lab, of_method, own);
    sheet
        .picture(
            chart.svg(),
            chart.sentence(),
            "Range of each pair; the upper limit is that of a range chart of two.",
        )
        .table(table)
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used, reason = "a test that fails here says where")]

    use super::*;
    use stonewear_lab::duplicates::DuplicatePair;

    fn found() -> Duplicates {
        let pair = |range: f64, is_far: bool| DuplicatePair {
            sample: "S26-001".into(),
            one: "S26-001-1".into(),
            other: "S26-001-2".into(),
            at: "2026-03-02T10:00:00Z".parse().unwrap(),
            mean_percent: 14.5,
            range_percent: range,
            expected_percent: Some(0.5),
            range_deviations: Some(range / 0.5),
            is_far,
        };
        Duplicates {
            method: "astm-d6928@2017".into(),
            people: vec![OfPerson {
                person: "AB".into(),
                pairs: vec![pair(0.4, false), pair(2.0, true)],
                missing: 13,
                within_percent: Some(1.02),
                over_method: None,
                over_others: None,
                bias: None,
                words: vec!["2 of about 15 pairs; 13 more are wanted.".to_owned()],
            }],
            several_hands: 1,
            within_percent: Some(1.02),
            shared_samples: 0,
            between_percent: None,
            upper_limit: 3.686,
            centre: 1.128,
        }
    }

    #[test]
    fn the_picture_draws_ranges_in_deviations_and_names_what_lies_far_apart() {
        let found = found();
        let chart = duplicates_picture(&Lab::new(), &found, &found.people[0]);
        let drawn: Vec<f64> = chart.points.iter().map(|point| point.value).collect();
        assert_eq!(drawn, [0.8, 4.0]);
        assert!(chart.points[0].signal.is_none());
        assert_eq!(chart.points[1].signal.as_deref(), Some("S26-001 lies far apart"));
        assert_eq!(chart.action, Some(Limits { lower: 0.0, upper: 3.686 }));
    }

    #[test]
    fn the_table_has_a_row_a_pair() {
        assert_eq!(
            duplicates_csv(&[found()]),
            "method,person,sample,one,other,weighed_at,mean_percent,range_percent,range_deviations,far\r\n\
             astm-d6928@2017,AB,S26-001,S26-001-1,S26-001-2,2026-03-02T10:00:00Z,14.500,0.400,0.800,no\r\n\
             astm-d6928@2017,AB,S26-001,S26-001-1,S26-001-2,2026-03-02T10:00:00Z,14.500,2.000,4.000,yes\r\n"
        );
    }

    #[test]
    fn the_paper_says_what_is_known_and_what_is_not() {
        let text =
            format!("{:?}", duplicates_sheet(&Lab::new(), &[found()], Timestamp::UNIX_EPOCH));
        for words in [
            "within a person 1.02 % loss, between people not known (0 shared samples); 1 specimen",
            "2 of about 15 pairs",
            "far apart",
        ] {
            assert!(text.contains(words), "{words}: {text}");
        }
    }
}
