//! Random but valid cars on random valid tracks: whatever comes out must mean something. Even seeds are usual cars on
//! usual tracks, odd ones anything that is possible. `FROM=… TO=…` chooses the seeds; see also the ignored tests at the
//! end, which show one case.

use std::collections::BTreeMap;
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::sync::LazyLock;
use std::sync::atomic::{AtomicUsize, Ordering};
use std::time::{Duration, Instant};

use crate::common::judge::{best_slack, day, is_true, jumps, largest, road_at, slacks, unsound};
use crate::common::quantile;
use crate::common::random::{Kind, Rng, car, track};
use rayon::prelude::*;
use unladen_lap::{Course, Lap, LapError, STEP_M, Status};
use unladen_testkit::parts;
use unladen_track::Track;
use unladen_vehicle::{Car, Model};

/// Cases in every run; `TO=10000` is run by hand.
const CASES: u64 = 1_000;

fn setting(name: &str) -> Option<f64> {
    std::env::var(name).ok().and_then(|v| v.parse().ok())
}

fn seeds() -> std::ops::Range<u64> {
    setting("FROM").map_or(0, |n| n as u64)..setting("TO").map_or(CASES, |n| n as u64)
}

fn case(seed: u64) -> (Car, Track) {
    let mut r = Rng::new(seed);
    let kind = if seed.is_multiple_of(2) { Kind::Usual } else { Kind::Odd };
    let track = track(&mut r, kind, 700.0);
    (car(&mut r, kind), track)
}

/// What came of a lap, looked at from outside.
struct Seen {
    seed: u64,
    status: Result<Status, LapError>,
    unsound: Option<String>,
    /// Worst grip and power slack of a row, worst best slack at a row's speed, worst jump.
    grip: f64,
    power: f64,
    speed: f64,
    jump: (f64, f64),
    seconds: f64,
}

impl Seen {
    /// Nothing seen yet.
    fn of(seed: u64) -> Self {
        let far = f64::INFINITY;
        Self {
            seed,
            status: Ok(Status::Settled),
            unsound: None,
            grip: far,
            power: far,
            speed: far,
            jump: (0.0, 0.0),
            seconds: 0.0,
        }
    }
}

fn see(seed: u64) -> Seen {
    let (car, track) = case(seed);
    let start = Instant::now();
    let mut seen = Seen::of(seed);
    let solved = catch_unwind(AssertUnwindSafe(|| {
        let course = Course::with_step(&track, STEP_M);
        course.lap(&car).map(|lap| (lap.trace(), lap))
    }));
    seen.seconds = start.elapsed().as_secs_f64();
    let (rows, lap): (Vec<_>, Lap) = match solved {
        Err(panic) => {
            let text = panic.downcast_ref::<String>().cloned();
            let text = text.or_else(|| panic.downcast_ref::<&str>().map(ToString::to_string)).unwrap_or_default();
            seen.unsound = Some(format!("panic: {text}"));
            return seen;
        }
        Ok(Err(error)) => {
            seen.status = Err(error);
            return seen;
        }
        Ok(Ok(solved)) => solved,
    };
    seen.status = Ok(lap.status);
    seen.unsound = unsound(&lap, &rows, &track);
    let model = lap.model();
    for row in &rows {
        let (grip, power) = slacks(model, &track, row);
        if grip.is_nan() || power.is_nan() {
            seen.unsound = Some(format!("slack of {row:?}"));
        }
        if grip < -1e-9 {
            seen.speed = seen.speed.min(best_slack(model, &track, row));
        }
        (seen.grip, seen.power) = (seen.grip.min(grip), seen.power.min(power));
    }
    // A lap that says itself that it is hardly known need not be driven.
    if lap.error < HARDLY * lap.time {
        seen.jump = jumps(model, &track, &rows);
    }
    seen
}

/// A lap whose stated error is this share of its time is hardly known.
const HARDLY: f64 = 0.01;

/// Longest that a lap may take, s: a hundred times a slow one.
const PATIENCE: Duration = Duration::from_secs(20);

