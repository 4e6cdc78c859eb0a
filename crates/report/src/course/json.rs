//! `course from --json`.

use serde::Serialize;
use unladen_questions::course::from::Answer;
use unladen_study::made_track::doubt::TrackDoubt;

use crate::course::text::mean;
use crate::lap::json::{OutError, finite};

/// A track made from positions.
#[derive(Serialize)]
struct TrackOut<'a> {
    /// Its name.
    name: &'a str,
    /// A circuit.
    closed: bool,
    /// m in plan.
    length_m: f64,
    /// How many.
    segments: usize,
    /// Standard deviation of a position, m.
    noise_m: f64,
    /// Positions used.
    positions: usize,
    /// Positions too far off.
    positions_left_out: usize,
    /// Readings of curvature by instruments.
    curvature_readings: usize,
    /// Mean standard deviation of curvature, 1/m.
    curvature_sd_mean_1pm: f64,
    /// Segments' curvature less the line's, 1/m rms.
    segments_curvature_rms_1pm: f64,
    /// Lap time of the car asked for, s.
    #[serde(skip_serializing_if = "Option::is_none")]
    lap_time_s: Option<f64>,
    /// How far it may be off by what the positions leave open, one standard deviation, s.
    #[serde(skip_serializing_if = "Option::is_none")]
    lap_time_sd_s: Option<f64>,
}

/// `course from --json`.
///
/// # Errors
/// [`OutError`].
pub fn course_json(v: &Answer) -> Result<String, OutError> {
    let (line, doubt) = (&v.line, v.lap.as_ref().map(|(_, doubt)| doubt));
    let out = TrackOut {
        name: &v.track.name,
        closed: v.track.closed,
        length_m: v.track.length(),
        segments: v.track.segments.len(),
        noise_m: line.noise_m,
        positions: line.used,
        positions_left_out: line.left_out,
        curvature_readings: line.turns,
        curvature_sd_mean_1pm: mean(&line.kappa_sd),
        segments_curvature_rms_1pm: v.built.kappa_rms,
        lap_time_s: doubt.map(|d| d.time_s),
        lap_time_sd_s: doubt.map(TrackDoubt::sd_s),
    };
    for (key, value) in [
        ("length_m", out.length_m),
        ("noise_m", out.noise_m),
        ("curvature_sd_mean_1pm", out.curvature_sd_mean_1pm),
        ("segments_curvature_rms_1pm", out.segments_curvature_rms_1pm),
        ("lap_time_s", out.lap_time_s.unwrap_or(0.0)),
        ("lap_time_sd_s", out.lap_time_sd_s.unwrap_or(0.0)),
    ] {
        finite(key, value)?;
    }
    Ok(serde_json::to_string_pretty(&out)? + "\n")
}
