//! `stonewear judge`: does a result conform, and how sure is that?

use super::document::{Document, defined};
use super::table::{lines, short};
use crate::answer::{Answer, Failure};
use clap::ValueEnum;
use stonewear_stats::conformity::{
    GuardedRule, Process, Rule, Statement, Tolerance, global_risk, judge as decide,
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
        let guard = match command.guard {
            None => GuardedRule { multiple: 1.0 },
            Some(w) if command.u > 0.0 => GuardedRule { multiple: w / (2.0 * command.u) },
            Some(0.0) => GuardedRule { multiple: 0.0 },
            Some(_) => {
                let why = "a guard band for a result without uncertainty has no risk to bound";
                return Err(Undefined::Because(why).into());
            }
        };
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
