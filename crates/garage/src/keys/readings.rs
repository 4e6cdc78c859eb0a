//! The keys of a readings file (`unladen weigh`): the car's dimensions, the scales, and lists of readings.

use crate::keys::{Key, Kind, Need, Table, key, pure, within};

use Need::{Always, Optional, With};

const fn mass(path: &'static str, need: Need, help: &'static str) -> Key {
    key(path, Kind::Quantity(within("kg", 0.0, 50_000.0)), need, help)
}

const fn length(path: &'static str, least: f64, most: f64, need: Need, help: &'static str) -> Key {
    key(path, Kind::Quantity(within("mm", least, most)), need, help)
}

const fn rate(path: &'static str, help: &'static str) -> Key {
    key(path, Kind::Quantity(within("N/mm", 10.0, 5000.0)), Optional, help)
}

const HEAD: [Key; 4] = [
    key("schema", Kind::Schema, Always, "the file's format, 1"),
    key("name", Kind::Text, Always, "which weighing this is"),
    key("date", Kind::Date, Optional, "the day"),
    key(
        "method_share",
        Kind::Quantity(pure(0.0, 0.2)),
        Need::Else(0.03),
        "what the axle-lift method itself may be off by, as a share of the height: 0.03 where nothing better is known (ISO 10392)",
    ),
];

const CAR: [Key; 7] = [
    length("car.wheelbase", 500.0, 10_000.0, Always, "front to rear axle line; give its ±"),
    length("car.track_front", 300.0, 4000.0, Always, "track width, front"),
    length("car.track_rear", 300.0, 4000.0, Always, "track width, rear"),
    length(
        "car.wheel_centre_front",
        50.0,
        2000.0,
        Always,
        "front wheel centre above its pad, the car level; give its ±",
    ),
    length("car.wheel_centre_rear", 50.0, 2000.0, Always, "rear wheel centre above its pad; give its ±"),
    rate("car.tyre_rate_front", "one front tyre's vertical rate: corrects how far it gives way under the raised car"),
    rate("car.tyre_rate_rear", "one rear tyre's vertical rate"),
];

const ABOARD: [Key; 2] = [
    mass("aboard.driver", Optional, "driver (and passengers) in the car while it was weighed; left out, none"),
    key("aboard.fuel", Kind::Quantity(within("L", 0.0, 1000.0)), Optional, "fuel in the tank; left out, none"),
];

const SCALES: [Key; 4] = [
    mass("scales.resolution", Always, "smallest step that a pad shows"),
    mass(
        "scales.repeatability",
        Optional,
        "scatter of one pad when the car is rolled off and on again, one standard deviation",
    ),
    mass("scales.bias", Optional, "by how much each pad may be off in all of its readings, one standard deviation"),
    key(
        "scales.gain",
        Kind::Quantity(pure(0.0, 0.1)),
        Optional,
        "by what share all pads may be off alike, one standard deviation",
    ),
];

/// Every key of a readings file that is not in one of its lists.
pub const READINGS: Table = Table(&[&HEAD, &CAR, &ABOARD, &SCALES]);

const CORNERS: [Key; 6] = [
    mass("front_left", With(&["front_right", "rear_left", "rear_right"]), "what the front left pad shows"),
    mass("front_right", With(&["front_left", "rear_left", "rear_right"]), "what the front right pad shows"),
    mass("rear_left", With(&["front_left", "front_right", "rear_right"]), "what the rear left pad shows"),
    mass("rear_right", With(&["front_left", "front_right", "rear_left"]), "what the rear right pad shows"),
    mass("front", Optional, "front axle, in place of its two corners"),
    mass("rear", Optional, "rear axle, in place of its two corners"),
];

const PADS: [Key; 5] = [
    length("pad_front_left", -200.0, 200.0, Optional, "height of that pad over the lowest"),
    length("pad_front_right", -200.0, 200.0, Optional, "height of that pad over the lowest"),
    length("pad_rear_left", -200.0, 200.0, Optional, "height of that pad over the lowest"),
    length("pad_rear_right", -200.0, 200.0, Optional, "height of that pad over the lowest"),
    key("note", Kind::Text, Optional, "anything else"),
];

/// The keys of a level reading, `[[level]]`.
pub const LEVEL: Table = Table(&[&CORNERS, &PADS]);

const RAISED: [Key; 2] = [
    key("raised", Kind::Choice(AXLES), Always, "which axle stands high"),
    length("height", 10.0, 3000.0, Always, "by how much that axle's wheels were raised; give its ±"),
];

/// Words of `raised`.
pub const AXLES: &[&str] = &["front", "rear"];

/// The keys of a reading with an axle raised, `[[lift]]`.
pub const LIFT: Table = Table(&[&RAISED, &CORNERS, &PADS]);

const FLUID_KEYS: [Key; 4] = [
    mass("mass", Always, "fluid that runs to the low end of its tank"),
    length("length", 1.0, 5000.0, Always, "inner length of the tank along the car"),
    length("depth", 1.0, 5000.0, Always, "depth of the fluid in it, the car level"),
    key("note", Kind::Text, Optional, "which fluid"),
];

/// The keys of a fluid, `[[fluid]]`.
pub const FLUID: Table = Table(&[&FLUID_KEYS]);
