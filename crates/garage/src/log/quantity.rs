//! What a log's column can hold, the names it goes by and the units it comes in.

/// What a column holds; in [`super::Log`] in SI, left and forward positive.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Quantity {
    /// s.
    Time,
    /// Degrees north.
    Latitude,
    /// Degrees east.
    Longitude,
    /// Metres east, or along any first axis of a plane.
    X,
    /// Metres north, or along the axis to the left of the first.
    Y,
    /// m above anything.
    Height,
    /// m/s.
    Speed,
    /// Forward, m/s².
    LongitudinalAcceleration,
    /// To the left, m/s².
    LateralAcceleration,
    /// To the left, rad/s.
    YawRate,
    /// Engine speed, rad/s.
    EngineSpeed,
    /// 1, 2, …
    Gear,
    /// Number of the lap, as the logger counted it.
    Lap,
    /// Road to the left of the position, m.
    WidthLeft,
    /// Road to the right of the position, m.
    WidthRight,
}

use Quantity as Q;

/// A unit: its spellings and its factor to SI (degrees for latitude and longitude).
pub(crate) struct Unit {
    pub(crate) names: &'static [&'static str],
    pub(crate) factor: f64,
}

const fn unit(names: &'static [&'static str], factor: f64) -> Unit {
    Unit { names, factor }
}

/// Degrees and minutes run together, 5204.718 for 52° 4.718′, as satellite receivers write them.
pub(crate) const DDMM: &str = "ddmm.mmmm";

const DEG: f64 = std::f64::consts::PI / 180.0;

/// Factors by definition: the international mile, foot and knot (1852 m/h), g of ISO 80000-3.
const SPEED: &[Unit] = &[
    unit(&["m/s", "mps", "m s-1", "ms-1"], 1.0),
    unit(&["km/h", "kmh", "kph", "kmph", "km/hr"], 1.0 / 3.6),
    unit(&["mph", "mi/h", "miles/h"], 0.447_04),
    unit(&["kn", "kt", "kts", "knots", "knot"], 1852.0 / 3600.0),
];
const ACCELERATION: &[Unit] = &[
    unit(&["g", "gs", "g-force", "gforce"], 9.806_65),
    unit(&["m/s2", "m/s/s", "ms-2", "mps2", "m/s^2", "m/s²"], 1.0),
];
const TURN: &[Unit] =
    &[unit(&["deg/s", "°/s", "dps", "degs", "deg/sec", "degrees/s"], DEG), unit(&["rad/s", "rad/sec", "rads"], 1.0)];
const ANGLE: &[Unit] = &[
    unit(&["deg", "°", "degrees", "dd"], 1.0),
    unit(&["1e-7 deg", "1e-7", "deg*1e7", "deg e7", "e7", "1e7"], 1e-7),
    unit(&["rad"], 1.0 / DEG),
    unit(&["min", "arcmin", "minutes"], 1.0 / 60.0),
    // Degrees and minutes run together: read apart by `hemisphere::apart`.
    unit(&[DDMM, "ddmm", "dddmm.mmmm", "dddmm", "nmea"], 1.0),
];
const LENGTH: &[Unit] = &[
    unit(&["m", "metres", "meters", "metre", "meter"], 1.0),
    unit(&["ft", "feet", "foot"], 0.3048),
    unit(&["km"], 1000.0),
    unit(&["cm"], 0.01),
    unit(&["mm"], 0.001),
];
const TIME: &[Unit] = &[
    unit(&["s", "sec", "secs", "seconds", "second"], 1.0),
    unit(&["ms", "msec", "milliseconds"], 1e-3),
    unit(&["us", "µs", "microseconds"], 1e-6),
    unit(&["min", "minutes"], 60.0),
    unit(&["h", "hours"], 3600.0),
];
const ROTATION: &[Unit] = &[
    unit(&["rpm", "1/min", "r/min", "min-1", "u/min", "rev/min"], std::f64::consts::PI / 30.0),
    unit(&["rad/s"], 1.0),
    unit(&["hz", "rev/s", "1/s"], 2.0 * std::f64::consts::PI),
];
const PURE: &[Unit] = &[unit(&["", "-", "#"], 1.0)];

impl Quantity {
    /// Every quantity.
    pub const ALL: [Quantity; 15] = [
        Q::Time,
        Q::Latitude,
        Q::Longitude,
        Q::X,
        Q::Y,
        Q::Height,
        Q::Speed,
        Q::LongitudinalAcceleration,
        Q::LateralAcceleration,
        Q::YawRate,
        Q::EngineSpeed,
        Q::Gear,
        Q::Lap,
        Q::WidthLeft,
        Q::WidthRight,
    ];

