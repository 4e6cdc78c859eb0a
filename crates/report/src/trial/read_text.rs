//! What `trial read` prints.

use unladen_garage::written;
use unladen_questions::trial::read::Answer;
use unladen_study::trial::laps::{Less, Lesser};
use unladen_study::trial::order::letters;
use unladen_study::trial::verdict::Verdict;

use crate::trial::learnt::learnt;
use crate::trial::words::{days, gain};
use crate::words::number::{fixed, lap_time, percent, signed, with_sd};
use crate::words::table::{Align, Table, facts, paragraph, printable};

/// The verdict and both sides of it.
pub fn verdict(v: &Answer) -> String {
    let (p, r) = (&v.predicted, &v.reading);
    let predicted = gain(p.gain_s, p.sd_s, p.interval);
    let measured = gain(r.gain_s, r.error_s, r.interval);
    let change = printable(&v.sealed.change);
    match v.judged.verdict {
        Verdict::Confirmed => format!("Confirmed: {change} made the car {measured}; predicted {predicted}."),
        Verdict::Contradicted => format!(
            "Contradicted: {change} made the car {measured}; predicted {predicted}. Nine in ten right predictions come nearer than this."
        ),
        Verdict::NotSeen { could: false } => format!(
            "Not seen, and could not have been with these laps: {change} made the car {measured}; predicted {predicted}, \
             which such laps show on {}.",
            days(v.judged.power)
        ),
        Verdict::NotSeen { could: true } => format!(
            "Not seen, though such laps would show it on {}: {change} made the car {measured}; predicted {predicted}. \
             More laps would settle it.",
            days(v.judged.power)
        ),
    }
}

/// What was driven and what it is worth.
pub(crate) fn driven(v: &Answer) -> Vec<(&'static str, String)> {
    let r = &v.reading;
    let drift = r.drift_s_per_h.iter().map(|d| signed(&fixed(*d, 2))).collect::<Vec<_>>().join(", ");
    let wear =
        r.wear_s_per_lap.map_or_else(String::new, |w| format!("; {} s a lap within a run", signed(&fixed(w, 3))));
    vec![
        (
            "laps",
            format!(
                "{} without and {} with it count, of {} driven; they are worth {:.0} that know nothing of each other",
                r.laps[0],
                r.laps[1],
                v.laps.len(),
                r.effective
            ),
        ),
        (
            "scatter",
            format!(
                "{} s a lap, {:.0} degrees of freedom left; a lap leans on the one before by {}, a stop changes {} s",
                fixed(r.scatter_s, 2),
                r.freedom,
                fixed(r.leans, 2),
                fixed(r.stop_s, 2)
            ),
        ),
        ("track", format!("{drift} s an hour{wear}")),
        (
            "fuel",
            format!(
                "corrected by {} s a kilogram (one standard deviation)",
                with_sd(v.sealed.s_per_kg.value, v.sealed.s_per_kg.sd)
            ),
        ),
        (
            "a stopwatch",
            format!(
                "best against best says {} s, mean against mean {} s: neither knows of drift, traffic or fuel",
                signed(&fixed(r.best_s, 2)),
                signed(&fixed(r.mean_s, 2))
            ),
        ),
    ]
}

fn why(l: &Lesser) -> String {
    match l.why {
        Less::Out => "out-lap".into(),
        Less::In => "in-lap".into(),
        Less::Off(by) => {
            let way = if by > 0.0 { "slower: traffic or a mistake" } else { "quicker: timed wrongly, or a tow" };
            format!("{} s {way}", fixed(by.abs(), 1))
        }
    }
}

/// Laps that count less, each with its reason.
pub(crate) fn lesser(v: &Answer) -> Table {
    let columns = [
        ("run", Align::Left),
        ("lap", Align::Right),
        ("time", Align::Right),
        ("counts", Align::Right),
        ("because it is", Align::Left),
    ];
    let mut table = Table::new(&columns);
    for l in &v.reading.lesser {
        let lap = &v.laps[l.lap];
        let side = if lap.changed { "B" } else { "A" };
        let run: String = v.runs.get(lap.run).map_or("", String::as_str).chars().take(24).collect();
        let (number, time) = ((lap.lap + 1).to_string(), lap_time(lap.time_s, 2));
        table.row(&[format!("{run} ({side})"), number, time, percent(l.weight), why(l)]);
    }
    table
}

/// Where on the lap, beside what was predicted.
pub(crate) fn along(v: &Answer) -> Option<Table> {
    let found = v.along.as_ref()?;
    let mut table = Table::new(&[
        ("from", Align::Right),
        ("to, m", Align::Right),
        ("gained, s", Align::Point),
        ("90 %", Align::Left),
        ("predicted", Align::Point),
        ("", Align::Left),
    ]);
    for (s, (name, [from, to], predicted)) in found.iter().zip(&v.sealed.stretches) {
        let end = |x: f64| signed(&fixed(x, 2));
        table.row(&[
            fixed(*from, 0),
            fixed(*to, 0),
            signed(&fixed(s.gain_s, 3)),
            format!("{} to {}", end(s.interval[0]), end(s.interval[1])),
            signed(&fixed(*predicted, 3)),
            name.as_deref().unwrap_or_default().chars().take(20).collect(),
        ]);
    }
    Some(table)
}

/// Rows of a table that are shown without `--detail`.
const FEW: usize = 6;

/// The whole text; all of it with `detail`.
pub fn read_text(v: &Answer, detail: bool) -> String {
    let s = &v.sealed;
    let names = [&s.name, &s.car, &s.track].map(|name| printable(name));
    let [name, car, track] = &names;
    let mut out = paragraph(&format!("{name}: {car} on {track}, sealed for {}, {}", written(s.day), letters(&s.order)));
    out += &format!("\n{}\n{}", paragraph(&verdict(v)), facts(&driven(v)));
    let table = lesser(v).text(0);
    let rows = v.reading.lesser.len();
    if rows > 0 {
        let shown = if detail { usize::MAX } else { FEW };
        out += "\n";
        table.lines().take(shown.saturating_add(1)).for_each(|line| out += &format!("{line}\n"));
        if rows > shown {
            out += &format!("and {} more: --detail names them\n", rows - shown);
        }
    }
    if let Some(table) = along(v) {
        out += &format!("\n{}", table.text(0));
    }
    if !v.learnt.is_empty() {
        let table = learnt(&v.learnt).text(0);
        out += "\n";
        table.lines().take(if detail { usize::MAX } else { FEW }).for_each(|line| out += &format!("{line}\n"));
        out += "Nothing is written unless you say --into.\n";
    }
    if !v.changed.is_empty() {
        let names = v.changed.join(", ");
        out += &format!(
            "\n{}",
            paragraph(&format!("Changed since the seal: {names}. The prediction is what was sealed."))
        );
    }
    out
}
