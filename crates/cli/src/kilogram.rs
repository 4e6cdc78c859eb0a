//! What the kilogram map takes from a car and its ledger.

use std::path::Path;

use unladen_garage::{CarFile, Ledger, read_ledger, slips};
use unladen_report::draw::picture::{Picture, PlotError};
use unladen_report::worth::Worth;
use unladen_report::worth::body::Size;
use unladen_report::worth::items::Item;
use unladen_report::worth::kilogram::{KilogramMap, kilogram_picture};
use unladen_report::worth::lens::Centre;
use unladen_study::ledger::budget::{Base, MassState};
use unladen_study::ledger::summary::{Budget, stand};
use unladen_vehicle::change::all_on;
use unladen_vehicle::entry::{Scale, State};
use unladen_vehicle::mass::Part;

use crate::error::CliError;
use crate::output::warn;
use crate::report_plan::Plan;
use crate::standing::{self, aboard, carrying};

/// A car's budget with what it has aboard on the track.
pub struct OnTrack {
    /// Its ledger.
    pub ledger: Ledger,
    /// The car that it starts from.
    pub base: Base,
    /// Where it stands.
    pub budget: Budget,
    /// What its parts were weighed on.
    pub scales: Vec<Scale>,
}

/// Fuel, m³, and driver, kg, on the track.
pub fn loads(car: &CarFile) -> (f64, f64) {
    (car.loads.fuel.map_or(0.0, |f| f.on_track), car.loads.driver.map_or(0.0, |d| d.on_track))
}

/// Reads the ledger beside a car, where there is one.
pub fn on_track(path: &Path, car: &CarFile) -> Result<Option<OnTrack>, CliError> {
    let file = standing::ledger_file(path);
    if !file.is_file() {
        return Ok(None);
    }
    let (ledger, _) = read_ledger(&file, Some(&car.shop.scales)).map_err(|e| CliError::Files(vec![e]))?;
    warn(&slips(&ledger, standing::size(car)));
    let (fuel, driver) = loads(car);
    let base = carrying(car, fuel, driver)?;
    let budget = stand(&base, &ledger.entries, &car.shop.scales, car.shop.weighed_on)?;
    Ok(Some(OnTrack { ledger, base, budget, scales: car.shop.scales.clone() }))
}

/// Draws it for a result that was found with this mass and centre of gravity, with what is coming.
pub fn picture(
    car: &CarFile,
    mass: Part,
    worth: &Worth,
    on: Option<&OnTrack>,
    plan: Option<&Plan>,
) -> Result<Picture, PlotError> {
    let (fuel, driver) = loads(car);
    let rows = plan.map_or(&[][..], |plan| &plan.rows);
    let (items, centres) = on.map_or_else(Default::default, |on| (items(on, rows), centres(on, plan)));
    let chassis = &car.car.chassis;
    kilogram_picture(&KilogramMap {
        car: &car.name,
        aboard: &aboard(fuel, driver),
        size: Size {
            wheelbase_m: chassis.l,
            track_m: [chassis.t_f, chassis.t_r],
            radius_m: [car.car.front.r, car.car.rear.r],
            cg_height_m: mass.z,
        },
        worth,
        mass_kg: mass.m,
        at_m: [mass.x, mass.y, mass.z],
        items: &items,
        centres: &centres,
    })
}

/// Rows that are done, and those that are coming.
fn items(on: &OnTrack, coming: &[usize]) -> Vec<Item> {
    let part = |p: Option<Part>| p.map(|p| (p.m, [p.x, p.y, p.z]));
    let rows = on.ledger.entries.iter().enumerate();
    rows.filter(|(i, e)| e.state == State::Done || coming.contains(i))
        .map(|(_, e)| Item {
            name: e.item.clone(),
            off: part(e.change.before),
            on: part(e.change.after),
            state: e.state,
        })
        .collect()
}

/// Before all that is done, now, and with what is coming.
fn centres(on: &OnTrack, plan: Option<&Plan>) -> Vec<Centre> {
    let b = &on.budget;
    let centre = |name: &str, s: &MassState, now| Centre {
        name: name.into(),
        now,
        mass_kg: s.part.m,
        at_m: [s.part.x, s.part.y, s.part.z],
        sd_m: [s.sd[1], s.sd[2], s.sd[3]],
    };
    let entries = &on.ledger.entries;
    let mut all = Vec::new();
    if entries.iter().any(|e| e.state == State::Done) {
        let undone: Vec<_> = b.in_weighing.iter().map(|&i| entries[i].change.undone()).collect();
        // A weighing that has less in it than was taken out is a slip in the ledger, and no centre of gravity.
        if let Ok(part) = all_on(on.base.car, &undone) {
            all.push(Centre { mass_kg: part.m, at_m: [part.x, part.y, part.z], ..centre("was", &b.weighed, false) });
        }
    }
    all.push(centre("now", &b.now, true));
    if let Some(plan) = plan.filter(|plan| plan.standing != b.now) {
        let idea = plan.rows.iter().any(|&i| entries[i].state == State::Idea);
        all.push(centre(if idea { "with ideas" } else { "planned" }, &plan.standing, false));
    }
    all
}
