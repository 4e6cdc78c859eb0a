//! Bounds on speed and acceleration that need no root: with the best wheel's friction on all four, and the most power
//! that the engine has, in whatever gear. No car does better; where it may not be as fast as that is not said.

use crate::model::Model;
use crate::road::Road;
use crate::tyre::MU_FLOOR;

/// What a car cannot exceed.
#[derive(Clone, Copy, Debug)]
pub struct Bounds {
    /// The best wheel's u γ_0 μ_y and μ_x, at no load.
    mu: [f64; 2],
    /// Most power at the driven wheels, W.
    power: f64,
}

impl Model {
    /// The bounds of a car.
    pub fn bounds(&self) -> Bounds {
        let most = |mu_0: [f64; 2], k: [f64; 2]| (mu_0[0] - k[0]).max(mu_0[1] - k[1]).max(MU_FLOOR);
        let mu_y = most([self.front.mu_y0, self.rear.mu_y0], [self.front.k_y, self.rear.k_y]);
        let mu_x = most([self.front.mu_x0, self.rear.mu_x0], [self.front.k_x, self.rear.k_x]);
        Bounds { mu: [mu_y * self.use_lateral, mu_x * self.use_drive], power: self.gearing.most_power() }
    }

    /// Load on all wheels together, N.
    fn load(&self, road: &Road, x: f64) -> f64 {
        self.m * (road.n_0 + road.n_x * x) + (self.lift_f + self.lift_r) * x
    }

    /// No X beyond this holds its lateral demand: m |A_y| ≤ μ_y ΣN, linear in X on either side.
    pub fn most_x(&self, bounds: &Bounds, road: &Road) -> f64 {
        let mu = bounds.mu[0] * road.gamma;
        let (n_0, n_x) = (self.load(road, 0.0), self.load(road, 1.0) - self.load(road, 0.0));
        let side = |sign: f64| {
            let (spare, per_x) = (mu * n_0 - sign * self.m * road.y_0, mu * n_x - sign * self.m * road.y_x);
            if per_x < 0.0 { (-spare / per_x).max(0.0) } else { f64::INFINITY }
        };
        side(1.0).min(side(-1.0))
    }

    /// No a_x beyond this, 0 or more: F_x within μ_x ΣN and the power; no cornering resistance, no rotating mass.
    pub fn most_a(&self, bounds: &Bounds, road: &Road, x: f64) -> f64 {
        let load = self.load(road, x);
        let push = (bounds.mu[1] * road.gamma * load).min(bounds.power / x.sqrt());
        let against = self.m * road.x_0 + self.drag * x + self.c_rr * load;
        ((push - against) / self.m).max(0.0)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::car::Day;
    use crate::example_car;
    use crate::road::Shape;
    use proptest::prelude::*;

    proptest! {
        /// Whatever grip and some gear allow lies within both bounds, on tyres without load slope, where they are
        /// closest.
        #[test]
        fn property_nothing_feasible_lies_beyond(
            kappa in -0.08..0.08f64, q in -0.2..0.2f64, dq in -4e-3..4e-3f64, phi in -0.3..0.3f64,
            share in 0.02..1.5f64, pull in 0.7..1.3f64, v in 3.0..50.0f64,
        ) {
            let mut car = example_car();
            for tyre in [&mut car.front, &mut car.rear] {
                (tyre.k_x, tyre.k_y) = (0.0, 0.0);
            }
            let model = Model::new(&car, Day::STANDARD);
            let bounds = model.bounds();
            let road = Shape { kappa, q, dq, phi, gamma: 1.0 }.road();
            let most = model.most_x(&bounds, &road).min(3600.0);
            let fast = share * most;
            if (-40..=20).any(|i| model.grip(&road, fast, 0.25 * f64::from(i)).value >= 0.0) {
                prop_assert!(share <= 1.0 || most == 3600.0);
            }
            let (road, x) = (Shape { kappa: 0.0, q, dq: 0.0, phi: 0.0, gamma: 1.0 }.road(), v * v);
            let a_x = pull * model.most_a(&bounds, &road, x);
            let pulls = model.gearing.modes.iter().enumerate().any(|(i, mode)| {
                let force = model.gearing.force(mode, &model.gearing.piece_at(i, x).0, x);
                x <= mode.x_end && model.power(&road, x, a_x, force, mode.m_rot) >= 0.0
            });
            if pulls && model.grip(&road, x, a_x).value >= 0.0 {
                prop_assert!(pull <= 1.0);
            }
        }
    }
}
