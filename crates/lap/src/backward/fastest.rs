//! How fast a car can be at each station at most, as far as simple bounds tell: K above that is of no account, and most of
//! K is (it matters where the car brakes or stands on its ceiling).

use unladen_vehicle::Model;

use crate::step::arc::slope_per_a;
use crate::step::mesh::Mesh;

/// Room for the bounds' own steps and for rounding, relative.
const ROOM: f64 = 0.01;

/// An X at each station that no profile exceeds.
pub fn most_x(mesh: &Mesh, model: &Model, x_limit: f64) -> Vec<f64> {
    let n = mesh.cells.len();
    let bounds = model.bounds();
    let holds = |station: usize| {
        let after = mesh.cells.get(station % n).filter(|_| mesh.closed || station < n);
        let before = (station > 0 || mesh.closed).then(|| &mesh.cells[(station + n - 1) % n]);
        let sides = [after.map(|c| &c.backward[2]), before.map(|c| &c.forward[2])];
        sides.into_iter().flatten().map(|road| model.most_x(&bounds, road)).fold(x_limit, f64::min)
    };
    let mut most: Vec<f64> = (0..=n).map(holds).collect();
    let slowest = (0..n).min_by(|&i, &j| most[i].total_cmp(&most[j])).unwrap_or(0);
    let first = if mesh.closed { slowest } else { 0 };
    if !mesh.closed {
        most[0] = most[0].min(mesh.x_start);
    }
    for count in 0..n {
        let i = (first + count) % n;
        let cell = &mesh.cells[i];
        let gain = |x: f64| {
            let at = |road| cell.length * slope_per_a(road) * model.most_a(&bounds, road, x);
            at(&cell.backward[2]).max(at(&cell.forward[2]))
        };
        // Power falls with speed; what load allows may rise with it.
        let first = gain(most[i]);
        let x = most[i] + first.max(gain(most[i] + first));
        most[i + 1] = most[i + 1].min(x);
        if mesh.closed && i + 1 == n {
            most[0] = most[0].min(most[n]);
        }
    }
    for x in &mut most {
        *x = (*x + ROOM * (1.0 + *x)).min(x_limit);
    }
    most
}
