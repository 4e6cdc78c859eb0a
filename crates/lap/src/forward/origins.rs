//! Places at which a label could choose its gear, and the choices that are still open there.

use crate::forward::cell::{Here, Pass};
use crate::forward::gears::next_gear;
use crate::forward::labels::{NONE, Placed};
use crate::forward::profile::{Gears, Regime, Step, Upshift};
use crate::set::pull::Demand;
use crate::step::tableau::C;

/// Where a gear could be chosen: the label as it stood there, and what has been chosen so far.
///
/// The gear that pulls hardest is run first. A higher one spares upshifts, and costs drive until they would have come: so
/// it is tried only once an upshift is due, from the place of choice on.
struct Origin<'a> {
    at: Placed<'a>,
    /// The highest mode that may be chosen.
    top: usize,
    /// The highest mode tried.
    tried: usize,
    /// The origin before it, for modes above `top`.
    before: u32,
}

enum Choice<'a> {
    Here(Origin<'a>),
    /// One's own, and that of a label that was beaten: a higher gear from there on may still win.
    Both(u32, u32),
}

/// All places of choice. They share what lies before them, so that walks go to each of them once.
#[derive(Default)]
pub struct Origins<'a> {
    all: Vec<Choice<'a>>,
    /// No mode above this one can be chosen at it or before; it only falls.
    most: Vec<usize>,
    /// The last walk of `take` that came by, and how many there were.
    seen: Vec<usize>,
    walks: usize,
}

impl<'a> Origins<'a> {
    fn push(&mut self, choice: Choice<'a>) -> u32 {
        self.all.push(choice);
        self.most.push(usize::MAX);
        self.seen.push(0);
        self.all.len() as u32 - 1
    }

    /// Modes up to `top` may be chosen here; the label has taken `taken`. Those above `top` stay with the origin before.
    pub fn choose(&mut self, at: Placed<'a>, taken: usize, top: usize, before: u32) -> u32 {
        self.push(Choice::Here(Origin { at, top, tried: taken, before }))
    }

    /// The label could have been in modes up to `top` all along since it chose: its place of choice moves here.
    pub fn advance(&mut self, origin: u32, at: Placed<'a>, taken: usize, top: usize) -> u32 {
        let (mut own, mut others) = (origin, Vec::new());
        let old = loop {
            match self.all[own as usize] {
                Choice::Here(ref old) => break old,
                Choice::Both(next, other) => {
                    others.push(other);
                    own = next;
                }
            }
        };
        let (top, tried) = (top.min(old.top), old.tried.max(taken));
        if top <= tried {
            return origin;
        }
        let before = if old.top > top { own } else { old.before };
        let ahead = self.push(Choice::Here(Origin { at, top, tried, before }));
        others.into_iter().rev().fold(ahead, |ahead, other| self.inherit(ahead, other, taken))
    }

    /// The labels that take `mode` where it could be chosen last, unless one did already.
    pub fn take(&mut self, origin: u32, mode: usize, taken: &mut Vec<Placed<'a>>) {
        self.walks += 1;
        let mut open = vec![origin];
        while let Some(origin) = open.pop() {
            let i = origin as usize;
            if i >= self.all.len() || self.most[i] < mode || self.seen[i] == self.walks {
                continue;
            }
            self.seen[i] = self.walks;
            match &mut self.all[i] {
                Choice::Both(own, other) => open.extend([*other, *own]),
                Choice::Here(found) if found.top < mode => open.push(found.before),
                Choice::Here(found) if found.tried < mode => {
                    found.tried = mode;
                    let (top, mut placed) = (found.top, found.at);
                    placed.label.state.gears = Gears::engaged(mode);
                    placed.label.origin = origin;
                    placed.label.as_well = top;
                    taken.push(placed);
                }
                Choice::Here(_) => {}
            }
        }
    }

    /// Whether a mode above `mode` could still be chosen.
    fn is_open(&mut self, origin: u32, mode: usize) -> bool {
        let (mut open, mut passed) = (vec![(origin, mode)], Vec::new());
        while let Some((origin, mode)) = open.pop() {
            let i = origin as usize;
            if i >= self.all.len() || self.most[i] <= mode {
                continue;
            }
            // So it is if nothing is found; and nobody need come by again.
            passed.push((i, std::mem::replace(&mut self.most[i], mode)));
            match self.all[i] {
                Choice::Both(own, other) => open.extend([(other, mode), (own, mode)]),
                Choice::Here(ref o) if o.top > o.tried.max(mode) => {
                    passed.into_iter().rev().for_each(|(i, most)| self.most[i] = most);
                    return true;
                }
                Choice::Here(ref o) => open.push((o.before, mode.max(o.top))),
            }
        }
        false
    }

    /// What the winner may choose once the loser is dropped; `mode` is the winner's.
    pub fn inherit(&mut self, winner: u32, loser: u32, mode: usize) -> u32 {
        match winner != loser && self.is_open(loser, mode) {
            true => self.push(Choice::Both(winner, loser)),
            false => winner,
        }
    }
}

impl<'a> Pass<'a> {
    /// The label has taken `taken`; it could have taken any mode up to `top`.
    pub(super) fn choice(&mut self, here: &mut Here<'a>, taken: usize, top: usize, before: u32) {
        if self.timed {
            let (count, share, label) = (here.count, here.share, here.label);
            let at = Placed { count, share, entered: label.mark != NONE, label };
            here.label.origin = self.origins.choose(at, taken, top, before);
            here.label.as_well = top;
        }
    }

    /// What a step's end means for the gears a label may choose between.
    pub(super) fn choose(&mut self, here: &mut Here<'a>, step: &Step) {
        let gearing = &self.model.gearing;
        let (Gears::In { mode: was, up }, Gears::In { mode, up: now }) = (step.gears, here.label.state.gears) else {
            return;
        };
        if gearing.modes[mode].gear < gearing.modes[was].gear {
            // It need not have gone down.
            self.choice(here, mode, was, here.label.origin);
        }
        if let (Upshift::Due { elapsed: 0.0 }, Upshift::Ahead | Upshift::Held) = (now, up) {
            // A higher gear all along would have spared this shift.
            let next = next_gear(gearing, mode);
            if let Some(next) = next.filter(|_| self.may_be_born > 0) {
                self.may_be_born -= 1;
                self.origins.take(here.label.origin, next, &mut self.born);
            }
        }
        if here.label.as_well > mode {
            let suffices = if step.regime == Regime::Grip { self.suffices(step, mode) } else { 0 };
            let as_well = suffices.min(here.label.as_well);
            here.label.as_well = as_well;
            if as_well > mode {
                let at = Placed { count: here.count, share: here.share, entered: true, label: here.label };
                here.label.origin = self.origins.advance(here.label.origin, at, mode, as_well);
            }
        }
    }

    /// The highest gear that would have taken the same step: grip asked no more of it than it has.
    fn suffices(&self, step: &Step, mode: usize) -> usize {
        let (model, arc) = (self.model, &step.arc);
        let asked = [0.0, C[0] * step.tau, step.tau].map(|tau| {
            let road = self.mesh.road_in(&self.mesh.cells[arc.cell], arc.place(tau));
            Demand::new(model, &road, arc.poly.at(tau), arc.a_x(self.mesh, &road, tau))
        });
        let enough = |to: usize| asked.iter().all(|asked| asked.below(model, to));
        let mut top = mode;
        while let Some(to) = next_gear(&model.gearing, top).filter(|&to| enough(to)) {
            top = to;
        }
        top
    }
}
