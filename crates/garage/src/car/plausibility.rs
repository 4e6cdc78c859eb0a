//! What is possible but unlikely: a warning each, at the value that deserves a second look.

use unladen_vehicle::car::{Car, Layout};

use crate::car::loading::Loads;
use crate::fault::caution::Caution;
use crate::fault::finding::{Located, Warning};
use crate::toml_file::typed::Values;

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
