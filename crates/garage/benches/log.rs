//! How fast, and with how much memory, a long log is read: two hours at 25 Hz, 180 000 rows of eight channels.
//!
//! `cargo bench -p unladen-garage`. It is to take less than 2 s and 200 MB; the text itself (13 MB) is not counted.

use std::fmt::Write;
use std::hint::black_box;

use divan::{AllocProfiler, Bencher};
use unladen_garage::log::{Mapping, read_log};

#[global_allocator]
static MEMORY: AllocProfiler = AllocProfiler::system();

fn main() {
    divan::main();
}

/// Rounds of 90 s, invented.
fn text() -> String {
    let mut text = String::from(
        "Time [s],Latitude [deg],Longitude [deg],Altitude [m],Speed [km/h],Longitudinal acceleration [g],Lateral acceleration [g],Yaw rate [deg/s]\n",
    );
    for row in 0..180_000 {
        let t = f64::from(row) / 25.0;
        let angle = t * std::f64::consts::TAU / 90.0;
        let (lat, lon) = (52.0 + 0.004 * angle.sin(), -1.0 + 0.006 * angle.cos());
        let speed = 120.0 + 40.0 * (3.0 * angle).sin();
        let _ = writeln!(text, "{t:.2},{lat:.7},{lon:.7},{:.1},{speed:.2},0.100,0.350,4.00", 100.0 + 5.0 * angle.sin());
    }
    text
}

#[divan::bench(sample_count = 10)]
fn two_hours_at_25_hz(bencher: Bencher) {
    let text = text();
    bencher.bench_local(|| {
        let read = read_log(black_box(text.as_bytes()), &Mapping::default()).unwrap_or_else(|e| panic!("{e}"));
        assert_eq!(read.log.rows(), 180_000);
        read
    });
}
