//! How well a budget is known: independent errors of the rows, and the biases that all rows of one scale share.

use unladen_vehicle::change::all_on;
use unladen_vehicle::entry::{Entry, Origin, Scale};
use unladen_vehicle::mass::Part;

use super::Base;

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
pub(super) struct Cause {
    blame: Blame,
    dm: f64,
    moment: [f64; 3],
}

impl Base {
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

    pub(super) fn causes(&self, part: &Part, entries: &[&Entry], scales: &[Scale]) -> Vec<Cause> {
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

/// A row's own standard deviation, kg: as given; or the step of its scale (uniform: step/√12, before and after apart);
/// or what is [`ASSUMED`].
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
pub(super) fn spread<'a>(part: &Part, causes: impl IntoIterator<Item = &'a Cause>) -> [f64; 4] {
    let mut variance = [0.0; 4];
    for c in causes {
        let d = [c.dm, c.moment[0] / part.m, c.moment[1] / part.m, c.moment[2] / part.m];
        variance = [0, 1, 2, 3].map(|i| variance[i] + d[i] * d[i]);
    }
    variance.map(f64::sqrt)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::ledger::budget::tally;
    use crate::ledger::budget::tests::{base, bench, on_scale};
    use crate::ledger::selection::tests::entry;
    use unladen_vehicle::change::Change;
    use unladen_vehicle::entry::State;

    /// Ten parts weighed on one scale: steps add as squares, its bias adds up ten-fold. A part swapped for another of
    /// the same scale is free of it.
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
