//! A car as it laps: every number of `docs/model.md` §1, in SI units, under its symbol.

use crate::scalar::Scalar;

/// Standard gravity, m/s² (ISO 80000-3; the value `docs/model.md` §1 fixes).
pub const G: f64 = 9.80665;

/// Mass and where it is; positions after ISO 4130 (`docs/model.md` §1).
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Mass<S = f64> {
    /// m: mass as it laps (car, driver, fuel), kg.
    pub m: S,
    /// a = x_cg: CG behind the front axle line, m.
    pub a: S,
    /// y_cg: CG right of the centre plane, m.
    pub y_cg: S,
    /// h: CG above ground, m.
    pub h: S,
}

/// Lengths and roll balance.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Chassis<S = f64> {
    /// L: wheelbase, m.
    pub l: S,
    /// t_f: front track width, m.
    pub t_f: S,
    /// t_r: rear track width, m.
    pub t_r: S,
    /// h_rf: front roll-centre height, m.
    pub h_rf: S,
    /// h_rr: rear roll-centre height, m.
    pub h_rr: S,
    /// χ: front share of the elastic roll stiffness, 0…1.
    pub chi: S,
}

/// The tyres and wheels of one axle (`docs/model.md` §4).
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Tyre<S = f64> {
    /// N_0: reference load, N.
    pub n_0: S,
    /// μ_x0: peak longitudinal friction coefficient at N_0.
    pub mu_x0: S,
    /// μ_y0: peak lateral friction coefficient at N_0.
    pub mu_y0: S,
    /// k_x: slope of μ_x with N/N_0, ≤ 0.
    pub k_x: S,
    /// k_y: slope of μ_y with N/N_0, ≤ 0.
    pub k_y: S,
    /// 1/C_α: one wheel's cornering compliance at N_0, rad/N; 0 where no stiffness is given (then C = 0, §2).
    pub inv_c_alpha: S,
    /// Rolling radius, m.
    pub r: S,
    /// J_wheel: inertia of one wheel with tyre and disc, kg m².
    pub j_wheel: S,
}

/// Aerodynamics and rolling resistance.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Aero<S = f64> {
    /// C_dA: drag area, m².
    pub cd_a: S,
    /// C_fA: front downforce area, m².
    pub cf_a: S,
    /// C_rA: rear downforce area, m².
    pub cr_a: S,
    /// c_rr: rolling-resistance coefficient.
    pub c_rr: S,
}

/// The engine at full throttle (`docs/model.md` §6).
#[derive(Clone, Debug, PartialEq)]
pub struct Engine<S = f64> {
    /// (ω, T) in rad/s and N m, ω rising; linear between, constant outside.
    pub torque: Vec<(f64, S)>,
    /// Factor on the whole torque curve (1 as given in the file).
    pub power: S,
    /// ω_launch, rad/s.
    pub launch: S,
    /// Limiter speed, rad/s; no torque above it.
    pub limit: S,
    /// J_engine, kg m².
    pub inertia: S,
}

/// Which axles are driven.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Layout {
    /// Front axle only.
    Front,
    /// Rear axle only.
    Rear,
    /// Both, through a centre differential.
    All,
}

/// Gears and differentials (`docs/model.md` §§5, 6).
#[derive(Clone, Debug, PartialEq)]
pub struct Driveline<S = f64> {
    /// Driven axles.
    pub layout: Layout,
    /// Front axle's nominal share of drive torque, 0…1 exclusive; read for [`Layout::All`] only.
    pub front_share: S,
    /// Torque bias ratio of the centre differential, 1 open … ∞ locked; [`Layout::All`] only.
    pub centre_bias: S,
    /// Torque bias ratio of the front axle's differential.
    pub front_bias: S,
    /// Torque bias ratio of the rear axle's differential.
    pub rear_bias: S,
    /// i_g, first gear first, falling.
    pub gears: Vec<S>,
    /// i_0: final drive.
    pub final_drive: S,
    /// η: engine to wheels, 0…1.
    pub efficiency: S,
    /// Time without drive at an upshift, s.
    pub shift_time: S,
}

