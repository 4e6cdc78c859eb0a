//! What `move` prints: is it worth it, why, and what else speaks for or against it.

use unladen_questions::relocate::Answer;
use unladen_study::relocate::Boxes;
use unladen_study::relocate::static_state::StaticState;
use unladen_study::relocate::stint::{DOSE_KG, Stint};
use unladen_study::uncertainty::verdict::{Call, Way};
use unladen_vehicle::mass::Part;

use crate::draw::header::sentence;
use crate::words::change::{Change, far_off};
use crate::words::next;
use crate::words::number::{UNRESOLVED, fixed, resolved, signed};
use crate::words::state;
use crate::words::sure;
use crate::words::table::{Align, Table, facts, paragraph, printable};
use crate::words::tuned::{BRAKE_CAUTION, HELD, NOTHING_TO_SET, tuned};
use crate::words::verdict::of_move;
use crate::worth::text::{CAUTION, NOT_MODELLED};

/// Said once.
pub const FUEL_CAUTION: &str = "SAFETY: a fuel tank is placed by what happens in a crash, and by lap time last. Inside the crumple zones no tank: \
    keep it within the structure that stays, away from exhaust, driveline and battery, behind a closed bulkhead to the cabin. \
    Cell and bladder, filler, vent with roll-over valve, pump and lines follow the rules of your series and your country; have \
    it inspected before it is driven. This program knows none of it.";
/// Said once, of anything else.
pub const ITEM_CAUTION: &str = "SAFETY: what is moved must hold in a crash as well as it did before: brackets, bolts and cables are for somebody \
    who may sign for them. The rules of your series and your country hold.";

/// Beneath what changes.
pub(crate) const PLACES: &str = "Places are behind the front axle line, right of the centre plane, above the ground.";
/// Beneath how the car stands.
pub(crate) const STANDS: &str = "As it is → moved. The yaw inertia as it is is an estimate, m a b (within about 15 %); its change is exact but for the \
    parts' own shapes. No lap time comes from it here.";
/// Not modelled besides.
pub(crate) const LEVEL: &str = "Fuel is taken as level in its box: it does not surge.";

/// The whole text.
pub fn move_text(v: &Answer) -> String {
    let mut out = format!("{}: moving the {} on {}\n", printable(&v.car), printable(&v.item), printable(&v.tracks));
    out += &paragraph(&state::state(&v.state));
    out += &format!("\n{}", paragraph(&verdict(v)));
    out += &paragraph(&split(v));
    out += &format!("\n{}{PLACES}\n", what_changes(v).text(0));
    out += &format!("\n{}", lap_times(v).text(0));
    out += &format!("\n{}{}", stands(v).text(0), paragraph(STANDS));
    out += &format!("\n{}", stint(v));
    out += &format!("\n{}", paragraph(&tuning(v)));
    if brakes_set(v) {
        out += &paragraph(BRAKE_CAUTION);
    }
    out += &format!("\nBesides lap time\n{}", facts(&besides(v)));
    out += &format!("\n{}", paragraph(if v.is_tank { FUEL_CAUTION } else { ITEM_CAUTION }));
    out + "\n" + &paragraph(NOT_MODELLED) + LEVEL + "\n\n" + &paragraph(CAUTION)
}

/// The verdict, with its reason.
pub fn verdict(v: &Answer) -> String {
    let stint = v.counts();
    let tuned = if v.answer.retuned.is_some() { "each way re-tuned" } else { "everything as set" };
    let chance = sure::chance_of_sign(&stint.gain);
    let mut what = format!("{} A lap over a stint, {tuned}", of_move(v).sentence());
    if Change::of(&stint.gain, stint.error_s).resolved() {
        what += &format!("; {chance} likely a {}", if stint.gain.gain > 0.0 { "gain" } else { "loss" });
    }
    if v.call(stint) == Call::NotInLapTime {
        let visible = fixed(v.watch.smallest(v.laps), 2);
        what += &format!("; {} laps a side show {visible} s: let the reasons below decide", v.laps);
    }
    what += ".";
    if let Some(far) = far_off(&stint.gain, stint.error_s) {
        what += &format!(" {far}");
    }
    format!("{what} {}.", sentence(&where_it_goes(v)))
}

