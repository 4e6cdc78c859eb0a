//! The keys of `car.toml` that `ledger`, `weigh` and `reset` read and a lap does not; rows of
//! [`crate::keys::car::CAR`]. `[scales.NAME]` is apart: its tables have names of the owner's own, and the keys of
//! [`SCALE`].

use crate::keys::{Key, Kind, Need, Table, key, pure, within};

use Need::{Always, Optional, With};

const fn mass(path: &'static str, need: Need, help: &'static str) -> Key {
    key(path, Kind::Quantity(within("kg", 0.0, 50_000.0)), need, help)
}

const WITH_TARGET: Need = With(&["target"]);

pub(crate) const TARGET: [Key; 3] = [
    mass("target.mass", WITH_TARGET, "the mass to be reached"),
    key(
        "target.fuel",
        Kind::Quantity(within("L", 0.0, 1000.0)),
        WITH_TARGET,
        "fuel aboard when the target is to be met",
    ),
    mass("target.driver", WITH_TARGET, "driver aboard when the target is to be met; 0 kg: without"),
];

pub(crate) const MONEY: [Key; 1] =
    [key("money.symbol", Kind::Text, With(&["money"]), "what stands before your sums of money: €, CHF, kr")];

const WITH_CORNERS: Need = With(&["corners"]);

pub(crate) const CORNERS: [Key; 4] = [
    mass("corners.front_left", WITH_CORNERS, "what the front left pad showed when the car was last weighed"),
    mass("corners.front_right", WITH_CORNERS, "what the front right pad showed"),
    mass("corners.rear_left", WITH_CORNERS, "what the rear left pad showed"),
    mass("corners.rear_right", WITH_CORNERS, "what the rear right pad showed"),
];

const fn rate(path: &'static str, need: Need, help: &'static str) -> Key {
    key(path, Kind::Quantity(within("N/mm", 1.0, 5000.0).usually(5.0, 1000.0)), need, help)
}

const WITH_SPRINGS: Need = With(&["springs"]);

pub(crate) const SPRINGS: [Key; 6] = [
    rate("springs.wheel_rate_front", WITH_SPRINGS, "one front wheel's rate: spring rate times motion ratio squared"),
    rate("springs.wheel_rate_rear", WITH_SPRINGS, "one rear wheel's rate"),
    rate("springs.tyre_rate_front", Optional, "one front tyre's vertical rate; left out, the tyre is taken as rigid"),
    rate("springs.tyre_rate_rear", Optional, "one rear tyre's vertical rate"),
    mass("springs.unsprung_front", WITH_SPRINGS, "unsprung mass of the front axle, both wheels"),
    mass("springs.unsprung_rear", WITH_SPRINGS, "unsprung mass of the rear axle, both wheels"),
];

const fn share(path: &'static str, need: Need, help: &'static str) -> Key {
    key(path, Kind::Quantity(pure(0.0, 1.0)), need, help)
}

const WITH_ROLL_LEAST: Need = With(&["limits.roll_stiffness_front_share_most"]);
const WITH_ROLL_MOST: Need = With(&["limits.roll_stiffness_front_share_least"]);
const WITH_BRAKE_LEAST: Need = With(&["limits.brake_front_share_most"]);
const WITH_BRAKE_MOST: Need = With(&["limits.brake_front_share_least"]);

pub(crate) const LIMITS: [Key; 15] = [
    mass("limits.tyre_load_front", Optional, "most that one front tyre may carry, from its load index"),
    mass("limits.tyre_load_rear", Optional, "most that one rear tyre may carry"),
    mass("limits.axle_load_front", Optional, "most that the front axle may carry, from the car's plate"),
    mass("limits.axle_load_rear", Optional, "most that the rear axle may carry"),
    mass("limits.registered_mass", Optional, "mass in the car's papers"),
    mass(
        "limits.registered_tolerance",
        With(&["limits.registered_mass"]),
        "by how much it may differ before somebody must be asked; ask your inspector what holds for you",
    ),
    key(
        "limits.registered_fuel",
        Kind::Quantity(within("L", 0.0, 1000.0)),
        Optional,
        "fuel aboard by the papers' definition; left out, as weighed",
    ),
    mass("limits.registered_driver", Optional, "driver aboard by the papers' definition; left out, as weighed"),
    key("limits.document", Kind::Text, With(&["limits.registered_mass"]), "which paper says so"),
    key("limits.document_date", Kind::Date, With(&["limits.registered_mass"]), "the date of that paper"),
    share(
        "limits.roll_stiffness_front_share_least",
        WITH_ROLL_LEAST,
        "least front share of the roll stiffness that bars and springs can be set to; left out, it is never re-tuned",
    ),
    share("limits.roll_stiffness_front_share_most", WITH_ROLL_MOST, "most that it can be set to"),
    share(
        "limits.brake_front_share_least",
        WITH_BRAKE_LEAST,
        "least front share that the brakes can be set to; left out, it is never re-tuned",
    ),
    share("limits.brake_front_share_most", WITH_BRAKE_MOST, "most that they can be set to"),
    key(
        "limits.front_first_margin",
        Kind::Quantity(pure(-0.5, 0.5)),
        Optional,
        "by what share the rear must be able to corner and brake harder than the front when that lets go; left out, 0.03",
    ),
];

/// The keys of somebody or something aboard, `[aboard.NAME]`.
pub const ABOARD: Table = Table(&[&ABOARD_KEYS]);

const fn place(path: &'static str, least: f64, most: f64, help: &'static str) -> Key {
    key(path, Kind::Quantity(within("mm", least, most)), Always, help)
}

const ABOARD_KEYS: [Key; 6] = [
    key("mass", Kind::Quantity(within("kg", 0.0, 2000.0)), Always, "what it weighs, or they"),
    place("place.x", -5000.0, 15_000.0, "its centre of gravity (a person's, seated) behind the front axle line"),
    place("place.y", -2000.0, 2000.0, "right of the centre plane"),
    place("place.z", 0.0, 3000.0, "above ground"),
    key("as_weighed", Kind::Flag, Optional, "whether it was on the scales; left out, it was not"),
    key(
        "on_track",
        Kind::Flag,
        Optional,
        "whether it is aboard as the car laps; left out, it is not (`--with NAME` puts it there)",
    ),
];

/// The keys of one scale, `[scales.NAME]`.
pub const SCALE: Table = Table(&[&SCALE_KEYS]);

const SCALE_KEYS: [Key; 3] = [
    key("resolution", Kind::Quantity(within("kg", 0.0, 100.0)), Always, "smallest step that the scale shows"),
    key(
        "bias",
        Kind::Quantity(within("kg", 0.0, 100.0)),
        Optional,
        "by how much all its readings may be off alike, one standard deviation",
    ),
    key("gain", Kind::Quantity(pure(0.0, 0.2)), Optional, "by what share of the reading, one standard deviation"),
];
