//! The kilogram map of an answer: the car's own size, its ledger's rows, its centres of gravity.

use unladen_questions::stands::load::Aboard;
use unladen_questions::stands::now::OnTrack;
use unladen_questions::stands::standing::Standing;
use unladen_questions::stands::state::As;
use unladen_questions::worth::Answer;
use unladen_study::ledger::budget::MassState;
use unladen_vehicle::change::all_on;
use unladen_vehicle::entry::State;
use unladen_vehicle::mass::Part;

use crate::draw::look::Paper;
use crate::draw::picture::{Picture, PlotError};
use crate::words::aboard::aboard;
use crate::worth::body::Size;
use crate::worth::items::Item;
use crate::worth::kilogram::{KilogramMap, kilogram_picture};
use crate::worth::lens::Centre;

/// Draws it.
pub fn car_map(v: &Answer, paper: Paper) -> Result<Picture, PlotError> {
    let rows = v.coming.as_ref().map_or(&[][..], |coming| &coming.rows);
    let items = items(&v.standing, rows);
    let centres = v.on.as_ref().map_or_else(Vec::new, |on| centres(v, on));
    let (car, mass) = (&v.file.car, Part::from(v.car.mass));
    let map = KilogramMap {
        car: &v.file.name,
        aboard: &aboard(Aboard::on_track(&v.file)),
        size: Size {
            wheelbase_m: car.chassis.l,
            track_m: [car.chassis.t_f, car.chassis.t_r],
            radius_m: [car.front.r, car.rear.r],
            cg_height_m: mass.z,
        },
        worth: &v.study.mix,
        mass_kg: mass.m,
        at_m: [mass.x, mass.y, mass.z],
        items: &items,
        centres: &centres,
    };
    kilogram_picture(&map, paper)
}

/// Rows that are in the car in its state, and those that are coming.
fn items(standing: &Standing, coming: &[usize]) -> Vec<Item> {
    let part = |p: Option<Part>| p.map(|p| (p.m, [p.x, p.y, p.z]));
    let rows = standing.entries.iter().enumerate();
    rows.filter(|(i, e)| e.state == State::Done || coming.contains(i))
        .map(|(_, e)| Item {
            name: e.item.clone(),
            off: part(e.change.before),
            on: part(e.change.after),
            state: e.state,
            turns: e.rotating_inertia != 0.0,
        })
        .collect()
}

/// Before all that is done, as it is asked about, and with what is coming.
fn centres(v: &Answer, on: &OnTrack) -> Vec<Centre> {
    let (b, entries) = (&on.budget, &v.standing.entries);
    let centre = |name: &str, s: &MassState, now| Centre {
        name: name.into(),
        now,
        mass_kg: s.part.m,
        at_m: [s.part.x, s.part.y, s.part.z],
        sd_m: [s.sd[1], s.sd[2], s.sd[3]],
    };
    let mut all = Vec::new();
    if on.ledger.entries.iter().any(|e| e.state == State::Done) {
        let undone: Vec<_> = b.in_weighing.iter().map(|&i| entries[i].change.undone()).collect();
        // A weighing that has less in it than was taken out is a slip in the ledger, and no centre of gravity.
        if let Ok(part) = all_on(on.base.car, &undone) {
            all.push(Centre { mass_kg: part.m, at_m: [part.x, part.y, part.z], ..centre("was", &b.weighed, false) });
        }
    }
    let name = match v.state.state.of {
        As::Now => "now",
        other => other.word(),
    };
    let asked = v.standing.mass_with(&[]).unwrap_or_else(|_| b.now.clone());
    // To the last bit where its kilograms were asked about.
    let at = v.car.mass;
    all.push(Centre { mass_kg: at.m, at_m: [at.a, at.y_cg, at.h], ..centre(name, &asked, true) });
    if let Some(coming) = v.coming.as_ref().filter(|coming| coming.standing != asked) {
        let idea = coming.rows.iter().any(|&i| entries[i].state == State::Idea);
        all.push(centre(if idea { "with ideas" } else { "planned" }, &coming.standing, false));
    }
    all
}
