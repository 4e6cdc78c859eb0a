//! A small SVG writer: what a picture is made of.
//!
//! Coordinates are px with one decimal; paths go from point to point, which is half as long. A number that is not finite
//! never reaches the file: the canvas remembers it and [`Canvas::finish`] is an error. Parts are groups with a `data-part`,
//! so that a test can read a picture by its structure. Text is text, to be found, copied and translated; its width is said with it, so that it keeps its room where
//! another typeface must stand in.

use std::fmt::Write;

use crate::draw::colour::Colour;
use crate::draw::look::{self, Stroke};
use crate::draw::measure::font::Face;
use crate::draw::picture::{Picture, PlotError};
use crate::draw::thin::thinned;

/// A point on the canvas, px, y down.
pub type Point = (f64, f64);

/// Where a text's own point is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Anchor {
    /// At its beginning.
    Start,
    /// At its middle.
    Middle,
    /// At its end.
    End,
}

/// A line of text to draw.
#[derive(Clone, Copy, Debug)]
pub struct Text<'a> {
    /// The words.
    pub words: &'a str,
    /// Its point, on the base line.
    pub at: Point,
    /// What of it lies at that point.
    pub anchor: Anchor,
    /// Size, px.
    pub size: f64,
    /// Weight.
    pub face: Face,
    /// Colour.
    pub colour: Colour,
    /// Degrees turned, clockwise.
    pub angle: f64,
    /// Paper round the letters, where lines run behind.
    pub halo: bool,
}

/// A label of regular weight, upright, without halo: the usual start for a [`Text`].
pub fn label(words: &str, at: Point) -> Text<'_> {
    Text {
        words,
        at,
        anchor: Anchor::Start,
        size: look::LABEL,
        face: Face::Regular,
        colour: look::INK,
        angle: 0.0,
        halo: false,
    }
}

/// A label of second rank: smaller and softer.
pub fn small(words: &str, at: Point) -> Text<'_> {
    Text { size: look::SMALL, colour: look::INK_SOFT, ..label(words, at) }
}

/// The typefaces of a picture, the best first; a page and a file bring the first of them along.
const FACES: &str = "'Unladen Sans', 'Source Sans 3', 'Source Sans Pro', sans-serif";

/// Line spacing of notes, px.
pub const NOTE: f64 = 14.0;

/// How far below a height its text's base line is, for figures and capitals to be centred on it.
pub fn centred(size: f64) -> f64 {
    0.33 * size
}

/// A picture being drawn.
#[derive(Debug)]
pub struct Canvas {
    id: String,
    width: f64,
    height: f64,
    body: String,
    about: String,
    finite: bool,
}

impl Canvas {
    /// An empty one on paper; `id` begins every id in it, so that several can stand in one page.
    pub fn new(id: &str, width: f64, height: f64) -> Canvas {
        let id = id.chars().map(|c| if c.is_ascii_alphanumeric() { c } else { '-' }).collect();
        Canvas { id, width, height, body: String::new(), about: String::new(), finite: true }
    }

    /// Width and height, px.
    pub fn size(&self) -> (f64, f64) {
        (self.width, self.height)
    }

    /// What stands beneath the title, drawn or not: of what car, where.
    pub fn about(&mut self, words: &str) {
        words.clone_into(&mut self.about);
    }

    /// Draws into a named group.
    pub fn part<R>(&mut self, name: &str, draw: impl FnOnce(&mut Canvas) -> R) -> R {
        self.push(format_args!("<g data-part=\"{}\">\n", escape(name)));
        let result = draw(self);
        self.body.push_str("</g>\n");
        result
    }

    /// A filled rectangle.
    pub fn rect(&mut self, at: Point, size: Point, fill: Colour) {
        let [x, y, w, h] = [at.0, at.1, size.0, size.1].map(|v| self.place(v));
        self.push(format_args!("<rect x=\"{x}\" y=\"{y}\" width=\"{w}\" height=\"{h}\" fill=\"{}\"/>\n", fill.hex()));
    }

    /// A line through points, with round joins; points that make no difference to see are left out.
    pub fn line(&mut self, points: &[Point], stroke: Stroke) {
        self.path(points, false, stroke);
    }

    /// Many lines of one stroke in one path.
    pub fn lines(&mut self, lines: &[[Point; 2]], stroke: Stroke) {
        let data: String = lines.iter().map(|line| self.path_data(line, false)).collect();
        if !data.is_empty() {
            let (width, colour) = (self.number(stroke.width), stroke.colour.hex());
            self.push(format_args!(
                "<path d=\"{data}\" fill=\"none\" stroke=\"{colour}\" stroke-width=\"{width}\"/>\n"
            ));
        }
    }

