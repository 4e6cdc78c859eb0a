//! The picture of a course: of one made of positions, or of a track's own file.

use unladen_questions::course::{from, look};
use unladen_track::Track;

use crate::course::picture::{MOST, TrackPlot, track_picture};
use crate::draw::picture::{Picture, PlotError};
use crate::lap::place::places;
use crate::words::number::counted;

/// A course made of positions.
pub fn made(v: &from::Answer) -> Result<Picture, PlotError> {
    let (track, line, runs) = (&v.track, &v.line, &v.survey.runs);
    let data: Vec<[f64; 2]> = runs.iter().flat_map(|r| r.points.iter().copied()).collect();
    let mut pieces = pieces(track);
    pieces.iter_mut().for_each(|p| p.0 *= line.length_m() / track.length());
    let origin = format!("from {} positions in {}, noise {:.2} m", line.used, counted(runs.len(), "run"), line.noise_m);
    track_picture(&TrackPlot {
        name: &track.name,
        origin: &origin,
        closed: line.closed,
        data: &data,
        places: &places(track),
        points: &line.points,
        step_m: line.step_m,
        kappa: &line.kappa,
        kappa_sd: &line.kappa_sd,
        segments: &pieces,
        count: track.segments.len(),
        z: line.z.as_deref(),
    })
}

/// A track as its file has it.
pub fn as_filed(track: &Track) -> Result<Picture, PlotError> {
    let mut outline = track.outline(look::PLAN_M);
    if track.closed {
        outline.pop();
    }
    let every = outline.len().div_ceil(MOST).max(1);
    let outline: Vec<_> = outline.into_iter().step_by(every).collect();
    let n = outline.len();
    let step_m = track.length() / if track.closed { n as f64 } else { n as f64 - 1.0 };
    let points: Vec<[f64; 2]> = outline.iter().map(|p| [p.x, p.y]).collect();
    let kappa = track.kappas_at(&outline.iter().map(|p| p.s).collect::<Vec<_>>());
    let z: Vec<f64> = outline.iter().map(|p| p.z).collect();
    let flat = z.iter().all(|h| (h - z[0]).abs() < 0.05);
    track_picture(&TrackPlot {
        name: &track.name,
        origin: if track.closed { "a circuit" } else { "an open course" },
        closed: track.closed,
        data: &[],
        places: &places(track),
        points: &points,
        step_m,
        kappa: &kappa,
        kappa_sd: &vec![0.0; n],
        segments: &pieces(track),
        count: track.segments.len(),
        z: (!flat).then_some(&z[..]),
    })
}

/// κ along the segments, as (s, κ).
fn pieces(track: &Track) -> Vec<(f64, f64)> {
    let mut s = 0.0;
    let mut pieces = Vec::new();
    for segment in &track.segments {
        pieces.push((s, segment.kappa[0]));
        s += segment.length;
        pieces.push((s, segment.kappa[1]));
    }
    pieces.dedup();
    pieces
}
