//! The tolerance strip: a figure between its limits.

use crate::Colour;
use crate::draw::{self, canvas, distance, fit, float, hatch, quantity, text, width_of};
use maud::{Markup, html};
use rust_decimal::Decimal;

const WIDTH: f64 = 360.0;
const HEIGHT: f64 = 72.0;
/// Upper and lower edge of the band.
const BAND: (f64, f64) = (32.0, 46.0);
const MIDDLE: f64 = 39.0;
/// Where the two limits stand; what lies beyond them has the rest of the width.
const LIMITS: (f64, f64) = (84.0, 276.0);
/// Where a limit stands that has no other opposite.
const LONE: (f64, f64) = (116.0, 244.0);
/// The outermost places of a mark.
const ENDS: (f64, f64) = (16.0, 344.0);
/// How far outside a limit a mark stands at least, however little the value exceeds it.
const CLEAR: f64 = 9.0;

/// A value with its limits: what was read, what it must meet, how well it is known.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct ToleranceStrip {
    /// What the figure is, such as `Mass before`.
    pub label: String,
    /// The unit of all figures; may be empty.
    pub unit: String,
    /// The least value allowed, itself allowed.
    pub lower: Option<Decimal>,
    /// The greatest value allowed, itself allowed.
    pub upper: Option<Decimal>,
    /// Width of the guard band inside each limit; zero or less is none.
    pub guard: Option<Decimal>,
    /// What was read, if anything was.
    pub value: Option<Decimal>,
    /// Expanded uncertainty of the value; zero or less is none.
    pub expanded_uncertainty: Option<Decimal>,
}

/// Where a value stands to its limits.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Standing {
    /// There is no value, or no limit to hold it against.
    Open,
    /// Within the limits and clear of the guard band.
    Inside,
    /// Within the limits, but in the guard band or exactly on a limit.
    Edge,
    /// Beyond a limit, or the limits allow nothing.
    Outside,
}

/// Where things are drawn, in pixels.
#[derive(Debug, Clone, Copy)]
struct Geometry {
    /// From the lower to the upper limit, or to the drawing's end where there is none.
    band: (f64, f64),
    /// The same without the guard bands.
    clear: (f64, f64),
    mark: Option<Mark>,
    whisker: Option<(f64, f64)>,
}

#[derive(Debug, Clone, Copy)]
struct Mark {
    x: f64,
    /// The value lies further out than the drawing reaches.
    off_scale: bool,
}

impl ToleranceStrip {
    /// Where the value stands to the limits and the guard band.
    pub fn standing(&self) -> Standing {
        let Some(value) = self.value else { return Standing::Open };
        if self.lower.is_none() && self.upper.is_none() {
            return Standing::Open;
        }
        if self.lower.is_some_and(|lower| value < lower)
            || self.upper.is_some_and(|upper| value > upper)
        {
            return Standing::Outside;
        }
        let guard = self.guard();
        let near = |room: Option<Decimal>| {
            room.is_some_and(|room| room < guard || (room.is_zero() && self.lower != self.upper))
        };
        let below = self.lower.and_then(|lower| value.checked_sub(lower));
        let above = self.upper.and_then(|upper| upper.checked_sub(value));
        if near(below) || near(above) { Standing::Edge } else { Standing::Inside }
    }

    /// The picture in one sentence, for those who hear it.
    pub fn sentence(&self) -> String {
        let say = |value| quantity(value, &self.unit);
        let limits = match (self.lower, self.upper) {
            (Some(lower), Some(upper)) if lower == upper => format!("exactly {}", say(lower)),
            (Some(lower), Some(upper)) => format!("{} to {}", say(lower), say(upper)),
            (Some(lower), None) => format!("at least {}", say(lower)),
            (None, Some(upper)) => format!("at most {}", say(upper)),
            (None, None) => String::new(),
        };
        let mut sentence = match (self.value, self.standing()) {
            (None, _) if limits.is_empty() => "no value yet".to_owned(),
            (None, _) => format!("no value yet; allowed is {limits}"),
            (Some(value), Standing::Open) => say(value),
            (Some(value), standing) => {
                format!("{}, {}; allowed is {limits}", say(value), standing.word())
            }
        };
        if let Some(uncertainty) = self.uncertainty().filter(|_| self.value.is_some()) {
            sentence += &format!("; expanded uncertainty {}", say(uncertainty));
        }
        if !self.guard().is_zero() {
            sentence += &format!("; guard band {}", say(self.guard()));
        }
        sentence
    }

