//! Who is authorised for what, and what follows from it at the bench, in readiness and evidence.

use crate::story::Story;
use jiff::ToSpan;
use stonewear_lab::authorisation::{Activity, Cover};
use stonewear_lab::evidence::{LinkKind, Proof};
use stonewear_lab::request::*;
use stonewear_lab::{Fact, PersonCode};
use stonewear_method::MethodId;

const METHOD: &str = "astm-d6928@2010";

fn grant(person: &str, activities: &[&str]) -> GrantAuthorisation {
    GrantAuthorisation {
        person: person.into(),
        method: "astm-d6928".into(),
        activities: activities.iter().map(|name| (*name).to_owned()).collect(),
        training: "training record 7".into(),
        ..GrantAuthorisation::default()
    }
}

fn all(person: &str) -> GrantAuthorisation {
    grant(person, &["make-up", "run", "weigh-after"])
}

fn policy(story: &mut Story, name: &str, value: &str) {
    story.given(SetPolicy {
        policy: name.into(),
        value: value.into(),
        reason: "our manual, clause 6.2".into(),
    });
}

fn code_of(facts: &[Fact]) -> String {
    match &facts[0] {
        Fact::AuthorisationGranted(granted) => granted.authorisation.to_string(),
        other => panic!("{other:?}"),
    }
}

fn method_of(story: &Story) -> MethodId {
    let id = story.lab.methods.keys().find(|id| id.answers_to("astm-d6928"));
    id.cloned().unwrap_or_else(|| MethodId::from(METHOD))
}

fn cover(story: &Story, person: &str, activity: Activity) -> Cover {
    let person = PersonCode::from(person);
    story.lab.cover(&person, &method_of(story), activity, story.at, u64::MAX)
}

fn begin(sample: &str) -> BeginSpecimen {
    BeginSpecimen {
        sample: sample.into(),
        method: "astm-d6928".into(),
        grading: "19.0".into(),
        ..BeginSpecimen::default()
    }
}

#[test]
fn what_cannot_be_granted_is_said() {
    let mut story = Story::equipped();
    story.given(AdoptMethod { method: "astm-d6928".into() });
    for (request, said) in [
        (
            GrantAuthorisation { person: "XY".into(), ..all("CD") },
            "[person-unknown] person: nobody here has the initials “XY”; known: AB and CD",
        ),
        (
            GrantAuthorisation { training: " ".into(), ..all("CD") },
            "[evidence-missing] training: nothing says on what evidence; name the record of the \
             training, or codes of what was witnessed",
        ),
        (
            GrantAuthorisation { until: "2026-03-01".into(), ..all("CD") },
            "[input-date] until: 2026-03-01 is over; today is 2026-03-02",
        ),
        (
            GrantAuthorisation { until: "soon".into(), ..all("CD") },
            "[input-date] until: “soon” is not a day; write it like 2026-03-02",
        ),
        (
            grant("CD", &["sweep"]),
            "[input-unknown] activities: “sweep” is not an activity; write make-up, run, \
             weigh-after and release",
        ),
        (
            grant("CD", &[]),
            "[input-missing] activities: no activity is named; write make-up, run, weigh-after \
             and release",
        ),
        (
            grant("CD", &["release"]),
            "[right-missing] activities: Cyd Dell has not the right to release results; grant \
             them the right first",
        ),
        (
            GrantAuthorisation { evidence: "S26-009-1".into(), ..all("CD") },
            "[code-unknown] evidence: nothing here has the code “S26-009-1”; name specimens, \
             results, runs or checks that were witnessed",
        ),
    ] {
        assert_eq!(story.refused(request), said);
    }
    story.by = "CD".into();
    assert!(story.refused(all("CD")).contains("[right-missing] by: Cyd Dell may not manage"));
}

