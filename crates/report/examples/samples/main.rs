//! Draws a picture of every kind from invented data, the extremes too, to be looked at: `samples FOLDER`.

mod synthetic;

use std::error::Error;
use std::path::{Path, PathBuf};

use synthetic::{KART, Lap, SALOON, airfield, climb, giant, lap, single};
use unladen_report::draw::look::Paper;
use unladen_report::draw::picture::{Picture, PlotError, save_plot};
use unladen_report::lap::map::{MapPlot, map_picture};
use unladen_report::lap::speed::{SpeedPlot, speed_picture};
use unladen_report::lap::trace::LapTrace;
use unladen_report::sweep::contour::{ContourPlot, Swept, contour_picture};
use unladen_report::worth::curve::{CurvePlot, curve_picture};

fn trace<'a>(lap: &'a Lap, name: &'a str) -> LapTrace<'a> {
    LapTrace { name, rows: &lap.rows, length_m: lap.length_m, lap_time_s: lap.lap_time_s, lap_time_error_s: 4e-4 }
}

fn speed(laps: &[(&Lap, &str)]) -> Result<Picture, PlotError> {
    let traces: Vec<_> = laps.iter().map(|(l, name)| trace(l, name)).collect();
    let plot = SpeedPlot { track: &laps[0].0.track.name, places: &laps[0].0.places, laps: &traces };
    speed_picture(&plot, Paper::FILE)
}

fn map(lap: &Lap, name: &str) -> Result<Picture, PlotError> {
    let plot = MapPlot {
        track: &lap.track.name,
        closed: lap.track.closed,
        places: &lap.places,
        plan: &lap.plan,
        lap: trace(lap, name),
    };
    map_picture(&plot, Paper::FILE)
}

fn curve(lap: &Lap, car: &str, interval: Option<[f64; 2]>) -> Result<Picture, PlotError> {
    let s_m: Vec<f64> = lap.rows.iter().map(|r| r.s).collect();
    let plot = CurvePlot {
        car,
        track: &lap.track.name,
        places: &lap.places,
        length_m: lap.length_m,
        s_m: &s_m,
        s_per_kg: &lap.dt_dm,
        total_interval: interval,
        error: 1e-6,
    };
    curve_picture(&plot, Paper::FILE)
}

fn main() -> Result<(), Box<dyn Error>> {
    let folder = PathBuf::from(std::env::args().nth(1).ok_or("samples FOLDER")?);
    let save = |name: &str, picture: Result<Picture, PlotError>| -> Result<(), PlotError> {
        let picture = picture?;
        for extension in ["svg", "png"] {
            save_plot(&Path::new(&folder).join(format!("{name}.{extension}")), || Ok(picture.clone()))?;
        }
        Ok(())
    };
    let long = |i: usize| format!("The {i}th <b>\"bend\"</b> & of the very long name behind the old mill");
    let airfield_lap = lap(airfield(), SALOON, 3.0);
    let climb_lap = lap(climb(), SALOON, 2.0);
    let giant_lap = lap(giant(|i| format!("Corner {}", i + 1)), SALOON, 5.0);
    let long_lap = lap(giant(long), SALOON, 5.0);
    let kart = lap(airfield(), KART, 3.0);
    let single_lap = lap(single(), KART, 2.0);
    let light = lap(airfield(), synthetic::Mass { kg: 1184.0, ..SALOON }, 2.7);
    let grippy = lap(airfield(), synthetic::Mass { grip: 1.12, watts: 165e3, ..SALOON }, 3.0);

    save("speed", speed(&[(&airfield_lap, "Club saloon")]))?;
    save("speed-climb", speed(&[(&climb_lap, "Club saloon")]))?;
    save("speed-giant", speed(&[(&giant_lap, "Club saloon")]))?;
    save(
        "speed-long",
        speed(&[(
            &long_lap,
            "<i>A car</i> & a name that goes on and on until nobody would want to read it any more, with its engine, its gearbox and its owner",
        )]),
    )?;
    save("speed-kart", speed(&[(&kart, "Kart, 200 kg")]))?;
    save("speed-single", speed(&[(&single_lap, "Kart, 200 kg")]))?;
    save("speed-two", speed(&[(&airfield_lap, "as it stands"), (&light, "100 kg lighter")]))?;
    save(
        "speed-three",
        speed(&[
            (&airfield_lap, "as it stands"),
            (&light, "100 kg lighter"),
            (&grippy, "softer tyres, smaller restrictor"),
        ]),
    )?;
    let names = ["as it stands", "lighter", "with a name that takes two lines", "fourth", "fifth", "sixth", "seventh"];
    let seven: Vec<_> =
        names.iter().enumerate().map(|(i, name)| ([&airfield_lap, &light, &grippy][i % 3], *name)).collect();
    save("speed-seven", speed(&seven))?;

    save("map", map(&airfield_lap, "Club saloon"))?;
    save("map-climb", map(&climb_lap, "Club saloon"))?;
    save("map-giant", map(&giant_lap, "Club saloon"))?;
    save("map-long", map(&long_lap, "Club saloon"))?;
    save("map-single", map(&single_lap, "Kart, 200 kg"))?;
    save("map-kart", map(&kart, "Kart, 200 kg"))?;
    save("curve", curve(&airfield_lap, "Club saloon", Some([0.008, 0.012])))?;
    save("curve-climb", curve(&climb_lap, "Club saloon", None))?;
    save("curve-giant", curve(&giant_lap, "Club saloon", Some([0.1, 0.16])))?;
    save("curve-kart", curve(&kart, "Kart, 200 kg", None))?;
    let (x, y): (Vec<f64>, Vec<f64>) = (
        (0..13).map(|i| 1000.0 + 25.0 * f64::from(i)).collect(),
        (0..9).map(|i| 420.0 + 17.5 * f64::from(i)).collect(),
    );
    let bent = |m: f64, h: f64| {
        0.0105 * (m - 1220.0) + 0.005 * (h - 485.0) * (m / 1220.0).powi(3) + 2e-5 * (h - 485.0).powi(2)
    };
    let cell = |k: usize| (k % 13 + k / 13 < 18).then(|| bent(x[k % 13], y[k / 13]));
    let seconds: Vec<Option<f64>> = (0..13 * 9).map(cell).collect();
    let swept = |name, unit, values| Swept { name, unit, values };
    save(
        "contour",
        contour_picture(&ContourPlot {
            car: "Club saloon",
            track: "Airfield",
            held: "front share 0.55",
            x: swept("mass", "kg", &x),
            y: swept("height of the CG", "mm", &y),
            seconds: &seconds,
            now: Some((1220.0, 485.0)),
        }),
    )?;
    let nothing = Lap { dt_dm: vec![0.0; airfield_lap.rows.len()], ..lap(airfield(), SALOON, 3.0) };
    save("curve-nothing", curve(&nothing, "Club saloon", None))?;
    Ok(())
}
