//! What a kilogram and a millimetre are worth: the values that `worth` shows, and whether they can be right.

pub mod body;
pub(crate) mod body_open;
pub mod curve;
pub mod field;
pub mod items;
pub mod json;
pub mod kilogram;
pub mod lens;
pub mod text;

use unladen_lap::Limit;

/// A derivative of the lap time with all that is known about it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Quantity {
    /// Its value.
    pub value: f64,
    /// Its numerical error, same unit.
    pub error: f64,
    /// One standard deviation from the car's uncertain numbers, where its file gives any.
    pub sd: Option<f64>,
    /// Where a limit changes hands: the values (minus, plus) towards less and towards more.
    pub one_sided: Option<(f64, f64)>,
}

impl Quantity {
    /// A smooth one without given uncertainty.
    pub fn new(value: f64, error: f64) -> Quantity {
        Quantity { value, error, sd: None, one_sided: None }
    }
}

/// What one more kilogram costs at a place in the car.
#[derive(Clone, Debug, PartialEq)]
pub struct WorthPlace {
    /// What is there.
    pub name: String,
    /// Behind the front axle line, mm.
    pub x_mm: f64,
    /// Right of the centre plane, mm.
    pub y_mm: f64,
    /// Above ground, mm.
    pub z_mm: f64,
    /// s/kg.
    pub s_per_kg: Quantity,
}

/// What `worth` knows of a car on a track, or on a mix of tracks.
#[derive(Clone, Debug, PartialEq)]
pub struct Worth {
    /// The track's name, or the mix's.
    pub track: String,
    /// Lap time, s.
    pub lap_time_s: f64,
    /// Its numerical error, s.
    pub lap_time_error_s: f64,
    /// Its standard deviation from the car's uncertain numbers, s.
    pub lap_time_sd_s: Option<f64>,
    /// Mass added at the centre of gravity.
    pub s_per_kg: Quantity,
    /// The centre of gravity raised.
    pub s_per_mm_height: Quantity,
    /// The centre of gravity moved rearward.
    pub s_per_mm_rearward: Quantity,
    /// The centre of gravity moved to the right.
    pub s_per_mm_right: Quantity,
    /// What a kilogram costs at some places of the car.
    pub places: Vec<WorthPlace>,
    /// Share of the lap time that each limit rules, in the order of `Limit::ALL`.
    pub limits: [f64; Limit::ALL.len()],
    /// (m/T) ∂T/∂m: per cent of lap time for a per cent of mass.
    pub elasticity: f64,
    /// What the solver and the readers warned of.
    pub warnings: Vec<String>,
}

impl Worth {
    /// The four derivatives with their keys in JSON.
    pub fn quantities(&self) -> [(&'static str, &Quantity); 4] {
        [
            ("s_per_kg", &self.s_per_kg),
            ("s_per_mm_height", &self.s_per_mm_height),
            ("s_per_mm_rearward", &self.s_per_mm_rearward),
            ("s_per_mm_right", &self.s_per_mm_right),
        ]
    }
}

/// The elasticity of a lap held by nothing but load-sensitive grip is n/2 with F ∝ N^(1−n), and of power from rest 1/3:
/// a mixed lap lies between (closed forms; row 34 of the project's list of sources).
pub const BAND: (f64, f64) = (0.05, 0.33);

/// Where an elasticity lies against [`BAND`].
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Sanity {
    /// As a mixed lap should.
    Inside,
    /// Mass hardly matters.
    Below,
    /// Mass matters more than power from rest would make it.
    Above,
    /// More mass makes it quicker, or no number at all.
    Absurd,
}

impl Sanity {
    /// Of an elasticity.
    pub fn of(elasticity: f64) -> Sanity {
        if !elasticity.is_finite() || elasticity < 0.0 {
            Sanity::Absurd
        } else if elasticity < BAND.0 {
            Sanity::Below
        } else if elasticity > BAND.1 {
            Sanity::Above
        } else {
            Sanity::Inside
        }
    }

    /// What it means and what to do.
    pub fn words(self) -> &'static str {
        match self {
            Sanity::Inside => "That is inside the band of 0.05 to 0.33 in which mixed laps lie.",
            Sanity::Below => {
                "CHECK: that is below the band of 0.05 to 0.33 in which mixed laps lie. Downforce, a lap at top speed, or tyres \
                 that lose little grip with load can make it so small; otherwise look at the tyres' load slopes in the car's file."
            }
            Sanity::Above => {
                "CHECK: that is above the band of 0.05 to 0.33 in which mixed laps lie: power alone, from rest on the level, \
                 gives 1/3. A steep climb can exceed it; otherwise look at the torque, the gears and the tyres' load slopes in \
                 the car's file."
            }
            Sanity::Absurd => {
                "CHECK: more mass should not make a car quicker. Look at the tyres' load slopes and the downforce in the car's \
                 file before using any of these numbers."
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn closed_form_the_band_of_elasticities() {
        let third = 1.0 / 3.0;
        for (elasticity, sanity) in [
            (0.05, Sanity::Inside),
            (0.2, Sanity::Inside),
            (0.33, Sanity::Inside),
            (0.049, Sanity::Below),
            (0.0, Sanity::Below),
            (third, Sanity::Above),
            (1.0, Sanity::Above),
            (-0.01, Sanity::Absurd),
            (f64::NAN, Sanity::Absurd),
        ] {
            assert_eq!(Sanity::of(elasticity), sanity, "{elasticity}");
        }
        assert!(!Sanity::Inside.words().contains("CHECK"));
        assert!([Sanity::Below, Sanity::Above, Sanity::Absurd].iter().all(|s| s.words().starts_with("CHECK")));
    }
}