    /// The drawing, to stand on a page.
    pub fn markup(&self) -> Markup {
        let geometry = self.geometry();
        let title = if self.label.is_empty() { "Tolerance" } else { &self.label };
        let shapes = html! {
            (self.draw_band(geometry))
            (self.draw_limits(geometry))
            (self.draw_value(geometry))
        };
        canvas("picture tolerance-strip", (WIDTH, HEIGHT), title, &self.sentence(), &shapes)
    }

    /// The drawing as a file.
    pub fn svg(&self) -> String {
        self.markup().into_string()
    }

    fn guard(&self) -> Decimal {
        self.guard.unwrap_or_default().max(Decimal::ZERO)
    }

    fn uncertainty(&self) -> Option<Decimal> {
        self.expanded_uncertainty.filter(|uncertainty| *uncertainty > Decimal::ZERO)
    }

    fn geometry(&self) -> Geometry {
        let scale = self.scale();
        let at = |value| scale.at(value);
        let band = match (self.lower, self.upper) {
            // Limits that cross allow nothing: a band without width.
            (Some(lower), Some(upper)) => (at(lower), at(upper).max(at(lower))),
            (Some(lower), None) => (at(lower), WIDTH),
            (None, Some(upper)) => (0.0, at(upper)),
            (None, None) => (0.0, WIDTH),
        };
        let middle = f64::midpoint(band.0, band.1);
        let guard = float(self.guard()) / scale.per_px;
        let clear = (
            if self.lower.is_some() { (band.0 + guard).min(middle) } else { band.0 },
            if self.upper.is_some() { (band.1 - guard).max(middle) } else { band.1 },
        );
        let mark = self.value.map(|value| self.mark(value, at(value), band, clear));
        let whisker = mark.zip(self.uncertainty()).map(|(mark, uncertainty)| {
            let half = (float(uncertainty) / scale.per_px).min(2.0 * WIDTH);
            ((mark.x - half).max(2.0), (mark.x + half).min(WIDTH - 2.0))
        });
        Geometry { band, clear, mark, whisker }
    }

    /// The place of the mark. What a rounding to pixels could blur is drawn apart: a value that
    /// is outside stands clear of the band, one that is inside never touches the outside.
    fn mark(&self, value: Decimal, x: f64, band: (f64, f64), clear: (f64, f64)) -> Mark {
        let x = match self.standing() {
            Standing::Open => x.clamp(ENDS.0, ENDS.1),
            Standing::Inside => x.clamp(clear.0, clear.1),
            Standing::Edge => {
                let low = self.lower.is_some() && x <= f64::midpoint(clear.0, clear.1);
                if low { x.clamp(band.0, clear.0) } else { x.clamp(clear.1, band.1) }
            }
            Standing::Outside => {
                let below = self.lower.is_some_and(|lower| value < lower);
                let x = if below { x.min(band.0 - CLEAR) } else { x.max(band.1 + CLEAR) };
                let off_scale = x < ENDS.0 || x > ENDS.1;
                return Mark { x: x.clamp(ENDS.0, ENDS.1), off_scale };
            }
        };
        Mark { x, off_scale: false }
    }