/// What limits brake pressure.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum AntiLock {
    /// A locked wheel stays locked.
    None,
    /// Each front wheel, and both rear together (select-low).
    ThreeChannel,
    /// Each wheel alone.
    FourChannel,
}

/// Rear brake limiter: above `knee` the rear axle's force rises with `slope` only.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct RearLimiter<S = f64> {
    /// Rear axle's brake force at the knee, N.
    pub knee: S,
    /// Slope above the knee, 0…1.
    pub slope: S,
}

/// Brakes (`docs/model.md` §5).
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Brakes<S = f64> {
    /// β_f: front share of the braking force at the axles; read without anti-lock.
    pub beta_f: S,
    /// Anti-lock kind.
    pub anti_lock: AntiLock,
    /// Rear limiter; read without anti-lock.
    pub rear_limiter: Option<RearLimiter<S>>,
}

/// u: share of the grip envelope that this driver uses (`docs/model.md` §4), each 0…1.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Use<S = f64> {
    /// u_cornering, on μ_y.
    pub cornering: S,
    /// u_braking, on μ_x while F_x < 0.
    pub braking: S,
    /// u_traction, on μ_x while F_x ≥ 0.
    pub traction: S,
}

/// The day: air and grip.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Day<S = f64> {
    /// ρ: air density, kg/m³.
    pub rho: S,
    /// γ_0: the day's grip, 1 dry.
    pub gamma_0: S,
}

/// All that the model knows of a car on a day. `Car` is `Car<f64>`.
#[derive(Clone, Debug, PartialEq)]
pub struct Car<S = f64> {
    /// Mass and CG as it laps.
    pub mass: Mass<S>,
    /// Lengths and roll balance.
    pub chassis: Chassis<S>,
    /// Front tyres.
    pub front: Tyre<S>,
    /// Rear tyres.
    pub rear: Tyre<S>,
    /// Aerodynamics.
    pub aero: Aero<S>,
    /// Engine.
    pub engine: Engine<S>,
    /// Gears and differentials.
    pub driveline: Driveline<S>,
    /// Brakes.
    pub brakes: Brakes<S>,
    /// Driver's use of the envelope.
    pub driver: Use<S>,
    /// Air and grip.
    pub day: Day<S>,
}

/// One scalar number of a [`Car`], for derivatives and uncertainty.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Number {
    /// One with a fixed place in the car; see [`Number::all`].
    Fixed(usize),
    /// Torque at the i-th point of the curve, N m.
    Torque(usize),
    /// The i-th gear's ratio.
    Gear(usize),
}

macro_rules! fixed_numbers {
    ($( $name:ident $key:literal $unit:literal $($path:ident).+ );+ $(;)?) => {
        /// Numbers with a fixed place, by name.
        #[allow(non_upper_case_globals, missing_docs)]
        impl Number {
            fixed_numbers!(@consts 0usize; $($name)+);
            /// (key in the car's file or the model's word, SI unit) of each fixed number.
            const FIXED: &'static [(&'static str, &'static str)] = &[$(($key, $unit)),+];
        }
        impl<S: Scalar> Car<S> {
            fn fixed(&mut self, i: usize) -> Option<&mut S> {
                let mut n = 0usize;
                $( if i == n { return Some(&mut self.$($path).+); } n += 1; )+
                let _ = n;
                let limiter = self.brakes.rear_limiter.as_mut()?;
                match i - n {
                    0 => Some(&mut limiter.knee),
                    1 => Some(&mut limiter.slope),
                    _ => None,
                }
            }
        }
    };
    (@consts $i:expr; $name:ident $($rest:ident)*) => {
        pub const $name: Number = Number::Fixed($i);
        fixed_numbers!(@consts $i + 1usize; $($rest)*);
    };
    (@consts $i:expr;) => { const KNEE: usize = $i; };
}