#[test]
fn witnessed_work_must_be_theirs_and_by_that_method() {
    let mut story = Story::equipped();
    let (specimen, result) = story.loss();
    let of_ab = GrantAuthorisation { evidence: format!("{specimen}, {result}"), ..all("CD") };
    assert_eq!(
        story.refused(of_ab.clone()),
        format!(
            "[evidence-of-other-person] evidence: Cyd Dell had no hand in {specimen}; name their \
             work\n[evidence-of-other-person] evidence: Cyd Dell had no hand in {result}; name \
             their work"
        )
    );
    let other = GrantAuthorisation { method: "astm-c131".into(), ..of_ab.clone() };
    assert!(story.refused(other).contains("[evidence-of-other-method]"));
    let facts = story.given(GrantAuthorisation { person: "AB".into(), ..of_ab });
    let code = code_of(&facts);
    assert_eq!(code, "A26-001");
    let granted = &story.lab.authorisations[code.as_str()];
    assert_eq!(granted.evidence, [specimen, result]);
    assert_eq!(granted.until, None, "by default it holds until it is withdrawn");
}

#[test]
fn nothing_is_asked_until_the_laboratory_decides() {
    let mut story = Story::equipped();
    story.by = "CD".into();
    let (_, result) = story.loss();
    let result = &story.lab.results[result.as_str()];
    let people = story.lab.evidence(result);
    let people = people.iter().filter(|link| link.kind == LinkKind::Person);
    assert!(people.clone().count() > 2);
    assert!(people.into_iter().all(|link| link.proof == Proof::Recorded));
}

#[test]
fn work_without_authorisation_needs_a_reason_or_is_refused() {
    let mut story = Story::equipped();
    let sample = story.sample("19.0");
    policy(&mut story, "authorisation", "reason");
    story.by = "CD".into();
    let refused = story.refused(begin(&sample));
    assert_eq!(
        refused,
        "[not-authorised] by: Cyd Dell is not authorised to make up specimens by \
         ASTM D6928-10: nobody has authorised them; somebody who may manage can authorise a \
         person, who can also record that they watch, or record why it is done all the same"
    );
    let facts = story.given(BeginSpecimen { deviation: "trainer is ill".into(), ..begin(&sample) });
    let Some(Fact::SpecimenBegun { deviations, .. }) = facts.last() else { panic!("{facts:?}") };
    assert_eq!(deviations[0].rule, "not-authorised");
    assert_eq!(deviations[0].reason, "trainer is ill");

    story.by = "AB".into();
    policy(&mut story, "authorisation", "required");
    story.by = "CD".into();
    let with_reason = BeginSpecimen { deviation: "in a hurry".into(), ..begin(&sample) };
    assert!(story.refused(with_reason).contains("[not-authorised]"), "no reason excuses it");

    story.by = "AB".into();
    story.given(all("CD"));
    story.by = "CD".into();
    story.given(begin(&sample));
}

/// Every part of the work asks for its own activity, and only for that.
#[test]
fn each_step_asks_for_its_own_activity() {
    let mut story = Story::equipped();
    let sample = story.sample("19.0");
    story.given(AdoptMethod { method: "astm-d6928".into() });
    policy(&mut story, "authorisation", "required");
    let missing = |story: &Story, request: stonewear_lab::Request| match story.ask(request) {
        Ok(_) => false,
        Err(refusal) => refusal.problems.iter().any(|problem| problem.rule == "not-authorised"),
    };
    assert!(missing(&story, begin(&sample).into()));
    story.given(grant("AB", &["make-up"]));
    let specimen = story.specimen(&sample);
    assert!(missing(&story, story.start(&specimen).into()));
    story.given(grant("AB", &["run"]));
    story.run(&specimen);
    let after = WeighAfter { specimen, mass_g: "1278".into(), ..WeighAfter::default() };
    assert!(missing(&story, after.clone().into()));
    story.given(grant("AB", &["weigh-after"]));
    story.given(after);
    let release = ReleaseResult { result: "L26-001".into(), ..ReleaseResult::default() };
    assert!(missing(&story, release.clone().into()));
    story.given(grant("AB", &["release"]));
    story.given(release);
}

