//! From scale readings, level and with an axle raised, to mass and CG with their uncertainty and where it comes from.
//!
//! The method of ISO 10392 (axle lift), as one least-squares problem over all readings: unknown are m, a, y, h and, each with
//! what is known of it beforehand, every dimension and every bias of the scales. For one lift, equal wheels and exact
//! dimensions it is h = r + L (m_f′ − m_f)/(m tan θ), sin θ = H/L (`sources.md` 3).

use nalgebra::{DMatrix, DVector};

/// A number and its standard deviation, SI.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Known {
    /// The value.
    pub value: f64,
    /// One standard deviation; 0: exact.
    pub sd: f64,
}

/// Which axle stands high.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Raised {
    /// The front axle.
    Front,
    /// The rear axle.
    Rear,
}

/// The car on the scales.
#[derive(Clone, Debug, PartialEq)]
pub struct Geometry {
    /// L, m.
    pub wheelbase: Known,
    /// t_f, t_r, m.
    pub track: [f64; 2],
    /// Height of the wheel centres over the pads, front and rear, m, as the car stands level.
    pub radius: [Known; 2],
    /// One tyre's vertical rate, N/m, front and rear: the low axle's tyres give way under what comes onto them.
    pub tyre_rate: [Option<f64>; 2],
}

/// What is known of the scales.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Scales {
    /// Smallest step, kg.
    pub resolution: f64,
    /// Scatter of one pad when the same car is rolled on again, kg, one standard deviation.
    pub repeatability: f64,
    /// By how much each pad may be off in all of its readings, kg, one standard deviation; pads apart.
    pub bias: f64,
    /// By what share of the reading all pads may be off alike, one standard deviation.
    pub gain: f64,
}

/// What stood on one reading's pads.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Loads {
    /// Front left, front right, rear left, rear right, kg.
    Corners([f64; 4]),
    /// Front and rear axle, kg.
    Axles([f64; 2]),
    /// Front axle alone, kg.
    Front(f64),
    /// Rear axle alone, kg.
    Rear(f64),
}

/// One reading.
#[derive(Clone, Debug, PartialEq)]
pub struct Reading {
    /// What it is called in a message: `level 1`, `lift 2`.
    pub name: String,
    /// What the pads showed.
    pub loads: Loads,
    /// The raised axle and by how much its wheel centres were raised, m; none: level.
    pub lift: Option<(Raised, Known)>,
    /// Heights of the pads over the lowest, m: front left, front right, rear left, rear right.
    pub pads: [f64; 4],
}

/// Fluid that runs to the low end: mass, kg, length of its tank and depth of the fluid, m. The wall-sided formula: its CG
/// moves by l²/(12 d) tan θ along the car and half of that times tan θ up (`sources.md` 37).
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Fluid {
    /// kg.
    pub mass: f64,
    /// m.
    pub length: f64,
    /// m.
    pub depth: f64,
}

/// All that was read.
#[derive(Clone, Debug, PartialEq)]
pub struct Weighing {
    /// The car.
    pub geometry: Geometry,
    /// The scales.
    pub scales: Scales,
    /// The readings.
    pub readings: Vec<Reading>,
    /// Fluids.
    pub fluids: Vec<Fluid>,
    /// What the axle-lift method itself may be off by, as a share of h: suspension, tyres (ISO 10392, `sources.md` 5: 3 %
    /// where nothing better is known).
    pub method_share: f64,
}

/// What was found, and how well.
#[derive(Clone, Debug, PartialEq)]
pub struct Found {
    /// m, kg.
    pub mass: Known,
    /// a, m behind the front axle.
    pub x: Known,
    /// y, m right of the middle; without corner weights not known.
    pub y: Option<Known>,
    /// h, m above the pads; without a lift not known.
    pub height: Option<Known>,
    /// Level corner weights, mean of the repeats, kg.
    pub corners: Option<[f64; 4]>,
    /// Shares of the variance of mass, x, y and height by cause, largest for the height (or x) first.
    pub budget: Vec<(Cause, [f64; 4])>,
    /// Every reading's misfit in standard deviations: name, pad or axle, value.
    pub misfits: Vec<(String, &'static str, f64)>,
    /// χ² over its degrees of freedom.
    pub chi2: f64,
    /// How many more readings there are than unknowns.
    pub freedom: usize,
    /// By how much all standard deviations were widened because the readings scatter more than they should; 1: not.
    pub widened: f64,
    /// The height that each lift alone gives, with its own standard deviation.
    pub each: Vec<(String, Raised, Known)>,
}

/// Where uncertainty comes from.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Cause {
    /// Scatter and steps of the level readings.
    Level,
    /// Scatter and steps of the raised readings.
    Lifted,
    /// The pads' own biases.
    Bias,
    /// The scales' common gain.
    Gain,
    /// How high the axle was raised.
    LiftHeight,
    /// The wheelbase.
    Wheelbase,
    /// The height of the wheel centres.
    Radius,
    /// The method: suspension, tyres, fluids that nobody accounted for.
    Method,
}

