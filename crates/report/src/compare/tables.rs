//! Parts of what `compare` prints: what differs, where the difference comes from, and where along the lap.

use unladen_questions::compare::Answer;
use unladen_study::compare::builds::{OnTrack, Verdict};
use unladen_study::compare::terms::{Group, Term};
use unladen_vehicle::Car;
use unladen_vehicle::car::{AntiLock, Layout};

use crate::words::change::Change;
use crate::words::number::{fixed, kmh, percent, signed};
use crate::words::table::{Align, Table, printable};

fn layout(car: &Car) -> String {
    let line = &car.driveline;
    match line.layout {
        Layout::Front => "front".into(),
        Layout::Rear => "rear".into(),
        Layout::All => format!("all, {} front", percent(line.front_share)),
    }
}

fn anti_lock(car: &Car) -> &'static str {
    match car.brakes.anti_lock {
        AntiLock::None => "none",
        AntiLock::ThreeChannel => "3-channel",
        AntiLock::FourChannel => "4-channel",
    }
}

/// The numbers in which the two cars differ.
pub(crate) fn what_differs(v: &Answer) -> Table {
    let mut table = Table::new(&[("what differs", Align::Left), ("A", Align::Point), ("B", Align::Point)]);
    let mut row = |name: &str, of: &dyn Fn(&Car) -> String| {
        let cells = v.cars.each_ref().map(of);
        if cells[0] != cells[1] {
            table.row(&[name, &cells[0], &cells[1]]);
        }
    };
    row("mass as it laps, kg", &|c| fixed(c.mass.m, 1));
    row("front share, %", &|c| fixed(100.0 * (1.0 - c.mass.a / c.chassis.l), 1));
    row("CG back, mm", &|c| fixed(c.mass.a * 1e3, 0));
    row("CG right, mm", &|c| fixed(c.mass.y_cg * 1e3, 0));
    row("CG up, mm", &|c| fixed(c.mass.h * 1e3, 0));
    row("driven axles", &layout);
    row("front differential, torque bias", &|c| fixed(c.driveline.front_bias, 2));
    row("rear differential, torque bias", &|c| fixed(c.driveline.rear_bias, 2));
    row("driveline efficiency", &|c| fixed(c.driveline.efficiency, 3));
    row("inertia of the four wheels, kg m2", &|c| fixed(2.0 * (c.front.j_wheel + c.rear.j_wheel), 2));
    row("roll stiffness, % front", &|c| fixed(100.0 * c.chassis.chi, 1));
    row("brakes, % front", &|c| fixed(100.0 * c.brakes.beta_f, 1));
    row("anti-lock", &|c| anti_lock(c).into());
    row("drag area, m2", &|c| fixed(c.aero.cd_a, 3));
    row("grip across, front", &|c| fixed(c.front.mu_y0, 3));
    row("grip across, rear", &|c| fixed(c.rear.mu_y0, 3));
    row("final drive", &|c| fixed(c.driveline.final_drive, 3));
    row("shift time, s", &|c| fixed(c.driveline.shift_time, 2));
    table
}

/// All that is not alike in their files and ledgers.
pub(crate) fn as_written(v: &Answer) -> Table {
    let mut table = Table::new(&[("what the files say", Align::Left), ("A", Align::Left), ("B", Align::Left)]);
    let said = |text: &Option<String>| text.clone().unwrap_or_else(|| "not there".into());
    for d in &v.differs {
        table.row(&[d.what.clone(), said(&d.first), said(&d.second)]);
    }
    table
}

/// What the second one's ledger has and the first one's has not.
pub(crate) fn own_ledger(v: &Answer) -> Option<String> {
    if v.ledger.is_empty() {
        return None;
    }
    let sum: f64 = v.ledger.iter().map(|(_, kg)| kg).sum();
    let named: Vec<String> = v.ledger.iter().map(|(item, kg)| format!("{item} {}", signed(&fixed(*kg, 1)))).collect();
    let masses = v.cars[1].mass.m - v.cars[0].mass.m;
    Some(format!(
        "B's own ledger, kg: {}; {} in all, and {} between the two weighings.",
        printable(&named.join(", ")),
        signed(&fixed(sum, 1)),
        signed(&fixed(masses, 1))
    ))
}

/// What a group of numbers is called.
pub fn group_name(group: Group) -> &'static str {
    match group {
        Group::Mass => "mass",
        Group::Cg => "centre of gravity",
        Group::Loss => "driveline loss",
        Group::Rotating => "rotating inertia",
        Group::Traction => "traction",
        Group::Brakes => "brakes",
        Group::Chassis => "chassis",
        Group::Tyres => "tyres",
        Group::Aero => "air and rolling",
        Group::Engine => "engine and gears",
        Group::Driver => "driver",
    }
}

/// Where the difference comes from.
pub(crate) fn terms(terms: Option<&[Term]>, verdict: &Verdict) -> Result<Table, &'static str> {
    let terms =
        terms.ok_or("A car half-way between the two has no lap here, so the difference can't be taken apart.")?;
    if terms.is_empty() {
        return Err("The two cars do not differ.");
    }
    let mut table = Table::new(&[("by its", Align::Left), ("B is", Align::Point), ("least to most", Align::Left)]);
    let show = |s: f64| Change { quicker_s: s, interval: None, error_s: verdict.error_s }.value();
    for t in terms {
        let range = Change { quicker_s: t.gain_s, interval: Some(t.range_s), error_s: verdict.error_s };
        table.row(&[group_name(t.group).into(), show(t.gain_s), range.range().unwrap_or_default()]);
    }
    let sum: f64 = terms.iter().map(|t| t.gain_s).sum();
    table.row(&["in all".into(), show(sum), String::new()]);
    Ok(table)
}

/// Beneath the terms.
pub(crate) const TERMS: &str = "Each part is the mean over all orders of exchanging it, so the parts add up; least and most are what it is worth \
    depending on what was exchanged before.";

/// Where along the lap.
pub(crate) fn bends(track: &OnTrack) -> Option<Table> {
    if track.stretches.is_empty() {
        return None;
    }
    let mut table = Table::new(&[
        (&*printable(&track.track), Align::Left),
        ("slowest A, B, km/h", Align::Left),
        ("s B gains before", Align::Point),
        ("after, s", Align::Point),
        ("then fastest A, B", Align::Left),
    ]);
    let speeds = |s: [f64; 2]| format!("{}, {}", fixed(kmh(s[0]), 1), fixed(kmh(s[1]), 1));
    let [mut before, mut after] = [0.0; 2];
    for (i, s) in track.stretches.iter().enumerate() {
        let name = s.place.clone().unwrap_or_else(|| format!("bend {} at {} m", i + 1, fixed(s.slowest_m, 0)));
        before += s.entry_s;
        after += s.exit_s;
        let gain = |x: f64| signed(&fixed(x, 3));
        table.row(&[name, speeds(s.slowest_mps), gain(s.entry_s), gain(s.exit_s), speeds(s.fastest_mps)]);
    }
    table.row(&["in all".into(), String::new(), signed(&fixed(before, 3)), signed(&fixed(after, 3)), String::new()]);
    Some(table)
}

/// Beneath the bends.
pub(crate) const BENDS: &str = "Before: braking and entry, from the fastest point to the slowest. After: the exit and what follows, to the next fastest \
    point of A; less than nothing is lost. Set as in the verdict.";
