//! Runs: placing jars, watching them turn, recording how it ended.

mod interruptions;

use super::parts::{self, Field, Form};
use super::{Page, View};
use crate::look;
use maud::{Markup, html};
use stonewear_lab::fact::{Placed, Standing};
use stonewear_lab::outcome::machine_of;
use stonewear_lab::state::{Item, Run, Specimen};
use stonewear_measure::{Decimal, Limits, balance};
use stonewear_method::model::Vessel;
use stonewear_method::{Grading, Method, Toleranced};
use stonewear_picture::{Clock, JarWall, Place, PlaceState, Tier};
use stonewear_procedure::apparatus::Control;
use stonewear_procedure::{Apparatus, ItemKind};

const START: &str = "start-run";
const STOP: &str = "stop-run";

pub(super) fn start(view: &View<'_>) -> Page {
    let asked = view.asked("specimen");
    let waiting = waiting_for_a_run(view);
    let first = asked
        .as_deref()
        .and_then(|code| view.lab.specimens.get(code))
        .or_else(|| waiting.first().copied());
    // What the specimen is run in follows from its method.
    let kind = first
        .and_then(|specimen| machine_of(view.lab.rules_of(specimen)?.0.vessel))
        .unwrap_or(ItemKind::Apparatus);
    let mill = view
        .typed
        .value(START, "apparatus")
        .map(str::to_owned)
        .or_else(|| view.asked("apparatus"))
        .and_then(|code| view.lab.items.get(code.as_str()))
        .or_else(|| view.lab.in_service(kind).next())
        .or_else(|| view.lab.items_of(kind).next());
    let Some(mill) = mill else {
        let lead = parts::lead(
            "No apparatus yet",
            "Register and prove one first.",
            &format!("/equipment/new?kind={}", kind.as_str()),
            &format!("Register {}", kind.with_article()),
        );
        return Page::new("Start a run", lead);
    };
    let waiting = for_machine(view, waiting, mill);
    let first = first.filter(|one| waiting.iter().any(|other| other.code == one.code));
    let first = first.or_else(|| waiting.first().copied());
    let body = html! {
        (choose_mill(view, mill))
        @if waiting.is_empty() {
            (parts::lead("No specimen waits for a run", "Make one up and weigh it first.", "/samples", "Go to the samples"))
        } @else {
            (form(view, mill, first, &waiting))
        }
    };
    Page::new(format!("Start a run in {}", mill.code), body)
}

fn waiting_for_a_run<'a>(view: &'a View<'_>) -> Vec<&'a Specimen> {
    let waits = |one: &&Specimen| one.run.is_none() && one.before_g().is_some();
    view.lab.specimens.values().filter(waits).collect()
}

/// Those that are run in this kind of machine.
fn for_machine<'a>(
    view: &View<'_>,
    waiting: Vec<&'a Specimen>,
    machine: &Item,
) -> Vec<&'a Specimen> {
    let fits = |one: &&Specimen| {
        let rules = view.lab.rules_of(one);
        rules.and_then(|(method, _)| machine_of(method.vessel)) == Some(machine.kind)
    };
    waiting.into_iter().filter(fits).collect()
}

fn choose_mill(view: &View<'_>, chosen: &Item) -> Markup {
    let mills = view
        .lab
        .items_of(ItemKind::Apparatus)
        .chain(view.lab.items_of(ItemKind::Drum))
        .filter(|item| item.standing() != Standing::Retired);
    let options: Vec<(String, String)> = mills
        .map(|item| {
            (
                item.code.to_string(),
                format!("{} ({}, {})", item.code, item.name, item.standing().in_words()),
            )
        })
        .collect();
    html! {
        @if options.len() > 1 {
            form.choose method="get" action="/runs/new" {
                (parts::plain_select("apparatus", "Apparatus", options, chosen.code.as_str()))
                (look::button("Choose"))
            }
        }
    }
}

