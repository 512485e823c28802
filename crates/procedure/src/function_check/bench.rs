//! The jars on the bench: made ready before they are laid in, and looked at afterwards.

use super::cautions;
use crate::apparatus::{Apparatus, CounterSenses};
use crate::model::{Jars, Step};

pub(crate) fn before(apparatus: &Apparatus) -> Vec<Step> {
    let jars = apparatus.positions();
    let mut steps = Vec::new();
    if apparatus.counter_senses == CounterSenses::JarLid {
        steps.push(Step::seen(
            "lid-marks",
            "Marks on the lids",
            Jars::NotInvolved,
            format!("Look at the mark on the lid of each of the {jars} jars that will be laid in."),
            "every lid bears its mark, clean, whole and where the sensor passes it",
            "Clean or renew the mark as the maker says; a lid without a mark is not counted.",
        ));
    }
    steps.extend([
        Step::seen(
            "gaskets",
            "Gaskets and seats",
            Jars::NotInvolved,
            "On the bench, wipe the seat of every jar and its gasket, and look at both under good light.",
            "every seat is clean and every gasket lies in its groove, whole and soft",
            "Take out the debris; replace a gasket that is cut, flat or hard, by the kind that the maker names.",
        ),
        charge(jars),
        Step::seen(
            "water",
            "Half full of water",
            Jars::NotInvolved,
            "Fill every jar half full with tap water.",
            "every jar is half full of tap water",
            "Fill up or pour off. Too little water would not show a leak.",
        )
        .caution(cautions::water()),
        Step::seen(
            "lids",
            "Lids on, knobs snug",
            Jars::NotInvolved,
            "Lay each lid flat on its gasket and turn the knob by hand until it is snug, and no further; no tool, no lever.",
            "every lid lies flat and every knob is snug and not more",
            "Open it, look at seat, gasket and lid, and close it again. A knob that is turned too hard deforms the lid and opens the seal.",
        )
        .back_to("gaskets"),
        Step::seen(
            "watertight",
            "Watertight upside down",
            Jars::NotInvolved,
            "Wipe every jar dry, turn it upside down over a tray, and wait a minute.",
            "no jar shows a drop at its lid",
            LEAK,
        )
        .caution(cautions::full_jar())
        .back_to("gaskets"),
    ]);
    steps
}

fn charge(jars: u32) -> Step {
    let (instruction, what) = if jars == 1 {
        (
            "Put a ball charge into the jar: 5000 g for a jar of 5 L (MN1216).".to_owned(),
            "the jar holds one whole ball charge".to_owned(),
        )
    } else {
        (
            format!(
                "Put into each of the {jars} jars its own ball charge, 5000 g for a jar of 5 L (MN1216), or split one charge evenly over the {jars} jars. Weigh each part."
            ),
            format!(
                "the {jars} jars hold equal masses of balls: each its own charge, or an even share"
            ),
        )
    };
    Step::seen(
        "charge",
        "Balls in the jars",
        Jars::NotInvolved,
        instruction,
        what,
        "Weigh and split again: jars of different mass load the rollers unevenly and turn at different speeds.",
    )
    .caution(cautions::balls())
}

/// What to look for when a jar leaks.
const LEAK: &str = "Open it over the tray. Look for debris on the seat, a damaged gasket, a deformed lid, and a knob that was turned too hard; clean or replace, and close it again. If it still leaks, take the jar out of use, mark it, and ask the maker.";

/// After the jars were taken out.
pub(crate) fn after() -> Vec<Step> {
    vec![
        Step::seen(
            "no-leak",
            "No leak after the runs",
            Jars::NotInvolved,
            "With the power off, look at the tray and the rollers where the jars lay; on the bench, look at the lid and the outside of each jar.",
            "tray, rollers and the outside of every jar are dry",
            LEAK,
        )
        .caution(cautions::full_jar())
        .back_to("gaskets"),
        Step::seen(
            "jars-emptied",
            "Jars emptied, balls complete",
            Jars::NotInvolved,
            "Open each jar slowly over a tray with a rim, pour off the water, count or weigh the balls, and dry everything.",
            "every ball is back in its charge, and jars, lids and balls are dry",
            "Look for missing balls on the floor and between the rollers, with the power off, before anything is started.",
        )
        .caution(cautions::opened_jar()),
    ]
}
