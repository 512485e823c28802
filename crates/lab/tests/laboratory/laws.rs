//! The laws of the design, as properties: replay, no panic, recomputation from the journal alone.

use crate::story::Story;
use crate::story::busy::TYPED;
use proptest::prelude::*;
use stonewear_lab::request::*;
use stonewear_lab::{Fact, Lab, Recorded, Request};
use stonewear_method::Weighed;

/// Texts that people and broken programs put into fields.
fn typed() -> impl Strategy<Value = String> {
    prop_oneof![
        Just(String::new()),
        "[0-9]{1,6}(\\.[0-9]{1,3})?",
        "-?[0-9]{1,30}",
        "\\PC{0,12}",
        prop::sample::select(TYPED.to_vec()).prop_map(str::to_owned),
    ]
}

/// Any request, from the JSON of an empty one with its texts replaced.
fn request() -> impl Strategy<Value = Request> {
    let empty: Vec<Request> = vec![
        FoundLaboratory::default().into(),
        AddPerson { rights: vec![String::new()], ..AddPerson::default() }.into(),
        SetRights { rights: vec![String::new()], ..SetRights::default() }.into(),
        GrantAuthorisation { activities: vec![String::new(); 2], ..GrantAuthorisation::default() }
            .into(),
        ChangeAuthorisation::default().into(),
        SuperviseWork { activities: vec![String::new(); 2], ..SuperviseWork::default() }.into(),
        AdoptMethod::default().into(),
        ConfirmFigure { more: vec![ComparedFigure::default(); 2], ..ConfirmFigure::default() }
            .into(),
        RegisterItem {
            apparatus: Some(stonewear_procedure::Apparatus::default()),
            ..RegisterItem::default()
        }
        .into(),
        StartCheck::default().into(),
        Observe::default().into(),
        GiveUpCheck::default().into(),
        ChangeStanding::default().into(),
        ReceiveSample::default().into(),
        HandOverSample::default().into(),
        BeginSpecimen::default().into(),
        WeighFractions { masses_g: vec![String::new(); 4], ..WeighFractions::default() }.into(),
        WeighBefore::default().into(),
        StartRun { placements: vec![Placement::default(); 2], ..StartRun::default() }.into(),
        StopRun::default().into(),
        WeighAfter::default().into(),
        TakeReading { values: vec![String::new(); 2], ..TakeReading::default() }.into(),
        WorkOutResult { specimens: vec![String::new(); 2], ..WorkOutResult::default() }.into(),
        ReleaseResult::default().into(),
        SetInterval::default().into(),
        OpenDoubt::default().into(),
        CloseDoubt::default().into(),
        AttachFile::default().into(),
        IssuePaper::default().into(),
        SetLetterhead::default().into(),
        WeighDrying::default().into(),
        StartSoak::default().into(),
        InterruptRun::default().into(),
        ResumeRun::default().into(),
        CorrectRun::default().into(),
        CorrectObservation::default().into(),
        CorrectSample::default().into(),
        CorrectItem::default().into(),
        RecordSensitivity::default().into(),
        SetSievingRules::default().into(),
        RecordSieving { rows: vec![SievedRow::default(); 3], ..RecordSieving::default() }.into(),
        RecordSieving::default().into(),
        SetPolicy::default().into(),
        RecordOutsideResult::default().into(),
        RegisterLot::default().into(),
        LinkSample::default().into(),
        CountStock::default().into(),
        ImportReference::default().into(),
        ImportFile {
            columns: ["code", "kind", "on", "sample", "loss_percent", "lot", "apparatus", "sieve"]
                .map(|field| ImportColumn { field: field.into(), heading: String::new() })
                .into(),
            rows: vec![ImportRow { row: 2, cells: vec![String::new(); 8] }],
            ..ImportFile::default()
        }
        .into(),
        FreezeBaseline { excluded: vec![ExcludedPoint::default()], ..FreezeBaseline::default() }
            .into(),
        TakeOverLot::default().into(),
        NoteEvent::default().into(),
        OpenInvestigation::default().into(),
        RecordFinding::default().into(),
        CloseInvestigation::default().into(),
        PlanRound::default().into(),
        JoinRound::default().into(),
        TestHomogeneity::default().into(),
        TakeInResults::default().into(),
        TakeInOwnResults::default().into(),
        JudgeCell::default().into(),
        CloseRound::default().into(),
        ReopenRound::default().into(),
        TakeInScores::default().into(),
        ActOnScore::default().into(),
        CloseScore::default().into(),
        ChangeCharge::default().into(),
        PlanExperiment { levels: vec![String::new(); 3], ..PlanExperiment::default() }.into(),
        AssignToExperiment::default().into(),
        LeaveOutOfExperiment::default().into(),
        ImportExperiment::default().into(),
        PlanStudy { factors: vec![FactorForm::default(); 2], ..PlanStudy::default() }.into(),
        AssignStudyRun::default().into(),
        ImportStudyValues::default().into(),
        ConcludeStudy::default().into(),
    ];
    (prop::sample::select(empty), prop::collection::vec(typed(), 24)).prop_map(
        |(request, texts)| {
            let mut value = serde_json::to_value(&request).unwrap();
            let mut texts = texts.into_iter().cycle();
            fill(&mut value, &mut texts);
            serde_json::from_value(value).unwrap_or(request)
        },
    )
}

