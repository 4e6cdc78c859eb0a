//! Air density at a track: ISO 2533 pressure at its altitude, and the day's temperature where it is known.

use crate::car::G;

/// R: specific gas constant of dry air, J/(kg K) (ISO 2533).
pub const R_AIR: f64 = 287.05287;
/// p_0: sea-level pressure, Pa (ISO 2533).
pub const P_0: f64 = 101_325.0;
/// T_0: sea-level temperature, K (ISO 2533: 15 °C).
pub const T_0: f64 = 288.15;
/// β: temperature gradient of the troposphere, K per geopotential metre (ISO 2533).
const BETA: f64 = -0.0065;
/// r: nominal earth radius of the geopotential, m (ISO 2533).
const R_EARTH: f64 = 6_356_766.0;

/// Altitudes that the troposphere's formula covers here, m above sea level.
pub const ALTITUDES: std::ops::RangeInclusive<f64> = -2_000.0..=11_000.0;

/// Why there is no density.
#[derive(Clone, Copy, Debug, PartialEq, thiserror::Error)]
pub enum AirError {
    /// Outside the troposphere's formula.
    #[error("an altitude of {altitude_m} m is outside −2000 … 11 000 m")]
    Altitude {
        /// Asked for, m.
        altitude_m: f64,
    },
    /// Not above absolute zero.
    #[error("{temperature_k} K is no temperature of air")]
    Temperature {
        /// Asked for, K.
        temperature_k: f64,
    },
}

/// Temperature of the standard atmosphere, K: T = T_0 + β H, with H = r z/(r + z) the geopotential of altitude z (ISO
/// 2533).
fn standard_temperature(altitude_m: f64) -> f64 {
    T_0 + BETA * (R_EARTH * altitude_m / (R_EARTH + altitude_m))
}

/// Pressure of the standard atmosphere, Pa: p = p_0 (T/T_0)^(−g/(β R)) (ISO 2533, troposphere).
fn standard_pressure(altitude_m: f64) -> f64 {
    P_0 * (standard_temperature(altitude_m) / T_0).powf(-G / (BETA * R_AIR))
}

/// ρ = p/(R T), kg/m³: pressure of the standard atmosphere at the altitude, temperature as given or else the
/// standard's.
///
/// Dry air: humidity (up to about 1 % lighter on a hot damp day) and the day's barometer are left out.
///
/// # Errors
/// [`AirError`] where altitude or temperature is outside the formula.
pub fn density(altitude_m: f64, temperature_k: Option<f64>) -> Result<f64, AirError> {
    if !ALTITUDES.contains(&altitude_m) {
        return Err(AirError::Altitude { altitude_m });
    }
    let t = temperature_k.unwrap_or_else(|| standard_temperature(altitude_m));
    if !(t > 0.0 && t.is_finite()) {
        return Err(AirError::Temperature { temperature_k: t });
    }
    Ok(standard_pressure(altitude_m) / (R_AIR * t))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// sources.md 21: ISO 2533 / US Standard Atmosphere 1976, table I, printed to four decimals.
    #[test]
    fn published_iso2533_density_at_altitude() {
        for (altitude, rho) in [(0.0, 1.2250), (500.0, 1.1673), (1000.0, 1.1117), (1500.0, 1.0581), (2000.0, 1.0066)] {
            let got = density(altitude, None).unwrap();
            assert!((got - rho).abs() <= 5e-5, "{altitude} m: {got} against {rho}");
        }
    }

    /// sources.md 22: dry air at 101 325 Pa (ideal gas; CoolProp agrees to the tolerance, 1e-4).
    #[test]
    fn published_coolprop_density_at_temperature() {
        for (celsius, rho) in [(0.0, 1.2923), (20.0, 1.2041), (30.0, 1.1644), (35.0, 1.1455)] {
            let got = density(0.0, Some(celsius + 273.15)).unwrap();
            assert!((got - rho).abs() <= 1e-4, "{celsius} °C: {got} against {rho}");
        }
    }

    /// Hydrostatics, dp/dz = −ρ g (r/(r + z))²: the formula's own differential equation.
    #[test]
    fn closed_form_pressure_is_hydrostatic() {
        for z in [-1000.0, 0.0, 300.0, 2000.0, 9000.0] {
            let dp = (standard_pressure(z + 1.0) - standard_pressure(z - 1.0)) / 2.0;
            let rho = density(z, None).unwrap();
            let g = G * (R_EARTH / (R_EARTH + z)).powi(2);
            assert!((dp / (-rho * g) - 1.0).abs() < 1e-7, "{z}");
        }
    }

    #[test]
    fn bad_input_altitude_and_temperature() {
        for z in [-2000.1, 11_000.1, f64::NAN, f64::INFINITY] {
            assert!(matches!(density(z, None), Err(AirError::Altitude { .. })));
        }
        for t in [0.0, -3.0, f64::NAN, f64::INFINITY] {
            assert!(matches!(density(0.0, Some(t)), Err(AirError::Temperature { .. })));
        }
    }
}
