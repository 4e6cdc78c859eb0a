//! What `trial diary` prints.

use unladen_garage::trial::sealed::ReadResult;
use unladen_garage::written;
use unladen_questions::trial::diary::{Answer, Stands};
use unladen_study::trial::diary::{Diary, Entry, Sure};

use crate::words::number::{fixed, signed, with_sd};
use crate::words::table::{Align, Table, paragraph, printable};

/// How predictions have done, in a sentence or two.
pub fn verdict(v: &Answer) -> String {
    let open = v.lines.iter().filter(|l| l.stands == Stands::Open).count();
    let left = match open {
        0 => String::new(),
        1 => " One trial whose day is over has no result: read it.".into(),
        n => format!(" {n} trials whose day is over have no result: read them."),
    };
    let Some(d) = &v.diary else { return format!("Nothing was read yet: {} sealed.{left}", v.lines.len()) };
    let count = if d.count == 1 { "1 prediction".to_owned() } else { format!("{} predictions", d.count) };
    format!("Of {count} {} held; {}.{left}", d.held, sure(d))
}

fn sure(d: &Diary) -> String {
    let [low, high] = d.between.map(|x| fixed(x, 1));
    let misses = format!("misses are {} times as large as they said (90 %: {low} to {high})", fixed(d.misses, 1));
    match d.sure {
        Sure::TooSure => format!("yours are too sure: {misses}"),
        Sure::NotSureEnough => format!("yours could be surer: {misses}"),
        Sure::Fair if d.count < 5 => format!("too few to say whether they are too sure: {misses}"),
        Sure::Fair => format!("that goes with nine in ten: {misses}"),
    }
}

fn word(result: &ReadResult, entry: &Entry) -> String {
    let verdict = if result.verdict.starts_with("not_seen") { "not seen" } else { result.verdict.as_str() };
    format!("{verdict}{}", if entry.held() { "" } else { ", not held" })
}

/// The whole text.
pub fn diary_text(v: &Answer) -> String {
    let mut out = paragraph(&verdict(v));
    let mut table = Table::new(&[
        ("day", Align::Left),
        ("trial", Align::Left),
        ("predicted, s", Align::Point),
        ("measured, s", Align::Point),
        ("", Align::Left),
    ]);
    for line in &v.lines {
        let s = &line.sealed;
        let (measured, word) = match &line.stands {
            Stands::Read(r, e) => (signed(&with_sd(r.gain.value, r.gain.sd)), word(r, e)),
            Stands::ToCome => (String::new(), "to come".into()),
            Stands::Open => (String::new(), "not read".into()),
        };
        let name: String = s.name.chars().take(24).collect();
        table.row(&[written(s.day), name, signed(&with_sd(s.gain.value, s.gain.sd)), measured, word]);
    }
    if !v.lines.is_empty() {
        out += &format!("\n{}Gains: positive is quicker; ± is one standard deviation.\n", table.text(0));
    }
    if let Some(d) = &v.diary {
        let score = format!(
            "A prediction misses by {} s in the mean (continuous ranked probability score); predicting no difference every time would miss by {} s.",
            fixed(d.crps_s, 3),
            fixed(d.crps_of_none_s, 3)
        );
        out += &format!("\n{}", paragraph(&score));
    }
    for fault in &v.faults {
        out += &format!("\n{}", paragraph(&format!("Not counted: {}", printable(&fault.to_string()))));
    }
    out
}