    /// Which value stands where. The limits have fixed places, so that strips one below the
    /// other are compared at a glance; a lone limit's scale reaches as far as the value needs.
    fn scale(&self) -> Scale {
        let away = |from: Decimal| self.value.map_or(0.0, |value| distance(from, value));
        let least = |from: Decimal| {
            let known = self.uncertainty().map_or(0.0, float) * 2.0;
            known
                .max(float(self.guard()) * 4.0)
                .max(float(from.abs()) * 0.02)
                .max(f64::MIN_POSITIVE)
        };
        match (self.lower, self.upper) {
            (Some(lower), Some(upper)) if lower < upper => {
                Scale::new(lower, LIMITS.0, distance(lower, upper) / (LIMITS.1 - LIMITS.0))
            }
            (Some(both), Some(_)) => {
                Scale::new(both, WIDTH / 2.0, (away(both).abs() * 1.2).max(least(both)) / 150.0)
            }
            (Some(lower), None) => {
                Scale::new(lower, LONE.0, (away(lower) * 1.2).max(least(lower)) / (ENDS.1 - LONE.0))
            }
            (None, Some(upper)) => Scale::new(
                upper,
                LONE.1,
                (-away(upper) * 1.2).max(least(upper)) / (LONE.1 - ENDS.0),
            ),
            (None, None) => {
                let centre = self.value.unwrap_or_default();
                Scale::new(centre, WIDTH / 2.0, least(centre) / 100.0)
            }
        }
    }

    fn draw_band(&self, Geometry { band, clear, .. }: Geometry) -> Markup {
        let limited = self.lower.is_some() || self.upper.is_some();
        let hatched = hatch((band.0, BAND.0), (clear.0, BAND.1), 5.0)
            + &hatch((clear.1, BAND.0), (band.1, BAND.1), 5.0);
        html! {
            (draw::line((2.0, MIDDLE), (WIDTH - 2.0, MIDDLE), 1.5, Colour::Line))
            @if limited {
                (draw::rect((band.0, BAND.0), (band.1, BAND.1), Colour::GoodPale))
                @if !hatched.is_empty() && !self.guard().is_zero() {
                    (draw::path(&hatched, 1.2, Colour::Edge))
                }
                // The band's long edges, so that it stands in a print without grounds.
                (draw::line((band.0, BAND.0), (band.1, BAND.0), 1.0, Colour::Good))
                (draw::line((band.0, BAND.1), (band.1, BAND.1), 1.0, Colour::Good))
            }
        }
    }

    fn draw_limits(&self, Geometry { band, .. }: Geometry) -> Markup {
        let both = self.lower.is_some() && self.upper.is_some();
        let room = if both { WIDTH / 2.0 - 8.0 } else { WIDTH - 8.0 };
        let tick = |x: f64, limit: Decimal, part: (f64, f64)| {
            let words = quantity(limit, &self.unit);
            let size = fit(&words, 14.0, room);
            let half = width_of(&words, size) / 2.0;
            let middle = x.clamp(part.0 + half, (part.1 - half).max(part.0 + half));
            html! {
                (draw::line((x, BAND.0 - 5.0), (x, BAND.1 + 5.0), 2.0, Colour::Ink))
                (text((middle, 67.0), size, "middle", 400, Colour::Quiet, &words))
            }
        };
        let halves = if both { (WIDTH / 2.0 - 2.0, WIDTH / 2.0 + 2.0) } else { (WIDTH, 0.0) };
        html! {
            @if both && self.lower == self.upper {
                @if let Some(limit) = self.lower { (tick(band.0, limit, (0.0, WIDTH))) }
            } @else {
                @if let Some(lower) = self.lower { (tick(band.0, lower, (2.0, halves.0 - 2.0))) }
                @if let Some(upper) = self.upper {
                    (tick(band.1, upper, (halves.1 + 2.0, WIDTH - 2.0)))
                }
            }
        }
    }