/// Why there is no result.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum WeighError {
    /// Not one reading of the level car that gives both axles.
    #[error("no level reading of both axles: mass and CG need one")]
    NoLevel,
    /// An axle raised by more than the wheelbase.
    #[error(
        "{name}: raised by {height_mm:.0} mm, which is more than half the wheelbase; that is not a lift but a stand"
    )]
    TooHigh {
        /// Which reading.
        name: String,
        /// mm.
        height_mm: f64,
    },
    /// The readings leave something open.
    #[error("these readings do not settle the centre of gravity: {what}")]
    Unsettled {
        /// What is open.
        what: &'static str,
    },
}

const M: usize = 0;
const A: usize = 1;
const Y: usize = 2;
const H: usize = 3;
const L: usize = 4;
const R: usize = 5;
const GAIN: usize = 7;
const PAD: usize = 8;
/// What one diagonal carries more than the CG asks for, kg a wheel at the front: springs, not the CG.
const WEDGE: usize = 12;
const FIRST_LIFT: usize = 13;

/// An unknown that something is known of beforehand counts as an observation of its own; sd 0 fixes it.
struct Row {
    cause: Cause,
    misfit: f64,
    slope: Vec<f64>,
    sd: f64,
    label: Option<(usize, &'static str)>,
}

impl Weighing {
    /// Least squares over everything.
    ///
    /// # Errors
    /// [`WeighError`] where readings are missing or impossible.
    pub fn solve(&self) -> Result<Found, WeighError> {
        let found = self.fit(&self.all())?;
        let lifts: Vec<usize> = (0..self.readings.len()).filter(|&i| self.readings[i].lift.is_some()).collect();
        let level: Vec<usize> = (0..self.readings.len()).filter(|&i| self.readings[i].lift.is_none()).collect();
        let mut each = Vec::new();
        for i in lifts {
            let alone: Vec<usize> = level.iter().copied().chain([i]).collect();
            if let (Ok(one), Some((raised, _))) = (self.fit(&alone), self.readings[i].lift)
                && let Some(height) = one.height
            {
                // Each without the method's share: that is common to them all.
                let method = self.method_share * height.value;
                let sd = (height.sd * height.sd - method * method).max(0.0).sqrt();
                each.push((self.readings[i].name.clone(), raised, Known { sd, ..height }));
            }
        }
        Ok(Found { each, ..found })
    }

    /// The same weighing with readings exactly as a car of these numbers would give: to ask how well it would be known.
    pub fn simulated(&self, found: &Found) -> Self {
        let mut p = DVector::zeros(FIRST_LIFT + self.readings.len());
        (p[M], p[A]) = (found.mass.value, found.x.value);
        p[Y] = found.y.map_or(0.0, |y| y.value);
        p[H] = found.height.map_or(self.geometry.radius[0].value + 0.15, |h| h.value);
        (p[L], p[R], p[R + 1]) =
            (self.geometry.wheelbase.value, self.geometry.radius[0].value, self.geometry.radius[1].value);
        let mut same = self.clone();
        for (k, reading) in self.readings.iter().enumerate() {
            p[FIRST_LIFT + k] = reading.lift.map_or(0.0, |(_, h)| h.value);
            let show = |what| self.predict(reading, k, &p, what);
            same.readings[k].loads = match reading.loads {
                Loads::Corners(_) => Loads::Corners([show(0), show(1), show(2), show(3)]),
                Loads::Axles(_) => Loads::Axles([show(4), show(5)]),
                Loads::Front(_) => Loads::Front(show(4)),
                Loads::Rear(_) => Loads::Rear(show(5)),
            };
        }
        same
    }

    fn all(&self) -> Vec<usize> {
        (0..self.readings.len()).collect()
    }