/// [`see`] under a watch: a lap that does not end is a fault, and its thread is left behind. After three of them no more
/// are begun, or they would fill the machine.
fn watch(seed: u64) -> Option<Seen> {
    static LOST: AtomicUsize = AtomicUsize::new(0);
    if LOST.load(Ordering::Relaxed) >= 3 {
        return None;
    }
    let (send, receive) = std::sync::mpsc::channel();
    std::thread::spawn(move || drop(send.send(see(seed))));
    receive.recv_timeout(PATIENCE).ok().or_else(|| {
        LOST.fetch_add(1, Ordering::Relaxed);
        let unsound = Some(format!("no end within {} s", PATIENCE.as_secs()));
        Some(Seen { unsound, seconds: PATIENCE.as_secs_f64(), ..Seen::of(seed) })
    })
}

/// Solved once, looked at by several tests.
static SEEN: LazyLock<Vec<Seen>> = LazyLock::new(|| seeds().into_par_iter().filter_map(watch).collect());

/// Prints how a slack is spread and which settled laps have the worst; returns how many of them lie below the limit: of
/// usual cars, of odd.
fn told(what: &str, limit: f64, of: impl Fn(&Seen) -> f64) -> [usize; 2] {
    let settled = SEEN.iter().filter(|s| s.status == Ok(Status::Settled));
    let mut all: Vec<(f64, u64)> = settled.map(|s| (of(s), s.seed)).collect();
    all.sort_by(|a, b| a.0.total_cmp(&b.0));
    let values: Vec<f64> = all.iter().map(|a| a.0).collect();
    let below = [0, 1].map(|kind| all.iter().filter(|a| a.0 < limit && a.1 % 2 == kind).count());
    println!(
        "{what}: {below:?} (usual, odd) of {} laps below {limit:e}; 0.1 % {:.1e}, 1 % {:.1e}, 10 % {:.1e}, median {:.1e}",
        all.len(),
        quantile(&values, 0.001),
        quantile(&values, 0.01),
        quantile(&values, 0.1),
        quantile(&values, 0.5)
    );
    for (value, seed) in all.iter().filter(|a| a.0 < limit).take(12) {
        println!("  seed {seed}: {value:.1e}");
    }
    below
}

/// No panic, no NaN, time runs on, the lap closes; and how they ended.
#[test]
fn property_random_laps_are_sound() {
    let mut count = BTreeMap::<String, usize>::new();
    for seen in SEEN.iter() {
        let kind = if seen.seed % 2 == 0 { "usual" } else { "odd" };
        let how = match &seen.status {
            Ok(Status::Settled) => "settled",
            Ok(Status::Unsettled) => "unsettled",
            Ok(Status::Beyond { .. }) => "beyond",
            Err(LapError::NoSpeed { .. }) => "no speed",
            Err(LapError::Torn { .. }) => "torn",
            Err(LapError::Stalls { .. }) => "stalls",
            Err(LapError::CannotMoveOff) => "cannot move off",
            Err(LapError::StartTooFast { .. }) => "start too fast",
            #[allow(unreachable_patterns)]
            Err(_) => "another error",
        };
        *count.entry(format!("{kind}: {how}")).or_default() += 1;
    }
    println!("{count:?}");
    let mut slow: Vec<(f64, u64)> = SEEN.iter().map(|s| (s.seconds, s.seed)).collect();
    slow.sort_by(|a, b| b.0.total_cmp(&a.0));
    println!("slowest, s and seed: {:?}", &slow[..8.min(slow.len())]);
    let faults: Vec<_> = SEEN.iter().filter_map(|s| s.unsound.as_ref().map(|u| (s.seed, u))).collect();
    for (seed, fault) in faults.iter().take(12) {
        println!("seed {seed}: {fault}");
    }
    assert!(faults.is_empty(), "{} unsound laps", faults.len());
    // What a lap says of itself must stay rare, or the tests of settled laps would look at few.
    let of = |what: &str| count.iter().filter(|(how, _)| how.starts_with(what)).map(|(_, n)| n).sum::<usize>();
    let (usual, torn) = (of("usual"), of("usual: beyond") + of("usual: torn") + of("usual: unsettled"));
    assert!(torn * 200 <= usual, "{torn} of {usual} usual cars beyond, torn or unsettled");
    assert!(of("odd: settled") * 5 >= of("odd") * 2, "{} of {} odd cars settle", of("odd: settled"), of("odd"));
    assert_eq!(SEEN.len() as u64, seeds().end - seeds().start);
}

