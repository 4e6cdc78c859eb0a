//! What a change is held against.

use unladen_garage::CarFile;
use unladen_study::rank::Yardstick;
use unladen_vehicle::Number;
use unladen_vehicle::change::Change;
use unladen_vehicle::mass::Part;

/// Fuel, driver, grip, power and drag, for scale.
pub fn yardsticks(file: &CarFile) -> Vec<Yardstick> {
    const LITRES: f64 = 10.0;
    const DRIVER_KG: f64 = 5.0;
    let mut all = Vec::new();
    let mut swap = |name: String, before: Part, after: Part| {
        let change = Change { before: Some(before), after: Some(after) };
        all.push(Yardstick { name, change, times: Vec::new() });
    };
    if let Some(fuel) = &file.loads.fuel
        && fuel.on_track * 1e3 >= LITRES
        && let Ok(before) = fuel.tank.fuel(fuel.on_track, fuel.density)
        && let Ok(after) = fuel.tank.fuel((fuel.on_track - LITRES * 1e-3).max(0.0), fuel.density)
    {
        swap(format!("{LITRES} L less fuel"), before, after);
    }
    if let Some(driver) = file.loads.driver.filter(|d| d.on_track > DRIVER_KG) {
        let [x, y, z] = driver.seat;
        let seated = |kg: f64| Part::point(kg, x, y, z);
        swap(format!("{DRIVER_KG} kg less driver"), seated(driver.on_track), seated(driver.on_track - DRIVER_KG));
    }
    const FRICTION: [Number; 8] = [
        Number::MU_X_F,
        Number::MU_Y_F,
        Number::K_X_F,
        Number::K_Y_F,
        Number::MU_X_R,
        Number::MU_Y_R,
        Number::K_X_R,
        Number::K_Y_R,
    ];
    let mut factor = |name: &str, times: Vec<(Number, f64)>| {
        all.push(Yardstick { name: name.into(), change: Change::default(), times });
    };
    factor("1 % more grip", FRICTION.map(|number| (number, 1.01)).to_vec());
    factor("1 % more power", vec![(Number::POWER, 1.01)]);
    factor("5 % less drag", vec![(Number::CD_A, 0.95)]);
    all
}