    fn fit(&self, chosen: &[usize]) -> Result<Found, WeighError> {
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
    ) -> Found {
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
        Found {
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

    /// What a pad (0…3), the front axle (4) or the rear axle (5) would show.
    ///
    /// The line of wheel centres is turned by θ, rear up positive: L sin θ + (r_r − r_f)(cos θ − 1) = H. Seen from the front
    /// wheels' centre, CG at x′ = a cos θ − (h − r_f) sin θ of L′ = L cos θ − (r_r − r_f) sin θ; the rear carries m x′/L′.
    fn predict(&self, reading: &Reading, k: usize, p: &DVector<f64>, what: usize) -> f64 {
        let (l, mut r_f, mut r_r) = (p[L], p[R], p[R + 1]);
        let pads = reading.pads;
        let slope = 0.5 * (pads[2] + pads[3] - pads[0] - pads[1]);
        let mut height = slope;
        if let Some((raised, _)) = reading.lift {
            height += if raised == Raised::Rear { p[FIRST_LIFT + k] } else { -p[FIRST_LIFT + k] };
            // Tyres give way under what comes onto the low axle, and recover under what leaves the high one.
            let gained = p[M] * (p[H] - r_f) * (height / l) / l * unladen_vehicle::G;
            if let Some(rate) = self.geometry.tyre_rate[0] {
                r_f -= gained / (2.0 * rate);
            }
            if let Some(rate) = self.geometry.tyre_rate[1] {
                r_r += gained / (2.0 * rate);
            }
            height += (r_r - p[R + 1]) - (r_f - p[R]);
        }
        let d = p[R + 1] - p[R];
        let theta = turned(l, d, height);
        let (sin, cos) = theta.sin_cos();
        let shift: f64 = self
            .fluids
            .iter()
            .map(|f| {
                let along = f.length * f.length / (12.0 * f.depth) * theta.tan();
                f.mass * (along * cos + 0.5 * along * theta.tan() * sin)
            })
            .sum();
        let behind = p[M] * (p[A] * cos - (p[H] - p[R]) * sin) - shift;
        let rear = behind / (l * cos - d * sin);
        let axle = [p[M] - rear, rear];
        let gain = 1.0 + p[GAIN];
        match what {
            4 => gain * axle[0] + p[PAD] + p[PAD + 1],
            5 => gain * axle[1] + p[PAD + 2] + p[PAD + 3],
            pad => {
                // Half the axle, and its part of the offset to the side: m y, shared as the axles carry weight. A lean of
                // the pads moves the CG sideways by h times it.
                let [f, r] = self.sides(&pads);
                let lean = if pad < 2 { f } else { r };
                let y = p[Y] + p[H] * lean;
                let (i, right) = (pad / 2, pad % 2 == 1);
                let off = axle[i] * y / self.geometry.track[i];
                let wedge = if i == 0 { p[WEDGE] } else { -p[WEDGE] * self.geometry.track[0] / self.geometry.track[1] };
                let more = off + wedge;
                gain * (0.5 * axle[i] + if right { more } else { -more }) + p[PAD + pad]
            }
        }
    }

    /// How much each axle's pads lean, right side down positive.
    fn sides(&self, pads: &[f64; 4]) -> [f64; 2] {
        [(pads[0] - pads[1]) / self.geometry.track[0], (pads[2] - pads[3]) / self.geometry.track[1]]
    }
}

/// θ of L sin θ + d (cos θ − 1) = H, by Newton from H/L.
fn turned(l: f64, d: f64, height: f64) -> f64 {
    let mut theta = (height / l).clamp(-1.0, 1.0).asin();
    for _ in 0..6 {
        let (sin, cos) = theta.sin_cos();
        theta -= (l * sin + d * (cos - 1.0) - height) / (l * cos - d * sin);
    }
    theta
}

const NAMES: [&str; 6] = ["front left", "front right", "rear left", "rear right", "front axle", "rear axle"];

fn axles(loads: &Loads) -> [f64; 2] {
    match *loads {
        Loads::Corners(c) => [c[0] + c[1], c[2] + c[3]],
        Loads::Axles(a) => a,
        Loads::Front(f) => [f, 0.0],
        Loads::Rear(r) => [0.0, r],
    }
}

fn has_corners(reading: &Reading) -> bool {
    reading.lift.is_none() && matches!(reading.loads, Loads::Corners(_))
}

/// (what, value, pads in it).
fn observed(reading: &Reading) -> Vec<(usize, f64, usize)> {
    match reading.loads {
        // With an axle raised the car leans on its springs in ways of its own: axles only.
        Loads::Corners([a, b, c, d]) if !has_corners(reading) => vec![(4, a + b, 2), (5, c + d, 2)],
        Loads::Corners(c) => c.iter().enumerate().map(|(i, v)| (i, *v, 1)).collect(),
        Loads::Axles([f, r]) => vec![(4, f, 2), (5, r, 2)],
        Loads::Front(f) => vec![(4, f, 2)],
        Loads::Rear(r) => vec![(5, r, 2)],
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
fn chi2_95(k: usize) -> f64 {
    let v = 2.0 / (9.0 * k as f64);
    k as f64 * (1.0 - v + 1.644_853_6 * v.sqrt()).powi(3)
}

#[cfg(test)]
#[path = "weighing_tests.rs"]
mod tests;
