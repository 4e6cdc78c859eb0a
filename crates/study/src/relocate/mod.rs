//! What is moved to another place: a fuel tank with its fuel, a battery, a seat; and the car before and after, with any
//! amount of fuel aboard.

pub mod static_state;
pub mod stint;

use thiserror::Error;
use unladen_vehicle::Car;
use unladen_vehicle::change::{Change, all_on};
use unladen_vehicle::fuel::{FuelError, Tank};
use unladen_vehicle::mass::{MassError, Part};

use crate::input::error::StudyError;

/// Something that comes off, goes on or is moved.
#[derive(Clone, Debug, PartialEq)]
pub struct Piece {
    /// What it is.
    pub name: String,
    /// Where it was and where it will be.
    pub change: Change,
    /// One standard deviation of its mass, kg. Of what is only moved it is off by as much here as there.
    pub sd: f64,
}

impl Piece {
    /// It is as heavy after as before, and only elsewhere.
    pub fn is_moved(&self) -> bool {
        self.change.before.zip(self.change.after).is_some_and(|(before, after)| before.m == after.m)
    }
}

/// The fuel, and the boxes it is in before and after: the same one twice where the tank stays.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Boxes {
    /// Before.
    pub old: Tank,
    /// After.
    pub new: Tank,
    /// kg/m³.
    pub density: f64,
    /// What of it the car's mass and CG hold, m³.
    pub aboard: f64,
}

/// A change of place.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Relocation {
    /// All that changes besides the fuel.
    pub pieces: Vec<Piece>,
    /// The fuel; none: the car's file speaks of none.
    pub fuel: Option<Boxes>,
    /// What is in the car before and after all the same, and its mass has not: rows of its ledger.
    pub rows: Vec<Change>,
}