fixed_numbers! {
    M "mass.total" "kg" mass.m;
    A "mass.cg_x" "m" mass.a;
    Y_CG "mass.cg_y" "m" mass.y_cg;
    H "mass.cg_height" "m" mass.h;
    L "chassis.wheelbase" "m" chassis.l;
    T_F "chassis.track_front" "m" chassis.t_f;
    T_R "chassis.track_rear" "m" chassis.t_r;
    H_RF "chassis.roll_centre_front" "m" chassis.h_rf;
    H_RR "chassis.roll_centre_rear" "m" chassis.h_rr;
    CHI "chassis.roll_stiffness_front_share" "1" chassis.chi;
    N0_F "tyres.front.reference_load" "N" front.n_0;
    MU_X_F "tyres.front.peak_friction_long" "1" front.mu_x0;
    MU_Y_F "tyres.front.peak_friction_lat" "1" front.mu_y0;
    K_X_F "tyres.front.load_slope_long" "1" front.k_x;
    K_Y_F "tyres.front.load_slope_lat" "1" front.k_y;
    INV_C_ALPHA_F "1/tyres.front.cornering_stiffness" "rad/N" front.inv_c_alpha;
    R_F "tyres.front.rolling_radius" "m" front.r;
    J_F "tyres.front.wheel_inertia" "kg m2" front.j_wheel;
    N0_R "tyres.rear.reference_load" "N" rear.n_0;
    MU_X_R "tyres.rear.peak_friction_long" "1" rear.mu_x0;
    MU_Y_R "tyres.rear.peak_friction_lat" "1" rear.mu_y0;
    K_X_R "tyres.rear.load_slope_long" "1" rear.k_x;
    K_Y_R "tyres.rear.load_slope_lat" "1" rear.k_y;
    INV_C_ALPHA_R "1/tyres.rear.cornering_stiffness" "rad/N" rear.inv_c_alpha;
    R_R "tyres.rear.rolling_radius" "m" rear.r;
    J_R "tyres.rear.wheel_inertia" "kg m2" rear.j_wheel;
    CD_A "aero.drag_area" "m2" aero.cd_a;
    CF_A "aero.downforce_area_front" "m2" aero.cf_a;
    CR_A "aero.downforce_area_rear" "m2" aero.cr_a;
    C_RR "aero.rolling_resistance" "1" aero.c_rr;
    POWER "engine.power_factor" "1" engine.power;
    LAUNCH "engine.launch" "rad/s" engine.launch;
    LIMIT "engine.limit" "rad/s" engine.limit;
    J_ENGINE "engine.inertia" "kg m2" engine.inertia;
    FRONT_SHARE "driveline.front_share" "1" driveline.front_share;
    CENTRE_BIAS "driveline.centre_bias" "1" driveline.centre_bias;
    FRONT_BIAS "driveline.front_bias" "1" driveline.front_bias;
    REAR_BIAS "driveline.rear_bias" "1" driveline.rear_bias;
    FINAL_DRIVE "driveline.final_drive" "1" driveline.final_drive;
    EFFICIENCY "driveline.efficiency" "1" driveline.efficiency;
    SHIFT_TIME "driveline.shift_time" "s" driveline.shift_time;
    BETA_F "brakes.front_share" "1" brakes.beta_f;
    USE_CORNERING "driver.use_cornering" "1" driver.cornering;
    USE_BRAKING "driver.use_braking" "1" driver.braking;
    USE_TRACTION "driver.use_traction" "1" driver.traction;
    RHO "air.density" "kg/m3" day.rho;
    GAMMA_0 "grip" "1" day.gamma_0;
}

impl Number {
    /// Rear limiter's knee, N; present where the car has one.
    pub const LIMITER_KNEE: Number = Number::Fixed(Number::KNEE);
    /// Rear limiter's slope; present where the car has one.
    pub const LIMITER_SLOPE: Number = Number::Fixed(Number::KNEE + 1);

    /// Every number of this car, in a fixed order.
    pub fn all(car: &Car) -> Vec<Number> {
        let limiter = if car.brakes.rear_limiter.is_some() { 2 } else { 0 };
        (0..Number::KNEE + limiter)
            .map(Number::Fixed)
            .chain((0..car.engine.torque.len()).map(Number::Torque))
            .chain((0..car.driveline.gears.len()).map(Number::Gear))
            .collect()
    }

