//! Even nodes in a row or round a ring, and what a function on them says of readings, curvature and its steps, as
//! coefficients.

/// The nodes and what is known before.
#[derive(Clone, Debug)]
pub(crate) struct Nodes {
    /// How many.
    pub(crate) n: usize,
    /// Their spacing.
    pub(crate) step: f64,
    /// The last is followed by the first.
    pub(crate) ring: bool,
    /// Curvature of the line that d is an offset from, at each node; zeros where d is the function itself.
    pub(crate) kappa: Vec<f64>,
}

impl Nodes {
    pub(crate) fn wrap(&self, i: isize) -> usize {
        if self.ring { i.rem_euclid(self.n as isize) as usize } else { i.clamp(0, self.n as isize - 1) as usize }
    }

    /// Linear between the two nodes.
    pub(crate) fn reading(&self, at: f64) -> [(usize, f64); 2] {
        let at = if self.ring { at.rem_euclid(self.n as f64) } else { at.clamp(0.0, self.n as f64 - 1.0) };
        let low = (at.floor() as usize).min(if self.ring { self.n - 1 } else { self.n - 2 });
        let share = at - low as f64;
        [(low, 1.0 - share), (self.wrap(low as isize + 1), share)]
    }

    /// κ at a node from d: d″ + κ² d.
    pub(crate) fn bend(&self, i: usize) -> [(usize, f64); 3] {
        let c = 1.0 / (self.step * self.step);
        // At the ends of a row, the nearest inner one.
        let m = if self.ring { i as isize } else { (i as isize).clamp(1, self.n as isize - 2) };
        let k = self.kappa[self.wrap(m)];
        [(self.wrap(m - 1), c), (self.wrap(m), k * k - 2.0 * c), (self.wrap(m + 1), c)]
    }

    /// Steps of κ that the prior speaks of: the k-th is from node k to the next.
    pub(crate) fn steps(&self) -> std::ops::Range<usize> {
        if self.ring { 0..self.n } else { 1..self.n - 2 }
    }

    /// The k-th step of κ as coefficients of d, and what the reference line brings to it.
    pub(crate) fn step(&self, k: usize) -> ([(usize, f64); 4], f64) {
        let c = 1.0 / (self.step * self.step);
        let k = k as isize;
        let (i, j) = (self.wrap(k), self.wrap(k + 1));
        let (ki, kj) = (self.kappa[i], self.kappa[j]);
        let own = [-c, 3.0 * c - ki * ki, kj * kj - 3.0 * c, c];
        ([(self.wrap(k - 1), own[0]), (i, own[1]), (j, own[2]), (self.wrap(k + 2), own[3])], kj - ki)
    }
}
