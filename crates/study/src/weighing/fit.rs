//! Least squares over all readings: every dimension and bias that is known beforehand is an observation too.

use nalgebra::{DMatrix, DVector};

use super::model::{A, FIRST_LIFT, GAIN, H, L, M, NAMES, PAD, R, WEDGE, Y, axles, has_corners, observed};
use super::{Cause, Known, Loads, Reading, WeighError, Weighed, Weighing};

/// An unknown that something is known of beforehand counts as an observation of its own; sd 0 fixes it.
struct Row {
    cause: Cause,
    misfit: f64,
    slope: Vec<f64>,
    sd: f64,
    label: Option<(usize, &'static str)>,
}

impl Weighing {
    pub(super) fn fit(&self, chosen: &[usize]) -> Result<Weighed, WeighError> {
        let readings: Vec<&Reading> = chosen.iter().map(|&i| &self.readings[i]).collect();
        let both = |r: &&&Reading| r.lift.is_none() && matches!(r.loads, Loads::Corners(_) | Loads::Axles(_));
        let start = readings.iter().find(both).ok_or(WeighError::NoLevel)?;
        for r in &readings {
            if let Some((_, h)) = r.lift
                && h.value.abs() > 0.5 * self.geometry.wheelbase.value
            {
                return Err(WeighError::TooHigh { name: r.name.clone(), height_mm: h.value * 1e3 });
            }
        }
        let (lifted, cornered) = (readings.iter().any(|r| r.lift.is_some()), readings.iter().any(|r| has_corners(r)));
        let g = &self.geometry;
        let mut p = DVector::zeros(FIRST_LIFT + readings.len());
        let [f, r] = axles(&start.loads);
        (p[M], p[A], p[H]) = (f + r, g.wheelbase.value * r / (f + r), g.radius[0].value + 0.15);
        (p[L], p[R], p[R + 1]) = (g.wheelbase.value, g.radius[0].value, g.radius[1].value);
        for (k, reading) in readings.iter().enumerate() {
            p[FIRST_LIFT + k] = reading.lift.map_or(0.0, |(_, h)| h.value);
        }
        // What no reading speaks of is held.
        let free: Vec<usize> = (0..p.len())
            .filter(|&i| match i {
                Y | WEDGE => cornered,
                H => lifted,
                L => g.wheelbase.sd > 0.0,
                R => g.radius[0].sd > 0.0,
                6 => g.radius[1].sd > 0.0,
                GAIN => self.scales.gain > 0.0,
                PAD..WEDGE => self.scales.bias > 0.0,
                i if i >= FIRST_LIFT => readings[i - FIRST_LIFT].lift.is_some_and(|(_, h)| h.sd > 0.0),
                _ => true,
            })
            .collect();
        let mut rows = Vec::new();
        let mut gains = DMatrix::zeros(0, 0);
        for _ in 0..12 {
            rows = self.rows(&readings, &p, &free);
            let n = rows.len();
            let j = DMatrix::from_fn(n, free.len(), |i, k| rows[i].slope[k] / rows[i].sd);
            let e = DVector::from_fn(n, |i, _| rows[i].misfit / rows[i].sd);
            let normal = j.transpose() * &j;
            let inverse = normal.try_inverse().ok_or(WeighError::Unsettled {
                what: "two of its unknowns can't be told apart; measure the dimensions, or read both axles level",
            })?;
            gains = inverse * j.transpose();
            let step = &gains * e;
            for (k, &i) in free.iter().enumerate() {
                p[i] += step[k];
            }
            if step.iter().zip(&free).all(|(s, &i)| s.abs() < 1e-11 * p[i].abs().max(1e-3)) {
                break;
            }
        }
        if !p.iter().all(|x| x.is_finite()) || p[M] <= 0.0 {
            return Err(WeighError::Unsettled { what: "the fit runs away; look for a mistyped reading" });
        }
        Ok(self.summary(&readings, &p, &free, &rows, &gains, (lifted, cornered)))
    }

