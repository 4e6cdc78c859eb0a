//! How much adhesion each axle asks for while braking, and which one locks first: the form of UN Regulation 13-H, Annex
//! 5 (from memory). Steady, on the flat, without aero; both wheels of an axle alike.

use crate::car::{Brakes, Car, G, Tyre};

/// A car on the flat as the brakes see it: static axle loads and the height of its CG over its wheelbase.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Stance {
    /// P_f, P_r: static axle loads, N.
    pub p: [f64; 2],
    /// h/L.
    pub h_per_l: f64,
}

/// Front before or behind the rear.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Axle {
    /// The front axle.
    Front,
    /// The rear axle.
    Rear,
}

/// The axle that reaches its adhesion first.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Locks {
    /// Which.
    pub axle: Axle,
    /// The deceleration at which it does, in g.
    pub z: f64,
}

/// The braking rates for which the front axle must ask for more adhesion than the rear, M1 cars: Directive 71/320/EEC,
/// Annex II, appendix, 3.1.1.
pub const FRONT_ABOVE_REAR: (f64, f64) = (0.15, 0.8);

/// Braking rates beyond this are not looked at, g.
const MOST_Z: f64 = 3.0;
/// Step of the search, g; a limiter's knee is wider.
const STEP_Z: f64 = 1e-3;

impl Stance {
    /// From mass, CG behind the front axle, CG height and wheelbase; kg, m.
    pub fn new(m: f64, a: f64, h: f64, l: f64) -> Self {
        Self { p: [m * G * (l - a) / l, m * G * a / l], h_per_l: h / l }
    }

    /// As it laps.
    pub fn of(car: &Car) -> Self {
        Self::new(car.mass.m, car.mass.a, car.mass.h, car.chassis.l)
    }

    /// P: the whole weight, N.
    pub fn weight(&self) -> f64 {
        self.p[0] + self.p[1]
    }

    /// N_f = P_f + z P h/L, N_r = P_r − z P h/L, N.
    pub fn axle_loads(&self, z: f64) -> [f64; 2] {
        let shift = z * self.weight() * self.h_per_l;
        [self.p[0] + shift, self.p[1] - shift]
    }

    /// The front share at which both axles ask for the same adhesion: N_f/P.
    pub fn ideal_front_share(&self, z: f64) -> f64 {
        self.axle_loads(z)[0] / self.weight()
    }

    /// T_f, T_r that brake at z g: T_f + T_r = z P, shared by the pedal with its limiter (`docs/model.md` §5), no wheel
    /// locked.
    pub fn brake_forces(&self, brakes: &Brakes, z: f64) -> [f64; 2] {
        let total = z * self.weight();
        let (front, rear) = (brakes.beta_f, 1.0 - brakes.beta_f);
        match brakes.rear_limiter {
            Some(l) if rear * total > l.knee => {
                let rate = front + l.slope * rear;
                if rate <= 0.0 {
                    return [0.0, total];
                }
                let pedal = (total - l.knee * (1.0 - l.slope)) / rate;
                [front * pedal, total - front * pedal]
            }
            _ => [front * total, rear * total],
        }
    }

    /// k_f = T_f/N_f, k_r = T_r/N_r: the adhesion that each axle asks for at z g; without a limiter
    /// k_f = β z P/(P_f + z P h/L), k_r = (1 − β) z P/(P_r − z P h/L). Infinite where the axle has lifted.
    pub fn utilisation(&self, brakes: &Brakes, z: f64) -> [f64; 2] {
        let (t, n) = (self.brake_forces(brakes, z), self.axle_loads(z));
        [0, 1].map(|i| if n[i] > 0.0 { t[i] / n[i] } else { f64::INFINITY })
    }

    /// Where the rear asks for more than the front within [`FRONT_ABOVE_REAR`]: the lowest such z.
    pub fn rear_above_front(&self, brakes: &Brakes) -> Option<f64> {
        let (least, most) = FRONT_ABOVE_REAR;
        let count = ((most - least) / STEP_Z).round() as usize;
        (0..=count).map(|i| least + i as f64 * STEP_Z).find(|&z| {
            let [front, rear] = self.utilisation(brakes, z);
            rear > front
        })
    }

