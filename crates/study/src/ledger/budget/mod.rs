//! Where a car stands: its mass and CG from the last weighing and the rows of its ledger, and how well they are known.

mod doubt;
mod tally;

use unladen_vehicle::change::{Change, all_on};
use unladen_vehicle::entry::{Entry, Scale};
use unladen_vehicle::mass::{MassError, Part};

use doubt::spread;

pub use doubt::{ASSUMED, Blame, own_sd};
pub use tally::{Tally, tally};

/// The car that a budget starts from, and what a position in it means.
#[derive(Clone, Debug, PartialEq)]
pub struct Base {
    /// As weighed, with the fuel and driver that the budget is stated for; its inertia counted from zero.
    pub car: Part,
    /// Standard deviations of mass, x, y and height of the weighing, kg, m.
    pub sd: [f64; 4],
    /// m.
    pub wheelbase: f64,
    /// Front, rear, m.
    pub track: [f64; 2],
    /// χ: front share of the elastic roll stiffness.
    pub chi: f64,
    /// Front left, front right, rear left, rear right, kg, with the same aboard.
    pub corners: Option<[f64; 4]>,
}

/// Mass properties with some rows done.
#[derive(Clone, Debug, PartialEq)]
pub struct MassState {
    /// Mass, CG, and in place of the yaw inertia its change since the weighing.
    pub part: Part,
    /// Standard deviations of mass, x, y and height, kg, m.
    pub sd: [f64; 4],
    /// Share of the weight on the front axle.
    pub front_share: f64,
    /// Share of the weight on the left wheels, by the mean track where the two differ.
    pub left_share: f64,
    /// Share on front right and rear left, where corner weights are known.
    pub cross_share: Option<f64>,
    /// Corner weights, kg, front left, front right, rear left, rear right.
    pub corners: Option<[f64; 4]>,
    /// Change of the inertia of what turns, kg m².
    pub rotating_inertia: f64,
}

impl Base {
    /// The same car with something else aboard.
    ///
    /// # Errors
    /// [`MassError`] where what comes off outweighs the car.
    pub fn carrying(&self, changes: &[Change]) -> Result<Self, MassError> {
        let car = Part { i_zz: Some(0.0), ..all_on(self.car, changes)? };
        Ok(Self { car, corners: self.corners.map(|c| self.moved(c, changes)), ..self.clone() })
    }

    /// The car with these rows done.
    ///
    /// # Errors
    /// [`MassError`] where what comes off outweighs the car.
    pub fn with(&self, entries: &[&Entry], scales: &[Scale]) -> Result<MassState, MassError> {
        let changes: Vec<_> = entries.iter().map(|e| e.change).collect();
        let part = all_on(self.car, &changes)?;
        let causes = self.causes(&part, entries, scales);
        let corners = self.corners.map(|c| self.moved(c, &changes));
        let sum = |c: [f64; 4]| c.iter().sum::<f64>();
        Ok(MassState {
            sd: spread(&part, &causes),
            front_share: 1.0 - part.x / self.wheelbase,
            left_share: 0.5 - part.y / self.mean_track(part.x),
            cross_share: corners.map(|c| (c[1] + c[2]) / sum(c)),
            corners,
            rotating_inertia: entries.iter().map(|e| e.rotating_inertia).sum::<f64>() + 0.0,
            part,
        })
    }

    /// The track at this x, linear between the axles.
    fn mean_track(&self, x: f64) -> f64 {
        self.track[0] + (self.track[1] - self.track[0]) * x / self.wheelbase
    }

    /// Corner weights after the rows: a part at x, y puts (1 − x/L) of its weight on the front axle, and its moment m y
    /// is taken by the axles as they share roll stiffness, χ and 1 − χ. Springs as they are; no ride-height adjustment.
    fn moved(&self, corners: [f64; 4], changes: &[Change]) -> [f64; 4] {
        let parts = changes.iter().flat_map(|change| {
            let signed = |part: Option<Part>, sign: f64| part.map(|p| (sign * p.m, p));
            signed(change.before, -1.0).into_iter().chain(signed(change.after, 1.0))
        });
        parts.fold(corners, |c, (m, p)| {
            let (rear, moment) = (m * p.x / self.wheelbase, m * p.y);
            let (front, roll_f) = (m - rear, self.chi * moment / self.track[0]);
            let roll_r = (1.0 - self.chi) * moment / self.track[1];
            [
                c[0] + 0.5 * front - roll_f,
                c[1] + 0.5 * front + roll_f,
                c[2] + 0.5 * rear - roll_r,
                c[3] + 0.5 * rear + roll_r,
            ]
        })
    }
}

