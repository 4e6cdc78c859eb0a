//! Lap time over mass: `cargo run --example sweep -- vehicles/saloon-awd tracks/airfield.toml 1100kg..1300kg:5`.

use std::error::Error;

use unladen::sweep::{Axes, Question};
use unladen::{Disk, Scene};

fn main() -> Result<(), Box<dyn Error>> {
    let given: Vec<String> = std::env::args().skip(1).collect();
    let [car, track, mass] = &given[..] else { return Err("a car, a track and masses are due".into()) };
    let axes = Axes { mass: Some(mass.clone()), ..Axes::default() };
    let swept = Question { scene: Scene::new(car, [track]), axes }.ask(&Disk)?;
    swept.warnings.iter().for_each(|warning| println!("warning: {warning}"));
    println!("as it stands, {:.0} kg: {:.3} s", swept.car.mass.m, swept.reference.lap_time);
    for cell in &swept.cells {
        match &cell.found {
            Ok(lap) if lap.settled => println!("{:.0} kg: {:.3} s", cell.setting.mass.m, lap.lap_time),
            Ok(lap) => println!("{:.0} kg: {:.3} s, not settled", cell.setting.mass.m, lap.lap_time),
            Err(why) => println!("{:.0} kg: no lap, {why}", cell.setting.mass.m),
        }
    }
    Ok(())
}
