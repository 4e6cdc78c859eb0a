//! A car whose numbers leave nothing of the model but a point mass on a friction circle.

use unladen_vehicle::Car;
use unladen_vehicle::car::*;

/// No CG height, no roll centres, no load slope, all wheels driven and locked together, anti-lock on every wheel, no
/// air, no rolling resistance, nothing that rotates, and power without end: a_x² + a_y² ≤ (μ g)², whatever else.
pub fn point_mass(mu: f64) -> Car {
    let tyre = Tyre { n_0: 2500.0, mu_x0: mu, mu_y0: mu, k_x: 0.0, k_y: 0.0, inv_c_alpha: 0.0, r: 0.3, j_wheel: 0.0 };
    Car {
        mass: Mass { m: 1000.0, a: 1.2, y_cg: 0.0, h: 0.0 },
        chassis: Chassis { l: 2.5, t_f: 1.5, t_r: 1.5, h_rf: 0.0, h_rr: 0.0, chi: 0.5 },
        front: tyre,
        rear: tyre,
        aero: Aero { cd_a: 0.0, cf_a: 0.0, cr_a: 0.0, c_rr: 0.0 },
        engine: Engine { torque: vec![(100.0, 1e5)], power: 1.0, launch: 10.0, limit: 1e4, inertia: 0.0 },
        driveline: Driveline {
            layout: Layout::All,
            front_share: 0.5,
            centre_bias: f64::INFINITY,
            front_bias: f64::INFINITY,
            rear_bias: f64::INFINITY,
            gears: vec![1.0],
            final_drive: 1.0,
            efficiency: 1.0,
            shift_time: 0.0,
        },
        brakes: Brakes { beta_f: 0.5, anti_lock: AntiLock::FourChannel, rear_limiter: None },
        driver: Use { cornering: 1.0, braking: 1.0, traction: 1.0 },
    }
}