/// Where the centre of gravity goes, and what the car weighs more.
pub(crate) fn where_it_goes(v: &Answer) -> String {
    let m = v.relocation.mass();
    let cg = |k: usize| v.answer.ends[0][1].cg[k] - v.answer.ends[0][0].cg[k];
    let ways = [(cg(0), "forward", "back"), (cg(1), "to the left", "to the right"), (cg(2), "down", "up")];
    let moves: Vec<String> = ways
        .into_iter()
        .filter(|(by, ..)| by.abs() >= 5e-4)
        .map(|(by, less, more)| format!("{} mm {}", fixed(by.abs() * 1e3, 0), if by < 0.0 { less } else { more }))
        .collect();
    let moves =
        if moves.is_empty() { "stays within half a millimetre".into() } else { format!("goes {}", moves.join(", ")) };
    let weighs = match m {
        m if m.abs() < 0.05 => "as much as before".to_owned(),
        m => format!("{} kg {}", fixed(m.abs(), 1), if m > 0.0 { "more" } else { "less" }),
    };
    format!("at the start of the stint the centre of gravity {moves}, and the car weighs {weighs}")
}

/// What of the gain is the move's own, what the added mass takes of it, and how much mass would eat it up.
pub fn split(v: &Answer) -> String {
    let stint = v.counts();
    let mut all = Vec::new();
    if let Some(tank) = &v.empty_tank {
        let kg = match tank.kg {
            [before, after] if before == after => format!("{} kg", fixed(before, 1)),
            [before, after] => format!("{} kg, then {} kg", fixed(before, 1), fixed(after, 1)),
        };
        let by = tank.row.as_ref().map_or_else(String::new, |row| format!(" by the ledger's {row}"));
        all.push(format!("The empty tank goes along: {kg}{by}."));
    }
    if let Some([moved, added]) = &stint.split {
        let part = |d| sure::gain(d, stint.error_s);
        all.push(format!("The move itself: {}; the added mass: {}.", part(moved), part(added)));
    }
    let what = if v.is_tank { "Brackets, bulkhead and all else" } else { "Brackets and all else" };
    match stint.even {
        Some(even) if even.kg > 0.0 => {
            let [low, high] = even.interval.map(|kg| fixed(kg.max(0.0), 1));
            all.push(format!("{what} may weigh up to {} kg (90 %: {low} to {high} kg).", fixed(even.kg, 1)));
        }
        Some(even) if even.interval[1] > 0.05 => all.push(format!(
            "By the files' own numbers the move itself gains no time, and {} may weigh nothing; within the 90 % interval up to {} kg.",
            if v.is_tank { "brackets, bulkhead and all else" } else { "brackets and all else" },
            fixed(even.interval[1], 1)
        )),
        Some(even) => all.push(format!(
            "{what} may weigh nothing: the move itself gains no time, and comes out even where {} kg go.",
            fixed(-even.kg, 1)
        )),
        None => {}
    }
    if Way::of(&stint.gain, stint.error_s) == Way::Loss {
        all.push("It is a sure loss, however small.".into());
    }
    all.join(" ")
}

fn place(p: &Part) -> String {
    format!("{}, {}, {} mm", fixed(p.x * 1e3, 0), fixed(p.y * 1e3, 0), fixed(p.z * 1e3, 0))
}

