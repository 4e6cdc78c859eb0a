//! What is possible but unlikely: a warning each, at the value that deserves a second look.

use miette::Severity;
use thiserror::Error;
use unladen_vehicle::car::{Car, Layout};

use crate::finding::{Explain, Located, Warning};
use crate::keys::{Kind, Table};
use crate::loading::Loads;
use crate::measured::Measured;
use crate::slip::Slip;
use crate::typed::Values;

/// What is unlikely.
#[derive(Clone, Debug, PartialEq, Error)]
#[allow(missing_docs)]
pub enum Caution {
    #[error("{key}: {given} is unusual")]
    Unusual { key: &'static str, given: String, usual: String },
    #[error("{key}: its uncertainty moves nothing that is computed")]
    MovesNothing { key: String },
    #[error("the note of what was aboard says nothing of the {word}, {key} does")]
    NotListed { key: &'static str, word: &'static str },
    #[error("as it laps, the CG is {cg_x_mm:.0} mm behind the front axle of a wheelbase of {wheelbase_mm:.0} mm")]
    CgOutsideWheelbase { cg_x_mm: f64, wheelbase_mm: f64 },
    #[error("as it laps, {share:.0} % of the weight is on one axle")]
    OneAxle { share: f64 },
    #[error("rolls over at {tips_g:.2} g, before it slides at {slides_g:.2} g")]
    Tips { tips_g: f64, slides_g: f64 },
    #[error("the torque curve makes {power_kw:.0} kW")]
    Power { power_kw: f64 },
    #[error("the torque curve ends at {last_rpm:.0} rpm, the limiter is at {limit_rpm:.0} rpm")]
    CurveShort { last_rpm: f64, limit_rpm: f64 },
    #[error("from gear {from} to gear {} the ratio falls by a factor of {step:.2}", from + 1)]
    GearGap { from: usize, step: f64 },
    #[error("the limiter in top gear is at {top_kmh:.0} km/h")]
    TopSpeed { top_kmh: f64 },
    #[error("{what} at {x_mm:.0} mm behind the front axle is outside the car")]
    OutsideCar { what: &'static str, x_mm: f64 },
    #[error("the roll axis at the CG, {axis_mm:.0} mm, is above the CG, {cg_mm:.0} mm")]
    RollAxisAboveCg { axis_mm: f64, cg_mm: f64 },
    #[error("at peak friction the {axle} tyres would slip by {slip_deg:.1}°")]
    SlipAngle { axle: &'static str, slip_deg: f64 },
    #[error("{key} lies by more than 30 % of itself on either side")]
    Vague { key: &'static str },
    #[error("the circuit does not close: {errors}; taken as measured")]
    NotClosed { errors: String },
    #[error("{0}")]
    Slip(Slip),
    #[error("closure = \"as measured\", but the circuit closes within the tolerances")]
    ClosesAnyway,
}

impl Explain for Caution {
    fn label(&self) -> String {
        match self {
            Caution::Unusual { usual, .. } => format!("usual: {usual}"),
            Caution::MovesNothing { .. } => "± is left out".into(),
            Caution::NotListed { word, .. } => format!("no {word} here"),
            _ => "worth a second look".into(),
        }
    }

    fn hint(&self) -> Option<String> {
        match self {
            Caution::Power { .. } => Some("torque is at the crank, in Nm, against rpm".into()),
            Caution::Tips { .. } => Some("at t/2h; peak friction and CG height decide".into()),
            Caution::CurveShort { .. } => Some("above its last point the torque is taken as constant".into()),
            Caution::Slip(slip) => slip.hint(),
            Caution::ClosesAnyway => Some("leave the key out: then a later slip is caught".into()),
            _ => None,
        }
    }

    fn severity(&self) -> Severity {
        Severity::Warning
    }
}

/// Every value outside what its key calls usual, and every one that is hardly known.
pub(crate) fn unusual(values: &Values, table: Table, warnings: &mut Vec<Warning>) {
    for key in table.keys() {
        let (Kind::Quantity(span), Some(m), Some(place)) =
            (&key.kind, values.quantity(key.path), values.place(key.path))
        else {
            continue;
        };
        if !span.expects(m.value) {
            let given = Measured { sd: 0.0, ..m }.show(span.unit());
            let caution = Caution::Unusual { key: key.path, given, usual: span.usual_range() };
            warnings.push(Located::at(caution, place));
        }
        // Of a length the origin is arbitrary: only what scales counts.
        let scales = span.min >= 0.0;
        if scales && m.value > 0.0 && m.sd > 0.3 * m.value && m.value.is_finite() {
            warnings.push(Located::at(Caution::Vague { key: key.path }, place));
        }
    }
}

/// What only several values together show.
pub(crate) fn car(car: &Car, loads: &Loads, values: &Values, warnings: &mut Vec<Warning>) {
    let mut warn = |key: &str, caution: Caution| {
        warnings.extend(values.place(key).map(|place| Located::at(caution, place)));
    };
    let (mass, chassis) = (&car.mass, &car.chassis);
    let front = 1.0 - mass.a / chassis.l;
    if !(0.0..=1.0).contains(&front) {
        let (cg_x_mm, wheelbase_mm) = (mass.a * 1e3, chassis.l * 1e3);
        warn("mass.cg_x", Caution::CgOutsideWheelbase { cg_x_mm, wheelbase_mm });
    } else if !(0.25..=0.75).contains(&front) {
        warn("mass.cg_x", Caution::OneAxle { share: 100.0 * front.max(1.0 - front) });
    }
    let tips_g = chassis.t_f.min(chassis.t_r) / (2.0 * mass.h);
    let slides_g = car.front.mu_y0.min(car.rear.mu_y0);
    if tips_g < slides_g {
        warn("mass.cg_height", Caution::Tips { tips_g, slides_g });
    }
    let axis = (chassis.h_rf * (chassis.l - mass.a) + chassis.h_rr * mass.a) / chassis.l;
    if axis > mass.h {
        let (axis_mm, cg_mm) = (axis * 1e3, mass.h * 1e3);
        warn("chassis.roll_centre_rear", Caution::RollAxisAboveCg { axis_mm, cg_mm });
    }
    for (axle, tyre, key) in [
        ("front", &car.front, "tyres.front.cornering_stiffness"),
        ("rear", &car.rear, "tyres.rear.cornering_stiffness"),
    ] {
        let slip_deg = (tyre.mu_y0 * tyre.n_0 * tyre.inv_c_alpha).to_degrees();
        if tyre.inv_c_alpha > 0.0 && !(1.0..=15.0).contains(&slip_deg) {
            warn(key, Caution::SlipAngle { axle, slip_deg });
        }
    }
    engine(car, &mut warn);
    let aboard = [
        ("fuel.tank.x", "the tank", loads.fuel.map(|f| f.tank.x)),
        ("driver.seat.x", "the seat", loads.driver.map(|d| d.seat[0])),
    ];
    for (key, what, x) in aboard {
        if let Some(x) = x
            && !(-1.2..=chassis.l + 1.2).contains(&x)
        {
            warn(key, Caution::OutsideCar { what, x_mm: x * 1e3 });
        }
    }
}

/// Power, gears and top speed.
fn engine(car: &Car, warn: &mut impl FnMut(&str, Caution)) {
    let rpm = |w: f64| w * 30.0 / std::f64::consts::PI;
    let engine = &car.engine;
    let power_kw = unladen_vehicle::powertrain::peak_power(&car.engine.torque, car.engine.limit) / 1e3;
    if !(15.0..=750.0).contains(&power_kw) {
        warn("engine.torque", Caution::Power { power_kw });
    }
    if let Some((last, _)) = engine.torque.last()
        && *last < 0.85 * engine.limit
        && engine.torque.len() > 1
    {
        warn("engine.torque", Caution::CurveShort { last_rpm: rpm(*last), limit_rpm: rpm(engine.limit) });
    }
    let drive = &car.driveline;
    for (i, pair) in drive.gears.windows(2).enumerate() {
        let step = pair[0] / pair[1];
        if step > 2.1 {
            warn("driveline.gears", Caution::GearGap { from: i + 1, step });
        }
    }
    let radius = match drive.layout {
        Layout::Front => car.front.r,
        Layout::Rear => car.rear.r,
        Layout::All => drive.front_share * car.front.r + (1.0 - drive.front_share) * car.rear.r,
    };
    if let Some(top) = drive.gears.last() {
        let top_kmh = engine.limit * radius / (top * drive.final_drive) * 3.6;
        if !(100.0..=450.0).contains(&top_kmh) {
            warn("driveline.final_drive", Caution::TopSpeed { top_kmh });
        }
    }
}
