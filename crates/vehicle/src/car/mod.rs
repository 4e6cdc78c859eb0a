//! A car as it laps: every number of `docs/model.md` §1, in SI units, under its symbol.

mod day;
mod group;
mod number;
mod row;
mod table;

pub use day::{Day, OnDay};
pub use group::Group;
pub use number::Number;
pub use row::{Domain, Need, Row, Written};

/// Standard gravity, m/s² (ISO 80000-3; the value `docs/model.md` §1 fixes).
pub const G: f64 = 9.80665;

/// Mass and where it is; positions after ISO 4130 (`docs/model.md` §1).
#[derive(Clone, Copy, Debug, Default, PartialEq)]
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
#[derive(Clone, Copy, Debug, Default, PartialEq)]
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
#[derive(Clone, Copy, Debug, Default, PartialEq)]
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
#[derive(Clone, Copy, Debug, Default, PartialEq)]
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
#[derive(Clone, Debug, Default, PartialEq)]
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
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Layout {
    /// Front axle only.
    Front,
    /// Rear axle only.
    #[default]
    Rear,
    /// Both, through a centre differential.
    All,
}

/// Gears and differentials (`docs/model.md` §§5, 6).
#[derive(Clone, Debug, Default, PartialEq)]
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
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum AntiLock {
    /// A locked wheel stays locked.
    #[default]
    None,
    /// Each front wheel, and both rear together (select-low).
    ThreeChannel,
    /// Each wheel alone.
    FourChannel,
}

/// Rear brake limiter: above `knee` the rear axle's force rises with `slope` only.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct RearLimiter<S = f64> {
    /// Rear axle's brake force at the knee, N.
    pub knee: S,
    /// Slope above the knee, 0…1.
    pub slope: S,
}

/// Brakes (`docs/model.md` §5).
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Brakes<S = f64> {
    /// β_f: front share of the braking force at the axles; read without anti-lock.
    pub beta_f: S,
    /// Anti-lock kind.
    pub anti_lock: AntiLock,
    /// Rear limiter; read without anti-lock.
    pub rear_limiter: Option<RearLimiter<S>>,
}

/// u: share of the grip envelope that this driver uses (`docs/model.md` §4), each 0…1.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Use<S = f64> {
    /// u_cornering, on μ_y.
    pub cornering: S,
    /// u_braking, on μ_x while F_x < 0.
    pub braking: S,
    /// u_traction, on μ_x while F_x ≥ 0.
    pub traction: S,
}

/// All that the model knows of a car. `Car` is `Car<f64>`.
#[derive(Clone, Debug, Default, PartialEq)]
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
}
