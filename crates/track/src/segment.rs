//! Segments and the track they make.

/// A piece of track over which curvature, slope and bank are linear in plan distance.
#[derive(Clone, Debug, PartialEq)]
pub struct Segment {
    /// Length in plan, m, > 0.
    pub length: f64,
    /// κ at start and end, 1/m, left +.
    pub kappa: [f64; 2],
    /// q = tanθ at start and end, up +.
    pub q: [f64; 2],
    /// φ at start and end, rad, right side up +.
    pub phi: [f64; 2],
    /// γ: local grip factor.
    pub gamma: f64,
    /// Name of the corner or straight, where the file gives one.
    pub place: Option<String>,
}

/// A track: a circuit or an open course.
#[derive(Clone, Debug, PartialEq)]
pub struct Track {
    /// Its name.
    pub name: String,
    /// A circuit that closes on itself, or an open course.
    pub closed: bool,
    /// Speed at the start of an open course, m/s.
    pub start_speed: f64,
    /// In driving order.
    pub segments: Vec<Segment>,
    /// ρ from the track's air, kg/m³.
    pub rho: f64,
    /// γ_0 from the track's file.
    pub grip: f64,
}

impl Track {
    /// S: length in plan, m.
    pub fn length(&self) -> f64 {
        self.segments.iter().map(|s| s.length).sum()
    }
}
