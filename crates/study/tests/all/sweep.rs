//! Sweeps: what a cell is, that it does not depend on threads or pieces, and its derivatives against its neighbours.

use std::sync::atomic::{AtomicUsize, Ordering};

use unladen_lap::{Course, STEP_M};
use unladen_study::sweep::{Axis, Cell, Grid, NoLap, Sweep, Tankful};
use unladen_testkit::roads::flat;
use unladen_track::Track;
use unladen_vehicle::fuel::Tank;
use unladen_vehicle::{Car, example_car};

fn oval(grip: f64) -> Track {
    let half = std::f64::consts::PI * 60.0;
    let turn = |k: f64| flat(half, [k / 60.0; 2]);
    let segments = vec![flat(300.0, [0.0; 2]), turn(1.0), flat(300.0, [0.0; 2]), turn(1.0)];
    Track { name: "oval".into(), closed: true, start_speed: 0.0, rho: 1.225, grip, segments }
}

fn axis(from: f64, to: f64, count: u64) -> Option<Axis> {
    Some(Axis::new(from, to, count).unwrap())
}

const TANK: Tank = Tank { x: 2.65, y: 0.1, z: 0.39, length: 0.42, width: 0.7, height: 0.24 };
const FULL: Tankful = Tankful { tank: TANK, density: 745.0, on_track: 0.03 };

fn all(car: &Car, track: &Track, grid: &Grid) -> Vec<Cell> {
    let course = Course::new(track);
    let sweep = Sweep { car, course: &course, step_m: STEP_M, grid };
    sweep.cells(0..grid.cells().unwrap(), &|| true)
}

fn grid() -> Grid {
    Grid {
        grip: axis(0.7, 1.0, 2),
        fuel: Some((Axis::new(0.0, 0.06, 2).unwrap(), FULL)),
        mass: axis(1100.0, 1300.0, 3),
        cg_height: axis(0.45, 0.55, 2),
        front_share: axis(0.5, 0.58, 2),
    }
}

/// The order of the cells and the car in each, by hand: 30 L are off, none or 60 L are on.
#[test]
fn closed_form_a_cell_s_car() {
    let (car, course, grid) = (example_car(), Course::new(&oval(1.0)), grid());
    let sweep = Sweep { car: &car, course: &course, step_m: STEP_M, grid: &grid };
    assert_eq!(grid.cells(), Some(48));
    let first = sweep.setting(0);
    assert_eq!((first.grip, first.fuel), (0.7, Some(0.0)));
    let fuel = 0.03 * 745.0;
    let l = car.chassis.l;
    let level = 0.39 + 0.5 * 0.03 / (0.42 * 0.7);
    assert!((first.mass.m - (1100.0 - fuel)).abs() < 1e-9);
    assert!((first.mass.h - (1100.0 * 0.45 - fuel * level) / (1100.0 - fuel)).abs() < 1e-12);
    assert!((first.mass.a - (1100.0 * 0.5 * l - fuel * 2.65) / (1100.0 - fuel)).abs() < 1e-12);
    // The last axis is the fastest, and the last cell has the ends of them all.
    let (second, last) = (sweep.setting(1), sweep.setting(47));
    assert!((second.mass.m - first.mass.m).abs() < 1e-9 && second.front_share > first.front_share);
    assert_eq!((last.grip, last.fuel), (1.0, Some(0.06)));
    assert!((last.mass.m - (1300.0 + fuel)).abs() < 1e-9);
    // Swept over nothing but its mass, the car keeps all else to the bit.
    let only = Grid { mass: axis(1200.0, 1200.0, 1), ..Grid::default() };
    let one = Sweep { grid: &only, ..sweep }.setting(0).mass;
    assert_eq!((one.a, one.h, one.y_cg), (car.mass.a, car.mass.h, car.mass.y_cg));
}

/// The same fuel as in the file is the same car, but for rounding; the file's own cell is the reference lap to the bit.
#[test]
fn property_the_car_as_it_stands_is_a_cell() {
    let (car, track) = (example_car(), oval(1.0));
    let course = Course::new(&track);
    let grid = Grid { mass: axis(car.mass.m, car.mass.m, 1), grip: axis(1.0, 1.0, 1), ..Grid::default() };
    let sweep = Sweep { car: &car, course: &course, step_m: STEP_M, grid: &grid };
    let reference = sweep.reference().unwrap();
    assert_eq!(sweep.cells(0..1, &|| true), [sweep.standing(&reference)]);
    let fuel = Grid { fuel: Some((Axis::new(0.03, 0.03, 1).unwrap(), FULL)), ..Grid::default() };
    let same = all(&car, &track, &fuel)[0].found.clone().unwrap();
    assert!((same.lap_time - reference.lap_time).abs() < 1e-9);
}

