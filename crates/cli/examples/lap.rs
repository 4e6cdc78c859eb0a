//! A lap and a kilogram: `cargo run --example lap -- vehicles/saloon-awd tracks/airfield.toml`.

use std::error::Error;

use unladen::{Disk, Scene, lap, worth};

fn main() -> Result<(), Box<dyn Error>> {
    let mut given = std::env::args().skip(1);
    let scene = Scene::new(given.next().ok_or("a car and tracks are due")?, given);
    for lap in (lap::Question { scene: scene.clone() }).ask(&Disk)? {
        println!("{} on {}: {:.3} ± {:.3} s", lap.name, lap.track.name, lap.time_s, lap.error_s);
        if let Some((limit, share)) = lap.ruled_by.first() {
            println!("ruled by {} for {:.0} % of it", limit.key(), 100.0 * share);
        }
        lap.warned().iter().for_each(|warning| println!("warning: {warning}"));
    }
    let kilogram = worth::Question::new(scene).ask(&Disk)?.study.mix.s_per_kg;
    println!("a kilogram costs {:.2} ± {:.2} ms", 1e3 * kilogram.value, 1e3 * kilogram.sd.unwrap_or(kilogram.error));
    Ok(())
}
