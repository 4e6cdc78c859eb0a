//! What the ledger says against what the scales say, per axle, and which single change would explain the rest.

use unladen_vehicle::entry::{Entry, Origin, Scale, State};

use crate::ledger::budget::{MassState, own_sd};
use crate::weighing::Known;

/// Ledger, scales and their difference.
#[derive(Clone, Debug, PartialEq)]
pub struct Reconciled {
    /// Total, front axle, rear axle by the ledger, kg.
    pub ledger: [Known; 3],
    /// By the scales.
    pub scales: [Known; 3],
    /// Scales minus ledger, with the standard deviation of the difference.
    pub residual: [Known; 3],
    /// χ² of both axles together, two degrees of freedom.
    pub chi2: f64,
    /// Beyond what both uncertainties let expect (95 %).
    pub beyond: bool,
    /// What would explain it, most likely first.
    pub suspects: Vec<Suspect>,
}

/// A single change that would explain a residual.
#[derive(Clone, Debug, PartialEq)]
pub struct Suspect {
    /// What.
    pub what: What,
    /// By how much, kg (of fuel as well).
    pub kg: f64,
    /// What is left of χ² then, plus what the change itself costs in likelihood: the lower, the likelier.
    pub score: f64,
    /// What is left of χ².
    pub rest: f64,
}

/// What a suspect is.
#[derive(Clone, Debug, PartialEq)]
pub enum What {
    /// A row's mass is another than it says, by that much.
    Row(usize),
    /// A row that is marked done is not in the car.
    NotDone(usize),
    /// A row that is not marked done is in the car.
    DoneAlready(usize),
    /// More (or less) fuel than said.
    Fuel,
    /// A heavier (or lighter) driver than said.
    Driver,
    /// Something at this x, m, that no row speaks of.
    Forgotten {
        /// Behind the front axle, m.
        x: f64,
    },
}

/// Where fuel and driver are, m behind the front axle.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Aboard {
    /// The tank.
    pub tank: Option<f64>,
    /// The seat.
    pub seat: Option<f64>,
}

/// How far these are usually off, kg, one standard deviation, and how unlikely it is that a row is marked wrongly (a
/// twentieth: χ² of 2 ln 20). Common practice, no source.
const FUEL_SD: f64 = 3.0;
const DRIVER_SD: f64 = 2.5;
const FORGOTTEN_SD: f64 = 3.0;
const MARKED_WRONGLY: f64 = 5.99;
/// χ² of two degrees of freedom at 95 %.
const BEYOND: f64 = 5.991;

/// Compares. `ledger` is the standing with the rows `counted` done, `scales` mass and x by the new weighing, both with
/// the same aboard.
pub fn reconcile(
    ledger: &MassState,
    scales: (Known, Known),
    wheelbase: f64,
    entries: &[Entry],
    counted: &[usize],
    part_scales: &[Scale],
    aboard: Aboard,
) -> Reconciled {
    let known = |value: f64, sd: f64| Known { value, sd };
    let of_ledger = axles(known(ledger.part.m, ledger.sd[0]), known(ledger.part.x, ledger.sd[1]), wheelbase);
    let of_scales = axles(scales.0, scales.1, wheelbase);
    let residual = [0, 1, 2].map(|i| {
        let (l, s): (Known, Known) = (of_ledger.0[i], of_scales.0[i]);
        known(s.value - l.value, l.sd.hypot(s.sd))
    });
    let covariance = [0, 1, 2].map(|i| of_ledger.1[i] + of_scales.1[i]);
    let r = [residual[1].value, residual[2].value];
    let chi2 = quadratic(r, covariance);
    let beyond = chi2 > BEYOND;
    let mut suspects = Vec::new();
    if beyond {
        suspects = all(r, covariance, wheelbase, entries, counted, part_scales, aboard);
        suspects.sort_by(|a, b| a.score.total_cmp(&b.score));
    }
    Reconciled { ledger: of_ledger.0, scales: of_scales.0, residual, chi2, beyond, suspects }
}

/// Total, front, rear; and the covariance of the axles: front², rear², front·rear. N_f = m (1 − x/L), N_r = m x/L.
fn axles(m: Known, x: Known, l: f64) -> ([Known; 3], [f64; 3]) {
    let (f, r) = (1.0 - x.value / l, x.value / l);
    let (dm, dx) = (m.sd * m.sd, (m.value / l * x.sd).powi(2));
    let covariance = [f * f * dm + dx, r * r * dm + dx, f * r * dm - dx];
    let axle = |share: f64, variance: f64| Known { value: m.value * share, sd: variance.sqrt() };
    ([m, axle(f, covariance[0]), axle(r, covariance[1])], covariance)
}

/// vᵀ C⁻¹ v of two axles.
fn quadratic(v: [f64; 2], c: [f64; 3]) -> f64 {
    inner(v, v, c)
}

fn inner(a: [f64; 2], b: [f64; 2], [ff, rr, fr]: [f64; 3]) -> f64 {
    // A tiny floor: two exact standings still have a scale's step between them.
    let (ff, rr) = (ff + 1e-6, rr + 1e-6);
    let det = ff * rr - fr * fr;
    (a[0] * (rr * b[0] - fr * b[1]) + a[1] * (ff * b[1] - fr * b[0])) / det
}

