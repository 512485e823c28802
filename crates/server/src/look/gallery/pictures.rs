//! The pictures in their states.

use super::{milli, section};
use crate::look;
use maud::{Markup, html};
use stonewear_picture::{
    Clock, Curve, Event, EvidenceLine, GradingCurve, GradingPoint, JarWall, Level, Limits, Link,
    LinkState, Place, PlaceState, Plot, Point, PointMark, SeriesChart, Tier, ToleranceStrip,
};

pub(super) fn show() -> Markup {
    html! {
        (section("Jar wall", &look::jar_wall(&wall(), true)))
        (section("Tolerance strip", &html! {
            div.pair { @for strip in strips() { div.panel { (look::strip(&strip)) } } }
        }))
        (section("Evidence line", &html! {
            div.panel { (look::evidence_line(&evidence(false))) }
            div.panel { (look::evidence_line(&evidence(true))) }
        }))
        (section("Series chart", &html! { div.panel { (look::chart(&chart())) } }))
        (section("Plot", &html! { div.panel { (look::plot(&plot())) } }))
        (section("Grading curve", &html! { div.panel { (look::grading_curve(&curve())) } }))
    }
}

fn strips() -> Vec<ToleranceStrip> {
    let strip = |label: &str, unit: &str, limits: [Option<i64>; 2], value: Option<i64>| {
        let [lower, upper] = limits.map(|limit| limit.map(milli));
        ToleranceStrip {
            label: label.into(),
            unit: unit.into(),
            lower,
            upper,
            value: value.map(milli),
            ..ToleranceStrip::default()
        }
    };
    let mass = [Some(1_495_000), Some(1_505_000)];
    let mut edge = strip("Mass, in the guard band", "g", mass, Some(1_504_400));
    edge.guard = Some(milli(1000));
    edge.expanded_uncertainty = Some(milli(400));
    let mut inside = strip("Mass, inside", "g", mass, Some(1_499_200));
    inside.guard = Some(milli(1000));
    inside.expanded_uncertainty = Some(milli(400));
    vec![
        inside,
        edge,
        strip("Mass, just outside", "g", mass, Some(1_505_100)),
        strip("Mass, far outside", "g", mass, Some(1_720_000)),
        strip("Mass, nothing read yet", "g", mass, None),
        strip("Loss, an upper limit only", "%", [None, Some(18_000)], Some(14_200)),
        strip("Balance load, a lower limit only", "g", [Some(500_000), None], Some(431_000)),
        strip("Balls, exactly", "", [Some(12_000), Some(12_000)], Some(11_000)),
        strip("A reading without limits", "°C", [None, None], Some(21_300)),
    ]
}

fn wall() -> JarWall {
    let place = |number: &str, specimen: &str, turned: i64, state: PlaceState| Place {
        number: number.into(),
        specimen: Some(specimen.into()),
        jar: Some(format!("J{number}")),
        turned: Some(turned.into()),
        wanted: Some(12_000.into()),
        state,
        ..Place::default()
    };
    let clock = Clock {
        started_at: "2031-03-04T12:15:00Z".into(),
        rpm: 100.into(),
        turned_before: 0.into(),
    };
    let turning = |number: &str, specimen: &str| Place {
        done_at: Some("14:15".into()),
        clock: Some(clock.clone()),
        ..place(number, specimen, 6500, PlaceState::Turning)
    };
    let done = Place {
        done_at: Some("12:02".into()),
        ..place("5", "S31-040-2", 12_000, PlaceState::Done)
    };
    JarWall {
        apparatus: "MILL-1, invented jar mill".into(),
        tiers: vec![
            Tier {
                name: "Upper tier".into(),
                places: vec![
                    turning("1", "S31-042-1"),
                    turning("2", "S31-042-2"),
                    Place { number: "3".into(), ..Place::default() },
                ],
            },
            Tier {
                name: "Lower tier".into(),
                places: vec![
                    place("4", "S31-039-1", 3120, PlaceState::Stopped),
                    done,
                    Place { number: "6".into(), state: PlaceState::Held, ..Place::default() },
                ],
            },
        ],
    }
}