    /// Many filled rectangles of one colour in one path: left, top, width, height.
    pub fn rects(&mut self, all: &[[f64; 4]], fill: Colour) {
        let mut data = String::new();
        for rect in all {
            let [x, y, w, h] = rect.map(|v| self.place(v));
            // Writing to a String can't fail.
            let _ = write!(data, "M{x} {y}h{w}v{h}h-{w}Z");
        }
        if !data.is_empty() {
            self.push(format_args!("<path d=\"{data}\" fill=\"{}\"/>\n", fill.hex()));
        }
    }

    /// A line that closes.
    pub fn ring(&mut self, points: &[Point], stroke: Stroke) {
        self.path(points, true, stroke);
    }

    fn path(&mut self, points: &[Point], close: bool, stroke: Stroke) {
        let data = self.path_data(points, close);
        let width = self.number(stroke.width);
        self.push(format_args!(
            "<path d=\"{data}\" fill=\"none\" stroke=\"{}\" stroke-width=\"{width}\" stroke-linejoin=\"round\"/>\n",
            stroke.colour.hex()
        ));
    }

    /// A filled polygon.
    pub fn fill(&mut self, points: &[Point], fill: Colour, opacity: f64) {
        let data = self.path_data(points, true);
        let opacity = match self.number(opacity) {
            whole if whole == "1" => String::new(),
            share => format!(" fill-opacity=\"{share}\""),
        };
        self.push(format_args!("<path d=\"{data}\" fill=\"{}\"{opacity}/>\n", fill.hex()));
    }

    /// Filled polygons in one path: no line of paper shines through where they touch.
    pub fn fill_all(&mut self, polygons: &[Vec<Point>], fill: Colour) {
        let data: String = polygons.iter().map(|p| self.path_data(p, true)).collect();
        if !data.is_empty() {
            self.push(format_args!("<path d=\"{data}\" fill=\"{}\"/>\n", fill.hex()));
        }
    }

    /// A filled disc.
    pub fn disc(&mut self, at: Point, radius: f64, fill: Colour) {
        let [x, y, r] = [at.0, at.1, radius].map(|v| self.place(v));
        self.push(format_args!("<circle cx=\"{x}\" cy=\"{y}\" r=\"{r}\" fill=\"{}\"/>\n", fill.hex()));
    }

    /// A line of text; of no words nothing is drawn.
    pub fn text(&mut self, text: Text) {
        if text.words.trim().is_empty() {
            return;
        }
        let [x, y, turn] = [text.at.0, text.at.1, text.angle].map(|v| self.place(v));
        // As wide as what is written: a character that XML can't hold is written as another.
        let shown: String = text.words.chars().map(writable).collect();
        let (size, wide) = (trimmed(text.size, 2), trimmed(text.face.width(&shown, text.size), 1));
        let anchor = match text.anchor {
            Anchor::Start => "",
            Anchor::Middle => " text-anchor=\"middle\"",
            Anchor::End => " text-anchor=\"end\"",
        };
        let weight = if text.face == Face::Semibold { " font-weight=\"600\"" } else { "" };
        let turn = if text.angle == 0.0 { String::new() } else { format!(" transform=\"rotate({turn} {x} {y})\"") };
        let halo = if text.halo {
            let paper = look::PAPER.hex();
            format!(" stroke=\"{paper}\" stroke-width=\"3\" stroke-linejoin=\"round\" paint-order=\"stroke\"")
        } else {
            String::new()
        };
        let (words, fill) = (escape(&shown), text.colour.hex());
        self.push(format_args!(
            "<text x=\"{x}\" y=\"{y}\" font-size=\"{size}\"{weight}{anchor} fill=\"{fill}\"{halo}{turn} textLength=\"{wide}\" \
             lengthAdjust=\"spacingAndGlyphs\">{words}</text>\n"
        ));
    }

    /// Words of second rank in lines no wider than `most`, from a base line down; returns the height that they take.
    pub fn notes(&mut self, words: &str, (x, y): Point, most: f64) -> f64 {
        let lines = Face::Regular.wrap(words, look::SMALL, most, 4);
        for (i, line) in lines.iter().enumerate() {
            self.text(small(line, (x, y + NOTE * i as f64)));
        }
        NOTE * lines.len() as f64
    }

    /// The picture, with a title that states its finding and a description for those who can't see it.
    pub fn finish(self, title: &str, alt: &str) -> Result<Picture, PlotError> {
        if !self.finite {
            return Err(PlotError::NotFinite { picture: self.id });
        }
        let (id, title_text, alt_text) = (&self.id, escape(title), escape(alt));
        let (w, h) = (trimmed(self.width, 2), trimmed(self.height, 2));
        let (paper, faces) = (look::PAPER.hex(), FACES);
        let svg = format!(
            "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{w}\" height=\"{h}\" viewBox=\"0 0 {w} {h}\" font-family=\"{faces}\" \
             role=\"img\" aria-labelledby=\"{id}-title {id}-alt\">\n<title id=\"{id}-title\">{title_text}</title>\n\
             <desc id=\"{id}-alt\">{alt_text}</desc>\n<rect width=\"{w}\" height=\"{h}\" fill=\"{paper}\"/>\n{}</svg>\n",
            self.body
        );
        Ok(Picture {
            svg,
            width: self.width,
            height: self.height,
            title: title.to_owned(),
            about: self.about,
            alt: alt.to_owned(),
        })
    }

