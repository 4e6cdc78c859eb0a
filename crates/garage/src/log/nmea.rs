//! A receiver's own sentences (NMEA 0183): the fixes of RMC and GGA as a table with a row a time.

use std::fmt::Write;

use super::read::Note;

/// A fix under way.
#[derive(Default)]
struct Fix<'a> {
    time: &'a str,
    /// Latitude, its letter, longitude, its letter.
    at: [&'a str; 4],
    knots: &'a str,
    height: &'a str,
}

/// Whether the characters between `$` and `*` add up to what stands behind it (exclusive or of all); one without is
/// believed.
fn sound(sentence: &str) -> Option<&str> {
    let body = sentence.trim().strip_prefix('$')?;
    let Some((body, sum)) = body.split_once('*') else { return Some(body) };
    let own = body.bytes().fold(0u8, |a, b| a ^ b);
    (u8::from_str_radix(sum.get(..2)?, 16) == Ok(own)).then_some(body)
}

/// The table, how many fixes it has, and what was made of it; `None` for a text of something else.
pub(crate) fn table(text: &str) -> Option<(String, usize, Note)> {
    let head: Vec<&str> = text.lines().filter(|l| !l.trim().is_empty()).take(20).collect();
    let sentences = head.iter().filter(|l| l.trim_start().starts_with('$') && l.contains(',')).count();
    if head.len() < 3 || 2 * sentences < head.len() {
        return None;
    }
    let mut out =
        String::from("UTC (hhmmss),Latitude (ddmm.mmmm),N/S,Longitude (ddmm.mmmm),E/W,Speed (kn),Altitude (m)\n");
    let (mut fix, mut rows, mut broken) = (Fix::default(), 0, 0);
    let mut put = |fix: &Fix, out: &mut String| {
        if fix.at.iter().all(|f| !f.is_empty()) {
            rows += 1;
            let [lat, ns, lon, ew] = fix.at;
            let _ = writeln!(out, "{},{lat},{ns},{lon},{ew},{},{}", fix.time, fix.knots, fix.height);
        }
    };
    for line in text.lines().filter(|l| l.trim_start().starts_with('$')) {
        let Some(body) = sound(line) else {
            broken += 1;
            continue;
        };
        let f: Vec<&str> = body.split(',').collect();
        let kind = f[0].get(2..).unwrap_or("");
        let (from, valid) = match kind {
            "RMC" if f.len() > 7 => (3, f[2] == "A"),
            "GGA" if f.len() > 9 => (2, f[6] != "0"),
            _ => continue,
        };
        if f[1] != fix.time {
            put(&fix, &mut out);
            fix = Fix { time: f[1], ..Fix::default() };
        }
        if valid {
            fix.at = [f[from], f[from + 1], f[from + 2], f[from + 3]];
            if kind == "RMC" { fix.knots = f[7] } else { fix.height = f[9] }
        }
    }
    put(&fix, &mut out);
    let lost = if broken > 0 { format!(", {broken} sentences broken") } else { String::new() };
    Some((out, rows, Note::new(format!("a receiver's sentences, RMC and GGA: {rows} fixes{lost}"))))
}
