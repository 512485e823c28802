//! Turning a request into facts, or refusing it with reasons.

mod attachments;
mod authorisations;
mod charge;
mod checks;
mod control;
mod corrections;
mod custody;
mod doubts;
mod drum;
mod drying;
mod experiments;
mod form;
mod imports;
mod interruptions;
pub mod items;
mod methods;
mod observations;
mod outcome;
mod papers;
mod people;
mod policies;
mod proficiency;
mod readings;
mod results;
mod rounds;
mod rows;
mod runs;
mod samples;
pub mod sieving;
pub mod specimens;
mod studies;

use crate::code::PersonCode;
use crate::fact::{Fact, Right};
use crate::refusal::Refusal;
use crate::request::Request;
use crate::state::{Lab, Person};
use jiff::Timestamp;
use stonewear_method::Method;
use stonewear_procedure::Procedure;

/// What a decision may look at beside the laboratory itself.
#[derive(Debug, Clone)]
pub struct Context<'a> {
    /// The time, as the surroundings give it.
    pub at: Timestamp,
    /// When it was entered, by the clock of a tablet that could not reach the laboratory then.
    pub made: Option<Timestamp>,
    /// Who asks.
    pub by: PersonCode,
    /// The methods that can be taken into use.
    pub methods: &'a [Method],
    /// The procedures that are written in files; the function check is generated.
    pub procedures: &'a [Procedure],
}

/// Decides a request: the facts that follow from it, or everything that is wrong with it.
///
/// # Errors
/// A [`Refusal`] with all problems found, each at its field and with what would be right.
pub fn decide(lab: &Lab, context: &Context<'_>, request: &Request) -> Result<Vec<Fact>, Refusal> {
    let desk = Desk { lab, context };
    let facts = decided(&desk, request)?;
    // A reference result that is out of control has consequences of its own.
    let following = desk.following_signals(&facts);
    Ok(facts.into_iter().chain(following).collect())
}

fn decided(desk: &Desk<'_>, request: &Request) -> Result<Vec<Fact>, Refusal> {
    match request {
        Request::FoundLaboratory(request) => desk.found_laboratory(request),
        Request::AddPerson(request) => desk.add_person(request),
        Request::SetRights(request) => desk.set_rights(request),
        Request::GrantAuthorisation(request) => desk.grant_authorisation(request),
        Request::ChangeAuthorisation(request) => desk.change_authorisation(request),
        Request::SuperviseWork(request) => desk.supervise_work(request),
        Request::AdoptMethod(request) => desk.adopt_method(request),
        Request::ConfirmFigure(request) => desk.confirm_figure(request),
        Request::RegisterItem(request) => desk.register_item(request),
        Request::StartCheck(request) => desk.start_check(request),
        Request::Observe(request) => desk.observe(request),
        Request::GiveUpCheck(request) => desk.give_up_check(request),
        Request::SetInterval(request) => desk.set_interval(request),
        Request::ChangeStanding(request) => desk.change_standing(request),
        Request::ReceiveSample(request) => desk.receive_sample(request),
        Request::HandOverSample(request) => desk.hand_over_sample(request),
        Request::BeginSpecimen(request) => desk.begin_specimen(request),
        Request::WeighFractions(request) => desk.weigh_fractions(request),
        Request::WeighBefore(request) => desk.weigh_before(request),
        Request::StartRun(request) => desk.start_run(request),
        Request::StopRun(request) => desk.stop_run(request),
        Request::WeighAfter(request) => desk.weigh_after(request),
        Request::TakeReading(request) => desk.take_reading(request),
        Request::WorkOutResult(request) => desk.work_out_result(request),
        Request::OpenDoubt(request) => desk.open_doubt(request),
        Request::CloseDoubt(request) => desk.close_doubt(request),
        Request::ReleaseResult(request) => desk.release_result(request),
        Request::AttachFile(request) => desk.attach_file(request),
        Request::WeighDrying(request) => desk.weigh_drying(request),
        Request::StartSoak(request) => desk.start_soak(request),
        Request::InterruptRun(request) => desk.interrupt_run(request),
        Request::ResumeRun(request) => desk.resume_run(request),
        Request::CorrectRun(request) => desk.correct_run(request),
        Request::CorrectObservation(request) => desk.correct_observation(request),
        Request::CorrectSample(request) => desk.correct_sample(request),
        Request::CorrectItem(request) => desk.correct_item(request),
        Request::RecordSensitivity(request) => desk.record_sensitivity(request),
        Request::SetSievingRules(request) => desk.set_sieving_rules(request),
        Request::RecordSieving(request) => desk.record_sieving(request),
        Request::SetPolicy(request) => desk.set_policy(request),
        Request::RecordOutsideResult(request) => desk.record_outside_result(request),
        Request::PlanStudy(request) => desk.plan_study(request),
        Request::AssignStudyRun(request) => desk.assign_study_run(request),
        Request::ImportStudyValues(request) => desk.import_study_values(request),
        Request::ConcludeStudy(request) => desk.conclude_study(request),
        Request::RegisterLot(request) => desk.register_lot(request),
        Request::LinkSample(request) => desk.link_sample(request),
        Request::CountStock(request) => desk.count_stock(request),
        Request::ImportReference(request) => desk.import_reference(request),
        Request::FreezeBaseline(request) => desk.freeze_baseline(request),
        Request::TakeOverLot(request) => desk.take_over_lot(request),
        Request::NoteEvent(request) => desk.note_event(request),
        Request::OpenInvestigation(request) => desk.open_investigation(request),
        Request::RecordFinding(request) => desk.record_finding(request),
        Request::CloseInvestigation(request) => desk.close_investigation(request),
        Request::PlanRound(request) => desk.plan_round(request),
        Request::JoinRound(request) => desk.join_round(request),
        Request::TestHomogeneity(request) => desk.test_homogeneity(request),
        Request::TakeInResults(request) => desk.take_in_results(request),
        Request::TakeInOwnResults(request) => desk.take_in_own_results(request),
        Request::JudgeCell(request) => desk.judge_cell(request),
        Request::CloseRound(request) => desk.close_round(request),
        Request::ReopenRound(request) => desk.reopen_round(request),
        Request::TakeInScores(request) => desk.take_in_scores(request),
        Request::ActOnScore(request) => desk.act_on_score(request),
        Request::CloseScore(request) => desk.close_score(request),
        Request::ChangeCharge(request) => desk.change_charge(request),
        Request::PlanExperiment(request) => desk.plan_experiment(request),
        Request::AssignToExperiment(request) => desk.assign_to_experiment(request),
        Request::LeaveOutOfExperiment(request) => desk.leave_out_of_experiment(request),
        Request::ImportExperiment(request) => desk.import_experiment(request),
        Request::IssuePaper(request) => desk.issue_paper(request),
        Request::SetLetterhead(request) => desk.set_letterhead(request),
        Request::ImportFile(request) => desk.import_file(request),
    }
}