fn form(view: &View<'_>, mill: &Item, first: Option<&Specimen>, waiting: &[&Specimen]) -> Markup {
    let Some(apparatus) = &mill.apparatus else { return html! {} };
    let rules = first.and_then(|specimen| rules(view, specimen));
    // A counted run ends closer to its count than a timed one, so the counter comes first.
    let mut offered = apparatus.control.clone();
    offered.sort_by_key(|control| std::cmp::Reverse(*control));
    let controls: Vec<(String, String)> = offered
        .iter()
        .map(|control| match control {
            Control::Revolutions => (
                "revolutions".to_owned(),
                "the revolution counter: closer to the count that is wanted".to_owned(),
            ),
            Control::Time => ("time".to_owned(), timer_words(rules)),
        })
        .collect();
    let first_control = controls.first().map(|(value, _)| value.clone());
    let places: Vec<(String, u32)> =
        apparatus.places().map(|(tier, place)| (tier.name.clone(), place)).collect();
    let turns = if mill.kind == ItemKind::Drum { "The drum turns" } else { "The jars turn" };
    let button = format!("{turns}: start the run in {}", mill.code);
    let water = rules.and_then(|(method, _)| method.water.as_ref());
    Form::new(view, START, &button).hidden("apparatus", mill.code.as_str()).body(html! {
        (parts::radios(view, START, "ended_by", "What ends the run", controls, first_control.as_deref()))
        @if let Some((_, grading)) = rules { (to_be_set(grading)) }
        @if let Some(water) = water {
            (Field::number(view, START, "water_c", "Temperature of the water").unit("°C")
                .limits(water.temperature_c.as_ref().map(Toleranced::limits).unwrap_or_default()).focus())
            (parts::item_if_there_is_one(view, START, "thermometer", "Read with", ItemKind::Thermometer))
        }
        @for (index, (tier, place)) in places.iter().enumerate() {
            (placement(view, index, tier, *place, (index == 0).then_some(first).flatten(), waiting, rules))
        }
        @if let Some((method, grading)) = rules {
            (super::why::of_figures(method, grading, &["water.", "soak.", "balls.", "speed"], &["charge", "balls", "revolutions", "minutes"]))
        }
        @if mill.kind == ItemKind::Drum { (drum_cautions()) } @else { (parts::caution(
            look::Hazard::Turning,
            "Rotating jars can catch hands, hair and clothes: close and latch the guard before starting, and never reach in while anything turns. A jar with its contents weighs more than 8.5 kg. Keep water away from the mains. ",
            "29 CFR 1910.212(a)(4), from memory, unconfirmed; contents of a jar derived: 5.0 + 1.5 + 2.0 kg",
        )) }
    })
}

/// What counter or timer is set to, before anything turns.
fn to_be_set(grading: &Grading) -> Markup {
    let revolutions = grading.revolutions.as_ref().map(|one| one.nominal.value);
    let minutes = grading.minutes.as_ref().map(|one| one.nominal.value);
    html! {
        @match (revolutions, minutes) {
            (Some(count), Some(minutes)) => {
                p.step-do { "Set the counter to " strong { (count) } ", or the timer to " strong { (minutes) } " min." }
            }
            (Some(count), None) => { p.step-do { "Set the counter to " strong { (count) } "." } }
            (None, Some(minutes)) => { p.step-do { "Set the timer to " strong { (minutes) } " min." } }
            (None, None) => {}
        }
    }
}

/// What a run by the timer leaves open: minutes at the edge of the speed are so many turns off.
fn timer_words(rules: Option<(&Method, &Grading)>) -> String {
    let off = rules.and_then(|(method, grading)| {
        let speed = method.speed_rpm.as_ref()?.tolerance.as_ref()?.value;
        let minutes = grading.minutes.as_ref()?.nominal.value;
        let count = grading.revolutions.as_ref()?;
        let timed = minutes.checked_mul(speed)?.normalize();
        let counted = count.tolerance.as_ref()?.value;
        Some(format!(
            "the timer: at the edge of ± {speed} rev/min, {} turns are ± {timed}; counted, ± {counted} (derived)",
            count.nominal.value
        ))
    });
    off.unwrap_or_else(|| "the timer".to_owned())
}

