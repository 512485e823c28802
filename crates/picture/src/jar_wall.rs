//! The jar wall: the machine seen from the front, and how far each jar has turned.

use crate::Colour;
use crate::draw::{canvas, disc, figure, fit, float, line, path, px, ring, text};
use maud::{Markup, html};
use rust_decimal::Decimal;
use std::f64::consts::{FRAC_1_SQRT_2, TAU};

/// One place's room, in pixels.
const CELL: (f64, f64) = (106.0, 166.0);
/// The jar's end, and the line of its ring.
const RADIUS: f64 = 33.0;
const RING: f64 = 7.0;
/// From the top of a place to the jar's middle.
const JAR_Y: f64 = 44.0;
/// The type size of a state's word.
const STATE_SIZE: f64 = 13.5;
const SIDE: f64 = 14.0;
const HEAD: f64 = 34.0;
const TIER_HEAD: f64 = 24.0;

/// A machine with what is in it.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct JarWall {
    /// The machine's name or code.
    pub apparatus: String,
    /// Its tiers from the top down.
    pub tiers: Vec<Tier>,
}

/// One row of jars.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Tier {
    /// What the row is called, such as `Upper tier`; may be empty.
    pub name: String,
    /// Its places from left to right, as one stands before the machine.
    pub places: Vec<Place>,
}

/// One place for a jar.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Place {
    /// What the place is called, such as `1`.
    pub number: String,
    /// The specimen in it.
    pub specimen: Option<String>,
    /// The jar in it.
    pub jar: Option<String>,
    /// Revolutions so far; while it turns, as expected by the clock.
    pub turned: Option<Decimal>,
    /// Revolutions wanted.
    pub wanted: Option<Decimal>,
    /// When it is or was done, in words, such as `14:05`.
    pub done_at: Option<String>,
    /// What the place is doing.
    pub state: PlaceState,
    /// What a page needs to keep the ring moving.
    pub clock: Option<Clock>,
}

/// From which the revolutions expected by the clock follow.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Clock {
    /// When the jar last began to turn, as an RFC 3339 instant.
    pub started_at: String,
    /// Revolutions per minute.
    pub rpm: Decimal,
    /// Revolutions before that, in an earlier part of the run.
    pub turned_before: Decimal,
}

/// What a place is doing.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum PlaceState {
    /// No jar in it.
    #[default]
    Empty,
    /// A jar in it that turns.
    Turning,
    /// A jar in it that has begun to turn and stands still.
    Stopped,
    /// A jar in it that has turned as often as wanted.
    Done,
    /// Not to be used.
    Held,
}

impl PlaceState {
    /// The state as people say it.
    pub fn word(self) -> &'static str {
        match self {
            Self::Empty => "empty",
            Self::Turning => "turning",
            Self::Stopped => "stopped",
            Self::Done => "done",
            Self::Held => "held",
        }
    }

    fn colour(self) -> Colour {
        match self {
            Self::Empty => Colour::Quiet,
            Self::Turning => Colour::Accent,
            Self::Stopped => Colour::Edge,
            Self::Done => Colour::Good,
            Self::Held => Colour::Bad,
        }
    }

    /// A turning arrow, two bars, a tick, a barred ring; drawn small at the jar.
    fn glyph(self, (x, y): (f64, f64)) -> Markup {
        let colour = self.colour();
        let at = |dx: f64, dy: f64| format!("{} {}", px(x + dx), px(y + dy));
        let d = match self {
            Self::Empty => return html! {},
            Self::Turning => format!(
                "M{}A5 5 0 1 1 {}M{}L{}L{}",
                at(-2.5, 4.3),
                at(4.9, 1.0),
                at(1.9, 0.2),
                at(4.9, 1.6),
                at(6.9, -1.6)
            ),
            Self::Stopped => {
                format!("M{}L{}M{}L{}", at(-2.0, -4.0), at(-2.0, 4.0), at(2.5, -4.0), at(2.5, 4.0))
            }
            Self::Done => format!("M{}L{}L{}", at(-4.5, 0.0), at(-1.2, 3.5), at(4.5, -4.0)),
            Self::Held => {
                format!("M{}A5 5 0 1 1 {}Z", at(-5.0, 0.0), at(-5.0, 0.1))
                    + &format!("M{}L{}", at(-3.4, 3.4), at(3.4, -3.4))
            }
        };
        path(&d, 2.2, colour)
    }
}

