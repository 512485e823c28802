//! Two years of an invented laboratory, told month by month.

use crate::control::People;
use crate::equipment::{OLD_MILL, SMALL_EQUIPMENT, first_mill, new_mill, old_mill, small_codes};
use crate::everyday::{Stone, Until};
use crate::story::{Batch, DemoError, Story};
use crate::studies::Crew;
use jiff::civil::date;
use jiff::tz::TimeZone;
use jiff::{Timestamp, ToSpan};
use stonewear_lab::fact::Fact;
use stonewear_lab::request::{
    AddPerson, ChangeStanding, CloseDoubt, FoundLaboratory, GiveUpCheck, HandOverSample, Observe,
    OpenDoubt,
};
use stonewear_method::Method;
use stonewear_procedure::{ItemKind, Procedure};

/// The seed of the demo laboratory that the program founds.
pub const SEED: u64 = 1_097;

/// Who is who: the manager, two technicians, and the engineer who releases.
pub(crate) const MANAGER: &str = "IK";
pub(crate) const TECHNICIANS: [&str; 2] = ["DO", "MQ"];
pub(crate) const ENGINEER: &str = "TR";

/// Whole weeks that the laboratory has been at work when the scenario ends.
const WEEKS: i64 = 105;
/// The week in which a mill that counts takes over.
const NEW_MILL_WEEK: i64 = 9;
/// The week from which every client's sample is sieved on arrival.
const SIEVING_WEEK: i64 = 92;
/// A quiet week, in which the companion tests are tried.
const COMPANION_WEEK: i64 = 99;
/// So late in a week, in hours, no client's sample is begun any more.
const HOURS_FOR_A_SAMPLE: i64 = 100;
/// The weeks in which the balls of one charge are tried on the gauges, and how many are worn.
const GAUGE_WEEKS: [(i64, &str); 2] = [(66, "3"), (97, "9")];
/// A quiet week, in which the loss is found over the revolutions.
const EXPERIMENT_WEEK: i64 = 62;
/// A quiet week, in which the positions of the mill are compared; and the one in which the mill is
/// qualified after a repair.
const STUDY_WEEKS: (i64, i64) = (70, 104);
const CREW: Crew = Crew { manager: MANAGER, tester: TECHNICIANS[0], engineer: ENGINEER };
/// The week in which the balance is found heavy.
const INCIDENT_WEEK: i64 = 95;

const REFERENCE: Stone = Stone {
    source: "Karsholm reference stock, lot 2",
    material: "reference aggregate, crushed greywacke",
    client: "own use",
    project: "control of the apparatus",
    intended_use: "reference",
    nominal_maximum_mm: "19.0",
    grading: "19.0",
    loss_tenths: 142,
    limit_percent: "",
    limit_document: "",
    reference: true,
};

pub(crate) const STONES: [Stone; 6] = [
    Stone {
        source: "Hollowmere Quarry, face 3",
        material: "crushed dolerite 10/20",
        client: "Brant & Ousel Surfacing",
        project: "Ring road, section 4",
        intended_use: "surface course",
        nominal_maximum_mm: "19.0",
        grading: "19.0",
        loss_tenths: 91,
        limit_percent: "18",
        limit_document: "contract RR-4, schedule C",
        reference: false,
    },
    Stone {
        source: "Pellow Pit",
        material: "crushed gravel 6/14",
        client: "Tarn Valley Council",
        project: "Harbour quay paving",
        intended_use: "concrete",
        nominal_maximum_mm: "12.5",
        grading: "12.5",
        loss_tenths: 164,
        limit_percent: "17",
        limit_document: "quay works specification 2.3",
        reference: false,
    },
    Stone {
        source: "Skarn Ridge Quarry",
        material: "crushed limestone 10/20",
        client: "Brant & Ousel Surfacing",
        project: "Moor Lane base course",
        intended_use: "unbound base",
        nominal_maximum_mm: "19.0",
        grading: "19.0",
        loss_tenths: 208,
        limit_percent: "25",
        limit_document: "contract ML-1, table 2",
        reference: false,
    },
    Stone {
        source: "Dunfell Sandstone Works",
        material: "crushed sandstone 6/14",
        client: "Aldermoss Estates",
        project: "Access tracks",
        intended_use: "unbound surface",
        nominal_maximum_mm: "12.5",
        grading: "12.5",
        loss_tenths: 263,
        limit_percent: "25",
        limit_document: "estate specification 7",
        reference: false,
    },
    Stone {
        source: "Hollowmere Quarry, face 1",
        material: "crushed dolerite 4/10",
        client: "Tarn Valley Council",
        project: "School walkways",
        intended_use: "surface dressing",
        nominal_maximum_mm: "9.5",
        grading: "9.5",
        loss_tenths: 98,
        limit_percent: "15",
        limit_document: "dressing schedule 2",
        reference: false,
    },
    Stone {
        source: "Oxgang Gravel",
        material: "natural gravel 10/20",
        client: "Morrow Drainage",
        project: "Filter drains, lot 2",
        intended_use: "drainage",
        nominal_maximum_mm: "19.0",
        grading: "19.0",
        loss_tenths: 127,
        limit_percent: "",
        limit_document: "",
        reference: false,
    },
];

