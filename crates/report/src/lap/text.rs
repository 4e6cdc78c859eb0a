//! A lap for a person: time, speeds, which limit rules, and the time in each place.

use unladen_lap::Limit;

use crate::draw::look::limit_name;
use crate::lap::json::LapSummary;
use crate::words::number::{decimals_for, distance, fixed, kmh, lap_time, percents, with_error};
use crate::words::table::{Align, Table, facts, printable};

/// What `unladen lap` prints.
pub fn lap_text(car: &str, track: &str, lap: &LapSummary) -> String {
    let mut out = format!("{} on {}\n\n", printable(car), printable(track));
    out += &facts(&[
        ("lap time", time_with_error(lap.lap_time_s, lap.lap_time_error_s, None)),
        ("speed", format!("{} to {} km/h", fixed(kmh(lap.min_speed_mps), 0), fixed(kmh(lap.top_speed_mps), 0))),
        ("length", distance(lap.length_m)),
        ("ruled by", ruling(&lap.limits.0)),
    ]);
    if !lap.sectors.is_empty() {
        let columns =
            [("place", Align::Left), ("from m", Align::Right), ("length m", Align::Right), ("time s", Align::Point)];
        let mut table = Table::new(&columns);
        for s in &lap.sectors {
            table.row(&[s.place.clone(), fixed(s.s_m, 0), fixed(s.length_m, 0), fixed(s.time_s, 3)]);
        }
        out += &format!("\n{}", table.text(0));
    }
    out
}

/// `1:23.412, 90 %: 1:22.9 to 1:23.9 by the car's uncertain numbers (83.412 s, computed to 0.0004 s)`: for an uncertain car and
/// for the arithmetic.
pub(crate) fn time_with_error(seconds: f64, error: f64, interval: Option<[f64; 2]>) -> String {
    let known = interval.map_or_else(String::new, |[low, high]| {
        let digits = decimals_for(0.5 * (high - low));
        let [low, high] = [low, high].map(|s| lap_time(s, digits));
        format!(", 90 %: {} to {high} by the car's uncertain numbers", low.trim_end_matches(" s"))
    });
    let long = if seconds >= 60.0 { format!("{} s, ", fixed(seconds, 3)) } else { String::new() };
    format!("{}{known} ({long}computed to {} s)", lap_time(seconds, 3), one_digit(error))
}

/// An error's size in one digit.
fn one_digit(error: f64) -> String {
    if error > 0.0 && error < 1e-6 { "0.000001".to_owned() } else { with_error(error, error) }
}

/// `power 44 %, front grip 20 %, …`, most first.
pub(crate) fn ruling(shares: &[f64; Limit::ALL.len()]) -> String {
    let said = percents(shares);
    let mut all: Vec<_> = Limit::ALL.iter().zip(shares).zip(said).filter(|((_, share), _)| **share > 0.0).collect();
    all.sort_by(|a, b| b.0.1.total_cmp(a.0.1));
    let said = |((limit, _), said): ((&Limit, &f64), String)| format!("{} {said}", limit_name(*limit));
    all.into_iter().map(said).collect::<Vec<_>>().join(", ")
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::lap::json::{SectorOut, Shares};

    #[test]
    fn closed_form_a_lap_as_printed() {
        let sector = |place: &str, s_m, time_s| SectorOut {
            place: place.into(),
            s_m,
            length_m: 80.4,
            time_s,
            min_speed_mps: 20.0,
            top_speed_mps: 30.0,
            limit: None,
            s_per_kg: 0.0,
            s_per_mm_height: 0.0,
            s_per_mm_rearward: 0.0,
        };
        let lap = LapSummary {
            lap_time_s: 83.4119,
            lap_time_error_s: 0.00037,
            lap_time_interval_90_s: None,
            length_m: 2412.0,
            top_speed_mps: 57.0,
            min_speed_mps: 17.4,
            limits: Shares([0.2, 0.1, 0.24, 0.455, 0.005, 0.0, 0.0, 0.0]),
            sectors: vec![sector("Windsock", 0.0, 3.2), sector("Tower \u{1b}[1m", 1200.0, 12.345_678)],
            state: None,
        };
        let want = "\
Saloon on Airfield

lap time  1:23.412 (83.412 s, computed to 0.0004 s)
speed     63 to 205 km/h
length    2.41 km
ruled by  power 46 %, braking 24 %, front grip 20 %, rear grip 10 %, shifting
          <1 %

place       from m  length m  time s
Windsock         0        80   3.200
Tower  [1m    1200        80  12.346
";
        assert_eq!(lap_text("Saloon", "Airfield", &lap), want);
    }

    #[test]
    fn closed_form_times_with_what_is_known_of_them() {
        let known = time_with_error(58.2144, 3e-9, Some([57.7, 58.72]));
        assert_eq!(known, "58.214 s, 90 %: 57.70 to 58.72 s by the car's uncertain numbers (computed to 0.000001 s)");
    }
}
