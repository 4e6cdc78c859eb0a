//! Faults and warnings at their places, and how they are shown: all of a file at once.

use std::fmt;

use miette::{Diagnostic, GraphicalReportHandler, GraphicalTheme, LabeledSpan, Severity, SourceCode};

use crate::fault::Fault;
use crate::fault::caution::Caution;
use crate::fault::source::Place;
use crate::plain::plain;

/// What a fault or a warning has to say beside its message.
pub trait Explain: fmt::Display + fmt::Debug {
    /// What stands at the underlined place.
    fn label(&self) -> String;
    /// What would be right.
    fn hint(&self) -> Option<String>;
    /// An error, unless it says otherwise.
    fn severity(&self) -> Severity {
        Severity::Error
    }
}

/// A fault or a warning, and where it is.
#[derive(Clone, Debug)]
pub struct Located<T> {
    /// What it is.
    pub what: T,
    /// Where; `None` for a file that could not be read.
    pub place: Option<Place>,
}

/// A fault where it is.
pub type Finding = Located<Fault>;
/// A warning where it is.
pub type Warning = Located<Caution>;

impl<T: Explain> Located<T> {
    pub(crate) fn at(what: T, place: &Place) -> Self {
        Self { what, place: Some(place.clone()) }
    }

    /// With the text underlined, for a terminal of this width; plain or coloured.
    pub fn render(&self, style: Style) -> String {
        let theme = match (style.colour, style.unicode) {
            (true, true) => GraphicalTheme::unicode(),
            (false, true) => GraphicalTheme::unicode_nocolor(),
            (_, false) => GraphicalTheme::none(),
        };
        let handler = GraphicalReportHandler::new_themed(theme).with_width(style.width);
        let mut out = String::new();
        match handler.render_report(&mut out, &Shown(self)) {
            Ok(()) => out,
            Err(_) => format!("{self}\n"),
        }
    }
}

/// How a message is drawn.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Style {
    /// ANSI colours.
    pub colour: bool,
    /// Lines drawn with more than ASCII.
    pub unicode: bool,
    /// Columns.
    pub width: usize,
}

impl Style {
    /// For files, tests and pipes.
    pub const PLAIN: Style = Style { colour: false, unicode: true, width: 100 };
}

/// `file:line:column: message`.
impl<T: Explain> fmt::Display for Located<T> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match &self.place {
            Some(p) => write!(f, "{}:{}:{}: {}", plain(&p.source.name), p.line(), p.column(), tidy(&self.what)),
            None => f.write_str(&tidy(&self.what)),
        }
    }
}

impl<T: Explain> std::error::Error for Located<T> {}

/// Characters of a message that are shown; what a file holds may be endless.
const LONGEST: usize = 1000;

/// A message: what it repeats of a file can't steer a terminal, nor fill it.
fn tidy(what: &dyn fmt::Display) -> String {
    let text = what.to_string();
    let text = plain(&text);
    match text.char_indices().nth(LONGEST) {
        Some((end, _)) => format!("{}…", &text[..end]),
        None => text.into_owned(),
    }
}

/// For drawing: the place is in the drawing, not in the message.
#[derive(Debug)]
struct Shown<'a, T>(&'a Located<T>);

impl<T: Explain> fmt::Display for Shown<'_, T> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&tidy(&self.0.what))
    }
}

impl<T: Explain> std::error::Error for Shown<'_, T> {}

impl<T: Explain> Diagnostic for Shown<'_, T> {
    fn severity(&self) -> Option<Severity> {
        Some(self.0.what.severity())
    }
    fn help<'a>(&'a self) -> Option<Box<dyn fmt::Display + 'a>> {
        self.0.what.hint().map(|h| Box::new(tidy(&h)) as Box<dyn fmt::Display>)
    }
    fn source_code(&self) -> Option<&dyn SourceCode> {
        self.0.place.as_ref().map(|p| &*p.source as &dyn SourceCode)
    }
    fn labels(&self) -> Option<Box<dyn Iterator<Item = LabeledSpan> + '_>> {
        let span = self.0.place.as_ref()?.shown();
        Some(Box::new(std::iter::once(LabeledSpan::at(span, tidy(&self.0.what.label())))))
    }
}

/// Every fault of the files that were read together, in the order of the text.
#[derive(Debug)]
pub struct FileErrors {
    /// The first [`FileErrors::SHOWN`] of them.
    pub faults: Vec<Finding>,
    /// How many more there are.
    pub more: usize,
}

impl FileErrors {
    /// Faults kept; a file of a million bad rows need not print them all.
    pub const SHOWN: usize = 50;

    /// One fault.
    pub fn one(what: Fault, place: &Place) -> Self {
        Self { faults: vec![Located::at(what, place)], more: 0 }
    }

    pub(crate) fn unread(finding: Finding) -> Self {
        Self { faults: vec![finding], more: 0 }
    }

    /// Every fault with its text underlined.
    pub fn render(&self, style: Style) -> String {
        let mut out: String = self.faults.iter().map(|f| f.render(style)).collect();
        if self.more > 0 {
            out += &format!("and {} more\n", self.more);
        }
        out
    }
}

impl fmt::Display for FileErrors {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        for (i, fault) in self.faults.iter().enumerate() {
            write!(f, "{}{fault}", if i > 0 { "\n" } else { "" })?;
        }
        if self.more > 0 {
            write!(f, "\nand {} more", self.more)?;
        }
        Ok(())
    }
}

impl std::error::Error for FileErrors {}

/// Collects faults while a file is read, and never more than can be shown.
#[derive(Debug, Default)]
pub(crate) struct Faults {
    found: Vec<Finding>,
    more: usize,
}

impl Faults {
    pub(crate) fn push(&mut self, what: Fault, place: &Place) {
        self.add(Located::at(what, place));
    }

    pub(crate) fn add(&mut self, finding: Finding) {
        if self.found.len() < FileErrors::SHOWN {
            self.found.push(finding);
        } else {
            self.more += 1;
        }
    }

    /// No more will be shown: what a message takes time to find out need not be found.
    pub(crate) fn is_full(&self) -> bool {
        self.found.len() >= FileErrors::SHOWN
    }

    pub(crate) fn is_empty(&self) -> bool {
        self.found.is_empty()
    }

    /// `Err` with every fault, source by source in the order of the text, if there is one.
    pub(crate) fn result(mut self) -> Result<(), FileErrors> {
        if self.found.is_empty() {
            return Ok(());
        }
        let mut names: Vec<String> = Vec::new();
        for f in &self.found {
            let name = f.place.as_ref().map_or("", |p| &p.source.name);
            if !names.iter().any(|n| n == name) {
                names.push(name.into());
            }
        }
        self.found.sort_by_key(|f| {
            let name = f.place.as_ref().map_or("", |p| &p.source.name);
            (names.iter().position(|n| n == name), f.place.as_ref().map_or(0, |p| p.span.start))
        });
        Err(FileErrors { faults: self.found, more: self.more })
    }
}