fn fill(value: &mut serde_json::Value, texts: &mut impl Iterator<Item = String>) {
    match value {
        serde_json::Value::String(text) if text.is_empty() => {
            *text = texts.next().unwrap_or_default();
        }
        serde_json::Value::Array(list) => list.iter_mut().for_each(|inner| fill(inner, texts)),
        serde_json::Value::Object(map) => {
            map.iter_mut()
                .filter(|(key, _)| *key != "request")
                .for_each(|(_, inner)| fill(inner, texts));
        }
        _ => {}
    }
}

fn replayed(facts: &[Recorded]) -> Lab {
    let mut lab = Lab::new();
    facts.iter().for_each(|fact| lab.apply(fact));
    lab
}

fn bytes(lab: &Lab) -> Vec<u8> {
    serde_json::to_vec(lab).unwrap()
}

thread_local! {
    static BUSY: Story = Story::busy();
}

#[test]
fn a_replayed_journal_gives_the_same_laboratory_byte_for_byte() {
    let story = Story::busy();
    assert_eq!(bytes(&replayed(&story.recorded)), bytes(&story.lab));
    // Through JSON, as the journal keeps it.
    let through_json: Vec<Recorded> = story
        .recorded
        .iter()
        .map(|recorded| {
            let text = serde_json::to_string(&recorded.fact).unwrap();
            Recorded { fact: serde_json::from_str(&text).unwrap(), ..recorded.clone() }
        })
        .collect();
    assert_eq!(bytes(&replayed(&through_json)), bytes(&story.lab));
}

#[test]
fn a_result_can_be_worked_out_again_from_the_facts_alone() {
    let story = Story::busy();
    // Nothing but facts: the method comes out of the journal, not out of the program.
    let mut method = None;
    let (mut before, mut after, mut reported) = (None, None, None);
    for recorded in &story.recorded {
        match &recorded.fact {
            Fact::MethodAdopted { method: adopted } => method = Some(adopted.clone()),
            Fact::MassWeighed {
                weighing: stonewear_lab::fact::Weighing::Before, mass_g, ..
            } if before.is_none() => {
                before = Some(*mass_g);
            }
            Fact::MassWeighed {
                weighing: stonewear_lab::fact::Weighing::After, mass_g, ..
            } if after.is_none() => after = Some(*mass_g),
            Fact::ResultReleased { loss_percent, .. } if reported.is_none() => {
                reported = *loss_percent;
            }
            _ => {}
        }
    }
    let weighed = Weighed { before_g: before.unwrap(), after_g: after.unwrap() };
    let loss = stonewear_method::loss::loss(&method.unwrap(), &[weighed]).unwrap();
    assert_eq!(Some(loss.percent), reported);
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(400))]

    /// Whatever is asked, of an empty or a busy laboratory, is decided or refused with a reason; and
    /// what was decided is applied, and written and read back as JSON without change.
    #[test]
    fn a_decision_never_panics_and_its_facts_always_apply(requests in prop::collection::vec(request(), 1..6)) {
        BUSY.with(|busy| {
            for lab in [Lab::new(), busy.lab.clone()] {
                let mut story = Story { lab, recorded: Vec::new(), ..Story::empty() };
                for request in &requests {
                    match story.when(request.clone()) {
                        Err(refusal) => prop_assert!(!refusal.problems.is_empty()),
                        Ok(facts) => {
                            prop_assert!(!facts.is_empty());
                            for fact in facts {
                                let text = serde_json::to_string(&fact).unwrap();
                                prop_assert_eq!(serde_json::from_str::<Fact>(&text).unwrap(), fact);
                            }
                        }
                    }
                }
            }
            Ok(())
        })?;
    }

    /// The order in which independent observations arrive does not matter to the result: fractions
    /// may be weighed in any order.
    #[test]
    fn fractions_may_be_weighed_in_any_order(order in Just([0_usize, 1, 2]).prop_shuffle()) {
        let mut story = BUSY.with(|busy| Story { lab: busy.lab.clone(), recorded: Vec::new(), ..Story::empty() });
        let sample = story.sample("19.0");
        story.given(BeginSpecimen {
            sample: sample.clone(),
            method: "astm-d6928".into(),
            grading: "19.0".into(),
            ..BeginSpecimen::default()
        });
        let specimen = format!("{sample}-1");
        for index in order {
            let mut masses_g = vec![String::new(); 3];
            masses_g[index] = ["375.1", "374.8", "750.3"][index].to_owned();
            story.given(WeighFractions { specimen: specimen.clone(), masses_g, ..WeighFractions::default() });
        }
        let known = &story.lab.specimens[specimen.as_str()];
        prop_assert_eq!(known.made_up_g().to_string(), "1500.2");
        prop_assert_eq!(known.fraction_g(0).unwrap().to_string(), "375.1");
    }
}
