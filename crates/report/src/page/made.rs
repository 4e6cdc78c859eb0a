//! What went in, what is left out, and how to make the page again.

use maud::html;

use crate::page::Section;
use crate::page::parts::{Table, number, words};
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

/// A file that was read.
#[derive(Clone, Debug, PartialEq)]
pub struct FileHash {
    /// Its name as typed, without a machine's folders.
    pub name: String,
    /// Its length, bytes.
    pub bytes: u64,
    /// SHA-256 of it, hexadecimal.
    pub sha256: String,
}

/// The inputs, with their ±.
pub fn inputs(given: &[Given], aboard: &str, changed: &[String]) -> Section {
    let uncertain = given.iter().filter(|g| g.sd.is_some());
    let mut known =
        Table::new("What is uncertain", &[("key", false), ("value", true), ("± one standard deviation", true)]);
    for g in uncertain {
        known.row(vec![words(&g.key), words(&g.value), words(g.sd.clone().unwrap_or_default())]);
    }
    let mut rest = Table::new("Every number that a lap reads", &[("key", false), ("value", true)]);
    for g in given {
        rest.row(vec![words(&g.key), words(&g.value)]);
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
            p.note { "Numbers that carry no ± count as exact. Keys are those of the car's file; mass and centre of gravity are as it laps." }
        },
    }
}

/// What the numbers leave out, and cautions; one more where brakes were set again.
pub fn limits(brakes: bool) -> Section {
    Section {
        id: "limits".into(),
        title: "What it leaves out".into(),
        body: html! { p { (NOT_MODELLED) } @if brakes { p.caution { (BRAKE_CAUTION) } } p.caution { (CAUTION) } },
    }
}

/// The command, the files and the version.
pub fn again(command: &str, files: &[FileHash], version: &str) -> Section {
    let mut table = Table::new("Files read", &[("file", false), ("bytes", true), ("SHA-256", false)]);
    for f in files {
        table.row(vec![words(&f.name), number(f.bytes.to_string(), f.bytes as f64), words(&f.sha256)]);
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
