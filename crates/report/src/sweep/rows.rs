//! Rows of a sweep: one a cell, to CSV and back.

use unladen_study::sweep::{Cell, CellLap, Setting};

pub use crate::files::marks::SWEEP as COLUMNS;
use crate::lap::json::OutError;

/// A row.
#[derive(Clone, Debug, PartialEq)]
pub struct SweepRow {
    /// Mass as it laps, kg.
    pub mass_kg: f64,
    /// Height of the centre of gravity, mm.
    pub cg_height_mm: f64,
    /// Share of the weight on the front axle.
    pub front_share: f64,
    /// Fuel on the track, L, where it is swept.
    pub fuel_l: Option<f64>,
    /// The day's grip.
    pub grip: f64,
    /// The lap; or why there is none.
    pub lap: Result<SweepLap, String>,
}

/// The lap of a row.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SweepLap {
    /// s.
    pub lap_time_s: f64,
    /// Against the car as it stands, s.
    pub delta_s: f64,
    /// ∂T/∂m, s/kg; ∂T/∂h and ∂T/∂a, s/mm.
    pub slopes: [f64; 3],
    /// Estimate of its numerical error, s.
    pub error_s: f64,
    /// Its gears repeat from lap to lap, and it asks for no more than the car can do.
    pub settled: bool,
}

/// Twelve digits: what was typed comes out as it was typed.
fn tidy(x: f64) -> f64 {
    format!("{x:.11e}").parse().unwrap_or(x)
}

impl SweepRow {
    /// The row of a cell; `reference` is the car as it stands.
    pub fn of(cell: &Cell, reference: &CellLap) -> SweepRow {
        let lap = cell.found.as_ref().map_err(ToString::to_string).map(|f| SweepLap {
            lap_time_s: f.lap_time,
            delta_s: f.lap_time - reference.lap_time,
            slopes: f.slopes,
            error_s: f.error,
            settled: f.settled,
        });
        SweepRow::new(&cell.setting, lap)
    }

    /// A row of this car on this day.
    pub fn new(s: &Setting, lap: Result<SweepLap, String>) -> SweepRow {
        SweepRow {
            mass_kg: tidy(s.mass.m),
            cg_height_mm: tidy(s.mass.h * 1e3),
            front_share: tidy(s.front_share),
            fuel_l: s.fuel.map(|v| tidy(v * 1e3)),
            grip: tidy(s.grip),
            lap,
        }
    }

    /// Whether it is of the same car on the same day.
    pub fn same_setting(&self, other: &SweepRow) -> bool {
        let of = |r: &SweepRow| (r.mass_kg, r.cg_height_mm, r.front_share, r.fuel_l, r.grip);
        of(self) == of(other)
    }

    /// Whether there is a lap, in a word.
    pub fn status(&self) -> &'static str {
        match &self.lap {
            Ok(lap) if lap.settled => "ok",
            Ok(_) => "unsettled",
            Err(_) => "no lap",
        }
    }

    /// Its fields; numbers in the fewest digits that read back as they are.
    pub fn record(&self) -> [String; COLUMNS.len()] {
        let lap = self.lap.as_ref().ok();
        let number = |x: Option<f64>| x.map_or_else(String::new, |x| x.to_string());
        let of = |f: &dyn Fn(&SweepLap) -> f64| number(lap.map(f));
        [
            self.mass_kg.to_string(),
            self.cg_height_mm.to_string(),
            self.front_share.to_string(),
            of(&|l| l.lap_time_s),
            of(&|l| l.delta_s),
            of(&|l| l.slopes[0]),
            of(&|l| l.slopes[1]),
            of(&|l| l.slopes[2]),
            of(&|l| l.error_s),
            number(self.fuel_l),
            self.grip.to_string(),
            self.status().into(),
            self.lap.as_ref().err().cloned().unwrap_or_default(),
        ]
    }

    /// A row again; `None` for what is none.
    pub fn read<'a>(fields: impl IntoIterator<Item = &'a str>) -> Option<SweepRow> {
        let fields: Vec<&str> = fields.into_iter().collect();
        let fields: [&str; COLUMNS.len()] = fields.try_into().ok()?;
        let number = |i: usize| fields[i].parse::<f64>().ok().filter(|x| x.is_finite());
        let lap = match fields[11] {
            "no lap" => Err(fields[12].to_owned()),
            status @ ("ok" | "unsettled") => Ok(SweepLap {
                lap_time_s: number(3)?,
                delta_s: number(4)?,
                slopes: [number(5)?, number(6)?, number(7)?],
                error_s: number(8)?,
                settled: status == "ok",
            }),
            _ => return None,
        };
        let fuel_l = if fields[9].is_empty() { None } else { Some(number(9)?) };
        let [mass_kg, cg_height_mm, front_share] = [number(0)?, number(1)?, number(2)?];
        Some(SweepRow { mass_kg, cg_height_mm, front_share, fuel_l, grip: number(10)?, lap })
    }
}

/// Lines of CSV.
///
/// # Errors
/// [`OutError`]: none that memory can meet.
pub fn lines<'a>(records: impl IntoIterator<Item = &'a [String]>) -> Result<Vec<u8>, OutError> {
    let mut out = csv::WriterBuilder::new().terminator(csv::Terminator::Any(b'\n')).from_writer(Vec::new());
    for record in records {
        out.write_record(record)?;
    }
    out.into_inner().map_err(|e| csv::Error::from(e.into_error()).into())
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;

    fn row(lap: Result<SweepLap, String>) -> SweepRow {
        SweepRow { mass_kg: 1150.0, cg_height_mm: 481.3, front_share: 0.55, fuel_l: Some(12.5), grip: 0.6, lap }
    }

    #[test]
    fn closed_form_columns_stand_as_the_formats_say() {
        assert_eq!(
            COLUMNS[..7].join(","),
            "mass_kg,cg_height_mm,front_share,lap_time_s,delta_s,s_per_kg,s_per_mm_height"
        );
    }

    #[test]
    fn property_rows_read_back_exactly() {
        let lap = SweepLap {
            lap_time_s: 75.1 / 3.0,
            delta_s: -0.1 / 3.0,
            slopes: [1.0 / 300.0, 5e-324, -1e-7 / 3.0],
            error_s: 1e-5,
            settled: false,
        };
        for row in [row(Ok(lap)), row(Err("no speed is possible 3 m from the start (Mill, \"left\")".into()))] {
            let bytes = lines([&row.record()[..]]).unwrap();
            let mut reader = csv::ReaderBuilder::new().has_headers(false).from_reader(&bytes[..]);
            let record = reader.records().next().unwrap().unwrap();
            assert_eq!(SweepRow::read(record.iter()), Some(row));
            assert_eq!(bytes.iter().filter(|b| **b == b'\n').count(), 1);
        }
    }

    #[test]
    fn bad_input_what_is_no_row() {
        let good = row(Err("x".into())).record();
        for (i, value) in [(0, "nan"), (2, ""), (9, "x"), (10, "inf"), (11, "fine")] {
            let mut bad = good.clone();
            bad[i] = value.into();
            assert_eq!(SweepRow::read(bad.iter().map(String::as_str)), None, "{i}");
        }
        assert_eq!(SweepRow::read(good[..12].iter().map(String::as_str)), None);
    }
}
