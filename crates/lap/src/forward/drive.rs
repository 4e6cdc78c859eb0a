//! The forward pass: as hard as grip, engine and gears allow, under K(s). Without shift time one label runs through the
//! cells; with it the quickest of several sequences of gears is found (label setting, `docs/model.md` §6).

use std::ops::Range;
use std::sync::Arc as Shared;

use unladen_vehicle::Model;

use crate::backward::brake::Braking;
use crate::forward::cell::Pass;
use crate::forward::events::{Events, TIE};
use crate::forward::labels::{Label, Memory, NONE, Placed, Standing};
use crate::forward::origins::Origins;
use crate::forward::paths::{Mark, Paths};
use crate::forward::profile::{Driven, Gears, Profile, Regime, Rival, State, Stop};
use crate::set::pull::{advantage, best_mode};
use crate::step::arc::Tracer;
use crate::step::mesh::Mesh;

/// Labels that may come into being over one cell; after so many (odd cars) an upshift that is due is simply made.
const MANY: usize = 64;

/// Cells that all labels together may pass, per cell of the course: after so many no more labels come into being (a few cars
/// on a course that is nearly all top speed, whose sequences chase one another lap after lap: their laps are longer by
/// milliseconds for it, and took a thousand times as long to find).
const PASSES: usize = 64;

/// A circuit is driven so often at most until a label repeats.
const LAPS: usize = 40;

/// Two sequences of gears whose times differ by less than this are as quick as one another, s.
const AS_QUICK: f64 = 1e-3;

/// Two labels that met on K: the way that went on, the one that did not, and how much later that was.
struct Meeting {
    winner: u32,
    loser: u32,
    behind: f64,
}

struct Race<'a> {
    pass: Pass<'a>,
    n: usize,
    first: usize,
    /// Labels at each station, the last time it was passed.
    passed: Vec<Range<usize>>,
    standings: Vec<Standing>,
    meetings: Vec<Meeting>,
    /// Labels still to be driven over the cell under way.
    work: Vec<Placed<'a>>,
    /// Cells that labels have passed.
    passes: usize,
}

/// Run the pass under K.
pub fn drive(mesh: &Mesh, model: &Model, k: &Braking) -> Result<Driven, Stop> {
    let n = mesh.cells.len();
    let first = if mesh.closed { (0..n).min_by(|&i, &j| k.k[i].total_cmp(&k.k[j])).unwrap_or(0) } else { 0 };
    let x = if mesh.closed { k.k[first] } else { mesh.x_start };
    if x > k.k[first] * (1.0 + 1e-12) {
        return Err(Stop::StartTooFast { x_max: k.k[first] });
    }
    let mut pass = Pass {
        mesh,
        model,
        k,
        timed: model.gearing.shift_time > 0.0,
        events: Events { mesh, model, k },
        steps: Vec::with_capacity(2 * n),
        paths: Paths::with_capacity(4 * n),
        origins: Origins::default(),
        born: vec![],
        may_be_born: MANY,
        spare: None,
    };
    let mode = best_mode(model, &mesh.cells[first].backward[2], x);
    let state = State { x, on_k: x >= k.k[first], gears: Gears::engaged(mode) };
    let memory = Memory { tracer: Tracer::new(mesh, model, 1.0), regime: Regime::Grip, goes_on: false };
    let mut start = Label { state, t: 0.0, mark: NONE, memory, origin: NONE, as_well: 0, keeps: false };
    if pass.timed {
        start.as_well = model.gearing.modes.len() - 1;
        start.origin = pass.origins.choose(Placed::at_start(0, start), mode, start.as_well, NONE);
    }
    let passed = vec![0..0; n + 1];
    let mut race = Race { pass, n, first, passed, standings: vec![], meetings: vec![], work: vec![], passes: 0 };
    race.run(start)
}

impl<'a> Race<'a> {
    fn run(&mut self, start: Label<'a>) -> Result<Driven, Stop> {
        let (n, closed) = (self.n, self.pass.mesh.closed);
        let mut labels = vec![start];
        self.note(self.first, &labels);
        let laps = if closed { LAPS } else { 1 };
        for count in 0..laps * n {
            labels = self.through(count, labels).map_err(|stop| match stop {
                Stop::Stalls { cell, .. } => Stop::Stalls { cell, at_start: count == 0 && start.state.x == 0.0 },
                other => other,
            })?;
            let next = self.station(count + 1);
            if closed
                && count + 1 >= n
                && let Some(label) = self.repeats(&labels, next, count >= (LAPS - 1) * n)
            {
                return Ok(self.driven(label, next, true));
            }
            self.note(next, &labels);
        }
        let quickest = labels.iter().min_by(|a, b| a.t.total_cmp(&b.t)).copied().unwrap_or(start);
        for other in labels.iter().filter(|other| other.mark != quickest.mark) {
            self.meet(&quickest, other);
        }
        Ok(self.driven(quickest, self.first, !closed))
    }

