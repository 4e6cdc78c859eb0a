//! A car to start with: what its owner knows, and for all else what a car of its class is likely to be; nothing in it
//! counts as weighed or done.

mod car;
#[cfg(test)]
mod coverage;
#[cfg(test)]
mod tests;

use unladen_garage::{car_schema, readings_schema};

use crate::estimate::Class;

pub use car::{Entry, entries};

const LEDGER: &str = include_str!("ledger.csv");
const READINGS: &str = include_str!("readings.toml");

/// Its files, by their names in its folder.
pub fn files(name: &str, class: &Class) -> [(&'static str, String); 6] {
    [
        ("car.toml", car::text(name, class)),
        ("ledger.csv", LEDGER.into()),
        ("areas.csv", areas(class)),
        ("readings.toml", READINGS.into()),
        ("car.schema.json", format!("{:#}\n", car_schema())),
        ("readings.schema.json", format!("{:#}\n", readings_schema())),
    ]
}

/// Middles of a car's parts, by its wheelbase and height; common practice, no source.
fn areas(class: &Class) -> String {
    let (l, h) = (class.given.wheelbase.value, class.given.height.value);
    let mut text = String::from(
        "# Parts of your car, each with a place for what you have not measured: x behind the front axle, y right of the\n\
         # middle, z up. Guessed from wheelbase and height; names and places are yours to change.\n\
         area,x_mm,y_mm,z_mm,note\n",
    );
    for (area, x, z, note) in [
        ("nose", -0.22 * l, 0.33 * h, "ahead of the front axle"),
        ("engine bay", 0.0, 0.42 * h, ""),
        ("cabin", 0.52 * l, 0.36 * h, ""),
        ("doors", 0.50 * l, 0.52 * h, ""),
        ("boot", 1.12 * l, 0.38 * h, ""),
        ("underbody", 0.54 * l, 0.17 * h, ""),
        ("roof", 0.55 * l, 0.95 * h, ""),
        ("wheels", 0.50 * l, class.radius, "all four: their middle"),
    ] {
        let mm = |m: f64| (m * 100.0).round() * 10.0;
        text += &format!("{area},{},0,{},{note}\n", mm(x), mm(z));
    }
    text
}
