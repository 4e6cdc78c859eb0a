//! What is possible but unlikely, in words; each is a warning at the value that deserves a second look.

use miette::Severity;
use thiserror::Error;

use crate::fault::finding::Explain;
use crate::fault::slip::Slip;

/// What is unlikely.
#[derive(Clone, Debug, PartialEq, Error)]
#[allow(missing_docs)]
pub enum Caution {
    #[error("{key}: {given} is unusual")]
    Unusual { key: &'static str, given: String, usual: String },
    #[error("{key}: its uncertainty moves nothing that is computed")]
    MovesNothing { key: String },
    #[error("the note of what was aboard says nothing of the {word}, {key} does")]
    NotListed { key: &'static str, word: &'static str },
    #[error("as it laps, the CG is {cg_x_mm:.0} mm behind the front axle of a wheelbase of {wheelbase_mm:.0} mm")]
    CgOutsideWheelbase { cg_x_mm: f64, wheelbase_mm: f64 },
    #[error("as it laps, {share:.0} % of the weight is on one axle")]
    OneAxle { share: f64 },
    #[error("rolls over at {tips_g:.2} g, before it slides at {slides_g:.2} g")]
    Tips { tips_g: f64, slides_g: f64 },
    #[error("the torque curve makes {power_kw:.0} kW")]
    Power { power_kw: f64 },
    #[error("the torque curve ends at {last_rpm:.0} rpm, the limiter is at {limit_rpm:.0} rpm")]
    CurveShort { last_rpm: f64, limit_rpm: f64 },
    #[error("from gear {from} to gear {} the ratio falls by a factor of {step:.2}", from + 1)]
    GearGap { from: usize, step: f64 },
    #[error("the limiter in top gear is at {top_kmh:.0} km/h")]
    TopSpeed { top_kmh: f64 },
    #[error("{what} at {x_mm:.0} mm behind the front axle is outside the car")]
    OutsideCar { what: &'static str, x_mm: f64 },
    #[error("the roll axis at the CG, {axis_mm:.0} mm, is above the CG, {cg_mm:.0} mm")]
    RollAxisAboveCg { axis_mm: f64, cg_mm: f64 },
    #[error("at peak friction the {axle} tyres would slip by {slip_deg:.1}°")]
    SlipAngle { axle: &'static str, slip_deg: f64 },
    #[error("{key} lies by more than 30 % of itself on either side")]
    Vague { key: &'static str },
    #[error("the circuit does not close: {errors}; taken as measured")]
    NotClosed { errors: String },
    #[error("area {area}, at {axis} {mm:.0} mm, is outside the car")]
    AreaOutside { area: String, axis: char, mm: f64 },
    #[error("{what}: {here} in {file}, {there} in car.toml")]
    Differs { what: &'static str, file: String, here: String, there: String },
    #[error("{0}")]
    Slip(Slip),
    #[error("closure = \"as measured\", but the circuit closes within the tolerances")]
    ClosesAnyway,
}

impl Explain for Caution {
    fn label(&self) -> String {
        match self {
            Caution::Unusual { usual, .. } => format!("usual: {usual}"),
            Caution::MovesNothing { .. } => "± is left out".into(),
            Caution::NotListed { word, .. } => format!("no {word} here"),
            _ => "worth a second look".into(),
        }
    }

    fn hint(&self) -> Option<String> {
        match self {
            Caution::Power { .. } => Some("torque is at the crank, in Nm, against rpm".into()),
            Caution::Tips { .. } => Some("at t/2h; peak friction and CG height decide".into()),
            Caution::CurveShort { .. } => Some("above its last point the torque is taken as constant".into()),
            Caution::Slip(slip) => slip.hint(),
            Caution::AreaOutside { .. } => Some(
                "in areas.csv: x behind the front axle, y right of the centre plane, z above ground, all in mm".into(),
            ),
            Caution::Differs { .. } => Some("both are of one car: one of them is a slip, or is of another day".into()),
            Caution::ClosesAnyway => Some("leave the key out: then a later slip is caught".into()),
            _ => None,
        }
    }

    fn severity(&self) -> Severity {
        Severity::Warning
    }
}