fn placement(
    view: &View<'_>,
    index: usize,
    tier: &str,
    place: u32,
    chosen: Option<&Specimen>,
    waiting: &[&Specimen],
    rules: Option<(&Method, &Grading)>,
) -> Markup {
    let name = |field: &str| format!("placements.{index}.{field}");
    let options = waiting.iter().map(|one| {
        (
            one.code.to_string(),
            format!("{} ({}, {})", one.code, parts::method(view, one.method.as_str()), one.grading),
        )
    });
    let with_none =
        std::iter::once((String::new(), "empty".to_owned())).chain(options).collect::<Vec<_>>();
    let specimen = chosen.map(|one| one.code.as_str()).unwrap_or_default();
    let charge = rules.and_then(|(_, grading)| grading.charge_g.as_ref());
    let balls = rules.and_then(|(_, grading)| grading.balls.as_ref());
    let water = rules.and_then(|(method, _)| method.water.as_ref()).map(|water| &water.volume_l);
    let soak = rules.and_then(|(method, _)| method.soak.as_ref());
    let in_jar = rules.is_none_or(|(method, _)| method.vessel == Vessel::JarMill);
    // Most runs fill one place: the others stay folded until they are wanted.
    let is_open = index == 0
        || view.typed.value(START, &name("specimen")).is_some_and(|typed| !typed.is_empty());
    html! {
        details.panel open[is_open] {
            summary { h2 { "Place " (tier) " " (place) } }
            input type="hidden" name=(name("tier")) value=(tier);
            input type="hidden" name=(name("position")) value=(place);
            div.pair {
            (parts::select(view, START, &name("specimen"), "Specimen", with_none, specimen))
            @if in_jar { (parts::nth_item_select(view, START, &name("jar"), "Jar", ItemKind::Jar, index)) }
            @if let Some(charge) = charge {
                (parts::nth_item_select(view, START, &name("charge"), "Ball charge", ItemKind::BallCharge, index))
                (Field::number(view, START, &name("charge_g"), "Mass of the charge").unit("g")
                    .wanted(&charge.to_string()).limits(charge.limits()).bench())
            }
            @if let Some(balls) = balls {
                (Field::number(view, START, &name("charge_balls"), "Balls counted in").unit("balls")
                    .wanted(&balls.value.to_string()).limits(exactly(balls.value)).bench())
            }
            @if let Some(water) = water {
                (Field::number(view, START, &name("water_l"), "Water").unit("L")
                    .wanted(&water.to_string()).limits(water.limits()).bench())
            }
            @if let Some(soak) = soak {
                (Field::number(view, START, &name("soaked_h"), "Soaked for").unit("h")
                    .limits(Limits::at_least(soak.hours_at_least.value)).bench()
                    .hint("left empty, by the clock that was started for it"))
            }
            }
        }
    }
}

pub(super) fn exactly(count: u32) -> Limits {
    let count = Decimal::from(count);
    Limits { lower: Some(count), upper: Some(count) }
}

fn drum_cautions() -> Markup {
    html! {
        (parts::caution(
            look::Hazard::Turning,
            "A turning drum catches hands, hair and clothes: bolt the cover, close the guard, lock the drive out before opening, and wear hearing protection. ",
            "29 CFR 1910.212(a)(4), 1910.147 and 1910.95, from memory, unconfirmed",
        ))
        (parts::caution(
            look::Hazard::Lifting,
            "Balls of nearly half a kilogram fall hard: tray with a rim, safety shoes. Dry stone makes dust that holds silica: seal the cover, extract the dust, never blow it. ",
            "common practice, no published source; 29 CFR 1910.1053, from memory, unconfirmed",
        ))
    }
}

fn rules<'a>(view: &'a View<'_>, specimen: &Specimen) -> Option<(&'a Method, &'a Grading)> {
    view.lab.rules_of(specimen)
}

pub(super) fn one(view: &View<'_>, code: &str) -> Option<Page> {
    let run = view.lab.runs.get(code)?;
    let mill = view.lab.items.get(&run.apparatus)?;
    let first = run.placed.first().and_then(|placed| view.lab.specimens.get(&placed.specimen));
    let rules = first.and_then(|specimen| rules(view, specimen));
    let seen = html! {
        (wall_of(view, mill, run))
        // The script keeps the screen on while it turns, and says so here.
        @if run.turning_since().is_some() { div data-awake {} }
        (super::readings::of_run(view, run))
        (facts(view, run))
    };
    let to_do = html! {
        @if run.is_interrupted() { (interruptions::resume(view, run)) }
        @if run.stopped.is_none() { (stop(view, run, rules)) } @else { (ended(view, run, rules)) }
        @if run.turning_since().is_some() { (interruptions::interrupt(view, run)) }
        (interruptions::list(view, run))
        @if run.stopped.is_some() {
            details open[view.typed.was_refused(STOP)] {
                summary { "Correct how it ended" }
                (stop(view, run, rules))
            }
        }
    };
    let body = html! {
        (parts::beside(seen, to_do))
        (parts::section("What lies where", placed_table(run)))
        (super::corrections::of_run(view, run, rules))
        (parts::deviations(view, &run.deviations))
        (super::attachments::section(view, code))
    };
    Some(Page::new(format!("Run {}", run.code), body).below("Benches", "/"))
}

