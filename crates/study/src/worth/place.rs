//! What a kilogram costs at a place in the car, and some places that every car has.

use unladen_vehicle::car::Mass;
use unladen_vehicle::mass::Part;
use unladen_vehicle::{Car, Dual};

/// A place in a car, after ISO 4130 (`docs/model.md` §1).
#[derive(Clone, Debug, PartialEq)]
pub struct Spot {
    /// What is there.
    pub name: String,
    /// Behind the front axle line, right of the centre plane, above ground; m.
    pub at: [f64; 3],
}

/// Roof over CG, in heights above ground (a rule of thumb: see [`named_spots`]).
pub const ROOF: f64 = 2.6;

/// Nobody sits under a lower roof than this, m: such a car is open.
pub const LEAST_ROOF_M: f64 = 0.95;

/// Six places from the car's own dimensions: enough to see which way the value of a kilogram falls. Readings to go by,
/// not measurements: a bonnet over the tyres, a roof at 2.6 times the height of the CG (that of a closed car is at 0.38
/// to 0.40 of its roof). `seat` is the driver's CG where the car's file gives one.
pub fn named_spots(car: &Car, seat: Option<[f64; 3]>) -> Vec<Spot> {
    let (l, h, r_f, r_r) = (car.chassis.l, car.mass.h, car.front.r, car.rear.r);
    let spot = |name: &str, at| Spot { name: name.into(), at };
    vec![
        spot("bonnet", [0.0, 0.0, 2.6 * r_f]),
        spot(if ROOF * h < LEAST_ROOF_M { "highest point" } else { "roof" }, [0.55 * l, 0.0, ROOF * h]),
        match seat {
            Some(at) => spot("driver's seat", at),
            None => spot("between the seats", [0.52 * l, 0.0, 0.85 * h]),
        },
        spot("front axle, at the hubs", [0.0, 0.0, r_f]),
        spot("boot floor", [l + 1.2 * r_r, 0.0, 1.3 * r_r]),
        spot("low behind the rear axle", [l + 2.0 * r_r, 0.0, 0.8 * r_r]),
    ]
}

/// The factors of ∂T/∂(m, h, a, y_cg) in w(x, y, z) (`docs/model.md` §8):
/// w = ∂T/∂m + \[(x − a) ∂T/∂a + (y − y_cg) ∂T/∂y_cg + (z − h) ∂T/∂h\] / m,
/// as the derivatives of what a point mass that is put there does to mass and CG.
pub(crate) fn factors(mass: &Mass, at: [f64; 3]) -> [f64; 4] {
    let [x, y, z] = at.map(Dual::<1>::from);
    let Mass { m, a, y_cg, h } = *mass;
    let car: Part<Dual<1>> = Mass { m: m.into(), a: a.into(), y_cg: y_cg.into(), h: h.into() }.into();
    let with = car.with(Part::point(Dual::variable(0.0, 0), x, y, z));
    [with.m, with.z, with.x, with.y].map(|number| number.d[0])
}

/// w(x, y, z) from what is published, ∂T/∂(m, h, a, y_cg) in s/kg and s/mm: the same as by [`factors`].
pub(crate) fn s_per_kg_at([m, h, a, y_cg]: [f64; 4], mass: &Mass, [x, y, z]: [f64; 3]) -> f64 {
    m + 1e3 / mass.m * ((x - mass.a) * a + (y - mass.y_cg) * y_cg + (z - mass.h) * h)
}

/// The car with `dm` more at a place, treated as a point.
pub(crate) fn loaded(car: &Car, at: [f64; 3], dm: f64) -> Car {
    let [x, y, z] = at;
    Car { mass: Part::from(car.mass).with(Part::point(dm, x, y, z)).into(), ..car.clone() }
}

#[cfg(test)]
mod tests {
    use super::*;
    use unladen_testkit::random::{self, Kind, Rng};
    use unladen_vehicle::example_car;

    /// `docs/model.md` §8, written out.
    #[test]
    fn closed_form_factors_are_those_of_w() {
        let mass = example_car().mass;
        for spot in named_spots(&example_car(), Some([1.35, 0.35, 0.42])) {
            let [x, y, z] = spot.at;
            let want = [1.0, (z - mass.h) / mass.m, (x - mass.a) / mass.m, (y - mass.y_cg) / mass.m];
            let got = factors(&mass, spot.at);
            assert!(got.iter().zip(want).all(|(g, w)| (g - w).abs() < 1e-15), "{got:?} {want:?}");
        }
    }

    /// `Worth::s_per_kg_at` and the factors are one w: random cars, places and derivatives. To rounding, measured against
    /// the size of the terms.
    #[test]
    fn property_both_forms_of_w_agree() {
        let mut r = Rng::new(8);
        for i in 0..2000 {
            let mass = random::car(&mut r, if i % 2 == 0 { Kind::Usual } else { Kind::Odd }).mass;
            let at = [r.range(-2.0, 6.0), r.range(-1.5, 1.5), r.range(0.0, 3.0)];
            let slopes = [r.range(-0.1, 0.1), r.range(-1e2, 1e2), r.range(-1e2, 1e2), r.range(-1e2, 1e2)];
            let [m, h, a, y] = slopes;
            let per_mm = [m, 1e-3 * h, 1e-3 * a, 1e-3 * y];
            let terms = factors(&mass, at).iter().zip(slopes).map(|(f, s)| f * s).collect::<Vec<f64>>();
            let size: f64 = terms.iter().map(|t| t.abs()).sum();
            let got = s_per_kg_at(per_mm, &mass, at);
            assert!((got - terms.iter().sum::<f64>()).abs() <= 1e-12 * size, "{got} {terms:?}");
        }
    }

    /// By hand: 10 kg at 1 m above a car of 990 kg whose CG is at 0.5 m raise it by 5 mm.
    #[test]
    fn closed_form_a_load_moves_the_cg() {
        let mut car = example_car();
        (car.mass.m, car.mass.h) = (990.0, 0.5);
        let with = loaded(&car, [car.mass.a, 0.0, 1.0], 10.0).mass;
        assert!(
            (with.m - 1000.0).abs() < 1e-12 && (with.h - 0.505).abs() < 1e-15 && (with.a - car.mass.a).abs() < 1e-15
        );
        let back = loaded(&Car { mass: with, ..car.clone() }, [car.mass.a, 0.0, 1.0], -10.0).mass;
        assert!((back.h - 0.5).abs() < 1e-15 && (back.m - 990.0).abs() < 1e-12);
    }

    #[test]
    fn property_the_six_places_are_in_a_car() {
        let car = example_car();
        for seat in [None, Some([1.35, 0.35, 0.42])] {
            let spots = named_spots(&car, seat);
            assert_eq!(spots.len(), 6);
            assert!(spots.iter().all(|s| (-1.0..4.0).contains(&s.at[0]) && (0.1..1.6).contains(&s.at[2])));
        }
    }
}
