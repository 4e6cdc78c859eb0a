//! What next with 2000 and 40 hours: `cargo run --example decide -- vehicles/saloon-awd tracks/airfield.toml`.

use std::error::Error;

use unladen::rank::Question;
use unladen::{Disk, Scene};

fn main() -> Result<(), Box<dyn Error>> {
    let mut given = std::env::args().skip(1);
    let scene = Scene::new(given.next().ok_or("a car and tracks are due")?, given);
    let plan = Question { budget: Some(2000.0), hours: Some(40.0), ..Question::new(scene) }.ask(&Disk)?;
    plan.warnings.iter().for_each(|warning| println!("warning: {warning}"));
    println!("{} now: {:.0} kg, {:.3} s", plan.car, plan.found.mass_kg, plan.found.lap_time_s);
    let Some(best) = plan.found.within_budget.as_ref().and_then(|picked| picked.sets.first()) else {
        return Err("nothing that is planned keeps within that".into());
    };
    for &candidate in &best.candidates {
        println!("do: {}", plan.candidates[candidate]);
    }
    let [least, most] = best.gain.interval;
    println!("{:+.1} kg for {:.0} and {:.0} hours", best.kg, best.cost, best.hours);
    println!("gains {:.3} s a lap, nine chances in ten {least:.3} to {most:.3}", best.gain.gain);
    Ok(())
}