    /// Its dotted key in the car's file, or the model's word for what the file gives in another form.
    pub fn key(self) -> String {
        match self {
            Number::Fixed(i) if i < Number::KNEE => Number::FIXED[i].0.into(),
            Number::Fixed(i) if i == Number::KNEE => "brakes.rear_limiter.knee".into(),
            Number::Fixed(_) => "brakes.rear_limiter.slope".into(),
            Number::Torque(i) => format!("engine.torque[{i}]"),
            Number::Gear(i) => format!("driveline.gears[{i}]"),
        }
    }

    /// Its SI unit ("1" for a pure number).
    pub fn unit(self) -> &'static str {
        match self {
            Number::Fixed(i) if i < Number::KNEE => Number::FIXED[i].1,
            Number::Fixed(i) if i == Number::KNEE => "N",
            Number::Fixed(_) | Number::Gear(_) => "1",
            Number::Torque(_) => "N m",
        }
    }
}

impl<S: Scalar> Car<S> {
    /// The place of a number; `None` where this car has no such number.
    pub fn number_mut(&mut self, number: Number) -> Option<&mut S> {
        match number {
            Number::Fixed(i) => self.fixed(i),
            Number::Torque(i) => self.engine.torque.get_mut(i).map(|p| &mut p.1),
            Number::Gear(i) => self.driveline.gears.get_mut(i),
        }
    }

    /// The same car over another kind of number, each number mapped by `f`.
    pub fn map<T: Scalar>(&self, f: impl Fn(S) -> T) -> Car<T> {
        let tyre = |t: &Tyre<S>| Tyre {
            n_0: f(t.n_0),
            mu_x0: f(t.mu_x0),
            mu_y0: f(t.mu_y0),
            k_x: f(t.k_x),
            k_y: f(t.k_y),
            inv_c_alpha: f(t.inv_c_alpha),
            r: f(t.r),
            j_wheel: f(t.j_wheel),
        };
        Car {
            mass: Mass { m: f(self.mass.m), a: f(self.mass.a), y_cg: f(self.mass.y_cg), h: f(self.mass.h) },
            chassis: Chassis {
                l: f(self.chassis.l),
                t_f: f(self.chassis.t_f),
                t_r: f(self.chassis.t_r),
                h_rf: f(self.chassis.h_rf),
                h_rr: f(self.chassis.h_rr),
                chi: f(self.chassis.chi),
            },
            front: tyre(&self.front),
            rear: tyre(&self.rear),
            aero: Aero {
                cd_a: f(self.aero.cd_a),
                cf_a: f(self.aero.cf_a),
                cr_a: f(self.aero.cr_a),
                c_rr: f(self.aero.c_rr),
            },
            engine: Engine {
                torque: self.engine.torque.iter().map(|&(w, t)| (w, f(t))).collect(),
                power: f(self.engine.power),
                launch: f(self.engine.launch),
                limit: f(self.engine.limit),
                inertia: f(self.engine.inertia),
            },
            driveline: Driveline {
                layout: self.driveline.layout,
                front_share: f(self.driveline.front_share),
                centre_bias: f(self.driveline.centre_bias),
                front_bias: f(self.driveline.front_bias),
                rear_bias: f(self.driveline.rear_bias),
                gears: self.driveline.gears.iter().map(|&g| f(g)).collect(),
                final_drive: f(self.driveline.final_drive),
                efficiency: f(self.driveline.efficiency),
                shift_time: f(self.driveline.shift_time),
            },
            brakes: Brakes {
                beta_f: f(self.brakes.beta_f),
                anti_lock: self.brakes.anti_lock,
                rear_limiter: self.brakes.rear_limiter.map(|l| RearLimiter { knee: f(l.knee), slope: f(l.slope) }),
            },
            driver: Use {
                cornering: f(self.driver.cornering),
                braking: f(self.driver.braking),
                traction: f(self.driver.traction),
            },
            day: Day { rho: f(self.day.rho), gamma_0: f(self.day.gamma_0) },
        }
    }
}
