//! Derivatives of a lap: with dual numbers for few of the car's numbers and where along the lap they come from; on a tape,
//! of which one run backwards gives those of the lap time, for all numbers at once.

use unladen_vehicle::car::OnDay;
use unladen_vehicle::tape::{Tape, Var};
use unladen_vehicle::{Dual, Model, Number, Scalar};

use crate::slopes::replay::{Replay, Roots};
use crate::solved::lap::Solved;
use crate::step::mesh::Mesh;

/// Lanes of a replay: one for roots, and the four numbers that place a mass.
const LANES: usize = 5;

/// ∂t/∂(number) at every station, for each number asked for: SI of the number, s. The last entry is ∂T.
pub fn derivatives(mesh: &Mesh, on: &OnDay, solved: &Solved, numbers: &[Number]) -> Vec<Vec<f64>> {
    let mut out = vec![];
    for chunk in numbers.chunks(LANES - 1) {
        let mut dual: OnDay<Dual<LANES>> = on.map(Dual::from);
        for (lane, &number) in chunk.iter().enumerate() {
            if let Some(place) = dual.number_mut(number) {
                place.d[lane + 1] = 1.0;
            }
        }
        let t = Replay { mesh, model: &Model::new(&dual.car, dual.day), solved, roots: &Lanes }.run(&mut |_| {});
        for lane in 1..=chunk.len() {
            out.push(t.iter().map(|t| t.d[lane]).collect());
        }
    }
    out
}

/// ∂T/∂(number) for all of the car's numbers, in parts that add up to it: what each segment's own cells have to do with
/// it; `None` for a circuit whose profile K pins nowhere, on which it settles only from lap to lap. `tape` is wiped first.
pub fn gradient(
    tape: &mut Tape,
    mesh: &Mesh,
    on: &OnDay,
    solved: &Solved,
    numbers: &[Number],
) -> Option<Vec<Vec<f64>>> {
    if mesh.closed && !solved.profile.states[solved.profile.first].on_k {
        return None;
    }
    tape.clear();
    let tape = &*tape;
    let mut on: OnDay<Var> = on.map(Var::from);
    for &number in numbers {
        if let Some(place) = on.number_mut(number) {
            *place = tape.variable(place.value());
        }
    }
    let model = Model::new(&on.car, on.day);
    let (mut begins, mut segments) = (vec![], vec![]);
    let t = Replay { mesh, model: &model, solved, roots: &tape }.run(&mut |cell| {
        let segment = mesh.cells[cell].segment;
        if segments.last() != Some(&segment) {
            begins.push(tape.len());
            segments.push(segment);
        }
    });
    let parts = tape.derivatives(*t.last()?, numbers.len(), &begins);
    let count = segments.iter().max().map_or(0, |most| most + 1);
    let mut by_segment = vec![vec![0.0; count]; numbers.len()];
    for (part, segment) in parts.into_iter().zip(segments) {
        for (number, d) in by_segment.iter_mut().zip(part) {
            number[segment] += d;
        }
    }
    Some(by_segment)
}

/// ∂T/∂(number) for each number asked for, by whatever is quicker.
pub fn totals(mesh: &Mesh, on: &OnDay, solved: &Solved, numbers: &[Number]) -> Vec<f64> {
    let few = numbers.len() <= 4 * (LANES - 1);
    let by_tape = if few { None } else { gradient(&mut Tape::default(), mesh, on, solved, numbers) };
    match by_tape {
        Some(parts) => parts.iter().map(|parts| parts.iter().sum()).collect(),
        None => derivatives(mesh, on, solved, numbers).iter().map(|t| t.last().copied().unwrap_or(0.0)).collect(),
    }
}

/// Roots of dual numbers: lane 0 belongs to the unknown of whatever equation is being differentiated, the lanes after it to
/// the numbers asked for.
struct Lanes;

impl<const N: usize> Roots<Dual<N>> for Lanes {
    fn root(&self, z: f64, f: impl FnOnce(Dual<N>) -> Dual<N>) -> Dual<N> {
        let r = f(Dual::variable(z, 0));
        let d = std::array::from_fn(|i| if i == 0 || r.d[0] == 0.0 { 0.0 } else { -r.d[i] / r.d[0] });
        Dual { v: z, d }
    }

    fn outer(&self, z: f64, f: impl Fn(Dual<N>) -> Dual<N>) -> Dual<N> {
        // Lane 0 is the inner roots'. The slope over z: what a derivative of 1 given to it adds in one of the others.
        let still = f(Dual::from(z));
        let rate = f(Dual::variable(z, 1)).d[1] - still.d[1];
        let d = std::array::from_fn(|i| if i == 0 { 0.0 } else { -still.d[i] / rate });
        Dual { v: z, d }
    }

    fn settled(&self, before: Dual<N>, after: Dual<N>) -> bool {
        let moved = (0..N).map(|i| (after.d[i] - before.d[i]).abs()).fold(0.0, f64::max);
        moved <= 1e-12 * after.d.iter().fold(0.0, |most, d| f64::max(most, d.abs()))
    }
}

impl<'t> Roots<Var<'t>> for &'t Tape {
    fn root(&self, z: f64, f: impl FnOnce(Var<'t>) -> Var<'t>) -> Var<'t> {
        Tape::root(self, z, f)
    }

    fn outer(&self, z: f64, f: impl Fn(Var<'t>) -> Var<'t>) -> Var<'t> {
        self.outer_root(z, f)
    }

    fn settled(&self, _: Var<'t>, _: Var<'t>) -> bool {
        true
    }
}
