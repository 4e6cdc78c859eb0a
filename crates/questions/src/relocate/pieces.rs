//! What of a car changes when something is moved.

use unladen_garage::Ledger;
use unladen_study::ledger::budget::own_sd;
use unladen_study::relocate::static_state::inside;
use unladen_study::relocate::{Boxes, Piece, Relocation};
use unladen_vehicle::Car;
use unladen_vehicle::change::Change;
use unladen_vehicle::entry::State;
use unladen_vehicle::fuel::Tank;
use unladen_vehicle::mass::Part;

use crate::error::{AskError, Asked};
use crate::relocate::{Added, EmptyTank, Question};
use crate::stands::moved::{in_car, row_of, row_of_tank};
use crate::stands::standing::Standing;

/// A relocation, the empty tank that goes along, and where it goes to.
type OfTank = (Relocation, Option<EmptyTank>, [f64; 3]);

/// The fuel tank.
///
/// # Errors
/// Where there is none, or not there, or nobody says what it weighs empty.
pub fn tank(q: &Question, standing: &Standing) -> Result<OfTank, AskError> {
    let car = &standing.car;
    let fuel = standing.file.loads.fuel.ok_or(Asked::NoFuel)?;
    let old = fuel.tank;
    let floor = [old.x, old.y, old.z];
    let to = q.to.after(floor);
    let [length, width, height] = q.inside.unwrap_or([old.length, old.width, old.height]);
    let new = Tank { x: to[0], y: to[1], z: to[2], length, width, height };
    inside(car, "the new fuel box", to, [length, width, height])?;
    let middle = |t: &Tank| [t.x, t.y, t.z + 0.5 * t.height];
    let mut pieces = Vec::new();
    let empty = match q.empty_tank {
        Some([before, after]) => {
            // A thin box turns about its middle like a solid one, within what matters here.
            let shell = |t: &Tank, m: f64| {
                let [x, y, z] = middle(t);
                Part { m, x, y, z, i_zz: Some(m * (t.length * t.length + t.width * t.width) / 12.0) }
            };
            let change = Change { before: Some(shell(&old, before.value)), after: Some(shell(&new, before.value)) };
            let both = before == after;
            pieces.push(Piece { name: "empty tank".into(), change, sd: before.sd });
            let [x, y, z] = middle(&new);
            let more = after.value - before.value;
            if !both {
                let part = Some(Part::point(more.abs(), x, y, z));
                let change = if more < 0.0 {
                    Change { before: part, after: None }
                } else {
                    Change { before: None, after: part }
                };
                pieces.push(Piece { name: "new tank over old".into(), change, sd: before.sd.hypot(after.sd) });
            }
            EmptyTank { row: None, kg: [before.value, after.value] }
        }
        None => {
            let (item, part, sd) = empty_tank(standing).ok_or(Asked::EmptyTank)?;
            let by = [0, 1, 2].map(|i| to[i] - floor[i]);
            let after = Part { x: part.x + by[0], y: part.y + by[1], z: part.z + by[2], ..part };
            pieces.push(Piece { name: item.clone(), change: Change { before: Some(part), after: Some(after) }, sd });
            EmptyTank { row: Some(item), kg: [part.m; 2] }
        }
    };
    pieces.extend(brought(&q.added, middle(&new), car)?);
    let fuel = Boxes { old, new, density: fuel.density, aboard: fuel.on_track };
    Ok((Relocation { pieces, fuel: Some(fuel), rows: standing.changes() }, Some(empty), middle(&new)))
}

/// What the ledger says of the tank that is in the car: its row, the part, how well it is known.
fn empty_tank(standing: &Standing) -> Option<(String, Part, f64)> {
    let ledger = standing.ledger.as_ref()?;
    let row = row_of_tank(ledger, |row| standing.entries[row].state == State::Done)?;
    let entry = &standing.entries[row];
    let part = in_car(entry, entry.state == State::Done)?;
    Some((entry.item.clone(), part, own_sd(entry, &standing.file.shop.scales)))
}

/// An item of the ledger, and where it goes to.
///
/// # Errors
/// Where it is not in the car, or can't be there.
pub fn item(q: &Question, standing: &Standing, ledger: &Ledger) -> Result<(Relocation, [f64; 3]), AskError> {
    let (file, car) = (&standing.file, &standing.car);
    let entry = &standing.entries[row_of(ledger, &q.item)?];
    let part = in_car(entry, entry.state == State::Done);
    let Some(part) = part else { return Err(Asked::NotInCar { item: entry.item.clone() }.into()) };
    let to = q.to.after([part.x, part.y, part.z]);
    inside(car, &q.item, to, [0.0; 3])?;
    let moved = Part { x: to[0], y: to[1], z: to[2], ..part };
    let change = Change { before: Some(part), after: Some(moved) };
    let mut pieces = vec![Piece { name: entry.item.clone(), change, sd: own_sd(entry, &file.shop.scales) }];
    pieces.extend(brought(&q.added, to, car)?);
    let fuel = file.loads.fuel.map(|f| Boxes { old: f.tank, new: f.tank, density: f.density, aboard: f.on_track });
    Ok((Relocation { pieces, fuel, rows: standing.changes() }, to))
}

/// What comes with it, or goes.
fn brought(extras: &[Added], to: [f64; 3], car: &Car) -> Result<Vec<Piece>, AskError> {
    let piece = |extra: &Added| {
        let [x, y, z] = extra.at.unwrap_or(to);
        inside(car, &extra.name, [x, y, z], [0.0; 3])?;
        let part = Some(Part::point(extra.mass.value.abs(), x, y, z));
        let change = if extra.mass.value < 0.0 {
            Change { before: part, after: None }
        } else {
            Change { before: None, after: part }
        };
        Ok(Piece { name: extra.name.clone(), change, sd: extra.mass.sd })
    };
    extras.iter().map(piece).collect()
}
