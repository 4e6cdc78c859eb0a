//! What a kilogram and a millimetre are worth: the values that `worth` shows, and whether they can be right.

pub mod along;
pub mod answer;
pub mod body;
pub mod brief;
pub mod car_map;
pub mod curve;
pub(crate) mod extremes;
pub mod field;
pub mod items;
pub mod json;
pub mod kilogram;
pub mod lens;
pub mod text;

use unladen_study::{Quantity, Worth};

/// The four derivatives with their keys in JSON.
pub fn quantities(w: &Worth) -> [(&'static str, &Quantity); 4] {
    [
        ("s_per_kg", &w.s_per_kg),
        ("s_per_mm_height", &w.s_per_mm_height),
        ("s_per_mm_rearward", &w.s_per_mm_rearward),
        ("s_per_mm_right", &w.s_per_mm_right),
    ]
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
