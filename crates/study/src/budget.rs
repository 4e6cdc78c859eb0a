//! Where a car stands: its mass and CG from the last weighing and the rows of its ledger, and how well they are known.

use unladen_vehicle::change::{Change, all_on};
use unladen_vehicle::entry::{Entry, Origin, Scale};
use unladen_vehicle::mass::{MassError, Part};

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
pub struct Standing {
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

/// Where a standing's uncertainty comes from.
#[derive(Clone, Debug, PartialEq)]
pub enum Blame {
    /// The weighing.
    Weighing,
    /// The rows' own masses: independent of each other.
    Rows(Origin),
    /// A scale's bias: the same for all that was weighed on it.
    Scale(String),
}

/// What a row's mass may be off by where the row says nothing, as a share of it. Assumed: no source.
pub const ASSUMED: [(Origin, f64); 3] = [(Origin::Weighed, 0.02), (Origin::Quoted, 0.10), (Origin::Guessed, 0.30)];

/// One independent error: what one standard deviation of it does to mass and first moments about the CG, kg, kg m.
struct Cause {
    blame: Blame,
    dm: f64,
    moment: [f64; 3],
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
    pub fn with(&self, entries: &[&Entry], scales: &[Scale]) -> Result<Standing, MassError> {
        let changes: Vec<_> = entries.iter().map(|e| e.change).collect();
        let part = all_on(self.car, &changes)?;
        let causes = self.causes(&part, entries, scales);
        let corners = self.corners.map(|c| self.moved(c, &changes));
        let sum = |c: [f64; 4]| c.iter().sum::<f64>();
        Ok(Standing {
            sd: spread(&part, &causes),
            front_share: 1.0 - part.x / self.wheelbase,
            left_share: 0.5 - part.y / self.mean_track(part.x),
            cross_share: corners.map(|c| (c[1] + c[2]) / sum(c)),
            corners,
            rotating_inertia: entries.iter().map(|e| e.rotating_inertia).sum::<f64>() + 0.0,
            part,
        })
    }

