//! A lap for machines: `lap --json` and `lap --csv`, with the keys and columns of the project's file formats.

use serde::ser::SerializeMap;
use serde::{Serialize, Serializer};
use unladen_lap::{Limit, Row};
use unladen_study::Along;

use crate::lap::place::Place;
use crate::lap::trace::{LapTrace, Sector};

/// Why a result can't be written out.
#[derive(Debug, thiserror::Error)]
pub enum OutError {
    /// A number that means nothing must not leave the program.
    #[error("`{key}` is not a finite number; this is a fault in unladen, and nothing was written")]
    NotFinite {
        /// The key or column.
        key: String,
    },
    /// The JSON writer failed.
    #[error("can't write JSON")]
    Json(#[from] serde_json::Error),
    /// The CSV writer failed.
    #[error("can't write CSV")]
    Csv(#[from] csv::Error),
}

/// Share of the lap time that each limit rules, in the order of [`Limit::ALL`].
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Shares(pub [f64; Limit::ALL.len()]);

impl Serialize for Shares {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        let mut map = serializer.serialize_map(Some(self.0.len()))?;
        for (limit, share) in Limit::ALL.iter().zip(self.0) {
            map.serialize_entry(limit.key(), &share)?;
        }
        map.end()
    }
}

/// What `lap` says of a lap.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct LapSummary {
    /// Lap time, s.
    pub lap_time_s: f64,
    /// Its numerical error, s.
    pub lap_time_error_s: f64,
    /// Its 90 % interval, s, where the files call something uncertain.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub lap_time_interval_90_s: Option<[f64; 2]>,
    /// Length in plan, m.
    pub length_m: f64,
    /// Highest speed, m/s.
    pub top_speed_mps: f64,
    /// Lowest speed, m/s.
    pub min_speed_mps: f64,
    /// Share of the lap time by limit.
    pub limits: Shares,
    /// Named places.
    pub sectors: Vec<SectorOut>,
    /// The car's state.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub state: Option<serde_json::Value>,
}

/// A named place driven through.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct SectorOut {
    /// Its name.
    pub place: String,
    /// Where it starts, m in plan.
    pub s_m: f64,
    /// Its length, m in plan.
    pub length_m: f64,
    /// Time in it, s.
    pub time_s: f64,
    /// Lowest speed in it, m/s.
    pub min_speed_mps: f64,
    /// Highest speed in it, m/s.
    pub top_speed_mps: f64,
    /// The limit that rules longest in it.
    pub limit: Option<&'static str>,
    /// What a kilogram at the centre of gravity costs in it, s.
    pub s_per_kg: f64,
    /// What a millimetre of the centre of gravity up costs in it, s.
    pub s_per_mm_height: f64,
    /// What a millimetre of it further back costs, s.
    pub s_per_mm_rearward: f64,
}

impl SectorOut {
    fn of(s: Sector, costs: [f64; 3]) -> Self {
        let ([min_speed_mps, top_speed_mps], limit) = (s.speeds_mps, s.limit.map(Limit::key));
        let [s_per_kg, s_per_mm_height, s_per_mm_rearward] = costs;
        let (place, s_m, length_m, time_s) = (s.place, s.start_m, s.length_m, s.time_s);
        Self {
            place,
            s_m,
            length_m,
            time_s,
            min_speed_mps,
            top_speed_mps,
            limit,
            s_per_kg,
            s_per_mm_height,
            s_per_mm_rearward,
        }
    }
}

