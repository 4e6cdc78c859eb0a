//! The one look of every picture: colours, sizes and strokes.
//!
//! Few colours, each with a job; different in lightness too, so that grey print and colour-blind readers lose nothing;
//! and never colour alone: a lane, a label or a place says the same.

use unladen_lap::Limit;

use crate::draw::colour::{Colour, Lch, ramp};

/// Behind everything.
pub const PAPER: Colour = Colour(255, 255, 255);
/// Text and what matters most.
pub const INK: Colour = Colour(27, 34, 48);
/// Text of second rank.
pub const INK_SOFT: Colour = Colour(84, 94, 112);
/// Leaders, axis lines.
pub const RULE: Colour = Colour(168, 176, 189);
/// Grid.
pub const GRID: Colour = Colour(225, 229, 235);
/// Behind corners, and empty lanes.
pub const BAND: Colour = Colour(243, 245, 248);

/// What is pointed at in a chart of one curve.
pub const ACCENT: Colour = Colour(204, 92, 26);
/// The same for letters, dark enough to read.
pub const ACCENT_TEXT: Colour = Colour(168, 74, 16);

/// Several cars or laps in one chart: the first is the one compared with.
pub const SERIES: [Colour; 5] =
    [Colour(24, 52, 84), ACCENT, Colour(122, 184, 224), Colour(126, 62, 134), Colour(58, 146, 112)];

/// Size of the title, px.
pub const TITLE: f64 = 20.0;
/// Size of the line beneath it, px.
pub const SUBTITLE: f64 = 13.5;
/// Size of labels, px.
pub const LABEL: f64 = 12.5;
/// Size of figures at ticks and of crowded labels, px.
pub const SMALL: f64 = 11.0;
/// Margin round a picture in a file, px.
pub const MARGIN: f64 = 24.0;
/// Width of a picture in a file, px.
pub const WIDTH: f64 = 1000.0;

/// What a picture is drawn on: a picture is laid out for the width that it gets.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Paper {
    /// px.
    pub width: f64,
    /// Its title is drawn; in a page it stands above, as text.
    pub titled: bool,
}

impl Paper {
    /// A file of its own.
    pub const FILE: Paper = Paper { width: WIDTH, titled: true };
    /// Within a page, on a desk or on A4.
    pub const PAGE: Paper = Paper { width: WIDTH, titled: false };
    /// Within a page, on a phone.
    pub const PHONE: Paper = Paper { width: 340.0, titled: false };

    /// Too narrow for anything beside the picture: it goes beneath.
    pub fn narrow(self) -> bool {
        self.width < 0.6 * WIDTH
    }

    /// Free at either side, px.
    pub fn margin(self) -> f64 {
        if self.titled { MARGIN } else { 8.0 }
    }

    /// Right edge of what is drawn, px.
    pub fn right(self) -> f64 {
        self.width - self.margin()
    }

    /// One of two sizes: of a broad picture, of a narrow one.
    pub fn of<T>(self, broad: T, narrow: T) -> T {
        if self.narrow() { narrow } else { broad }
    }
}

/// A line's colour and width in px.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Stroke {
    /// Its colour.
    pub colour: Colour,
    /// Its width, px.
    pub width: f64,
}

/// A line's style in one word.
pub const fn stroke(colour: Colour, width: f64) -> Stroke {
    Stroke { colour, width }
}

/// From slow, dark and cool, to fast, light and warm; lightness rises steadily.
const SPEED: [Lch; 4] = [
    Lch { l: 0.30, c: 0.10, h: 272.0 },
    Lch { l: 0.48, c: 0.12, h: 330.0 },
    Lch { l: 0.66, c: 0.14, h: 38.0 },
    Lch { l: 0.86, c: 0.14, h: 88.0 },
];

/// Colour of a share of the speed range, 0 slowest to 1 fastest.
pub fn speed_colour(share: f64) -> Colour {
    ramp(&SPEED, share)
}

/// From much, dark, to little of what the second lap gains on the first, in the second one's hue, and loses, in the first
/// one's: as [`SERIES`] has them. The lost end is the darker one in grey print.
const GAINED: [Lch; 2] = [Lch { l: 0.60, c: 0.16, h: 50.0 }, Lch { l: 0.90, c: 0.05, h: 70.0 }];
const LOST: [Lch; 2] = [Lch { l: 0.36, c: 0.12, h: 256.0 }, Lch { l: 0.86, c: 0.04, h: 240.0 }];

