//! What `rank` prints: planned changes by lap time, for people.

use unladen_questions::rank::Answer;
use unladen_study::ledger::selection::LeftOut;
use unladen_study::rank::ranked::{Ranked, Whole};
use unladen_study::uncertainty::spread::{Difference, How};
use unladen_study::whole_percent;
use unladen_vehicle::entry::Entry;

use crate::lap::text::time_with_error;
use crate::ledger;
use crate::rank::best_set::pick_text;
use crate::rank::certainty::certainty;
use crate::words::change;
use crate::words::money::money;
use crate::words::number::{UNRESOLVED, decimals_for, fixed, percent, signed, with_error};
use crate::words::state;
use crate::words::table::{Align, Table, facts, paragraph, printable};
use crate::words::verdict::ranked as counted;
use crate::worth::text as worth_text;

/// What the numbers count and what they don't.
pub const COUNTED: &str = "Counted are masses, where they are, and what turns. A row that also changes ratios, grip, \
    brakes or air is worth more or less than this says, unless its `becomes` names the car file that has it. What a car must \
    have one of is marked `one_of` in the ledger; without the mark nothing here knows that a car must have a tank.";

/// The whole text.
pub fn rank_text(v: &Answer) -> String {
    let f = &v.found;
    let mut out = paragraph(&format!("{} on {}", printable(&v.car), tracks(v)));
    let mut lines = vec![
        ("the car", state::state(&v.state)),
        ("lap time", time_with_error(f.lap_time_s, f.lap_time_error_s, None)),
    ];
    if let Some(tuned) = &f.retuned {
        lines.push(("re-tuned", retuned(tuned)));
    }
    out += &format!("\n{}\n{}", facts(&lines), gains(v));
    out += &format!("\n{}", prices(v));
    out += &format!("\n{}", origins(v));
    out += &format!("\n{}", certainty(v));
    for whole in [&f.planned, &f.ideas].into_iter().flatten() {
        out += &format!("\n{}", together(whole));
    }
    if let Some(picked) = &f.within_budget {
        out += &format!("\n{}", pick_text(v, picked));
    }
    out += &format!("\n{}", left_out(v));
    out += &paragraph(COUNTED);
    out += &format!("\n{}", paragraph(worth_text::NOT_MODELLED));
    out + "\n" + &paragraph(ledger::text::CAUTION) + "\n" + &paragraph(worth_text::CAUTION)
}

/// The tracks, with their shares where there are several.
pub(crate) fn tracks(v: &Answer) -> String {
    let words = match &v.found.tracks[..] {
        [(only, _)] => only.clone(),
        several => {
            let shares: Vec<f64> = several.iter().map(|t| t.1).collect();
            let each =
                whole_percent(&shares).into_iter().zip(several).map(|(share, (name, _))| format!("{share} % {name}"));
            each.collect::<Vec<_>>().join(", ")
        }
    };
    printable(&words)
}

fn retuned(tuned: &unladen_study::retune::Retuned) -> String {
    let set = |what: &str, from: f64, to: f64| format!("{what} {} to {}", fixed(from, 3), fixed(to, 3));
    let (from, to) = (&tuned.as_set, &tuned.settings);
    let mut parts = Vec::new();
    if tuned.free[0] {
        parts.push(set("front share of roll stiffness", from.chi, to.chi));
    }
    if tuned.free[1] {
        parts.push(set("front share of brakes", from.beta_f, to.beta_f));
    }
    if parts.is_empty() {
        return "nothing can be set: car.toml's [limits] gives no range".into();
    }
    format!("{} gains {} s before anything else changes", parts.join(", "), with_error(tuned.gain_s(), 1e-4))
}

/// Candidates and yardsticks, most gained first; those without a resolved difference last.
pub(crate) fn ordered(v: &Answer) -> Vec<&Ranked> {
    let mut all: Vec<&Ranked> = v.found.items.iter().chain(&v.found.yardsticks).collect();
    let by = |a: &&Ranked, b: &&Ranked| {
        b.resolved().cmp(&a.resolved()).then(counted(b).quicker_s.total_cmp(&counted(a).quicker_s))
    };
    all.sort_by(by);
    all
}

