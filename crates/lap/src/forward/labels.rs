//! Labels: how far one sequence of gears has come. Where shifts take time several run side by side; one that cannot win any
//! more is dropped.

use crate::forward::profile::{Gears, Regime, State, Upshift};
use crate::step::arc::Tracer;

/// Nothing: no origin, no mark before.
pub const NONE: u32 = u32::MAX;

/// What the next step's roots start from.
#[derive(Clone, Copy)]
pub struct Memory<'a> {
    /// Follows the upper edge.
    pub tracer: Tracer<'a>,
    /// What rules.
    pub regime: Regime,
    /// The step before ended only because its cell did, in the regime that ruled there.
    pub goes_on: bool,
}

impl Memory<'_> {
    /// Where limits jump.
    pub fn forget(&mut self) {
        self.tracer.lift();
        self.goes_on = false;
    }
}

/// One sequence of gears, as far as it has come.
#[derive(Clone, Copy)]
pub struct Label<'a> {
    /// X, gear and shift.
    pub state: State,
    /// Time since the pass began, s.
    pub t: f64,
    /// Its way so far, in [`Paths`].
    pub mark: u32,
    /// See [`Memory`].
    pub memory: Memory<'a>,
    /// Where it last could choose its gear, in [`Origins`].
    pub origin: u32,
    /// The highest mode that would have taken it the same way since then: where grip ruled and that mode had enough.
    pub as_well: usize,
    /// It keeps its gear where that lacks drive: nothing else is left.
    pub keeps: bool,
}

/// A label at a place: the cell counted from the beginning of the pass, and the share of it that lies behind.
#[derive(Clone, Copy)]
pub struct Placed<'a> {
    /// Which cell.
    pub count: usize,
    /// Where in it.
    pub share: f64,
    /// It is on this cell's way already.
    pub entered: bool,
    /// The label.
    pub label: Label<'a>,
}

impl<'a> Placed<'a> {
    /// A label at a cell's start.
    pub fn at_start(count: usize, label: Label<'a>) -> Self {
        Self { count, share: 0.0, entered: false, label }
    }
}

/// What decides between labels at one station.
#[derive(Clone, Copy)]
pub struct Standing {
    /// X, gear and shift.
    pub state: State,
    /// Time since the pass began, s.
    pub t: f64,
    /// See [`Label::mark`].
    pub mark: u32,
}

impl From<&Label<'_>> for Standing {
    fn from(label: &Label) -> Self {
        Self { state: label.state, t: label.t, mark: label.mark }
    }
}

/// A shift costs no more than its own time, but for what the road does meanwhile: so much more is left for that.
const COSTLIEST: f64 = 1.25;

/// Times and X that differ by less are the same, relative.
const SAME: f64 = 1e-12;

impl Standing {
    /// Any gear may be taken.
    pub fn is_free(&self) -> bool {
        self.state.on_k || self.state.gears == Gears::Braking
    }

    /// At the same time and speed as `other`.
    pub fn alike(&self, other: &Standing) -> bool {
        (self.state.x - other.state.x).abs() <= SAME * self.state.x && (self.t - other.t).abs() <= SAME * (1.0 + self.t)
    }

    /// Whoever stands at `other` cannot win against this any more: it is no earlier and no faster, and in the same gear or
    /// one that is freely reached from this one's; or in a higher gear, but further behind than the shifts it spares.
    pub fn beats(&self, other: &Standing, gear: impl Fn(usize) -> u8, shift_time: f64) -> bool {
        if other.state.x > self.state.x * (1.0 + SAME) || self.t > other.t + SAME * (1.0 + other.t) {
            return false;
        }
        if self.is_free() || other.is_free() {
            return self.is_free();
        }
        let of = |gears: Gears| match gears {
            Gears::In { mode, up } => (gear(mode), 0.0, Some(up)),
            Gears::Shifting { to, elapsed } => (gear(to), shift_time - elapsed, None),
            Gears::Braking => (u8::MAX, 0.0, None),
        };
        let ((own, left, up), (others, others_left, others_up)) = (of(self.state.gears), of(other.state.gears));
        match own.cmp(&others) {
            std::cmp::Ordering::Greater => left <= others_left,
            std::cmp::Ordering::Equal => {
                left <= others_left && (up == others_up || up == Some(Upshift::Ahead) || others_up.is_none())
            }
            std::cmp::Ordering::Less => {
                let spares = f64::from(others - own) * shift_time + left - others_left;
                other.t - self.t > COSTLIEST * spares
            }
        }
    }
}
