//! What falls due, when, and as a calendar.

use crate::story::Story;
use jiff::ToSpan;
use stonewear_lab::due::{Due, DueKind, Urgency, Wanted, When, calendar};
use stonewear_lab::fact::Right;
use stonewear_lab::request::*;

fn due(story: &Story) -> Vec<Due> {
    story.lab.due(story.at, &Wanted::default())
}

fn one<'a>(all: &'a [Due], key: &str) -> &'a Due {
    let keys: Vec<&str> = all.iter().map(|due| due.key.as_str()).collect();
    all.iter().find(|due| due.key == key).unwrap_or_else(|| panic!("{key} not in {keys:?}"))
}

fn authorise(until: &str) -> GrantAuthorisation {
    GrantAuthorisation {
        person: "CD".into(),
        method: "astm-d6928".into(),
        activities: vec!["run".into()],
        training: "record 7".into(),
        until: until.into(),
        ..GrantAuthorisation::default()
    }
}

#[test]
fn a_check_falls_due_on_the_day_its_proof_runs_out_and_moves_when_it_is_repeated() {
    let mut story = Story::equipped();
    let all = due(&story);
    let check = one(&all, "check.MILL.function-check").clone();
    assert_eq!(
        (check.kind, check.right, check.path.as_str()),
        (DueKind::Check, Right::Test, "/equipment/MILL")
    );
    let proof = story.lab.proof_of(&"MILL".into()).unwrap();
    let until = story.lab.proves_until(proof).unwrap();
    assert_eq!(check.when, When::Day { day: story.lab.local(until).date() });
    assert_eq!(check.urgency(&story.lab, story.at), Urgency::Later);
    story.at = until.checked_add(48.hours()).unwrap();
    assert_eq!(check.urgency(&story.lab, story.at), Urgency::Overdue);
    story.given(StartCheck { item: "MILL".into(), procedure: "function-check".into() });
    story.pass_open_check();
    let again = due(&story);
    let moved = one(&again, "check.MILL.function-check");
    assert!(moved.position > check.position && moved.day(&story.lab) > check.day(&story.lab));
    let of_mill = Wanted { item: Some("MILL".into()), ..Wanted::default() };
    let of_mill = story.lab.due(story.at, &of_mill);
    assert!(!of_mill.is_empty() && of_mill.iter().all(|due| due.key.starts_with("check.MILL.")));
    // What is held is not used, and asks for nothing by a calendar.
    story.given(ChangeStanding {
        item: "MILL".into(),
        standing: "held".into(),
        reason: "noise".into(),
    });
    assert!(due(&story).iter().all(|due| due.key != "check.MILL.function-check"));
}

#[test]
fn an_authorisation_falls_due_unless_a_later_one_takes_its_place() {
    let mut story = Story::equipped();
    story.given(authorise("2026-03-20"));
    let all = due(&story);
    let first = all.iter().find(|due| due.kind == DueKind::Authorisation).unwrap();
    assert_eq!(
        first.key,
        format!("authorisation.CD.{}.run", story.lab.authorisations["A26-001"].method)
    );
    assert_eq!(first.when_in_words(&story.lab), "2026-03-20");
    story.given(authorise("2027-03-20"));
    let days: Vec<String> = due(&story)
        .iter()
        .filter(|due| due.kind == DueKind::Authorisation)
        .map(|due| due.when_in_words(&story.lab))
        .collect();
    assert_eq!(days, ["2027-03-20"]);
    for (code, there) in [("CD", true), ("AB", true)] {
        let wanted = Wanted { person: Some(code.into()), ..Wanted::default() };
        let mine = story.lab.due(story.at, &wanted);
        assert_eq!(mine.iter().any(|due| due.kind == DueKind::Authorisation), there, "{code}");
    }
    let testing = Wanted { right: Some(Right::Test), ..Wanted::default() };
    let testing = story.lab.due(story.at, &testing);
    assert!(testing.iter().all(|due| due.right == Right::Test));
    let near = Wanted { until: Some("2026-03-31".parse().unwrap()), ..Wanted::default() };
    assert!(story.lab.due(story.at, &near).is_empty());
}

#[test]
fn doubts_wait_now_and_come_first() {
    let mut story = Story::equipped();
    let (_, result) = story.loss();
    story.given(OpenDoubt {
        item: "BAL".into(),
        attribute: "indication".into(),
        found: "2".into(),
        reason: "1000 g mass reads 1002 g".into(),
        ..OpenDoubt::default()
    });
    let all = due(&story);
    assert_eq!(all[0].key, "doubt.D26-001");
    assert_eq!(all[0].urgency(&story.lab, story.at), Urgency::Now);
    story.given(CloseDoubt {
        doubt: "D26-001".into(),
        result,
        reason: "weighed again, same loss".into(),
    });
    assert!(due(&story).iter().all(|due| due.kind != DueKind::Doubt));
}

/// Toronto puts its clocks forward on 2026-03-08 at 2:00: an hour of soaking stays an hour, and a
/// day stays that day.
#[test]
fn the_calendar_is_right_over_the_change_to_summer_time() {
    let mut story = Story::equipped();
    let sample = story.sample("19.0");
    let specimen = story.specimen(&sample);
    story.given(authorise("2026-03-08"));
    story.at = "2026-03-08T06:29:00Z".parse().unwrap();
    story.given(StartSoak { specimen: specimen.clone() });
    let all = due(&story);
    let soak = one(&all, &format!("soak.{specimen}"));
    assert_eq!(soak.when, When::At { at: "2026-03-08T07:30:00Z".parse().unwrap() });
    assert_eq!(
        soak.when_in_words(&story.lab),
        "2026-03-08 03:30",
        "not 02:30, which there was not"
    );
    let text = calendar(&story.lab, &all, "http://bench:7007/");
    for line in [
        "DTSTART:20260308T073000Z",
        "DTSTART;VALUE=DATE:20260308",
        &format!("UID:soak.{specimen}@invented-laboratory"),
        "DTSTAMP:20260308T063000Z",
        "URL:http://bench:7007/people/CD",
    ] {
        assert!(text.contains(&format!("{line}\r\n")), "{line} in\n{text}");
    }
    let later = calendar(&story.lab, &due(&story), "http://bench:7007");
    assert_eq!(text, later, "the same state gives the same text");
}

#[test]
fn an_empty_calendar_still_holds_something() {
    let text = calendar(&Story::founded().lab, &[], "");
    assert!(text.contains("BEGIN:VTIMEZONE\r\n") && !text.contains("VEVENT"));
}
