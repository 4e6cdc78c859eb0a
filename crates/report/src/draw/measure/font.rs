//! The embedded typeface: measuring text, its glyphs as outlines, and the part of it that pages and SVG files carry.
//!
//! Pictures are set in Source Sans 3 (SIL Open Font License, `fonts/OFL.txt`), so that the width of every label is known
//! while it is being placed. A page and an SVG file bring the letters in use along; pixels are made from outlines.

use std::fmt::Write;
use std::sync::OnceLock;

use base64::Engine;
use ttf_parser::gpos::{PairAdjustment, PositioningSubtable};
use ttf_parser::{Face as Parsed, GlyphId, OutlineBuilder, Tag};

/// One of the two weights in use.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Face {
    /// For everything.
    Regular,
    /// For titles and what should be seen first.
    Semibold,
}

#[cfg(not(target_arch = "wasm32"))]
const REGULAR_TTF: &[u8] = include_bytes!("../../../fonts/SourceSans3-Regular.ttf");
#[cfg(not(target_arch = "wasm32"))]
const SEMIBOLD_TTF: &[u8] = include_bytes!("../../../fonts/SourceSans3-SemiBold.ttf");
// A page's module only measures text, which the page's own faces show.
#[cfg(target_arch = "wasm32")]
const REGULAR_TTF: &[u8] = include_bytes!("../../../fonts/UnladenSans-Regular.metrics.ttf");
#[cfg(target_arch = "wasm32")]
const SEMIBOLD_TTF: &[u8] = include_bytes!("../../../fonts/UnladenSans-SemiBold.metrics.ttf");

/// Units of the em square of both faces.
const EM: f64 = 1000.0;

impl Face {
    fn parsed(self) -> &'static Parsed<'static> {
        static REGULAR: OnceLock<Parsed<'static>> = OnceLock::new();
        static SEMIBOLD: OnceLock<Parsed<'static>> = OnceLock::new();
        let (cell, bytes): (_, &'static [u8]) = match self {
            Face::Regular => (&REGULAR, REGULAR_TTF),
            Face::Semibold => (&SEMIBOLD, SEMIBOLD_TTF),
        };
        cell.get_or_init(|| Parsed::parse(bytes, 0).expect("an embedded font, parsed by a test"))
    }

    /// The `@font-face` rule of its letters in use, the letters in it.
    pub fn rule(self) -> String {
        let (weight, bytes): (_, &[u8]) = match self {
            Face::Regular => (400, include_bytes!("../../../fonts/UnladenSans-Regular.woff2")),
            Face::Semibold => (600, include_bytes!("../../../fonts/UnladenSans-SemiBold.woff2")),
        };
        let data = base64::engine::general_purpose::STANDARD.encode(bytes);
        format!(
            "@font-face{{font-family:\"Unladen Sans\";font-weight:{weight};src:url(data:font/woff2;base64,{data}) format(\"woff2\")}}"
        )
    }

    /// The glyphs of a line of text and where each begins, in font units; then the width of it all.
    pub fn layout(self, text: &str) -> (Vec<(u16, f64)>, f64) {
        let face = self.parsed();
        let mut at = 0.0;
        let mut before = None;
        let mut glyphs = Vec::new();
        for c in text.chars() {
            let c = if c.is_control() { ' ' } else { c };
            let glyph = face.glyph_index(c).unwrap_or(GlyphId(0));
            if let Some(left) = before {
                at += kern(face, left, glyph);
            }
            glyphs.push((glyph.0, at));
            at += f64::from(face.glyph_hor_advance(glyph).unwrap_or(0));
            before = Some(glyph);
        }
        (glyphs, at)
    }

    /// Width of a line of text at `size`, both in the same unit.
    pub fn width(self, text: &str, size: f64) -> f64 {
        self.layout(text).1 * size / EM
    }

    /// The text if it is no wider than `most`, else its beginning and an ellipsis.
    pub fn fit(self, text: &str, size: f64, most: f64) -> String {
        let (glyphs, width) = self.layout(text);
        let scale = Face::scale(size);
        if width * scale <= most {
            return text.to_owned();
        }
        // Glyphs that begin beyond the end are out at once; the rest goes one by one until the ellipsis fits.
        let begun = glyphs.iter().take_while(|(_, at)| at * scale <= most).count();
        let mut kept: Vec<char> = text.chars().take(begun).collect();
        while kept.pop().is_some() {
            let short = format!("{}…", kept.iter().collect::<String>().trim_end_matches([' ', ',', '-', '(']));
            if self.width(&short, size) <= most {
                return short;
            }
        }
        String::new()
    }

    /// The text in lines no wider than `most`, at most `lines` of them; what doesn't fit ends in an ellipsis.
    pub fn wrap(self, text: &str, size: f64, most: f64, lines: usize) -> Vec<String> {
        let mut out: Vec<String> = Vec::new();
        let mut line = String::new();
        let mut words = text.split_whitespace().peekable();
        while let Some(word) = words.peek() {
            let longer = if line.is_empty() { (*word).to_owned() } else { format!("{line} {word}") };
            if self.width(&longer, size) <= most || line.is_empty() {
                line = longer;
                words.next();
            } else if out.len() + 1 < lines {
                out.push(std::mem::take(&mut line));
            } else {
                for word in words {
                    line = format!("{line} {word}");
                }
                break;
            }
        }
        out.push(line);
        out.into_iter().map(|line| self.fit(&line, size, most)).collect()
    }

