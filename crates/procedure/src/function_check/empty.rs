//! Runs of the empty machine.

use super::forecast::{End, Load, forecast};
use super::{Controls, cautions, words};
use crate::apparatus::{AfterPowerLoss, Apparatus, Control, CounterSenses, ModeChange};
use crate::model::{Jars, Step};
use stonewear_measure::{Decimal, Limits};

pub(crate) fn steps(apparatus: &Apparatus, controls: &Controls) -> Vec<Step> {
    let mut steps: Vec<Step> =
        apparatus.tiers.iter().map(|tier| rollers(apparatus, controls, &tier.name)).collect();
    steps.push(noise(apparatus, controls));
    let mut before = None;
    for control in &controls.0 {
        if let Some(before) = before {
            steps.push(change(apparatus, before, *control, Load::Empty));
        }
        steps.extend(run(apparatus, *control, Load::Empty));
        before = Some(*control);
    }
    steps.extend(power_interruption(apparatus, controls));
    steps
}

fn rollers(apparatus: &Apparatus, controls: &Controls, tier: &str) -> Step {
    Step::seen(
        format!("rollers-{}", words::slug(tier)),
        format!("Rollers of tier “{tier}” turn smoothly"),
        Jars::Out,
        format!(
            "{} {}, press start, look at the rollers of tier “{tier}” for a minute, then {}.",
            words::close_doors(apparatus),
            words::set_long(apparatus, controls.first()),
            words::stop(apparatus),
        ),
        format!("the driven rollers of tier “{tier}” turn evenly, without jerks, wobble or slip"),
        "Look for a slack belt or chain, a loose sleeve and a dry bearing. Have it mended and look again.",
    )
    .caution(cautions::turning())
    .at(tier, None)
}

fn noise(apparatus: &Apparatus, controls: &Controls) -> Step {
    Step::seen(
        "noise",
        "No noise, nothing rubs",
        Jars::Out,
        format!(
            "{} {}, press start, listen at every side for a minute, then {}. Smell for heat.",
            words::close_doors(apparatus),
            words::set_long(apparatus, controls.first()),
            words::stop(apparatus),
        ),
        "nothing knocks, grinds, squeals or rubs, and nothing gets hot",
        "Stop, switch off, and look for transport locks, covers that touch, and dry bearings; listen again after it is mended.",
    )
    .caution(cautions::turning())
}

/// A trial run under one control, empty or with jars, and the count that it leaves.
pub(super) fn run(apparatus: &Apparatus, control: Control, load: Load) -> Vec<Step> {
    let forecast = forecast(apparatus, control, load);
    let (jars, prefix, load_words) = match load {
        Load::Empty => (Jars::Out, "empty", "Empty run"),
        Load::Jars => (Jars::In, "loaded", "Run with jars"),
    };
    let (by, name) = (words::by(control), control.as_str());
    let id = format!("{prefix}-{name}");
    let set = words::set_trial(control, &forecast);
    let doors = words::close_doors(apparatus);
    let out = match load {
        Load::Empty => "",
        Load::Jars => " If it cannot be mended at once, take the jars out and give the check up.",
    };
    let run = match forecast.end {
        End::ByItself => Step::seen(
            &id,
            format!("{load_words} {by} ends by itself"),
            jars,
            format!(
                "{doors} See that the count, if one is shown, is at 0. {set}, press start and the stopwatch together, and wait with the hands off."
            ),
            match control {
                Control::Time => format!(
                    "the drive stops by itself when {} have passed on the stopwatch",
                    forecast.setting
                ),
                Control::Revolutions => {
                    format!("the drive stops by itself at {}", forecast.setting)
                }
            },
            format!(
                "If it did not stop, {}. Look at the setting and at the mode that the panel shows, and run again.{out}",
                words::stop(apparatus)
            ),
        ),
        End::ByHand => Step::seen(
            &id,
            format!("{load_words} {by} does not end, and is stopped by hand"),
            jars,
            format!(
                "The counter senses the marks on jar lids, so an empty machine counts nothing. {doors} {set}, press start and the stopwatch together, wait 3 minutes, a minute longer than these turns would take, then {}.",
                words::stop(apparatus)
            ),
            "the run does not end by itself: after 3 minutes the rollers still turn and the count is still 0; then the drive stops by hand",
            "A machine that ends this run by itself counts something else than jar lids: correct its description and begin a new check.",
        ),
    }
    .caution(cautions::turning());
    let Some(count) = forecast.count else { return vec![run] };
    let count = Step::seen(
        format!("count-{id}"),
        format!("Count after the {} {by}", load_words.to_lowercase()),
        jars,
        "With the machine standing still, read the count that the panel shows.",
        format!("count shown after the {} {by}", load_words.to_lowercase()),
        match load {
            Load::Empty if count.upper == Some(Decimal::ZERO) => "An empty machine has no lid to count: look for a reflection or a magnet in front of the sensor, clean it and run again.".to_owned(),
            Load::Empty => "Look at the sensor on the shaft and at the speed; mend it and run again.".to_owned(),
            Load::Jars => format!("Look at the marks, the sensor and the speed, and run again.{out}"),
        },
    )
    .reading("turns", count, forecast.count_source)
    .back_to(id);
    let count = match load {
        Load::Empty => count,
        Load::Jars => count.caution(cautions::turning()),
    };
    vec![run, count]
}

