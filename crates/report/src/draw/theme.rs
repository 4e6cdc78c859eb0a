//! Pictures that follow the light and the dark scheme of a page.
//!
//! In a page each colour is a variable that falls back on the colour itself; the dark scheme sets the variables to
//! counterparts of turned lightness. What stood out from white paper stands out as much from dark paper, in the same hue, so
//! that keys and captions stay true.

use std::collections::BTreeSet;
use std::fmt::Write;

use crate::draw::colour::Colour;
use crate::draw::look::PAPER;

/// Lightness of dark paper, and of what was black.
const DARK: [f64; 2] = [0.21, 1.0];

/// `--paper` of the page's dark scheme.
const DARK_PAPER: Colour = Colour(0x14, 0x18, 0x1f);
/// Dark inks, which letters have, come out lighter than by a straight line.
const LIFT: f64 = 0.8;

/// The counterpart of a colour on dark paper.
pub fn dark(colour: Colour) -> Colour {
    // The page's own, so that nothing of a picture's paper shows on it.
    if colour == PAPER {
        return DARK_PAPER;
    }
    let [l, a, b] = colour.lab();
    Colour::from_lab([DARK[0] + (DARK[1] - DARK[0]) * (1.0 - l).max(0.0).powf(LIFT), a, b])
}

/// Markup with each colour of an attribute as a variable: `fill="#1b2230"` is `fill="var(--1b2230,#1b2230)"`.
pub fn follow(svg: &str) -> String {
    let mut out = String::with_capacity(svg.len() + svg.len() / 4);
    let mut parts = svg.split("=\"#");
    out += parts.next().unwrap_or_default();
    for part in parts {
        match part.get(..6).filter(|hex| hex.bytes().all(|b| b.is_ascii_hexdigit())) {
            Some(hex) => {
                // Writing to a String can't fail.
                let _ = write!(out, "=\"var(--{hex},#{hex}){}", &part[6..]);
            }
            None => {
                out += "=\"#";
                out += part;
            }
        }
    }
    out
}

/// What the dark scheme sets: each variable that the markup has, with its counterpart.
pub fn rules(markup: &str) -> String {
    let named = markup.split("var(--").skip(1).filter_map(|rest| rest.get(..6));
    let all: BTreeSet<&str> = named.collect();
    let mut out = String::new();
    for hex in all {
        if let Ok(value) = u32::from_str_radix(hex, 16) {
            let [_, r, g, b] = value.to_be_bytes();
            let _ = write!(out, "--{hex}:{};", dark(Colour(r, g, b)).hex());
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::draw::look::{ACCENT_TEXT, BAND, GRID, INK, INK_SOFT, SERIES};

    #[test]
    fn closed_form_colours_are_variables_with_a_dark_value_each() {
        let svg = follow("<path fill=\"#1b2230\" d=\"M0 0\"/><a href=\"#main\" fill=\"#ffffff\"/>");
        assert_eq!(
            svg,
            "<path fill=\"var(--1b2230,#1b2230)\" d=\"M0 0\"/><a href=\"#main\" fill=\"var(--ffffff,#ffffff)\"/>"
        );
        let rules = rules(&svg);
        assert!(rules.starts_with("--1b2230:#") && rules.matches(':').count() == 2, "{rules}");
    }

    #[test]
    fn property_what_can_be_read_on_white_can_be_read_on_dark() {
        let paper = dark(PAPER);
        assert!(include_str!("../page/page.css").contains(&format!("--paper: {}", paper.hex())));
        for (text, least) in [(INK, 7.0), (INK_SOFT, 4.5), (ACCENT_TEXT, 4.5)] {
            for under in [PAPER, BAND] {
                assert!(dark(text).contrast(dark(under)) >= least, "{text:?} {}", dark(text).contrast(dark(under)));
            }
        }
        for colour in SERIES {
            assert!(dark(colour).contrast(paper) > 1.8, "{colour:?} {}", dark(colour).contrast(paper));
        }
        assert!(dark(GRID).contrast(paper) < 2.0);
    }
}