impl Place {
    /// How much of the wanted revolutions is done, from 0 to 1; 0 where nothing is wanted.
    pub fn fraction(&self) -> f64 {
        if self.state == PlaceState::Done {
            return 1.0;
        }
        let (turned, wanted) = (self.turned.unwrap_or_default(), self.wanted.unwrap_or_default());
        if wanted <= Decimal::ZERO { 0.0 } else { (float(turned) / float(wanted)).clamp(0.0, 1.0) }
    }

    /// Whole percent done, never 100 before it is done.
    pub fn percent(&self) -> u8 {
        // From 0 to 100 by `fraction`, so the cast keeps it.
        (self.fraction() * 100.0).floor() as u8
    }

    /// The place in one sentence.
    pub fn sentence(&self) -> String {
        let mut words = format!("{}: {}", self.number, self.state.word());
        if let Some(specimen) = &self.specimen {
            words += &format!(", specimen {specimen}");
        }
        if let Some(jar) = &self.jar {
            words += &format!(", jar {jar}");
        }
        if let (Some(turned), Some(wanted)) = (self.turned, self.wanted) {
            words += &format!(", {} of {} revolutions", figure(turned.round()), figure(wanted));
        }
        if let Some(done_at) = &self.done_at {
            let when = if self.state == PlaceState::Done { "done at" } else { "until" };
            words += &format!(", {when} {done_at}");
        }
        words
    }

    fn draw(&self, (left, top): (f64, f64)) -> Markup {
        let centre = (left + CELL.0 / 2.0, top + JAR_Y);
        let occupied = self.jar.is_some() || self.specimen.is_some();
        let clock = self.clock.as_ref().filter(|_| self.state == PlaceState::Turning);
        let below = |dy: f64| (centre.0, top + JAR_Y + RADIUS + dy);
        let room = CELL.0 - 6.0;
        let name = self.specimen.as_deref().or(self.jar.as_deref()).unwrap_or_default();
        let jar = self.specimen.as_ref().and(self.jar.as_ref());
        let jar = jar.map_or_else(String::new, |jar| format!("jar {jar}"));
        let time = match (&self.done_at, self.state) {
            (Some(at), PlaceState::Done) => format!("at {at}"),
            (Some(at), PlaceState::Turning) => format!("until {at}"),
            _ => String::new(),
        };
        let below_state: Vec<&str> =
            [time.as_str(), jar.as_str()].into_iter().filter(|line| !line.is_empty()).collect();
        let state = self.state.word();
        // Its shape sits at the jar, not at the word, which is longer in another language.
        let beside = RADIUS * FRAC_1_SQRT_2 + RING;
        let badge = (centre.0 + beside, centre.1 - beside);
        html! {
            g data-started-at=[clock.map(|clock| &clock.started_at)]
                data-rpm=[clock.map(|clock| clock.rpm)]
                data-turned-before=[clock.map(|clock| clock.turned_before)]
                data-wanted=[self.wanted.filter(|_| clock.is_some())]
                data-clock-name=[clock.map(|_| name)] {
                (self.draw_jar(centre, occupied))
                @let number_y = if occupied { centre.1 + 2.0 } else { centre.1 + 8.0 };
                (text((centre.0, number_y), fit(&self.number, 24.0, 46.0), "middle", 600,
                    if occupied { Colour::Ink } else { Colour::Quiet }, &self.number))
                @if occupied && self.wanted.is_some() {
                    text x=(px(centre.0)) y=(px(centre.1 + 19.0)) font-size="13" font-weight="400"
                        text-anchor="middle" class="fill-quiet" fill=(Colour::Quiet.hex())
                        data-clock-percent[clock.is_some()] { (self.percent()) "\u{a0}%" }
                }
                (text(below(24.0), fit(name, 14.5, room), "middle", 600, Colour::Ink, name))
                @if self.state != PlaceState::Empty {
                    (disc(badge, 10.0, Colour::Surface))
                    (self.state.glyph(badge))
                }
                (text(below(43.0), STATE_SIZE, "middle", 600, self.state.colour(), state))
                @for (row, words) in below_state.iter().enumerate() {
                    (text(below(61.0 + 17.0 * row as f64), fit(words, 13.0, room), "middle", 400,
                        Colour::Quiet, words))
                }
            }
        }
    }

