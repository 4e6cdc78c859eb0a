//! What `ledger` prints: where the mass budget stands, for people.

use unladen_garage::written;
use unladen_questions::ledger::{Answer, Load, Otherwise};
use unladen_study::ledger::budget::{ASSUMED, Blame, MassState, Tally};
use unladen_study::ledger::selection::LeftOut;
use unladen_vehicle::entry::{Origin, State};

use crate::words::aboard::aboard;
use crate::words::money::money;
use crate::words::number::{counted, fixed, percent, signed, with_sd};
use crate::words::table::{Align, Table, facts, paragraph, printable};

/// Said once.
pub const CAUTION: &str = "A kilogram that carries loads, brakes, steers, restrains or keeps fuel in is not one to save by guess: \
    structure, brakes, driveline, restraints and fuel system are work for, or to be checked by, a licensed workshop, under the \
    rules of your series and your country.";

/// The whole text.
pub fn budget_text(v: &Answer) -> String {
    let head = format!("{}: the mass budget, with {} aboard", printable(&v.car), aboard(v.aboard));
    let mut out = paragraph(&head) + "\n";
    out += &standings(v);
    out += &format!("\n{}", target(v));
    out += &format!("\n{}", tallies(v));
    out += &format!("\n{}", areas(v).text(0));
    out += "\n";
    if let Some(words) = sources(v) {
        out += &paragraph(&format!("Of the plans that can be together: {words}."));
    }
    if let Some(words) = blame(v) {
        out += &paragraph(&format!("Where the ± of the mass as it stands now comes from: {words}."));
    }
    let notes = notes(v);
    if !notes.is_empty() {
        out += &format!("\n{notes}");
    }
    out + "\n" + &paragraph(CAUTION)
}

/// The car as it was weighed, stands and will: with its sides (`wide`) or without.
pub(crate) fn standings_table(v: &Answer, wide: bool) -> Table {
    let b = &v.budget;
    let heads = ["", "kg", "front", "left", "mm back", "mm right", "mm up"];
    let kept = |i: &usize| wide || !matches!(heads[*i], "left" | "mm right");
    let align = |i: usize| (heads[i], if i == 0 { Align::Left } else { Align::Point });
    let mut table = Table::new(&(0..heads.len()).filter(kept).map(align).collect::<Vec<_>>());
    let weighed = weighed(v);
    for (name, s) in [
        (weighed.as_str(), &b.weighed),
        ("now", &b.now),
        ("with measured plans", &b.measured),
        ("with all plans", &b.planned),
        ("with ideas too", &b.ideas),
    ] {
        let mm = |i: usize, value: f64| with_sd(value * 1e3, s.sd[i] * 1e3);
        let cells = [
            name.to_owned(),
            with_sd(s.part.m, s.sd[0]),
            share(s.front_share),
            share(s.left_share),
            mm(1, s.part.x),
            mm(2, s.part.y),
            mm(3, s.part.z),
        ];
        table.row(&(0..heads.len()).filter(kept).map(|i| &cells[i]).collect::<Vec<_>>());
    }
    table
}

fn standings(v: &Answer) -> String {
    let b = &v.budget;
    let mut out = standings_table(v, true).text(0);
    out += "± is one standard deviation. Back is behind the front axle line, up from the ground, as the\ncar stood when it was weighed (`unladen reset` says how far it rises).\n";
    let mut lines = Vec::new();
    let inertia = |s: &MassState| s.part.i_zz.map_or_else(String::new, |i| signed(&fixed(i, 0)));
    lines.push((
        "yaw inertia",
        format!("{} kg m2 since the weighing, {} with all that is planned", inertia(&b.now), inertia(&b.planned)),
    ));
    if b.planned.rotating_inertia != 0.0 || b.now.rotating_inertia != 0.0 {
        let turns = |s: &MassState| signed(&fixed(s.rotating_inertia, 2));
        lines.push((
            "what turns",
            format!("{} kg m2 now, {} with all that is planned", turns(&b.now), turns(&b.planned)),
        ));
    }
    if let (Some(w), Some(n), Some(p)) = (b.weighed.cross_share, b.now.cross_share, b.planned.cross_share) {
        lines.push((
            "cross weight",
            format!(
                "{} as weighed, {} now, {} with all that is planned (front right and rear left; springs as they are)",
                share(w),
                share(n),
                share(p)
            ),
        ));
    }
    if !v.otherwise.is_empty() {
        let list: Vec<String> =
            v.otherwise.iter().map(|o| format!("{} kg {}", fixed(o.mass_kg, 1), otherwise(o))).collect();
        lines.push(("now, otherwise", list.join(", ")));
    }
    out + "\n" + &facts(&lines)
}

