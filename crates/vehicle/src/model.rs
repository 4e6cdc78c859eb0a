//! A car made ready to be evaluated: its numbers and what follows from them once, not once a station.

use crate::branches::Free;
use crate::car::{Brakes, Car, Day, Layout, Tyre};
use crate::powertrain::Gearing;
use crate::road::Road;
use crate::scalar::Scalar;
use crate::share::{Bounds, Differential};

/// A [`Car`] on a [`Day`] with its derived constants. All the equations of `docs/model.md` §§2–6 are methods of this.
#[derive(Clone, Debug)]
pub struct Model<S = f64> {
    pub(crate) m: S,
    pub(crate) share_f: S,
    pub(crate) share_r: S,
    pub(crate) h_per_l: S,
    pub(crate) y_cg: S,
    pub(crate) t_f: S,
    pub(crate) t_r: S,
    pub(crate) per_t_f: S,
    pub(crate) per_t_r: S,
    pub(crate) h_rf: S,
    pub(crate) h_rr: S,
    pub(crate) chi: S,
    /// h − h_ra, h_ra = (h_rf b + h_rr a)/L.
    pub(crate) roll_arm: S,
    /// ½ ρ C_dA, ½ ρ C_fA, ½ ρ C_rA.
    pub(crate) drag: S,
    pub(crate) lift_f: S,
    pub(crate) lift_r: S,
    pub(crate) c_rr: S,
    /// N_0/C_α, rad.
    pub(crate) compliance_f: S,
    pub(crate) compliance_r: S,
    pub(crate) has_compliance: bool,
    pub(crate) front: Tyre<S>,
    pub(crate) rear: Tyre<S>,
    /// 1/N_0, 1/N.
    pub(crate) per_n_0: [S; 2],
    /// 1/(m g), 1/N: what slacks are measured by.
    pub(crate) per_weight: f64,
    /// u γ_0 for (lateral, drive, braking).
    pub(crate) use_lateral: S,
    pub(crate) use_drive: S,
    pub(crate) use_braking: S,
    pub(crate) layout: Layout,
    pub(crate) centre: Bounds<S>,
    pub(crate) diff_f: Differential<S>,
    pub(crate) diff_r: Differential<S>,
    pub(crate) brakes: Brakes<S>,
    /// Gears and drive force.
    pub gearing: Gearing<S>,
    /// The set of feasible a_x may have two parts (§7): strongly but not fully locking differential.
    pub may_split: bool,
}

impl<S: Scalar> Model<S> {
    /// Prepare a car on a day. Their values must be possible ones (positive mass, lengths and radii; the files' readers see to
    /// it).
    pub fn new(car: &Car<S>, day: Day<S>) -> Self {
        let (mass, chassis, aero, line) = (&car.mass, &car.chassis, &car.aero, &car.driveline);
        let one = S::from(1.0);
        let share_r = mass.a / chassis.l;
        let share_f = (chassis.l - mass.a) / chassis.l;
        let half_rho = day.rho * 0.5;
        let r_0 = line.front_share / (-line.front_share + 1.0);
        let centre = match line.layout {
            Layout::All => Bounds::new(r_0, line.centre_bias),
            _ => Bounds::new(one, one),
        };
        let mut model = Self {
            m: mass.m,
            share_f,
            share_r,
            h_per_l: mass.h / chassis.l,
            y_cg: mass.y_cg,
            t_f: chassis.t_f,
            t_r: chassis.t_r,
            per_t_f: one / chassis.t_f,
            per_t_r: one / chassis.t_r,
            h_rf: chassis.h_rf,
            h_rr: chassis.h_rr,
            chi: chassis.chi,
            roll_arm: mass.h - (chassis.h_rf * share_f + chassis.h_rr * share_r),
            drag: half_rho * aero.cd_a,
            lift_f: half_rho * aero.cf_a,
            lift_r: half_rho * aero.cr_a,
            c_rr: aero.c_rr,
            compliance_f: car.front.n_0 * car.front.inv_c_alpha,
            compliance_r: car.rear.n_0 * car.rear.inv_c_alpha,
            has_compliance: S::HAS_DERIVATIVES
                || car.front.inv_c_alpha.value() != 0.0
                || car.rear.inv_c_alpha.value() != 0.0,
            front: car.front,
            rear: car.rear,
            per_n_0: [one / car.front.n_0, one / car.rear.n_0],
            per_weight: 1.0 / (mass.m.value() * crate::car::G),
            use_lateral: car.driver.cornering * day.gamma_0,
            use_drive: car.driver.traction * day.gamma_0,
            use_braking: car.driver.braking * day.gamma_0,
            layout: line.layout,
            centre,
            diff_f: Differential::new(line.front_bias),
            diff_r: Differential::new(line.rear_bias),
            brakes: car.brakes,
            gearing: Gearing::new(car),
            may_split: false,
        };
        model.may_split = model.set_may_split();
        model
    }

    /// m g, N: the scale of forces.
    pub fn weight(&self) -> f64 {
        self.m.value() * crate::car::G
    }

    /// Mass, kg.
    pub fn mass(&self) -> S {
        self.m
    }

    /// Load that the rear axle gains per a_x, N/(m/s²).
    pub fn rear_load_per_a(&self) -> f64 {
        self.m.value() * self.h_per_l.value()
    }

    /// F_drive − (F_x + m_rot a_x) over weight: slack of the power limit; `drive` N, `m_rot` kg.
    #[inline(always)]
    pub fn power(&self, road: &Road<S>, x: S, a_x: S, drive: S, m_rot: S) -> S {
        let axles = self.axles(road, x, a_x);
        (drive - axles.f_x - m_rot * a_x) * self.per_weight
    }

    /// A lifted rear wheel leaves a finitely biased axle no drive; it comes back down, and the axle drives again, only
    /// if its capacity grows faster with a_x than its drive force: (1 + B) μ_x h/(2L) > the axle's share of the drive.
    /// (Front wheels lose load with a_x: once up they stay up.)
    fn set_may_split(&self) -> bool {
        let least = match self.layout {
            Layout::Front => return false,
            Layout::Rear => 1.0,
            Layout::All if self.centre.locked => return false,
            Layout::All => 1.0 - self.centre.share(S::from(1.0), S::from(0.0), &mut Free).value(),
        };
        let tyre = &self.rear;
        // The local grip factor is not known here: half as much again covers it.
        let mu = (tyre.mu_x0 - tyre.k_x).value() * self.use_drive.value() * 1.5;
        let bias = &self.diff_r;
        !bias.bounds.locked && (1.0 + bias.bias.value()) * mu * self.h_per_l.value() * 0.5 > least
    }
}