/// What it is called, with what comes along.
pub fn title(item: &Ranked, entries: &[Entry]) -> String {
    let with: Vec<&str> = item.with.iter().map(|&i| entries[i].item.as_str()).collect();
    let name = printable(&item.name);
    match with[..] {
        [] => name,
        [one] => format!("{name}, with {}", printable(one)),
        _ => format!("{name}, with {} more rows", with.len()),
    }
}

/// A place, or from which to which it may be.
pub fn place(places: Option<[usize; 2]>) -> String {
    match places {
        None => String::new(),
        Some([a, b]) if a == b => a.to_string(),
        Some([a, b]) => format!("{a}–{b}"),
    }
}

fn seconds(value: f64, like: f64) -> String {
    signed(&fixed(value, decimals_for(like.max(1e-4)).clamp(3, 4)))
}

fn interval(d: &Difference) -> String {
    let like = d.interval[1] - d.interval[0];
    match d.how {
        How::Certain => String::new(),
        _ => format!("{} to {}", seconds(d.interval[0], like), seconds(d.interval[1], like)),
    }
}

fn gains(v: &Answer) -> String {
    let tuned = v.found.retuned.as_ref().is_some_and(|t| t.free.contains(&true));
    let mut columns = vec![
        ("place", Align::Left),
        ("what", Align::Left),
        ("kg", Align::Point),
        ("gains, s", Align::Point),
        ("90 %", Align::Left),
    ];
    if tuned {
        columns.push(("re-tuned, s", Align::Point));
    }
    let mut table = Table::new(&columns);
    for item in ordered(v) {
        let kg = if item.kg == 0.0 { String::new() } else { signed(&fixed(item.kg, 1)) };
        let name = title(item, &v.entries);
        if !item.resolved() {
            table.row(&[String::new(), name, kg, UNRESOLVED.to_owned()]);
            continue;
        }
        let d = &item.gain;
        let like = if d.sd > 0.0 { d.interval[1] - d.interval[0] } else { item.error_s };
        let retuned = item.retuned_s.map_or_else(String::new, |s| seconds(s, like));
        table.row(&[place(item.places), name, kg, seconds(d.gain, like), interval(d), retuned]);
    }
    let mut words = "Places that overlap can't be told apart. What has no place is there for scale.".to_owned();
    if tuned {
        words +=
            " As set: nothing else changes. Re-tuned: with what [limits] of car.toml lets be set, before and after.";
    }
    table.text(0) + &paragraph(&words)
}

fn prices(v: &Answer) -> String {
    let hundred = format!("s for {}", money(100.0, Some(v.money.as_deref().unwrap_or("money"))));
    let mut table = Table::new(&[
        ("what", Align::Left),
        ("s for 10 kg", Align::Point),
        (&hundred, Align::Point),
        ("s an hour", Align::Point),
        ("like kg off", Align::Point),
        ("laps a side", Align::Right),
    ]);
    for item in ordered(v).into_iter().filter(|i| i.resolved()) {
        let gain = item.gain.gain;
        let per = |of: Option<f64>, unit: f64| {
            of.filter(|of| *of > 0.0).map_or_else(String::new, |of| signed(&with_error(gain / of * unit, 1e-4)))
        };
        let mass = (item.kg.abs() > 0.05).then(|| signed(&with_error(-gain / item.kg * 10.0, 1e-4)));
        let laps = change::laps(v.stopwatch.whole_laps(gain));
        table.row(&[
            title(item, &v.entries),
            mass.unwrap_or_default(),
            per(item.cost, 100.0),
            per(item.hours, 1.0),
            item.kg_equivalent.map_or_else(String::new, |kg| fixed(kg, 1)),
            laps,
        ]);
    }
    table.text(0) + &paragraph(&stopwatch(v))
}

fn stopwatch(v: &Answer) -> String {
    const FEW: u32 = 5;
    let watch = &v.stopwatch;
    let assumed = if v.spread_assumed { " (assumed, no source: give your own with --lap-spread)" } else { "" };
    let seen = watch.smallest(FEW);
    let mut words = format!(
        "Laps a side: how many laps with and without it show it on the stopwatch, if laps of one car scatter by {} s{assumed} \
         (two-sample t, {} chance of seeing it, {} of seeing what is not there). {FEW} laps a side show {} s or more",
        fixed(watch.spread_s, 2),
        percent(watch.power),
        percent(watch.significance),
        fixed(seen, 2)
    );
    if let Some(yard) = v.found.yardsticks.first().filter(|y| y.resolved() && y.gain.gain > 0.0) {
        let dose = (seen / (yard.gain.gain / -yard.kg) / 5.0).ceil() * 5.0;
        if dose < 0.5 * v.found.mass_kg {
            words += &format!(
                "; {} kg of ballast do that, well tied down, and tell whether the rest is right",
                fixed(dose, 0)
            );
        }
    }
    words + "."
}

