//! What went in, what is left out, and how to make the page again.

use std::path::Path;

use maud::html;
use unladen_questions::report::FileRead;

use crate::draw::header::sentence;
use crate::page::Section;
use crate::page::parts::{Cell, Table, number, said, words};
use crate::words::sure::unknown::named;
use crate::words::tuned::BRAKE_CAUTION;
use crate::worth::text::{CAUTION, NOT_MODELLED};

/// A number of the car or of a track.
#[derive(Clone, Debug, PartialEq)]
pub struct Given {
    /// Its key in the file.
    pub key: String,
    /// Its value, with its unit.
    pub value: String,
    /// Its standard deviation with its unit, where it has one.
    pub sd: Option<String>,
}

/// The inputs, with their ±.
pub fn inputs(given: &[Given], aboard: &str, changed: &[String]) -> Section {
    let uncertain = given.iter().filter(|g| g.sd.is_some());
    let mut known =
        Table::new("What is uncertain", &[("number", false), ("value", true), ("± one standard deviation", true)]);
    for g in uncertain {
        known.row(vec![by_name(&g.key), words(&g.value), words(g.sd.clone().unwrap_or_default())]);
    }
    let mut rest = Table::new("Every number that a lap reads", &[("number", false), ("value", true)]);
    for g in given {
        rest.row(vec![by_name(&g.key), words(&g.value)]);
    }
    let any = given.iter().any(|g| g.sd.is_some());
    Section {
        id: "inputs".into(),
        title: "What went in".into(),
        body: html! {
            p { "The car as it laps, with " (aboard) " aboard." }
            @if !changed.is_empty() { p { "Changed for this page: " (changed.join(", ")) "." } }
            @if any { (known.html()) }
            @else { p.caution { "The car's file calls nothing uncertain, so that no result here carries a ±." } }
            details { summary { "Every number that a lap reads" } (rest.html()) }
            p.note { "Numbers that carry no ± count as exact. A dotted name is the number's key in the car's file, which a pointer shows for the others; mass and centre of gravity are as it laps." }
        },
    }
}

/// What people call it, its key where a pointer shows it; what has no name by its key.
fn by_name(key: &str) -> Cell {
    named(key).map_or_else(|| words(key), |name| words(sentence(name)).titled(key))
}

/// What the numbers leave out, and cautions; one more where brakes were set again.
pub fn limits(brakes: bool) -> Section {
    Section {
        id: "limits".into(),
        title: "What it leaves out".into(),
        body: html! { p { (NOT_MODELLED) } @if brakes { p.caution { (said(BRAKE_CAUTION)) } } p.caution { (CAUTION) } },
    }
}

/// The command, the files and the version.
pub fn again(command: &str, files: &[FileRead], version: &str) -> Section {
    let mut table = Table::new("Files read", &[("file", false), ("bytes", true), ("SHA-256", false)]);
    let mut shown: Vec<(String, u64, &str)> = Vec::new();
    for f in files {
        let row = (shareable(&f.path), f.bytes, f.sha256.as_str());
        if !shown.contains(&row) {
            shown.push(row);
        }
    }
    for (name, bytes, sha256) in shown {
        table.row(vec![words(name), number(bytes.to_string(), bytes as f64), words(sha256)]);
    }
    Section {
        id: "again".into(),
        title: "How to make it again".into(),
        body: html! {
            p { "unladen " (version) ", and the same files give this page to the byte:" }
            pre { code { (command) } }
            (table.html())
        },
    }
}

/// A path as it can be shown to strangers: as typed, of an absolute one its last two parts.
pub fn shareable(path: &Path) -> String {
    if path.is_relative() {
        return path.display().to_string();
    }
    let parts: Vec<_> = path.iter().map(|p| p.to_string_lossy().into_owned()).collect();
    parts[parts.len().saturating_sub(2).max(1).min(parts.len())..].join("/")
}

/// A word as a shell takes it.
pub fn quoted(word: &str) -> String {
    let plain = |c: char| c.is_alphanumeric() || "._-/=+,:%@".contains(c);
    if !word.is_empty() && word.chars().all(plain) {
        word.to_owned()
    } else {
        format!("'{}'", word.replace('\'', "'\\''"))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn closed_form_words_for_a_shell() {
        assert_eq!(
            (quoted("tracks/a.toml=3"), quoted("bonnet pins")),
            ("tracks/a.toml=3".into(), "'bonnet pins'".into())
        );
        assert_eq!(quoted("it's"), "'it'\\''s'");
        assert_eq!(quoted(""), "''");
    }

    #[test]
    fn property_no_folders_of_a_machine() {
        assert_eq!(shareable(Path::new("vehicles/saloon-awd")), "vehicles/saloon-awd");
        assert_eq!(shareable(Path::new("/home/jo/cars/mine/car.toml")), "mine/car.toml");
        assert_eq!(shareable(Path::new("/car.toml")), "car.toml");
    }
}