/// Every row of a settled lap is inside its own feasible set to 1e-9 (slack without unit: forces over weight, or their
/// squares), grip and power, and so is its speed: the tolerance. What is not says so by its status. (10⁴ cases by
/// hand: none of 7221 settled laps outside; of usual cars 4881 settle, 74 are beyond, 42 have errors, 3 do not repeat.)
#[test]
fn property_every_row_lies_in_its_own_set() {
    let below = [
        told("speed at the ceiling", -1e-9, |s| s.speed),
        told("grip of a row", -1e-9, |s| s.grip),
        told("power of a row", -1e-9, |s| s.power),
    ];
    assert_eq!(below, [[0; 2]; 3]);
}

/// No jumps of speed: what a cell asks for on average is within what grip allows at its ends, but for 10 m/s² where the
/// profile is cut off at a ceiling (a drop of 0.02 m/s over the shortest cell). (Of odd seed 925, ±5 s by its own account, speed
/// does jump.)
#[test]
fn property_speed_does_not_jump() {
    assert_eq!(told("less the mean of a cell", -10.0, |s| -s.jump.0), [0, 0]);
}

/// Every error of a usual car says what is so; of odd cars' one in nine is not so, or can't be looked up (torn):
/// `docs/model.md` §7. Where the car rolls to a stop during a shift, that is the rule's doing. (A fraction of a second each to
/// look up: the first 3000 cases.)
#[test]
fn property_every_error_is_true() {
    let some = SEEN.iter().take(3000);
    let errors: Vec<_> = some.filter_map(|s| s.status.as_ref().err().map(|e| (s.seed, e))).collect();
    let wrong: Vec<_> = errors
        .par_iter()
        .filter(|(seed, error)| {
            let (car, track) = case(*seed);
            let shifting = matches!(error, LapError::Stalls { .. }) && car.driveline.shift_time > 0.0;
            !is_true(error, &car, &track) && !shifting
        })
        .collect();
    let usual = wrong.iter().filter(|w| w.0 % 2 == 0).count();
    println!("{} errors, {} not so ({usual} of usual cars)", errors.len(), wrong.len());
    for (seed, error) in wrong.iter().take(20) {
        println!("seed {seed}: {error}");
    }
    assert_eq!(usual, 0);
    assert!(wrong.len() * 7 <= errors.len(), "{} of {} errors are not so", wrong.len(), errors.len());
}

/// The stated error covers the true one, against 16 times finer cells, in 99.5 % of usual cars: one of 50 may be off. (By hand,
/// 1486 cars up to seed 3000: 11 off, of which 4 are of laps whose finest run is not known better than that itself.)
#[test]
fn property_the_stated_error_covers_the_true_one() {
    let seeds = parts::seeds(0..200, 4);
    let allowed = 1 + seeds.clone().count() / 200;
    assert!(stated_error(seeds.map(|i| 2 * i)) <= allowed);
}

/// It covers that of cars which once passed a joint of the torque curve along grip, kept to power where grip was less only at
/// the start, or took a gear that was short of drive there: laps off by 0.2 to 1.2 ms.
#[test]
fn property_the_stated_error_covers_steps_that_begin_or_end_otherwise() {
    assert_eq!(stated_error_of(&[1134, 1430, 2158, 2830]), 0);
}

/// The same for odd cars, whose sets fall into parts: one in ten may be off by more (`docs/model.md` §7).
#[test]
fn property_the_stated_error_covers_the_true_one_of_most_odd_cars() {
    let seeds = parts::seeds(0..60, 6);
    let allowed = 1 + seeds.clone().count() / 20;
    assert!(stated_error(seeds.map(|i| 2 * i + 1)) <= allowed);
}

/// How many of these laps are off by more than stated.
fn stated_error(seeds: impl Iterator<Item = u64>) -> usize {
    let first = self::seeds().start;
    stated_error_of(&seeds.map(|s| s + first).collect::<Vec<_>>())
}

