//! From scale readings, level and with an axle raised, to mass and CG with their uncertainty and where it comes from.
//!
//! The method of ISO 10392 (axle lift), as one least-squares problem over all readings: unknown are m, a, y, h and,
//! each with what is known of it beforehand, every dimension and every bias of the scales. For one lift, equal wheels
//! and exact dimensions it is h = r + L (m_f′ − m_f)/(m tan θ), sin θ = H/L (`docs/sources.md` 3).

pub mod advice;

mod fit;
mod model;

use nalgebra::DVector;

use model::{A, FIRST_LIFT, H, L, M, R, Y};

/// A number and its standard deviation, SI.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Known {
    /// The value.
    pub value: f64,
    /// One standard deviation; 0: exact.
    pub sd: f64,
}

/// Which axle stands high.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Raised {
    /// The front axle.
    Front,
    /// The rear axle.
    Rear,
}

/// The car on the scales.
#[derive(Clone, Debug, PartialEq)]
pub struct Geometry {
    /// L, m.
    pub wheelbase: Known,
    /// t_f, t_r, m.
    pub track: [f64; 2],
    /// Height of the wheel centres over the pads, front and rear, m, as the car stands level.
    pub radius: [Known; 2],
    /// One tyre's vertical rate, N/m, front and rear: the low axle's tyres give way under what comes onto them.
    pub tyre_rate: [Option<f64>; 2],
}

/// What is known of the scales.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Scales {
    /// Smallest step, kg.
    pub resolution: f64,
    /// Scatter of one pad when the same car is rolled on again, kg, one standard deviation.
    pub repeatability: f64,
    /// By how much each pad may be off in all of its readings, kg, one standard deviation; pads apart.
    pub bias: f64,
    /// By what share of the reading all pads may be off alike, one standard deviation.
    pub gain: f64,
}

/// What stood on one reading's pads.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Loads {
    /// Front left, front right, rear left, rear right, kg.
    Corners([f64; 4]),
    /// Front and rear axle, kg.
    Axles([f64; 2]),
    /// Front axle alone, kg.
    Front(f64),
    /// Rear axle alone, kg.
    Rear(f64),
}

/// One reading.
#[derive(Clone, Debug, PartialEq)]
pub struct Reading {
    /// What it is called in a message: `level 1`, `lift 2`.
    pub name: String,
    /// What the pads showed.
    pub loads: Loads,
    /// The raised axle and by how much its wheel centres were raised, m; none: level.
    pub lift: Option<(Raised, Known)>,
    /// Heights of the pads over the lowest, m: front left, front right, rear left, rear right.
    pub pads: [f64; 4],
}

/// Fluid that runs to the low end: mass, kg, length of its tank and depth of the fluid, m. The wall-sided formula: its
/// CG moves by l²/(12 d) tan θ along the car and half of that times tan θ up (`docs/sources.md` 37).
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Fluid {
    /// kg.
    pub mass: f64,
    /// m.
    pub length: f64,
    /// m.
    pub depth: f64,
}

/// All that was read.
#[derive(Clone, Debug, PartialEq)]
pub struct Weighing {
    /// The car.
    pub geometry: Geometry,
    /// The scales.
    pub scales: Scales,
    /// The readings.
    pub readings: Vec<Reading>,
    /// Fluids.
    pub fluids: Vec<Fluid>,
    /// What the axle-lift method itself may be off by, as a share of h: suspension, tyres (ISO 10392, `docs/sources.md`
    /// 5: 3 % where nothing better is known).
    pub method_share: f64,
}