/// Where what is moved is and will be.
pub(crate) fn what_changes(v: &Answer) -> Table {
    let mut table = Table::new(&[("what changes", Align::Left), ("before", Align::Left), ("after", Align::Left)]);
    if let Some(Boxes { old, new, .. }) = v.relocation.fuel.filter(|f| f.old != f.new) {
        let cells = [old, new].map(|t| place(&Part::point(0.0, t.x, t.y, t.z)));
        table.row(&["fuel box, middle, floor".into(), cells[0].clone(), cells[1].clone()]);
        let size = |t: unladen_vehicle::fuel::Tank| {
            let mm = |m: f64| fixed(m * 1e3, 0);
            format!("{} x {} x {} mm, {} L", mm(t.length), mm(t.width), mm(t.height), fixed(t.capacity() * 1e3, 1))
        };
        table.row(&["fuel box, inside".into(), size(old), size(new)]);
    }
    for piece in &v.relocation.pieces {
        let cell = |p: Option<Part>| p.map_or_else(|| "-".into(), |p| format!("{} kg at {}", fixed(p.m, 1), place(&p)));
        table.row(&[sentence(&piece.name), cell(piece.change.before), cell(piece.change.after)]);
    }
    table
}

pub(crate) fn litres(m3: f64) -> String {
    fixed(m3 * 1e3, 1)
}

pub(crate) fn gained(times: [f64; 2], error: f64) -> String {
    Change { quicker_s: times[0] - times[1], interval: None, error_s: error }.cell()
}

/// Laps over the fuel load.
pub(crate) fn lap_times(v: &Answer) -> Table {
    let tuned = v.answer.retuned.is_some();
    let mut heads = vec![
        ("fuel, L", Align::Point),
        ("lap as it is, s", Align::Point),
        ("moved", Align::Point),
        ("as set", Align::Point),
    ];
    if tuned {
        heads.push(("re-tuned", Align::Point));
    }
    let mut table = Table::new(&heads);
    for load in &v.answer.loads {
        let mut cells = vec![
            litres(load.fuel),
            fixed(load.as_set_s[0], 3),
            fixed(load.as_set_s[1], 3),
            gained(load.as_set_s, v.answer.as_set.error_s),
        ];
        if let Some(stint) = &v.answer.retuned {
            cells.push(gained(load.retuned_s, stint.error_s));
        }
        table.row(&cells);
    }
    table
}

/// How the car stands over the fuel load.
pub(crate) fn stands(v: &Answer) -> Table {
    let mut table = Table::new(&[
        ("fuel, L", Align::Point),
        ("kg", Align::Left),
        ("front share, %", Align::Left),
        ("CG back, mm", Align::Left),
        ("CG up, mm", Align::Left),
        ("yaw, kg m2", Align::Left),
        ("t/2h", Align::Left),
    ]);
    for load in &v.answer.loads {
        let [a, b] = &load.at_rest;
        let pair =
            |of: &dyn Fn(&StaticState) -> f64, digits| format!("{} → {}", fixed(of(a), digits), fixed(of(b), digits));
        table.row(&[
            litres(load.fuel),
            pair(&|s| s.mass, 0),
            pair(&|s| 100.0 * s.front_share, 1),
            pair(&|s| 1e3 * s.cg[0], 0),
            pair(&|s| 1e3 * s.cg[2], 0),
            pair(&|s| s.yaw_inertia, 0),
            pair(&|s| s.stability, 3),
        ]);
    }
    table
}

fn stint(v: &Answer) -> String {
    let [from, to] = v.stint;
    let mut out = match v.relocation.fuel {
        Some(_) => format!("Stint from {} L to {} L, mean lap\n", litres(from), litres(to)),
        None => "Lap, with what car.toml says is aboard\n".into(),
    };
    let line = |stint: &Stint| {
        let change = Change::of(&stint.gain, stint.error_s);
        let times = format!("{} s as it is, {} s moved", fixed(stint.mean_s[0], 3), fixed(stint.mean_s[1], 3));
        if !change.resolved() {
            return format!("{times}: {UNRESOLVED}");
        }
        let (chance, how) = (sure::chance(&stint.gain), sure::how(&stint.gain));
        format!("{times}: {}; chance of a gain {chance}; {how}", change.words())
    };
    let mut lines = vec![("as set", line(&v.answer.as_set))];
    if let Some(stint) = &v.answer.retuned {
        lines.push(("re-tuned", line(stint)));
    }
    out += &facts(&lines);
    for words in how_sure(v) {
        out += &paragraph(&words);
    }
    out
}

