//! Reads a car's or a track's file and prints what came of it: `cargo run -p unladen-garage --example read FILE [KEY=VALUE…]`.

use unladen_garage::{Overrides, Style, read_car, read_track};

fn main() {
    let mut arguments = std::env::args().skip(1);
    let path = arguments.next().unwrap_or_default();
    let overrides = match Overrides::parse(arguments) {
        Ok(o) => o,
        Err(e) => return print!("{}", e.render(Style::PLAIN)),
    };
    let warnings = if path.contains("car") {
        read_car(&path, &overrides).map(|c| {
            println!("{:#?}\n{:#?}\n{:#?}", c.car, c.loads, c.uncertainties);
            c.warnings
        })
    } else {
        read_track(&path, &overrides, None).map(|t| {
            println!("{} {} m, {:?} {:?}", t.track.name, t.track.length(), t.closure, t.uncertainties);
            t.warnings
        })
    };
    match warnings {
        Ok(warnings) => warnings.iter().for_each(|w| print!("{}", w.render(Style::PLAIN))),
        Err(e) => print!("{}", e.render(Style::PLAIN)),
    }
}