    /// The share of the variance of mass, x, y and height that each cause has, largest of the mass first.
    pub fn blame(&self, entries: &[&Entry], scales: &[Scale]) -> Vec<(Blame, [f64; 4])> {
        let changes: Vec<_> = entries.iter().map(|e| e.change).collect();
        let Ok(part) = all_on(self.car, &changes) else { return Vec::new() };
        let causes = self.causes(&part, entries, scales);
        let total = spread(&part, &causes);
        let mut kinds: Vec<Blame> = Vec::new();
        for cause in &causes {
            if !kinds.contains(&cause.blame) {
                kinds.push(cause.blame.clone());
            }
        }
        let share = |kind: &Blame| {
            let own: Vec<&Cause> = causes.iter().filter(|c| c.blame == *kind).collect();
            let sd = spread(&part, own);
            [0, 1, 2, 3].map(|i| if total[i] > 0.0 { (sd[i] / total[i]).powi(2) } else { 0.0 })
        };
        let mut all: Vec<_> = kinds.iter().map(|k| (k.clone(), share(k))).collect();
        all.sort_by(|a, b| b.1[0].total_cmp(&a.1[0]));
        all
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

    fn causes(&self, part: &Part, entries: &[&Entry], scales: &[Scale]) -> Vec<Cause> {
        let arm = |p: &Part| [p.x - part.x, p.y - part.y, p.z - part.z];
        let at = |p: Option<Part>, kg: f64| p.map_or([0.0; 3], |p| arm(&p).map(|r| r * kg));
        let [sd_m, sd_x, sd_y, sd_z] = self.sd;
        let m = self.car.m;
        let mut causes = vec![Cause { blame: Blame::Weighing, dm: sd_m, moment: arm(&self.car).map(|r| r * sd_m) }];
        for (i, sd) in [sd_x, sd_y, sd_z].into_iter().enumerate() {
            let mut moment = [0.0; 3];
            moment[i] = m * sd;
            causes.push(Cause { blame: Blame::Weighing, dm: 0.0, moment });
        }
        for entry in entries {
            let (b, a) = (entry.change.before, entry.change.after);
            let blame = Blame::Rows(entry.origin);
            let sd = own_sd(entry, scales);
            if b.zip(a).is_some_and(|(b, a)| (b.m - a.m).abs() < 1e-9) {
                // Moved: off by as much here as there.
                let (off, on) = (at(b, -sd), at(a, sd));
                causes.push(Cause { blame, dm: 0.0, moment: [0, 1, 2].map(|i| off[i] + on[i]) });
            } else {
                // Of a swap the error is that of the difference, where the new part is.
                let (sign, place) = if a.is_some() { (1.0, a) } else { (-1.0, b) };
                causes.push(Cause { blame, dm: sign * sd, moment: at(place, sign * sd) });
            }
        }
        for scale in scales {
            let on: Vec<&&Entry> = entries.iter().filter(|e| weighed_on(e, scale)).collect();
            if on.is_empty() {
                continue;
            }
            let mut cause = |of: &dyn Fn(&Part) -> f64| {
                let (mut dm, mut moment) = (0.0, [0.0; 3]);
                for entry in &on {
                    for (part, sign) in [(entry.change.before, -1.0), (entry.change.after, 1.0)] {
                        let Some(p) = part else { continue };
                        dm += sign * of(&p);
                        let r = at(part, sign * of(&p));
                        moment = [0, 1, 2].map(|i| moment[i] + r[i]);
                    }
                }
                causes.push(Cause { blame: Blame::Scale(scale.name.clone()), dm, moment });
            };
            cause(&|_| scale.bias);
            cause(&|p| scale.gain * p.m);
        }
        causes
    }
}

fn weighed_on(entry: &Entry, scale: &Scale) -> bool {
    entry.origin == Origin::Weighed && entry.scale.as_ref() == Some(&scale.name)
}

/// A row's own standard deviation, kg: as given; or the step of its scale (uniform: step/√12, before and after apart); or
/// what is [`ASSUMED`].
pub fn own_sd(entry: &Entry, scales: &[Scale]) -> f64 {
    if let Some(sd) = entry.sd {
        return sd;
    }
    let masses = [entry.change.before, entry.change.after].into_iter().flatten().map(|p| p.m);
    if let Some(scale) = scales.iter().find(|s| weighed_on(entry, s)) {
        return scale.resolution / 12f64.sqrt() * (masses.count() as f64).sqrt();
    }
    let share = ASSUMED.iter().find(|(o, _)| *o == entry.origin).map_or(0.3, |(_, share)| *share);
    let moved = entry.change.before.zip(entry.change.after).is_some_and(|(b, a)| (b.m - a.m).abs() < 1e-9);
    if moved {
        share * entry.change.after.map_or(0.0, |p| p.m)
    } else {
        share * masses.map(|m| m * m).sum::<f64>().sqrt()
    }
}

/// Standard deviations of mass, x, y and height: dm, and (moment about the CG)/M; independent causes add as squares.
fn spread<'a>(part: &Part, causes: impl IntoIterator<Item = &'a Cause>) -> [f64; 4] {
    let mut variance = [0.0; 4];
    for c in causes {
        let d = [c.dm, c.moment[0] / part.m, c.moment[1] / part.m, c.moment[2] / part.m];
        variance = [0, 1, 2, 3].map(|i| variance[i] + d[i] * d[i]);
    }
    variance.map(f64::sqrt)
}

/// What some rows change together.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Tally {
    /// How many rows.
    pub rows: usize,
    /// Change of mass, kg.
    pub change: f64,
    /// Its standard deviation, kg, biases of scales shared.
    pub sd: f64,
    /// Money, of the rows that state any.
    pub cost: f64,
    /// Hours, likewise.
    pub hours: f64,
    /// Rows without a cost.
    pub unpriced: usize,
    /// Rows without hours.
    pub untimed: usize,
}