    /// All labels over one cell, with those that start further back and catch up; those that can still win.
    fn through(&mut self, count: usize, labels: Vec<Label<'a>>) -> Result<Vec<Label<'a>>, Stop> {
        let (mut work, mut arrived, mut stopped) = (std::mem::take(&mut self.work), labels, None);
        work.extend(arrived.drain(..).map(|label| Placed::at_start(count, label)));
        self.pass.may_be_born = if self.passes < PASSES * self.n { MANY } else { 0 };
        while let Some(placed) = work.pop() {
            let cell = placed.count;
            self.passes += 1;
            match self.pass.cell((self.first + cell) % self.n, &placed) {
                Ok(label) if cell == count => arrived.push(label),
                Ok(label) if self.left_behind(cell + 1, &label) => {}
                Ok(label) => work.push(Placed::at_start(cell + 1, label)),
                Err(stop) => stopped = stopped.or(Some(stop)),
            }
            work.append(&mut self.pass.born);
            if work.is_empty() && arrived.is_empty() {
                work.extend(self.pass.spare.take());
            }
        }
        self.work = work;
        match stopped {
            Some(stop) if arrived.is_empty() => Err(stop),
            _ => Ok(self.sift(arrived, count + 1)),
        }
    }

    /// Whether one that has already passed this station beats a label that comes to it now.
    fn left_behind(&self, count: usize, label: &Label) -> bool {
        let own = Standing::from(label);
        self.standings[self.passed[self.station(count)].clone()].iter().any(|other| self.beats(other, &own))
    }

    fn beats(&self, a: &Standing, b: &Standing) -> bool {
        let gearing = &self.pass.model.gearing;
        a.beats(b, |mode| gearing.modes[mode].gear, gearing.shift_time)
    }

    /// The labels that can still win, before the `count`-th cell.
    fn sift(&mut self, mut labels: Vec<Label<'a>>, count: usize) -> Vec<Label<'a>> {
        let mut i = 0;
        while i < labels.len() {
            let own = Standing::from(&labels[i]);
            let beats = |other: &Label<'a>| self.beats(&Standing::from(other), &own);
            let better = (0..labels.len()).filter(|&j| j != i && beats(&labels[j]));
            let mut better = better.filter(|&j| !self.alike_but_stronger(&labels[i], &labels[j], count));
            let Some(j) = better.next() else {
                i += 1;
                continue;
            };
            let winner = labels[j];
            if self.pulls_harder(&labels[i], &winner, count) {
                labels[i] = self.changed_down(&winner, &labels[i], count);
                continue;
            }
            let loser = labels.remove(i);
            if winner.state.on_k && loser.state.on_k {
                self.meet(&winner, &loser);
            }
            let j = if j > i { j - 1 } else { j };
            if let (false, Some(mode)) = (winner.state.on_k, mode_of(winner.state.gears)) {
                labels[j].origin = self.pass.origins.inherit(winner.origin, loser.origin, mode);
            }
            i = 0;
        }
        labels
    }

    /// A label stands where the other does, in a lower gear that pulls harder.
    fn alike_but_stronger(&self, label: &Label, other: &Label, count: usize) -> bool {
        let (a, b) = (Standing::from(label), Standing::from(other));
        a.alike(&b) && self.pulls_harder(label, other, count)
    }

    /// A label's gear is lower than the other's, and would pull harder at the other's speed.
    fn pulls_harder(&self, label: &Label, other: &Label, count: usize) -> bool {
        let (Gears::In { mode: low, .. }, Gears::In { mode: high, .. }) = (label.state.gears, other.state.gears) else {
            return false;
        };
        let (pass, x) = (&self.pass, other.state.x);
        let road = pass.mesh.road_at(self.station(count));
        let gain = || advantage(pass.model, road, high, low, x);
        let free = label.state.on_k || other.state.on_k;
        !free && low < high && x < pass.model.gearing.modes[low].x_end && gain() > TIE
    }

    /// The winner in the loser's lower gear: that is ahead of the loser.
    fn changed_down(&mut self, winner: &Label<'a>, loser: &Label<'a>, count: usize) -> Label<'a> {
        let mut label = *winner;
        if let (Some(low), Some(high)) = (mode_of(loser.state.gears), mode_of(winner.state.gears)) {
            label.state.gears = Gears::engaged(low);
            label.memory.goes_on = false;
            label.origin = self.pass.origins.choose(Placed::at_start(count, label), low, high, winner.origin);
            label.as_well = high;
        }
        label
    }

    fn station(&self, count: usize) -> usize {
        if self.pass.mesh.closed { (self.first + count) % self.n } else { count }
    }

    fn meet(&mut self, winner: &Label, loser: &Label) {
        let behind = loser.t - winner.t;
        if behind < AS_QUICK {
            self.meetings.push(Meeting { winner: winner.mark, loser: loser.mark, behind });
        }
    }

    fn note(&mut self, station: usize, labels: &[Label]) {
        let begin = self.standings.len();
        self.standings.extend(labels.iter().map(Standing::from));
        self.passed[station] = begin..self.standings.len();
    }

    /// The label that stands as its forebear stood here a lap ago: the quickest such, once all do (in the last lap, any).
    fn repeats(&self, labels: &[Label<'a>], station: usize, any: bool) -> Option<Label<'a>> {
        let before = &self.standings[self.passed[station].clone()];
        let lap = |label: &Label<'a>| {
            let alike = before.iter().filter(|b| same(&label.state, &b.state));
            let forebear = { alike }.find(|b| self.pass.paths.descends(label.mark, b.mark));
            forebear.map(|b| label.t - b.t)
        };
        let laps: Vec<_> = labels.iter().map_while(|label| lap(label).or(any.then_some(f64::INFINITY))).collect();
        if laps.len() < labels.len() {
            return None;
        }
        let all = laps.into_iter().zip(labels).filter(|(t, _)| t.is_finite());
        all.min_by(|a, b| a.0.total_cmp(&b.0)).map(|(_, label)| *label)
    }

    /// The label's profile, and that of its closest rival.
    fn driven(&mut self, label: Label, next: usize, settled: bool) -> Driven {
        let (paths, n) = (&self.pass.paths, self.n);
        let finish = |way: &mut dyn Iterator<Item = Mark>| -> Profile {
            let mut profile = Paths::profile(way, n, next, label.state);
            profile.first = self.first;
            profile.unsettled = !settled;
            if self.pass.mesh.closed {
                profile.states[n] = profile.states[0];
            }
            profile
        };
        let mut profile = finish(&mut paths.back(label.mark).map(|(_, mark)| mark));
        let way: Vec<u32> = if self.meetings.is_empty() {
            vec![]
        } else {
            let mut stations = 0;
            let lap = paths.back(label.mark).take_while(|(_, mark)| {
                stations += usize::from(matches!(mark, Mark::Station(_)));
                stations <= n
            });
            lap.map(|(at, _)| at).collect()
        };
        let close = self.meetings.iter().filter(|m| way.binary_search_by(|at| m.winner.cmp(at)).is_ok());
        let mut rival = close.min_by(|a, b| a.behind.total_cmp(&b.behind)).map(|m| {
            let after = paths.back(label.mark).take_while(|&(at, _)| at != m.winner);
            let profile = finish(&mut after.chain(paths.back(m.loser)).map(|(_, mark)| mark));
            Rival { behind: m.behind, profile }
        });
        profile.steps = Shared::new(std::mem::take(&mut self.pass.steps));
        if let Some(rival) = &mut rival {
            rival.profile.steps = Shared::clone(&profile.steps);
        }
        Driven { profile, rival }
    }
}

/// The mode that a label is in or shifts to, unless any may be taken.
fn mode_of(gears: Gears) -> Option<usize> {
    match gears {
        Gears::In { mode, .. } | Gears::Shifting { to: mode, .. } => Some(mode),
        Gears::Braking => None,
    }
}

fn same(a: &State, b: &State) -> bool {
    let gears = match (a.gears, b.gears) {
        _ if a.on_k && b.on_k => true,
        (Gears::Braking, Gears::Braking) => true,
        (Gears::In { mode: m, up: p }, Gears::In { mode: n, up: q }) => m == n && p == q,
        (Gears::Shifting { to: m, elapsed: p }, Gears::Shifting { to: n, elapsed: q }) => {
            m == n && (p - q).abs() < 1e-12
        }
        _ => false,
    };
    gears && a.on_k == b.on_k && (a.x - b.x).abs() <= 1e-13 * a.x
}
