//! All that counts as coming, done together: laps solved again with it.

use unladen_study::compare::changed::{Gain, Pair, gains};
use unladen_vehicle::Car;

use crate::error::AskError;
use crate::lap;
use crate::stands::coming::Coming;
use crate::worth;

/// What it does.
#[derive(Clone, Debug)]
pub struct Answer {
    /// Which rows.
    pub coming: Coming,
    /// The car with them.
    pub car: Car,
    /// Its laps.
    pub laps: Vec<lap::Answer>,
    /// What they gain on the car as it was asked about, track by track, then on the mix.
    pub gains: Vec<Gain>,
}

impl worth::Ready {
    /// What is coming, done together; `None` where nothing is.
    ///
    /// # Errors
    /// [`AskError`] where there is no lap.
    pub fn planned(&self) -> Result<Option<Answer>, AskError> {
        let Some(coming) = &self.coming else { return Ok(None) };
        let standing = &self.inputs.car;
        let car = standing.with(&coming.rows)?;
        let roads = self.roads()?;
        let laps = roads.courses().iter().map(|course| lap::on(course, standing, &car));
        let laps = laps.collect::<Result<Vec<_>, _>>()?;
        let (before, inputs) = (&standing.car, &standing.inputs);
        let pair = Pair { before, after: &car, inputs, change_sd_kg: coming.sd_kg };
        let gains = gains(&pair, &roads.legs())?;
        Ok(Some(Answer { coming: coming.clone(), car, laps, gains }))
    }
}