/// The change from one control to the other, as this machine does it.
pub(super) fn change(apparatus: &Apparatus, from: Control, to: Control, load: Load) -> Step {
    let (jars, prefix, caution) = match load {
        Load::Empty => (Jars::Out, "mode", cautions::power_cut()),
        Load::Jars => (Jars::In, "loaded-mode", cautions::power_cut()),
    };
    let (from, to_words) = (words::by(from), words::by(to));
    let how = match apparatus.mode_change {
        ModeChange::PowerOffAndOn => format!(
            "With the drive at rest, switch the power off and on again, and choose the control {to_words} as the manual says."
        ),
        ModeChange::AtThePanel => {
            format!(
                "With the drive at rest and the power on, choose the control {to_words} at the panel."
            )
        }
    };
    Step::seen(
        format!("{prefix}-{}", to.as_str()),
        format!("Change from control {from} to control {to_words}"),
        jars,
        how,
        format!("the panel shows the control {to_words}, and the drive has not started"),
        "Do it again as the manual says; if the control cannot be changed, take out any jars, give the check up and hold the apparatus.",
    )
    .caution(caution)
}

/// What happens when the power goes and returns. The count can be followed on an empty machine
/// only if the empty machine counts.
fn power_interruption(apparatus: &Apparatus, controls: &Controls) -> Vec<Step> {
    let stays = Step::seen(
        "power-returns",
        "Does not restart when the power returns",
        Jars::Out,
        format!(
            "{} {}, press start, and after half a minute switch off at the main switch. When everything stands still note what was shown, switch on again, and wait half a minute with the hands off.",
            words::close_doors(apparatus),
            words::set_long(apparatus, controls.last()),
        ),
        "the rollers stand still until start is pressed",
        "Switch off and hold the apparatus: a drive that starts by itself can catch a hand. Ask the maker.",
    )
    .caution(cautions::power_cut());
    let mut steps = vec![stays];
    if apparatus.counter_senses == CounterSenses::Roller {
        let count = count_after_power(
            apparatus,
            Jars::Out,
            "Read the count after the power has returned, before start is pressed.".to_owned(),
        );
        steps.push(count.back_to("power-returns"));
    }
    if controls.several() {
        let last = words::by(controls.last());
        let (what, failure) = match apparatus.mode_change {
            ModeChange::PowerOffAndOn => (
                format!(
                    "the panel shows which control it is in, and it has been brought back to the control {last}"
                ),
                "On this machine the power switch changes the control. Choose it again as the manual says; if the panel does not show it, hold the apparatus.",
            ),
            ModeChange::AtThePanel => (
                format!("the panel still shows the control {last}"),
                "The interruption changed the control although it is changed at the panel: hold the apparatus and ask the maker.",
            ),
        };
        steps.push(Step::seen(
            "power-mode",
            "Control after the power returns",
            Jars::Out,
            "Look at the panel before start is pressed.",
            what,
            failure,
        ));
    }
    steps
}

/// The count that is shown after an interruption.
pub(super) fn count_after_power(apparatus: &Apparatus, jars: Jars, instruction: String) -> Step {
    let on_failure = "The machine does not do with its count what its description says. Look in the manual, correct the description, and begin a new check with an empty machine.";
    let step = |what: &str| {
        let title = "Count after the power returns";
        Step::seen("power-count", title, jars, &instruction, what, on_failure)
    };
    match apparatus.after_power_loss {
        AfterPowerLoss::CountLost => step("count shown after the power has returned").reading(
            "turns",
            Limits::around(Decimal::ZERO, Decimal::ZERO),
            "the description of this apparatus: the count is lost",
        ),
        AfterPowerLoss::CountKept => {
            step("the count is the one shown before the interruption: it was kept")
        }
    }
}
