//! What is possible but unlikely gets a warning, at the value that deserves a second look.

use crate::common::{car, saloon};
use unladen_garage::{CAR, Explain, Kind, Overrides, Source, Style, parse_car};
use unladen_vehicle::car::Number;

/// (what is set, key that is underlined, message).
const UNLIKELY: &[(&[&str], &str)] = &[
    (&["mass.cg_x=-300mm"], "as it laps, the CG is -283 mm behind the front axle of a wheelbase of 2570 mm"),
    (&["mass.cg_x=2900mm"], "as it laps, the CG is 2899 mm behind the front axle"),
    (&["mass.cg_x=300mm"], "% of the weight is on one axle"),
    (&["tyres.front.peak_friction_lat=3"], "tyres.front.peak_friction_lat: 3 is unusual"),
    // 2 MW: 2653 N m at 7200 rpm, and a point in between that makes more than its ends.
    (&["engine.torque=[[\"1000 rpm\", \"2000 Nm\"], [\"7200 rpm\", \"2653 Nm\"]]"], "the torque curve makes 2000 kW"),
    (&["engine.torque=[[\"0 rpm\", \"4000 Nm\"], [\"7200 rpm\", \"0 Nm\"]]"], "the torque curve makes 754 kW"),
    (&["engine.limit=9000rpm"], "the torque curve ends at 7200 rpm, the limiter is at 9000 rpm"),
    (&["driveline.gears=[3.4, 1.5, 1.0]"], "from gear 1 to gear 2 the ratio falls by a factor of 2.27"),
    (&["driveline.final_drive=9.5"], "the limiter in top gear is at 91 km/h"),
    (&["mass.cg_height=800mm"], "rolls over at 0.94 g, before it slides at 1.18 g"),
    (&["fuel.density=0.6kg/L"], "fuel.density: 0.6 kg/L is unusual"),
    (&["fuel.tank.x=4m"], "the tank at 4000 mm behind the front axle is outside the car"),
    (&["driver.seat.x=-2m"], "the seat at -2000 mm behind the front axle is outside the car"),
    (
        &["chassis.roll_centre_front=600mm", "chassis.roll_centre_rear=600mm"],
        "the roll axis at the CG, 600 mm, is above the CG",
    ),
    (&["tyres.rear.cornering_stiffness=1050N/rad"], "the rear tyres would slip by 225"),
    (&["aero.drag_area=0.7 ± 0.4 m2"], "aero.drag_area lies by more than 30 % of itself"),
    (&["mass.weighed_with=fuel 20 L"], "says nothing of the driver, driver.as_weighed does"),
    (&["fuel.tank.height=240 ± 2 mm"], "fuel.tank.height: its uncertainty moves nothing"),
    (
        &["engine.torque=[[\"1000 ± 9 rpm\", \"200 Nm\"], [\"7000 rpm\", \"240 Nm\"]]"],
        "engine.torque[0] speed: its uncertainty moves nothing",
    ),
];

#[test]
fn bad_input_unlikely_values_are_warned_of() {
    assert!(car(&saloon()).unwrap().warnings.is_empty());
    for (sets, message) in UNLIKELY {
        let read = parse_car(&Source::new("car.toml", saloon()), &Overrides::parse(*sets).unwrap());
        let warnings = read.unwrap_or_else(|e| panic!("{sets:?}: {e}")).warnings;
        let found = warnings.iter().find(|w| w.what.to_string().contains(message));
        let Some(found) = found else {
            panic!("{sets:?}: {:?}", warnings.iter().map(|w| w.what.to_string()).collect::<Vec<_>>())
        };
        assert!(found.render(Style::PLAIN).contains(&found.what.label()), "{}", found.render(Style::PLAIN));
        assert!(found.render(Style::PLAIN).starts_with("  ⚠"), "{}", found.render(Style::PLAIN));
    }
}

fn inverse(unit: &str) -> &'static str {
    match unit {
        "rad/N" => "N/rad",
        other => panic!("no inverse of {other}"),
    }
}

/// A row that names a number of the car must be that number: the same key, the same SI unit.
#[test]
fn property_the_table_and_the_car_agree() {
    let rows: Vec<_> = CAR.keys().filter_map(|k| k.number.map(|n| (k, n))).collect();
    for (key, number) in &rows {
        let Kind::Quantity(span) = &key.kind else { panic!("{}", key.path) };
        // Cornering stiffness is written as it is, and is a number of the car as its inverse, which may be 0.
        let (name, unit) = (number.key(), number.unit());
        let (name, unit) = name.strip_prefix("1/").map_or((name.as_str(), unit), |name| (name, inverse(unit)));
        assert_eq!((key.path, span.unit().dimension.si()), (name, unit), "{}", key.path);
        assert!(
            span.usual.0 >= span.min && span.usual.1 <= span.max || span.usual.0 == f64::NEG_INFINITY,
            "{}",
            key.path
        );
    }
    let by_hand = ["mass.", "engine.power_factor", "engine.torque[", "driveline.gears["];
    let mut limited =
        car(&saloon().replace("[brakes]", "[brakes]\nrear_limiter = { knee = \"2200 N\", slope = 0.3 }")).unwrap().car;
    for number in Number::all(&limited.clone()) {
        let key = number.key();
        assert!(
            rows.iter().any(|r| r.1 == number) || by_hand.iter().any(|b| key.starts_with(b)),
            "{key} is never filled in"
        );
        assert!(limited.number_mut(number).unwrap().is_finite(), "{key}");
    }
}