    fn summary(
        &self,
        readings: &[&Reading],
        p: &DVector<f64>,
        free: &[usize],
        rows: &[Row],
        gains: &DMatrix<f64>,
        (lifted, cornered): (bool, bool),
    ) -> Weighed {
        let at = |unknown: usize| free.iter().position(|&f| f == unknown);
        let freedom = rows.len() - free.len();
        let chi2 = rows.iter().map(|r| (r.misfit / r.sd).powi(2)).sum::<f64>();
        let widened = if freedom > 0 && chi2 > chi2_95(freedom) { (chi2 / freedom as f64).sqrt() } else { 1.0 };
        let method = if lifted { self.method_share * p[H] } else { 0.0 };
        // (Σ over rows of a cause of gain²): gains are already per standard deviation.
        let variance = |unknown: usize, cause: Option<Cause>| {
            at(unknown).map_or(0.0, |k| {
                let own = (0..rows.len()).filter(|&i| cause.is_none_or(|c| rows[i].cause == c));
                own.map(|i| gains[(k, i)].powi(2)).sum::<f64>() * widened * widened
            })
        };
        let total = [M, A, Y, H].map(|u| variance(u, None) + if u == H { method * method } else { 0.0 });
        let known = |u: usize| Known { value: p[u], sd: total[u].sqrt() };
        let causes = [
            Cause::Level,
            Cause::Lifted,
            Cause::Bias,
            Cause::Gain,
            Cause::LiftHeight,
            Cause::Wheelbase,
            Cause::Radius,
            Cause::Method,
        ];
        let share = |cause: Cause| {
            [M, A, Y, H].map(|u| {
                let own = if cause == Cause::Method && u == H { method * method } else { variance(u, Some(cause)) };
                if total[u] > 0.0 { own / total[u] } else { 0.0 }
            })
        };
        let mut budget: Vec<_> =
            causes.iter().map(|&c| (c, share(c))).filter(|(_, s)| s.iter().any(|s| *s > 0.0)).collect();
        let first = if lifted { H } else { A };
        budget.sort_by(|a, b| b.1[first].total_cmp(&a.1[first]));
        let misfits = rows
            .iter()
            .filter_map(|r| r.label.map(|(reading, what)| (readings[reading].name.clone(), what, r.misfit / r.sd)));
        let level: Vec<[f64; 4]> = readings
            .iter()
            .filter(|r| r.lift.is_none())
            .filter_map(|r| if let Loads::Corners(c) = r.loads { Some(c) } else { None })
            .collect();
        let mean = |i: usize| level.iter().map(|c| c[i]).sum::<f64>() / level.len() as f64;
        Weighed {
            mass: known(M),
            x: known(A),
            y: cornered.then(|| known(Y)),
            height: lifted.then(|| known(H)),
            corners: (!level.is_empty()).then(|| [0, 1, 2, 3].map(mean)),
            budget,
            misfits: misfits.collect(),
            chi2,
            freedom,
            widened,
            each: Vec::new(),
        }
    }

    /// Every observation: what was read minus what the unknowns say, its slope, its standard deviation.
    fn rows(&self, readings: &[&Reading], p: &DVector<f64>, free: &[usize]) -> Vec<Row> {
        let s = &self.scales;
        let read_sd = (s.resolution * s.resolution / 12.0 + s.repeatability * s.repeatability).sqrt().max(1e-6);
        let mut rows = Vec::new();
        for (k, reading) in readings.iter().enumerate() {
            let cause = if reading.lift.is_some() { Cause::Lifted } else { Cause::Level };
            for (what, value, pads) in observed(reading) {
                let predict = |p: &DVector<f64>| self.predict(reading, k, p, what);
                let slope = slopes(p, free, &predict);
                let sd = read_sd * (pads as f64).sqrt();
                rows.push(Row { cause, misfit: value - predict(p), slope, sd, label: Some((k, NAMES[what])) });
            }
        }
        let mut prior = |unknown: usize, value: f64, sd: f64, cause: Cause| {
            if let Some(k) = free.iter().position(|&f| f == unknown) {
                let slope = (0..free.len()).map(|i| if i == k { 1.0 } else { 0.0 }).collect();
                rows.push(Row { cause, misfit: value - p[unknown], slope, sd, label: None });
            }
        };
        let g = &self.geometry;
        prior(L, g.wheelbase.value, g.wheelbase.sd, Cause::Wheelbase);
        prior(R, g.radius[0].value, g.radius[0].sd, Cause::Radius);
        prior(R + 1, g.radius[1].value, g.radius[1].sd, Cause::Radius);
        prior(GAIN, 0.0, s.gain, Cause::Gain);
        for pad in 0..4 {
            prior(PAD + pad, 0.0, s.bias, Cause::Bias);
        }
        for (k, reading) in readings.iter().enumerate() {
            if let Some((_, h)) = reading.lift {
                prior(FIRST_LIFT + k, h.value, h.sd, Cause::LiftHeight);
            }
        }
        rows
    }
}

/// Central differences: the model is smooth, and steps of 1e-6 of each unknown's size leave 1e-9 of its slope.
fn slopes(p: &DVector<f64>, free: &[usize], f: &impl Fn(&DVector<f64>) -> f64) -> Vec<f64> {
    let one = |&i: &usize| {
        let step = 1e-6 * p[i].abs().max(if i == M { 100.0 } else { 0.1 });
        let (mut up, mut down) = (p.clone(), p.clone());
        up[i] += step;
        down[i] -= step;
        (f(&up) - f(&down)) / (2.0 * step)
    };
    free.iter().map(one).collect()
}

/// The 95 % quantile of χ²: Wilson and Hilferty 1931, k (1 − 2/9k + 1.6449 √(2/9k))³, good to 1 % from k = 2 on.
pub(super) fn chi2_95(k: usize) -> f64 {
    let v = 2.0 / (9.0 * k as f64);
    k as f64 * (1.0 - v + 1.644_853_6 * v.sqrt()).powi(3)
}
