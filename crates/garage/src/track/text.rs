//! A track as the texts of its two files (`docs/files.md`).

use std::fmt::Write;

use unladen_track::Segment;

use crate::keys::track::COLUMNS;
use crate::plain::to_cell;

/// What goes into a track's TOML file.
#[derive(Clone, Debug)]
pub struct TrackText<'a> {
    /// Its name.
    pub name: &'a str,
    /// A circuit.
    pub closed: bool,
    /// Speed at the start of an open course, m/s.
    pub start_speed: f64,
    /// The name of the segments' file.
    pub segments_file: &'a str,
    /// Where it comes from: comment lines.
    pub origin: &'a [String],
    /// Altitude for the air, m, where it is known.
    pub altitude: Option<f64>,
}

impl TrackText<'_> {
    /// The TOML file.
    pub fn toml(&self) -> String {
        let mut out = String::new();
        for line in self.origin.iter().flat_map(|o| o.lines()) {
            let _ = writeln!(out, "# {line}");
        }
        let text = |t: &str| toml::Value::String(t.into()).to_string();
        let _ = writeln!(out, "schema   = 1\nname     = {}\nclosed   = {}", text(self.name), self.closed);
        if !self.closed {
            let _ = writeln!(out, "start_speed = \"{:.1} km/h\"", 3.6 * self.start_speed);
        }
        let _ = writeln!(out, "segments = {}\ngrip     = 1.0               # dry", text(self.segments_file));
        out += "made_of  = \"positions\"\n";
        if let Some(altitude) = self.altitude {
            let _ = writeln!(out, "\n[air]\naltitude = \"{altitude:.0} m\"");
        }
        out
    }
}

/// The segments' CSV. Every digit is kept that closing a circuit needs.
pub fn segments_csv(segments: &[Segment]) -> String {
    let mut out = csv::Writer::from_writer(Vec::new());
    let round = |x: f64, digits: i32| {
        let scale = 10f64.powi(digits);
        ((x * scale).round() / scale + 0.0).to_string()
    };
    // Into memory: there is nothing that could fail.
    let _ = out.write_record(COLUMNS.iter().map(|c| c.name).chain(["place"]));
    for s in segments {
        let _ = out.write_record([
            &round(s.length, 4),
            &round(s.kappa[0], 8),
            &round(s.kappa[1], 8),
            &round(100.0 * s.q[0], 6),
            &round(100.0 * s.q[1], 6),
            &round(s.phi[0].to_degrees(), 4),
            &round(s.phi[1].to_degrees(), 4),
            &round(s.gamma, 4),
            &*to_cell(s.place.as_deref().unwrap_or("")),
        ]);
    }
    out.into_inner().ok().and_then(|bytes| String::from_utf8(bytes).ok()).unwrap_or_default()
}
