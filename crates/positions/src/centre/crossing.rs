//! Where a line crosses itself.

/// Where a line of points `step_m` apart crosses itself, m along it each time: by nodes in cells of a grid.
pub fn self_crossings(points: &[[f64; 2]], step_m: f64) -> Vec<(f64, f64)> {
    use std::collections::HashMap;
    let every = ((4.0 / step_m) as usize).max(1);
    let index: Vec<usize> = (0..points.len()).step_by(every).collect();
    let p = |k: usize| points[index[k]];
    let cell = |q: [f64; 2]| ((q[0] / 10.0).floor() as i64, (q[1] / 10.0).floor() as i64);
    let mut grid: HashMap<(i64, i64), Vec<usize>> = HashMap::new();
    let mut found = Vec::new();
    let side = |a: [f64; 2], b: [f64; 2], c: [f64; 2]| (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0]);
    for k in 0..index.len().saturating_sub(1) {
        let (a, b) = (p(k), p(k + 1));
        let (x, y) = cell(a);
        for near in (x - 1..=x + 1).flat_map(|x| (y - 1..=y + 1).map(move |y| (x, y))) {
            for &m in grid.get(&near).map_or(&[][..], Vec::as_slice) {
                let (c, d) = (p(m), p(m + 1));
                if k - m > 3 && side(a, b, c) * side(a, b, d) < 0.0 && side(c, d, a) * side(c, d, b) < 0.0 {
                    found.push((index[m] as f64 * step_m, index[k] as f64 * step_m));
                }
            }
        }
        grid.entry((x, y)).or_default().push(k);
    }
    found
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::f64::consts::PI;

    /// Gerono's figure of eight, (a sin t, a sin t cos t), crosses itself once: at its start and half way round.
    #[test]
    fn closed_form_a_figure_of_eight_crosses_once() {
        let at = |t: f64| [200.0 * t.sin(), 200.0 * t.sin() * t.cos()];
        let mut points = vec![at(0.3)];
        let mut t: f64 = 0.3;
        while t < 0.3 + 2.0 * PI {
            t += 1e-4;
            let (p, q) = (points[points.len() - 1], at(t));
            if (q[0] - p[0]).hypot(q[1] - p[1]) >= 2.0 {
                points.push(q);
            }
        }
        let found = self_crossings(&points, 2.0);
        assert_eq!(found.len(), 1, "{found:?}");
        let half = points.len() as f64;
        assert!((found[0].1 - found[0].0 - half).abs() < 0.06 * half, "{found:?} {half}");
        let circle: Vec<[f64; 2]> =
            (0..300).map(|i| f64::from(i) / 50.0).map(|a| [90.0 * a.cos(), 90.0 * a.sin()]).collect();
        assert!(self_crossings(&circle, 1.8).is_empty());
    }
}
