//! Units: what a person may write after a number, and its exact factor to SI. The table itself is [`UNITS`].

pub(crate) mod date;
pub mod digits;
pub(crate) mod near;
pub(crate) mod table;

pub use crate::unit::table::UNITS;
pub(crate) use table::LB;

/// What a quantity is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
#[allow(missing_docs)]
pub enum Dimension {
    /// A pure number.
    Pure,
    Length,
    Mass,
    Volume,
    Area,
    Density,
    Force,
    Torque,
    Power,
    /// Force per angle: cornering stiffness.
    ForcePerAngle,
    /// Force per length: spring and wheel rates.
    ForcePerLength,
    /// Moment of inertia.
    Inertia,
    RotationalSpeed,
    Speed,
    Time,
    Angle,
    Temperature,
}

impl Dimension {
    /// With its article, as in "a mass is due".
    pub fn name(self) -> &'static str {
        match self {
            Dimension::Pure => "a pure number",
            Dimension::Length => "a length",
            Dimension::Mass => "a mass",
            Dimension::Volume => "a volume",
            Dimension::Area => "an area",
            Dimension::Density => "a density",
            Dimension::Force => "a force",
            Dimension::Torque => "a torque",
            Dimension::Power => "a power",
            Dimension::ForcePerAngle => "a force per angle",
            Dimension::ForcePerLength => "a force per length",
            Dimension::Inertia => "a moment of inertia",
            Dimension::RotationalSpeed => "a rotational speed",
            Dimension::Speed => "a speed",
            Dimension::Time => "a time",
            Dimension::Angle => "an angle",
            Dimension::Temperature => "a temperature",
        }
    }

    /// The SI unit inside the program ("1" for a pure number), as `unladen_vehicle::car::Number::unit` spells it.
    pub fn si(self) -> &'static str {
        match self {
            Dimension::Pure => "1",
            Dimension::Length => "m",
            Dimension::Mass => "kg",
            Dimension::Volume => "m3",
            Dimension::Area => "m2",
            Dimension::Density => "kg/m3",
            Dimension::Force => "N",
            Dimension::Torque => "N m",
            Dimension::Power => "W",
            Dimension::ForcePerAngle => "N/rad",
            Dimension::ForcePerLength => "N/m",
            Dimension::Inertia => "kg m2",
            Dimension::RotationalSpeed => "rad/s",
            Dimension::Speed => "m/s",
            Dimension::Time => "s",
            Dimension::Angle => "rad",
            Dimension::Temperature => "K",
        }
    }

    /// Its units, in the order of the table, aliases apart.
    pub fn units(self) -> impl Iterator<Item = &'static Unit> {
        UNITS.iter().filter(move |u| u.dimension == self)
    }

    /// The usual units for a message: "kg, g, t, lb".
    pub fn examples(self) -> String {
        let symbols: Vec<_> = self.units().filter(|u| !u.alias && !u.symbol.is_empty()).map(|u| u.symbol).collect();
        symbols.join(", ")
    }
}

/// One unit: SI value = (number + zero) · num/den. The two parts keep 2570 mm exactly 2.57 m.
#[derive(Debug, PartialEq)]
pub struct Unit {
    /// As written and printed, without regard to spaces, `*`, `·`, `^` and raised digits.
    pub symbol: &'static str,
    /// What it measures.
    pub dimension: Dimension,
    pub(crate) num: f64,
    pub(crate) den: f64,
    /// Added to the number before scaling (temperatures only).
    pub(crate) zero: f64,
    /// Another spelling of a unit that the table has already; never suggested.
    pub alias: bool,
}

impl Unit {
    /// A number of this unit, in SI.
    pub fn to_si(&self, number: f64) -> f64 {
        (number + self.zero) * self.num / self.den
    }

    /// An SI value as a number of this unit.
    pub fn from_si(&self, si: f64) -> f64 {
        si * self.den / self.num - self.zero
    }

    /// A difference of this unit (a standard deviation, say), in SI: without the zero of a temperature scale.
    pub fn difference_to_si(&self, number: f64) -> f64 {
        number * self.num / self.den
    }

    /// A difference in SI as a number of this unit.
    pub fn difference_from_si(&self, si: f64) -> f64 {
        si * self.den / self.num
    }
}

