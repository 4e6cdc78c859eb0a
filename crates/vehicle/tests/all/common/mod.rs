//! What the vehicle's tests share.

use unladen_testkit::random::Rng;
use unladen_vehicle::road::{Road, Shape};

/// Level and straight where g is what a source takes it to be.
pub fn level(g: f64) -> Road {
    Road { n_0: g, n_x: 0.0, y_0: 0.0, y_x: 0.0, x_0: 0.0, cos_theta: 1.0, gamma: 1.0 }
}

/// Level, in a bend of curvature κ.
pub fn bend(g: f64, kappa: f64) -> Road {
    Road { y_x: kappa, ..level(g) }
}

/// The a_x at which a slack that falls from `inside` to `outside` is 0.
pub fn edge(slack: impl Fn(f64) -> f64, inside: f64, outside: f64) -> f64 {
    let (mut inside, mut outside) = (inside, outside);
    assert!(slack(inside) >= 0.0 && slack(outside) < 0.0, "{} {}", slack(inside), slack(outside));
    for _ in 0..200 {
        let middle = 0.5 * (inside + outside);
        if slack(middle) >= 0.0 { inside = middle } else { outside = middle }
    }
    inside
}

/// A random road, X and a_x; feasible or not.
pub fn state(r: &mut Rng) -> (Road, f64, f64) {
    let shape = Shape {
        kappa: r.range(-0.05, 0.05),
        q: r.range(-0.2, 0.2),
        dq: r.range(-0.003, 0.003),
        phi: r.range(-0.3, 0.3),
        gamma: r.range(0.5, 1.2),
    };
    (shape.road(), r.range(0.0, 40.0f64).powi(2), r.range(-12.0, 8.0))
}