fn origins(v: &Answer) -> String {
    let mut table = Table::new(&[
        ("ms", Align::Left),
        ("mass", Align::Point),
        ("height", Align::Point),
        ("split", Align::Point),
        ("turning", Align::Point),
        ("corners", Align::Point),
        ("braking", Align::Point),
        ("driving", Align::Point),
        ("top speed", Align::Point),
    ]);
    let decimals = usize::from(v.found.items.iter().all(|i| i.gain.gain.abs() < 0.02));
    let ms = |s: f64, item: &Ranked| {
        let text = fixed(s * 1e3, decimals);
        if s.abs() < 0.25 * item.error_s.max(1e-4) { "0".into() } else { signed(&text) }
    };
    for item in ordered(v).into_iter().filter(|i| i.resolved() && i.sources.is_some()) {
        let mut cells = vec![title(item, &v.entries)];
        if let Some(s) = item.sources {
            cells.extend([s.mass_s, s.height_s, s.split_s, s.turning_s].map(|s| ms(s, item)));
        }
        cells.extend(item.phases.map(|s| ms(s, item)));
        table.row(&cells);
    }
    let words = "Thousandths of a second: by less mass, a lower centre of gravity, its place in plan, less that turns; and where on the \
        lap, by what the car does there before the change (top speed: within 3 % of the lap's highest).";
    table.text(0) + &paragraph(words)
}

fn together(whole: &Whole) -> String {
    let all = &whole.all;
    let (name, kg) = (&all.name, signed(&fixed(all.kg, 1)));
    if !all.resolved() {
        return paragraph(&format!("{name}: {kg} kg, {UNRESOLVED}."));
    }
    let like = all.gain.interval[1] - all.gain.interval[0];
    let verb = if all.gain.gain >= 0.0 { "gains" } else { "costs" };
    let mut words = format!("{name}: {kg} kg, {verb} {} s", seconds(all.gain.gain.abs(), like).trim_start_matches('+'));
    if all.gain.sd > 0.0 {
        words += &format!(" ({})", interval(&all.gain));
    }
    if let Some(retuned) = all.retuned_s {
        words += &format!(", re-tuned {} s", seconds(retuned, like));
    }
    let more = all.gain.gain - whole.sum_s;
    words += &format!(
        ". With every number as the files have it, its parts one by one add up to {} s, and all together gain {} s",
        signed(&fixed(whole.sum_s, 4)),
        signed(&fixed(all.gain.gain, 4))
    );
    words += &if more.abs() > all.error_s {
        format!(": {} s {}.", fixed(more.abs(), 4), if more > 0.0 { "more" } else { "less" })
    } else {
        format!(": {UNRESOLVED}.")
    };
    paragraph(&words)
}

fn name(v: &Answer, row: usize) -> String {
    printable(&v.entries[row].item)
}

fn left_out(v: &Answer) -> String {
    let mut out = String::new();
    let planned = v.found.planned.as_ref().map_or(&[][..], |w| &w.left_out[..]);
    let name = |i: usize| printable(&v.entries[i].item);
    let words = |why: LeftOut| match why {
        LeftOut::Excluded { by } => format!("can't be together with {}", name(by)),
        LeftOut::Unmet { needs } => format!("needs {}", name(needs)),
        LeftOut::Group { with } => format!("happens together with {}, which can't be", name(with)),
    };
    for (name, rows) in &v.comes_with {
        let options: Vec<String> = rows.iter().map(|&r| self::name(v, r)).collect();
        out += &paragraph(&format!("Not alone: {} comes with {}.", printable(name), options.join(" or ")));
    }
    for (row, why) in &v.left_out {
        out += &paragraph(&format!("Left out: {} {}.", name(*row), words(*why)));
    }
    for (row, why) in planned.iter().filter(|(row, _)| v.left_out.iter().all(|l| l.0 != *row)) {
        out += &paragraph(&format!("Not in what is planned: {} {}.", name(*row), words(*why)));
    }
    out
}