    /// The axle whose demand first reaches what its tyres give, μ_x(N) times `grip`, and the z at which it does.
    pub fn first_to_lock(&self, brakes: &Brakes, tyres: [&Tyre; 2], grip: f64) -> Option<Locks> {
        match self.lock_at(brakes, tyres, grip) {
            [Some(f), Some(r)] if r < f => Some(Locks { axle: Axle::Rear, z: r }),
            [Some(z), _] => Some(Locks { axle: Axle::Front, z }),
            [None, Some(z)] => Some(Locks { axle: Axle::Rear, z }),
            [None, None] => None,
        }
    }

    /// The z at which front and rear each reach what their tyres give.
    pub fn lock_at(&self, brakes: &Brakes, tyres: [&Tyre; 2], grip: f64) -> [Option<f64>; 2] {
        let spare = |i: usize, z: f64| {
            let n = self.axle_loads(z)[i];
            let tyre = tyres[i];
            if n <= 0.0 {
                -1.0
            } else {
                grip * tyre.mu(tyre.mu_x0, tyre.k_x, n / 2.0 / tyre.n_0) * n - self.brake_forces(brakes, z)[i]
            }
        };
        let locks = |i: usize| {
            let count = (MOST_Z / STEP_Z) as usize;
            let over = (1..=count).map(|k| k as f64 * STEP_Z).find(|&z| spare(i, z) < 0.0)?;
            let (mut low, mut high) = (over - STEP_Z, over);
            for _ in 0..40 {
                let mid = 0.5 * (low + high);
                if spare(i, mid) < 0.0 { high = mid } else { low = mid }
            }
            Some(0.5 * (low + high))
        };
        [locks(0), locks(1)]
    }
}