/// What the gain hangs on, what would reverse it, and what a stopwatch sees of it.
pub(crate) fn how_sure(v: &Answer) -> Vec<String> {
    let (stint, unknowns) = (v.counts(), &v.answer.unknowns);
    let mut all = vec![sure::hangs_on(&stint.gain, unknowns)];
    if !stint.gain.shares.is_empty() && resolved(stint.gain.gain, stint.error_s) {
        all.push(sure::flips(stint.reversed_by.as_ref(), unknowns));
    }
    all.extend(next::of_gain(&v.open.0, v.open.1.as_ref()));
    all.push(sure::stopwatch(&v.watch, v.laps, stint.gain.gain, Some((DOSE_KG, v.answer.dose_s))));
    all
}

/// What re-tuning did.
pub(crate) fn tuning(v: &Answer) -> String {
    if v.answer.retuned.is_none() {
        return NOTHING_TO_SET.into();
    }
    let [a, b] = &v.answer.tuning;
    let head = "Re-tuned is set once for a stint, at half of its fuel.";
    format!("{head} {}. {}. {HELD}", sentence(&tuned("as it is", a)), sentence(&tuned("moved", b)))
}

/// Were brakes set again?
pub fn brakes_set(v: &Answer) -> bool {
    v.answer.retuned.is_some() && v.answer.tuning[0].free[1]
}

/// The reasons that are no lap time.
pub(crate) fn besides(v: &Answer) -> Vec<(&'static str, String)> {
    let [start, end] = &v.answer.ends;
    let drift = |i: usize| 100.0 * (end[i].front_share - start[i].front_share);
    let stability = |s: &[StaticState; 2]| format!("{} → {}", fixed(s[0].stability, 3), fixed(s[1].stability, 3));
    let axles = |i: usize| format!("{} → {} kg", fixed(start[0].axles[i], 0), fixed(start[1].axles[i], 0));
    let yaw = start[1].yaw_inertia / start[0].yaw_inertia - 1.0;
    let mut lines = vec![
        (
            "balance drift",
            format!(
                "over the stint the front share moves by {} % of the weight as it is, and by {} % moved",
                signed(&fixed(drift(0), 2)),
                signed(&fixed(drift(1), 2))
            ),
        ),
        (
            "rollover margin",
            format!(
                "static stability factor t/2h {} at the start of the stint, {} at its end",
                stability(start),
                stability(end)
            ),
        ),
        ("axle loads", format!("front {}, rear {}, at the start of the stint", axles(0), axles(1))),
        (
            "yaw inertia",
            format!(
                "{} % at the start of the stint: a car that {} willingly turns in and out; not in these lap times",
                signed(&fixed(100.0 * yaw, 1)),
                match yaw {
                    y if y.abs() < 5e-4 => "as",
                    y if y < 0.0 => "more",
                    _ => "less",
                }
            ),
        ),
    ];
    let over: Vec<String> = (0..2)
        .filter_map(|i| {
            let most = v.axle_limits[i]?;
            let load = start[1].axles[i];
            (load > most)
                .then(|| format!("{} axle {} kg of {} kg", ["front", "rear"][i], fixed(load, 0), fixed(most, 0)))
        })
        .collect();
    if !over.is_empty() {
        lines.push(("OVER ITS LIMIT", over.join(", ")));
    } else if v.axle_limits.iter().any(Option::is_some) {
        lines.push(("axle limits", "within what car.toml says that the axles may carry".into()));
    }
    lines
}