fn facts(view: &View<'_>, run: &Run) -> Markup {
    look::facts(&[
        (
            "Started",
            html! {
                (parts::moment(view, run.turning_from)) ", by " (parts::person(view, run.started.by.as_str()))
                @if run.turning_from != run.started.at { " (it waited on the tablet until " (parts::moment(view, run.started.at)) ")" }
            },
        ),
        (
            "Ended by",
            html! { @match run.ended_by { Control::Time => "the timer", Control::Revolutions => "the revolution counter" } },
        ),
        (
            "Water",
            html! { @if let Some(celsius) = run.water_c { (celsius) " °C" @if let Some(thermometer) = &run.thermometer { ", read with " (thermometer) } } @else if in_jars(run) { "temperature not recorded" } @else { "none" } },
        ),
    ])
}

fn stop(view: &View<'_>, run: &Run, rules: Option<(&Method, &Grading)>) -> Markup {
    // After an interruption it is the sum that must be within the limits, not the last reading.
    let whole = rules.filter(|_| run.interruptions.is_empty());
    let limits = whole.map(|(_, grading)| count_of(grading)).unwrap_or_default();
    let minutes = whole.and_then(|(_, grading)| grading.minutes.as_ref()).map(ToString::to_string);
    let counts = view
        .lab
        .items
        .get(&run.apparatus)
        .and_then(|item| item.apparatus.as_ref())
        .is_none_or(Apparatus::has_counter);
    Form::new(view, STOP, "Record how the run ended").hidden("run", run.code.as_str()).body(html! {
        @if let Some(until) = still_turns(view, run) {
            p { (look::mark(look::Tone::Active, format!("turns until about {} by the clock", parts::clock_time(view, until)))) }
        }
        @if run.is_interrupted() {
            p.step-do { "Ended where it stands: what turned before the interruption is all there is." }
        } @else {
        p.step-do { "When the " (standing(run)) ", read the counter and the timer." }
        @if !run.interruptions.is_empty() { p { "Both since it turned again; what turned before is added." } }
        @if counts {
            (Field::number(view, STOP, "revolutions", "Revolutions shown").limits(limits).bench().focus())
        }
        (Field::number(view, STOP, "minutes", "Minutes turned").unit("min")
            .wanted(&minutes.unwrap_or_default()).bench()
            .hint("with both, the mean speed is worked out and judged"))
        }
        @if run.stopped.is_some() { (Field::text(view, STOP, "reason", "Why the recorded end is replaced")) }
        @if let Some((method, grading)) = rules {
            (super::why::of_figures(method, grading, &["speed"], &["revolutions", "minutes"]))
        }
    })
}

/// Until when a run still has to turn by the clock; `None` once its time is over, or it stands.
fn still_turns(view: &View<'_>, run: &Run) -> Option<jiff::Timestamp> {
    let mill = view.lab.items.get(&run.apparatus)?.apparatus.as_ref()?;
    done_at(run, mill.nominal_rpm).filter(|until| *until > view.now)
}

/// The count that the grading wants; none known, no limits.
fn count_of(grading: &Grading) -> Limits {
    grading.revolutions.as_ref().map(Toleranced::limits).unwrap_or_default()
}

