//! A finished picture, and saving it as SVG or PNG.

use std::any::Any;
use std::error::Error;
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::path::{Path, PathBuf};

use crate::draw::look::Paper;
use crate::draw::measure::font::Face;
use crate::draw::svg::escape;
use crate::draw::{png, theme};
use crate::files::write::{WriteError, check_destination, write_whole};

/// A finished picture.
#[derive(Clone, Debug, PartialEq)]
pub struct Picture {
    /// The whole SVG file.
    pub svg: String,
    /// Width, px.
    pub width: f64,
    /// Height, px.
    pub height: f64,
    /// Its title, which states the finding.
    pub title: String,
    /// What stands beneath the title: of what car, where.
    pub about: String,
    /// What it shows, for those who can't see it.
    pub alt: String,
}

impl Picture {
    /// The file's text: the SVG with the typefaces that it is set in.
    pub fn file(&self) -> String {
        let faces =
            [Face::Regular, Face::Semibold].into_iter().filter(|f| *f == Face::Regular || self.svg.contains(BOLD));
        let style: String = faces.map(Face::rule).collect();
        self.svg.replacen("</desc>\n", &format!("</desc>\n<style>{style}</style>\n"), 1)
    }

    /// For a page: without paper, in colours that follow its scheme (see [`theme`]), described by a label of its own.
    /// `name` is its class.
    pub fn inline(&self, name: &str) -> String {
        let Some(body) = self.svg.find("<rect ").and_then(|at| self.svg[at..].split_once("/>\n")) else {
            return String::new();
        };
        let (w, h) = (self.width.round(), self.height.ceil());
        // A layer upon another says nothing of its own.
        let label = match escape(&self.alt) {
            none if none.is_empty() => "aria-hidden=\"true\"".to_owned(),
            words => format!("role=\"img\" aria-label=\"{words}\""),
        };
        let (class, body) = (escape(name), theme::follow(&plain(body.1)));
        format!("<svg class=\"{class}\" viewBox=\"0 0 {w} {h}\"{ONCE} {label}>\n{body}")
    }
}

/// Said of a whole picture in a page, which has thousands of lines.
const ONCE: &str = " fill=\"none\" stroke-linejoin=\"round\"";

/// Without what is said of the whole, and of how words are fitted: a page brings their typeface.
fn plain(svg: &str) -> String {
    [" fill=\"none\"", " stroke-linejoin=\"round\"", " lengthAdjust=\"spacingAndGlyphs\""]
        .iter()
        .fold(svg.to_owned(), |svg, said| svg.replace(said, ""))
}

/// Is in a picture that has words of this weight.
const BOLD: &str = "font-weight=\"600\"";

/// The same picture for a desk and for a phone; a page shows the one that fits.
#[derive(Clone, Debug, PartialEq)]
pub struct Drawn {
    /// For a desk, and for A4.
    pub broad: Picture,
    /// For a phone.
    pub narrow: Picture,
}

impl Drawn {
    /// Draws both.
    pub fn of(draw: impl Fn(Paper) -> Result<Picture, PlotError>) -> Result<Drawn, PlotError> {
        Ok(Drawn { broad: draw(Paper::PAGE)?, narrow: draw(Paper::PHONE)? })
    }

    /// Of several pictures.
    pub fn each(draw: impl Fn(Paper) -> Result<Vec<Picture>, PlotError>) -> Result<Vec<Drawn>, PlotError> {
        let all = draw(Paper::PAGE)?.into_iter().zip(draw(Paper::PHONE)?);
        Ok(all.map(|(broad, narrow)| Drawn { broad, narrow }).collect())
    }
}

