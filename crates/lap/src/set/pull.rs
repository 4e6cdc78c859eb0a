//! What the engine does at a moment: a gear on a piece of the torque curve, or nothing while shifting.

use unladen_vehicle::powertrain::{Mode, TorquePiece};
use unladen_vehicle::road::Road;
use unladen_vehicle::{Model, Scalar};

/// The engine's state over a step.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Engaged {
    /// Driving in a mode (an index into the gearing's modes), on the torque piece that holds at X.
    Mode {
        /// Index of the mode.
        mode: usize,
        /// An X on the piece, m²/s².
        x: f64,
    },
    /// Shifting up: no drive.
    Shifting,
}

impl Engaged {
    /// The same on the torque piece that holds at X, m²/s².
    pub fn at(self, x: f64) -> Self {
        match self {
            Engaged::Mode { mode, .. } => Engaged::Mode { mode, x },
            Engaged::Shifting => self,
        }
    }
}

/// Drive force and rotating mass, ready to evaluate.
pub enum Pull<S> {
    /// In gear, or slipping.
    Mode(Mode<S>, TorquePiece<S>),
    /// Shifting.
    None(S),
}

impl<S: Scalar> Pull<S> {
    /// Look it up for a model.
    pub fn new(model: &Model<S>, engaged: Engaged) -> Self {
        match engaged {
            Engaged::Mode { mode, x } => Pull::Mode(model.gearing.modes[mode], model.gearing.piece_at(mode, x).0),
            Engaged::Shifting => Pull::None(model.gearing.m_rot_shifting),
        }
    }

    /// Slack of the power limit.
    #[inline(always)]
    pub fn slack(&self, model: &Model<S>, road: &Road<S>, x: S, a_x: S) -> S {
        match self {
            Pull::Mode(mode, piece) => model.power(road, x, a_x, model.gearing.force(mode, piece, x), mode.m_rot),
            Pull::None(m_rot) => model.power(road, x, a_x, S::from(0.0), *m_rot),
        }
    }

    /// The a_x at which all the power is used, m/s².
    pub fn a_x(&self, model: &Model<S>, road: &Road<S>, x: S) -> S {
        self.a_x_near(model, road, x, S::from(0.0))
    }

    /// [`Pull::a_x`], looked for from `near`.
    pub fn a_x_near(&self, model: &Model<S>, road: &Road<S>, x: S, near: S) -> S {
        let m_rot = match self {
            Pull::Mode(mode, _) => mode.m_rot,
            Pull::None(m_rot) => *m_rot,
        };
        // Linear in a_x but for the cornering resistance's share of it, which is small: a contraction.
        let per_a = S::from(model.weight()) / (model.mass() + m_rot);
        let mut a = near;
        for _ in 0..20 {
            let move_by = self.slack(model, road, x, a) * per_a;
            a = a + move_by;
            if move_by.value().abs() < 1e-13 {
                break;
            }
        }
        a
    }
}

/// a_x that a mode's power allows at X, on whatever torque piece holds there; `None` beyond its end.
pub fn mode_a(model: &Model, road: &Road, mode: usize, x: f64) -> Option<f64> {
    // At the very end of a mode the mode after it takes over.
    if x >= model.gearing.modes[mode].x_end * (1.0 - 1e-12) {
        return None;
    }
    Some(Pull::new(model, Engaged::Mode { mode, x }).a_x(model, road, x))
}

/// What a_x at X asks of the engine, to be held against one mode after another.
pub struct Demand {
    x: f64,
    a_x: f64,
    f_x: f64,
}

impl Demand {
    /// At a place.
    pub fn new(model: &Model, road: &Road, x: f64, a_x: f64) -> Self {
        Self { x, a_x, f_x: model.axles(road, x, a_x).f_x }
    }

    /// At a place where a mode gives all its force, and a little more a_x.
    pub fn of_all(model: &Model, mode: usize, x: f64, a_x: f64, more: f64) -> Self {
        let (gearing, of) = (&model.gearing, &model.gearing.modes[mode]);
        let all = gearing.force(of, &gearing.piece_at(mode, x).0, x);
        Self { x, a_x: a_x + more, f_x: all - of.m_rot * a_x + model.mass() * more }
    }

    /// A mode's power allows more.
    pub fn below(&self, model: &Model, mode: usize) -> bool {
        let gearing = &model.gearing;
        let of = &gearing.modes[mode];
        self.x < of.x_end * (1.0 - 1e-12)
            && gearing.force(of, &gearing.piece_at(mode, self.x).0, self.x) - self.f_x - of.m_rot * self.a_x > 0.0
    }
}

/// The mode that allows the largest a_x at X.
pub fn best_mode(model: &Model, road: &Road, x: f64) -> usize {
    let n = model.gearing.modes.len();
    let mut best = (n - 1, f64::NEG_INFINITY);
    for mode in 0..n {
        if let Some(a) = mode_a(model, road, mode, x)
            && a > best.1
        {
            best = (mode, a);
        }
    }
    best.0
}

/// By how much mode `to` pulls better than mode `from`, m/s², both on the torque pieces that hold at `x_piece`.
pub fn advantage<S: Scalar>(model: &Model<S>, road: &Road<S>, from: usize, to: usize, x: S) -> S {
    let a = |mode| Pull::new(model, Engaged::Mode { mode, x: x.value() }).a_x(model, road, x);
    a(to) - a(from)
}