    fn draw_jar(&self, centre: (f64, f64), occupied: bool) -> Markup {
        let around = TAU * RADIUS;
        let filled = self.fraction() * around;
        let roller = |dx: f64| (centre.0 + dx, centre.1 + RADIUS + 3.0);
        html! {
            // The two rollers that the jar lies on.
            (disc(roller(-26.0), 5.0, Colour::Line))
            (disc(roller(26.0), 5.0, Colour::Line))
            @if occupied {
                (disc(centre, RADIUS + RING / 2.0, Colour::Surface))
                (ring(centre, RADIUS, RING, Colour::Sunken))
                (ring(centre, RADIUS + RING / 2.0, 1.0, Colour::Line))
                @if filled > 0.0 || self.state == PlaceState::Turning {
                    circle cx=(px(centre.0)) cy=(px(centre.1)) r=(px(RADIUS)) fill="none"
                        stroke-width=(px(RING))
                        stroke-dasharray={ (px(filled)) " " (px(around)) }
                        transform={ "rotate(-90 " (px(centre.0)) " " (px(centre.1)) ")" }
                        class={ "stroke-" (self.state.colour().name()) }
                        stroke=(self.state.colour().hex())
                        data-clock-ring=(px(around)) {}
                }
            } @else {
                circle cx=(px(centre.0)) cy=(px(centre.1)) r=(px(RADIUS)) stroke-width="2"
                    stroke-dasharray="4 5" class="fill-surface stroke-quiet"
                    fill=(Colour::Surface.hex()) stroke=(Colour::Quiet.hex()) {}
            }
            @if self.state == PlaceState::Held {
                @let reach = RADIUS * 0.7;
                (line((centre.0 - reach, centre.1 + reach), (centre.0 + reach, centre.1 - reach),
                    2.5, Colour::Bad))
                (disc(centre, 18.0, Colour::Surface))
            }
        }
    }
}

impl JarWall {
    /// The drawing, to stand on a page. Where a place has a [`Clock`], its group and its ring
    /// carry the data attributes by which a script keeps them moving.
    pub fn markup(&self) -> Markup {
        let widest = self.tiers.iter().map(|tier| tier.places.len()).max().unwrap_or(0).max(1);
        let width = widest as f64 * CELL.0 + 2.0 * SIDE;
        let tier_height = TIER_HEAD + CELL.1;
        let height = HEAD + self.tiers.len() as f64 * tier_height + SIDE / 2.0;
        let shapes = html! {
            rect x="1" y=(px(HEAD - 6.0)) width=(px(width - 2.0)) height=(px(height - HEAD + 5.0))
                rx="14" stroke-width="1.5" class="fill-surface stroke-line"
                fill=(Colour::Surface.hex()) stroke=(Colour::Line.hex()) {}
            (text((2.0, 17.0), fit(&self.apparatus, 17.0, width - 4.0), "start", 600, Colour::Ink,
                &self.apparatus))
            @for (row, tier) in self.tiers.iter().enumerate() {
                @let top = HEAD + row as f64 * tier_height;
                (text((SIDE, top + 15.0), 13.0, "start", 400, Colour::Quiet, &tier.name))
                @if row > 0 {
                    (line((SIDE, top - 4.0), (width - SIDE, top - 4.0), 1.5, Colour::Line))
                }
                @let indent = (widest - tier.places.len()) as f64 * CELL.0 / 2.0;
                @for (column, place) in tier.places.iter().enumerate() {
                    (place.draw((SIDE + indent + column as f64 * CELL.0, top + TIER_HEAD)))
                }
            }
        };
        // A page gives a machine room by its columns.
        let class = match widest {
            columns @ 1..=4 => &format!("picture jar-wall columns-{columns}"),
            _ => "picture jar-wall wide",
        };
        canvas(class, (width, height), &self.apparatus, &self.sentence(), &shapes)
    }