/// What a kilogram, a millimetre up and a millimetre back cost in a place, s.
fn costs(along: &Along, place: &Place, length_m: f64) -> [f64; 3] {
    let at = |curve: &[f64], s: f64| -> f64 {
        let after = along.s_m.partition_point(|x| *x <= s);
        let value = |i: usize| along.s_m.get(i).zip(curve.get(i)).map(|(s, y)| (*s, *y));
        match (after.checked_sub(1).and_then(value), value(after)) {
            (Some((a, y)), Some((b, z))) if b > a => y + (s - a) / (b - a) * (z - y),
            (Some((_, y)), _) | (None, Some((_, y))) => y,
            (None, None) => 0.0,
        }
    };
    let curves = [&along.s_per_kg, &along.s_per_mm_height, &along.s_per_mm_rearward];
    let pieces = place.pieces(length_m);
    curves.map(|curve| pieces.iter().map(|&(from, to)| at(curve, to) - at(curve, from)).sum())
}

impl LapSummary {
    /// Of a solved lap, and of where along it mass and its place cost what they do.
    pub fn of(lap: &LapTrace, places: &[Place], along: &Along) -> LapSummary {
        let (top_speed_mps, min_speed_mps) = lap.extremes();
        LapSummary {
            lap_time_s: lap.lap_time_s,
            lap_time_error_s: lap.lap_time_error_s,
            length_m: lap.length_m,
            top_speed_mps,
            min_speed_mps,
            limits: Shares(lap.shares()),
            lap_time_interval_90_s: None,
            sectors: lap
                .sectors(places)
                .into_iter()
                .zip(places)
                .map(|(sector, place)| SectorOut::of(sector, costs(along, place, lap.length_m)))
                .collect(),
            state: None,
        }
    }

    /// `lap --json`.
    pub fn json(&self) -> Result<String, OutError> {
        let own = [
            ("lap_time_s", self.lap_time_s),
            ("lap_time_error_s", self.lap_time_error_s),
            ("length_m", self.length_m),
            ("top_speed_mps", self.top_speed_mps),
            ("min_speed_mps", self.min_speed_mps),
        ];
        let limits = self.limits.0.map(|share| ("limits", share));
        let of = |s: &SectorOut| {
            let costs = [s.s_per_kg, s.s_per_mm_height, s.s_per_mm_rearward];
            [s.s_m, s.length_m, s.time_s, s.min_speed_mps, s.top_speed_mps].into_iter().chain(costs)
        };
        let sectors = self.sectors.iter().flat_map(of).map(|v| ("sectors", v));
        let interval = self.lap_time_interval_90_s.into_iter().flatten().map(|s| ("lap_time_interval_90_s", s));
        for (key, value) in own.into_iter().chain(interval).chain(limits).chain(sectors) {
            finite(key, value)?;
        }
        Ok(serde_json::to_string_pretty(self)? + "\n")
    }
}

/// An error unless `value` is finite.
pub(crate) fn finite(key: &str, value: f64) -> Result<(), OutError> {
    if value.is_finite() { Ok(()) } else { Err(OutError::NotFinite { key: key.to_owned() }) }
}

/// The columns of `lap --csv`.
pub const COLUMNS: [&str; 11] =
    ["s_m", "t_s", "v_mps", "ax_mps2", "ay_mps2", "gear", "limit", "load_fl_n", "load_fr_n", "load_rl_n", "load_rr_n"];

