//! A weighing's result as the `[mass]` block of a car's file.

use std::path::Path;

use unladen_garage::unit::digits::decimals_for;
use unladen_garage::{Files, set_values, written};
use unladen_study::weighing::Known;

use crate::error::AskError;
use crate::read::project::car_file;
use crate::weigh::Answer;
use crate::write::ToWrite;

/// A car's file with the weighing in it.
#[derive(Clone, Debug)]
#[must_use = "it is to be written"]
pub struct Into {
    /// The file.
    pub write: ToWrite,
    /// Keys that no table of the file takes.
    pub left: Vec<String>,
}

impl Answer {
    /// The result in a car's file; without a lift its height stays as it was.
    ///
    /// # Errors
    /// [`AskError::Files`] where the file can't be read.
    pub fn into_car(&self, files: &dyn Files, car: &Path) -> Result<Into, AskError> {
        let path = car_file(files, car);
        let source = files.text(&path).map_err(|f| AskError::one(*f))?;
        let (text, left) = set_values(&source, &self.values())?;
        let read = Some(source.text.as_bytes().to_vec());
        Ok(Into { write: ToWrite { path, read, bytes: text.into_bytes() }, left })
    }

    fn values(&self) -> Vec<(&'static str, String)> {
        let (found, aboard) = (&self.found, self.aboard);
        let value = |k: Known, factor: f64, unit: &str| {
            let decimals = decimals_for(k.sd * factor).min(4);
            format!("\"{:.decimals$} ± {:.decimals$} {unit}\"", k.value * factor, k.sd * factor)
        };
        let plain = |x: f64, unit: &str| {
            let text = format!("{x:.3}");
            format!("\"{} {unit}\"", text.trim_end_matches('0').trim_end_matches('.'))
        };
        let mut values = vec![("mass.total", value(found.mass, 1.0, "kg")), ("mass.cg_x", value(found.x, 1e3, "mm"))];
        values.extend(found.y.map(|y| ("mass.cg_y", value(y, 1e3, "mm"))));
        values.extend(found.height.map(|h| ("mass.cg_height", value(h, 1e3, "mm"))));
        let list = format!("\"driver {:.1} kg, fuel {:.1} L\"", aboard.driver, aboard.fuel * 1e3);
        values.push(("mass.weighed_with", list.replace(".0 ", " ")));
        values.extend(self.day.map(|day| ("mass.weighed_on", format!("\"{}\"", written(day)))));
        values.push(("fuel.as_weighed", plain(aboard.fuel * 1e3, "L")));
        values.push(("driver.as_weighed", plain(aboard.driver, "kg")));
        let corners = ["corners.front_left", "corners.front_right", "corners.rear_left", "corners.rear_right"];
        values.extend(
            found
                .corners
                .into_iter()
                .flat_map(|all| corners.into_iter().zip(all).map(|(key, kg)| (key, format!("\"{kg:.1} kg\"")))),
        );
        values
    }
}
