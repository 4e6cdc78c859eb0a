//! What must be set again, with the answer first.

use unladen_questions::reset::Answer;
use unladen_study::ledger::reset::Stage;

use crate::draw::header::sentence;
use crate::reset::text::{CAUTION, lock_words, rear_first, rise_of, unsafe_rear};
use crate::words::aboard::aboard;
use crate::words::brief::Brief;
use crate::words::number::{fixed, signed};
use crate::words::table::{Align, Table};
use crate::words::tuned::tuned;
use crate::words::verdict::of_reset;

/// The text.
pub fn reset_brief(v: &Answer) -> String {
    let mut brief =
        Brief::new(&of_reset(v), &format!("{}, with {} aboard.", v.car, aboard(v.aboard))).table(&stages(v));
    if let Some(first) = v.stages.first() {
        for s in &v.stages[1..] {
            brief = brief.perhaps("ride height", rise_of(first, s).map(|words| format!("{}: {words}", s.name)));
        }
    }
    let over: Vec<String> = v
        .limits
        .iter()
        .filter(|c| c.load > c.most || c.least.is_some_and(|least| c.load < least))
        .map(|c| match c.least.filter(|least| c.load < *least) {
            Some(least) => format!("{}, {}: {} kg, below {}", c.what, c.stage, fixed(c.load, 1), fixed(least, 0)),
            None => format!("{}, {}: {} kg, above {}", c.what, c.stage, fixed(c.load, 1), fixed(c.most, 0)),
        })
        .collect();
    if !v.limits.is_empty() {
        brief = brief.fact("your limits", if over.is_empty() { "all are kept".to_owned() } else { over.join("; ") });
    }
    if let Some(t) = &v.tuned {
        let words: Vec<String> = t.stages.iter().map(|(name, r)| tuned(&sentence(name), r)).collect();
        brief = brief.fact("set for", format!("{}. {}.", t.tracks, words.join(". ")));
    }
    if let Some(words) = rear_first(v) {
        brief = brief.safety(&words);
    }
    brief.safety(CAUTION).text()
}

fn stages(v: &Answer) -> Table {
    let names: Vec<String> = v.stages.iter().map(|s| sentence(s.name)).collect();
    let mut columns = vec![("", Align::Left)];
    columns.extend(names.iter().map(|name| (name.as_str(), Align::Point)));
    let mut table = Table::new(&columns);
    let mut row = |name: &str, cell: &dyn Fn(&Stage) -> String| {
        let mut cells = vec![name.to_owned()];
        cells.extend(v.stages.iter().map(cell));
        if cells.iter().skip(1).any(|c| !c.is_empty()) {
            table.row(&cells);
        }
    };
    row("mass, kg", &|s| fixed(s.mass, 1));
    row("front axle, kg", &|s| fixed(s.axles[0], 1));
    row("rear axle, kg", &|s| fixed(s.axles[1], 1));
    row("front rises by, mm", &|s| s.rise.map_or_else(String::new, |r| signed(&fixed(r[0] * 1e3, 1))));
    row("rear rises by, mm", &|s| s.rise.map_or_else(String::new, |r| signed(&fixed(r[1] * 1e3, 1))));
    row("CG up, mm", &|s| fixed(1e3 * s.risen, 1));
    row("locks first, dry", &|s| lock_words(s.locks[0]));
    row("locks first, wet", &|s| lock_words(s.locks[1]));
    row("brakes' front share", &|_| fixed(v.brakes.beta_f, 3));
    row("it must be at least", &|s| {
        let due = s.share_due.map_or_else(|| "none will do".into(), |due| fixed((1e3 * due).ceil() / 1e3, 3));
        if unsafe_rear(s) { due } else { format!("{due}, is") }
    });
    table
}
