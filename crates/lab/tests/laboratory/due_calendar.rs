//! The calendar of what is due as an independent reader sees it: the library `icalendar`, run by
//! Python. `./test` installs both.

use crate::story::Story;
use serde_json::{Value, json};
use std::io::Write;
use std::path::Path;
use std::process::{Command, Stdio};
use stonewear_lab::due::{Due, Wanted, calendar};
use stonewear_lab::request::*;

/// A Python that has the library.
fn python() -> &'static str {
    let has = |python: &&str| {
        let asked = Command::new(python).args(["-c", "import icalendar"]).output();
        asked.is_ok_and(|output| output.status.success())
    };
    ["python3", "/usr/bin/python3"].into_iter().find(has).expect(
        "this test needs Python 3 with icalendar (on Debian: apt-get install python3-icalendar)",
    )
}

/// Every event of a calendar: identifier, begin, sequence, summary, description.
fn read(text: &str) -> Vec<Value> {
    let script = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/laboratory/read_calendar.py");
    let mut child = Command::new(python())
        .arg(script)
        .arg("America/Toronto")
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    child.stdin.take().unwrap().write_all(text.as_bytes()).unwrap();
    let output = child.wait_with_output().unwrap();
    let said = String::from_utf8([output.stdout, output.stderr].concat()).unwrap();
    assert!(output.status.success(), "{said}\nof\n{text}");
    said.lines().map(|line| serde_json::from_str(line).unwrap()).collect()
}

fn due(story: &Story) -> Vec<Due> {
    story.lab.due(story.at, &Wanted::default())
}

fn event(events: &[Value], key: &str) -> Value {
    let uid = format!("{key}@invented-laboratory");
    events
        .iter()
        .find(|event| event[0] == *uid)
        .unwrap_or_else(|| panic!("{uid}: {events:?}"))
        .clone()
}

/// Toronto puts its clocks forward on 8 March 2026 at 2:00 and back on 1 November at 2:00: an hour
/// of soaking is an hour on both days, and a last day stays the day that was recorded.
#[test]
fn another_reader_sees_the_same_days_and_hours_over_both_changes_of_the_clocks() {
    for (soaked, ready, day) in [
        ("2026-03-08T06:29:00Z", "2026-03-08T03:30:00-04:00", "2026-03-08"),
        ("2026-11-01T04:44:00Z", "2026-11-01T01:45:00-04:00", "2026-11-01"),
        ("2026-11-01T05:14:00Z", "2026-11-01T01:15:00-05:00", "2026-11-01"),
    ] {
        let mut story = Story::equipped();
        let sample = story.sample("19.0");
        let specimen = story.specimen(&sample);
        story.given(GrantAuthorisation {
            person: "CD".into(),
            method: "astm-d6928".into(),
            activities: vec!["run".into()],
            training: "record 7; with a comma, and\\ a stroke".into(),
            until: day.into(),
            ..GrantAuthorisation::default()
        });
        story.at = soaked.parse().unwrap();
        story.given(StartSoak { specimen: specimen.clone() });
        let all = due(&story);
        let events = read(&calendar(&story.lab, &all, "http://bench:7007"));
        let dated = all.iter().filter(|due| due.day(&story.lab).is_some()).count();
        assert_eq!(events.len(), dated);
        assert_eq!(event(&events, &format!("soak.{specimen}"))[1], *ready, "{soaked}");
        let authorisation = all.iter().find(|due| due.key.starts_with("authorisation.")).unwrap();
        assert_eq!(event(&events, &authorisation.key)[1], *day);
        for due in all.iter().filter(|due| due.day(&story.lab).is_some()) {
            let event = event(&events, &due.key);
            assert_eq!(event[3], json!(due.what));
            assert!(event[4].as_str().unwrap().starts_with(&due.why), "{event}");
        }
    }
}

#[test]
fn an_event_keeps_its_name_and_raises_its_sequence_when_its_day_moves() {
    let mut story = Story::equipped();
    let before = event(&read(&calendar(&story.lab, &due(&story), "")), "check.MILL.function-check");
    story.at = "2026-05-04T08:00:00Z".parse().unwrap();
    story.given(StartCheck { item: "MILL".into(), procedure: "function-check".into() });
    story.pass_open_check();
    let after = event(&read(&calendar(&story.lab, &due(&story), "")), "check.MILL.function-check");
    assert!(after[1].as_str() > before[1].as_str(), "{before} {after}");
    assert!(after[2].as_u64() > before[2].as_u64(), "{before} {after}");
}

#[test]
fn an_empty_calendar_can_be_read() {
    assert_eq!(read(&calendar(&Story::founded().lab, &[], "")), Vec::<Value>::new());
}
