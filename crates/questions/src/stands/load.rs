//! The car with something aboard.

use unladen_garage::{CarFile, Carried, FileErrors, Located};
use unladen_study::ledger::budget::Base;
use unladen_vehicle::mass::Part;

use crate::error::AskError;

/// What is aboard.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Aboard {
    /// m³.
    pub fuel: f64,
    /// kg.
    pub driver: f64,
    /// Which of the others, `[aboard.NAME]`.
    pub others: Others,
}

/// Which of those in `[aboard]` are there.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Others {
    /// None.
    #[default]
    None,
    /// Those that were on the scales.
    AsWeighed,
    /// Those that are aboard as the car laps.
    OnTrack,
}

impl Aboard {
    /// On the scales.
    pub fn as_weighed(car: &CarFile) -> Self {
        let (fuel, driver) = (car.loads.fuel.map(|f| f.as_weighed), car.loads.driver.map(|d| d.as_weighed));
        Self { fuel: fuel.unwrap_or(0.0), driver: driver.unwrap_or(0.0), others: Others::AsWeighed }
    }

    /// On the track.
    pub fn on_track(car: &CarFile) -> Self {
        let (fuel, driver) = (car.loads.fuel.map(|f| f.on_track), car.loads.driver.map(|d| d.on_track));
        Self { fuel: fuel.unwrap_or(0.0), driver: driver.unwrap_or(0.0), others: Others::OnTrack }
    }

    /// What the target is stated for, where there is one; otherwise that of the weighing.
    pub fn of_target(car: &CarFile) -> Self {
        let of = |t: unladen_garage::Target| Self { fuel: t.fuel, driver: t.driver, others: Others::None };
        car.shop.target.map_or_else(|| Self::as_weighed(car), of)
    }
}

/// The car as weighed.
pub fn weighed(car: &CarFile) -> Base {
    let chassis = &car.car.chassis;
    Base {
        car: Part { i_zz: Some(0.0), ..car.loads.weighed },
        sd: car.shop.weighed_sd,
        wheelbase: chassis.l,
        track: [chassis.t_f, chassis.t_r],
        chi: chassis.chi,
        corners: car.shop.corners,
    }
}

/// The car as weighed, with this aboard instead.
///
/// # Errors
/// A fuel load that its tank doesn't hold, or masses that leave no car.
pub fn carrying(car: &CarFile, aboard: Aboard) -> Result<Base, AskError> {
    let fault = |what| AskError::Files(vec![FileErrors { faults: vec![Located { what, place: None }], more: 0 }]);
    let there = |carried: &Carried| match aboard.others {
        Others::None => false,
        Others::AsWeighed => carried.as_weighed,
        Others::OnTrack => carried.on_track,
    };
    let changes = car.loads.changes(aboard.fuel, aboard.driver, there).map_err(fault)?;
    Ok(weighed(car).carrying(&changes)?)
}