/// The week in which the laboratory decides its policies.
const POLICY_WEEK: i64 = 99;
/// The week from which whoever works without an authorisation says why.
const AUTHORISATION_WEEK: i64 = 100;
/// The week with two results that agree, and the one with two that do not.
const REPLICATE_WEEKS: (i64, i64) = (100, 102);

/// The weeks in which the laboratory tests its own part of its round: they leave no time for a
/// client's sample.
const ROUND_WEEKS: [i64; 2] = [101, 103];

/// Tells the whole scenario: everything that the demo laboratory's journal holds.
///
/// # Errors
/// When the scenario breaks a rule of the laboratory, which is a fault in the scenario.
pub fn scenario(
    seed: u64,
    methods: &[Method],
    procedures: &[Procedure],
) -> Result<Vec<Batch>, DemoError> {
    let monday = date(2024, 11, 18).at(7, 30, 0, 0).to_zoned_datetime(TimeZone::UTC)?.timestamp();
    let mut story = Story::new(seed, monday, methods, procedures);
    found(&mut story)?;
    equip(&mut story)?;
    story.first_lot(MANAGER)?;
    for week in 2..WEEKS {
        // A timestamp knows no calendar, so weeks are counted in hours.
        story.at = week_begins(monday, week)?;
        if week == NEW_MILL_WEEK {
            counting_mill(&mut story)?;
        }
        story.sieves = week >= SIEVING_WEEK;
        if week == INCIDENT_WEEK {
            balance_found_heavy(&mut story)?;
        }
        if week == EXPERIMENT_WEEK {
            story.revolutions_experiment(TECHNICIANS[0], MANAGER, STONES[0])?;
        }
        if let Some((_, worn)) = GAUGE_WEEKS.iter().find(|(of, _)| *of == week) {
            story.gauge_balls(TECHNICIANS[1], worn)?;
        }
        if week == POLICY_WEEK {
            story.decide_policies(MANAGER)?;
            story.letterhead(MANAGER)?;
        }
        if week == AUTHORISATION_WEEK {
            story.authorise(MANAGER, TECHNICIANS, ENGINEER)?;
        }
        ordinary_week(&mut story, week)?;
        if week == crate::past::WEEK {
            story.old_list(MANAGER)?;
        }
        if week == STUDY_WEEKS.0 {
            story.positions_study(CREW, REFERENCE)?;
        }
        if week == COMPANION_WEEK {
            story.companion_tests(TECHNICIANS[0], MANAGER, ENGINEER)?;
        }
        replicates(&mut story, week)?;
        between_laboratories(&mut story, week)?;
        if week == STUDY_WEEKS.1 {
            story.qualification(CREW, REFERENCE)?;
        }
    }
    last_days(&mut story, week_begins(monday, WEEKS)?)?;
    Ok(story.batches)
}

fn week_begins(monday: Timestamp, week: i64) -> Result<Timestamp, DemoError> {
    Ok(monday.checked_add((week * 7 * 24).hours())?)
}

pub(crate) fn found(story: &mut Story<'_>) -> Result<(), DemoError> {
    story.ask(
        MANAGER,
        FoundLaboratory {
            name: "Tarnbeck Materials Laboratory".to_owned(),
            address: "3 Weighbridge Lane, Tarnbeck".to_owned(),
            founder_code: MANAGER.to_owned(),
            founder_name: "Ines Korhola".to_owned(),
            invented: "yes".to_owned(),
            time_zone: "Europe/Dublin".to_owned(),
        },
    )?;
    for (code, name, rights) in [
        ("DO", "Davit Osgrave", vec!["test"]),
        ("MQ", "Maren Quillby", vec!["test"]),
        ("TR", "Tomas Reyl", vec!["test", "release"]),
    ] {
        story.later(5.minutes())?;
        let rights = rights.into_iter().map(str::to_owned).collect();
        story.ask(MANAGER, AddPerson { code: code.to_owned(), name: name.to_owned(), rights })?;
    }
    Ok(())
}

