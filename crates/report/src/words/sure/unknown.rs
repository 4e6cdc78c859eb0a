//! What a builder calls an uncertain number; its key is for files.

use crate::words::number::percent;
use crate::words::table::printable;

/// Key in the car's or a track's file, and what it is called.
const NAMES: [(&str, &str); 22] = [
    ("mass.total", "the car's mass"),
    ("mass.cg_x", "where the weight sits along the car"),
    ("mass.cg_y", "where the weight sits across the car"),
    ("mass.cg_height", "the height of the centre of gravity"),
    ("chassis.roll_stiffness_front_share", "the front share of roll stiffness"),
    ("tyres.front.peak_friction_long", "front grip in a straight line"),
    ("tyres.front.peak_friction_lat", "front grip in corners"),
    ("tyres.front.load_slope_long", "how front grip in a straight line falls with load"),
    ("tyres.front.load_slope_lat", "how front grip in corners falls with load"),
    ("tyres.rear.peak_friction_long", "rear grip in a straight line"),
    ("tyres.rear.peak_friction_lat", "rear grip in corners"),
    ("tyres.rear.load_slope_long", "how rear grip in a straight line falls with load"),
    ("tyres.rear.load_slope_lat", "how rear grip in corners falls with load"),
    ("aero.drag_area", "drag"),
    ("aero.downforce_area_front", "front downforce"),
    ("aero.downforce_area_rear", "rear downforce"),
    ("aero.rolling_resistance", "rolling resistance"),
    ("driveline.efficiency", "driveline loss"),
    ("driveline.shift_time", "the time of a shift"),
    ("brakes.front_share", "the front share of the brakes"),
    ("fuel.density", "the fuel's density"),
    ("grip", "the day's grip"),
];

/// The words for a key that is one.
pub fn named(key: &str) -> Option<&'static str> {
    NAMES.iter().find(|(k, _)| *k == key && k.contains('.')).map(|(_, words)| *words)
}

/// In words: `front grip in corners`; of a track or a car after that, and masses of parts, as they are named.
pub fn unknown(name: &str) -> String {
    let named = |key: &str| NAMES.iter().find(|(k, _)| *k == key).map(|(_, words)| *words);
    let words = match (named(name), name.split_once(" of ")) {
        (Some(words), _) => words.to_owned(),
        (None, Some((key, of))) => named(key).map_or_else(|| name.to_owned(), |words| format!("{words} of {of}")),
        (None, None) => name.to_owned(),
    };
    printable(&words)
}

/// `front grip in corners (50 %), drag (9 %)`: the three largest of at least 5 %.
pub fn shared<'a>(shares: impl Iterator<Item = (&'a str, f64)>) -> Option<String> {
    let named: Vec<String> = shares
        .take(3)
        .filter(|(_, share)| *share >= 0.05)
        .map(|(name, share)| format!("{} ({})", unknown(name), percent(share)))
        .collect();
    (!named.is_empty()).then(|| named.join(", "))
}

#[cfg(test)]
mod tests {
    use super::*;
    use unladen_vehicle::Number;

    #[test]
    fn closed_form_names_of_unknowns() {
        assert_eq!(unknown("tyres.front.peak_friction_lat"), "front grip in corners");
        assert_eq!(unknown("grip of Airfield"), "the day's grip of Airfield");
        assert_eq!(unknown("mass of flywheel"), "mass of flywheel");
        assert_eq!(unknown("fuel.tank.x"), "fuel.tank.x");
        let all = [("aero.drag_area", 0.6), ("mass of seat", 0.3), ("mass.total", 0.04)];
        assert_eq!(shared(all.into_iter()).unwrap(), "drag (60 %), mass of seat (30 %)");
        assert_eq!(shared([("aero.drag_area", 0.04)].into_iter()), None);
    }

    /// No name of a number that there isn't.
    #[test]
    fn property_every_key_is_one() {
        let known = |key: &str| Number::ROWS.iter().any(|row| row.in_file().0 == key);
        let others = ["mass.total", "fuel.density", "grip"];
        let unknown: Vec<_> = NAMES.iter().map(|n| n.0).filter(|key| !known(key) && !others.contains(key)).collect();
        assert!(unknown.is_empty(), "{unknown:?}");
    }
}