/// `weighed 2026-02-14`.
pub(crate) fn weighed(v: &Answer) -> String {
    v.weighed_on.map_or_else(|| "as weighed".to_owned(), |day| format!("weighed {}", written(day)))
}

/// What else is aboard.
pub(crate) fn otherwise(of: &Otherwise) -> String {
    match of.load {
        Load::Dry => "dry: no driver, no fuel".to_owned(),
        Load::Wet => format!("wet, without driver ({} L)", fixed(of.aboard.fuel * 1e3, 0)),
        Load::Lapping => format!("as it laps ({})", aboard(of.aboard)),
    }
}

fn share(share: f64) -> String {
    format!("{} %", fixed(100.0 * share, 1))
}

fn target(v: &Answer) -> String {
    let Some(target) = v.target_kg else {
        return paragraph("No [target] in car.toml, so nothing to compare with: it has mass, fuel and driver.");
    };
    let b = &v.budget;
    let gap = |s: &MassState| {
        let over = s.part.m - target;
        let words = if over > 0.0 { "above" } else { "below" };
        format!("{} kg {words}", with_sd(over.abs(), s.sd[0]))
    };
    paragraph(&format!(
        "Target {} kg with the same aboard: now {} it; {} it if only what was weighed of the plans succeeds, {} it if all do, \
         {} it with the ideas as well.",
        fixed(target, 0),
        gap(&b.now),
        gap(&b.measured),
        gap(&b.planned),
        gap(&b.ideas)
    ))
}

fn kg(t: &Tally) -> String {
    if t.rows == 0 {
        String::new()
    } else if t.sd < 0.05 {
        // Finer than 10 g helps nobody.
        format!("{} ± {}", signed(&fixed(t.change, 2)), fixed(t.sd.max(0.01), 2))
    } else {
        signed(&with_sd(t.change, t.sd))
    }
}

/// Done, planned and ideas: rows, kilograms, money and hours.
pub(crate) fn tallies_table(v: &Answer) -> Table {
    let mut table = Table::new(&[
        ("", Align::Left),
        ("rows", Align::Right),
        ("kg", Align::Point),
        ("cost", Align::Right),
        ("hours", Align::Right),
    ]);
    for (state, t) in &v.budget.by_state {
        let name = match state {
            State::Done => "done, ever",
            State::Planned => "planned",
            State::Idea => "ideas",
        };
        let least = |text: String, missing: usize| match t.rows {
            0 => String::new(),
            _ => format!("{}{text}", if missing > 0 { "≥ " } else { "" }),
        };
        let cost = least(money(t.cost, v.money.as_deref()), t.unpriced);
        table.row(&[name.into(), t.rows.to_string(), kg(t), cost, least(fixed(t.hours, 0), t.untimed)]);
    }
    table
}

fn tallies(v: &Answer) -> String {
    let apart = if v.budget.left_out.is_empty() { "" } else { "Each row once, also those that can't be together.\n" };
    let unknown = v.budget.by_state.iter().any(|(_, t)| t.unpriced + t.untimed > 0);
    tallies_table(v).text(0) + apart + if unknown { "≥: some rows state no cost or no hours.\n" } else { "" }
}

