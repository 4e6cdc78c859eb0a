//! What is tested: rows of the ledger, values of the file, something moved, ballast; and the car without and with it.

use unladen_garage::{CarFile, Measured, Uncertainty};
use unladen_study::Input;
use unladen_study::relocate::static_state::inside;
use unladen_study::trial::predict::DOSE_KG;
use unladen_vehicle::mass::Part;
use unladen_vehicle::{Car, Number};

use crate::error::{AskError, Asked};
use crate::read::Reader;
use crate::read::project::ledger_file;
use crate::read::scene::{Inputs, Scene, uncertain};
use crate::relocate;
use crate::relocate::pieces::{item, tank};
use crate::stands::coming::chosen;
use crate::stands::load::Aboard;
use crate::trial_error::TrialError;

/// What is fitted in runs B and not in runs A.
#[derive(Clone, Debug, PartialEq)]
pub enum Change {
    /// Rows of the ledger, by name.
    Rows(Vec<String>),
    /// Values of the car's file, as `KEY=VALUE`.
    Set(Vec<String>),
    /// The fuel tank, or an item of the ledger, put elsewhere, m.
    Moved {
        /// Which.
        item: String,
        /// Where to.
        to: [f64; 3],
    },
    /// Mass tied down at a place, m.
    Ballast {
        /// kg.
        mass: Measured,
        /// Where; none: where a passenger sits.
        at: Option<[f64; 3]>,
    },
}

/// The car without and with it.
#[derive(Clone, Debug)]
pub(crate) struct Sides {
    pub(crate) words: String,
    pub(crate) before: Car,
    pub(crate) after: Car,
    pub(crate) heavier: Car,
    pub(crate) inputs: Vec<Input>,
    pub(crate) own: Vec<Input>,
}

/// The car with a point mass more.
pub(crate) fn with_mass(car: &Car, kg: f64, [x, y, z]: [f64; 3]) -> Car {
    Car { mass: Part::from(car.mass).with(Part::point(kg, x, y, z)).into(), ..car.clone() }
}

/// Where a passenger sits, or the middle of the car: where ballast can be tied down.
pub(crate) fn beside_the_driver(file: &CarFile, car: &Car) -> [f64; 3] {
    match file.loads.driver {
        Some(driver) => [driver.seat[0], -driver.seat[1], driver.seat[2]],
        None => [car.mass.a, 0.0, car.mass.h],
    }
}

/// Both sides of a change to the car as it stands.
pub(crate) fn sides(r: &mut Reader, scene: &Scene, inputs: &Inputs, change: &Change) -> Result<Sides, AskError> {
    let mut standing = inputs.car.clone();
    let (file, before) = (&inputs.car.file, standing.car.clone());
    let mut own = Vec::new();
    let mass_of = |name: &str, sd: f64| Input { key: format!("mass of {name}"), sd, onto: vec![(Number::M, 1.0)] };
    let (words, after) = match change {
        Change::Rows(rows) => {
            let path = ledger_file(r.files(), &scene.car);
            let Some(ledger) = standing.ledger.clone() else { return Err(Asked::NoPlan { path }.into()) };
            let nothing = || TrialError::NoChange { given: format!("--change {}", rows.join(", ")) };
            let coming = chosen(&standing, rows)?.ok_or_else(nothing)?;
            standing.others.extend(r.others(&scene.car, &scene.set, Some(&ledger), &coming.rows)?);
            if coming.sd_kg > 0.0 {
                own.push(mass_of(&coming.name, coming.sd_kg));
            }
            (coming.name.clone(), standing.with(&coming.rows)?)
        }
        Change::Set(values) => {
            let set = [scene.set.as_slice(), values].concat();
            let other = r.inputs(&Scene { set, ..scene.clone() })?.car;
            // What is shared moves both; a ± that the new value states is its own.
            let stated: Vec<Uncertainty> = other.file.uncertainties.iter().filter(|u| u.own).cloned().collect();
            own.extend(uncertain(&stated));
            (values.join(", "), other.car)
        }
        Change::Moved { item: name, to } => {
            let question = relocate::Question::new(scene.clone(), name, relocate::Where::To(*to));
            let relocation = match name.trim().eq_ignore_ascii_case("fuel tank") {
                true => tank(&question, &standing)?.0,
                false => {
                    let path = ledger_file(r.files(), &scene.car);
                    item(&question, &standing, standing.ledger.as_ref().ok_or(Asked::NoLedger { path })?)?.0
                }
            };
            let [_, after] = relocation.cars(&standing.unchanged(), Aboard::on_track(file).fuel, &[])?;
            let [x, y, z] = to.map(|m| 1e3 * m);
            (format!("{} moved to {x:.0}, {y:.0}, {z:.0} mm", name.trim()), after)
        }
        Change::Ballast { mass, at } => {
            let place = at.unwrap_or_else(|| beside_the_driver(file, &before));
            inside(&before, "the ballast", place, [0.0; 3])?;
            if mass.sd > 0.0 {
                own.push(mass_of("the ballast", mass.sd));
            }
            let [x, y, z] = place.map(|m| 1e3 * m);
            (
                format!("{} kg of ballast at {x:.0}, {y:.0}, {z:.0} mm", mass.value),
                with_mass(&before, mass.value, place),
            )
        }
    };
    if after == before {
        return Err(TrialError::NoChange { given: words }.into());
    }
    let tank = file.loads.fuel.map(|f| [f.tank.x, f.tank.y, f.tank.z + 0.5 * f.tank.height]);
    let heavier = with_mass(&before, DOSE_KG, tank.unwrap_or([before.mass.a, before.mass.y_cg, before.mass.h]));
    Ok(Sides { words, inputs: standing.inputs, before, after, heavier, own })
}
