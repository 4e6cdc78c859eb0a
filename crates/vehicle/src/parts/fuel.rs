//! Fuel in a box tank: from a volume to a mass and its centre. The level follows the volume; no sloshing.

use crate::mass::Part;
use crate::scalar::Scalar;

/// The inside of a box tank. `x` and `y` are of the box's centre in plan, `z` is of its **floor**.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Tank<S = f64> {
    /// Centre in plan behind the front axle line, m.
    pub x: S,
    /// Centre in plan right of the centre plane, m.
    pub y: S,
    /// Floor above ground, m.
    pub z: S,
    /// Along the car, m, > 0.
    pub length: S,
    /// Across the car, m, > 0.
    pub width: S,
    /// Floor to roof, m, > 0.
    pub height: S,
}

/// Why an amount of fuel is impossible.
#[derive(Clone, Copy, Debug, PartialEq, thiserror::Error)]
pub enum FuelError {
    /// The box holds less.
    #[error("{} L do not fit a tank that holds {} L", volume_m3 * 1e3, capacity_m3 * 1e3)]
    Overfull {
        /// Volume asked for, m³.
        volume_m3: f64,
        /// Volume of the box, m³.
        capacity_m3: f64,
    },
    /// Less than nothing, or not a number.
    #[error("{} L is no amount of fuel", volume_m3 * 1e3)]
    NotAnAmount {
        /// Volume asked for, m³.
        volume_m3: f64,
    },
}

impl<S: Scalar> Tank<S> {
    /// What the box holds, m³.
    pub fn capacity(&self) -> S {
        self.length * self.width * self.height
    }

    /// The fuel in the tank as a part: m = ρ V at (x, y, z + ½ V/(length·width)), I = m (length² + width²)/12 (a box).
    ///
    /// `volume` m³, `density` kg/m³. A full tank is allowed to the last drop: 1e-9 of rounding on top.
    ///
    /// # Errors
    /// [`FuelError`] where the volume is negative, not a number, or more than the box holds.
    pub fn fuel(&self, volume: S, density: S) -> Result<Part<S>, FuelError> {
        let (v, capacity) = (volume.value(), self.capacity().value());
        if v.is_nan() || v < 0.0 {
            return Err(FuelError::NotAnAmount { volume_m3: v });
        }
        if v > capacity * (1.0 + 1e-9) {
            return Err(FuelError::Overfull { volume_m3: v, capacity_m3: capacity });
        }
        let level = volume / (self.length * self.width);
        let m = density * volume;
        let i_zz = m * (self.length * self.length + self.width * self.width) / 12.0;
        Ok(Part { m, x: self.x, y: self.y, z: self.z + level * 0.5, i_zz: Some(i_zz) })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    const TANK: Tank = Tank { x: 2.65, y: 0.1, z: 0.39, length: 0.42, width: 0.7, height: 0.24 };

    /// 29.4 L in a 0.42 × 0.70 m box stand 100 mm deep: 21.903 kg at 0.745 kg/L, centred 50 mm above the floor.
    #[test]
    fn closed_form_level_follows_volume() {
        let fuel = TANK.fuel(0.0294, 745.0).unwrap();
        assert!((fuel.m - 21.903).abs() < 1e-12);
        assert_eq!((fuel.x, fuel.y), (2.65, 0.1));
        assert!((fuel.z - 0.44).abs() < 1e-15);
        assert!((fuel.i_zz.unwrap() - 21.903 * (0.42 * 0.42 + 0.7 * 0.7) / 12.0).abs() < 1e-12);
        assert!((TANK.capacity() - 0.07056).abs() < 1e-15);
    }

    /// EN 228 petrol, 720 to 775 kg/m³ at 15 °C (sources.md 25): 50 L weigh 36 to 38.75 kg.
    #[test]
    fn published_en228_petrol_band() {
        assert!((TANK.fuel(0.05, 720.0).unwrap().m - 36.0).abs() < 1e-12);
        assert!((TANK.fuel(0.05, 775.0).unwrap().m - 38.75).abs() < 1e-12);
    }

    proptest! {
        /// Filling in two goes is filling in one: layers stack.
        #[test]
        fn property_layers_stack(v in 0.001..0.07f64, share in 0.0..1.0f64) {
            let whole = TANK.fuel(v, 745.0).unwrap();
            let low = TANK.fuel(v * share, 745.0).unwrap();
            let level = v * share / (TANK.length * TANK.width);
            let raised = Tank { z: TANK.z + level, ..TANK };
            let both = low.with(raised.fuel(v * (1.0 - share), 745.0).unwrap());
            prop_assert!((both.m - whole.m).abs() < 1e-12 && (both.z - whole.z).abs() < 1e-12);
            prop_assert!((both.i_zz.unwrap() - whole.i_zz.unwrap()).abs() < 1e-12);
        }
    }

    #[test]
    fn bad_input_overfull_negative_and_nan() {
        assert!(TANK.fuel(TANK.capacity(), 745.0).is_ok());
        let e = TANK.fuel(0.09, 745.0).unwrap_err();
        assert!(matches!(e, FuelError::Overfull { .. }));
        assert!(e.to_string().contains("do not fit"), "{e}");
        assert!(matches!(TANK.fuel(-0.001, 745.0), Err(FuelError::NotAnAmount { .. })));
        assert!(matches!(TANK.fuel(f64::NAN, 745.0), Err(FuelError::NotAnAmount { .. })));
    }
}
