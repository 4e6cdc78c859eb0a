//! A track looked over: its places, banks, jumps of curvature, crossings.

use std::path::PathBuf;

use unladen_garage::{Files, Overrides, TrackFile, Warning, self_crossings};
use unladen_track::Track;
use unladen_track::place::{Place, places};

use crate::error::AskError;

/// A track.
#[derive(Clone, Debug, PartialEq)]
pub struct Question {
    /// Its TOML file.
    pub track: PathBuf,
}

/// A track looked over.
#[derive(Clone, Debug)]
#[must_use = "an answer may come with warnings"]
pub struct Answer {
    /// The track's file.
    pub file: TrackFile,
    /// Its places: corners, by number where they have no name, and straights that have one.
    pub places: Vec<Stretch>,
    /// Where its curvature jumps, m.
    pub jumps: Vec<f64>,
    /// Where it crosses itself first, m from the start on both roads.
    pub crossing: Option<(f64, f64)>,
    /// What is unlikely in the file.
    pub warnings: Vec<Warning>,
}

/// A named place and how it bends and climbs.
#[derive(Clone, Debug, PartialEq)]
pub struct Stretch {
    /// Where it is.
    pub place: Place,
    /// Its tightest radius, m; `None`: straight.
    pub least_radius_m: Option<f64>,
    /// Rise over length, of all segments of the name.
    pub grade: f64,
}

/// Of banked corners, where the bank helps and where it hurts: by their names, or where they start.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Banks {
    /// The inside is the low side, κ φ > 0.
    pub helping: Vec<Bend>,
    /// The inside is the high side.
    pub hurting: Vec<Bend>,
}

/// A bend.
#[derive(Clone, Debug, PartialEq)]
pub enum Bend {
    /// By its name.
    Named(String),
    /// By where it starts, m.
    At(f64),
}

/// Distance between points of the plan, m.
pub const PLAN_M: f64 = 2.0;
/// A jump of curvature by more than this is worth a word, 1/m.
const JUMP: f64 = 0.005;
/// Below this a road counts as level across, rad.
const LEVEL: f64 = 1e-3;

impl Question {
    /// Reads the track and looks it over.
    ///
    /// # Errors
    /// [`AskError::Files`] with every fault of it.
    pub fn answer(&self, files: &dyn Files) -> Result<Answer, AskError> {
        let file = files.track(&self.track, &Overrides::none(), None)?;
        let track = &file.track;
        let mut numbered = track.clone();
        numbered.number_corners();
        Ok(Answer {
            places: places(&numbered).into_iter().map(|place| stretch(&numbered, place)).collect(),
            jumps: jumps(track),
            crossing: crossing(track),
            warnings: file.warnings.clone(),
            file,
        })
    }
}

fn stretch(track: &Track, place: Place) -> Stretch {
    let (mut kappa, mut rise, mut length) = (0.0f64, 0.0, 0.0);
    for g in &track.segments {
        if g.place.as_deref().map(str::trim) == Some(place.name.as_str()) {
            kappa = kappa.max(g.kappa[0].abs()).max(g.kappa[1].abs());
            rise += 0.5 * (g.q[0] + g.q[1]) * g.length;
            length += g.length;
        }
    }
    let least_radius_m = (kappa > 1e-4).then(|| 1.0 / kappa);
    Stretch { place, least_radius_m, grade: rise / length.max(1e-9) }
}

fn jumps(track: &Track) -> Vec<f64> {
    let mut at = Vec::new();
    let mut s = 0.0;
    let n = track.segments.len();
    for (i, g) in track.segments.iter().enumerate() {
        s += g.length;
        let next = if i + 1 < n { track.segments.get(i + 1) } else { track.segments.first().filter(|_| track.closed) };
        if next.is_some_and(|next| (next.kappa[0] - g.kappa[1]).abs() > JUMP) {
            at.push(if i + 1 < n { s } else { 0.0 });
        }
    }
    at
}

fn crossing(track: &Track) -> Option<(f64, f64)> {
    let points: Vec<[f64; 2]> = track.outline(PLAN_M).iter().map(|p| [p.x, p.y]).collect();
    self_crossings(&points, track.length() / (points.len() as f64 - 1.0)).first().copied()
}

/// Of each banked corner, whether its bank helps or hurts.
pub fn banks(track: &Track) -> Banks {
    let mut banks = Banks::default();
    let mut start = 0.0;
    for segment in &track.segments {
        // The end at which it does most.
        let at = [0, 1].map(|i| (segment.kappa[i], segment.phi[i]));
        let (kappa, phi) = if (at[0].0 * at[0].1).abs() > (at[1].0 * at[1].1).abs() { at[0] } else { at[1] };
        if kappa != 0.0 && phi.abs() > LEVEL {
            let bend = segment.place.clone().map_or(Bend::At(start), Bend::Named);
            let list = if kappa * phi > 0.0 { &mut banks.helping } else { &mut banks.hurting };
            if !list.contains(&bend) {
                list.push(bend);
            }
        }
        start += segment.length;
    }
    banks
}

#[cfg(test)]
mod tests {
    use super::*;
    use unladen_track::Segment;

    /// Left + for curvature, right side up + for bank: both positive, the outside is up.
    #[test]
    fn closed_form_banks_that_help_and_hurt() {
        let segment = |kappa: f64, phi: f64, place: Option<&str>| Segment {
            length: 50.0,
            kappa: [0.0, kappa],
            q: [0.0; 2],
            phi: [0.0, phi],
            gamma: 1.0,
            place: place.map(Into::into),
        };
        let track =
            |segments| Track { name: "t".into(), closed: false, start_speed: 0.0, rho: 1.2, grip: 1.0, segments };
        let level = track(vec![segment(0.01, 0.0, None), segment(0.0, 0.1, None)]);
        assert_eq!(banks(&level), Banks::default());
        let mixed = vec![segment(0.01, 0.05, Some("A")), segment(-0.01, -0.05, Some("A")), segment(-0.01, 0.05, None)];
        let expected = Banks { helping: vec![Bend::Named("A".into())], hurting: vec![Bend::At(100.0)] };
        assert_eq!(banks(&track(mixed)), expected);
    }
}