/// Kilograms by area.
pub(crate) fn areas(v: &Answer) -> Table {
    let mut table = Table::new(&[
        ("by area, kg", Align::Left),
        ("done since", Align::Point),
        ("planned", Align::Point),
        ("ideas", Align::Point),
    ]);
    for (name, t) in &v.budget.by_area {
        table.row(&[name.clone(), kg(&t[0]), kg(&t[1]), kg(&t[2])]);
    }
    table
}

/// Where the plans' masses come from.
pub(crate) fn sources(v: &Answer) -> Option<String> {
    let of = |(o, t): &(Origin, Tally)| (t.rows > 0).then(|| format!("{} kg {} ({})", kg(t), o.word(), rows(t.rows)));
    let words: Vec<String> = v.budget.by_origin.iter().filter_map(of).collect();
    (!words.is_empty()).then(|| words.join(", "))
}

/// Where the ± of the mass as it stands comes from.
pub(crate) fn blame(v: &Answer) -> Option<String> {
    let all = v.budget.blame.iter().filter(|(_, share)| share[0] > 0.005);
    let words: Vec<String> = all.map(|(b, share)| format!("{} {}", blame_words(b), percent(share[0]))).collect();
    (!words.is_empty()).then(|| words.join(", "))
}

fn rows(n: usize) -> String {
    if n == 1 { "one row".into() } else { format!("{n} rows") }
}

fn are_in(n: usize) -> String {
    if n == 1 {
        "One done row is in the weighing already".into()
    } else {
        format!("{n} done rows are in the weighing already")
    }
}

fn blame_words(blame: &Blame) -> String {
    match blame {
        Blame::Weighing => "the weighing of the car".into(),
        Blame::Rows(o) => format!("{} rows", o.word()),
        Blame::Scale(name) => format!("what the scale `{}` may be off by in all of its readings", printable(name)),
    }
}

fn notes(v: &Answer) -> String {
    let b = &v.budget;
    let name = |i: usize| printable(&v.entries[i].item);
    let mut out = String::new();
    for (row, why) in &b.left_out {
        let why = match why {
            LeftOut::Excluded { by } => format!("{} excludes it", name(*by)),
            LeftOut::Unmet { needs } => format!("it needs {}, which is not planned", name(*needs)),
            LeftOut::Group { with } => format!("its group can't be without {}", name(*with)),
        };
        out += &paragraph(&format!("Not counted: {}, because {why}.", name(*row)));
    }
    if !b.in_weighing.is_empty() {
        out += &paragraph(&format!("{}, by the dates.", are_in(b.in_weighing.len())));
    }
    if !b.undated.is_empty() {
        let list: Vec<String> = b.undated.iter().map(|&i| name(i)).collect();
        out += &paragraph(&format!("Done without a date, taken as done since the weighing: {}.", list.join(", ")));
    }
    let (area, other) = v.filled_in;
    if area + other > 0 {
        let of_area = format!("{} where areas.csv puts their area", counted(area, "row"));
        let of_old = format!("{} where the old one was", counted(other, "new part"));
        let parts: Vec<String> =
            [(area, of_area), (other, of_old)].into_iter().filter(|(n, _)| *n > 0).map(|(_, words)| words).collect();
        out += &paragraph(&format!("Positions that nobody measured: {}.", parts.join(", ")));
    }
    let assumed = |o: Origin| v.entries.iter().filter(|e| e.origin == o && e.sd.is_none() && e.scale.is_none()).count();
    let list: Vec<String> = ASSUMED
        .iter()
        .filter(|(o, _)| assumed(*o) > 0)
        .map(|(o, share)| {
            format!("{} % for {}", fixed(100.0 * share, 0), counted(assumed(*o), &format!("{} row", o.word())))
        })
        .collect();
    if !list.is_empty() {
        out += &paragraph(&format!(
            "Where a row gives neither mass_sd_kg nor its scale, its ± is assumed: {} (common practice, no source).",
            list.join(", ")
        ));
    }
    out
}
