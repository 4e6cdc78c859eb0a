//! What of a car can be taken hold of, and what can be switched.

use serde::Serialize;
use serde_json::{Value, json};
use unladen_garage::CarFile;
use unladen_questions::stands::moved::{TANK, in_car, is_tank, row_of_tank};
use unladen_questions::stands::standing::Standing;
use unladen_report::hold::car::{Held, Thing, radius_px};
use unladen_report::worth::kilogram::View;
use unladen_study::Worth;
use unladen_vehicle::car::Mass;
use unladen_vehicle::entry::{Entry, State};
use unladen_vehicle::mass::Part;

/// Lighter things are not offered to be moved, kg: no one could tell.
const LEAST_KG: f64 = 0.5;

/// Things of a car in its state: the tank with its fuel, then the ledger's, the heaviest first. `by`: how far each was moved
/// from where it was, m.
pub fn things(standing: &Standing, by: impl Fn(&str) -> Option<[f64; 3]>) -> Vec<Thing> {
    let there = |e: &Entry| in_car(e, e.state == State::Done);
    let place = |p: Part| [p.x, p.y, p.z];
    let tank = standing.ledger.as_ref().and_then(|l| row_of_tank(l, |row| standing.entries[row].state == State::Done));
    let mut all: Vec<Thing> = Vec::new();
    for (row, entry) in standing.entries.iter().enumerate() {
        // What comes out with the tank moves with it: its fuel, where a row speaks of it.
        let of_tank = tank
            .is_some_and(|tank| row == tank || entry.group.is_some() && entry.group == standing.entries[tank].group);
        let Some(part) = there(entry).filter(|p| p.m >= LEAST_KG && !of_tank) else { continue };
        // Of what is as old as new, the newer row says where it is.
        all.retain(|thing| thing.name != entry.item);
        all.push(Thing { name: entry.item.clone(), kg: part.m, at: place(part), was: place(part) });
    }
    all.sort_by(|a, b| b.kg.total_cmp(&a.kg).then_with(|| a.name.cmp(&b.name)));
    if let (Some(row), Some(fuel)) = (tank, standing.file.loads.fuel) {
        // The file has the box where it was.
        let elsewhere = standing.state.moved.iter().filter(|m| is_tank(&m.item)).map(|m| m.by);
        let by_box = elsewhere.fold([0.0; 3], |sum, by| [0, 1, 2].map(|i| sum[i] + by[i]));
        let moved = |p: Part| Part { x: p.x + by_box[0], y: p.y + by_box[1], z: p.z + by_box[2], ..p };
        let fuel_part = fuel.tank.fuel(fuel.on_track, fuel.density).ok().map(moved);
        let parts: Vec<Part> = [there(&standing.entries[row]), fuel_part].into_iter().flatten().collect();
        let kg: f64 = parts.iter().map(|p| p.m).sum();
        if kg > 0.0 {
            let at = [0, 1, 2].map(|i| parts.iter().map(|p| p.m * place(*p)[i]).sum::<f64>() / kg);
            all.insert(0, Thing { name: TANK.into(), kg, at, was: at });
        }
    }
    for thing in &mut all {
        let by = by(&thing.name).unwrap_or_default();
        thing.was = [0, 1, 2].map(|i| thing.at[i] - by[i]);
    }
    all
}

/// A row that is done or not, or somebody aboard or not.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Switch {
    /// Its name.
    pub name: String,
    /// It is in the car as it is.
    pub on: bool,
    /// What it does to the mass, kg.
    pub kg: f64,
    /// `planned`, `idea`, `done`, or `aboard`.
    pub kind: &'static str,
}

/// All of them: who may be aboard, what is planned, ideas, what is done.
pub fn switches(standing: &Standing) -> Vec<Switch> {
    let aboard = standing.file.loads.aboard.iter().map(|who| Switch {
        name: who.name.clone(),
        on: who.on_track,
        kg: who.mass,
        kind: "aboard",
    });
    let row = |e: &Entry| {
        let (kind, on) = match e.state {
            State::Done => ("done", true),
            State::Planned => ("planned", false),
            State::Idea => ("idea", false),
        };
        Switch { name: e.item.clone(), on, kg: e.change.mass(), kind }
    };
    let mut rows: Vec<Switch> = standing.entries.iter().map(row).collect();
    rows.sort_by_key(|switch| ["planned", "idea", "done"].iter().position(|kind| *kind == switch.kind));
    aboard.chain(rows).collect()
}

/// Where the page puts its handles, px of both views, where each thing was and is, mm, and what a kilogram costs there, ms a
/// lap.
pub fn handles(things: &[Thing], held: &Held, mass: &Mass, worth: &Worth) -> Value {
    let width_px = held.views[0].size.0;
    let mm = |at: [f64; 3]| at.map(|m| (1e3 * m).round());
    let one = |thing: &Thing| {
        let (at, was, px) = (mm(thing.at), mm(thing.was), held.views.map(|view| view.place(thing.at)));
        let (r, ms) = (radius_px(thing.kg, mass.m, width_px), 1e3 * worth.s_per_kg_at(mass, thing.at));
        json!({ "name": thing.name, "kg": thing.kg, "at": at, "was": was, "px": px, "r": r, "ms": ms })
    };
    things.iter().map(one).collect()
}

/// What a kilogram costs in each view, ms a lap: at its corner, and how much more a px to the right and a px down. As the
/// contours through the centre of gravity, which are straight.
pub fn costs(held: &Held, mass: &Mass, worth: &Worth) -> Value {
    let one = |view: &View| {
        let ms = |u: f64, v: f64| {
            let mut at = [u, mass.y_cg, mass.h];
            at[view.up] = v;
            1e3 * worth.s_per_kg_at(mass, at)
        };
        let ((u, v), px) = (view.from, 1.0 / view.scale);
        let corner = ms(u, v);
        json!({ "corner": view.corner, "size": view.size, "ms": [corner, ms(u + px, v) - corner, ms(u, v - px) - corner] })
    };
    held.views.iter().map(one).collect()
}

/// How tall and long the car is, to keep what is dragged within it: its dimensions, m.
pub fn size(car: &CarFile, height_m: f64) -> unladen_report::worth::body::Size {
    let of = &car.car;
    unladen_report::worth::body::Size {
        wheelbase_m: of.chassis.l,
        track_m: [of.chassis.t_f, of.chassis.t_r],
        radius_m: [of.front.r, of.rear.r],
        cg_height_m: height_m,
    }
}
