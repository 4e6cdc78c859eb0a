//! Gears by engine and road speed, and whether the file's gearing is the car's.

use unladen_vehicle::Car;

/// Engine speed over the one that a gear has at a road speed may be off by this share.
const NEAR: f64 = 0.07;
/// Slower than this the clutch may slip, m/s.
const SLIPS: f64 = 8.0;

/// rad/s of the engine per m/s of the road, in each gear.
fn ratios(car: &Car) -> Vec<f64> {
    let radius = car.driven_radius();
    car.driveline.gears.iter().map(|g| g * car.driveline.final_drive / radius).collect()
}

/// The gear of an engine speed (rad/s) at a road speed (m/s); 0 where none fits.
pub fn gear_of(car: &Car, omega: f64, v: f64) -> u8 {
    let seen = omega / v;
    let all = ratios(car);
    let best = (0..all.len()).min_by(|a, b| (seen / all[*a]).ln().abs().total_cmp(&(seen / all[*b]).ln().abs()));
    match best {
        Some(i) if v > SLIPS && (seen / all[i] - 1.0).abs() < NEAR => u8::try_from(i + 1).unwrap_or(0),
        _ => 0,
    }
}

/// Gearing by the log against the file's.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Gearing {
    /// Engine speed per road speed over the file's, median.
    pub ratio: f64,
    /// Samples.
    pub samples: usize,
}

/// The log's gearing against the file's, from (engine speed rad/s, road speed m/s, gear, 0 not known); `None` for few
/// samples.
pub fn gearing(car: &Car, samples: &[(f64, f64, u8)]) -> Option<Gearing> {
    let file = ratios(car);
    let of = |&(omega, v, gear): &(f64, f64, u8)| {
        let gear = if gear > 0 { gear } else { gear_of(car, omega, v) };
        let ratio = file.get(usize::from(gear).checked_sub(1)?)?;
        Some(omega / v / ratio).filter(|r| v > SLIPS && (0.7..1.4).contains(r))
    };
    let mut all: Vec<f64> = samples.iter().filter_map(of).collect();
    all.sort_by(f64::total_cmp);
    (all.len() >= 50).then(|| Gearing { ratio: all[all.len() / 2], samples: all.len() })
}

#[cfg(test)]
mod tests {
    use super::*;
    use unladen_vehicle::example_car;

    #[test]
    fn closed_form_gears_by_engine_speed() {
        let car = example_car();
        let all = ratios(&car);
        for (i, r) in all.iter().enumerate() {
            assert_eq!(gear_of(&car, 30.0 * r * 1.02, 30.0), i as u8 + 1);
        }
        assert_eq!((gear_of(&car, 30.0 * all[0] * 1.5, 30.0), gear_of(&car, 1.0, 0.0)), (0, 0));
        let samples: Vec<(f64, f64, u8)> = (0..100).map(|_| (25.0 * all[2] * 1.03, 25.0, 0)).collect();
        assert!((gearing(&car, &samples).unwrap().ratio - 1.03).abs() < 1e-12);
    }
}
