//! `stonewear judge`: does a result conform, and how sure is that?

use super::document::{Document, defined};
use super::table::{lines, short};
use crate::answer::{Answer, Failure};
use clap::ValueEnum;
use stonewear_stats::conformity::{
    GuardedRule, Process, Rule, Statement, Tolerance, global_risk, guard_band_for_consumer_risk,
    guarded, judge as decide,
};
use stonewear_stats::{StatsError, Undefined};

/// Judge one result against limits by a decision rule (JCGM 106, ILAC-G8).
#[derive(Debug, clap::Args)]
#[command(after_help = "\
Example (invented figures):\n\
\x20 stonewear judge --value 17.4 --u 0.4 --upper 18 --rule guarded")]
pub(crate) struct Judge {
    /// The result.
    #[arg(long, allow_negative_numbers = true)]
    value: f64,
    /// Its standard uncertainty.
    #[arg(long)]
    u: f64,
    /// Lower limit.
    #[arg(long, allow_negative_numbers = true)]
    lower: Option<f64>,
    /// Upper limit.
    #[arg(long, allow_negative_numbers = true)]
    upper: Option<f64>,
    /// Decision rule.
    #[arg(long, value_enum, default_value_t = RuleName::Simple)]
    rule: RuleName,
    /// Guard band in the unit of the result; 2u unless given.
    #[arg(long, value_name = "W", allow_negative_numbers = true)]
    guard: Option<f64>,
    /// Choose the guard band so that an accepted result has at most this risk of not conforming.
    #[arg(long, conflicts_with = "guard")]
    risk: Option<f64>,
    /// Choose the guard band so that of the whole production at most this share is accepted without
    /// conforming.
    #[arg(long, conflicts_with_all = ["guard", "risk"], requires = "process_sd")]
    consumer_risk: Option<f64>,
    /// Mean of the true values of the production, for the risks of the rule over all of it.
    #[arg(long, requires = "process_sd", allow_negative_numbers = true)]
    process_mean: Option<f64>,
    /// Standard deviation of the true values of the production.
    #[arg(long, requires = "process_mean")]
    process_sd: Option<f64>,
    /// Exit with status 1 unless the verdict is a pass.
    #[arg(long)]
    strict: bool,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
enum RuleName {
    /// Accept what lies within the limits.
    Simple,
    /// Accept what lies within the limits less the guard band.
    Guarded,
    /// Pass, conditional pass, conditional fail, fail.
    NonBinary,
}

const FIELDS: [&str; 4] =
    ["probability_conforming", "verdict", "acceptance_lower", "acceptance_upper"];

pub(crate) fn judge(command: &Judge) -> Result<Answer, Failure> {
    let answer = || -> Result<Answer, StatsError> {
        let tolerance = Tolerance::new(command.lower, command.upper)?;
        let guard = guard(command, &tolerance)?;
        let rule = match command.rule {
            RuleName::Simple => Rule::Simple,
            RuleName::Guarded => Rule::Guarded(guard),
            RuleName::NonBinary => Rule::NonBinary(guard),
        };
        let found = decide(command.value, command.u, &tolerance, rule)?;
        let limit = |json: Document, name: &str, limit: Option<f64>| match limit {
            Some(limit) => json.put(name, limit),
            None => json.missing(name, "there is no such limit"),
        };
        let mut json = Document::new()
            .put("probability_conforming", found.probability)
            .put("verdict", found.statement.words());
        json = limit(json, "acceptance_lower", found.acceptance.lower);
        json = limit(json, "acceptance_upper", found.acceptance.upper);
        let ends = [found.acceptance.lower, found.acceptance.upper]
            .map(|limit| limit.map_or_else(|| "no limit".to_owned(), short));
        let mut pairs = vec![
            ("probability that it conforms", short(found.probability)),
            ("accepted from", ends[0].clone()),
            ("accepted to", ends[1].clone()),
            ("verdict", found.statement.words().to_owned()),
        ];
        if let (Some(mean), Some(sd)) = (command.process_mean, command.process_sd) {
            let process = Process { mean, sd, u: command.u };
            let risk = global_risk(&process, &tolerance, &found.acceptance)?;
            json = json.put("consumer_risk", risk.consumer).put("producer_risk", risk.producer);
            pairs.push(("accepted though not conforming", short(risk.consumer)));
            pairs.push(("rejected though conforming", short(risk.producer)));
        }
        let is_no = command.strict && found.statement != Statement::Pass;
        Ok(Answer { text: lines(&pairs), json: json.value(), is_no })
    };
    defined(answer(), &FIELDS)
}

/// The guard band over 2u, as given or as the wanted risk needs it.
fn guard(command: &Judge, tolerance: &Tolerance) -> Result<GuardedRule, StatsError> {
    let band = match (command.guard, command.risk, command.consumer_risk) {
        (Some(band), _, _) => band,
        (_, Some(risk), _) => {
            let acceptance = guarded(tolerance, command.u, risk)?;
            let bands = [
                tolerance.upper.zip(acceptance.upper).map(|(limit, accepted)| limit - accepted),
                tolerance.lower.zip(acceptance.lower).map(|(limit, accepted)| accepted - limit),
            ];
            bands.into_iter().flatten().next().unwrap_or(0.0)
        }
        (_, _, Some(risk)) => {
            let (mean, sd) =
                (command.process_mean.unwrap_or(0.0), command.process_sd.unwrap_or(0.0));
            guard_band_for_consumer_risk(&Process { mean, sd, u: command.u }, tolerance, risk)?
        }
        (None, None, None) => return Ok(GuardedRule { multiple: 1.0 }),
    };
    if command.u > 0.0 {
        return Ok(GuardedRule { multiple: band / (2.0 * command.u) });
    }
    if band == 0.0 {
        return Ok(GuardedRule { multiple: 0.0 });
    }
    let why = "a guard band for a result without uncertainty has no risk to bound";
    Err(Undefined::Because(why).into())
}
