//! Colours, and how the sections are told apart without them.
//!
//! Series colours: M. Okabe and K. Ito, "Color Universal Design" (2002, revised
//! 2008), <https://jfly.uni-koeln.de/color/>. On each ground only those are used
//! whose contrast is at least 3:1 (WCAG 2.2, criterion 1.4.11).

use plotters::style::RGBColor;
use serde::{Deserialize, Serialize};

/// Which ground the figure is drawn on.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Theme {
    /// Dark ink on light paper; also what is printed.
    #[default]
    Light,
    /// Light ink on a dark ground.
    Dark,
    /// Two colours that the user's system forces.
    Forced {
        /// Background.
        ground: [u8; 3],
        /// Everything else.
        ink: [u8; 3],
    },
}

/// Every colour of a figure.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Palette {
    /// Background.
    pub ground: RGBColor,
    /// Letters, frame, cursor and the rings of marked points.
    pub ink: RGBColor,
    /// Heavier ruling, at the figures on the axes.
    pub ruling: RGBColor,
    /// Finer ruling between them.
    pub fine: RGBColor,
    /// Sections, in order.
    pub series: [RGBColor; 4],
    /// The band under marked points; the ring is what tells, the band helps.
    pub band: RGBColor,
}

const SKY_BLUE: RGBColor = RGBColor(0x56, 0xB4, 0xE9);
const BLUE: RGBColor = RGBColor(0x00, 0x72, 0xB2);
const ORANGE: RGBColor = RGBColor(0xE6, 0x9F, 0x00);
const VERMILION: RGBColor = RGBColor(0xD5, 0x5E, 0x00);
const GREEN: RGBColor = RGBColor(0x00, 0x9E, 0x73);
const PURPLE: RGBColor = RGBColor(0xCC, 0x79, 0xA7);
const YELLOW: RGBColor = RGBColor(0xF0, 0xE4, 0x42);
const BLACK: RGBColor = RGBColor(0, 0, 0);

impl Theme {
    /// The colours of this theme.
    pub fn palette(self) -> Palette {
        match self {
            Self::Light => Palette {
                ground: RGBColor(0xFC, 0xFE, 0xFC),
                ink: RGBColor(0x16, 0x21, 0x1C),
                ruling: RGBColor(0xB7, 0xD3, 0xC2),
                fine: RGBColor(0xE1, 0xEE, 0xE6),
                series: [BLUE, VERMILION, GREEN, BLACK],
                band: ORANGE,
            },
            Self::Dark => Palette {
                ground: RGBColor(0x12, 0x1A, 0x17),
                ink: RGBColor(0xE4, 0xEC, 0xE7),
                ruling: RGBColor(0x35, 0x4A, 0x40),
                fine: RGBColor(0x1E, 0x2B, 0x25),
                series: [SKY_BLUE, ORANGE, GREEN, PURPLE],
                band: YELLOW,
            },
            Self::Forced { ground, ink } => {
                let colour = |[r, g, b]: [u8; 3]| RGBColor(r, g, b);
                let (ground, ink) = (colour(ground), colour(ink));
                let faint = mix(ground, ink, 0.25);
                Palette { ground, ink, ruling: faint, fine: mix(ground, ink, 0.1), series: [ink; 4], band: faint }
            }
        }
    }
}

fn mix(a: RGBColor, b: RGBColor, share: f64) -> RGBColor {
    let one = |a: u8, b: u8| (f64::from(a) + share * (f64::from(b) - f64::from(a))).round() as u8;
    RGBColor(one(a.0, b.0), one(a.1, b.1), one(a.2, b.2))
}

/// The shape that marks a section's points.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Shape {
    /// A filled disc.
    Disc,
    /// An open square.
    Square,
    /// A filled triangle.
    Triangle,
    /// An open diamond.
    Diamond,
}

/// How a section is told apart: colour, shape and line.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Style {
    /// Place in [`Palette::series`].
    pub colour: usize,
    /// Shape of its points.
    pub shape: Shape,
    /// Dash and gap, CSS pixels; `None` for an unbroken line.
    pub dash: Option<(f64, f64)>,
}

/// The styles, in the order of the sections; a fifth section starts over.
pub const STYLES: [Style; 4] = [
    Style { colour: 0, shape: Shape::Disc, dash: None },
    Style { colour: 1, shape: Shape::Square, dash: Some((7.0, 4.0)) },
    Style { colour: 2, shape: Shape::Triangle, dash: Some((2.0, 3.0)) },
    Style { colour: 3, shape: Shape::Diamond, dash: Some((12.0, 4.0)) },
];

impl Style {
    /// The style of a section.
    pub fn of(section: usize) -> Self {
        STYLES[section % STYLES.len()]
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Contrast of two colours (WCAG 2.2, relative luminance and contrast ratio).
    fn contrast(a: RGBColor, b: RGBColor) -> f64 {
        let linear = |c: u8| {
            let c = f64::from(c) / 255.0;
            if c <= 0.04045 { c / 12.92 } else { libm::pow((c + 0.055) / 1.055, 2.4) }
        };
        let luminance = |c: RGBColor| 0.2126 * linear(c.0) + 0.7152 * linear(c.1) + 0.0722 * linear(c.2);
        let (a, b) = (luminance(a) + 0.05, luminance(b) + 0.05);
        if a > b { a / b } else { b / a }
    }

    #[test]
    fn the_contrast_formula_gives_the_known_ends() {
        assert!((contrast(BLACK, RGBColor(255, 255, 255)) - 21.0).abs() < 1e-9);
    }

    #[test]
    fn series_stand_out_at_three_to_one_and_letters_at_seven() {
        for theme in [Theme::Light, Theme::Dark] {
            let p = theme.palette();
            for colour in p.series {
                let got = contrast(colour, p.ground);
                assert!(got >= 3.0, "{theme:?}: {colour:?} has {got:.2}");
            }
            assert!(contrast(p.ink, p.ground) >= 7.0);
        }
    }

    #[test]
    fn no_two_sections_share_a_shape_or_a_dash() {
        for (i, a) in STYLES.iter().enumerate() {
            for b in &STYLES[i + 1..] {
                assert!(a.shape != b.shape && a.dash != b.dash && a.colour != b.colour);
            }
        }
    }
}
