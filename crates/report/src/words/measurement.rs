//! What to measure where an unknown decides.

/// What to do about an unknown, by its name.
pub fn measurement(unknown: &str) -> &'static str {
    let is = |start: &str| unknown.starts_with(start);
    if is("mass of ") {
        "put it on a scale and write down `weighed` and the scale"
    } else if is("scale ") {
        "put a known weight on that scale, or weigh the parts again on another one"
    } else if is("mass.cg_height") {
        "raise one axle on the scales, higher and with the suspension blocked: `unladen weigh`"
    } else if is("mass.") || is("fuel.") || is("driver.") {
        "put the car on four scales again, level, with the same aboard: `unladen weigh`"
    } else if is("chassis.roll_stiffness") {
        "measure wheel rates and bars at the wheel, left and right"
    } else if is("chassis.") {
        "measure it on the car"
    } else if is("tyres.") || is("driver.use") || is("grip") {
        "log some laps on this track and let `unladen fit` bring the grip to them"
    } else if is("aero.") {
        "let the car coast down on a level road on a still day, or `unladen fit` a log with long straights"
    } else if is("engine.") || is("driveline.efficiency") {
        "put it on a rolling road, or `unladen fit` a log with long straights"
    } else {
        "measure it"
    }
}