fn stated_error_of(seeds: &[u64]) -> usize {
    let mut all: Vec<_> = seeds
        .par_iter()
        .filter_map(|&seed| {
            let (car, track) = case(seed);
            let lap = Course::with_step(&track, STEP_M).lap(&car).ok()?;
            let fine = Course::with_step(&track, STEP_M / 16.0).lap(&car);
            let (off, fine_error) = fine.as_ref().map_or((f64::INFINITY, f64::NAN), |f| (lap.time - f.time, f.error));
            Some((off.abs() / lap.error, off, lap.error, fine_error, seed))
        })
        .collect();
    all.sort_by(|a, b| b.0.total_cmp(&a.0));
    let beyond = all.iter().filter(|a| a.0 > 1.0).count();
    let mut off: Vec<f64> = all.iter().map(|a| a.1.abs()).collect();
    let mut stated: Vec<f64> = all.iter().map(|a| a.2).collect();
    off.sort_by(f64::total_cmp);
    stated.sort_by(f64::total_cmp);
    println!(
        "{} laps, {beyond} off by more than stated; true median {:.1e}, 95 % {:.1e}, over 1 ms {}; stated median {:.1e}, \
         95 % {:.1e}",
        all.len(),
        quantile(&off, 0.5),
        quantile(&off, 0.95),
        off.iter().filter(|&&o| o > 1e-3).count(),
        quantile(&stated, 0.5),
        quantile(&stated, 0.95)
    );
    for (ratio, off, stated, fine, seed) in all.iter().filter(|a| a.0 > 1.0) {
        println!("  seed {seed}: off {off:.1e}, stated {stated:.1e} ({ratio:.1} times), fine run's own {fine:.1e}");
    }
    beyond
}

#[test]
#[ignore = "to look at one case: SEED=… STEP=…"]
fn look() {
    let (car, track) = case(setting("SEED").unwrap() as u64);
    println!("{car:?}\n{track:?}");
    let course = Course::with_step(&track, setting("STEP").unwrap_or(STEP_M));
    let lap = match course.lap(&car) {
        Ok(lap) => lap,
        Err(e) => return println!("{e}"),
    };
    println!("{} ± {} {:?}", lap.time, lap.error, lap.status);
    let model = lap.model();
    let rows = lap.trace();
    println!("jump {:?}", jumps(model, &track, &rows));
    for row in rows {
        let (g, p) = slacks(model, &track, &row);
        println!(
            "s {:9.3} t {:9.4} v {:8.4} ax {:8.4} ay {:8.4} gear {} {:10} g {g:9.2e} p {p:9.2e} {}",
            row.s,
            row.t,
            row.v,
            row.a_x,
            row.a_y,
            row.gear,
            row.limit.key(),
            if g < -1e-9 || p < -1e-9 { "OUT" } else { "" }
        );
    }
}

#[test]
#[ignore = "grip against a_x at a place: SEED=… S=… V=… LO=… HI=… N=…"]
fn scan() {
    let (car, track) = case(setting("SEED").unwrap() as u64);
    let model = Model::new(&car, day(&track));
    let road = road_at(&track, setting("S").unwrap());
    let (lo, hi) = (setting("LO").unwrap_or(-20.0), setting("HI").unwrap_or(20.0));
    let (n, v) = (setting("N").unwrap_or(40.0), setting("V").unwrap());
    for i in 0..=n as usize {
        let a = lo + (hi - lo) * i as f64 / n;
        let g = model.grip(&road, v * v, a);
        println!("a {a:9.5} slack {:12.4e} {:?}", g.value, g.bound);
    }
}

#[test]
#[ignore = "feasible speeds about a place: SEED=… S=… W=…"]
fn speeds() {
    let (car, track) = case(setting("SEED").unwrap() as u64);
    let model = Model::new(&car, day(&track));
    let (s, w) = (setting("S").unwrap(), setting("W").unwrap_or(2.0));
    for i in -10..=10 {
        let s = s + w * f64::from(i) / 10.0;
        let road = road_at(&track, s);
        let feasible = |v: f64| largest(&model, &road, (v * v).max(1e-6)).is_some();
        let on: Vec<f64> = (0..=4000).map(|j| 0.01 * f64::from(j)).filter(|&v| feasible(v)).collect();
        let first = on.first().zip(on.last());
        let gaps = on.windows(2).filter(|w| w[1] - w[0] > 0.011).count();
        println!("s {s:.4} gamma {:.2}: feasible from … to {first:?} m/s with {gaps} gaps", road.gamma);
    }
}