#[test]
fn it_holds_through_its_last_day_by_the_calendar_of_the_laboratory() {
    let mut story = Story::equipped();
    story.given(AdoptMethod { method: "astm-d6928".into() });
    let until = GrantAuthorisation { until: "2026-03-31".into(), ..all("CD") };
    let code = code_of(&story.given(until));
    // Toronto is four hours behind universal time on that day.
    for (at, holds) in [
        ("2026-03-31T12:00:00Z", true),
        ("2026-04-01T03:59:59Z", true),
        ("2026-04-01T04:00:00Z", false),
    ] {
        story.at = at.parse().unwrap();
        assert_eq!(cover(&story, "CD", Activity::Run).holds(), holds, "{at}");
    }
    assert_eq!(
        cover(&story, "CD", Activity::Run),
        Cover::Nothing { why: format!("{code} ran out on 2026-03-31") }
    );
    let granted = &story.lab.authorisations[code.as_str()];
    assert_eq!(story.lab.authorisation_in_words(granted, story.at), "ran out on 2026-03-31");
}

#[test]
fn the_laboratory_decides_how_long_one_holds() {
    let mut story = Story::equipped();
    story.given(AdoptMethod { method: "astm-d6928".into() });
    policy(&mut story, "authorisation-months", "12");
    let code = code_of(&story.given(all("CD")));
    let until = story.lab.authorisations[code.as_str()].until;
    assert_eq!(until, Some("2027-03-02".parse().unwrap()));
}

#[test]
fn suspended_withdrawn_and_in_force_again() {
    let mut story = Story::equipped();
    story.given(AdoptMethod { method: "astm-d6928".into() });
    let code = code_of(&story.given(all("CD")));
    let change = |standing: &str, reason: &str| ChangeAuthorisation {
        authorisation: code.clone(),
        standing: standing.into(),
        reason: reason.into(),
    };
    assert!(story.refused(change("in-force", "x")).contains("is already in force"));
    assert!(story.refused(change("suspended", "")).contains("[input-missing] reason"));
    story.given(change("suspended", "away for half a year"));
    let Cover::Nothing { why } = cover(&story, "CD", Activity::Run) else { panic!() };
    assert_eq!(why, "A26-001 was suspended on 2026-03-02");
    story.given(change("in-force", "two witnessed specimens"));
    assert!(cover(&story, "CD", Activity::Run).holds());
    story.given(change("withdrawn", "left the wet bench"));
    assert!(!cover(&story, "CD", Activity::Run).holds());
    let refused = story.refused(change("in-force", "back"));
    assert_eq!(
        refused,
        "[authorisation-withdrawn] authorisation: A26-001 was withdrawn; grant a new one"
    );
    // A new one covers whatever became of the old.
    story.given(all("CD"));
    assert!(cover(&story, "CD", Activity::Run).holds());
}