/// `kg·m²` and `kg m^2` read as `kgm2`.
fn plain(symbol: &str) -> String {
    symbol
        .chars()
        .filter(|c| !c.is_whitespace() && !matches!(c, '*' | '·' | '⋅' | '^'))
        .map(|c| match c {
            '²' => '2',
            '³' => '3',
            'º' => '°',
            c => c,
        })
        .collect()
}

/// The unit with this symbol; case counts (`mm` is not `Mm`).
pub fn find(symbol: &str) -> Option<&'static Unit> {
    let wanted = plain(symbol);
    UNITS.iter().find(|u| plain(u.symbol) == wanted)
}

/// The unit that a mistyped symbol most likely means: first among those of the dimension that is due.
pub fn suggest(symbol: &str, due: Dimension) -> Option<&'static str> {
    let wanted = plain(symbol);
    let of = |due: Option<Dimension>| {
        let symbols = UNITS.iter().filter(|u| !u.symbol.is_empty() && due.is_none_or(|d| u.dimension == d));
        near::nearest(&wanted, symbols.map(|u| u.symbol))
    };
    of(Some(due)).or_else(|| of(None))
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::f64::consts::PI;

    use proptest::prelude::*;

    fn si(number: f64, symbol: &str) -> f64 {
        find(symbol).unwrap().to_si(number)
    }

    /// Definitions: 1959 yard and pound, ISO 80000-3 gravity, US and imperial gallon, degree Celsius and Fahrenheit.
    #[test]
    fn published_definitions_of_units() {
        for (number, symbol, expected) in [
            (2570.0, "mm", 2.57),
            (35.0, "lb", 15.875_732_95),
            (65.0, "L", 0.065),
            (62.0, "mph", 27.716_48),
            (180.0, "km/h", 50.0),
            (20.0, "°C", 293.15),
            (32.0, "°F", 273.15),
            (100.0, "lbf ft", 135.581_794_833_140_04),
            (500.0, "lbf/in", 87_563.417_623_238_19),
            (100.0, "lb ft2", 4.214_011_009_380_48),
            (0.745, "kg/L", 745.0),
            (10.0, "imp gal", 0.045_460_9),
            (30.0, "rpm", PI),
            (100.0, "PS", 73_549.875),
            (100.0, "hp", 74_569.987_158_227_02),
            (PI, "N/deg", 180.0),
            (58.0, "%", 0.58),
        ] {
            let got = si(number, symbol);
            assert!((got - expected).abs() <= 2.0 * f64::EPSILON * expected.abs(), "{number} {symbol}: {got}");
        }
    }

    #[test]
    fn closed_form_spellings_of_one_unit() {
        for spelling in ["kg m2", "kgm2", "kg·m²", "kg*m^2", " kg  m2 "] {
            assert_eq!(find(spelling).unwrap().symbol, "kg m2", "{spelling}");
        }
        assert_eq!(find("N m").unwrap().symbol, "Nm");
        assert_eq!(find("ºC").unwrap().symbol, "°C");
    }

    proptest! {
        #[test]
        fn property_there_and_back(i in 0..UNITS.len(), x in -1e6..1e6f64) {
            let u = &UNITS[i];
            let back = u.from_si(u.to_si(x));
            prop_assert!((back - x).abs() <= 1e-15 * (x.abs() + 2.0 * u.zero.abs()) * 4.0, "{} {x} {back}", u.symbol);
            let back = u.difference_from_si(u.difference_to_si(x));
            prop_assert!((back - x).abs() <= 4.0 * f64::EPSILON * x.abs());
        }
    }

    #[test]
    fn property_no_symbol_twice() {
        for (i, u) in UNITS.iter().enumerate() {
            let first = UNITS.iter().position(|v| plain(v.symbol) == plain(u.symbol));
            assert_eq!(first, Some(i), "{}", u.symbol);
        }
    }

    #[test]
    fn bad_input_mistyped_units() {
        assert!(find("Kg").is_none() && find("mn").is_none());
        assert_eq!(suggest("mn", Dimension::Length), Some("mm"));
        assert_eq!(suggest("Kg", Dimension::Mass), Some("kg"));
        assert_eq!(suggest("litre", Dimension::Volume), None);
        assert_eq!(suggest("NM", Dimension::Torque), Some("Nm"));
        assert_eq!(suggest("zebra", Dimension::Torque), None);
    }
}
