//! A track made of positions: laps cut, a centre line with its uncertainty, segments that follow it.
//!
//! Many noisy [`Run`]s become one [`Line`], a line becomes segments of linear curvature ([`Built`]), and a logged drive
//! is laid along a track ([`Line::align`]).

mod centre;
mod curve;
mod segments;

pub use centre::align::{AlignError, Alignment};
pub use centre::crossing::self_crossings;
pub use centre::laps::{DrivenLap, GATE_REACH, Gate, LapFault};
pub use centre::plane::{Cleared, Plane};
pub use centre::{CentreError, Line, Run, Wish};
pub use curve::noise::Noise;
pub use segments::build::{Built, Tolerance};