/// Colour of a share of the range of gains: −1 most lost, 1 most gained.
pub fn gain_colour(share: f64) -> Colour {
    ramp(if share < 0.0 { &LOST } else { &GAINED }, 1.0 - share.abs())
}

/// What people call a limit.
pub fn limit_name(limit: Limit) -> &'static str {
    match limit {
        Limit::FrontGrip => "front grip",
        Limit::RearGrip => "rear grip",
        Limit::Braking => "braking",
        Limit::Power => "power",
        Limit::Shift => "shifting",
        Limit::TopSpeed => "top speed",
        Limit::AxleLift => "axle lift",
        Limit::Rollover => "rollover",
    }
}

/// The colour of a limit's lane.
pub fn limit_colour(limit: Limit) -> Colour {
    match limit {
        Limit::FrontGrip => Colour(33, 86, 140),
        Limit::RearGrip => Colour(206, 98, 44),
        Limit::Braking => Colour(118, 54, 108),
        Limit::Power => Colour(214, 166, 52),
        Limit::Shift => Colour(128, 134, 146),
        Limit::TopSpeed => Colour(58, 146, 128),
        Limit::AxleLift => Colour(27, 34, 48),
        Limit::Rollover => Colour(160, 28, 48),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::draw::colour::tests::{DEUTAN, PROTAN, dichromat, distance};

    #[test]
    fn property_text_can_be_read_on_paper() {
        for (text, least) in [(INK, 7.0), (INK_SOFT, 4.5), (ACCENT_TEXT, 4.5)] {
            for under in [PAPER, BAND] {
                assert!(text.contrast(under) >= least, "{text:?} on {under:?}");
            }
        }
    }

    #[test]
    fn property_the_speed_ramp_rises_in_grey_and_for_every_eye() {
        let ramp: Vec<_> = (0..=10).map(|i| speed_colour(f64::from(i) / 10.0)).collect();
        for eye in [None, Some(PROTAN), Some(DEUTAN)] {
            let seen: Vec<_> = ramp.iter().map(|c| eye.map_or(*c, |m| dichromat(*c, m))).collect();
            assert!(seen.windows(2).all(|w| w[1].lab()[0] > w[0].lab()[0] + 0.02), "{eye:?}");
            assert!(seen.windows(2).all(|w| distance(w[0], w[1]) > 0.04), "{eye:?}");
        }
    }

    #[test]
    fn property_gained_and_lost_differ_for_every_eye_and_darken_with_size() {
        for eye in [None, Some(PROTAN), Some(DEUTAN)] {
            let seen = |share: f64| eye.map_or(gain_colour(share), |m| dichromat(gain_colour(share), m));
            for share in [0.5, 0.75, 1.0] {
                assert!(distance(seen(share), seen(-share)) > 0.08, "{share} {eye:?}");
            }
            for sign in [1.0, -1.0] {
                let ramp: Vec<_> = (1..=6).map(|i| seen(sign * f64::from(i) / 6.0)).collect();
                assert!(ramp.windows(2).all(|w| w[1].luminance() < w[0].luminance()), "{sign} {eye:?}");
            }
        }
    }

    #[test]
    fn property_laps_differ_for_every_eye() {
        for eye in [None, Some(PROTAN), Some(DEUTAN)] {
            let seen: Vec<_> = SERIES.iter().map(|c| eye.map_or(*c, |m| dichromat(*c, m))).collect();
            for (i, a) in seen.iter().enumerate() {
                for b in &seen[..i] {
                    assert!(distance(*a, *b) > 0.08, "{a:?} {b:?} {eye:?} {}", distance(*a, *b));
                }
            }
        }
        // The first three, which are nearly all that is drawn, also in grey.
        for (a, b) in [(0, 1), (1, 2), (0, 2)] {
            assert!(SERIES[a].contrast(SERIES[b]) > 1.8, "{a} {b} {}", SERIES[a].contrast(SERIES[b]));
        }
    }

    #[test]
    fn property_every_limit_has_its_own_name_and_colour() {
        for (i, a) in Limit::ALL.iter().enumerate() {
            for b in &Limit::ALL[..i] {
                assert_ne!(limit_name(*a), limit_name(*b));
                assert!(distance(limit_colour(*a), limit_colour(*b)) > 0.08, "{a:?} {b:?}");
            }
        }
    }
}
