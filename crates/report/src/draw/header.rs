//! The head of a picture: a title that states the finding, and a line that says what of.

use crate::draw::look::{INK, INK_SOFT, MARGIN, Paper, SUBTITLE, TITLE};
use crate::draw::measure::font::Face;
use crate::draw::svg::{Canvas, Text, label};

const TITLE_LINE: f64 = 25.0;
const SUBTITLE_LINE: f64 = 18.0;

/// Title and subtitle broken into lines.
#[derive(Clone, Debug)]
pub struct Header {
    title: Vec<String>,
    subtitle: Vec<String>,
    about: String,
    /// Height that it takes from the top of the picture, px.
    pub height: f64,
}

impl Header {
    /// Two lines each at most; none on paper whose title stands above.
    pub fn plan(title: &str, about: &str, paper: Paper) -> Header {
        if !paper.titled {
            return Header { title: Vec::new(), subtitle: Vec::new(), about: about.to_owned(), height: 2.0 };
        }
        let most = paper.width - 2.0 * MARGIN;
        let title = Face::Semibold.wrap(title, TITLE, most, 2);
        let subtitle = Face::Regular.wrap(about, SUBTITLE, most, 2);
        let height = MARGIN - 4.0 + title.len() as f64 * TITLE_LINE + subtitle.len() as f64 * SUBTITLE_LINE;
        Header { title, subtitle, about: about.to_owned(), height }
    }

    /// Draws it at the top.
    pub fn draw(&self, canvas: &mut Canvas) {
        canvas.about(&self.about);
        canvas.part("header", |canvas| {
            let mut y = MARGIN - 8.0;
            for line in &self.title {
                y += TITLE_LINE;
                canvas.text(Text { size: TITLE, face: Face::Semibold, colour: INK, ..label(line, (MARGIN, y)) });
            }
            y += 2.0;
            for line in &self.subtitle {
                y += SUBTITLE_LINE;
                canvas.text(Text { size: SUBTITLE, colour: INK_SOFT, ..label(line, (MARGIN, y)) });
            }
        });
    }
}

/// The first letter made a capital.
pub fn sentence(text: &str) -> String {
    let mut chars = text.chars();
    chars.next().map_or_else(String::new, |c| c.to_uppercase().chain(chars).collect())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn property_a_long_title_takes_two_lines_and_no_more() {
        let short = Header::plan("Power rules", "a car", Paper::FILE);
        let long = Header::plan(&"Power rules ".repeat(60), "a car", Paper::FILE);
        assert_eq!((short.title.len(), long.title.len()), (1, 2));
        assert!(long.title[1].ends_with('…'));
        assert_eq!(long.height - short.height, TITLE_LINE);
    }

    #[test]
    fn closed_form_sentences_begin_with_a_capital() {
        assert_eq!((sentence("front grip"), sentence(""), sentence("übung")).2, "Übung");
    }
}
