//! Which axle lets go first in a steady bend.

use crate::branches::Free;
use crate::model::Model;
use crate::road::Shape;

/// Furthest, and step of the search, m/s²; then halvings.
const FURTHEST: f64 = 60.0;
const STEP: f64 = 0.5;
const HALVINGS: usize = 40;

impl Model {
    /// The lateral accelerations, m/s², at which front and rear no longer hold their share, m A_y b/L and m A_y a/L, of
    /// a steady bend on a level road at X = v², with nothing else asked of the tyres (`docs/model.md` §§3, 4); `side`
    /// +1: to the left, −1: to the right. An axle that always holds: 60.
    pub fn lateral_limits(&self, x: f64, side: f64) -> [f64; 2] {
        let spare = |axle: usize, a_y: f64| {
            let road = Shape { kappa: side * a_y / x, q: 0.0, dq: 0.0, phi: 0.0, gamma: 1.0 }.road();
            let axles = self.axles(&road, x, 0.0);
            let wheels = self.wheels(&axles, &mut Free);
            let tyre = [&self.front, &self.rear][axle];
            let holds = |wheel: usize| {
                let n = wheels.n[2 * axle + wheel];
                tyre.patch(n, self.per_n_0[axle], self.use_drive, self.use_lateral).c_y
            };
            holds(0) + holds(1) - axles.f_y[axle].abs()
        };
        [0, 1].map(|axle| {
            let steps = (FURTHEST / STEP) as usize;
            let Some(over) = (1..=steps).map(|i| STEP * i as f64).find(|&a| spare(axle, a) < 0.0) else {
                return FURTHEST;
            };
            let (mut good, mut bad) = (over - STEP, over);
            for _ in 0..HALVINGS {
                let middle = 0.5 * (good + bad);
                if spare(axle, middle) < 0.0 { bad = middle } else { good = middle }
            }
            0.5 * (good + bad)
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::car::Day;
    use crate::example_car;

    /// Without load slope, an axle's limit is u μ g whatever it carries; air pressing on one end raises that end's:
    /// (m g b/L + ½ρC_fA v²) μ = m a b/L.
    #[test]
    fn closed_form_limits_without_load_slope() {
        let mut car = example_car();
        (car.front.k_y, car.rear.k_y) = (0.0, 0.0);
        (car.front.mu_y0, car.rear.mu_y0) = (1.1, 1.2);
        (car.aero.cf_a, car.aero.cr_a) = (0.0, 0.5);
        car.driver.cornering = 0.9;
        let model = Model::new(&car, Day::STANDARD);
        let x = 900.0;
        let [front, rear] = model.lateral_limits(x, 1.0);
        let g = crate::G;
        let press = 0.5 * Day::STANDARD.rho * 0.5 * x / (car.mass.m * car.mass.a / car.chassis.l);
        assert!((front - 0.9 * 1.1 * g).abs() < 1e-6, "{front}");
        assert!((rear - 0.9 * 1.2 * (g + press)).abs() < 1e-6, "{rear}");
    }

    /// With load slope, more roll stiffness at the front takes from the front and gives to the rear.
    #[test]
    fn property_the_stiffer_end_lets_go_first() {
        let at = |chi: f64| {
            let mut car = example_car();
            car.chassis.chi = chi;
            let [front, rear] = Model::new(&car, Day::STANDARD).lateral_limits(600.0, -1.0);
            rear / front
        };
        assert!(at(0.4) < at(0.5) && at(0.5) < at(0.6) && at(0.6) < at(0.7));
    }
}
