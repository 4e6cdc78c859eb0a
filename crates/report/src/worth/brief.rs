//! What a kilogram and a millimetre are worth, with the answer first.

use unladen_questions::advised;
use unladen_study::{Quantity, Worth};

use crate::draw::header::sentence;
use crate::words::brief::Brief;
use crate::words::change::Change;
use crate::words::number::{fixed, lap_time, resolved};
use crate::words::sure::unknown::shared;
use crate::words::table::{Align, Table, printable};
use crate::words::verdict::of_worth;
use crate::worth::Sanity;

/// Caveats that are shown; `--detail` has all.
const CAVEATS: usize = 1;
/// Tracks that are shown one by one.
const TRACKS: usize = 6;

/// The text.
pub fn worth_brief(car: &str, state: &str, tracks: &[Worth], mix: &Worth, next: Option<String>) -> String {
    let about = format!("{car} on {}. {state}", mix.track);
    let mut brief =
        Brief::new(&of_worth(mix), &about).table(&changes(mix)).note("CG: the centre of gravity.").table(&places(mix));
    if tracks.len() > 1 {
        brief = brief.table(&each(tracks));
    }
    let of = |figure: usize| {
        let mut all: Vec<(&str, f64)> = mix.hangs_on.iter().map(|w| (w.key.as_str(), w.shares[figure])).collect();
        all.sort_by(|a, b| b.1.total_cmp(&a.1));
        shared(all.into_iter())
    };
    let by = of(0).map_or_else(String::new, |words| format!("; it hangs on {words}"));
    brief = brief.perhaps("hangs on", of(1)).fact("lap time", format!("{}{by}", time(mix)));
    brief = brief.perhaps("measure", next);
    let sanity = Sanity::of(mix.elasticity);
    if sanity != Sanity::Inside {
        brief = brief.fact("check", sanity.words().trim_start_matches("CHECK: "));
    }
    let several = tracks.len() > 1;
    let all: Vec<String> = tracks
        .iter()
        .flat_map(|w| w.caveats.iter().map(move |c| (w, c)))
        .map(|(w, c)| if several { format!("{}: {}", w.track, advised(c)) } else { advised(c) })
        .collect();
    for words in all.iter().take(CAVEATS) {
        brief = brief.fact("warning", printable(words));
    }
    if all.len() > CAVEATS {
        brief = brief.fact("warning", format!("{} more by --detail", all.len() - CAVEATS));
    }
    brief.of_laps().text()
}

fn time(w: &Worth) -> String {
    let digits = if w.lap_time_interval_s.is_some() { 2 } else { 3 };
    let text = |s: f64| lap_time(s, digits);
    match w.lap_time_interval_s {
        Some([low, high]) => {
            format!("{} (90 %: {} to {})", text(w.lap_time_s), text(low).trim_end_matches(" s"), text(high))
        }
        None => format!("{}; nothing in the files has a ±", text(w.lap_time_s)),
    }
}

/// A step, what it does, and within what.
fn row(table: &mut Table, words: &str, change: &Change) {
    let range = change.range().unwrap_or_default();
    table.row(&[words.to_owned(), change.cell(), range]);
}

fn changes(w: &Worth) -> Table {
    let mut table = Table::new(&[("what changes", Align::Left), ("a lap is", Align::Point), ("90 %", Align::Left)]);
    let all: [(&Quantity, [&str; 2]); 4] = [
        (&w.s_per_kg, ["10 kg more, at the CG", "10 kg less, at the CG"]),
        (&w.s_per_mm_height, ["CG 10 mm higher", "CG 10 mm lower"]),
        (&w.s_per_mm_rearward, ["CG 10 mm further back", "CG 10 mm further forward"]),
        (&w.s_per_mm_right, ["CG 10 mm to the right", "CG 10 mm to the left"]),
    ];
    for (q, [more, less]) in all {
        match q.one_sided {
            None => row(&mut table, more, &Change::by(q, 10.0)),
            Some((minus, plus)) => {
                row(&mut table, more, &Change::by(&Quantity::new(plus, q.error), 10.0));
                row(&mut table, less, &Change::by(&Quantity::new(minus, q.error), -10.0));
            }
        }
    }
    table
}

/// `12.4`, in thousandths of a second.
fn ms(q: &Quantity) -> [String; 2] {
    let text = |s: f64| {
        let text = fixed(1e3 * s.abs(), 1);
        if s < 0.0 && text != "0.0" { format!("{text} less") } else { text }
    };
    match (q.one_sided, resolved(q.value, q.error)) {
        (Some((minus, plus)), _) => [format!("{} put on, {} off", text(plus), text(minus)), String::new()],
        (None, false) => ["–".into(), String::new()],
        (None, true) => {
            [text(q.value), q.interval.map_or_else(String::new, |[a, b]| format!("{} to {}", text(a), text(b)))]
        }
    }
}

fn places(w: &Worth) -> Table {
    let mut table = Table::new(&[
        ("1 kg here costs, ms a lap", Align::Left),
        ("", Align::Point),
        ("90 %", Align::Left),
        ("mm back, right, up", Align::Left),
    ]);
    let mut all: Vec<_> = w.places.iter().collect();
    all.sort_by(|a, b| b.s_per_kg.value.total_cmp(&a.s_per_kg.value));
    for p in all {
        let [cost, range] = ms(&p.s_per_kg);
        let [x, y, z] = p.spot.at.map(|m| fixed(m * 1e3, 0));
        table.row(&[sentence(&p.spot.name), cost, range, format!("{x}, {y}, {z}")]);
    }
    table
}

fn each(tracks: &[Worth]) -> Table {
    let mut table = Table::new(&[
        ("track", Align::Left),
        ("lap", Align::Left),
        ("ms a kg", Align::Point),
        ("ms a mm up", Align::Point),
        ("ms a mm back", Align::Point),
    ]);
    for w in tracks.iter().take(TRACKS) {
        let [kg, up, back] = [&w.s_per_kg, &w.s_per_mm_height, &w.s_per_mm_rearward].map(|q| ms(q)[0].clone());
        table.row(&[w.track.clone(), lap_time(w.lap_time_s, 2), kg, up, back]);
    }
    table
}