fn ended(view: &View<'_>, run: &Run, rules: Option<(&Method, &Grading)>) -> Markup {
    let (Some(stopped), Some(in_all)) = (&run.stopped, run.in_all()) else { return html! {} };
    let count = rules.map(|(_, grading)| count_of(grading)).unwrap_or_default();
    let speed = rules.and_then(|(method, _)| method.speed_rpm.as_ref()).map(Toleranced::limits);
    let speed = speed.unwrap_or_default();
    html! {
        div.strips {
            @if let Some(revolutions) = in_all.revolutions {
                (parts::strip("Revolutions", revolutions, "", count))
            }
            @if let Some(rpm) = in_all.rpm() { (parts::strip("Speed", rpm, "rev/min", speed)) }
        }
        p {
            "Ended " (parts::moment(view, stopped.at)) ", recorded by " (parts::person(view, stopped.by.as_str()))
            @if let Some(minutes) = in_all.minutes { ", after " (minutes) " min" }
            @if !stopped.value.reason.is_empty() { "; replaced: " (stopped.value.reason) }
        }
        @for former in &run.former_ends {
            p.quiet {
                "Recorded before: " s {
                    @if let Some(count) = former.value.revolutions { (count) " revolutions " }
                    @if let Some(minutes) = former.value.minutes { (minutes) " min" }
                }
                ", " (parts::moment(view, former.at)) ", by " (parts::person(view, former.by.as_str()))
            }
        }
        @for (index, placed) in run.placed.iter().enumerate() {
            @let (words, href) = (format!("On with {}", placed.specimen), format!("/specimens/{}", placed.specimen));
            @if index == 0 { (parts::go_on(&words, &href)) } @else { (parts::go(&words, &href)) }
        }
    }
}

fn in_jars(run: &Run) -> bool {
    run.placed.iter().any(|placed| placed.jar.is_some())
}

/// What is waited for at the end of a run, in words.
fn standing(run: &Run) -> &'static str {
    if in_jars(run) { "jars stand" } else { "drum stands" }
}

fn placed_table(run: &Run) -> Markup {
    let rows = run.placed.iter().map(|placed| {
        let charge = placed.charge.as_ref().map(ToString::to_string);
        vec![
            html! { (placed.tier) " " (placed.position) },
            html! { a.code href={ "/specimens/" (placed.specimen) } { (placed.specimen) } },
            html! { (placed.jar.as_ref().map_or("none", |jar| jar.as_str())) },
            html! { (charge.as_deref().unwrap_or("none")) @if let Some(mass) = placed.charge_g { " (" (balance::shown(mass)) " g" @if !placed.charge_as_read.is_empty() { ", read as " (placed.charge_as_read) } @if let Some(balls) = placed.charge_balls { ", " (balls) " balls" } ")" } },
            html! { @match placed.water_l { Some(litres) => { (litres) " L" }, None => "none" } },
            html! { @match placed.soaked_h { Some(hours) => { (hours) " h" }, None => "no" } },
        ]
    });
    let head = ["Place", "Specimen", "Jar", "Ball charge", "Water", "Soaked"];
    let caption = if in_jars(run) { "Jars of this run" } else { "In the drum" };
    parts::table(caption, &head, &[], rows.collect())
}

/// How long the jars still turn, large enough to be read from across the room.
pub(super) fn time_left(view: &View<'_>, mill: &Item, run: &Run) -> Markup {
    let rpm =
        mill.apparatus.as_ref().map_or(Decimal::ONE_HUNDRED, |apparatus| apparatus.nominal_rpm);
    let before = run.revolutions_so_far().unwrap_or_default();
    let specimens: Vec<String> =
        run.placed.iter().map(|placed| placed.specimen.to_string()).collect();
    html! {
        @if let Some(since) = run.turning_since() {
        div.time-left data-started-at=(since.to_string()) data-rpm=(rpm) data-turned-before=(before)
            data-wanted=(run.revolutions_wanted) {
            p.quiet { (specimens.join(", ")) }
            p.hero-number data-clock-left { "–" }
            p { span data-clock-turned { "–" } " of " (run.revolutions_wanted) " revolutions by the clock" }
            @if let Some(done) = done_at(run, rpm) { p { "until about " strong { (parts::clock_time(view, done)) } } }
        }
        } @else {
            p { (look::mark(look::Tone::Edge, "interrupted")) " " (specimens.join(", ")) " at " strong { (before) } " of " (run.revolutions_wanted) " revolutions" }
        }
    }
}

/// The machine from the front, as it is now.
pub(super) fn wall(view: &View<'_>, mill: &Item) -> Markup {
    match view.lab.turning_in(&mill.code) {
        Some(run) => wall_of(view, mill, run),
        None => draw(view, mill, None),
    }
}