    fn draw_value(&self, Geometry { mark, whisker, .. }: Geometry) -> Markup {
        let (Some(Mark { x, off_scale }), Some(value)) = (mark, self.value) else {
            return html! {};
        };
        let standing = self.standing();
        let words = quantity(value, &self.unit);
        let size = fit(&words, 18.0, WIDTH - 8.0);
        let half = width_of(&words, size) / 2.0 + 2.0;
        let words_x = x.clamp(half, (WIDTH - half).max(half));
        html! {
            @if !off_scale { (draw::disc((x, MIDDLE), 8.0, Colour::Surface)) }
            @if let Some((from, to)) = whisker {
                (draw::line((from, MIDDLE), (to, MIDDLE), 2.0, Colour::Ink))
                (draw::line((from, MIDDLE - 5.5), (from, MIDDLE + 5.5), 2.0, Colour::Ink))
                (draw::line((to, MIDDLE - 5.5), (to, MIDDLE + 5.5), 2.0, Colour::Ink))
            }
            @if off_scale {
                (arrow(x))
            } @else {
                (standing.draw(x))
            }
            (text((words_x, 18.0), size, "middle", 600, standing.colour(), &words))
        }
    }
}

impl Standing {
    /// The standing as people say it.
    pub fn word(self) -> &'static str {
        match self {
            Self::Open => "not judged",
            Self::Inside => "inside",
            Self::Edge => "at the edge",
            Self::Outside => "outside",
        }
    }

    fn colour(self) -> Colour {
        match self {
            Self::Open => Colour::Ink,
            Self::Inside => Colour::Good,
            Self::Edge => Colour::Edge,
            Self::Outside => Colour::Bad,
        }
    }

    /// A disc inside, a diamond at the edge, a cross outside, an open ring where nothing judges.
    fn draw(self, x: f64) -> Markup {
        let (colour, y) = (self.colour(), MIDDLE);
        html! {
            @match self {
                Self::Open => {
                    (draw::disc((x, y), 5.5, Colour::Surface))
                    (draw::ring((x, y), 5.5, 2.5, colour))
                }
                Self::Inside => {
                    (draw::disc((x, y), 6.0, colour))
                }
                Self::Edge => {
                    (draw::shape(&diamond(x, 8.0), Colour::Surface))
                    (draw::path(&diamond(x, 7.5), 2.5, colour))
                    (draw::disc((x, y), 2.0, colour))
                }
                Self::Outside => {
                    @let d = format!(
                        "M{l} {t}L{r} {b}M{l} {b}L{r} {t}",
                        l = draw::px(x - 6.0), r = draw::px(x + 6.0),
                        t = draw::px(y - 6.0), b = draw::px(y + 6.0),
                    );
                    (draw::path(&d, 7.0, Colour::Surface))
                    (draw::path(&d, 3.5, colour))
                }
            }
        }
    }
}

fn diamond(x: f64, r: f64) -> String {
    let (l, t, e, b) = (x - r, MIDDLE - r, x + r, MIDDLE + r);
    format!(
        "M{} {m}L{x} {}L{} {m}L{x} {}Z",
        draw::px(l),
        draw::px(t),
        draw::px(e),
        draw::px(b),
        m = draw::px(MIDDLE),
        x = draw::px(x),
    )
}

/// The value lies further out, that way.
fn arrow(x: f64) -> Markup {
    let out = if x < WIDTH / 2.0 { -1.0 } else { 1.0 };
    let head = format!(
        "M{tip} {m}L{back} {t}L{back} {b}Z",
        tip = draw::px(x + out * 13.0),
        back = draw::px(x - out * 2.0),
        m = draw::px(MIDDLE),
        t = draw::px(MIDDLE - 9.0),
        b = draw::px(MIDDLE + 9.0),
    );
    html! {
        (draw::line((x - out * 14.0, MIDDLE), (x, MIDDLE), 3.5, Colour::Bad))
        (draw::shape(&head, Colour::Bad))
    }
}

/// A straight scale through one known place.
struct Scale {
    anchor: Decimal,
    anchor_px: f64,
    per_px: f64,
}

impl Scale {
    fn new(anchor: Decimal, anchor_px: f64, per_px: f64) -> Self {
        Self { anchor, anchor_px, per_px: per_px.max(f64::MIN_POSITIVE) }
    }

    fn at(&self, value: Decimal) -> f64 {
        // A value that is far beyond what can be drawn stays a number.
        (self.anchor_px + distance(self.anchor, value) / self.per_px).clamp(-1e9, 1e9)
    }
}

#[cfg(test)]
mod tests;
