//! The forward pass: as hard as grip, engine and gears allow, under K(s); gears change where they change, in mid-cell.

use unladen_vehicle::Model;

use crate::backward::brake::Braking;
use crate::forward::cell::Pass;
use crate::forward::events::Events;
use crate::forward::profile::{Gears, Profile, Regime, State, Stop};
use crate::set::pull::best_mode;
use crate::step::arc::Tracer;
use crate::step::mesh::Mesh;

/// Room for steps, more than most laps need: an allocator that has seen one large block freed keeps what the next lap
/// needs instead of handing it back to the system and fetching it again, which took a tenth of a lap.
const ROOM: usize = 4096;

/// Run the pass under K.
pub fn drive(mesh: &Mesh, model: &Model, k: &Braking) -> Result<Profile, Stop> {
    let n = mesh.cells.len();
    let mut pass = Pass {
        mesh,
        model,
        k,
        events: Events { mesh, model, k },
        tracer: Tracer::new(mesh, model, 1.0),
        regime: Regime::Grip,
        goes_on: false,
        steps: Vec::with_capacity((n + n / 4).max(ROOM)),
        pieces: Vec::with_capacity(n + n / 2),
    };
    let first = if mesh.closed { (0..n).min_by(|&i, &j| k.k[i].total_cmp(&k.k[j])).unwrap_or(0) } else { 0 };
    let x = if mesh.closed { k.k[first] } else { mesh.x_start };
    if x > k.k[first] * (1.0 + 1e-12) {
        return Err(Stop::StartTooFast { x_max: k.k[first] });
    }
    let road = &mesh.cells[first].backward[2];
    let gears = Gears::In { mode: best_mode(model, road, x), kept: None };
    let mut state = State { x, on_k: x >= k.k[first], gears };
    let mut within = vec![0..0; n];
    let mut states = vec![state; n + 1];
    let laps = if mesh.closed { 40 } else { 1 };
    let mut settled = !mesh.closed;
    for count in 0..laps * n {
        let i = (first + count) % n;
        states[i] = state;
        let begin = pass.pieces.len();
        state = pass.cell(i, state).map_err(|s| match s {
            Stop::Stalls { cell, .. } => Stop::Stalls { cell, at_start: count == 0 && x == 0.0 },
            other => other,
        })?;
        within[i] = begin..pass.pieces.len();
        let next = (i + 1) % n;
        if mesh.closed && count + 1 >= n && same(&state, &states[next]) {
            settled = true;
            break;
        }
        if !mesh.closed {
            states[i + 1] = state;
        }
    }
    if mesh.closed {
        states[n] = states[0];
    }
    Ok(Profile { steps: pass.steps, pieces: pass.pieces, within, states, first, unsettled: !settled })
}

fn same(a: &State, b: &State) -> bool {
    let gears = match (a.gears, b.gears) {
        _ if a.on_k && b.on_k => true,
        (Gears::Braking, Gears::Braking) => true,
        (Gears::In { mode: m, kept: p }, Gears::In { mode: n, kept: q }) => {
            m == n && (p.is_none() == q.is_none()) && (p.unwrap_or(0.0) - q.unwrap_or(0.0)).abs() <= 1e-9
        }
        (Gears::Shifting { to: m, elapsed: p, .. }, Gears::Shifting { to: n, elapsed: q, .. }) => {
            m == n && (p - q).abs() < 1e-12
        }
        _ => false,
    };
    gears && a.on_k == b.on_k && (a.x - b.x).abs() <= 1e-13 * a.x
}