#[cfg(test)]
pub(crate) mod tests {
    use super::*;
    use crate::ledger::selection::tests::entry;
    use proptest::prelude::*;
    use unladen_vehicle::entry::{Origin, State};

    pub(crate) fn base() -> Base {
        let car = Part { m: 1284.0, x: 1.13, y: 0.006, z: 0.492, i_zz: Some(0.0) };
        let corners = Some([361.0, 358.0, 285.0, 280.0]);
        Base { car, sd: [2.0, 0.005, 0.005, 0.015], wheelbase: 2.57, track: [1.505, 1.5], chi: 0.58, corners }
    }

    pub(crate) fn on_scale(kg: f64) -> Entry {
        Entry { scale: Some("bench".into()), ..entry("x", State::Done, kg) }
    }

    pub(crate) fn bench() -> [Scale; 1] {
        [Scale { name: "bench".into(), resolution: 0.1, bias: 0.05, gain: 0.0 }]
    }

    /// A part moved by d shifts the CG by m d/M; its uncertain mass leaves the car's mass alone.
    #[test]
    fn closed_form_a_part_that_is_moved() {
        let (from, to) = (Part::point(16.0, 0.2, -0.4, 0.7), Part::point(16.0, 2.9, 0.3, 0.35));
        let change = Change { before: Some(from), after: Some(to) };
        let row = Entry { change, sd: Some(0.5), ..entry("battery", State::Planned, 1.0) };
        let exact = Base { sd: [0.0; 4], ..base() };
        let s = exact.with(&[&row], &[]).unwrap();
        assert!((s.part.x - (1.13 + 16.0 * 2.7 / 1284.0)).abs() < 1e-12);
        assert!(
            s.sd[0] == 0.0
                && (s.sd[1] - 0.5 * 2.7 / 1284.0).abs() < 1e-12
                && (s.sd[3] - 0.5 * 0.35 / 1284.0).abs() < 1e-12
        );
        assert_eq!(exact.blame(&[&row], &[]).iter().find(|b| b.0 == Blame::Rows(Origin::Weighed)).unwrap().1[1], 1.0);
    }

    proptest! {
        /// Corner weights keep the sums: the total, the front axle by x, the left side's moment by y.
        #[test]
        fn property_corners_close(parts in proptest::collection::vec((-20.0..20.0f64, -0.5..3.0f64, -0.7..0.7f64), 1..20)) {
            let row = |&(kg, x, y): &(f64, f64, f64)| {
                let part = Some(Part::point(kg.abs().max(0.01), x, y, 0.4));
                let change = if kg < 0.0 { Change { before: part, after: None } } else { Change { before: None, after: part } };
                Entry { change, ..entry("r", State::Done, 1.0) }
            };
            let rows: Vec<Entry> = parts.iter().map(row).collect();
            let rows: Vec<&Entry> = rows.iter().collect();
            let base = base();
            let (c0, c) = (base.corners.unwrap(), base.with(&rows, &[]).unwrap().corners.unwrap());
            let moment = |c: [f64; 4]| 0.5 * (base.track[0] * (c[1] - c[0]) + base.track[1] * (c[3] - c[2]));
            let (mut dm, mut dx, mut dy) = (0.0, 0.0, 0.0);
            for e in &rows {
                for (p, s) in [(e.change.before, -1.0), (e.change.after, 1.0)] {
                    if let Some(p) = p {
                        dm += s * p.m;
                        dx += s * p.m * p.x;
                        dy += s * p.m * p.y;
                    }
                }
            }
            let sum = |c: [f64; 4]| c.iter().sum::<f64>();
            prop_assert!((sum(c) - sum(c0) - dm).abs() < 1e-9);
            prop_assert!((base.wheelbase * (c[2] + c[3] - c0[2] - c0[3]) - dx).abs() < 1e-9);
            prop_assert!((moment(c) - moment(c0) - dy).abs() < 1e-9);
        }
    }
}