/// What was found, and how well.
#[derive(Clone, Debug, PartialEq)]
pub struct Weighed {
    /// m, kg.
    pub mass: Known,
    /// a, m behind the front axle.
    pub x: Known,
    /// y, m right of the middle; without corner weights not known.
    pub y: Option<Known>,
    /// h, m above the pads; without a lift not known.
    pub height: Option<Known>,
    /// Level corner weights, mean of the repeats, kg.
    pub corners: Option<[f64; 4]>,
    /// Shares of the variance of mass, x, y and height by cause, largest for the height (or x) first.
    pub budget: Vec<(Cause, [f64; 4])>,
    /// Every reading's misfit in standard deviations: name, pad or axle, value.
    pub misfits: Vec<(String, &'static str, f64)>,
    /// χ² over its degrees of freedom.
    pub chi2: f64,
    /// How many more readings there are than unknowns.
    pub freedom: usize,
    /// By how much all standard deviations were widened because the readings scatter more than they should; 1: not.
    pub widened: f64,
    /// The height that each lift alone gives, with its own standard deviation.
    pub each: Vec<(String, Raised, Known)>,
}

/// Where uncertainty comes from.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Cause {
    /// Scatter and steps of the level readings.
    Level,
    /// Scatter and steps of the raised readings.
    Lifted,
    /// The pads' own biases.
    Bias,
    /// The scales' common gain.
    Gain,
    /// How high the axle was raised.
    LiftHeight,
    /// The wheelbase.
    Wheelbase,
    /// The height of the wheel centres.
    Radius,
    /// The method: suspension, tyres, fluids that nobody accounted for.
    Method,
}

/// Why there is no result.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum WeighError {
    /// Not one reading of the level car that gives both axles.
    #[error("no level reading of both axles: mass and CG need one")]
    NoLevel,
    /// An axle raised by more than the wheelbase.
    #[error(
        "{name}: raised by {height_mm:.0} mm, which is more than half the wheelbase; that is not a lift but a stand"
    )]
    TooHigh {
        /// Which reading.
        name: String,
        /// mm.
        height_mm: f64,
    },
    /// The readings leave something open.
    #[error("these readings do not settle the centre of gravity: {what}")]
    Unsettled {
        /// What is open.
        what: &'static str,
    },
}

impl Weighing {
    /// Least squares over everything.
    ///
    /// # Errors
    /// [`WeighError`] where readings are missing or impossible.
    pub fn solve(&self) -> Result<Weighed, WeighError> {
        let found = self.fit(&self.all())?;
        let lifts: Vec<usize> = (0..self.readings.len()).filter(|&i| self.readings[i].lift.is_some()).collect();
        let level: Vec<usize> = (0..self.readings.len()).filter(|&i| self.readings[i].lift.is_none()).collect();
        let mut each = Vec::new();
        for i in lifts {
            let alone: Vec<usize> = level.iter().copied().chain([i]).collect();
            if let (Ok(one), Some((raised, _))) = (self.fit(&alone), self.readings[i].lift)
                && let Some(height) = one.height
            {
                // Each without the method's share: that is common to them all.
                let method = self.method_share * height.value;
                let sd = (height.sd * height.sd - method * method).max(0.0).sqrt();
                each.push((self.readings[i].name.clone(), raised, Known { sd, ..height }));
            }
        }
        Ok(Weighed { each, ..found })
    }

    /// The same weighing with readings exactly as a car of these numbers would give: to ask how well it would be known.
    pub fn simulated(&self, found: &Weighed) -> Self {
        let mut p = DVector::zeros(FIRST_LIFT + self.readings.len());
        (p[M], p[A]) = (found.mass.value, found.x.value);
        p[Y] = found.y.map_or(0.0, |y| y.value);
        p[H] = found.height.map_or(self.geometry.radius[0].value + 0.15, |h| h.value);
        (p[L], p[R], p[R + 1]) =
            (self.geometry.wheelbase.value, self.geometry.radius[0].value, self.geometry.radius[1].value);
        let mut same = self.clone();
        for (k, reading) in self.readings.iter().enumerate() {
            p[FIRST_LIFT + k] = reading.lift.map_or(0.0, |(_, h)| h.value);
            let show = |what| self.predict(reading, k, &p, what);
            same.readings[k].loads = match reading.loads {
                Loads::Corners(_) => Loads::Corners([show(0), show(1), show(2), show(3)]),
                Loads::Axles(_) => Loads::Axles([show(4), show(5)]),
                Loads::Front(_) => Loads::Front(show(4)),
                Loads::Rear(_) => Loads::Rear(show(5)),
            };
        }
        same
    }

    fn all(&self) -> Vec<usize> {
        (0..self.readings.len()).collect()
    }
}

#[cfg(test)]
mod tests;
