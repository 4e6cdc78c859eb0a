//! What a fit may turn: factors on values of the car, each with what was believed before any log.

use unladen_vehicle::Car;

/// What is fitted: a factor on a value of the car.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Knob {
    /// The day's grip along the car: all tyres' μ_x.
    GripLong,
    /// The day's grip across the car: all tyres' μ_y.
    GripLat,
    /// The engine's torque.
    Power,
    /// C_dA.
    Drag,
    /// c_rr.
    Rolling,
    /// Share of the envelope used in corners.
    UseCornering,
    /// Share of it used under braking.
    UseBraking,
    /// Share of it used under power.
    UseTraction,
}

impl Knob {
    /// All, in the order of tables.
    pub const ALL: [Knob; 8] = [
        Knob::GripLong,
        Knob::GripLat,
        Knob::Power,
        Knob::Drag,
        Knob::Rolling,
        Knob::UseCornering,
        Knob::UseBraking,
        Knob::UseTraction,
    ];

    /// Its key in JSON.
    pub fn key(self) -> &'static str {
        match self {
            Knob::GripLong => "grip_long",
            Knob::GripLat => "grip_lat",
            Knob::Power => "power_factor",
            Knob::Drag => "drag_area",
            Knob::Rolling => "rolling_resistance",
            Knob::UseCornering => "use_cornering",
            Knob::UseBraking => "use_braking",
            Knob::UseTraction => "use_traction",
        }
    }

    /// Standard deviation of the factor before any log. Judgement, not measurement: what an owner's figures are usually
    /// off by.
    pub fn prior_sd(self) -> f64 {
        match self {
            Knob::GripLong | Knob::GripLat => 0.08,
            Knob::Power => 0.06,
            Knob::Drag => 0.15,
            Knob::Rolling => 0.25,
            Knob::UseCornering | Knob::UseBraking | Knob::UseTraction => 0.05,
        }
    }

    /// What of `car.toml` the factor is on: key, the car's value, its unit. Power is the driveline's efficiency there:
    /// they act as a product. The slopes of friction go with their peaks.
    pub fn values(self, car: &Car) -> Vec<(&'static str, f64, &'static str)> {
        let (f, r) = (&car.front, &car.rear);
        match self {
            Knob::GripLong => vec![
                ("tyres.front.peak_friction_long", f.mu_x0, ""),
                ("tyres.rear.peak_friction_long", r.mu_x0, ""),
                ("tyres.front.load_slope_long", f.k_x, ""),
                ("tyres.rear.load_slope_long", r.k_x, ""),
            ],
            Knob::GripLat => vec![
                ("tyres.front.peak_friction_lat", f.mu_y0, ""),
                ("tyres.rear.peak_friction_lat", r.mu_y0, ""),
                ("tyres.front.load_slope_lat", f.k_y, ""),
                ("tyres.rear.load_slope_lat", r.k_y, ""),
            ],
            Knob::Power => vec![("driveline.efficiency", car.driveline.efficiency, "")],
            Knob::Drag => vec![("aero.drag_area", car.aero.cd_a, "m2")],
            Knob::Rolling => vec![("aero.rolling_resistance", car.aero.c_rr, "")],
            Knob::UseCornering => vec![("driver.use_cornering", car.driver.cornering, "")],
            Knob::UseBraking => vec![("driver.use_braking", car.driver.braking, "")],
            Knob::UseTraction => vec![("driver.use_traction", car.driver.traction, "")],
        }
    }

    /// The car with this factor applied.
    pub fn apply(self, car: &mut Car, factor: f64) {
        match self {
            Knob::GripLong => [&mut car.front, &mut car.rear].into_iter().for_each(|t| {
                t.mu_x0 *= factor;
                t.k_x *= factor;
            }),
            Knob::GripLat => [&mut car.front, &mut car.rear].into_iter().for_each(|t| {
                t.mu_y0 *= factor;
                t.k_y *= factor;
            }),
            Knob::Power => car.engine.power *= factor,
            Knob::Drag => car.aero.cd_a *= factor,
            Knob::Rolling => car.aero.c_rr *= factor,
            Knob::UseCornering => car.driver.cornering *= factor,
            Knob::UseBraking => car.driver.braking *= factor,
            Knob::UseTraction => car.driver.traction *= factor,
        }
    }
}

/// The car with all factors applied.
pub fn applied(car: &Car, factors: &[f64]) -> Car {
    let mut car = car.clone();
    Knob::ALL.iter().zip(factors).for_each(|(k, f)| k.apply(&mut car, *f));
    car
}