/// Why there is no picture.
#[derive(Debug, thiserror::Error)]
pub enum PlotError {
    /// The file's name doesn't say which format.
    #[error("{}: a picture's name must end in .svg or .png", path.display())]
    Extension {
        /// As given.
        path: PathBuf,
    },
    /// Nothing to draw.
    #[error("nothing to draw: {what} is empty")]
    Empty {
        /// What was empty.
        what: &'static str,
    },
    /// Lists that belong together differ in length.
    #[error("{what}: {got} values where {want} belong")]
    Lengths {
        /// Which list.
        what: &'static str,
        /// Its length.
        got: usize,
        /// What it should be.
        want: usize,
    },
    /// A value that is no number.
    #[error("the picture `{picture}` holds a value that is not finite")]
    NotFinite {
        /// Which picture.
        picture: String,
    },
    /// The chart library gave up.
    #[error("can't draw the chart")]
    Chart(#[source] Box<dyn Error + Send + Sync>),
    /// Drawing panicked: a fault in `unladen`.
    #[error("drawing failed ({message}); this is a fault in unladen, and no file was written")]
    Panicked {
        /// The panic's words.
        message: String,
    },
    /// The SVG could not be turned into pixels.
    #[error("can't turn the picture into pixels")]
    Raster(#[source] Box<dyn Error + Send + Sync>),
    /// The file could not be written.
    #[error(transparent)]
    Write(#[from] WriteError),
}

/// The formats that `--plot FILE` takes.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Format {
    /// Lines and text.
    Svg,
    /// Pixels, two for a px.
    Png,
}

impl Format {
    /// By the file's extension, in any case.
    pub fn of(path: &Path) -> Result<Format, PlotError> {
        match path.extension().and_then(|e| e.to_str()).map(str::to_ascii_lowercase).as_deref() {
            Some("svg") => Ok(Format::Svg),
            Some("png") => Ok(Format::Png),
            _ => Err(PlotError::Extension { path: path.to_owned() }),
        }
    }
}

/// Can a picture be saved at `path`? To ask before a long run.
pub fn check_plot(path: &Path) -> Result<(), PlotError> {
    Format::of(path)?;
    Ok(check_destination(path)?)
}

/// Draws and saves a picture; a panic while drawing is an error and leaves no file.
pub fn save_plot(path: &Path, draw: impl FnOnce() -> Result<Picture, PlotError>) -> Result<(), PlotError> {
    let format = Format::of(path)?;
    let bytes = guarded(|| {
        let picture = draw()?;
        match format {
            Format::Svg => Ok(picture.file().into_bytes()),
            Format::Png => png::render(&picture, png::SCALE),
        }
    })?;
    Ok(write_whole(path, &bytes)?)
}

fn guarded<R>(work: impl FnOnce() -> Result<R, PlotError>) -> Result<R, PlotError> {
    // Nothing that the closure may have left half-done is looked at afterwards.
    catch_unwind(AssertUnwindSafe(work))
        .unwrap_or_else(|payload| Err(PlotError::Panicked { message: words_of(payload.as_ref()) }))
}

fn words_of(payload: &(dyn Any + Send)) -> String {
    let fixed = payload.downcast_ref::<&str>().map(|s| (*s).to_owned());
    fixed.or_else(|| payload.downcast_ref::<String>().cloned()).unwrap_or_else(|| "no message".to_owned())
}

/// Pictures one above the other in one file, from the top down; the first one's title is that of the whole.
pub fn stacked(pictures: Vec<Picture>) -> Result<Picture, PlotError> {
    let mut all = pictures.into_iter();
    let Some(first) = all.next() else { return Err(PlotError::Empty { what: "the list of pictures" }) };
    let rest: Vec<Picture> = all.collect();
    if rest.is_empty() {
        return Ok(first);
    }
    let mut whole = first.clone();
    let mut body = own(&first, 0, 0.0);
    for (i, picture) in rest.iter().enumerate() {
        body += &own(picture, i + 1, whole.height);
        whole.height += picture.height;
        whole.width = whole.width.max(picture.width);
        whole.alt = format!("{} {}", whole.alt, picture.alt);
    }
    let (w, h, title, alt) = (whole.width, whole.height, escape(&whole.title), escape(&whole.alt));
    whole.svg = format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{w}\" height=\"{h}\" viewBox=\"0 0 {w} {h}\" role=\"img\" \
         aria-labelledby=\"sheet-title sheet-alt\">\n<title id=\"sheet-title\">{title}</title>\n<desc id=\"sheet-alt\">{alt}</desc>\n{body}</svg>\n"
    );
    Ok(whole)
}

/// A picture at a height of the whole, its ids made different from those of the others.
fn own(picture: &Picture, i: usize, top: f64) -> String {
    // Quotes in names are escaped, so that these are attributes and nothing else.
    let svg =
        picture.svg.replacen("<svg ", &format!("<svg y=\"{top}\" "), 1).replace(" id=\"", &format!(" id=\"p{i}-"));
    match svg.split_once(" aria-labelledby=\"") {
        Some((before, rest)) => {
            let (ids, after) = rest.split_once('"').unwrap_or((rest, ""));
            let ids: Vec<String> = ids.split(' ').map(|id| format!("p{i}-{id}")).collect();
            format!("{before} aria-labelledby=\"{}\"{after}", ids.join(" "))
        }
        None => svg,
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;
    use crate::draw::look::INK;
    use crate::draw::svg::{Canvas, label};

    fn small() -> Result<Picture, PlotError> {
        let mut canvas = Canvas::new("small", 60.0, 30.0);
        canvas.rect((5.0, 5.0), (20.0, 20.0), INK);
        canvas.text(label("km/h", (30.0, 20.0)));
        canvas.finish("a square", "a dark square beside km/h")
    }

    #[test]
    fn property_ids_are_apart_and_found() {
        let svg = stacked(vec![small().unwrap(), small().unwrap()]).unwrap().svg;
        let doc = roxmltree::Document::parse(&svg).unwrap();
        let ids: Vec<_> = doc.descendants().filter_map(|n| n.attribute("id")).collect();
        assert!(ids.len() == 6 && ids.iter().all(|id| ids.iter().filter(|other| other == &id).count() == 1), "{ids:?}");
        for svg in doc.descendants().filter(|n| n.has_tag_name(("http://www.w3.org/2000/svg", "svg"))) {
            let labels = svg.attribute("aria-labelledby").unwrap();
            assert!(labels.split(' ').all(|l| ids.contains(&l)), "{labels}");
        }
    }

    #[test]
    fn property_a_file_brings_its_typeface_and_a_page_its_colours() {
        let picture = small().unwrap();
        let file = picture.file();
        assert!(file.contains("@font-face") && roxmltree::Document::parse(&file).is_ok());
        assert_eq!(file.matches("font-weight:600").count(), 0, "no word is bold");
        let inline = picture.inline("broad");
        assert!(inline.starts_with("<svg class=\"broad\"") && inline.ends_with("</svg>\n"), "{inline}");
        assert!(
            inline.contains(">km/h</text>") && !inline.contains("=\"#") && !inline.contains("<rect width"),
            "{inline}"
        );
        assert!(roxmltree::Document::parse(&inline).is_ok());
    }

    #[test]
    fn property_both_formats_are_saved_and_repeat_to_the_byte() {
        let folder = tempfile::tempdir().unwrap();
        for (name, head) in [("a.svg", &b"<svg "[..]), ("a.PNG", &b"\x89PNG\r\n"[..])] {
            let path = folder.path().join(name);
            check_plot(&path).unwrap();
            save_plot(&path, small).unwrap();
            let first = std::fs::read(&path).unwrap();
            assert!(first.starts_with(head));
            save_plot(&path, small).unwrap();
            assert_eq!(std::fs::read(&path).unwrap(), first);
        }
    }

    #[test]
    fn bad_input_other_extensions_are_refused_before_anything_is_drawn() {
        for name in ["a.pdf", "a", "svg", "a.svg.gz", ".png"] {
            let refused = save_plot(Path::new(name), || panic!("must not be drawn"));
            assert!(matches!(refused, Err(PlotError::Extension { .. })), "{name}");
            assert!(matches!(check_plot(Path::new(name)), Err(PlotError::Extension { .. })), "{name}");
        }
    }

    #[test]
    fn regression_a_panic_while_drawing_leaves_no_file() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("a.svg");
        let failed = save_plot(&path, || panic!("ran out of {}", "ink"));
        assert!(matches!(failed, Err(PlotError::Panicked { message }) if message == "ran out of ink"));
        assert_eq!(std::fs::read_dir(folder.path()).unwrap().count(), 0);
    }
}
