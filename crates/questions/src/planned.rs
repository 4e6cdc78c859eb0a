//! All that counts as coming, done together: laps solved again with it.

use unladen_study::compare::changed::{Gain, Pair, gains};
use unladen_vehicle::Car;

use crate::error::AskError;
use crate::lap;
use crate::read::scene::uncertain;
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
        let Some((on, coming)) = self.on.as_ref().zip(self.coming.as_ref()) else { return Ok(None) };
        let rows = on.done_since().chain(coming.rows.iter().copied());
        let file = &self.inputs.car;
        let car = on.with_rows(&file.car, coming.standing.part.into(), rows);
        let roads = self.roads()?;
        let laps = roads.courses().iter().map(|course| lap::on(course, &file.name, &car));
        let laps = laps.collect::<Result<Vec<_>, _>>()?;
        let inputs = uncertain(&file.uncertainties);
        let pair = Pair { before: &self.car, after: &car, inputs: &inputs, change_sd_kg: coming.sd_kg };
        let gains = gains(&pair, &roads.legs())?;
        Ok(Some(Answer { coming: coming.clone(), car, laps, gains }))
    }
}
