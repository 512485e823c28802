//! `stonewear run`: jars turning.

use super::asking::ask;
use crate::answer::{Answer, Failure};
use crate::arguments::{Asking, Departing};
use stonewear_lab::request::{CorrectRun, InterruptRun, Placement, ResumeRun, StartRun, StopRun};

#[derive(Debug, clap::Subcommand)]
pub(crate) enum Run {
    /// Start a run.
    #[command(after_help = "\
Example:\n\
\x20 stonewear run start --by CD MILL-1 --water-temperature 20 --place tier=upper,position=1,specimen=S26-001-1,jar=JAR-1,charge=BALLS-1,charge_g=5000.5,water_l=2.00,soaked_h=1")]
    Start(Box<Start>),
    /// Record that a run has ended.
    #[command(after_help = "\
Example:\n\
\x20 stonewear run stop --by CD R26-001 --revolutions 12000 --minutes 120")]
    Stop {
        #[command(flatten)]
        asking: Asking,
        #[command(flatten)]
        departing: Departing,
        /// The run.
        run: String,
        /// Revolutions shown.
        #[arg(long, default_value = "", allow_negative_numbers = true)]
        revolutions: String,
        /// Minutes that it turned.
        #[arg(long, default_value = "", allow_negative_numbers = true)]
        minutes: String,
        /// Why an end that is already recorded is replaced.
        #[arg(long, default_value = "")]
        reason: String,
    },
    /// Record that a run was interrupted: the jars stand, and will turn again.
    #[command(after_help = "\
Example:\n\
\x20 stonewear run interrupt --by CD R26-001 --revolutions 4310 --minutes 43.2 --reason 'power cut'")]
    Interrupt {
        #[command(flatten)]
        asking: Asking,
        /// The run.
        run: String,
        /// Revolutions shown when the jars stood.
        #[arg(long, default_value = "", allow_negative_numbers = true)]
        revolutions: String,
        /// Minutes that they turned since the run began or was resumed.
        #[arg(long, default_value = "", allow_negative_numbers = true)]
        minutes: String,
        /// What happened.
        #[arg(long)]
        reason: String,
    },
    /// Let the jars of an interrupted run turn again; what turned before and after adds up.
    #[command(after_help = "\
Example:\n\
\x20 stonewear run resume --by CD R26-001 --counter 0")]
    Resume {
        #[command(flatten)]
        asking: Asking,
        /// The run.
        run: String,
        /// What the counter shows at that moment; left out, zero.
        #[arg(long, default_value = "", allow_negative_numbers = true)]
        counter: String,
    },
    /// Correct what was recorded about the conditions of one specimen; what is left out stays as
    /// it is. Results that stand on it get a new version, to be released again.
    #[command(after_help = "\
Example:\n\
\x20 stonewear run correct --by CD R26-001 --water-temperature 21.5 --reason 'read off the wrong scale'")]
    Correct(Box<Correct>),
}

#[derive(Debug, clap::Args)]
pub(crate) struct Correct {
    #[command(flatten)]
    asking: Asking,
    #[command(flatten)]
    departing: Departing,
    /// The run.
    run: String,
    /// The specimen; left out, the only one in the run.
    #[arg(long, default_value = "")]
    specimen: String,
    /// Its jar.
    #[arg(long, default_value = "")]
    jar: String,
    /// Its ball charge.
    #[arg(long, default_value = "")]
    charge: String,
    /// Mass of the charge, g.
    #[arg(long, value_name = "G", default_value = "", allow_negative_numbers = true)]
    charge_g: String,
    /// How many balls that is, where the method counts them.
    #[arg(long, value_name = "NUMBER", default_value = "", allow_negative_numbers = true)]
    charge_balls: String,
    /// Water in its jar, L.
    #[arg(long, value_name = "L", default_value = "", allow_negative_numbers = true)]
    water_l: String,
    /// How long it soaked, h.
    #[arg(long, value_name = "H", default_value = "", allow_negative_numbers = true)]
    soaked_h: String,
    /// Temperature of the water of the whole run, °C.
    #[arg(long, value_name = "C", default_value = "", allow_negative_numbers = true)]
    water_temperature: String,
    /// Why.
    #[arg(long)]
    reason: String,
}

#[derive(Debug, clap::Args)]
pub(crate) struct Start {
    #[command(flatten)]
    asking: Asking,
    #[command(flatten)]
    departing: Departing,
    /// The apparatus.
    apparatus: String,
    /// What makes it end: revolutions or time; left out, revolutions where the machine counts.
    #[arg(long, default_value = "")]
    ended_by: String,
    /// Temperature of the water, °C.
    #[arg(long, value_name = "C", default_value = "", allow_negative_numbers = true)]
    water_temperature: String,
    /// What the temperature was read with; left out, the only thermometer in service.
    #[arg(long, default_value = "")]
    thermometer: String,
    /// What lies at one place, as key=value pairs with commas; once a place. Keys: tier,
    /// position, specimen, jar, charge, charge_g, charge_balls, water_l, soaked_h.
    #[arg(long = "place", value_name = "KEY=VALUE,…", required = true)]
    places: Vec<String>,
}

pub(crate) fn run(run: Run) -> Result<Answer, Failure> {
    match run {
        Run::Start(start) => {
            let placements =
                start.places.iter().map(|text| placement(text)).collect::<Result<_, _>>()?;
            ask(
                &start.asking,
                StartRun {
                    apparatus: start.apparatus,
                    ended_by: start.ended_by,
                    water_c: start.water_temperature,
                    thermometer: start.thermometer,
                    placements,
                    deviation: start.departing.deviation,
                },
            )
        }
        Run::Stop { asking, departing, run, revolutions, minutes, reason } => {
            let deviation = departing.deviation;
            ask(&asking, StopRun { run, revolutions, minutes, reason, deviation })
        }
        Run::Interrupt { asking, run, revolutions, minutes, reason } => {
            ask(&asking, InterruptRun { run, revolutions, minutes, reason })
        }
        Run::Resume { asking, run, counter } => ask(&asking, ResumeRun { run, counter }),
        Run::Correct(correct) => ask(
            &correct.asking,
            CorrectRun {
                run: correct.run,
                specimen: correct.specimen,
                jar: correct.jar,
                charge: correct.charge,
                charge_g: correct.charge_g,
                charge_balls: correct.charge_balls,
                water_l: correct.water_l,
                soaked_h: correct.soaked_h,
                water_c: correct.water_temperature,
                reason: correct.reason,
                deviation: correct.departing.deviation,
            },
        ),
    }
}

fn placement(text: &str) -> Result<Placement, Failure> {
    let mut placement = Placement::default();
    for pair in text.split(',') {
        let Some((key, value)) = pair.split_once('=') else {
            return Err(Failure::WrongInput(format!(
                "--place: “{pair}” is not a key=value pair; write, say, tier=upper,position=1,specimen=S26-001-1"
            )));
        };
        let field = match key.trim() {
            "tier" => &mut placement.tier,
            "position" => &mut placement.position,
            "specimen" => &mut placement.specimen,
            "jar" => &mut placement.jar,
            "charge" => &mut placement.charge,
            "charge_g" => &mut placement.charge_g,
            "charge_balls" => &mut placement.charge_balls,
            "water_l" => &mut placement.water_l,
            "soaked_h" => &mut placement.soaked_h,
            other => {
                return Err(Failure::WrongInput(format!(
                    "--place: “{other}” is not known; write tier, position, specimen, jar, charge, charge_g, charge_balls, water_l or soaked_h"
                )));
            }
        };
        value.trim().clone_into(field);
    }
    Ok(placement)
}
