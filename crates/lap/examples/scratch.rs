use unladen_lap::*;
use unladen_track::*;
use unladen_vehicle::*;
fn read(path: &str, closed: bool) -> Track {
    let text = std::fs::read_to_string(path).unwrap();
    let mut lines = text.lines().filter(|l| !l.starts_with('#'));
    let head: Vec<String> = lines.next().unwrap().split(',').map(|s| s.trim().to_string()).collect();
    let segments = lines.filter(|l| !l.trim().is_empty()).map(|l| {
        let f: Vec<&str> = l.split(',').map(|s| s.trim()).collect();
        let g = |n: &str, d: f64| head.iter().position(|h| h == n).and_then(|i| f.get(i)).and_then(|v| v.parse().ok()).unwrap_or(d);
        Segment { length: g("length_m", 0.0), kappa: [g("curvature_start_1pm", 0.), g("curvature_end_1pm", 0.)],
            q: [g("grade_start_pct", 0.)/100., g("grade_end_pct", 0.)/100.], phi: [g("bank_start_deg",0.).to_radians(), g("bank_end_deg",0.).to_radians()], gamma: g("grip",1.0), place: None }
    }).collect();
    Track { name: path.into(), closed, start_speed: 0.0, segments, rho: 1.2, grip: 1.0 }
}
fn main() {
    if std::env::args().nth(1).as_deref() == Some("k") { let k: usize = std::env::args().nth(2).unwrap().parse().unwrap(); let p = std::env::args().nth(3).unwrap(); let h: f64 = std::env::args().nth(4).unwrap().parse().unwrap(); kerr(&read(&p, !p.contains("hill")), &cars()[k].1, h, std::env::args().nth(5).unwrap().parse().unwrap()); return; }
    if std::env::args().nth(1).as_deref() == Some("v") { let k: usize = std::env::args().nth(2).unwrap().parse().unwrap(); let p = std::env::args().nth(3).unwrap(); let h: f64 = std::env::args().nth(4).unwrap().parse().unwrap(); check(&read(&p, !p.contains("hill")), &cars()[k].1, h); return; }
    if std::env::args().nth(1).as_deref() == Some("w") { let k: usize = std::env::args().nth(2).unwrap().parse().unwrap(); let p = std::env::args().nth(3).unwrap(); let h: f64 = std::env::args().nth(4).unwrap().parse().unwrap(); where_(&read(&p, !p.contains("hill")), &cars()[k].1, h, match std::env::args().nth(5).as_deref() { Some("P") => Number::POWER, Some("h") => Number::H, _ => Number::A }); return; }
    if std::env::args().nth(1).as_deref() == Some("one") { let k: usize = std::env::args().nth(2).unwrap().parse().unwrap(); let p = std::env::args().nth(3).unwrap(); let h: f64 = std::env::args().nth(4).unwrap().parse().unwrap(); let c = cars()[k].1.clone(); let t = read(&p, !p.contains("hill")); let m = Mesh::new(&t, h, Halving::Full); let r = solve(&m, &Model::new(&c), &Model::new(&c.map(Dual::<2>::from))).ok().unwrap(); println!("{}", r.t.last().unwrap()); replay::derivatives(&m, &c, &r, &[Number::A]); return; }
    if std::env::args().nth(1).as_deref() == Some("c") { for (w, c) in cars() { for p in ["tracks/airfield.csv", "tracks/valley.csv", "tracks/hillclimb.csv"] { conv(&read(p, !p.contains("hill")), &c, &format!("{w} {p}")); } } return; }
    if std::env::args().nth(1).as_deref() == Some("d") { let p = std::env::args().nth(2).unwrap(); let k: usize = std::env::args().nth(3).unwrap().parse().unwrap(); derivs(&read(&p, !p.contains("hill")), &cars()[k].1); return; }
    if let Some(h) = std::env::args().nth(2) { let car = cars()[std::env::var("K").map_or(0, |k| k.parse().unwrap())].1.clone(); let p = std::env::args().nth(1).unwrap(); let track = read(&p, !p.contains("hill")); if let Some(z) = std::env::args().nth(3) { zoom(&track, &Model::new(&car), &Model::new(&car.map(Dual::<2>::from)), h.parse().unwrap(), z.parse().unwrap()); } else { diag(&track, &Model::new(&car), &Model::new(&car.map(Dual::<2>::from)), h.parse().unwrap()); } return; }
    let car = example_car();
    let model = Model::new(&car);
    let model2 = Model::new(&car.map(Dual::<2>::from));
    for (p, c) in [("tracks/airfield.csv", true), ("tracks/valley.csv", true), ("tracks/hillclimb.csv", false)] {
        let track = read(p, c);
        let mut last = f64::NAN;
        for step in [16.0, 8.0, 4.0, 2.0, 1.0, 0.5, 0.25] {
            let mesh = Mesh::new(&track, step, Halving::Full);
            let t0 = std::time::Instant::now();
            match solve(&mesh, &model, &model2) {
                Ok(r) => { let t = *r.t.last().unwrap(); println!("{p} step {step} cells {} T {t:.7} d {:+.2e} unsettled {} {:?}", mesh.cells.len(), t - last, r.profile.unsettled, t0.elapsed()); last = t; }
                Err(e) => println!("{p} {step} {e:?}"),
            }
        }
    }
}
fn diag(track: &Track, model: &Model, model2: &Model<Dual<2>>, h: f64) {
    let m1 = Mesh::new(track, h, Halving::Full);
    let m2 = Mesh::new(track, 0.1, Halving::Full);
    let (r1, r2) = (solve(&m1, model, model2).ok().unwrap(), solve(&m2, model, model2).ok().unwrap());
    let at = |m: &Mesh, r: &Solved, seg: usize| { let i = m.cells.iter().position(|c| c.segment == seg).unwrap(); (m.cells[i].s, r.t[i], r.profile.states[i].x, r.braking.k[i], r.profile.states[i].on_k, r.braking.anchor[i]) };
    let mut last = 0.0;
    for seg in 0..track.segments.len() {
        let (s, t1, x1, k1, on1, _an1) = at(&m1, &r1, seg); let (_, t2, x2, k2, on2, an2) = at(&m2, &r2, seg);
        let d = (t1 - t2) - last; last = t1 - t2;
        let an = match an2 { brake::Anchor::Brake => "brake", brake::Anchor::Limiter => "lim", brake::Anchor::Ceiling(t, b) => if t.corner.is_some() { if b {"corner-"} else {"corner+"} } else { "smooth" } };
        println!("seg {seg:3} s {s:8.1} k {:.4}->{:.4} d(t prev) {:+.2e}  x {x2:9.3} dx {:+.2e} K {k2:9.2} dk {:+.2e} {on1} {on2} {an}", track.segments[seg].kappa[0], track.segments[seg].kappa[1], d, x1-x2, k1-k2);
    }
    println!("end {:+.2e}", r1.t.last().unwrap() - r2.t.last().unwrap());
}
fn zoom(track: &Track, model: &Model, model2: &Model<Dual<2>>, h: f64, seg: usize) {
    for h in [h, 0.2, 0.02] {
    let m = Mesh::new(track, h, Halving::Full);
    let r = solve(&m, model, model2).ok().unwrap();
    let mut last = String::new();
    for (i, c) in m.cells.iter().enumerate() { if c.segment != seg { continue; }
        for p in &r.profile.pieces[i] { match p {
            drive::Piece::Step(j) => { let st = &r.profile.steps[*j]; let a = &st.arc; 
              let what = format!("{:?} {:?}", st.regime, st.gears);
              let key = format!("{:?} {:?} {:?}", st.regime, st.event, model.grip_branches(&c.forward[2], a.poly.at(1.0), a.a[2]-1e-3).1);
              if h > 0.3 || (h < 0.1 && c.s > 407.0 && (i % 10 == 0)) || key != last || st.event != drive::Event::End { println!("h {h} s {:.3}..{:.3} x {:.4} -> {:.4} a {:.4?} ev {:?} {what} {:?}", c.s + c.length*a.share[0], c.s+c.length*a.place(st.tau), a.x_0, a.poly.at(st.tau), a.a, st.event, model.grip_branches(&c.forward[2], a.poly.at(1.0), a.a[2]-1e-3).1);} last = key; }
            _ => for a in r.braking.curve(i) { println!("h {h} s {:.3}..{:.3} x {:.4} -> {:.4} a {:.4?} {:?}", c.s + c.length*a.share[0], c.s + c.length*a.share[1], a.x_0, a.poly.at(1.0), a.a, model.grip_branches(&m.road_in(c, a.share[1]), a.poly.at(1.0), a.a[2]+1e-3).1) },
        } } }
    }
}
fn derivs(track: &Track, car: &Car) {
    for step in [8.0, 4.0, 2.0, 0.5] {
        let mesh = Mesh::new(track, step, Halving::Full);
        let s = |c: &Car| solve(&mesh, &Model::new(c), &Model::new(&c.map(Dual::<2>::from))).ok().unwrap();
        let r = s(car);
        let all = if std::env::var("ALL").is_ok() { Number::all(car) } else { vec![Number::M, Number::A, Number::H, Number::Y_CG, Number::MU_X_F, Number::MU_Y_F, Number::MU_Y_R, Number::GAMMA_0] };
        let t0 = std::time::Instant::now();
        let d = replay::derivatives(&mesh, car, &r, &all);
        let el = t0.elapsed();
        let t0 = std::time::Instant::now();
        let _ = replay::derivatives(&mesh, car, &r, &[Number::M, Number::A, Number::Y_CG, Number::H]);
        println!("step {step} all {} numbers {:?}, four {:?}", all.len(), el, t0.elapsed());
        for (n, d) in all.iter().zip(&d) {
            let d = *d.last().unwrap();
            let mut c = car.clone();
            let v0 = *c.number_mut(*n).unwrap();
            let h = 1e-4 * v0.abs().max(1e-2);
            let mut t = |v| { *c.number_mut(*n).unwrap() = v; *s(&c).t.last().unwrap() };
            let (p, m) = (t(v0 + h), t(v0 - h));
            let t0 = *r.t.last().unwrap();
            println!("  {:40} {d:+.9e} central {:+.9e} rel {:+.1e}   one-sided {:+.5e} {:+.5e}", n.key(), (p - m) / (2.0 * h), ((p - m) / (2.0 * h) - d) / d, (t0-m)/h, (p-t0)/h);
        }
    }
}
fn conv(track: &Track, car: &Car, what: &str) {
    let four = [Number::M, Number::A, Number::H, Number::Y_CG, Number::POWER, Number::GAMMA_0];
    let mut reference = vec![];
    for step in [0.125, 0.25, 0.5, 1.0, 2.0, 4.0, 8.0] {
        let mesh = Mesh::new(track, step, Halving::Full);
        let r = match solve(&mesh, &Model::new(car), &Model::new(&car.map(Dual::<2>::from))) { Ok(r) => r, Err(e) => { println!("{what} {e:?}"); return; } };
        let mut v = vec![*r.t.last().unwrap()];
        v.extend(replay::derivatives(&mesh, car, &r, &four).iter().map(|d| *d.last().unwrap()));
        if reference.is_empty() { reference = v.clone(); println!("{what}: T {:.6} m {:.6} a {:.6} h {:.6} y {:.6} P {:.6} g {:.6}", v[0], v[1], v[2], v[3], v[4], v[5], v[6]); continue; }
        println!("   {step:5} cells {:5} dT {:+.1e}  rel m {:+.1e} a {:+.1e} h {:+.1e} y {:+.1e} P {:+.1e} g {:+.1e}", mesh.cells.len(), v[0]-reference[0], v[1]/reference[1]-1.0, v[2]/reference[2]-1.0, v[3]/reference[3]-1.0, v[4]/reference[4]-1.0, v[5]/reference[5]-1.0, v[6]/reference[6]-1.0);
    }
}
fn cars() -> Vec<(String, Car)> {
    let mut base = example_car();
    base.mass.y_cg = 0.006;
    let mut out = vec![("awd".to_string(), base.clone())];
    let mut c = base.clone(); c.driveline.layout = car::Layout::Rear; c.mass.a = 1.2; out.push(("rwd".into(), c.clone()));
    c.brakes.anti_lock = car::AntiLock::FourChannel; c.driveline.shift_time = 0.0; out.push(("rwd abs4 no shift".into(), c));
    let mut c = base.clone(); c.driveline.layout = car::Layout::Front; c.brakes.anti_lock = car::AntiLock::ThreeChannel; c.mass.a = 1.0; out.push(("fwd abs3".into(), c));
    let mut c = base.clone(); c.mass.m = 800.0; c.mass.a = 1.45; c.driveline.layout = car::Layout::Rear; c.driveline.rear_bias = f64::INFINITY; c.aero.cf_a = 0.5; c.aero.cr_a = 0.7; c.front.inv_c_alpha = 0.0; c.rear.inv_c_alpha = 0.0; out.push(("mid locked aero".into(), c));
    out
}
fn v0(c: &Car, n: Number) -> f64 { *c.clone().number_mut(n).unwrap() }
fn where_(track: &Track, car: &Car, h: f64, n: Number) {
    let mesh = Mesh::new(track, h, Halving::Full);
    let s = |c: &Car| solve(&mesh, &Model::new(c), &Model::new(&c.map(Dual::<2>::from))).ok().unwrap();
    let r = s(car);
    let d = &replay::derivatives(&mesh, car, &r, &[n])[0];
    let e = 1e-5 * v0(car, n);
    let (mut p, mut m) = (car.clone(), car.clone()); *p.number_mut(n).unwrap() += e; *m.number_mut(n).unwrap() -= e;
    let (p, m) = (s(&p), s(&m));
    if std::env::var("DBGK").is_ok() { for i in 0..mesh.cells.len() { println!("C {i} seg {} central {:.6} {:?}", mesh.cells[i].segment, (p.braking.k[i]-m.braking.k[i])/(2.0*e), r.braking.anchor[i]); } }
    let (mut last, mut k) = (0.0, 0);
    for i in 0..mesh.cells.len() {
        let c = (p.t[i+1] - m.t[i+1]) / (2.0*e) - d[i+1];
        if (c - last as f64).abs() > 1e-3 { k += 1; if k < 20 { let c0 = &mesh.cells[i]; println!("cell {i} s {:.3} seg {} central-dual step {:+.2e} on_k {} {:?} pieces {:?} dx central {:.4} ", c0.s, c0.segment, c-last, r.profile.states[i].on_k, r.braking.anchor[i], r.profile.pieces[i].iter().map(|p| match p { drive::Piece::Step(j) => format!("{:?} {:?} {:?} {:?}", r.profile.steps[*j].arc.share, r.profile.steps[*j].event, r.profile.steps[*j].regime, r.profile.steps[*j].arc.a), p => format!("{p:?}") }).collect::<Vec<_>>(), (p.profile.states[i].x - m.profile.states[i].x)/(2.0*e)); } }
        last = c;
    }
}
fn check(track: &Track, car: &Car, h: f64) {
    let m = Mesh::new(track, h, Halving::Full);
    let model = Model::new(car);
    let r = solve(&m, &model, &Model::new(&car.map(Dual::<2>::from))).ok().unwrap();
    println!("T {}", r.t.last().unwrap());
    let mut n = 0;
    let mut look = |a: &arc::Arc, what: String, end: f64| { for k in 0..=4 { let t = end * k as f64 / 4.0; let road = m.road_in(&m.cells[a.cell], a.place(t)); let (x, ax) = (a.poly.at(t), a.a_x(&m, &road, t)); let g = model.grip(&road, x, ax).value; if g < -3e-3 && k > 0 { n += 1; if n < 8 { println!("VIOL s {:.3} tau {t:.3} g {g:.2e} x {x:.3} a {ax:.3} arc {:?} held {:?} {what}", m.cells[a.cell].s + m.cells[a.cell].length * a.place(t), a.share, a.branches.is_some()); } } } };
    for i in 0..m.cells.len() { for p in &r.profile.pieces[i] { match p { drive::Piece::Step(j) => { let s = &r.profile.steps[*j]; look(&s.arc, format!("{:?} {:?}", s.regime, s.event), s.tau); } drive::Piece::Brake { .. } => for a in r.braking.curve(i) { look(a, "brake".into(), a.end); }, _ => {} } } 
      let (x0, x1) = (r.profile.states[i].x, r.profile.states[i+1].x); if (x1 - x0).abs() > 40.0 * m.cells[i].length + 0.5 { println!("JUMP cell {i} s {:.3} x {x0:.3} -> {x1:.3} on_k {} {:?} {:?}", m.cells[i].s, r.profile.states[i].on_k, r.profile.pieces[i], r.braking.anchor[i]); } }
    println!("violations {n}");
}
fn kerr(track: &Track, car: &Car, h: f64, seg: usize) {
    let model = Model::new(car); let m2 = Model::new(&car.map(Dual::<2>::from));
    let (a, b) = (Mesh::new(track, h, Halving::Full), Mesh::new(track, h / 16.0, Halving::Full));
    let (ra, rb) = (solve(&a, &model, &m2).ok().unwrap(), solve(&b, &model, &m2).ok().unwrap());
    let kb = |s: f64| { let i = b.cells.iter().rposition(|c| c.s <= s + 1e-9).unwrap(); let c = &b.cells[i]; rb.braking.at(i, ((s - c.s) / c.length).clamp(0.0, 1.0)).unwrap_or(rb.braking.k[i]) };
    for (i, c) in a.cells.iter().enumerate() { if c.segment == seg { for arc in ra.braking.curve(i) { let s = c.s + c.length * arc.place(arc.end); println!("s {:.3} end {:.3} x {:.3} dK {:+.2e} a {:.3?} {:?}", s, arc.end, arc.poly.at(arc.end), arc.poly.at(arc.end) - kb(s), arc.a, arc.branches); } } }
}
