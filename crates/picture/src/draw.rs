//! Strokes, discs and words: the few shapes that all pictures are made of.

use crate::Colour;
use maud::{Markup, html};
use rust_decimal::Decimal;
use rust_decimal::prelude::ToPrimitive;

/// How wide a letter is on average, as a part of the type's size. Measured on figures, which are
/// wider than most letters, so that what is fitted by it fits.
const LETTER: f64 = 0.58;

/// A drawing with its meaning in words.
pub(crate) fn canvas(
    class: &str,
    (width, height): (f64, f64),
    title: &str,
    description: &str,
    shapes: &Markup,
) -> Markup {
    html! {
        svg xmlns="http://www.w3.org/2000/svg" class=(class) role="img"
            viewBox={ "0 0 " (px(width)) " " (px(height)) } width=(px(width)) height=(px(height))
            font-family="IBM Plex Sans, sans-serif" {
            title { (plain(title)) }
            desc { (plain(description)) }
            (shapes)
        }
    }
}

/// A figure with the digits that a listener needs.
pub(crate) fn short(value: f64) -> String {
    let text = if value.abs() >= 1e9 { format!("{value:e}") } else { format!("{value:.3}") };
    let text =
        if text.contains('.') { text.trim_end_matches('0').trim_end_matches('.') } else { &text };
    plain(text).replace('-', "\u{2212}")
}

/// A mark with what a page needs to read it off: its words, its place and its page. Without words
/// it is the mark alone.
pub(crate) fn readable((x, y): (f64, f64), says: &str, href: &str, mark: Markup) -> Markup {
    let says = plain(says);
    if says.is_empty() {
        return mark;
    }
    let href = (!href.is_empty()).then_some(href);
    html! { g data-says=(says) data-x=(px(x)) data-y=(px(y)) data-href=[href] { (mark) } }
}

/// A coordinate, to a hundredth of a pixel. What is not a number has no place: zero, so that a
/// picture stays a picture.
pub(crate) fn px(value: f64) -> String {
    let hundredths = (value * 100.0).round();
    if !hundredths.is_finite() || hundredths == 0.0 {
        return "0".to_owned();
    }
    (hundredths / 100.0).to_string()
}

/// Text without the characters that a file in XML may not carry.
pub(crate) fn plain(text: &str) -> String {
    text.chars().filter(|c| !c.is_control() && !matches!(c, '\u{fffe}' | '\u{ffff}')).collect()
}

/// A figure as it is printed: with a real minus sign, every digit that was given.
pub(crate) fn figure(value: Decimal) -> String {
    value.to_string().replace('-', "\u{2212}")
}

/// A figure with its unit, never parted at a line's end.
pub(crate) fn quantity(value: Decimal, unit: &str) -> String {
    if unit.is_empty() { figure(value) } else { format!("{}\u{a0}{unit}", figure(value)) }
}

/// For geometry only; a figure that is read is never made from this.
pub(crate) fn float(value: Decimal) -> f64 {
    value.to_f64().filter(|float| float.is_finite()).unwrap_or(0.0)
}

/// How far `to` lies above `from`. Exact before it becomes a float, so that two large figures
/// that differ in their last digit are still apart.
pub(crate) fn distance(from: Decimal, to: Decimal) -> f64 {
    to.checked_sub(from).map_or_else(|| float(to) - float(from), float)
}

/// How wide a text will be, in pixels, at most.
pub(crate) fn width_of(text: &str, size: f64) -> f64 {
    text.chars().count() as f64 * size * LETTER
}

/// The size at which a text fits a width, if `size` is too large for it.
pub(crate) fn fit(text: &str, size: f64, width: f64) -> f64 {
    let wide = width_of(text, size);
    if wide > width { size * width / wide } else { size }
}

/// Words, by the place of their baseline.
pub(crate) fn text(
    (x, y): (f64, f64),
    size: f64,
    anchor: &str,
    weight: u16,
    colour: Colour,
    words: &str,
) -> Markup {
    html! {
        text x=(px(x)) y=(px(y)) font-size=(px(size)) font-weight=(weight) text-anchor=(anchor)
            class={ "fill-" (colour.name()) } fill=(colour.hex()) { (plain(words)) }
    }
}

