//! The few colours that pictures are drawn in, by what they are for.

/// A colour by its purpose. Its attribute value is the light theme's; the classes `fill-NAME` and
/// `stroke-NAME` let a stylesheet replace it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Colour {
    /// Figures and marks that must be read.
    Ink,
    /// Words beside the figures.
    Quiet,
    /// Frames and lines that only lead the eye.
    Line,
    /// What lies behind a drawing, where a shape must cover another.
    Surface,
    /// The empty part of a ring, a place without a jar.
    Sunken,
    /// What is being done now.
    Accent,
    /// Holds, is within, is done.
    Good,
    /// A zone in which values are good.
    GoodPale,
    /// Holds, but only just or not for long.
    Edge,
    /// Does not hold.
    Bad,
}

impl Colour {
    /// All colours, for a stylesheet to be checked against.
    pub const ALL: [Self; 10] = [
        Self::Ink,
        Self::Quiet,
        Self::Line,
        Self::Surface,
        Self::Sunken,
        Self::Accent,
        Self::Good,
        Self::GoodPale,
        Self::Edge,
        Self::Bad,
    ];

    /// The name that the classes and the stylesheet's custom property (`--NAME`) end in.
    pub fn name(self) -> &'static str {
        match self {
            Self::Ink => "ink",
            Self::Quiet => "quiet",
            Self::Line => "line",
            Self::Surface => "surface",
            Self::Sunken => "sunken",
            Self::Accent => "accent",
            Self::Good => "good",
            Self::GoodPale => "good-pale",
            Self::Edge => "edge",
            Self::Bad => "bad",
        }
    }

    /// The colour where no stylesheet says otherwise: the light theme, as `#rrggbb`.
    pub fn hex(self) -> &'static str {
        match self {
            Self::Ink => "#23292d",
            Self::Quiet => "#535a5d",
            Self::Line => "#c9c1b1",
            Self::Surface => "#fdfbf7",
            Self::Sunken => "#e8e2d6",
            Self::Accent => "#1f5078",
            Self::Good => "#2f6537",
            Self::GoodPale => "#dce6d3",
            Self::Edge => "#805207",
            Self::Bad => "#a02f20",
        }
    }
}
