//! Lists and spans as they are typed.

use crate::error::Usage;

/// Torque on the map.
pub const POWERS: &str = "0.6..1.4:9";
/// Grip on the map.
pub const GRIPS: &str = "0.3..1.2:10";

/// `1.0,0.6`.
pub fn grip_list(given: &str) -> Result<Vec<f64>, Usage> {
    let numbers: Result<Vec<f64>, _> = given.split(',').map(|text| text.trim().parse::<f64>()).collect();
    match numbers {
        Ok(all) if all.iter().all(|g| *g > 0.0 && g.is_finite()) => Ok(all),
        _ => Err(Usage::Grips { given: given.into() }),
    }
}

/// `0.6..1.4:9`.
pub fn points(given: &str, example: &'static str) -> Result<Vec<f64>, Usage> {
    let parse = || {
        let (range, count) = given.rsplit_once(':')?;
        let (from, to) = range.split_once("..")?;
        let (from, to): (f64, f64) = (from.trim().parse().ok()?, to.trim().parse().ok()?);
        let count: usize = count.trim().parse().ok()?;
        let sound = from > 0.0 && to > from && to <= 10.0 && (2..=60).contains(&count);
        sound.then(|| {
            let share = |i: usize| i as f64 / (count - 1) as f64;
            (0..count).map(|i| from * (1.0 - share(i)) + to * share(i)).collect()
        })
    };
    parse().ok_or_else(|| Usage::Points { given: given.into(), example })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn closed_form_lists_and_points() {
        assert_eq!(grip_list("1.0, 0.6").unwrap(), [1.0, 0.6]);
        assert_eq!(points("0.5..1.5:3", POWERS).unwrap(), [0.5, 1.0, 1.5]);
        // The engines as they are stand on the map.
        assert!(points(POWERS, POWERS).unwrap().iter().any(|p| (p - 1.0).abs() < 1e-12));
    }

    #[test]
    fn bad_input_lists_and_points() {
        for given in ["", "x", "1,", "0", "-1,0.6", "nan", "inf"] {
            assert!(matches!(grip_list(given), Err(Usage::Grips { .. })), "{given}");
        }
        for given in ["", "1..2", "2..1:5", "0..1:5", "1..2:1", "1..2:61", "1..20:5", "a..b:3", "1..2:x", "nan..2:3"] {
            assert!(matches!(points(given, POWERS), Err(Usage::Points { .. })), "{given}");
        }
    }
}
