//! The table of units. A new unit is one new row: the readers, the messages and the JSON Schema follow.

use std::f64::consts::PI;

use crate::unit::{Dimension, Unit};

const fn unit(symbol: &'static str, dimension: Dimension, num: f64, den: f64) -> Unit {
    Unit { symbol, dimension, num, den, zero: 0.0, alias: false }
}

const fn alias(symbol: &'static str, dimension: Dimension, num: f64, den: f64) -> Unit {
    Unit { symbol, dimension, num, den, zero: 0.0, alias: true }
}

const fn degrees(symbol: &'static str, num: f64, den: f64, zero: f64, alias: bool) -> Unit {
    Unit { symbol, dimension: Dimension::Temperature, num, den, zero, alias }
}

/// Standard gravity, m/s², exact (ISO 80000-3): the kilogram-force and pound-force rest on it.
const G: f64 = 9.80665;
/// Pound, kg, exact; inch, m, exact (international yard and pound agreement, 1959).
pub(crate) const LB: f64 = 0.453_592_37;
const INCH: f64 = 0.0254;
/// Pound-force, N, exact: 0.453 592 37 · 9.806 65.
pub(crate) const LBF: f64 = 4.448_221_615_260_5;

use Dimension as D;

/// Every unit. Factors are exact by definition, up to rounding to f64.
pub static UNITS: &[Unit] = &[
    unit("", D::Pure, 1.0, 1.0),
    unit("%", D::Pure, 1.0, 100.0),
    unit("mm", D::Length, 1.0, 1000.0),
    unit("cm", D::Length, 1.0, 100.0),
    unit("m", D::Length, 1.0, 1.0),
    unit("km", D::Length, 1000.0, 1.0),
    unit("in", D::Length, INCH, 1.0),
    unit("ft", D::Length, 0.3048, 1.0),
    unit("mi", D::Length, 1609.344, 1.0),
    unit("kg", D::Mass, 1.0, 1.0),
    unit("g", D::Mass, 1.0, 1000.0),
    unit("t", D::Mass, 1000.0, 1.0),
    unit("lb", D::Mass, LB, 1.0),
    alias("lbs", D::Mass, LB, 1.0),
    unit("oz", D::Mass, LB, 16.0),
    unit("L", D::Volume, 1.0, 1000.0),
    alias("l", D::Volume, 1.0, 1000.0),
    alias("dm3", D::Volume, 1.0, 1000.0),
    unit("mL", D::Volume, 1.0, 1e6),
    alias("ml", D::Volume, 1.0, 1e6),
    alias("cm3", D::Volume, 1.0, 1e6),
    unit("m3", D::Volume, 1.0, 1.0),
    unit("US gal", D::Volume, 3.785_411_784, 1000.0),
    unit("imp gal", D::Volume, 4.546_09, 1000.0),
    unit("m2", D::Area, 1.0, 1.0),
    unit("cm2", D::Area, 1.0, 1e4),
    unit("ft2", D::Area, 0.092_903_04, 1.0),
    unit("kg/L", D::Density, 1000.0, 1.0),
    alias("kg/l", D::Density, 1000.0, 1.0),
    alias("g/cm3", D::Density, 1000.0, 1.0),
    alias("kg/dm3", D::Density, 1000.0, 1.0),
    alias("g/mL", D::Density, 1000.0, 1.0),
    unit("kg/m3", D::Density, 1.0, 1.0),
    unit("N", D::Force, 1.0, 1.0),
    unit("kN", D::Force, 1000.0, 1.0),
    unit("kgf", D::Force, G, 1.0),
    unit("lbf", D::Force, LBF, 1.0),
    unit("Nm", D::Torque, 1.0, 1.0),
    unit("kNm", D::Torque, 1000.0, 1.0),
    unit("kgf m", D::Torque, G, 1.0),
    unit("lbf ft", D::Torque, LBF * 0.3048, 1.0),
    alias("lb ft", D::Torque, LBF * 0.3048, 1.0),
    alias("ft lb", D::Torque, LBF * 0.3048, 1.0),
    alias("ft lbf", D::Torque, LBF * 0.3048, 1.0),
    unit("kW", D::Power, 1000.0, 1.0),
    unit("W", D::Power, 1.0, 1.0),
    unit("PS", D::Power, 75.0 * G, 1.0),
    unit("hp", D::Power, 550.0 * LBF * 0.3048, 1.0),
    alias("bhp", D::Power, 550.0 * LBF * 0.3048, 1.0),
    unit("N/deg", D::ForcePerAngle, 180.0, PI),
    alias("N/°", D::ForcePerAngle, 180.0, PI),
    unit("kN/deg", D::ForcePerAngle, 180_000.0, PI),
    alias("kN/°", D::ForcePerAngle, 180_000.0, PI),
    unit("N/rad", D::ForcePerAngle, 1.0, 1.0),
    unit("kN/rad", D::ForcePerAngle, 1000.0, 1.0),
    unit("lbf/deg", D::ForcePerAngle, LBF * 180.0, PI),
    unit("N/mm", D::ForcePerLength, 1000.0, 1.0),
    alias("kN/m", D::ForcePerLength, 1000.0, 1.0),
    unit("N/m", D::ForcePerLength, 1.0, 1.0),
    unit("kgf/mm", D::ForcePerLength, G * 1000.0, 1.0),
    unit("lbf/in", D::ForcePerLength, LBF, INCH),
    alias("lb/in", D::ForcePerLength, LBF, INCH),
    unit("kg m2", D::Inertia, 1.0, 1.0),
    unit("kg cm2", D::Inertia, 1.0, 1e4),
    unit("lb ft2", D::Inertia, LB * 0.092_903_04, 1.0),
    unit("rpm", D::RotationalSpeed, PI, 30.0),
    alias("1/min", D::RotationalSpeed, PI, 30.0),
    alias("r/min", D::RotationalSpeed, PI, 30.0),
    unit("rad/s", D::RotationalSpeed, 1.0, 1.0),
    unit("km/h", D::Speed, 5.0, 18.0),
    alias("kph", D::Speed, 5.0, 18.0),
    alias("kmh", D::Speed, 5.0, 18.0),
    unit("m/s", D::Speed, 1.0, 1.0),
    unit("mph", D::Speed, 0.447_04, 1.0),
    unit("s", D::Time, 1.0, 1.0),
    unit("ms", D::Time, 1.0, 1000.0),
    unit("min", D::Time, 60.0, 1.0),
    unit("deg", D::Angle, PI, 180.0),
    alias("°", D::Angle, PI, 180.0),
    unit("rad", D::Angle, 1.0, 1.0),
    degrees("°C", 1.0, 1.0, 273.15, false),
    degrees("degC", 1.0, 1.0, 273.15, true),
    degrees("C", 1.0, 1.0, 273.15, true),
    degrees("K", 1.0, 1.0, 0.0, false),
    degrees("°F", 5.0, 9.0, 459.67, false),
    degrees("degF", 5.0, 9.0, 459.67, true),
    degrees("F", 5.0, 9.0, 459.67, true),
];