fn evidence(is_broken: bool) -> EvidenceLine {
    let link = |kind: &str, code: &str, name: &str, since: &str| Link {
        kind: kind.into(),
        code: code.into(),
        name: name.into(),
        href: Some("#main".into()),
        since: Some(since.into()),
        ..Link::default()
    };
    let proved = |kind: &str, code: &str, name: &str, since: &str, until: &str| Link {
        until: Some(until.into()),
        state: LinkState::Proved,
        ..link(kind, code, name, since)
    };
    let balance = if is_broken {
        Link {
            state: LinkState::NotProved,
            until: None,
            note: "Its last check was for the time until 12 February.".into(),
            ..link("Balance", "BAL-2", "bench balance", "13 February")
        }
    } else {
        proved("Balance", "BAL-2", "bench balance", "2 February", "2 August")
    };
    EvidenceLine {
        label: if is_broken {
            "What result R-119 stands on"
        } else {
            "What result R-118 stands on"
        }
        .into(),
        links: vec![
            link("Result", if is_broken { "R-119" } else { "R-118" }, "loss 14.2 %", "4 March"),
            link("Specimen", "S31-042-1", "grading 9.5 to 19 mm", "3 March"),
            link("Run", "RUN-77", "12000 revolutions", "4 March"),
            proved("Jar", "J1", "", "10 January", "10 July"),
            Link {
                state: LinkState::ExpiresSoon,
                ..proved("Ball charge", "CH-1", "5000 g", "12 December", "12 March")
            },
            proved("Apparatus", "MILL-1", "jar mill", "8 January", "8 January 2032"),
            balance,
            link("Person", "IB", "Ines Brandt", "4 March"),
        ],
    }
}

fn plot() -> Plot {
    let points =
        vec![(0.0, 5003.1), (12.0, 5001.9), (24.0, 5000.6), (36.0, 4999.2), (48.0, 4998.1)];
    Plot {
        title: "Mass of ball charge CH-1, invented".into(),
        description: "five weighings; the line falls by 0.104 g in a thousand revolutions".into(),
        x_label: "thousand revolutions".into(),
        y_label: "mass, g".into(),
        curves: vec![Curve {
            name: "fitted line".into(),
            points: vec![(0.0, 5003.1), (48.0, 4998.1)],
        }],
        levels: vec![Level { name: "least mass".into(), y: 4995.0 }],
        points,
        ..Plot::default()
    }
}

fn curve() -> GradingCurve {
    let points = [
        (4_750, 4_000),
        (9_500, 31_000),
        (12_500, 58_000),
        (16_000, 84_000),
        (19_000, 97_000),
        (25_000, 100_000),
    ];
    GradingCurve {
        title: "Sieve analysis of S31-004, invented".into(),
        points: points
            .map(|(opening, passing)| GradingPoint {
                opening_mm: milli(opening),
                passing_percent: milli(passing),
            })
            .to_vec(),
        nominal_maximum_mm: Some(milli(19_000)),
    }
}

fn chart() -> SeriesChart {
    let values = [
        14.4, 14.9, 14.1, 14.6, 15.0, 14.3, 14.5, 13.9, 14.8, 15.1, 15.2, 15.6, 16.9, 14.4, 14.7,
        14.2,
    ];
    let points = (0_i64..).zip(values).map(|(week, value)| Point {
        at: week * 7,
        when: format!("wk {}", week + 1),
        says: format!("week {}: {value} %", week + 1),
        href: String::new(),
        value,
        signal: match week {
            11 => Some("two of three beyond warning".into()),
            12 => Some("beyond action".into()),
            _ => None,
        },
        mark: if week < 8 { PointMark::Ring } else { PointMark::Whole },
    });
    SeriesChart {
        title: "Loss of reference aggregate RA-1, invented".into(),
        unit: "loss, %".into(),
        points: points.collect(),
        centre: Some(14.5),
        warning: Some(Limits { lower: 13.5, upper: 15.5 }),
        action: Some(Limits { lower: 13.0, upper: 16.0 }),
        events: vec![
            Event { at: 31, name: "new lot".into() },
            Event { at: 86, name: "charge replaced".into() },
        ],
    }
}
