//! Requests about rounds between laboratories, and about proficiency in the rounds of others.

use super::Request;

forms! {
    /// Plan a round with split samples, organised from here.
    PlanRound {
        /// What people call it.
        title: String,
        /// The test method: one of the library by its name, or any other in words.
        method: String,
        /// What is reported, with its unit; empty for `loss, %`.
        quantity: String,
        /// The materials, one a line: `name; what is in the bag; standard deviation for assessment`.
        materials: String,
        /// How many results each participant gives of a material.
        replicates: String,
        /// The participants known by now, one a line: `name; contact`. This laboratory itself is
        /// written `own`.
        participants: String,
        /// Until when results are taken, YYYY-MM-DD.
        closes_on: String,
        /// Whole number from which the codes of participants are drawn.
        seed: String,
        /// What the instructions say beside the usual; may be empty.
        instructions: String,
    }
    /// Let a laboratory take part in a round.
    JoinRound {
        /// The round.
        round: String,
        /// The laboratory; `own` for this one.
        laboratory: String,
        /// Whom to write to.
        contact: String,
    }
    /// Record the homogeneity test of split samples.
    TestHomogeneity {
        /// The round.
        round: String,
        /// The results as CSV: `material,bag,value`.
        table: String,
        /// Why an earlier test is replaced.
        reason: String,
    }
    /// Take in results of participants.
    TakeInResults {
        /// The round.
        round: String,
        /// The results as CSV: `code,material,replicate,value`.
        table: String,
        /// Where they come from: a file, a letter, a report.
        source: String,
        /// Why they are taken although they are late or replace earlier ones.
        deviation: String,
    }
    /// Take in results of this laboratory for its own part in a round.
    TakeInOwnResults {
        /// The round.
        round: String,
        /// The material.
        material: String,
        /// Codes of the results, one for each replicate, in order; on one line or several.
        results: String,
        /// Why they are taken although they are late, not released, or replace earlier ones.
        deviation: String,
    }
    /// Decide whether the results of a participant for a material count for precision.
    JudgeCell {
        /// The round.
        round: String,
        /// The code of the participant.
        participant: String,
        /// The material.
        material: String,
        /// `yes` leaves them out, `no` takes them in again.
        left_out: String,
        /// Why.
        reason: String,
    }
    /// End a round: its figures are kept, its reports are final.
    CloseRound {
        /// The round.
        round: String,
        /// Anything that the reports should say.
        remark: String,
    }
    /// Let an ended round go on.
    ReopenRound {
        /// The round.
        round: String,
        /// Why.
        reason: String,
    }
    /// Take in the table of a provider of proficiency rounds: rows about this laboratory.
    TakeInScores {
        /// Who runs the rounds.
        provider: String,
        /// The method, where the table has no column for it.
        method: String,
        /// The table as CSV.
        table: String,
        /// Why rows that were taken in before are replaced.
        reason: String,
    }
    /// Record what was done about a score.
    ActOnScore {
        /// The score.
        score: String,
        /// What was found to be the cause.
        cause: String,
        /// What was done.
        action: String,
    }
    /// Close the matter of a score.
    CloseScore {
        /// The score.
        score: String,
        /// What shows that it helped.
        finding: String,
    }
}
