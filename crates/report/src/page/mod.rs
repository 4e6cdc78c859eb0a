//! One page to share: a self-contained HTML file that needs no network and no script, prints to A4 and reads on a
//! phone.
//!
//! First the answer, so that a phone's first screen holds it; then the contents; then sections, of which those stand open that
//! were asked for. A [`Section`] is a title and what stands beneath it; each kind of result has one small function that makes it
//! ([`lap::section`], [`worth::section`], [`ranking::section`], [`moved::section`], [`builds::section`],
//! [`budget::section`], …), [`whole::page`] takes those of a report, and [`Page::html`] puts them into the page in the
//! order given. Everything from a person's files goes through maud, which escapes it.

pub mod budget;
pub mod builds;
pub mod given;
pub mod lap;
pub mod made;
pub mod moved;
pub mod parts;
pub mod plan;
pub mod ranking;
pub mod trial;
pub mod verdict;
pub mod whole;
pub mod worth;

pub use maud::Markup;
use maud::{DOCTYPE, PreEscaped, html};

use crate::draw::measure::font::Face;
use crate::draw::theme;

/// A part of the page under a heading of its own.
#[derive(Clone, Debug)]
pub struct Section {
    /// Where a link to it leads: letters, figures and hyphens.
    pub id: String,
    /// Its heading.
    pub title: String,
    /// What it says.
    pub body: Markup,
}

/// The whole page.
#[derive(Clone, Debug)]
pub struct Page {
    /// Its heading.
    pub title: String,
    /// What was asked.
    pub question: String,
    /// What the answer is: shown first.
    pub verdict: Markup,
    /// What takes hold of the car, where scripts run: after the answer; its parts stay hidden without.
    pub live: Option<Markup>,
    /// The rest, in order.
    pub sections: Vec<Section>,
    /// How many of them, from the first, were asked for: they stand open.
    pub asked: usize,
    /// The version of unladen that made it.
    pub version: String,
}

const STYLE: &str = include_str!("page.css");
const SCRIPT: &str = include_str!("sort.js");
/// Nothing is fetched, whatever a name in a file may try.
const POLICY: &str = "default-src 'none'; style-src 'unsafe-inline'; font-src data:; script-src 'unsafe-inline'; img-src data:; base-uri 'none'; form-action 'none'";
/// Where the page answers, its own module may run in a worker of its own text.
const LIVE_POLICY: &str = "default-src 'none'; style-src 'unsafe-inline'; font-src data:; script-src 'unsafe-inline' 'wasm-unsafe-eval' blob:; worker-src blob:; img-src data:; base-uri 'none'; form-action 'none'";

impl Page {
    /// The file's text.
    pub fn html(&self) -> String {
        let body = self.body();
        let style = format!(
            "{}{}@media screen and (prefers-color-scheme:dark){{:root{{{}}}}}\n",
            Face::Regular.rule(),
            Face::Semibold.rule(),
            theme::rules(&body.0)
        );
        let page = html! {
            (DOCTYPE)
            html lang="en" {
                head {
                    meta charset="utf-8";
                    meta http-equiv="Content-Security-Policy" content=(if self.live.is_some() { LIVE_POLICY } else { POLICY });
                    meta name="viewport" content="width=device-width, initial-scale=1";
                    meta name="color-scheme" content="light dark";
                    meta name="generator" content={ "unladen " (self.version) };
                    link rel="icon" href="data:,";
                    title { (self.title) }
                    style { (PreEscaped(STYLE)) (PreEscaped(style)) }
                }
                (body)
            }
        };
        page.into_string() + "\n"
    }

    fn body(&self) -> Markup {
        html! {
            body {
                a.skip href="#main" { "Skip to the answer" }
                header {
                    h1 { (self.title) }
                    p.question { (self.question) }
                }
                main #main {
                    section #verdict aria-labelledby="verdict-title" {
                        h2 #verdict-title { "The answer" }
                        (self.verdict)
                    }
                    @if let Some(live) = &self.live { (live) }
                    nav aria-label="Contents" {
                        ul { @for s in &self.sections { li { a href={ "#" (s.id) } { (s.title) } } } }
                    }
                    @for (i, s) in self.sections.iter().enumerate() {
                        section id=(s.id) class=[PRINTED.contains(&s.id.as_str()).then_some("printed")] aria-labelledby={ (s.id) "-title" } {
                            details open[i < self.asked || OPEN.contains(&s.id.as_str())] {
                                summary { h2 id={ (s.id) "-title" } { (s.title) } }
                                (s.body)
                            }
                        }
                    }
                }
                footer { p { "Made with unladen " (self.version) ". ± is one standard deviation." } }
                script { (PreEscaped(SCRIPT)) }
            }
        }
    }
}

/// Sections that are short, and must be read with every answer.
const OPEN: [&str; 1] = ["limits"];
/// Sections that stand folded on a screen and open on paper, which has nothing to click on.
const PRINTED: [&str; 1] = ["again"];

/// A name as an id: `Valley (invented)` is `valley-invented`.
pub fn slug(name: &str) -> String {
    let kept: String =
        name.chars().map(|c| if c.is_ascii_alphanumeric() { c.to_ascii_lowercase() } else { '-' }).collect();
    let words: Vec<&str> = kept.split('-').filter(|w| !w.is_empty()).take(6).collect();
    if words.is_empty() { "part".to_owned() } else { words.join("-") }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn property_names_with_markup_stay_names() {
        let name = "<script>alert('1')</script> & \"co\"";
        let section = Section { id: slug(name), title: name.into(), body: html! { p { (name) } } };
        let page = Page {
            title: name.into(),
            question: name.into(),
            verdict: html! { p { (name) } },
            live: None,
            sections: vec![section],
            asked: 1,
            version: "0".into(),
        };
        let html = page.html();
        assert_eq!(html.matches("<script").count(), 1, "only our own");
        assert_eq!(
            html.matches("&lt;script&gt;").count(),
            7,
            "title, heading, question, link, answer, section and its text"
        );
        assert!(html.contains("id=\"script-alert-1-script-co\""), "{}", slug(name));
        assert!(!SCRIPT.contains("</script") && !STYLE.contains("</style"));
    }

    #[test]
    fn property_nothing_is_fetched() {
        for text in [STYLE, SCRIPT] {
            for word in ["http:", "https:", "url(", "@import", "fetch(", "XMLHttpRequest"] {
                assert!(!text.contains(word), "{word}");
            }
        }
    }

    #[test]
    fn closed_form_ids() {
        assert_eq!((slug("Valley (invented)"), slug("日本"), slug("")).0, "valley-invented");
        assert_eq!(slug("日本"), "part");
    }
}
