//! The one operation that changes a mass: it moves mass, CG and yaw inertia together.
//!
//! Whatever comes off a car or goes on it (fuel, driver, a seat, a driveline) is a [`Part`]; so is the car itself.

use crate::car::Mass;
use crate::scalar::Scalar;

/// A body: its mass, where its centre is (ISO 4130 positions, `docs/model.md`), and its own yaw inertia where known.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Part<S = f64> {
    /// Mass, kg.
    pub m: S,
    /// Centre behind the front axle line, m.
    pub x: S,
    /// Centre right of the centre plane, m.
    pub y: S,
    /// Centre above ground, m.
    pub z: S,
    /// Yaw inertia about its own centre, kg m²; `None` where nobody knows it.
    pub i_zz: Option<S>,
}

/// Why a change of mass has no meaning.
#[derive(Clone, Copy, Debug, PartialEq, thiserror::Error)]
pub enum MassError {
    /// What is left would weigh nothing, or less.
    #[error("taking {removed_kg} kg off {from_kg} kg leaves no mass")]
    NothingLeft {
        /// Mass before, kg.
        from_kg: f64,
        /// Mass taken off, kg.
        removed_kg: f64,
    },
}

impl<S: Scalar> Part<S> {
    /// A body whose own yaw inertia is too small to matter.
    pub fn point(m: S, x: S, y: S, z: S) -> Self {
        Self { m, x, y, z, i_zz: Some(S::from(0.0)) }
    }

    /// This body with `part` put on.
    pub fn with(self, part: Self) -> Self {
        self.changed(part, 1.0)
    }

    /// This body with `part`, of which it contains one, taken off.
    ///
    /// # Errors
    /// [`MassError::NothingLeft`] unless mass remains.
    pub fn without(self, part: Self) -> Result<Self, MassError> {
        if self.m.value() - part.m.value() > 0.0 {
            Ok(self.changed(part, -1.0))
        } else {
            Err(MassError::NothingLeft { from_kg: self.m.value(), removed_kg: part.m.value() })
        }
    }

    /// m′ = m + σ m_p,  r′ = r + (σ m_p/m′)(r_p − r),  I′ = I + σ I_p + (m σ m_p/m′) |r_p − r|² (in plan),  σ = ±1.
    ///
    /// First moments and the parallel-axis theorem, kg, m, kg m². An unknown inertia of either stays unknown.
    fn changed(self, part: Self, sign: f64) -> Self {
        let dm = part.m * sign;
        let m = self.m + dm;
        if m.value() == 0.0 {
            return Self { m, ..self };
        }
        let share = dm / m;
        let (dx, dy) = (part.x - self.x, part.y - self.y);
        Self {
            m,
            x: self.x + share * dx,
            y: self.y + share * dy,
            z: self.z + share * (part.z - self.z),
            i_zz: match (self.i_zz, part.i_zz) {
                (Some(i), Some(i_p)) => Some(i + i_p * sign + self.m * share * (dx * dx + dy * dy)),
                _ => None,
            },
        }
    }
}

impl<S: Scalar> From<Mass<S>> for Part<S> {
    fn from(mass: Mass<S>) -> Self {
        Self { m: mass.m, x: mass.a, y: mass.y_cg, z: mass.h, i_zz: None }
    }
}

