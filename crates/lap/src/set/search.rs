//! The ceiling by plain search, where the quick ways to it (`ceiling.rs`) lead nowhere.

use unladen_vehicle::Model;
use unladen_vehicle::road::Road;

use crate::set::ceiling::slack;

/// Largest slack over a_x at X, and where, on a net refined about its best point.
fn best_a(model: &Model, road: &Road, x: f64) -> (f64, f64) {
    let at = |a: f64| (slack(model, road, x, a), a);
    let better = |p: (f64, f64), q: (f64, f64)| if q.0 > p.0 { q } else { p };
    let mut best = (-64..64).map(|i| at(f64::from(i) * 0.25)).fold((f64::NEG_INFINITY, 0.0), better);
    let mut spread = 0.25;
    while best.0 < 0.0 && spread > 1e-7 {
        spread *= 0.4;
        best = (-2..=2).map(|i| at(best.1 + f64::from(i) * spread)).fold(best, better);
    }
    best
}

/// Grip holds at X for some a_x.
pub fn holds_at(model: &Model, road: &Road, x: f64) -> bool {
    best_a(model, road, x).0 >= 0.0
}

/// The ceiling by search: X rising from rest until nothing holds, then bisection to `close` of itself. `Some(None)`: none
/// below `x_limit`; `None`: nothing holds even at rest. `last` is the last one: where this one is close by it is taken.
pub fn search(model: &Model, road: &Road, x_limit: f64, last: f64, close: f64) -> Option<Option<(f64, f64)>> {
    let best = |x: f64| best_a(model, road, x);
    let bisect = |mut lo: f64, mut a_lo: f64, mut hi: f64| {
        while hi - lo > close * hi && hi > 1e-9 {
            let mid = 0.5 * (lo + hi);
            let (slack, a) = best(mid);
            if slack >= 0.0 { (lo, a_lo) = (mid, a) } else { hi = mid }
        }
        Some(Some((lo, a_lo)))
    };
    for lo in [last, 0.9 * last] {
        let (slack, a) = best(lo);
        if slack >= 0.0 && best(1.1 * lo).0 < 0.0 {
            return bisect(lo, a, 1.1 * lo);
        }
    }
    // A steep bank holds a car at speed that would slide off it at rest: its speeds may be few.
    let points = if best(0.0).0 >= 0.0 { 40 } else { 320 };
    let net = |i: u32| x_limit * (f64::from(i) / f64::from(points)).powi(2);
    let mut highest = None;
    for i in 0..=points {
        let (slack, a) = best(net(i));
        if slack >= 0.0 {
            highest = Some((net(i), a));
        } else if let Some((lo, a_lo)) = highest {
            return bisect(lo, a_lo, net(i));
        }
    }
    highest.map(|_| None)
}
