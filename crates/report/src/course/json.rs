//! `course from --json`.

use serde::Serialize;

use crate::lap::json::{OutError, finite};

/// A track made from positions.
#[derive(Clone, Debug, Serialize)]
pub struct CourseOut<'a> {
    /// Its name.
    pub name: &'a str,
    /// A circuit.
    pub closed: bool,
    /// m in plan.
    pub length_m: f64,
    /// How many.
    pub segments: usize,
    /// Standard deviation of a position, m.
    pub noise_m: f64,
    /// Positions used.
    pub positions: usize,
    /// Positions too far off.
    pub positions_left_out: usize,
    /// Readings of curvature by instruments.
    pub curvature_readings: usize,
    /// Mean standard deviation of curvature, 1/m.
    pub curvature_sd_mean_1pm: f64,
    /// Segments' curvature less the line's, 1/m rms.
    pub segments_curvature_rms_1pm: f64,
    /// Lap time of the car asked for, s.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub lap_time_s: Option<f64>,
    /// How far it may be off by what the positions leave open, one standard deviation, s.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub lap_time_sd_s: Option<f64>,
}

impl CourseOut<'_> {
    /// As JSON.
    ///
    /// # Errors
    /// [`OutError`].
    pub fn json(&self) -> Result<String, OutError> {
        for (key, value) in [
            ("length_m", self.length_m),
            ("noise_m", self.noise_m),
            ("curvature_sd_mean_1pm", self.curvature_sd_mean_1pm),
            ("segments_curvature_rms_1pm", self.segments_curvature_rms_1pm),
            ("lap_time_s", self.lap_time_s.unwrap_or(0.0)),
            ("lap_time_sd_s", self.lap_time_sd_s.unwrap_or(0.0)),
        ] {
            finite(key, value)?;
        }
        Ok(serde_json::to_string_pretty(self)? + "\n")
    }
}
