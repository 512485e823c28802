//! Of whom what waits is asked: who began it, who alone may, or anybody who may.

use crate::story::Story;
use jiff::ToSpan;
use stonewear_lab::asked::Because;
use stonewear_lab::next::Next;
use stonewear_lab::request::*;

/// What waits and of whom it is asked, as `what: whom`.
fn asked(story: &Story) -> Vec<String> {
    let what = |next: &Next| match next {
        Next::Release { .. } => "release",
        Next::StopRun { .. } => "stop run",
        Next::WeighAfter { .. } => "weigh after",
        Next::StartRun { .. } => "start run",
        Next::WeighBefore { .. } => "weigh before",
        Next::MakeUp { .. } => "make up",
        Next::TakeReading { .. } => "read",
        Next::BeginSpecimen { .. } => "begin",
        Next::GoOn { .. } => "go on",
        Next::Prove { .. } => "prove",
    };
    let all = story.lab.asked(story.at);
    all.iter().map(|one| format!("{}: {}", what(&one.next), one.in_words())).collect()
}

fn person(story: &mut Story, code: &str, name: &str, rights: &[&str]) {
    let rights = rights.iter().map(|right| (*right).to_owned()).collect();
    story.given(AddPerson { code: code.into(), name: name.into(), rights });
}

fn policy(story: &mut Story, policy: &str, value: &str) {
    let reason = "our manual".to_owned();
    story.given(SetPolicy { policy: policy.into(), value: value.into(), reason });
}

fn authorise(story: &mut Story, person: &str, activities: &[&str]) {
    story.given(GrantAuthorisation {
        person: person.into(),
        method: "astm-d6928".into(),
        activities: activities.iter().map(|name| (*name).to_owned()).collect(),
        training: "training record 7".into(),
        ..GrantAuthorisation::default()
    });
}

#[test]
fn each_step_of_the_work_is_asked_of_who_has_it_in_hand() {
    let mut story = Story::equipped();
    person(&mut story, "EF", "Edda Finch", &["release"]);
    assert!(asked(&story).is_empty());

    // Nobody has it in hand: whoever may test is asked, and EF, who only releases, is not.
    let sample = story.sample("19.0");
    assert_eq!(asked(&story), ["begin: AB or CD"]);

    // CD begins; each step that follows is asked of CD alone.
    "CD".clone_into(&mut story.by);
    let specimen = story.begin(BeginSpecimen {
        sample,
        method: "astm-d6928".into(),
        grading: "19.0".into(),
        ..BeginSpecimen::default()
    });
    assert_eq!(asked(&story), ["make up: CD, who began it"]);
    story.given(WeighFractions {
        specimen: specimen.clone(),
        masses_g: vec!["375.2".into(), "374.9".into(), "750.1".into()],
        ..WeighFractions::default()
    });
    assert_eq!(asked(&story), ["weigh before: CD, who began it"]);

    // AB weighs it: it is AB who has it in hand.
    "AB".clone_into(&mut story.by);
    story.given(WeighBefore {
        specimen: specimen.clone(),
        mass_g: "1500".into(),
        ..WeighBefore::default()
    });
    assert_eq!(asked(&story), ["start run: AB, who began it"]);

    // CD runs it: its end and the weighing after it are CD's.
    "CD".clone_into(&mut story.by);
    let facts = story.given(story.start(&specimen));
    let stonewear_lab::Fact::RunStarted { run, .. } = &facts[0] else { panic!("{facts:?}") };
    assert_eq!(asked(&story), ["stop run: CD, who began it"]);
    story.given(StopRun {
        run: run.to_string(),
        revolutions: "12000".into(),
        minutes: "120".into(),
        ..StopRun::default()
    });
    assert_eq!(asked(&story), ["weigh after: CD, who began it"]);
    story.given(WeighAfter { specimen, mass_g: "1278".into(), ..WeighAfter::default() });

    // Whoever may release is asked for that.
    assert_eq!(asked(&story), ["release: AB or EF"]);
    // Where another person must release, not who had the specimen in hand.
    "AB".clone_into(&mut story.by);
    policy(&mut story, "release-by-another", "required");
    assert_eq!(asked(&story), ["release: EF"]);
    let all = story.lab.asked(story.at);
    assert!(all[0].is_of("EF") && !all[0].is_of("AB"));
}

#[test]
fn who_has_lost_the_right_is_asked_no_longer() {
    let mut story = Story::founded();
    story.register("BAL", "balance", "");
    assert_eq!(asked(&story), ["prove: AB or CD"]);
    "CD".clone_into(&mut story.by);
    story.given(StartCheck { item: "BAL".into(), procedure: "balance-check".into() });
    assert_eq!(asked(&story), ["go on: CD, who began it"]);
    "AB".clone_into(&mut story.by);
    story.given(SetRights {
        person: "CD".into(),
        rights: vec!["release".into()],
        reason: "moved to the office".into(),
    });
    assert_eq!(asked(&story), ["go on: AB"]);
}

#[test]
fn authorisations_narrow_down_whom_work_is_asked_of() {
    // (what the laboratory asks for, who is authorised to make up, whom the make-up is asked of)
    let cases: [(&str, &[&str], &str); 5] = [
        ("not-required", &[], "make up: AB, who began it"),
        ("reason", &["AB"], "make up: AB, who began it"),
        ("reason", &["CD"], "make up: CD"),
        // With a reason everybody may: then it is asked of who began it.
        ("reason", &[], "make up: AB, who began it"),
        ("required", &["CD"], "make up: CD"),
    ];
    for (rule, authorised, expected) in cases {
        let mut story = Story::equipped();
        let sample = story.sample("19.0");
        story.begin(BeginSpecimen {
            sample,
            method: "astm-d6928".into(),
            grading: "19.0".into(),
            ..BeginSpecimen::default()
        });
        for person in authorised {
            authorise(&mut story, person, &["make-up"]);
        }
        if rule != "not-required" {
            policy(&mut story, "authorisation", rule);
        }
        assert_eq!(asked(&story), [expected], "{rule} {authorised:?}");
    }
}

#[test]
fn what_nobody_may_do_is_asked_of_nobody_and_says_so() {
    let mut story = Story::equipped();
    let sample = story.sample("19.0");
    authorise(&mut story, "AB", &["make-up"]);
    story.specimen(&sample);
    policy(&mut story, "authorisation", "required");
    let all = story.lab.asked(story.at);
    assert_eq!(all[0].because, Because::NobodyMay);
    assert_eq!(asked(&story), ["start run: nobody may do it"]);
    // An authorisation that has run out does not count; one that holds does.
    story.given(GrantAuthorisation {
        until: "2026-03-20".into(),
        person: "CD".into(),
        method: "astm-d6928".into(),
        activities: vec!["run".into()],
        training: "training record 8".into(),
        ..GrantAuthorisation::default()
    });
    assert_eq!(asked(&story), ["start run: CD"]);
    story.at = story.at.checked_add((40 * 24).hours()).unwrap();
    assert_eq!(asked(&story), ["start run: nobody may do it"]);
}
