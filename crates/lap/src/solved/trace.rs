//! What a lap looks like: one row a station, and which limit ruled there.

use unladen_vehicle::grip::Bound;

/// What keeps the car from being quicker at a station.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Limit {
    /// Front tyres: lateral, drive or brake force at their envelope.
    FrontGrip,
    /// Rear tyres likewise.
    RearGrip,
    /// Both axles' brakes at what grip and the brake system let them do.
    Braking,
    /// Engine and gear.
    Power,
    /// No drive while shifting up.
    Shift,
    /// The limiter in top gear.
    TopSpeed,
    /// The axle's load would vanish.
    AxleLift,
    /// It would roll over.
    Rollover,
}

impl Limit {
    /// Every limit, in the order of tables.
    pub const ALL: [Limit; 8] = [
        Limit::FrontGrip,
        Limit::RearGrip,
        Limit::Braking,
        Limit::Power,
        Limit::Shift,
        Limit::TopSpeed,
        Limit::AxleLift,
        Limit::Rollover,
    ];

    /// Its key in JSON and CSV.
    pub fn key(self) -> &'static str {
        match self {
            Limit::FrontGrip => "front_grip",
            Limit::RearGrip => "rear_grip",
            Limit::Braking => "braking",
            Limit::Power => "power",
            Limit::Shift => "shift",
            Limit::TopSpeed => "top_speed",
            Limit::AxleLift => "axle_lift",
            Limit::Rollover => "rollover",
        }
    }
}

impl From<Bound> for Limit {
    fn from(bound: Bound) -> Self {
        match bound {
            Bound::Front => Limit::FrontGrip,
            Bound::Rear => Limit::RearGrip,
            Bound::Brakes => Limit::Braking,
            Bound::AxleLift => Limit::AxleLift,
            Bound::Rollover => Limit::Rollover,
        }
    }
}

/// One station of a lap, SI.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Row {
    /// Distance in plan, m.
    pub s: f64,
    /// Time since the start, s.
    pub t: f64,
    /// Speed along the road, m/s.
    pub v: f64,
    /// a_x, m/s².
    pub a_x: f64,
    /// A_y of `docs/model.md` §2, left +, m/s².
    pub a_y: f64,
    /// Gear, 1 the first.
    pub gear: u8,
    /// What rules from here on.
    pub limit: Limit,
    /// Wheel loads front left, front right, rear left, rear right, N.
    pub load: [f64; 4],
}
