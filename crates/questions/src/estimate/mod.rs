//! What a car of a class is likely to be: from ten numbers that its owner knows, all others of its file, each with a ±
//! and where it is from.
//!
//! One table ([`RULES`]; engine and gears, which are lists, in [`engine`]): a key of `car.toml`, the rule in words and as
//! a function, how far a car of the class is likely to be off (one standard deviation), and the source. Nothing here is
//! better than that ±; a number that is measured takes the place of its rule. Pure: what is typed is read in [`given`],
//! the file is written in [`crate::new`].

pub mod engine;
pub mod given;
mod rules;
mod source;

pub use given::{Given, Kind};
pub use rules::RULES;
pub use source::Source;

use unladen_garage::Measured;
use unladen_vehicle::car::{G, Layout};

/// One row of the table.
pub struct Rule {
    /// The key of `car.toml`.
    pub key: &'static str,
    /// The rule in words, as it stands in the file behind the value.
    pub says: &'static str,
    /// Where it is from.
    pub source: Source,
    /// Value and one standard deviation, SI.
    pub of: fn(&Class) -> Measured,
}

/// The class: what is given, with what is not and others rest on filled in.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Class {
    /// As it was given.
    pub given: Given,
    /// Front axle's share of the weight, as weighed.
    pub front_share: Measured,
    /// Track width, m.
    pub track: Measured,
    /// The driver, kg.
    pub driver: Measured,
    /// Rolling radius, m.
    pub radius: f64,
    /// Driveline efficiency.
    pub efficiency: Measured,
    /// Drag area, m², from the top speed or from the size.
    pub drag_area: Measured,
    /// Top speed, m/s, as given or as power and drag make it.
    pub top_speed: f64,
}

/// Air of the standard atmosphere at sea level, kg/m³ (ISO 2533).
const RHO: f64 = 1.225;

/// A value and one standard deviation.
pub(crate) const fn about(value: f64, sd: f64) -> Measured {
    Measured { value, sd }
}

impl Class {
    /// The class of a car.
    pub fn of(given: Given) -> Self {
        let (l, h) = (given.wheelbase.value, given.height.value);
        let track = given.track.unwrap_or(about(0.58 * l, 0.025 * l));
        let efficiency = match given.layout {
            Layout::Front => about(0.92, 0.02),
            Layout::Rear => about(0.90, 0.02),
            Layout::All => about(0.87, 0.03),
        };
        let front_share = given.front_share.unwrap_or(match given.layout {
            Layout::Front => about(0.62, 0.03),
            Layout::Rear => about(0.52, 0.04),
            Layout::All => about(0.58, 0.03),
        });
        let driver = given.driver.unwrap_or(about(80.0, 12.0));
        let mut class = Class {
            given,
            front_share,
            track,
            driver,
            radius: 0.12 * l,
            efficiency,
            // Hucho's frontal area, 0.82 of width times height; the body stands out by 0.11 m on either side.
            drag_area: about(0.34, 0.045).times(0.82 * (track.value + 0.22) * h),
            top_speed: 0.0,
        };
        if let Some(top) = given.top_speed {
            class.top_speed = top.value;
            class.drag_area = class.drag_at(top);
        } else {
            class.top_speed = class.reaches(class.drag_area.value);
        }
        class
    }

    /// Mass as it laps, kg: the fuel is taken as weighed.
    pub fn lapping(&self) -> f64 {
        self.given.mass.value + self.driver.value
    }

    /// One wheel's mean load, N.
    pub fn wheel_load(&self) -> f64 {
        0.25 * self.lapping() * G
    }

    /// P η = (½ ρ C_dA v² + c_rr m g) v: the drag area that a top speed says, where power rules it and not the limiter.
    fn drag_at(&self, top: Measured) -> Measured {
        let v = top.value;
        let drive = self.given.power.value * self.efficiency.value / v;
        let area = (drive - self.rolling()) / (0.5 * RHO * v * v);
        let relative = |m: Measured| m.sd / m.value;
        // In power and efficiency as drive : air resistance; in the speed as the cube, or a little more.
        let lever = drive / (drive - self.rolling());
        let [power, efficiency, speed] = [relative(self.given.power), relative(self.efficiency), relative(top)];
        let sd = lever * power.hypot(efficiency).hypot(3.0 * speed);
        about(area, area.abs() * sd)
    }

    /// The top speed that power and a drag area make, m/s.
    pub(crate) fn reaches(&self, area: f64) -> f64 {
        let power = self.given.power.value * self.efficiency.value;
        let spare = |v: f64| power - (0.5 * RHO * area * v * v + self.rolling()) * v;
        let (mut slow, mut fast) = (0.0, 400.0);
        for _ in 0..60 {
            let middle = 0.5 * (slow + fast);
            if spare(middle) > 0.0 { slow = middle } else { fast = middle }
        }
        slow
    }

    /// Rolling resistance, N.
    fn rolling(&self) -> f64 {
        self.given.tyres.rolling_resistance().value * self.lapping() * G
    }
}

/// Arithmetic of the rules.
pub(crate) trait Times {
    /// Both times a factor that is known.
    fn times(self, factor: f64) -> Self;
}

impl Times for Measured {
    fn times(self, factor: f64) -> Self {
        about(self.value * factor, self.sd * factor.abs())
    }
}