pub(crate) fn equip(story: &mut Story<'_>) -> Result<(), DemoError> {
    for listed in SMALL_EQUIPMENT {
        story.register(MANAGER, listed, None)?;
    }
    let first = (OLD_MILL, ItemKind::Apparatus, "old jar mill", "no. 17", "");
    story.register(MANAGER, first, Some(first_mill()))?;
    for code in small_codes() {
        story.prove(TECHNICIANS[0], MANAGER, code.as_str())?;
    }
    story.prove(TECHNICIANS[1], MANAGER, OLD_MILL)
}

/// A mill that counts takes the place of the one that only times.
pub(crate) fn counting_mill(story: &mut Story<'_>) -> Result<(), DemoError> {
    let mill = ("MILL-1", ItemKind::Apparatus, "jar mill in bay 1", "no. 0172", "");
    story.register(MANAGER, mill, Some(old_mill()))?;
    story.prove(TECHNICIANS[1], MANAGER, "MILL-1")?;
    story.later(1.hour())?;
    story.ask(
        MANAGER,
        ChangeStanding {
            item: OLD_MILL.to_owned(),
            standing: "retired".to_owned(),
            reason: "sold; a timed run can be 5 % off its count".to_owned(),
        },
    )?;
    story.mill = "MILL-1";
    Ok(())
}

/// A week: the reference aggregate where it is due, a client's sample two weeks out of five.
fn ordinary_week(story: &mut Story<'_>, week: i64) -> Result<(), DemoError> {
    let tester = TECHNICIANS[usize::from(week % 2 == 0)];
    // After the incident the spare balance does the work, until the other is back.
    let balance =
        if (INCIDENT_WEEK..INCIDENT_WEEK + 3).contains(&week) { "BAL-2" } else { "BAL-1" };
    if week == INCIDENT_WEEK + 2 {
        balance_back(story)?;
    }
    let began = story.at;
    story.renew(tester)?;
    let people = People { manager: MANAGER, tester, engineer: ENGINEER };
    story.reference_week(week, &people, balance, REFERENCE)?;
    // A week that went into finding out what is wrong leaves no time for a client's sample.
    let has_time =
        story.at < began.checked_add(HOURS_FOR_A_SAMPLE.hours())? && !ROUND_WEEKS.contains(&week);
    if matches!(week % 5, 1 | 3) && has_time {
        let stone = *story.chance.one_of(&STONES).ok_or(DemoError::Expected("a stone"))?;
        story.test(tester, ENGINEER, balance, stone, Until::Released)?;
    }
    Ok(())
}

/// Two results of one sample: a pair that agrees, next to its limit, with what another laboratory
/// found; and a pair that does not, released all the same with a reason.
fn replicates(story: &mut Story<'_>, week: i64) -> Result<(), DemoError> {
    let people = (TECHNICIANS[0], ENGINEER);
    if week == REPLICATE_WEEKS.0 {
        let sample = story.replicate(people, "BAL-1", STONES[1], [159, 164], "")?;
        story.outside(TECHNICIANS[0], &sample, "15.2")?;
    }
    if week == REPLICATE_WEEKS.1 {
        let reason = "the client wants both losses now; another pair is on its way";
        story.replicate(people, "BAL-1", STONES[0], [91, 121], reason)?;
    }
    Ok(())
}

/// Scores in the rounds of others, and a round of our own.
fn between_laboratories(story: &mut Story<'_>, week: i64) -> Result<(), DemoError> {
    match week {
        96 => story.scores(MANAGER)?,
        97 => story.plan_round(MANAGER, TECHNICIANS[1])?,
        101 => story.own_part(0, (TECHNICIANS[0], ENGINEER), "BAL-1")?,
        103 => story.own_part(1, (TECHNICIANS[0], ENGINEER), "BAL-1")?,
        104 => story.end_round(MANAGER, ENGINEER)?,
        _ => {}
    }
    Ok(())
}

/// The incident: the yearly check finds the balance heavy; it is held, and every loss that stands on
/// it since its last check is in doubt until somebody has looked at it.
fn balance_found_heavy(story: &mut Story<'_>) -> Result<(), DemoError> {
    const STEP: &str = "mass-1000";
    let check = story.begin_check("MQ", "BAL-1", "balance-check")?;
    let steps = story.lab.checks.get(&check).map(|check| check.procedure.steps.clone());
    let before = steps.and_then(|steps| steps.iter().position(|step| step.id == STEP));
    story.pass_steps("MQ", &check, before.ok_or(DemoError::Expected("the step at 1000 g"))?)?;
    story.later(3.minutes())?;
    story.ask(
        "MQ",
        Observe {
            check: check.to_string(),
            step: STEP.to_owned(),
            seen: "1001.5".to_owned(),
            note: "read three times, levelled in between".to_owned(),
            ..Observe::default()
        },
    )?;
    story.later(20.minutes())?;
    let reason = "the balance reads 1.5 g heavy; sent for repair".to_owned();
    story.ask("MQ", GiveUpCheck { check: check.to_string(), reason: reason.clone() })?;
    story.later(2.hours())?;
    let facts = story.ask(
        MANAGER,
        OpenDoubt {
            item: "BAL-1".to_owned(),
            attribute: "indication".to_owned(),
            found: "1.5".to_owned(),
            since: String::new(),
            reason,
        },
    )?;
    let Some(Fact::DoubtOpened { doubt, results, .. }) = facts.first() else {
        return Err(DemoError::Expected("a doubt"));
    };
    // The engineer deals with all but the last three, which are still to be looked at.
    for result in results.iter().rev().skip(3).rev() {
        story.later(6.minutes())?;
        story.ask(
            ENGINEER,
            CloseDoubt {
                doubt: doubt.to_string(),
                result: result.to_string(),
                reason: "without the error the decision is the same; the report stands".to_owned(),
            },
        )?;
    }
    Ok(())
}