    /// Its key: in `--column KEY=NAME`, `--unit KEY=UNIT` and the mapping file.
    pub fn key(self) -> &'static str {
        match self {
            Q::Time => "time",
            Q::Latitude => "latitude",
            Q::Longitude => "longitude",
            Q::X => "x",
            Q::Y => "y",
            Q::Height => "height",
            Q::Speed => "speed",
            Q::LongitudinalAcceleration => "acceleration_forward",
            Q::LateralAcceleration => "acceleration_left",
            Q::YawRate => "yaw_rate",
            Q::EngineSpeed => "engine_speed",
            Q::Gear => "gear",
            Q::Lap => "lap",
            Q::WidthLeft => "width_left",
            Q::WidthRight => "width_right",
        }
    }

    /// The quantity of a key.
    pub fn of(key: &str) -> Option<Quantity> {
        Q::ALL.into_iter().find(|q| q.key() == key)
    }

    pub(crate) fn units(self) -> &'static [Unit] {
        match self {
            Q::Time => TIME,
            Q::Latitude | Q::Longitude => ANGLE,
            Q::X | Q::Y | Q::Height | Q::WidthLeft | Q::WidthRight => LENGTH,
            Q::Speed => SPEED,
            Q::LongitudinalAcceleration | Q::LateralAcceleration => ACCELERATION,
            Q::YawRate => TURN,
            Q::EngineSpeed => ROTATION,
            Q::Gear | Q::Lap => PURE,
        }
    }

    /// Its unit of this spelling.
    pub(crate) fn unit(self, spelled: &str) -> Option<(&'static str, f64)> {
        let plain = spelled.trim().to_lowercase().replace("**", "^").replace('·', " ");
        let unit = self.units().iter().find(|u| u.names.contains(&plain.as_str()))?;
        Some((unit.names[0], unit.factor))
    }

    /// The first spelling of each of its units.
    pub fn unit_names(self) -> Vec<&'static str> {
        self.units().iter().map(|u| u.names[0]).collect()
    }

    /// How surely a name means this quantity: 0 not at all. `words` are lower-case letters and digits between blanks.
    pub(crate) fn fits(self, words: &str) -> u32 {
        let has = |w: &str| words.split(' ').any(|x| x == w);
        let any = |all: &[&str]| all.iter().any(|w| if w.contains(' ') { words.contains(w) } else { has(w) });
        let accel = any(&["acc", "accel", "acceleration", "g", "gforce", "beschleunigung", "accelerometer"]);
        let lateral = any(&["lat", "lateral", "y", "quer", "querbeschleunigung", "latacc", "latg"]);
        let forward = any(&["long", "longitudinal", "lon", "x", "längs", "laengs", "inline", "longacc", "longg"]);
        let side = any(&["dir", "direction", "hemisphere", "hemi", "ns", "ew", "indicator"]);
        let score = |yes: bool, points: u32| if yes { points } else { 0 };
        match self {
            Q::Time => score(
                any(&["time", "zeit", "temps", "timestamp", "tiempo", "tempo"])
                    && !any(&["lap", "delta", "best", "split", "sector"]),
                5,
            )
            .max(score(words == "t" || any(&["elapsed", "utc", "clock", "seconds", "uhrzeit", "epoch", "unix"]), 4))
            // A clock that runs anew each lap, where there is no other.
            .max(score(any(&["lap time", "laptime", "rundenzeit"]) && !any(&["best", "last", "delta", "sector"]), 1)),
            Q::Latitude => score(any(&["latitude", "breitengrad", "breite", "latitud"]) && !side, 6)
                .max(score(has("lat") && !accel && !side, 4)),
            Q::Longitude => score(any(&["longitude", "längengrad", "laengengrad", "länge", "longitud"]) && !side, 6)
                .max(score(any(&["lon", "lng", "long"]) && !accel && !side, 4)),
            Q::X => score(words == "x" || any(&["easting", "east", "pos x", "x pos", "position x"]), 4),
            Q::Y => score(words == "y" || any(&["northing", "north", "pos y", "y pos", "position y"]), 4),
            Q::Height => {
                score(any(&["altitude", "elevation", "ele", "alt", "height", "höhe", "hoehe", "z", "up"]) && !accel, 4)
            }
            Q::Speed => {
                score(any(&["speed", "velocity", "geschwindigkeit", "vitesse", "velocidad", "vel", "v"]), 4)
                    .saturating_sub(score(
                        any(&["engine", "wheel", "fl", "fr", "rl", "rr", "vertical", "fan", "motor"]),
                        4,
                    ))
                    + score(any(&["speed", "velocity", "geschwindigkeit"]) && any(&["gps", "gnss", "ground"]), 1)
            }
            Q::LongitudinalAcceleration => score(accel && forward && !lateral, 5).max(score(
                any(&["ax", "accx", "gx", "longacc", "longg", "längsbeschleunigung", "laengsbeschleunigung"]),
                5,
            )),
            Q::LateralAcceleration => score(accel && lateral && !forward, 5)
                .max(score(any(&["ay", "accy", "gy", "latacc", "latg", "querbeschleunigung"]), 5)),
            Q::YawRate => score(
                any(&["yaw", "yawrate", "gierrate", "gyro z", "z gyro", "gyroz", "rotation rate z", "yaw rate"]),
                5,
            )
            .saturating_sub(score(any(&["angle", "acceleration"]), 5)),
            Q::EngineSpeed => {
                score(any(&["rpm", "drehzahl", "engine speed", "enginespeed", "motordrehzahl", "regime"]), 5)
            }
            Q::Gear => score(any(&["gear", "gang", "rapport", "marcha"]), 5),
            Q::Lap => score(words == "lap" || any(&["lap number", "lap no", "lapnumber", "lap index", "runde"]), 5),
            Q::WidthLeft => score((has("width") || has("w")) && has("left"), 6),
            Q::WidthRight => score((has("width") || has("w")) && has("right"), 6),
        }
    }
}