/// Why something can't be moved there.
#[derive(Clone, Debug, PartialEq, Error)]
pub enum RelocateError {
    /// The fuel does not go into a box.
    #[error("the {which} tank: {why}")]
    Fuel {
        /// `old` or `new`.
        which: &'static str,
        /// Why not.
        why: FuelError,
    },
    /// What comes off outweighs the car.
    #[error("{0}")]
    Mass(#[from] MassError),
    /// A place that is in no car.
    #[error("{what}, {axis} {} mm: outside the car, which reaches from {} to {} mm", mm(*at_m), mm(*least_m), mm(*most_m))]
    Outside {
        /// What.
        what: String,
        /// x, y or z.
        axis: char,
        /// Where, m.
        at_m: f64,
        /// m.
        least_m: f64,
        /// m.
        most_m: f64,
    },
    /// A fuel load that no stint has.
    #[error("a stint goes from more fuel to less: {} L to {} L", from_m3 * 1e3, to_m3 * 1e3)]
    Stint {
        /// m³.
        from_m3: f64,
        /// m³.
        to_m3: f64,
    },
    /// There is no lap.
    #[error(transparent)]
    Worth(#[from] StudyError),
}

fn mm(m: f64) -> String {
    format!("{:.0}", m * 1e3)
}

impl Relocation {
    /// The car before and after with so much fuel aboard (m³; ignored where the car's file speaks of none). `off`: by
    /// how many of its standard deviations each piece's mass is off; a missing one is not.
    ///
    /// # Errors
    /// [`RelocateError`] where the fuel does not go into a box, or what comes off outweighs the car.
    pub fn cars(&self, car: &Car, volume: f64, off: &[f64]) -> Result<[Car; 2], RelocateError> {
        self.parts(car, volume, off).map(|parts| parts.map(|part| Car { mass: part.into(), ..car.clone() }))
    }

    /// The same as bodies, with their yaw inertia: of the car as given m a (L − a), which is right within about 15
    /// % (Garrott; Heydinger et al., SAE 1999-01-1336, from memory); of what changes, exact but for its own shape.
    pub(crate) fn parts(&self, car: &Car, volume: f64, off: &[f64]) -> Result<[Part; 2], RelocateError> {
        let mass = car.mass;
        let whole = Part { i_zz: Some(mass.m * mass.a * (car.chassis.l - mass.a)), ..mass.into() };
        let (mut before, mut after) = (self.rows.clone(), self.rows.clone());
        if let Some(fuel) = &self.fuel {
            let part = |which, tank: &Tank, volume| {
                tank.fuel(volume, fuel.density).map_err(|why| RelocateError::Fuel { which, why })
            };
            let aboard = Some(part("old", &fuel.old, fuel.aboard)?);
            before.push(Change { before: aboard, after: Some(part("old", &fuel.old, volume)?) });
            after.push(Change { before: aboard, after: Some(part("new", &fuel.new, volume)?) });
        }
        for (i, piece) in self.pieces.iter().enumerate() {
            let by = off.get(i).copied().unwrap_or(0.0) * piece.sd;
            let Change { before: was, after: is } = piece.change;
            // The old part is in the car's own mass, so a swap's error is that of what goes on.
            let moved = was.zip(is).is_some_and(|(a, b)| a.m == b.m);
            let heavier = |part: Part| Part { m: part.m + by, ..part };
            after.push(Change {
                before: was.map(|p| if moved || is.is_none() { heavier(p) } else { p }),
                after: is.map(heavier),
            });
        }
        Ok([all_on(whole, &before)?, all_on(whole, &after)?])
    }

    /// Back again: what undoes it.
    pub fn undone(&self) -> Self {
        let back = |piece: &Piece| Piece { change: piece.change.undone(), ..piece.clone() };
        let fuel = self.fuel.map(|f| Boxes { old: f.new, new: f.old, ..f });
        Self { pieces: self.pieces.iter().map(back).collect(), fuel, rows: self.rows.clone() }
    }

    /// This, and then another one.
    pub fn then(&self, next: &Self) -> Self {
        let pieces = self.pieces.iter().chain(&next.pieces).cloned().collect();
        let fuel = self.fuel.zip(next.fuel).map(|(a, b)| Boxes { new: b.new, ..a });
        Self { pieces, fuel, rows: self.rows.clone() }
    }

    /// Which pieces are only moved.
    pub(crate) fn moved(&self) -> Vec<usize> {
        (0..self.pieces.len()).filter(|&i| self.pieces[i].is_moved()).collect()
    }

    /// Without what adds mass or takes it off.
    pub fn only_moved(&self) -> Self {
        let pieces = self.pieces.iter().filter(|piece| piece.is_moved()).cloned().collect();
        Self { pieces, ..self.clone() }
    }

    /// kg more or less.
    pub fn mass(&self) -> f64 {
        self.pieces.iter().map(|p| p.change.mass()).sum::<f64>() + 0.0
    }
}

#[cfg(test)]
pub(crate) mod tests {
    use super::*;
    use unladen_vehicle::example_car;

    pub(crate) const OLD: Tank = Tank { x: 2.65, y: 0.1, z: 0.39, length: 0.4, width: 0.7, height: 0.25 };
    pub(crate) const NEW: Tank = Tank { x: 1.95, y: 0.0, z: 0.20, length: 0.5, width: 0.8, height: 0.2 };

    pub(crate) fn tank() -> Relocation {
        let shell = |m, x, z| Some(Part::point(m, x, 0.0, z));
        let piece = |name: &str, before, after, sd| Piece { name: name.into(), change: Change { before, after }, sd };
        let pieces = vec![
            piece("empty tank", shell(8.0, 2.65, 0.5), shell(11.0, 1.95, 0.3), 0.5),
            piece("bulkhead", None, shell(4.0, 1.6, 0.6), 0.0),
        ];
        let fuel = Some(Boxes { old: OLD, new: NEW, density: 750.0, aboard: 0.030 });
        Relocation { pieces, fuel, rows: Vec::new() }
    }

    /// By hand: 56 L are 42 kg. In the old box (0.28 m² of floor) they stand 200 mm deep, in the new one (0.40 m²) 140
    /// mm.
    #[test]
    fn closed_form_the_level_follows_the_box_on_both_sides() {
        let mut car = example_car();
        (car.mass.m, car.mass.a, car.mass.h, car.mass.y_cg) = (1000.0, 1.2, 0.5, 0.0);
        let [old, new] = tank().cars(&car, 0.056, &[]).unwrap().map(|c| c.mass);
        // Dry: 30 L, 22.5 kg, 107.14 mm deep in the old box, come off.
        let dry = 977.5;
        let (dry_x, dry_y) = (1000.0 * 1.2 - 22.5 * 2.65, -22.5 * 0.1);
        let dry_z = 1000.0 * 0.5 - 22.5 * (0.39 + 0.5 * 0.030 / 0.28);
        assert!((old.m - (dry + 42.0)).abs() < 1e-9 && (new.m - (dry + 42.0 + 7.0)).abs() < 1e-9);
        assert!((old.a * old.m - (dry_x + 42.0 * 2.65)).abs() < 1e-9);
        assert!((old.h * old.m - (dry_z + 42.0 * 0.49)).abs() < 1e-9);
        assert!((old.y_cg * old.m - (dry_y + 42.0 * 0.1)).abs() < 1e-9);
        let x = dry_x + 42.0 * 1.95 - 8.0 * 2.65 + 11.0 * 1.95 + 4.0 * 1.6;
        let z = dry_z + 42.0 * 0.27 - 8.0 * 0.5 + 11.0 * 0.3 + 4.0 * 0.6;
        assert!(
            (new.a * new.m - x).abs() < 1e-9
                && (new.h * new.m - z).abs() < 1e-9
                && (new.y_cg * new.m - dry_y).abs() < 1e-9
        );
    }

    /// 20 kg moved by 0.5 m along a car of 1000 kg, whose rest is 980 kg: Δx = 10 mm; the yaw inertia about the CG
    /// changes by m_p m_r/m (d₁² − d₀²), d from the rest's own CG.
    #[test]
    fn closed_form_yaw_inertia_of_a_point() {
        let mut car = example_car();
        (car.mass.m, car.mass.a, car.mass.y_cg, car.chassis.l) = (1000.0, 1.2, 0.0, 2.5);
        let at = |x| Some(Part::point(20.0, x, 0.0, 0.4));
        let change = Change { before: at(2.7), after: at(2.2) };
        let pieces = vec![Piece { name: "battery".into(), change, sd: 0.0 }];
        let it = Relocation { pieces, ..Relocation::default() };
        let [old, new] = it.parts(&car, 0.0, &[]).unwrap();
        let rest = (1000.0 * 1.2 - 20.0 * 2.7) / 980.0;
        let reduced = 20.0 * 980.0 / 1000.0;
        let want = reduced * ((2.2f64 - rest).powi(2) - (2.7f64 - rest).powi(2));
        assert!((new.i_zz.unwrap() - old.i_zz.unwrap() - want).abs() < 1e-8, "{want}");
        assert!((old.i_zz.unwrap() - 1000.0 * 1.2 * 1.3).abs() < 1e-12 && (old.x - new.x - 0.01).abs() < 1e-12);
    }

    #[test]
    fn property_there_and_back_and_nothing_change_no_bit() {
        let mut car = example_car();
        car.mass.y_cg = 0.0061;
        for volume in [0.0, 0.017, 0.030, 0.07] {
            let there_and_back = tank().then(&tank().undone());
            let [old, new] = there_and_back.cars(&car, volume, &[]).unwrap();
            assert_eq!(old, new);
            let nothing = Piece {
                name: "n".into(),
                change: Change { before: None, after: Some(Part::point(0.0, 9.0, 1.0, 1.0)) },
                sd: 0.0,
            };
            let fuel = Some(Boxes { new: OLD, ..tank().fuel.unwrap() });
            let [old, new] =
                Relocation { pieces: vec![nothing], fuel, rows: Vec::new() }.cars(&car, volume, &[]).unwrap();
            assert_eq!(old, new);
        }
        // As it stands, it is the car itself.
        assert_eq!(tank().cars(&car, 0.030, &[]).unwrap()[0], car);
    }

    /// A part that only moves is as heavy here as there, whatever it weighs; one that goes on adds all of its error.
    #[test]
    fn closed_form_what_a_mass_error_moves() {
        let car = example_car();
        let at = |m, x| Some(Part::point(m, x, 0.0, 0.4));
        let one = |before, after| Relocation {
            pieces: vec![Piece { name: "p".into(), change: Change { before, after }, sd: 2.0 }],
            ..Relocation::default()
        };
        let mass = |r: &Relocation, off: f64| r.cars(&car, 0.0, &[off]).unwrap()[1].mass.m - car.mass.m;
        assert!(mass(&one(at(20.0, 2.0), at(20.0, 1.0)), 1.0).abs() < 1e-9);
        assert!((mass(&one(at(20.0, 2.0), at(15.0, 1.0)), 1.0) + 3.0).abs() < 1e-9);
        assert!((mass(&one(at(20.0, 2.0), None), 1.0) + 22.0).abs() < 1e-9);
        assert!((mass(&one(None, at(5.0, 1.0)), -1.0) - 3.0).abs() < 1e-9);
    }

    #[test]
    fn bad_input_what_does_not_go() {
        let car = example_car();
        let full = tank().cars(&car, 0.0705, &[]).unwrap_err();
        assert!(matches!(full, RelocateError::Fuel { which: "old", .. }), "{full}");
        assert!(full.to_string().contains("do not fit"), "{full}");
        let mut small = tank();
        small.fuel = small.fuel.map(|f| Boxes { new: Tank { height: 0.05, ..f.new }, ..f });
        assert!(matches!(small.cars(&car, 0.03, &[]), Err(RelocateError::Fuel { which: "new", .. })));
        let heavy = Change { before: Some(Part::point(5000.0, 1.0, 0.0, 0.4)), after: None };
        let pieces = vec![Piece { name: "all".into(), change: heavy, sd: 0.0 }];
        let all = Relocation { pieces, ..Relocation::default() };
        assert!(matches!(all.cars(&car, 0.0, &[]), Err(RelocateError::Mass(_))));
    }
}
