//! Our pictures with their captions.

use super::{Tone, mark};
use maud::{Markup, PreEscaped, html};
use stonewear_picture::{
    EvidenceLine, GradingCurve, JarWall, Place, PlaceState, Plot, SeriesChart, ToleranceStrip,
};

/// A tolerance strip with its label above it.
pub fn strip(strip: &ToleranceStrip) -> Markup {
    html! {
        figure.figure {
            figcaption { (strip.label) }
            (strip_alone(strip))
        }
    }
}

/// A tolerance strip where its label already stands above it.
pub fn strip_alone(strip: &ToleranceStrip) -> Markup {
    PreEscaped(strip.svg())
}

/// A jar wall; `detailed` adds its places as a list, with the time that is left.
pub fn jar_wall(wall: &JarWall, detailed: bool) -> Markup {
    let places = wall.tiers.iter().flat_map(|tier| tier.places.iter().map(move |p| (tier, p)));
    html! {
        figure.figure {
            div.scroll role="region" tabindex="0" aria-label={ "Jars of " (wall.apparatus) } {
                (PreEscaped(wall.svg()))
            }
            @if detailed {
                ul.places {
                    @for (tier, place) in places {
                        @let clock = place.clock.as_ref()
                            .filter(|_| place.state == PlaceState::Turning);
                        li.place data-started-at=[clock.map(|clock| &clock.started_at)]
                            data-rpm=[clock.map(|clock| clock.rpm)]
                            data-turned-before=[clock.map(|clock| clock.turned_before)]
                            data-wanted=[place.wanted.filter(|_| clock.is_some())] {
                            span {
                                b { @if !tier.name.is_empty() { (tier.name) ", " } (place.number) }
                                " " (mark(tone(place.state), place.state.word()))
                            }
                            (contents(place, clock.is_some()))
                        }
                    }
                }
            }
        }
    }
}

/// Who is in a place and how far it has turned; a script keeps the figures moving.
fn contents(place: &Place, is_moving: bool) -> Markup {
    html! {
        @if let Some(specimen) = &place.specimen { span { "specimen " (specimen) } }
        @if let Some(jar) = &place.jar { span { "jar " (jar) } }
        @if let (Some(turned), Some(wanted)) = (place.turned, place.wanted) {
            span {
                span data-clock-turned[is_moving] { (turned.round()) } " of " (wanted) " revolutions"
                @if is_moving { ", expected by the clock" }
            }
        }
        @match (&place.done_at, place.state) {
            (Some(at), PlaceState::Done) => { span { "done at " (at) } }
            (Some(at), _) => {
                span { "until " (at) @if is_moving { ", left: " b data-clock-left { "–" } } }
            }
            (None, _) => { @if is_moving { span { "left: " b data-clock-left { "–" } } } }
        }
    }
}

fn tone(state: PlaceState) -> Tone {
    match state {
        PlaceState::Empty => Tone::Plain,
        PlaceState::Turning => Tone::Active,
        PlaceState::Stopped => Tone::Edge,
        PlaceState::Done => Tone::Good,
        PlaceState::Held => Tone::Bad,
    }
}

/// An evidence line with its heading, which says at once when the line is broken.
pub fn evidence_line(line: &EvidenceLine) -> Markup {
    html! {
        figure.figure {
            figcaption {
                (line.label)
                @if line.is_broken() { " " (mark(Tone::Bad, "Broken")) }
            }
            (line.markup())
        }
    }
}

/// A series chart with its title.
pub fn chart(chart: &SeriesChart) -> Markup {
    html! {
        figure.figure {
            figcaption { (chart.title) }
            div.scroll role="region" tabindex="0" aria-label=(chart.title) {
                (PreEscaped(chart.svg()))
            }
        }
    }
}

/// A grading curve with its title.
pub fn grading_curve(curve: &GradingCurve) -> Markup {
    html! {
        figure.figure {
            figcaption { (curve.title) }
            div.scroll role="region" tabindex="0" aria-label=(curve.title) {
                (PreEscaped(curve.svg()))
            }
        }
    }
}

/// A plot with its title.
pub fn plot(plot: &Plot) -> Markup {
    html! {
        figure.figure {
            figcaption { (plot.title) }
            div.scroll role="region" tabindex="0" aria-label=(plot.title) {
                (PreEscaped(plot.svg()))
            }
        }
    }
}
