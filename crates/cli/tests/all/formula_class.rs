//! sources.md 42: what the trade quotes for cars of the formula class, on an invented one (`tests/formula_class`).

use crate::common::{root, unladen};

/// Numbers that nobody quotes, to where such cars may differ: the bands are the class's, not one car's.
const VARIANTS: [&[&str]; 5] = [
    &[],
    &["tyres.front.load_slope_lat=-0.10", "tyres.rear.load_slope_lat=-0.10"],
    &["tyres.front.load_slope_lat=-0.25", "tyres.rear.load_slope_lat=-0.25"],
    &["aero.downforce_area_front=1.10 m2", "aero.downforce_area_rear=1.40 m2", "aero.drag_area=0.95 m2"],
    &["brakes.anti_lock=4-channel", "chassis.roll_stiffness_front_share=0.5"],
];

fn time(variant: &[&str], change: Option<&str>) -> f64 {
    let folder = root().join("tests/formula_class");
    let [car, circuit] = ["car.toml", "circuit.toml"].map(|file| folder.join(file).to_str().unwrap().to_owned());
    // The segments are circuit.csv's; a finer step than usual, since the differences are hundredths.
    let mut args = vec!["lap".to_owned(), car, circuit, "--json".into(), "--step".into(), "1".into()];
    for set in variant.iter().copied().chain(change) {
        args.extend(["--set".to_owned(), set.to_owned()]);
    }
    let lap = unladen(&args);
    assert_eq!(lap.code, Some(0), "{}", lap.err);
    lap.json()["lap_time_s"].as_f64().unwrap()
}

/// 10 kg, 1 mm of CG height (from 5) and 1 % of power, all by laps: 0.25–0.40, 0.005–0.03 and 0.08–0.25 s.
#[test]
fn published_bands_of_the_formula_class() {
    let power = [(6000, 240.0), (10000, 290.0), (14000, 325.0), (17000, 309.0), (18000, 285.0)]
        .map(|(rpm, nm)| format!("[\"{rpm} rpm\", \"{:.4} Nm\"]", 1.01 * nm));
    let power = format!("engine.torque=[{}]", power.join(", "));
    for variant in VARIANTS {
        let lap = time(variant, None);
        let costs = [
            ("10 kg", time(variant, Some("mass.total+=10 kg")) - lap, 0.25..=0.40),
            ("1 mm of height", (time(variant, Some("mass.cg_height+=5 mm")) - lap) / 5.0, 0.005..=0.03),
            ("1 % of power", lap - time(variant, Some(&power)), 0.08..=0.25),
        ];
        for (what, cost, band) in costs {
            println!("{variant:?}: {lap:.3} s, {what} {cost:.4} s");
            assert!(band.contains(&cost), "{variant:?}: {what} {cost:.4} s, band {band:?}");
        }
    }
}