impl<S> From<Part<S>> for Mass<S> {
    fn from(part: Part<S>) -> Self {
        Self { m: part.m, a: part.x, y_cg: part.y, h: part.z }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::scalar::Dual;
    use proptest::prelude::*;

    const CAR: Part = Part { m: 1284.0, x: 1.13, y: 0.006, z: 0.492, i_zz: Some(1900.0) };

    fn part() -> impl Strategy<Value = Part> {
        (0.0..400.0f64, -1.0..4.0f64, -1.0..1.0f64, 0.0..1.6f64, 0.0..300.0f64).prop_map(|(m, x, y, z, i)| Part {
            m,
            x,
            y,
            z,
            i_zz: Some(i),
        })
    }

    fn close(a: Part, b: Part) {
        for (p, q, scale) in [(a.m, b.m, 1e3), (a.x, b.x, 1.0), (a.y, b.y, 1.0), (a.z, b.z, 1.0)] {
            assert!((p - q).abs() <= 1e-13 * scale, "{a:?} {b:?}");
        }
        let (i, j) = (a.i_zz.unwrap(), b.i_zz.unwrap());
        assert!((i - j).abs() < 1e-9, "{a:?} {b:?}");
    }

    proptest! {
        #[test]
        fn property_adding_then_removing_changes_nothing(p in part()) {
            close(CAR.with(p).without(p).unwrap(), CAR);
        }

        #[test]
        fn property_order_does_not_matter(p in part(), q in part()) {
            close(CAR.with(p).with(q), CAR.with(q).with(p));
            close(CAR.with(p).with(q), CAR.with(p.with(q)));
        }

        /// The sum over bodies, written out: Σm, Σmx/Σm, Σ(I + m r²) − m r̄².
        #[test]
        fn property_equals_the_sum_over_parts(parts in proptest::collection::vec(part(), 1..12)) {
            let all = parts.iter().fold(CAR, |car, &p| car.with(p));
            let bodies: Vec<Part> = std::iter::once(CAR).chain(parts).collect();
            let sum = |f: &dyn Fn(&Part) -> f64| bodies.iter().map(f).sum::<f64>();
            let m = sum(&|p| p.m);
            let (x, y) = (sum(&|p| p.m * p.x) / m, sum(&|p| p.m * p.y) / m);
            let about_origin = sum(&|p| p.i_zz.unwrap() + p.m * (p.x * p.x + p.y * p.y));
            let brute = Part { m, x, y, z: sum(&|p| p.m * p.z) / m, i_zz: Some(about_origin - m * (x * x + y * y)) };
            for (a, b) in [(all.m, brute.m), (all.x, brute.x), (all.y, brute.y), (all.z, brute.z)] {
                prop_assert!((a - b).abs() < 1e-11 * m);
            }
            prop_assert!((all.i_zz.unwrap() - brute.i_zz.unwrap()).abs() < 1e-11 * about_origin);
        }
    }

    /// Two equal point masses 2 m apart: the centre between them, and 2 m·1² of yaw inertia.
    #[test]
    fn closed_form_dumb_bell() {
        let one = |x| Part::point(5.0, x, 0.0, 0.3);
        let bell = one(0.0).with(one(2.0));
        assert_eq!(bell, Part { m: 10.0, x: 1.0, y: 0.0, z: 0.3, i_zz: Some(10.0) });
    }

    /// ∂x/∂m of a kilogram put on at x_p: (x_p − x)/m, the coefficient of `docs/model.md` §8.
    #[test]
    fn closed_form_derivative_of_the_cg() {
        let car = Part { m: 1000.0, x: 1.2, y: 0.0, z: 0.5, i_zz: None };
        let lift = |p: Part| Part { m: Dual::<1>::from(p.m), x: p.x.into(), y: p.y.into(), z: p.z.into(), i_zz: None };
        let mut kilo = lift(Part { m: 0.0, x: 2.7, y: 0.4, z: 0.1, i_zz: None });
        kilo.m = Dual::variable(0.0, 0);
        let moved = lift(car).with(kilo);
        assert!((moved.x.d[0] - 1.5e-3).abs() < 1e-18);
        assert!((moved.y.d[0] - 0.4e-3).abs() < 1e-18);
        assert!((moved.z.d[0] + 0.4e-3).abs() < 1e-18);
    }

    #[test]
    fn bad_input_taking_off_all_there_is() {
        let all = CAR;
        assert_eq!(CAR.without(all), Err(MassError::NothingLeft { from_kg: 1284.0, removed_kg: 1284.0 }));
        assert!(CAR.without(Part { m: 2000.0, ..CAR }).is_err());
    }

    #[test]
    fn property_unknown_inertia_stays_unknown() {
        let seat = Part { m: 20.0, x: 1.4, y: 0.3, z: 0.4, i_zz: None };
        assert_eq!(CAR.with(seat).i_zz, None);
        assert_eq!(seat.with(CAR).i_zz, None);
    }
}