#[test]
fn property_threads_and_pieces_change_nothing() {
    let (car, track, grid) = (example_car(), oval(1.0), grid());
    let course = Course::new(&track);
    let sweep = Sweep { car: &car, course: &course, step_m: STEP_M, grid: &grid };
    let on = |threads: usize, piece: u64| -> Vec<Cell> {
        let pool = rayon::ThreadPoolBuilder::new().num_threads(threads).build().unwrap();
        let cells = grid.cells().unwrap();
        pool.install(|| {
            (0..cells.div_ceil(piece))
                .flat_map(|i| sweep.cells(i * piece..((i + 1) * piece).min(cells), &|| true))
                .collect()
        })
    };
    let one = on(1, 48);
    assert!(one.iter().all(|c| c.found.is_ok()));
    for (threads, piece) in [(1, 5), (2, 48), (2, 7), (3, 1)] {
        assert_eq!(on(threads, piece), one, "{threads} threads, pieces of {piece}");
    }
}

/// Told to stop, it gives the cells that are done, in their order, without a gap.
#[test]
fn property_stopped_it_keeps_a_beginning() {
    let (car, track) = (example_car(), oval(1.0));
    let course = Course::new(&track);
    let grid = Grid { mass: axis(1000.0, 1400.0, 24), ..Grid::default() };
    let sweep = Sweep { car: &car, course: &course, step_m: 20.0, grid: &grid };
    let whole = sweep.cells(0..24, &|| true);
    let left = AtomicUsize::new(9);
    let some =
        sweep.cells(0..24, &|| left.fetch_update(Ordering::SeqCst, Ordering::SeqCst, |n| n.checked_sub(1)).is_ok());
    assert!(some.len() <= 9);
    assert_eq!(some[..], whole[..some.len()]);
    assert!(sweep.cells(0..24, &|| false).is_empty());
}

/// Slopes of a cell against its neighbours' laps, without a shift time that would move gears between them: the central
/// difference of a smooth lap is off by its third derivative, far below 1 % over these steps.
#[test]
fn independent_central_difference_of_the_slopes() {
    let mut car = example_car();
    car.driveline.shift_time = 0.0;
    let check = |grid: Grid, slope: usize, width: f64| {
        let [before, here, after] = &all(&car, &oval(1.0), &grid)[..] else { panic!("three cells are due") };
        let time = |c: &Cell| c.found.as_ref().unwrap().lap_time;
        let (central, exact) = ((time(after) - time(before)) / width, here.found.as_ref().unwrap().slopes[slope]);
        println!("slope {slope}: {exact}, central {central}");
        assert!((central - exact).abs() < 0.01 * exact.abs(), "{slope}: {central} {exact}");
    };
    let Car { mass, chassis, .. } = car.clone();
    check(Grid { mass: axis(mass.m - 2.0, mass.m + 2.0, 3), ..Grid::default() }, 0, 4.0);
    check(Grid { cg_height: axis(mass.h - 2e-3, mass.h + 2e-3, 3), ..Grid::default() }, 1, 4.0);
    // More weight on the front is the centre of gravity further forward.
    let share = |a: f64| 1.0 - a / chassis.l;
    check(Grid { front_share: axis(share(mass.a - 1e-3), share(mass.a + 1e-3), 3), ..Grid::default() }, 2, 2.0);
}

/// A track turned left for right and a car turned left for right: the same times.
#[test]
fn property_mirror_image() {
    let mut car = example_car();
    car.mass.y_cg = 0.03;
    let mut mirrored = car.clone();
    mirrored.mass.y_cg = -0.03;
    let mut track = oval(1.0);
    for s in &mut track.segments {
        s.kappa = s.kappa.map(|k| -k);
    }
    let grid = Grid { mass: axis(1100.0, 1300.0, 3), ..Grid::default() };
    let times = |cells: Vec<Cell>| -> Vec<f64> { cells.iter().map(|c| c.found.as_ref().unwrap().lap_time).collect() };
    for (a, b) in times(all(&car, &oval(1.0), &grid)).into_iter().zip(times(all(&mirrored, &track, &grid))) {
        assert!((a - b).abs() < 1e-9, "{a} {b}");
    }
}

/// A car as high as a tower rolls over at every speed of a bank: its cell says so, and the others are lapped.
#[test]
fn property_a_cell_without_a_lap_says_why() {
    let mut track = oval(1.0);
    for s in &mut track.segments {
        s.phi = [0.35; 2];
    }
    let grid = Grid { cg_height: axis(0.4, 6.4, 4), ..Grid::default() };
    let cells = all(&example_car(), &track, &grid);
    assert!(cells[0].found.is_ok());
    assert!(cells[3].found.as_ref().is_err_and(|why| !why.to_string().is_empty()), "{:?}", cells[3].found);
    // More fuel comes off than the car weighs.
    let heavy = Tankful { density: 1e6, ..FULL };
    let grid = Grid { fuel: Some((Axis::new(0.0, 0.03, 2).unwrap(), heavy)), ..Grid::default() };
    let cells = all(&example_car(), &oval(1.0), &grid);
    assert!(matches!(cells[0].found, Err(NoLap::Mass(_))) && cells[1].found.is_ok());
}

#[test]
fn bad_input_more_cells_than_can_be_counted() {
    let many = axis(1.0, 2.0, u64::MAX);
    assert_eq!(Grid { mass: many, cg_height: many, ..Grid::default() }.cells(), None);
    assert_eq!(Grid::default().cells(), Some(1));
}