fn wall_of(view: &View<'_>, mill: &Item, run: &Run) -> Markup {
    draw(view, mill, Some(run))
}

fn draw(view: &View<'_>, mill: &Item, run: Option<&Run>) -> Markup {
    let Some(apparatus) = &mill.apparatus else { return html! {} };
    let tiers = apparatus
        .tiers
        .iter()
        .map(|tier| Tier {
            name: tier.name.clone(),
            places: (1..=tier.positions)
                .map(|number| {
                    let placed = run.and_then(|run| {
                        run.placed
                            .iter()
                            .find(|placed| placed.tier == tier.name && placed.position == number)
                    });
                    place(view, mill, number, run, placed, apparatus.nominal_rpm)
                })
                .collect(),
        })
        .collect();
    let wall = JarWall { apparatus: mill.code.to_string(), tiers };
    look::jar_wall(&wall, view.path.starts_with("/runs/"))
}

fn place(
    view: &View<'_>,
    mill: &Item,
    number: u32,
    run: Option<&Run>,
    placed: Option<&Placed>,
    rpm: Decimal,
) -> Place {
    let held = mill.standing() == Standing::Held;
    let (Some(run), Some(placed)) = (run, placed) else {
        return Place {
            number: number.to_string(),
            state: if held { PlaceState::Held } else { PlaceState::Empty },
            ..Place::default()
        };
    };
    let expected = expected_turns(view, run, rpm);
    let turned = match &run.stopped {
        Some(_) => {
            run.in_all().and_then(|in_all| in_all.revolutions).unwrap_or(run.revolutions_wanted)
        }
        None => expected.min(run.revolutions_wanted),
    };
    let state = match &run.stopped {
        // As often as the method wants: there is nothing to be looked at.
        Some(_) if is_whole(view, placed, turned) => PlaceState::Done,
        Some(_) => PlaceState::Stopped,
        None if run.is_interrupted() => PlaceState::Stopped,
        None if expected >= run.revolutions_wanted => PlaceState::Done,
        None => PlaceState::Turning,
    };
    Place {
        number: number.to_string(),
        specimen: Some(placed.specimen.to_string()),
        jar: placed.jar.as_ref().map(ToString::to_string),
        turned: Some(turned),
        wanted: Some(run.revolutions_wanted),
        done_at: done_at(run, rpm).map(|at| parts::clock_time(view, at)),
        state,
        clock: run.turning_since().map(|since| Clock {
            started_at: since.to_string(),
            rpm,
            turned_before: run.revolutions_so_far().unwrap_or_default(),
        }),
    }
}

/// Whether a specimen has turned as often as its method wants.
fn is_whole(view: &View<'_>, placed: &Placed, turned: Decimal) -> bool {
    let specimen = view.lab.specimens.get(&placed.specimen);
    let rules = specimen.and_then(|specimen| rules(view, specimen));
    let limits = rules.map(|(_, grading)| count_of(grading)).unwrap_or_default();
    limits != Limits::default() && limits.hold(turned)
}

/// Revolutions expected by the clock at the nominal speed, after those counted before a pause.
fn expected_turns(view: &View<'_>, run: &Run, rpm: Decimal) -> Decimal {
    let before = run.revolutions_so_far().unwrap_or_default();
    let Some(since) = run.turning_since() else { return before };
    let milliseconds = view.now.as_millisecond() - since.as_millisecond();
    let minutes = Decimal::from(milliseconds.max(0)) / Decimal::from(60_000);
    let turned = minutes.checked_mul(rpm).map(|turned| turned.trunc());
    turned.and_then(|turned| turned.checked_add(before)).unwrap_or(run.revolutions_wanted)
}

/// When the wanted count is reached at the nominal speed; `None` while the jars stand.
fn done_at(run: &Run, rpm: Decimal) -> Option<jiff::Timestamp> {
    let left = run.revolutions_wanted.checked_sub(run.revolutions_so_far()?)?;
    let minutes = left.max(Decimal::ZERO).checked_div(rpm)?;
    let milliseconds = i64::try_from((minutes * Decimal::from(60_000)).trunc()).ok()?;
    run.turning_since()?.checked_add(jiff::SignedDuration::from_millis(milliseconds)).ok()
}
