//! Engine, gears, launch and rotating mass (`docs/model.md` §6).

use crate::car::{Car, Layout};
use crate::scalar::Scalar;

/// One way of driving: first gear with a slipping clutch, or a gear engaged.
#[derive(Clone, Copy, Debug)]
pub struct Mode<S> {
    /// Gear, 1 the first.
    pub gear: u8,
    /// Clutch slipping: the engine stays at the launch speed.
    pub slipping: bool,
    /// ω/v = i_g i_0/r_w, rad/m.
    pub ratio: S,
    /// m_rot, kg.
    pub m_rot: S,
    /// X at which this mode ends: limiter, or launch speed when slipping, m²/s².
    pub x_end: S,
}

/// The piece of the torque curve in use: T = t_0 + slope ω.
#[derive(Clone, Copy, Debug)]
pub struct TorquePiece<S> {
    t_0: S,
    slope: S,
}

/// All modes of a car, slipping first, then the gears; and its engine.
#[derive(Clone, Debug)]
pub struct Gearing<S = f64> {
    /// Modes in the order of rising speed.
    pub modes: Vec<Mode<S>>,
    /// m_rot while shifting, kg: the wheels alone.
    pub m_rot_shifting: S,
    /// Shift time, s.
    pub shift_time: S,
    torque: Vec<(f64, S)>,
    power: S,
    efficiency: S,
    launch: S,
}

impl<S: Scalar> Car<S> {
    /// r_w, the driven wheels' radius, m; of four driven wheels the mean by the axles' shares of torque.
    pub fn driven_radius(&self) -> S {
        let line = &self.driveline;
        match line.layout {
            Layout::Front => self.front.r,
            Layout::Rear => self.rear.r,
            Layout::All => self.front.r * line.front_share + self.rear.r * (-line.front_share + 1.0),
        }
    }
}

impl<S: Scalar> Gearing<S> {
    pub(crate) fn new(car: &Car<S>) -> Self {
        let line = &car.driveline;
        let r_w = car.driven_radius();
        let wheels =
            (car.front.j_wheel / (car.front.r * car.front.r) + car.rear.j_wheel / (car.rear.r * car.rear.r)) * 2.0;
        let mode = |gear: u8, i_g: S, slipping: bool| {
            let ratio = i_g * line.final_drive / r_w;
            let v_end = if slipping { car.engine.launch } else { car.engine.limit } / ratio;
            let m_engine = if slipping { S::from(0.0) } else { car.engine.inertia * ratio * ratio };
            Mode { gear, slipping, ratio, m_rot: wheels + m_engine, x_end: v_end * v_end }
        };
        let mut modes = vec![];
        for (i, &i_g) in line.gears.iter().enumerate() {
            let gear = i as u8 + 1;
            if i == 0 {
                modes.push(mode(gear, i_g, true));
            }
            modes.push(mode(gear, i_g, false));
        }
        Self {
            modes,
            m_rot_shifting: wheels,
            shift_time: line.shift_time,
            torque: car.engine.torque.clone(),
            power: car.engine.power,
            efficiency: line.efficiency,
            launch: car.engine.launch,
        }
    }

    /// Which piece of the curve holds at ω: 0 below the first point, i between points i − 1 and i.
    fn piece_index(&self, omega: f64) -> usize {
        self.torque.iter().take_while(|p| p.0 <= omega).count()
    }

    /// T(ω) piece by piece: linear between points, constant outside them.
    fn piece(&self, i: usize) -> TorquePiece<S> {
        let constant = |t: S| TorquePiece { t_0: t, slope: S::from(0.0) };
        match (i.checked_sub(1).and_then(|j| self.torque.get(j)), self.torque.get(i)) {
            (Some(&(w_0, t_0)), Some(&(w_1, t_1))) => {
                let slope = (t_1 - t_0) / (w_1 - w_0);
                TorquePiece { t_0: t_0 - slope * w_0, slope }
            }
            (Some(&(_, t)), None) | (None, Some(&(_, t))) => constant(t),
            (None, None) => constant(S::from(0.0)),
        }
    }

    /// The mode's torque piece at X, with the X range over which it holds (m²/s²).
    pub fn piece_at(&self, mode: usize, x: f64) -> (TorquePiece<S>, [S; 2]) {
        let m = &self.modes[mode];
        let infinite = [S::from(0.0), S::from(f64::INFINITY)];
        if m.slipping {
            let t = {
                let p = self.piece(self.piece_index(self.launch.value()));
                p.t_0 + p.slope * self.launch
            };
            return (TorquePiece { t_0: t, slope: S::from(0.0) }, infinite);
        }
        // A speed that stands on a point belongs to the piece above it, whatever the last bit says.
        let i = self.piece_index(x.max(0.0).sqrt() * m.ratio.value() * (1.0 + 1e-12));
        let at = |j: usize| {
            let v = S::from(self.torque[j].0) / m.ratio;
            v * v
        };
        let lo = if i > 0 { at(i - 1) } else { infinite[0] };
        let hi = if i < self.torque.len() { at(i) } else { infinite[1] };
        (self.piece(i), [lo, hi])
    }

    /// F_drive of a mode on a given torque piece, N.
    #[inline(always)]
    pub fn force(&self, mode: &Mode<S>, piece: &TorquePiece<S>, x: S) -> S {
        (piece.t_0 + piece.slope * mode.ratio * x.sqrt()) * self.power * self.efficiency * mode.ratio
    }
}

impl Gearing {
    /// The most power that reaches the driven wheels, W.
    pub fn most_power(&self) -> f64 {
        let limit = self.modes.last().map_or(0.0, |mode| mode.x_end.sqrt() * mode.ratio);
        peak_power(&self.torque, limit) * self.power * self.efficiency
    }
}

/// Most of T(ω) ω up to the limiter, W. On a line T = T_1 + k (ω − ω_1) power peaks at ω = (ω_1 − T_1/k)/2.
pub fn peak_power(curve: &[(f64, f64)], limit: f64) -> f64 {
    let mut best = 0.0f64;
    for pair in curve.windows(2).filter(|pair| pair[0].0 < limit) {
        let ((w1, t1), (w2, t2)) = (pair[0], pair[1]);
        let (slope, top) = ((t2 - t1) / (w2 - w1), w2.min(limit));
        let peak = if slope < 0.0 { (0.5 * (w1 - t1 / slope)).clamp(w1, top) } else { top };
        best = best.max((t1 + slope * (peak - w1)) * peak);
    }
    // Constant below the first point and above the last.
    let first = curve.first().map_or(0.0, |&(w, t)| t * w.min(limit));
    let last = curve.last().map_or(0.0, |&(w, t)| if w < limit { t * limit } else { 0.0 });
    best.max(first).max(last)
}
