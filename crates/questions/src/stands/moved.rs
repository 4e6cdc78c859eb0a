//! What of a car sits elsewhere: its rows with their places changed, and what that does to a mass that has them already.

use unladen_garage::{CarFile, Ledger, find_row, nearest};
use unladen_study::relocate::static_state::inside;
use unladen_vehicle::change::Change;
use unladen_vehicle::entry::Entry;
use unladen_vehicle::fuel::Tank;
use unladen_vehicle::mass::Part;

use crate::error::{AskError, Asked};
use crate::stands::state::Moved;

/// How the tank is called.
pub const TANK: &str = "fuel tank";

/// Whether this is a name of the tank.
pub fn is_tank(item: &str) -> bool {
    item.trim().eq_ignore_ascii_case(TANK)
}

/// A change of place that the mass of a car doesn't have yet.
#[derive(Clone, Debug, PartialEq)]
pub struct Shift {
    /// The row that moves, or that the fuel moves with.
    pub row: usize,
    /// There and here. Of the fuel, which is no row's: its own.
    pub change: Change,
    /// It is the row's own mass that moves, which may be off.
    pub own: bool,
}

/// The row of the tank that is in the car: the last one there, which is what comes out next.
pub fn row_of_tank(ledger: &Ledger, there: impl Fn(usize) -> bool) -> Option<usize> {
    let holds = |row: &usize| ledger.one_of[*row].as_ref().is_some_and(|w| w.eq_ignore_ascii_case(TANK));
    let part = |row: &usize| in_car(&ledger.entries[*row], there(*row)).is_some();
    (0..ledger.entries.len()).filter(holds).rfind(part)
}

/// What of a row is in the car: what it puts there once it is done, until then what it takes out.
pub fn in_car(entry: &Entry, done: bool) -> Option<Part> {
    if done { entry.change.after } else { entry.change.before }
}

/// The row of an item.
///
/// # Errors
/// Where there is none of this name.
pub fn row_of(ledger: &Ledger, item: &str) -> Result<usize, AskError> {
    find_row(ledger, item, None).map_err(|errors| match nearest(item, [TANK]) {
        // The tank need not be a row of the ledger.
        Some(tank) => Asked::NoSuchItem { given: item.to_owned(), hint: format!("; did you mean `{tank}`?") }.into(),
        None => AskError::from(errors),
    })
}

/// Puts rows where they are now. `done`: which rows are in the car; `added`: which of them its mass doesn't have.
///
/// # Errors
/// [`Asked`] where something is not in the car, or would be outside it.
pub fn moved(
    file: &CarFile,
    ledger: &Ledger,
    entries: &mut [Entry],
    all: &[Moved],
    (done, added): (&dyn Fn(usize) -> bool, &dyn Fn(usize) -> bool),
) -> Result<Vec<Shift>, AskError> {
    let mut shifts = Vec::new();
    for Moved { item, by } in all {
        let row = if is_tank(item) {
            let fuel = file.loads.fuel.ok_or(Asked::NoFuel)?;
            let row = row_of_tank(ledger, done).ok_or(Asked::EmptyTank)?;
            let [x, y, z] = [0, 1, 2].map(|i| [fuel.tank.x, fuel.tank.y, fuel.tank.z][i] + by[i]);
            let new = Tank { x, y, z, ..fuel.tank };
            inside(&file.car, "the fuel box", [x, y, z], [new.length, new.width, new.height])?;
            let part = |tank: &Tank| tank.fuel(fuel.on_track, fuel.density).ok();
            shifts.push(Shift { row, change: Change { before: part(&fuel.tank), after: part(&new) }, own: false });
            row
        } else {
            row_of(ledger, item)?
        };
        let entry = &mut entries[row];
        let there = in_car(entry, done(row)).ok_or_else(|| Asked::NotInCar { item: entry.item.clone() })?;
        let here = Part { x: there.x + by[0], y: there.y + by[1], z: there.z + by[2], ..there };
        inside(&file.car, &entry.item, [here.x, here.y, here.z], [0.0; 3])?;
        if done(row) {
            entry.change.after = Some(here);
        } else {
            entry.change.before = Some(here);
        }
        if !added(row) {
            shifts.push(Shift { row, change: Change { before: Some(there), after: Some(here) }, own: true });
        }
    }
    Ok(shifts)
}