/// Adds rows up.
pub fn tally(entries: &[&Entry], scales: &[Scale]) -> Tally {
    // About a car without mass and errors of its own only the rows' errors are left.
    let car = Part::point(1e6, 0.0, 0.0, 0.0);
    let base = Base { car, sd: [0.0; 4], wheelbase: 1.0, track: [1.0; 2], chi: 0.5, corners: None };
    let causes = base.causes(&car, entries, scales);
    Tally {
        rows: entries.len(),
        // An empty sum is −0.
        change: entries.iter().map(|e| e.change.mass()).sum::<f64>() + 0.0,
        sd: spread(&car, &causes)[0],
        cost: entries.iter().filter_map(|e| e.cost).sum::<f64>() + 0.0,
        hours: entries.iter().filter_map(|e| e.hours).sum::<f64>() + 0.0,
        unpriced: entries.iter().filter(|e| e.cost.is_none()).count(),
        untimed: entries.iter().filter(|e| e.hours.is_none()).count(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::choose::tests::entry;
    use proptest::prelude::*;
    use unladen_vehicle::entry::State;

    fn base() -> Base {
        let car = Part { m: 1284.0, x: 1.13, y: 0.006, z: 0.492, i_zz: Some(0.0) };
        let corners = Some([361.0, 358.0, 285.0, 280.0]);
        Base { car, sd: [2.0, 0.005, 0.005, 0.015], wheelbase: 2.57, track: [1.505, 1.5], chi: 0.58, corners }
    }

    fn on_scale(kg: f64) -> Entry {
        Entry { scale: Some("bench".into()), ..entry("x", State::Done, kg) }
    }

    fn bench() -> [Scale; 1] {
        [Scale { name: "bench".into(), resolution: 0.1, bias: 0.05, gain: 0.0 }]
    }

    /// Ten parts weighed on one scale: steps add as squares, its bias adds up ten-fold. A part swapped for another of the
    /// same scale is free of it.
    #[test]
    fn closed_form_a_bias_is_shared_and_guesses_are_not() {
        let rows: Vec<Entry> = (0..10).map(|_| on_scale(-5.0)).collect();
        let sd = tally(&rows.iter().collect::<Vec<_>>(), &bench()).sd;
        let step = 0.1 / 12f64.sqrt() * 10f64.sqrt();
        assert!((sd - (step * step + 0.25).sqrt()).abs() < 1e-12, "{sd}");
        let (a, b) = (Part::point(9.0, 1.0, 0.0, 0.5), Part::point(5.0, 1.0, 0.0, 0.5));
        let swap = Entry { change: Change { before: Some(a), after: Some(b) }, ..on_scale(-1.0) };
        assert!((tally(&[&swap], &bench()).sd - 0.1 / 12f64.sqrt() * 2f64.sqrt()).abs() < 1e-12);
        let guess = |kg| Entry { origin: Origin::Guessed, ..entry("g", State::Done, kg) };
        let (g, h) = (guess(-3.0), guess(4.0));
        assert!((tally(&[&g, &h], &[]).sd - 0.3 * 5.0).abs() < 1e-12);
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

    /// Errors drawn at random (a fixed sequence) scatter as stated: 20 000 draws, 5 % (sampling error of an sd 0.5 %).
    #[test]
    fn independent_monte_carlo_of_the_stated_spread() {
        let mut seed = 7u64;
        let mut uniform = move || {
            seed = seed.wrapping_mul(6364136223846793005).wrapping_add(1442695040888963407);
            (seed >> 11) as f64 / (1u64 << 53) as f64
        };
        let mut normal = move || (0..12).map(|_| uniform()).sum::<f64>() - 6.0;
        let rows = [on_scale(-5.0), on_scale(-12.0), Entry { sd: Some(1.0), ..entry("q", State::Done, 7.0) }];
        let rows: Vec<&Entry> = rows.iter().collect();
        let mut base = base();
        base.corners = None;
        let stated = base.with(&rows, &bench()).unwrap();
        let n = 20_000;
        let (mut m2, mut x2) = (0.0, 0.0);
        for _ in 0..n {
            let bias = 0.05 * normal();
            let mut car = base.car;
            car.m += base.sd[0] * normal();
            car.x += base.sd[1] * normal();
            let off = |e: &Entry, d: f64| {
                let grow = |p: Option<Part>| p.map(|p| Part { m: p.m + d, ..p });
                Change { before: grow(e.change.before), after: grow(e.change.after) }
            };
            let step = 0.1 / 12f64.sqrt();
            let changes =
                [off(rows[0], bias + step * normal()), off(rows[1], bias + step * normal()), off(rows[2], normal())];
            let got = all_on(car, &changes).unwrap();
            m2 += (got.m - stated.part.m).powi(2);
            x2 += (got.x - stated.part.x).powi(2);
        }
        let sd = |sum: f64| (sum / f64::from(n)).sqrt();
        assert!((sd(m2) / stated.sd[0] - 1.0).abs() < 0.05, "{} {}", sd(m2), stated.sd[0]);
        assert!((sd(x2) / stated.sd[1] - 1.0).abs() < 0.05, "{} {}", sd(x2), stated.sd[1]);
    }
}
