//! An invented car for examples and tests.

use crate::car::*;

const RPM: f64 = std::f64::consts::PI / 30.0;

/// An invented front-engined all-wheel-drive saloon, plausible in every number.
pub fn example_car() -> Car {
    let tyre = Tyre {
        n_0: 3500.0,
        mu_x0: 1.22,
        mu_y0: 1.18,
        k_x: -0.12,
        k_y: -0.14,
        inv_c_alpha: 1.0 / 60_000.0,
        r: 0.31,
        j_wheel: 1.1,
    };
    Car {
        mass: Mass { m: 1292.0, a: 1.15, y_cg: 0.0, h: 0.49 },
        chassis: Chassis { l: 2.57, t_f: 1.505, t_r: 1.5, h_rf: 0.045, h_rr: 0.08, chi: 0.58 },
        front: tyre,
        rear: tyre,
        aero: Aero { cd_a: 0.68, cf_a: 0.05, cr_a: 0.12, c_rr: 0.013 },
        engine: Engine {
            torque: vec![(1500.0 * RPM, 180.0), (4000.0 * RPM, 310.0), (7000.0 * RPM, 250.0)],
            power: 1.0,
            launch: 4000.0 * RPM,
            limit: 7200.0 * RPM,
            inertia: 0.12,
        },
        driveline: Driveline {
            layout: Layout::All,
            front_share: 0.4,
            centre_bias: 2.5,
            front_bias: 1.0,
            rear_bias: 2.0,
            gears: vec![3.6, 2.1, 1.5, 1.15, 0.93],
            final_drive: 3.9,
            efficiency: 0.90,
            shift_time: 0.15,
        },
        brakes: Brakes {
            beta_f: 0.66,
            anti_lock: AntiLock::None,
            rear_limiter: Some(RearLimiter { knee: 2200.0, slope: 0.3 }),
        },
        driver: Use { cornering: 1.0, braking: 1.0, traction: 1.0 },
    }
}
