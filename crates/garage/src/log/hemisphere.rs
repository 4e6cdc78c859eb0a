//! On which half of the earth a position is, where a column of letters or the column's own name says so, and degrees
//! that run together with their minutes. A road west of Greenwich or south of the equator is mirrored without.

use super::columns::Chosen;
use super::quantity::{DDMM, Quantity as Q};
use super::read::{Log, Note};
use super::sheet::{Sheet, fields};

/// Rows looked at.
const LOOK: usize = 400;

/// What letters stand for the positive and the negative half.
fn letters(q: Q) -> [[&'static str; 2]; 2] {
    match q {
        Q::Latitude => [["n", "north"], ["s", "south"]],
        _ => [["e", "east"], ["w", "west"]],
    }
}

fn sign(q: Q, cell: &str) -> Option<f64> {
    let plain = cell.to_lowercase();
    let [positive, negative] = letters(q);
    if positive.contains(&&plain[..]) { Some(1.0) } else { negative.contains(&&plain[..]).then_some(-1.0) }
}

/// The column that holds nothing but the letters of a quantity.
fn column(sheet: &Sheet, q: Q) -> Option<usize> {
    let rows: Vec<Vec<&str>> =
        sheet.text[sheet.start.0..].lines().take(LOOK).map(|l| fields(l, sheet.delimiter).collect()).collect();
    (0..sheet.names.len()).find(|c| {
        let cells = || rows.iter().filter_map(|r| r.get(*c)).filter(|f| !f.is_empty());
        cells().count() > 2 && cells().all(|f| sign(q, f).is_some())
    })
}

/// Whether the column's name or unit says the negative half.
fn says(sheet: &Sheet, c: &Chosen) -> bool {
    let head = sheet.heads[c.column].to_lowercase();
    let words: Vec<&str> = head.split(|c: char| !c.is_alphanumeric()).collect();
    let [positive, negative] = letters(c.quantity);
    let has = |all: [&'static str; 2]| all.iter().any(|w| words.contains(w));
    has(negative) && !has(positive)
}

/// Signs by letters; `lines` are the rows' lines.
pub(crate) fn signed(sheet: &Sheet, chosen: &[Chosen], lines: &[usize], columns: &mut [Vec<f64>]) -> Vec<Note> {
    let mut notes = Vec::new();
    for (c, values) in chosen.iter().zip(columns) {
        if !matches!(c.quantity, Q::Latitude | Q::Longitude) {
            continue;
        }
        let key = c.quantity.key();
        if let Some(side) = column(sheet, c.quantity) {
            let body: Vec<&str> = sheet.text[sheet.start.0..].lines().collect();
            for (value, line) in values.iter_mut().zip(lines) {
                let row = body.get(line - sheet.start.1).copied().unwrap_or("");
                if let Some(sign) = fields(row, sheet.delimiter).nth(side).and_then(|f| sign(c.quantity, f)) {
                    *value = sign * value.abs();
                }
            }
            let half = if c.quantity == Q::Latitude { "N or S" } else { "E or W" };
            notes.push(Note::new(format!("{key} has its sign by column {:?}, {half}", sheet.heads[side])));
        } else if says(sheet, c) && !values.iter().any(|x| *x < 0.0) {
            values.iter_mut().for_each(|x| *x = -*x);
            notes.push(Note::or(
                format!("{key} counts {} as positive, as its name says: turned round", letters(c.quantity)[1][1]),
                format!("--unit {key}=-deg"),
            ));
        }
    }
    notes
}

/// Degrees and minutes run together, taken apart.
pub(crate) fn apart(x: f64) -> f64 {
    let size = x.abs();
    ((size / 100.0).floor() + (size % 100.0) / 60.0).copysign(x)
}

/// Takes them apart where the unit says so, or where they are too large for degrees and all their minutes are below 60.
pub(crate) fn minutes(log: &mut Log, chosen: &[Chosen], notes: &mut Vec<Note>, units: &mut Vec<(Q, &'static str)>) {
    let both = [Q::Latitude, Q::Longitude];
    let unit = |q: Q| chosen.iter().find(|c| c.quantity == q).and_then(|c| c.unit);
    let told = both.map(|q| unit(q).is_some_and(|u| u.0 == DDMM));
    let unwritten = both.iter().all(|q| unit(*q).is_none());
    let fits = |(q, most): (Q, f64)| {
        let all = || log.channels.get(&q).into_iter().flatten().map(|x| x.abs()).filter(|x| x.is_finite());
        let large = all().any(|x| x > most);
        (all().all(|x| x < 100.0 * most + 60.0 && x % 100.0 < 60.0), large)
    };
    let [a, b] = [(Q::Latitude, 90.0), (Q::Longitude, 180.0)].map(fits);
    let seen = unwritten && a.0 && b.0 && (a.1 || b.1);
    for (q, told) in both.into_iter().zip(told) {
        if !told && !seen {
            continue;
        }
        if let Some(channel) = log.channels.get_mut(&q) {
            channel.iter_mut().for_each(|x| *x = apart(*x));
        }
        if !told {
            units.push((q, DDMM));
            let why = "too large for degrees, and the minutes stay below 60";
            notes.push(Note::or(format!("{} in {DDMM}: {why}", q.key()), format!("--unit {}=UNIT", q.key())));
        }
    }
}
