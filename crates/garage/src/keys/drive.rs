//! The keys of `car.toml` about what drives, slows and stops it; rows of [`crate::keys::car::CAR`].

use unladen_vehicle::car::Number;

use crate::keys::{Key, Kind, Need, count, key, numbers, span, within};

use Need::Always;

/// Words of `driveline.layout`.
pub const LAYOUTS: &[&str] = &["front", "rear", "all"];
/// Words of `brakes.anti_lock`.
pub const ANTI_LOCKS: &[&str] = &["none", "3-channel", "4-channel"];

/// A list of the car's numbers.
const fn list(number: Number, kind: Kind) -> Key {
    let row = number.row();
    let help = match row.written {
        Some(written) => written.help,
        None => "",
    };
    key(row.key, kind, Always, help)
}

const TORQUE: Key = list(Number::Torque(0), Kind::Pairs(within("rpm", 0.0, 100_000.0), span(Number::Torque(0).row())));
const GEARS: Key = list(Number::Gear(0), Kind::List(span(Number::Gear(0).row())));
const LAYOUT: Key = key("driveline.layout", Kind::Choice(LAYOUTS), Always, "driven axles");
const ANTI_LOCK: Key = key("brakes.anti_lock", Kind::Choice(ANTI_LOCKS), Always, "anti-lock channels");

pub(crate) const AERO: [Key; count("aero.")] = numbers("aero.", &[]);
pub(crate) const ENGINE: [Key; count("engine.") + 1] = numbers("engine.", &[(0, TORQUE)]);
pub(crate) const DRIVELINE: [Key; count("driveline.") + 2] = numbers("driveline.", &[(0, LAYOUT), (5, GEARS)]);
pub(crate) const BRAKES: [Key; count("brakes.") + 1] = numbers("brakes.", &[(1, ANTI_LOCK)]);