fn all(
    r: [f64; 2],
    c: [f64; 3],
    l: f64,
    entries: &[Entry],
    counted: &[usize],
    part_scales: &[Scale],
    aboard: Aboard,
) -> Vec<Suspect> {
    let at = |x: f64, kg: f64| [kg * (1.0 - x / l), kg * x / l];
    let left = |d: [f64; 2]| quadratic([r[0] - d[0], r[1] - d[1]], c);
    // The likeliest amount a of a change with direction d and spread s: a = dᵀC⁻¹r/(dᵀC⁻¹d + 1/s²).
    let free = |what: What, x: f64, s: f64| {
        let d = at(x, 1.0);
        let kg = inner(d, r, c) / (inner(d, d, c) + 1.0 / (s * s));
        let rest = left(at(x, kg));
        Suspect { what, kg, score: rest + (kg / s).powi(2), rest }
    };
    let mut found = Vec::new();
    for &i in counted {
        let e = &entries[i];
        let Some(part) = e.change.after.or(e.change.before) else { continue };
        if e.origin != Origin::Weighed {
            // What was promised may be off by more than it says.
            let s = (2.0 * own_sd(e, part_scales)).max(0.1 * part.m);
            found.push(free(What::Row(i), part.x, s));
        }
    }
    for (i, e) in entries.iter().enumerate() {
        let marked = counted.contains(&i);
        // Done before the weighing; or what can't be in the car as it is marked.
        let there = |j: &usize| entries[*j].state == State::Done;
        if !marked && (there(&i) || e.excludes.iter().any(there) || !e.needs.iter().all(|need| need.iter().any(there)))
        {
            continue;
        }
        let sign = if marked { -1.0 } else { 1.0 };
        let mut d = [0.0; 2];
        for (part, s) in [(e.change.before, -sign), (e.change.after, sign)] {
            if let Some(p) = part {
                let axle = at(p.x, s * p.m);
                d = [d[0] + axle[0], d[1] + axle[1]];
            }
        }
        let what = if marked { What::NotDone(i) } else { What::DoneAlready(i) };
        let rest = left(d);
        let idea = if e.state == State::Idea { 2.0 } else { 0.0 };
        found.push(Suspect { what, kg: sign * e.change.mass(), score: rest + MARKED_WRONGLY + idea, rest });
    }
    found.extend(aboard.tank.map(|x| free(What::Fuel, x, FUEL_SD)));
    found.extend(aboard.seat.map(|x| free(What::Driver, x, DRIVER_SD)));
    let total = r[0] + r[1];
    if total > 0.0 {
        let x = l * r[1] / total;
        if (-0.9..=l + 0.9).contains(&x) {
            let score = (total / FORGOTTEN_SD).powi(2) + 2.0;
            found.push(Suspect { what: What::Forgotten { x }, kg: total, score, rest: 0.0 });
        }
    }
    found
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::ledger::budget::Base;
    use crate::ledger::selection::tests::entry;
    use unladen_vehicle::change::Change;
    use unladen_vehicle::mass::Part;

    const L: f64 = 2.5;

    fn known(value: f64, sd: f64) -> Known {
        Known { value, sd }
    }

    fn base() -> Base {
        let car = Part { m: 1200.0, x: 1.1, y: 0.0, z: 0.5, i_zz: Some(0.0) };
        Base { car, sd: [0.5, 0.001, 0.0, 0.0], wheelbase: L, track: [1.5; 2], chi: 0.5, corners: None }
    }

    fn row(item: &str, kg: f64, x: f64, origin: Origin) -> Entry {
        let part = Some(Part::point(kg.abs(), x, 0.0, 0.5));
        let change = if kg < 0.0 { Change { before: part, after: None } } else { Change { before: None, after: part } };
        Entry { change, origin, ..entry(item, State::Done, kg) }
    }

    /// Rows done, one of them wrongly by what `truth` does to the car; who is suspected first?
    fn suspect(truth: impl Fn(Part) -> Part) -> Reconciled {
        let rows = [
            row("bonnet", -10.0, -0.4, Origin::Quoted),
            row("exhaust", -12.0, 2.4, Origin::Weighed),
            row("seat", -14.0, 1.4, Origin::Weighed),
        ];
        let refs: Vec<&Entry> = rows.iter().collect();
        let ledger = base().with(&refs, &[]).unwrap();
        let car = truth(ledger.part);
        let aboard = Aboard { tank: Some(2.3), seat: Some(1.3) };
        reconcile(&ledger, (known(car.m, 0.5), known(car.x, 0.001)), L, &rows, &[0, 1, 2], &[], aboard)
    }

    #[test]
    fn closed_form_each_cause_is_found_first() {
        let with = |kg: f64, x: f64| move |p: Part| p.with(Part { m: kg, x, y: 0.0, z: 0.5, i_zz: None });
        assert!(!suspect(|p| p).beyond && suspect(|p| p).suspects.is_empty());
        assert_eq!(suspect(with(14.0, 1.4)).suspects[0].what, What::NotDone(2));
        assert_eq!(suspect(with(12.0, 2.4)).suspects[0].what, What::NotDone(1));
        let fuel = suspect(with(4.5, 2.3)).suspects;
        assert_eq!(fuel[0].what, What::Fuel, "{fuel:?}");
        let quoted = suspect(with(4.0, -0.4)).suspects;
        assert!(quoted[0].what == What::Row(0) && (quoted[0].kg - 4.0).abs() < 1.0, "{quoted:?}");
    }

    #[test]
    fn closed_form_axles_of_the_residual() {
        let r = suspect(|p| p.with(Part { m: 5.0, x: 2.5, y: 0.0, z: 0.5, i_zz: None }));
        assert!((r.residual[0].value - 5.0).abs() < 1e-9 && r.residual[1].value.abs() < 1e-9);
        assert!((r.residual[2].value - 5.0).abs() < 1e-9 && r.beyond);
        // Exact numbers do not divide by nothing.
        let zero = axles(known(1000.0, 0.0), known(1.0, 0.0), L).1;
        assert!(quadratic([1.0, 1.0], zero).is_finite());
    }
}