    /// A glyph as SVG path data in font units, y down; empty for a blank.
    pub fn outline(self, glyph: u16) -> String {
        let mut path = Path(String::new());
        self.parsed().outline_glyph(GlyphId(glyph), &mut path);
        path.0
    }

    /// Scale from font units to `size`.
    pub fn scale(size: f64) -> f64 {
        size / EM
    }
}

/// Kerning of two glyphs, font units: the first `kern` lookup subtable that covers the pair.
fn kern(face: &Parsed, left: GlyphId, right: GlyphId) -> f64 {
    kern_pair(face, left, right).map_or(0.0, f64::from)
}

fn kern_pair(face: &Parsed, left: GlyphId, right: GlyphId) -> Option<i16> {
    let gpos = face.tables().gpos?;
    let feature = gpos.features.find(Tag::from_bytes(b"kern"))?;
    let lookups = feature.lookup_indices.into_iter().filter_map(|i| gpos.lookups.get(i));
    for subtable in lookups.flat_map(|l| l.subtables.into_iter::<PositioningSubtable>()) {
        match subtable {
            PositioningSubtable::Pair(PairAdjustment::Format1 { coverage, sets }) => {
                let pair = coverage.get(left).and_then(|i| sets.get(i)).and_then(|set| set.get(right));
                if let Some((first, _)) = pair {
                    return Some(first.x_advance);
                }
            }
            PositioningSubtable::Pair(PairAdjustment::Format2 { coverage, classes, matrix })
                if coverage.get(left).is_some() =>
            {
                let pair = matrix.get((classes.0.get(left), classes.1.get(right)));
                return pair.map(|(first, _)| first.x_advance);
            }
            _ => {}
        }
    }
    None
}

/// Collects an outline as path data; y is turned to point down.
struct Path(String);

impl Path {
    fn add(&mut self, letter: char, numbers: &[f32]) {
        self.0.push(letter);
        for (i, pair) in numbers.chunks(2).enumerate() {
            let gap = if i == 0 { "" } else { " " };
            // Writing to a String can't fail.
            let _ = write!(self.0, "{gap}{} {}", pair[0].round() as i32, (-pair[1]).round() as i32);
        }
    }
}

impl OutlineBuilder for Path {
    fn move_to(&mut self, x: f32, y: f32) {
        self.add('M', &[x, y]);
    }
    fn line_to(&mut self, x: f32, y: f32) {
        self.add('L', &[x, y]);
    }
    fn quad_to(&mut self, x1: f32, y1: f32, x: f32, y: f32) {
        self.add('Q', &[x1, y1, x, y]);
    }
    fn curve_to(&mut self, x1: f32, y1: f32, x2: f32, y2: f32, x: f32, y: f32) {
        self.add('C', &[x1, y1, x2, y2, x, y]);
    }
    fn close(&mut self) {
        self.0.push('Z');
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn property_faces_parse_with_the_em_and_the_signs_in_use() {
        for face in [Face::Regular, Face::Semibold] {
            assert_eq!(f64::from(face.parsed().units_per_em()), EM);
            for c in "0123456789−±·²→×…°∂ΔµäøçłЖΩ’“".chars() {
                assert!(face.parsed().glyph_index(c).is_some(), "{face:?} lacks {c}");
            }
        }
    }

    #[test]
    fn property_figures_are_of_one_width_and_av_is_kerned() {
        let widths: Vec<_> = ('0'..='9').map(|d| Face::Regular.width(&d.to_string(), 10.0)).collect();
        assert!(widths.iter().all(|w| (w - widths[0]).abs() < 1e-12));
        let apart = Face::Regular.width("A", 10.0) + Face::Regular.width("V", 10.0);
        assert!(Face::Regular.width("AV", 10.0) < apart - 0.1);
    }

    #[test]
    fn property_fitted_text_is_no_wider_than_asked() {
        let long = "The very long corner behind the old airfield tower";
        for most in [0.0, 5.0, 40.0, 120.0, 1e4] {
            assert!(Face::Semibold.width(&Face::Semibold.fit(long, 12.0, most), 12.0) <= most);
            let lines = Face::Regular.wrap(long, 12.0, most, 2);
            assert!(lines.len() <= 2 && lines.iter().all(|l| Face::Regular.width(l, 12.0) <= most));
        }
        assert_eq!(Face::Regular.fit(long, 12.0, 1e4), long);
        assert_eq!(Face::Regular.wrap(long, 12.0, 180.0, 9).join(" "), long);
    }

    #[test]
    fn bad_input_unknown_and_control_characters_have_a_width() {
        assert!(Face::Regular.width("\u{4e2d}\u{0}\n\t", 10.0).is_finite());
        assert!(Face::Regular.outline(65535).is_empty());
        assert!(Face::Regular.outline(0).starts_with('M'));
    }
}
