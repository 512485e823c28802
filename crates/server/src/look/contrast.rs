//! The colours of the stylesheet, held to their contrast by computing it.

use std::collections::BTreeMap;
use stonewear_picture::Colour;

const CSS: &str = include_str!("../../assets/stonewear.css");

/// Every `--name: light-dark(#light, #dark)`.
fn tokens() -> BTreeMap<&'static str, [&'static str; 2]> {
    CSS.lines()
        .filter_map(|line| {
            let (name, value) = line.trim().strip_prefix("--")?.split_once(": light-dark(")?;
            let (light, dark) = value.strip_suffix(");")?.split_once(", ")?;
            Some((name, [light, dark]))
        })
        .collect()
}

/// Relative luminance of an sRGB colour (WCAG 2.2).
fn luminance(hex: &str) -> f64 {
    let channel = |from: usize| {
        let level = f64::from(u8::from_str_radix(&hex[from..from + 2], 16).unwrap()) / 255.0;
        if level <= 0.04045 { level / 12.92 } else { ((level + 0.055) / 1.055).powf(2.4) }
    };
    0.2126 * channel(1) + 0.7152 * channel(3) + 0.0722 * channel(5)
}

fn contrast(a: &str, b: &str) -> f64 {
    let (a, b) = (luminance(a), luminance(b));
    (a.max(b) + 0.05) / (a.min(b) + 0.05)
}

#[test]
fn the_measure_is_the_published_one() {
    assert!((contrast("#000000", "#ffffff") - 21.0).abs() < 1e-9);
    assert!((contrast("#777777", "#ffffff") - 4.48).abs() < 0.005);
}

#[test]
fn words_can_be_read_and_controls_can_be_seen() {
    let grounds = ["ground", "surface"];
    let mut pairs: Vec<(&str, &str, f64)> = Vec::new();
    for ground in grounds {
        for text in ["ink", "quiet", "accent", "good", "edge", "bad"] {
            pairs.push((text, ground, 4.5));
        }
        pairs.push(("control", ground, 3.0));
    }
    for (text, ground) in [
        ("on-accent", "accent"),
        ("quiet", "sunken"),
        ("ink", "edge-pale"),
        ("quiet", "edge-pale"),
        ("edge", "edge-pale"),
        ("ink", "bad-pale"),
        ("quiet", "bad-pale"),
        ("accent", "bad-pale"),
        ("bad", "bad-pale"),
    ] {
        pairs.push((text, ground, 4.5));
    }
    // Marks and rings on their bands and tracks.
    for (shape, ground) in [
        ("good", "good-pale"),
        ("edge", "good-pale"),
        ("ink", "good-pale"),
        ("accent", "sunken"),
        ("good", "sunken"),
        ("edge", "sunken"),
        ("bad", "sunken"),
    ] {
        pairs.push((shape, ground, 3.0));
    }
    let tokens = tokens();
    let mut weak = Vec::new();
    for (front, back, least) in pairs {
        for (theme, name) in ["light", "dark"].iter().enumerate() {
            let found = contrast(tokens[front][theme], tokens[back][theme]);
            if found < least {
                weak.push(format!("{front} on {back}, {name}: {found:.2} < {least}"));
            }
        }
    }
    assert!(weak.is_empty(), "{weak:#?}");
}

#[test]
fn a_drawing_alone_has_the_colours_of_the_light_theme() {
    let tokens = tokens();
    for colour in Colour::ALL {
        let name = colour.name();
        assert_eq!(tokens[name][0], colour.hex(), "{name}");
        for property in ["fill", "stroke"] {
            let rule = format!(".{property}-{name} {{ {property}: var(--{name}); }}");
            assert!(CSS.contains(&rule), "{rule}");
        }
    }
}