#[test]
fn watched_work_is_recorded_as_such() {
    let mut story = Story::equipped();
    let sample = story.sample("19.0");
    story.given(AdoptMethod { method: "astm-d6928".into() });
    policy(&mut story, "authorisation", "required");
    let supervise = |activities: &[&str]| SuperviseWork {
        person: "CD".into(),
        method: "astm-d6928".into(),
        activities: activities.iter().map(|name| (*name).to_owned()).collect(),
        until: String::new(),
    };
    assert!(
        story.refused(supervise(&["run"])).contains(
            "[supervisor-not-authorised] by: Ada Brook is not authorised to run specimens"
        )
    );
    story.given(grant("AB", &["make-up", "run", "weigh-after", "release"]));
    assert!(story.refused(supervise(&["release"])).contains("[release-supervised]"));
    let myself = SuperviseWork { person: "AB".into(), ..supervise(&["run"]) };
    assert!(story.refused(myself).contains("[supervises-self]"));
    let long = SuperviseWork { until: "2026-06-01".into(), ..supervise(&["run"]) };
    assert!(story.refused(long).contains("[input-date] until: 2026-06-01 is more than 31 days"));
    story.given(supervise(&["make-up", "run", "weigh-after"]));
    story.by = "CD".into();
    // Watched work is no leave to watch others.
    let other = SuperviseWork { person: "AB".into(), ..supervise(&["run"]) };
    assert!(story.refused(other).contains("[supervisor-not-authorised]"));
    let specimen = story.specimen(&sample);
    story.run(&specimen);
    story.given(WeighAfter { specimen, mass_g: "1278".into(), ..WeighAfter::default() });
    story.by = "AB".into();
    story.given(ReleaseResult { result: "L26-001".into(), ..ReleaseResult::default() });
    let links = story.lab.evidence(&story.lab.results["L26-001"]);
    let proof = |role: &str| &links.iter().find(|link| link.role == role).unwrap().proof;
    for role in ["fractions weighed by", "weighed before by", "run by", "weighed after by"] {
        assert_eq!(*proof(role), Proof::Supervised { by: PersonCode::from("AB") }, "{role}");
    }
    assert_eq!(*proof("released by"), Proof::Authorised { authorisation: "A26-001".into() });
    // The day is over, and so is the watching.
    story.at = story.at.checked_add(24.hours()).unwrap();
    assert!(!cover(&story, "CD", Activity::Run).holds());
}

/// What came later changes nothing of what stood behind the work when it was done.
#[test]
fn evidence_shows_the_authorisation_at_that_time() {
    let mut story = Story::equipped();
    story.given(AdoptMethod { method: "astm-d6928".into() });
    policy(&mut story, "authorisation", "reason");
    let code = code_of(&story.given(all("AB")));
    let (_, result) = story.loss();
    let proof = |story: &Story| {
        let links = story.lab.evidence(&story.lab.results[result.as_str()]);
        links.into_iter().find(|link| link.role == "run by").unwrap().proof
    };
    let authorised = Proof::Authorised { authorisation: code.as_str().into() };
    assert_eq!(proof(&story), authorised);
    story.given(ChangeAuthorisation {
        authorisation: code.clone(),
        standing: "withdrawn".into(),
        reason: "left".into(),
    });
    assert_eq!(proof(&story), authorised);
}

#[test]
fn readiness_asks_for_somebody_authorised_for_each_part() {
    let mut story = Story::equipped();
    story.register("OVEN", "oven", "");
    story.prove("OVEN");
    story.given(AdoptMethod { method: "astm-d6928".into() });
    policy(&mut story, "authorisation", "reason");
    story.given(all("CD"));
    let one = story.lab.readiness(story.at).into_iter().next().unwrap();
    assert!(!one.ready);
    assert_eq!(one.lacks.len(), 1);
    assert_eq!(one.lacks[0].why, "nobody is authorised to judge and release results");
    let release = grant("AB", &["release"]);
    story.given(GrantAuthorisation { until: "2026-03-09".into(), ..release });
    let one = story.lab.readiness(story.at).into_iter().next().unwrap();
    assert!(one.ready, "{:?}", one.lacks);
    // It is ready until the end of that day in Toronto.
    assert_eq!(one.until, Some("2026-03-10T03:59:59Z".parse().unwrap()));
    assert_eq!(one.authorised.len(), 4);
}

#[test]
fn a_file_can_be_attached_to_an_authorisation() {
    let mut story = Story::equipped();
    story.given(all("CD"));
    story.given(AttachFile {
        to: "a26-001".into(),
        name: "record.pdf".into(),
        media_type: "application/pdf".into(),
        sha256: "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855".into(),
        bytes: "12".into(),
        ..AttachFile::default()
    });
    assert_eq!(story.lab.attachments_of("A26-001").len(), 1);
    let taken = RegisterItem { code: "A26-002".into(), ..RegisterItem::default() };
    assert!(story.refused(taken).contains("A26-002"), "no item may have such a code");
}