    /// Takes note of a value that something else draws: one that is not finite makes [`Canvas::finish`] an error.
    pub fn note(&mut self, value: f64) {
        self.finite &= value.is_finite();
    }

    fn path_data(&mut self, points: &[Point], close: bool) -> String {
        points.iter().for_each(|p| self.note(p.0 + p.1));
        let (mut data, mut last) = (String::new(), (0.0, 0.0));
        for (i, p) in thinned(points).into_iter().enumerate() {
            let at = ((10.0 * p.0).round(), (10.0 * p.1).round());
            let [x, y] = [at.0 - last.0, at.1 - last.1].map(|tenths| short(trimmed(0.1 * tenths, 1)));
            last = at;
            let letter = ["M", "l"].get(i).copied().unwrap_or(if x.starts_with('-') { "" } else { " " });
            let gap = if y.starts_with('-') { "" } else { " " };
            // Writing to a String can't fail.
            let _ = write!(data, "{letter}{x}{gap}{y}");
        }
        if close {
            data.push('Z');
        }
        data
    }

    /// Of a place: a smaller part of a px is not seen.
    fn place(&mut self, value: f64) -> String {
        self.note(value);
        trimmed(value, 1)
    }

    fn number(&mut self, value: f64) -> String {
        self.note(value);
        trimmed(value, 2)
    }

    fn push(&mut self, text: std::fmt::Arguments) {
        // Writing to a String can't fail.
        let _ = self.body.write_fmt(text);
    }
}

/// A number with at most so many decimals, and no trailing zeros.
fn trimmed(value: f64, decimals: usize) -> String {
    let text = format!("{value:.decimals$}");
    let text = if text.contains('.') { text.trim_end_matches('0').trim_end_matches('.') } else { &text };
    if text == "-0" { "0".to_owned() } else { text.to_owned() }
}

/// A number without a zero before its point.
fn short(number: String) -> String {
    match (number.strip_prefix("0."), number.strip_prefix("-0.")) {
        (Some(rest), _) => format!(".{rest}"),
        (_, Some(rest)) => format!("-.{rest}"),
        _ => number,
    }
}

/// A character as XML may hold it.
fn writable(c: char) -> char {
    match c {
        '\t' | '\n' | '\r' => ' ',
        c if c.is_control() || matches!(c, '\u{fffe}' | '\u{ffff}') => '\u{fffd}',
        c => c,
    }
}

/// Text as XML may hold it, inside attributes too.
pub fn escape(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for c in text.chars() {
        match c {
            '&' => out.push_str("&amp;"),
            '<' => out.push_str("&lt;"),
            '>' => out.push_str("&gt;"),
            '"' => out.push_str("&quot;"),
            '\'' => out.push_str("&#39;"),
            c => out.push(writable(c)),
        }
    }
    out
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;

    #[test]
    fn closed_form_numbers_are_short() {
        for (value, text) in
            [(1.0, "1"), (0.5, "0.5"), (-0.001, "0"), (100.0, "100"), (12.345, "12.35"), (-3.1, "-3.1")]
        {
            assert_eq!(trimmed(value, 2), text);
        }
        assert_eq!(trimmed(100.0, 0), "100");
    }

    #[test]
    fn property_a_name_with_markup_stays_a_name() {
        let name = "<b>Tom & \"Jerry's\"</b>\u{1}";
        let mut canvas = Canvas::new("a b", 100.0, 50.0);
        canvas.part("p<q", |c| c.text(label(name, (1.0, 2.0))));
        let picture = canvas.finish(name, name).unwrap();
        let doc = roxmltree::Document::parse(&picture.svg).unwrap();
        let read: Vec<_> = doc.descendants().filter(|n| n.has_tag_name("text")).filter_map(|n| n.text()).collect();
        assert_eq!(read, [name.replace('\u{1}', "\u{fffd}")]);
        assert!(doc.descendants().all(|n| n.tag_name().name() != "b"));
    }

    #[test]
    fn bad_input_a_number_that_is_not_finite_is_an_error() {
        for bad in [f64::NAN, f64::INFINITY, f64::NEG_INFINITY] {
            let mut canvas = Canvas::new("x", 10.0, 10.0);
            canvas.line(&[(0.0, 0.0), (bad, 1.0)], look::stroke(look::INK, 1.0));
            assert!(matches!(canvas.finish("t", "a"), Err(PlotError::NotFinite { .. })));
        }
    }
}
