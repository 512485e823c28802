//! What can hurt at the machine, with the public source, and that local codes come first.

use crate::model::Caution;

/// Ends every caution: none of them replaces the rules of the place.
const LOCAL: &str = "Local codes and licensed practice come first.";

fn caution(text: &str, source: &str) -> Caution {
    Caution { text: format!("{text} {LOCAL}"), source: source.to_owned() }
}

/// Rollers or jars turn.
pub(crate) fn turning() -> Caution {
    caution(
        "Rollers and jars draw in fingers, sleeves, hair and cords. Keep the guard closed and the hands away while anything turns; reach in only when the power is off and nothing moves. Wear hearing protection where it is loud.",
        "29 CFR 1910.212(a)(4), 1910.147 and 1910.95, from memory, unconfirmed",
    )
}

/// A guard is opened while the drive is on, to see that it stops.
pub(crate) fn opening_guard() -> Caution {
    caution(
        "The interlock is not proved yet. Open the door by its handle, stand aside, put nothing through the gap, and have the other hand at the stop. Never bridge an interlock.",
        "29 CFR 1910.212(a)(4), from memory, unconfirmed",
    )
}

/// Doors are closed by hand.
pub(crate) fn doors() -> Caution {
    caution(
        "Doors and latches crush fingers. Hold each door by its handle, and see that nobody else has a hand inside.",
        "common practice, no published source",
    )
}

/// The machine is moved or lifted.
pub(crate) fn heavy_machine() -> Caution {
    caution(
        "The machine is heavy: lift it by the points and with the gear that its manual names, with enough people. For one person, 23 kg is the load under the best of conditions, and less in any other.",
        "NIOSH 94-110 (load constant)",
    )
}

/// The machine is connected to the mains.
pub(crate) fn mains() -> Caution {
    caution(
        "Mains voltage kills. Connection, earthing and ground-fault protection are work for a licensed electrician; water is used here, so keep plug, panel and hands dry.",
        "29 CFR 1910.304(b)(3), from memory, unconfirmed",
    )
}

/// The power is cut while the drive is on.
pub(crate) fn power_cut() -> Caution {
    caution(
        "The drive may start by itself when the power returns: guard closed, hands away, another person warned. Switch with dry hands at the main switch; do not pull the plug of a turning machine.",
        "29 CFR 1910.212(a)(4) and 1910.304(b)(3), from memory, unconfirmed",
    )
}

/// Steel balls are poured.
pub(crate) fn balls() -> Caution {
    caution(
        "Five kilograms of steel balls hurt a foot, and balls on the floor make people fall. Work over a tray with a rim, wear safety shoes, pick up what fell at once.",
        "common practice, no published source",
    )
}

/// Water is used near the machine.
pub(crate) fn water() -> Caution {
    caution(
        "Fill the jars at a sink away from the machine; no hose and no wet hands at the panel or the plug.",
        "common practice, no published source; 29 CFR 1910.304(b)(3), from memory, unconfirmed",
    )
}

/// A filled jar is lifted.
pub(crate) fn full_jar() -> Caution {
    caution(
        "The contents of a loaded jar weigh up to 8.5 kg (5.0 kg balls, 1.5 kg stone, 2.0 kg water), and the jar comes on top. Lift it with both hands, close to the body, with a straight back; a high tier needs a firm step or a second person. Power off while hands are between the rollers.",
        "NIOSH 94-110 for lifting; 29 CFR 1910.147, from memory, unconfirmed; the mass is derived",
    )
}

/// A jar is opened.
pub(crate) fn opened_jar() -> Caution {
    caution(
        "A jar that has turned may be warm and under pressure: loosen the lid slowly, away from the face, over a tray with a rim that catches falling balls.",
        "common practice, no published source",
    )
}