/// Static stability factor t/2h, t the mean track: what a rigid car on rigid tyres could hold in g before it tips.
/// Fleet means 1.41 for cars and 1.17 for utility vehicles: M. Walz, NHTSA HS-809 868, 2005.
pub fn stability_factor(t_f: f64, t_r: f64, h: f64) -> f64 {
    (t_f + t_r) / (4.0 * h)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::car::{AntiLock, RearLimiter};
    use proptest::prelude::*;

    fn brakes(beta_f: f64) -> Brakes {
        Brakes { beta_f, anti_lock: AntiLock::None, rear_limiter: None }
    }

    fn tyre(mu: f64) -> Tyre {
        Tyre { n_0: 3500.0, mu_x0: mu, mu_y0: mu, k_x: 0.0, k_y: 0.0, inv_c_alpha: 0.0, r: 0.3, j_wheel: 1.0 }
    }

    /// sources.md 14: form of UN Regulation 13-H Annex 5 (memory), numbers ours; printed to four decimals.
    #[test]
    fn published_un_r13h_annex_5_adhesion_utilisation() {
        let car = Stance::new(1100.0, 0.53 * 2.45, 0.46, 2.45);
        for (z, k_f, k_r) in
            [(0.15, 0.2048, 0.0956), (0.3, 0.3876, 0.2027), (0.45, 0.5519, 0.3232), (0.8, 0.8771, 0.6740)]
        {
            let [f, r] = car.utilisation(&brakes(0.68), z);
            assert!((f - k_f).abs() < 1e-4 && (r - k_r).abs() < 1e-4, "{z}: {f} {r}");
        }
        assert!((car.ideal_front_share(0.8) - 0.6202).abs() < 1e-4);
        let [f, r] = car.utilisation(&brakes(0.68), 1.1185);
        assert!((f - r).abs() < 1e-4 && (f - 1.1185).abs() < 1e-4, "{f} {r}");
        assert!((car.ideal_front_share(1.1185) - 0.68).abs() < 1e-5);
    }

    /// sources.md 15: Directive 71/320/EEC Annex II App. 3.1.1. The share at which both curves meet at z = 0.8 is the
    /// ideal one of row 14, 0.6202: a little more on the front passes, a little less fails.
    #[test]
    fn published_71_320_eec_front_curve_above_rear() {
        let car = Stance::new(1100.0, 0.53 * 2.45, 0.46, 2.45);
        assert_eq!(car.rear_above_front(&brakes(0.68)), None);
        assert_eq!(car.rear_above_front(&brakes(0.6204)), None);
        assert!(car.rear_above_front(&brakes(0.6200)).is_some_and(|z| z > 0.79));
        assert!(car.rear_above_front(&brakes(0.45)).is_some_and(|z| z < 0.1501));
    }

    /// sources.md 16: Council of Engineers Thailand, exam bank 2209, Q11–12: axle brake force at μ with both axles at
    /// it.
    #[test]
    fn published_exam_bank_2209_axle_brake_forces() {
        for (p, l, h, mu, axle, force) in
            [([6000.0, 3500.0], 2.4, 0.35, 0.65, 0, 4485.3), ([6500.0, 4000.0], 2.7, 0.35, 0.6, 1, 1910.0)]
        {
            let car = Stance { p, h_per_l: h / l };
            let share = car.ideal_front_share(mu);
            let t = car.brake_forces(&brakes(share), mu);
            assert!((t[axle] - force).abs() < 0.1, "{t:?}");
            let at = car.first_to_lock(&brakes(share), [&tyre(mu), &tyre(mu)], 1.0).unwrap();
            assert!((at.z - mu).abs() < 1e-9, "{at:?}");
        }
    }

    /// sources.md 36: Walz, NHTSA HS-809 868: t/2h; a track of 1.5 m at the fleet's 1.41 is a CG at 0.532 m.
    #[test]
    fn published_walz_static_stability_factor() {
        assert!((stability_factor(1.5, 1.5, 1.5 / 2.82) - 1.41).abs() < 1e-12);
        assert!((stability_factor(1.4, 1.6, 0.5) - 1.5).abs() < 1e-12);
    }

    /// A rear axle with all the brakes locks at T_r = μ N_r: z = μ P_r/(P (1 + μ h/L)).
    #[test]
    fn closed_form_which_axle_locks_and_when() {
        let car = Stance::new(1000.0, 1.2, 0.5, 2.5);
        let at = car.first_to_lock(&brakes(0.0), [&tyre(0.8), &tyre(0.8)], 1.0).unwrap();
        assert_eq!(at.axle, Axle::Rear);
        assert!((at.z - 0.8 * 0.48 / (1.0 + 0.8 * 0.2)).abs() < 1e-9);
        let at = car.first_to_lock(&brakes(1.0), [&tyre(0.8), &tyre(0.8)], 0.5).unwrap();
        assert_eq!(at.axle, Axle::Front);
        assert!((at.z - 0.4 * 0.52 / (1.0 - 0.4 * 0.2)).abs() < 1e-9);
    }

    proptest! {
        /// Forces sum to z P with any limiter, the rear never brakes more with one than without, and the pedal's law
        /// holds.
        #[test]
        fn property_limiter(beta in 0.05..0.95f64, knee in 0.0..6000.0f64, slope in 0.0..1.0f64, z in 0.0..1.5f64) {
            let car = Stance::new(1200.0, 1.2, 0.5, 2.5);
            let limited = Brakes { rear_limiter: Some(RearLimiter { knee, slope }), ..brakes(beta) };
            let (with, without) = (car.brake_forces(&limited, z), car.brake_forces(&brakes(beta), z));
            prop_assert!((with[0] + with[1] - z * car.weight()).abs() < 1e-9);
            prop_assert!(with[1] <= without[1] + 1e-9);
            let line = (1.0 - beta) * with[0] / beta;
            let law = if line > knee { knee + slope * (line - knee) } else { line };
            prop_assert!((with[1] - law).abs() < 1e-6, "{} {}", with[1], law);
        }
    }
}