/// Where a decision is made: the laboratory as it stands, and the context of the request.
struct Desk<'a> {
    lab: &'a Lab,
    context: &'a Context<'a>,
}

impl<'a> Desk<'a> {
    /// When the request was entered: by the clock of the tablet that it waited on, which is not
    /// believed where it is ahead of the laboratory's.
    fn entered_at(&self) -> Timestamp {
        self.context.made.unwrap_or(self.context.at).min(self.context.at)
    }

    /// The person who asks, if they may do this.
    fn person_who_may(&self, right: Right) -> Result<&'a Person, Refusal> {
        if !self.lab.is_founded() {
            return Err(Refusal::of(
                "",
                "laboratory-not-founded",
                "there is no laboratory here yet",
                "found it first, with its name and your own",
            ));
        }
        let by = &self.context.by;
        let Some(person) = self.lab.people.get(by) else {
            return Err(Refusal::of(
                "by",
                "person-unknown",
                if by.as_str().is_empty() {
                    "nobody is named as asking".to_owned()
                } else {
                    format!("nobody here has the initials {by}")
                },
                format!("say who you are: {}", self.initials()),
            ));
        };
        if person.may(right) {
            return Ok(person);
        }
        let who_may = self.lab.people.values().filter(|other| other.may(right));
        let names = crate::words::listed(who_may.map(|other| other.code.to_string()));
        Err(Refusal::of(
            "by",
            "right-missing",
            format!("{} may not {}", person.name, right.in_words()),
            if names.is_empty() {
                "somebody with the right to manage can grant it".to_owned()
            } else {
                format!("ask {names}, or have the right granted")
            },
        ))
    }

    /// What is wrong with a code that is none of a `what`: it is of something else, or unknown.
    fn is_no(&self, what: &str, typed: &str) -> String {
        match self.lab.thing(typed) {
            Some(thing) => format!("{} is {}, not a {what}", thing.code, thing.what()),
            None => format!("there is no {what} “{}”", typed.trim()),
        }
    }

    fn initials(&self) -> String {
        crate::words::listed(self.lab.people.keys().map(ToString::to_string))
    }
}

impl Right {
    /// In words, to follow “may”.
    pub fn in_words(self) -> &'static str {
        match self {
            Self::Test => "test",
            Self::Release => "release results",
            Self::Manage => "manage people, equipment and methods",
        }
    }
}
