//! What a garage can measure, and how well: the table.

use Reach::{Share, To};

/// A way to know some numbers better.
#[derive(Debug, PartialEq)]
pub struct Way {
    /// What to do, as an instruction.
    pub what: &'static str,
    /// What it makes known: beginnings of names of unknowns, and how well; the first that fits counts.
    pub knows: &'static [(&'static str, Reach)],
}

/// One standard deviation that is left.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Reach {
    /// SI.
    To(f64),
    /// As a share of the value.
    Share(f64),
}

/// The ways. How well each does is common practice, no source, but for the axle lift (3 % of the height: ISO 10392,
/// which says "a few percent") and the fit of logged laps (measured on synthetic logs, `crates/study/tests/all/fit.rs`).
///
/// A fit tells the product of the tyres' friction and the driver's use of it, not the two apart: once it is known, what
/// is left of both is counted at the friction, and next to nothing at the use. A rolling road likewise knows torque
/// times efficiency.
pub static WAYS: &[Way] = &[
    Way {
        what: "weigh the car on four pads, level (`unladen weigh`)",
        knows: &[
            ("mass.total", To(2.0)),
            ("mass.cg_x", To(0.005)),
            ("mass.cg_y", To(0.005)),
            ("fuel.as_weighed", To(0.001)),
            ("driver.as_weighed", To(0.3)),
        ],
    },
    Way {
        what: "weigh it once more with one axle raised (`unladen weigh`)",
        knows: &[("mass.cg_height", Share(0.03))],
    },
    Way {
        what: "log some laps here and let `unladen fit` bring the grip to them",
        knows: &[
            ("tyres.peak_friction", Share(0.02)),
            ("tyres.front.peak_friction", Share(0.02)),
            ("tyres.rear.peak_friction", Share(0.02)),
            ("driver.use_", To(0.004)),
            ("grip", Share(0.01)),
        ],
    },
    Way {
        what: "let the car coast down on a level road on a still day, both ways",
        knows: &[("aero.drag_area", Share(0.05)), ("aero.rolling_resistance", Share(0.08))],
    },
    Way {
        what: "put it on a rolling road",
        knows: &[
            ("engine.torque", Share(0.03)),
            ("driveline.efficiency", To(0.005)),
            ("engine.power_factor", Share(0.02)),
        ],
    },
    Way {
        what: "read the ratios off the gearbox's data, or count turns",
        knows: &[("driveline.gears", Share(0.002)), ("driveline.final_drive", Share(0.002))],
    },
    Way {
        what: "measure wheel rates and bars at the wheel, left and right",
        knows: &[("chassis.roll_stiffness", To(0.02))],
    },
    Way {
        what: "measure the suspension's links and draw its roll centres",
        knows: &[("chassis.roll_centre", To(0.015))],
    },
    Way {
        what: "put a tape on it",
        knows: &[
            ("chassis.track", To(0.005)),
            ("chassis.wheelbase", To(0.003)),
            ("driver.seat", To(0.03)),
            ("fuel.tank", To(0.03)),
            ("tyres.rolling_radius", To(0.003)),
            ("tyres.front.rolling_radius", To(0.003)),
            ("tyres.rear.rolling_radius", To(0.003)),
        ],
    },
    Way { what: "time the upshifts in a log", knows: &[("driveline.shift_time", To(0.03))] },
    Way {
        what: "let a wheel swing on three wires and time it",
        knows: &[
            ("tyres.wheel_inertia", Share(0.05)),
            ("tyres.front.wheel_inertia", Share(0.05)),
            ("tyres.rear.wheel_inertia", Share(0.05)),
        ],
    },
    Way { what: "put the driver on a scale, with helmet and suit", knows: &[("driver.on_track", To(0.5))] },
    Way { what: "put it on a scale and write down `weighed` and the scale", knows: &[("mass of ", To(0.1))] },
    Way {
        what: "put a known weight on that scale, or weigh the parts on another one",
        knows: &[("scale ", Share(0.0))],
    },
    Way { what: "have the brakes of both axles measured", knows: &[("brakes.front_share", To(0.02))] },
];