    /// The drawing as a file.
    pub fn svg(&self) -> String {
        self.markup().into_string()
    }

    /// All places in words.
    pub fn sentence(&self) -> String {
        let places = self.tiers.iter().flat_map(|tier| &tier.places);
        let words: Vec<String> = places.map(Place::sentence).collect();
        if words.is_empty() { "no places".to_owned() } else { words.join("; ") }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn place(turned: i64, wanted: i64) -> Place {
        Place {
            number: "2".into(),
            specimen: Some("S-1".into()),
            jar: Some("J2".into()),
            turned: Some(turned.into()),
            wanted: Some(wanted.into()),
            state: PlaceState::Turning,
            ..Place::default()
        }
    }

    fn dash(place: &Place) -> f64 {
        let drawn = place.draw((0.0, 0.0)).into_string();
        let (_, rest) = drawn.rsplit_once(r#"stroke-dasharray=""#).unwrap();
        rest.split(' ').next().unwrap().parse().unwrap()
    }

    #[test]
    fn the_ring_is_proportional_to_the_revolutions() {
        let around = TAU * RADIUS;
        for (turned, part) in [(0, 0.0), (3000, 0.25), (6000, 0.5), (12_000, 1.0), (13_000, 1.0)] {
            let drawn = dash(&place(turned, 12_000));
            assert!((drawn - part * around).abs() < 0.01, "{turned}: {drawn}");
        }
        assert!(dash(&place(5, 0)).abs() < 0.01);
    }

    #[test]
    fn it_is_not_a_hundred_percent_before_it_is_done() {
        assert_eq!(place(11_999, 12_000).percent(), 99);
        assert_eq!(place(12_000, 12_000).percent(), 100);
    }

    #[test]
    fn the_wall_is_said_in_words() {
        let wall = JarWall {
            apparatus: "MILL".into(),
            tiers: vec![Tier {
                name: String::new(),
                places: vec![place(3000, 12_000), Place { number: "3".into(), ..Place::default() }],
            }],
        };
        insta::assert_snapshot!(wall.sentence(), @"2: turning, specimen S-1, jar J2, 3000 of 12000 revolutions; 3: empty");
        assert_eq!(JarWall::default().sentence(), "no places");
    }

    proptest! {
        #[test]
        fn every_wall_is_a_drawing_of_numbers(
            turned in any::<i64>(),
            wanted in any::<i64>(),
            scale in 0_u32..28,
            state in prop::sample::select(vec![
                PlaceState::Empty, PlaceState::Turning, PlaceState::Stopped, PlaceState::Done,
                PlaceState::Held,
            ]),
            places in 0_usize..9,
        ) {
            let one = Place {
                turned: Some(Decimal::new(turned, scale)),
                wanted: Some(Decimal::new(wanted, 0)),
                state,
                ..place(0, 0)
            };
            prop_assert!((0.0..=1.0).contains(&one.fraction()));
            let tier = Tier { name: "t".into(), places: vec![one; places] };
            let wall = JarWall { apparatus: "m".into(), tiers: vec![tier.clone(), tier] };
            let svg = wall.svg();
            prop_assert!(!svg.contains("NaN") && !svg.contains("inf"), "{}", svg);
            prop_assert_eq!(svg, wall.svg());
        }
    }
}