/// A straight stroke.
pub(crate) fn line(
    (x1, y1): (f64, f64),
    (x2, y2): (f64, f64),
    width: f64,
    colour: Colour,
) -> Markup {
    path(&format!("M{} {}L{} {}", px(x1), px(y1), px(x2), px(y2)), width, colour)
}

/// A stroke along a path.
pub(crate) fn path(d: &str, width: f64, colour: Colour) -> Markup {
    html! {
        path d=(d) fill="none" stroke-width=(px(width)) stroke-linecap="round"
            stroke-linejoin="round" class={ "stroke-" (colour.name()) } stroke=(colour.hex()) {}
    }
}

/// A filled shape.
pub(crate) fn shape(d: &str, colour: Colour) -> Markup {
    html! { path d=(d) class={ "fill-" (colour.name()) } fill=(colour.hex()) {} }
}

/// A filled disc.
pub(crate) fn disc((x, y): (f64, f64), r: f64, colour: Colour) -> Markup {
    html! {
        circle cx=(px(x)) cy=(px(y)) r=(px(r))
            class={ "fill-" (colour.name()) } fill=(colour.hex()) {}
    }
}

/// A circle's line.
pub(crate) fn ring((x, y): (f64, f64), r: f64, width: f64, colour: Colour) -> Markup {
    html! {
        circle cx=(px(x)) cy=(px(y)) r=(px(r)) fill="none" stroke-width=(px(width))
            class={ "stroke-" (colour.name()) } stroke=(colour.hex()) {}
    }
}

/// A rectangle from one corner to the other.
pub(crate) fn rect((x1, y1): (f64, f64), (x2, y2): (f64, f64), colour: Colour) -> Markup {
    html! {
        rect x=(px(x1)) y=(px(y1)) width=(px((x2 - x1).max(0.0))) height=(px((y2 - y1).max(0.0)))
            class={ "fill-" (colour.name()) } fill=(colour.hex()) {}
    }
}

/// The path of slanting strokes that fill a rectangle: reads as "not quite" in any print, and
/// needs no pattern with a name that another drawing on the page could also use.
pub(crate) fn hatch((x1, y1): (f64, f64), (x2, y2): (f64, f64), step: f64) -> String {
    let height = y2 - y1;
    let mut d = String::new();
    let mut foot = x1 - height + step / 2.0;
    // A stroke climbs from its foot on the lower edge to the right; both ends are cut at the sides.
    while foot < x2 {
        let from = foot.max(x1);
        let to = (foot + height).min(x2);
        if to > from {
            let (from_y, to_y) = (y2 - (from - foot), y2 - (to - foot));
            d += &format!("M{} {}L{} {}", px(from), px(from_y), px(to), px(to_y));
        }
        foot += step;
    }
    d
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn coordinates_are_short_and_never_nonsense() {
        assert_eq!(px(12.0), "12");
        assert_eq!(px(0.1 + 0.2), "0.3");
        assert_eq!(px(-0.001), "0");
        assert_eq!(px(f64::NAN), "0");
        assert_eq!(px(f64::INFINITY), "0");
    }

    #[test]
    fn a_hatch_stays_in_its_rectangle() {
        let d = hatch((10.0, 20.0), (30.0, 32.0), 5.0);
        let numbers: Vec<f64> = d
            .split(['M', 'L', ' '])
            .filter(|n| !n.is_empty())
            .map(|n| n.parse().unwrap())
            .collect();
        assert!(numbers.len() >= 16, "{d}");
        for point in numbers.chunks(2) {
            assert!((10.0..=30.0).contains(&point[0]) && (20.0..=32.0).contains(&point[1]), "{d}");
        }
        assert_eq!(hatch((10.0, 0.0), (10.0, 9.0), 5.0), "");
    }

    #[test]
    fn large_figures_that_differ_in_the_last_digit_are_apart() {
        let large = Decimal::from_i128_with_scale(10_i128.pow(27), 0);
        assert_eq!(distance(large, large + Decimal::ONE), 1.0);
        assert!(distance(Decimal::MIN, Decimal::MAX).is_finite());
    }
}
