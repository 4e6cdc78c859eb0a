//! Where a rule is from.

use std::fmt;

/// Where a rule is from; what could not be looked up again says so.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Source {
    /// A number that stands in a publication, looked up.
    Published(&'static str),
    /// The same, remembered.
    Memory(&'static str),
    /// What people take who build such cars; nobody's measurement.
    Practice,
    /// It follows from what was given.
    Given,
}

impl fmt::Display for Source {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Source::Published(cite) => f.write_str(cite),
            Source::Memory(cite) => write!(f, "{cite}, from memory"),
            Source::Practice => f.write_str("common practice, no source"),
            Source::Given => f.write_str("from what was given"),
        }
    }
}

/// Measured light vehicles, 496 entries: CG height over roof height, driver aboard or not.
pub(crate) const HEYDINGER: Source = Source::Memory("Heydinger et al., SAE 1999-01-1336");
/// Petrol, 720 to 775 kg/m³ at 15 °C.
pub(crate) const EN_228: Source = Source::Published("EN 228");
/// Two passenger-car tyres: 205/60R15, and the one of 1987.
pub(crate) const TWO_TYRES: Source = Source::Published("Pacejka, App. 3; Bakker et al., SAE 870421");
/// Drag, lift and frontal areas of passenger cars.
pub(crate) const HUCHO: Source = Source::Memory("Hucho, Aerodynamics of Road Vehicles");
/// Rolling resistance and cornering coefficients.
pub(crate) const GILLESPIE: Source = Source::Memory("Gillespie, Fundamentals of Vehicle Dynamics");
/// Progressive steps of gears.
pub(crate) const NAUNHEIMER: Source = Source::Memory("Naunheimer et al., Automotive Transmissions");