fn balance_back(story: &mut Story<'_>) -> Result<(), DemoError> {
    let check = story.begin_check("DO", "BAL-1", "balance-check")?;
    story.pass_steps("DO", &check, usize::MAX)?;
    story.later(15.minutes())?;
    story.ask(
        MANAGER,
        ChangeStanding {
            item: "BAL-1".to_owned(),
            standing: "in-service".to_owned(),
            reason: "repaired and checked".to_owned(),
        },
    )?;
    Ok(())
}

/// What became of older samples: half of one went to another laboratory, one was sent back, one
/// thrown away.
fn custody(story: &mut Story<'_>) -> Result<(), DemoError> {
    let clients = story.lab.samples.values().filter(|sample| !sample.reference);
    let codes: Vec<String> = clients.map(|sample| sample.code.to_string()).collect();
    let [first, second, .., last] = codes.as_slice() else {
        return Err(DemoError::Expected("samples of clients"));
    };
    let over = |sample: &str, step: &str, to: &str, note: &str| HandOverSample {
        sample: sample.to_owned(),
        step: step.to_owned(),
        to: to.to_owned(),
        note: note.to_owned(),
        ..HandOverSample::default()
    };
    let client = client_of(story, second)?;
    let note = "older than a year, the client agreed";
    hand_over(story, "DO", over(first, "disposed", "", note))?;
    hand_over(story, "DO", over(second, "returned", &client, "asked for it"))?;
    let note = "halved with the splitter; one half for a comparison between laboratories";
    hand_over(story, "MQ", over(last, "split", "Fenwick Aggregates Laboratory", note))
}

fn hand_over(story: &mut Story<'_>, by: &str, over: HandOverSample) -> Result<(), DemoError> {
    story.later(10.minutes())?;
    story.ask(by, over).map(drop)
}

fn client_of(story: &Story<'_>, sample: &str) -> Result<String, DemoError> {
    let sample = story.lab.samples.get(sample);
    sample.map(|sample| sample.client.clone()).ok_or(DemoError::Expected("a sample"))
}

fn newest_sample(story: &Story<'_>) -> Result<String, DemoError> {
    let newest = story.lab.samples.values().max_by_key(|sample| sample.received.position);
    newest.map(|sample| sample.code.to_string()).ok_or(DemoError::Expected("a sample"))
}

/// The last days: a new apparatus half through its function check, one specimen made up, one
/// result that waits for its release, and a jar that turns as the page is opened.
fn last_days(story: &mut Story<'_>, monday: Timestamp) -> Result<(), DemoError> {
    story.at = monday;
    let mill = ("MILL-2", ItemKind::Apparatus, "jar mill in bay 2", "no. 0391", "");
    story.register(MANAGER, mill, Some(new_mill()))?;
    for (code, name) in [("JAR-5", "jar 5"), ("JAR-6", "jar 6")] {
        story.register(MANAGER, (code, ItemKind::Jar, name, "", ""), None)?;
    }
    custody(story)?;
    story.test("DO", ENGINEER, "BAL-1", STONES[0], Until::WorkedOut)?;
    hand_over(
        story,
        "DO",
        HandOverSample {
            sample: newest_sample(story)?,
            to: "MQ".to_owned(),
            place: "bay 2, shelf B".to_owned(),
            note: "what is left, kept until the report is released".to_owned(),
            ..HandOverSample::default()
        },
    )?;
    story.test("MQ", ENGINEER, "BAL-1", STONES[4], Until::MadeUp)?;
    story.test("DO", ENGINEER, "BAL-1", STONES[1], Until::Turning)?;
    story.later(43.minutes())?;
    let check = story.begin_check("MQ", "MILL-2", "function-check")?;
    story.pass_steps("MQ", &check, 4)?;
    Ok(())
}
