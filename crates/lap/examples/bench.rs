use unladen_lap::inside::*;
include!("read.in");
fn main() {
    let car = unladen_vehicle::example_car();
    let (m, m2) = (Model::new(&car), Model::new(&car.map(Dual::<2>::from)));
    let t = read("tracks/valley.csv", true);
    if let Some(n) = std::env::args().nth(1) { let mesh = Mesh::new(&t, 4.0, Halving::Full); for _ in 0..n.parse::<u32>().unwrap() { std::hint::black_box(solve(&mesh, &m, &m2).ok().unwrap()); } return; }
    for h in [16.0, 8.0, 4.0, 2.0] {
        let mesh = Mesh::new(&t, h, Halving::Full);
        let n = 200;
        let t0 = std::time::Instant::now();
        for _ in 0..n {
            std::hint::black_box(solve(&mesh, &m, &m2).ok().unwrap());
        }
        let full = t0.elapsed() / n;
        let t0 = std::time::Instant::now();
        for _ in 0..n {
            std::hint::black_box(braking(&mesh, &m, &m2).ok().unwrap());
        }
        let b = t0.elapsed() / n;
        println!("h {h} cells {} lap {full:?} braking {b:?}", mesh.cells.len());
    }
    let r = Shape { kappa: 0.02, q: 0.01, dq: 0.0, phi: 0.02, gamma: 1.0 }.road();
    let t0 = std::time::Instant::now();
    let mut s = 0.0;
    for i in 0..1_000_000 {
        s += m.grip(&r, 400.0 + (i % 1000) as f64 * 0.1, -5.0 + (i % 77) as f64 * 0.1).value;
    }
    println!("grip {:?} {s}", t0.elapsed() / 1_000_000);
}
use unladen_vehicle::road::Shape;