/// `lap --csv`: one line a station.
pub fn lap_csv(rows: &[Row]) -> Result<String, OutError> {
    let mut out = csv::Writer::from_writer(Vec::new());
    out.write_record(COLUMNS)?;
    for row in rows {
        let numbers = [row.s, row.t, row.v, row.a_x, row.a_y];
        let (names, loads) = (COLUMNS[..5].iter().zip(numbers), COLUMNS[7..].iter().zip(row.load));
        for (name, value) in names.chain(loads) {
            finite(name, value)?;
        }
        let text = |v: &f64| (v + 0.0).to_string();
        let mut record: Vec<String> = numbers.iter().map(text).collect();
        record.extend([row.gear.to_string(), row.limit.key().to_owned()]);
        record.extend(row.load.iter().map(text));
        out.write_record(&record)?;
    }
    let bytes = out.into_inner().map_err(|e| csv::Error::from(e.into_error()))?;
    // Figures and keys only.
    Ok(String::from_utf8_lossy(&bytes).into_owned())
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;

    fn row(s: f64, t: f64) -> Row {
        Row { s, t, v: 20.0, a_x: -0.0, a_y: 1.5, gear: 3, limit: Limit::RearGrip, load: [1.0, 2.0, 3.0, 4.25] }
    }

    fn summary(rows: &[Row]) -> LapSummary {
        let lap = LapTrace { name: "a", rows, length_m: 100.0, lap_time_s: 5.0, lap_time_error_s: 1e-4 };
        let place = Place { name: "Bend \"1\"".into(), start_m: 20.0, length_m: 40.0, turning_rad: 1.0 };
        let along = Along {
            s_m: vec![0.0, 50.0, 100.0],
            s_per_kg: vec![0.0, 0.01, 0.02],
            s_per_mm_height: vec![0.0; 3],
            s_per_mm_rearward: vec![0.0, -0.005, -0.01],
            ..Along::default()
        };
        LapSummary::of(&lap, &[place], &along)
    }

    #[test]
    fn closed_form_keys_stand_as_the_formats_say() {
        let json = summary(&[row(0.0, 0.0), row(50.0, 2.5)]).json().unwrap();
        let keys =
            ["lap_time_s", "lap_time_error_s", "length_m", "top_speed_mps", "min_speed_mps", "limits", "sectors"];
        let at: Vec<_> = keys.iter().map(|k| json.find(&format!("\n  \"{k}\":")).unwrap()).collect();
        assert!(at.windows(2).all(|w| w[0] < w[1]), "{json}");
        let read: serde_json::Value = serde_json::from_str(&json).unwrap();
        assert_eq!(read.as_object().unwrap().len(), keys.len());
        assert_eq!(read["limits"]["rear_grip"], 1.0);
        assert_eq!(read["limits"].as_object().unwrap().len(), Limit::ALL.len());
        assert_eq!(
            read["sectors"][0],
            serde_json::json!({"place": "Bend \"1\"", "s_m": 20.0, "length_m": 40.0, "time_s": 2.0,
                "min_speed_mps": 20.0, "top_speed_mps": 20.0, "limit": "rear_grip", "s_per_kg": 0.008,
                "s_per_mm_height": 0.0, "s_per_mm_rearward": -0.004})
        );
    }

    #[test]
    fn closed_form_columns_stand_as_the_formats_say() {
        let csv = lap_csv(&[row(0.0, 0.0), row(50.5, 2.5)]).unwrap();
        let want = "s_m,t_s,v_mps,ax_mps2,ay_mps2,gear,limit,load_fl_n,load_fr_n,load_rl_n,load_rr_n\n\
                    0,0,20,0,1.5,3,rear_grip,1,2,3,4.25\n50.5,2.5,20,0,1.5,3,rear_grip,1,2,3,4.25\n";
        assert_eq!(csv, want);
    }

    #[test]
    fn property_csv_numbers_read_back_exactly() {
        let awkward = Row { s: 0.1 + 0.2, t: 1e-17, v: 1.0 / 3.0, ..row(0.0, 0.0) };
        let csv = lap_csv(&[awkward]).unwrap();
        let back: Vec<f64> = csv.lines().nth(1).unwrap().split(',').take(3).map(|c| c.parse().unwrap()).collect();
        assert_eq!(back, [awkward.s, awkward.t, awkward.v]);
    }

    #[test]
    fn bad_input_what_is_not_finite_is_named() {
        let bad = Row { load: [1.0, f64::NAN, 1.0, 1.0], ..row(0.0, 0.0) };
        assert!(matches!(lap_csv(&[bad]), Err(OutError::NotFinite { key }) if key == "load_fr_n"));
        // A lap without rows has no speeds.
        assert!(matches!(summary(&[]).json(), Err(OutError::NotFinite { key }) if key == "top_speed_mps"));
        assert_eq!(lap_csv(&[]).unwrap().lines().count(), 1);
    }
}
