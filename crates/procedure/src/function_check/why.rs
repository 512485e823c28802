//! Why each step of the function check is done, in our words: common practice, no published source.
//! Where a figure has a source, the step's limits name it.

use crate::model::Step;

/// Why by the beginning of a step's id; the longest that fits holds.
const WHY: [(&str, &str); 36] = [
    (
        "unpacked",
        "What broke on the way is the carrier's now and yours tomorrow; a strut left in a drive breaks more.",
    ),
    (
        "level",
        "On rollers that are not level jars wander along the shaft, rub at the ends and do not all turn at one speed.",
    ),
    (
        "power-supply",
        "A motor on the wrong supply runs slow or hot, and a machine beside water without ground-fault protection can kill.",
    ),
    (
        "rollers-clean",
        "Grease and dried slurry make jars slip: the shaft turns, the jar turns less, and the loss comes out low.",
    ),
    (
        "sensor-clean",
        "A blind sensor misses turns, and a run that is ended by its count then lasts too long.",
    ),
    ("machine-empty", "Whatever stops the drive is proved before anything heavy turns."),
    (
        "doors-close",
        "A door that needs force or does not close fully will be left open on a busy day.",
    ),
    ("guard", "A gap through which a finger fits is where the finger will be."),
    (
        "stop-by-hand",
        "You must be able to stop it before you let it run: everything that follows relies on this button.",
    ),
    ("interlock-start", "A drive that starts with an open door catches whoever lays in a jar."),
    (
        "interlock-stop",
        "Somebody will open the door of a running machine; then it must stand still before a hand is inside.",
    ),
    (
        "power-returns",
        "A drive that starts by itself after a power cut catches whoever reached in while it stood.",
    ),
    (
        "power-mode",
        "If the control changes with the power, the next run is ended by something else than was set.",
    ),
    (
        "power-count",
        "Whether the count survives a power cut decides how an interrupted run is added up.",
    ),
    (
        "rollers",
        "A roller that jerks or a belt that slips turns its jars at another speed than the rest.",
    ),
    ("noise", "A bearing is heard before it fails, and it fails in the middle of a run."),
    (
        "empty-time",
        "A run ended by time is only as long as the timer says: seen first where nothing can be hurt.",
    ),
    (
        "empty-revolutions",
        "A run ended by its count must end by itself, or, where nothing is there to be counted, must not pretend to.",
    ),
    (
        "count-empty",
        "The count of the empty machine shows what the counter really senses: a shaft, a lid, or a reflection.",
    ),
    ("mode", "A control that does not change when it is told to ends runs by the wrong measure."),
    (
        "lid-marks",
        "The counter sees only the mark: a lid without one is a jar that is not counted.",
    ),
    (
        "gaskets",
        "Grit on a seat is a leak, and a leak carries fines away that would have counted as loss.",
    ),
    ("water", "Only a jar with water in it can show that it leaks."),
    ("lids", "Too loose leaks; too tight bends the lid, and leaks for good."),
    (
        "watertight",
        "A leak is found here in a minute, or after two hours with the specimen in the jar.",
    ),
    (
        "charge",
        "The machine is proved with the load that it will carry: balls make a jar heavy, and heavy jars slip.",
    ),
    ("place", "A jar that does not lie free on both rollers turns unevenly or not at all."),
    ("loaded-mode", "The change is seen both ways, since both will be used."),
    ("loaded-time", "What held for the empty machine must hold under load."),
    ("loaded-revolutions", "The run that is used every day, seen once from its start to its end."),
    ("count-loaded", "The count is the measure of the test: the loss grows with every revolution."),
    (
        "counter-against-count",
        "A counter is proved by something that is not the counter: eyes and a mark.",
    ),
    (
        "speed",
        "The speed sets how hard the balls work; each position is measured, since belts and rollers differ.",
    ),
    ("take-jars-out", "The next hand at the machine must not meet a jar that it does not expect."),
    ("no-leak", "Some seals leak only after they have turned."),
    (
        "jars-emptied",
        "A ball that is missing here lies between rollers, or will be missing from a charge.",
    ),
];

/// Sets why each step is done.
pub(super) fn explain(steps: &mut [Step]) {
    for step in steps {
        let fits = WHY.iter().filter(|(begin, _)| step.id.starts_with(begin));
        if let Some((_, why)) = fits.max_by_key(|(begin, _)| begin.len()) {
            (*why).clone_into(&mut step.why);
        }
    }
}
