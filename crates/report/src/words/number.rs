//! Numbers for people: as many digits as are known, with their uncertainty; times of laps; parts in a hundred.

pub use unladen_garage::unit::digits::{decimals_for, fixed, with_error, with_sd};
use unladen_study::whole_percent;

/// What a difference that is smaller than its own numerical error is called.
pub const UNRESOLVED: &str = "no difference that can be resolved";

/// The same with a plus before what is positive.
pub fn signed(text: &str) -> String {
    let zero = text.chars().take_while(|c| *c != ' ').all(|c| matches!(c, '0' | '.'));
    if zero || text.starts_with('-') { text.to_owned() } else { format!("+{text}") }
}

/// Can this difference be told from zero, given its numerical error?
pub fn resolved(value: f64, error: f64) -> bool {
    value.abs() > error.abs()
}

/// A lap time: `58.214 s` or `1:23.412`.
pub fn lap_time(seconds: f64, decimals: usize) -> String {
    // Rounded before it is split: 59.9996 s is 1:00.000.
    let scale = 10f64.powi(decimals as i32);
    let seconds = (seconds * scale).round() / scale;
    if !seconds.is_finite() || seconds < 60.0 {
        return format!("{seconds:.decimals$} s");
    }
    let minutes = (seconds / 60.0).floor();
    let width = if decimals > 0 { decimals + 3 } else { 2 };
    format!("{minutes:.0}:{:0width$.decimals$}", seconds - 60.0 * minutes)
}

/// `41 %`, and `<1 %` for what is there but rounds to nothing.
pub fn percent(share: f64) -> String {
    let p = 100.0 * share;
    if p > 0.0 && p < 0.5 {
        "<1 %".to_owned()
    } else if (99.5..100.0).contains(&p) {
        ">99 %".to_owned()
    } else {
        format!("{} %", fixed(p.round(), 0))
    }
}

/// Parts of a whole that add up to 100 %, but for what is there and rounds to nothing: `<1 %`.
pub fn percents(shares: &[f64]) -> Vec<String> {
    let whole = whole_percent(shares);
    let said = |(whole, share): (u32, &f64)| match whole {
        0 if *share > 0.0 => "<1 %".to_owned(),
        100 if *share < 1.0 => ">99 %".to_owned(),
        n => format!("{n} %"),
    };
    whole.into_iter().zip(shares).map(said).collect()
}

/// `1 run`, `3 runs`.
pub fn counted(n: usize, what: &str) -> String {
    format!("{n} {what}{}", if n == 1 { "" } else { "s" })
}

/// A distance: `812 m` or `4.21 km`.
pub fn distance(metres: f64) -> String {
    if metres.abs() < 999.5 { format!("{} m", fixed(metres, 0)) } else { format!("{} km", fixed(metres / 1000.0, 2)) }
}

/// m/s in km/h.
pub fn kmh(mps: f64) -> f64 {
    mps * 3.6
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn closed_form_digits_stop_at_the_error() {
        assert_eq!(with_error(0.214_321, 0.0004), "0.2143");
        assert_eq!(with_error(0.214_321, 0.004), "0.214");
        assert_eq!(with_error(0.214_321, 0.0), "0.2143");
        assert_eq!(with_error(12.345_67, 0.000_1), "12.35");
        assert!(resolved(0.01, 0.001) && !resolved(0.0009, 0.001) && !resolved(0.0, 0.0));
    }

    #[test]
    fn closed_form_times_and_shares() {
        for (s, text) in [
            (58.2144, "58.214 s"),
            (83.4119, "1:23.412"),
            (59.9996, "1:00.000"),
            (3661.5, "61:01.500"),
            (65.0, "1:05.000"),
        ] {
            assert_eq!(lap_time(s, 3), text);
        }
        assert_eq!(lap_time(65.4, 0), "1:05");
        for (share, text) in [
            (0.0, "0 %"),
            (0.001, "<1 %"),
            (0.005, "1 %"),
            (0.995, ">99 %"),
            (0.414, "41 %"),
            (0.999, ">99 %"),
            (1.0, "100 %"),
        ] {
            assert_eq!(percent(share), text);
        }
        assert_eq!((distance(812.4), distance(999.6), distance(4213.0)).1, "1.00 km");
        assert_eq!((signed("0.2"), signed("-0.2"), signed("0.00 ± 0.1")).0, "+0.2");
        assert_eq!(signed("0.00 ± 0.1"), "0.00 ± 0.1");
    }

    #[test]
    fn closed_form_parts_add_up() {
        assert_eq!(percents(&[1.0 / 3.0; 3]), ["34 %", "33 %", "33 %"]);
        assert_eq!(percents(&[0.998, 0.002, 0.0]), [">99 %", "<1 %", "0 %"]);
        assert!(percents(&[]).is_empty());
    }

    #[test]
    fn bad_input_numbers_that_are_none_do_not_panic() {
        for bad in [f64::NAN, f64::INFINITY, f64::NEG_INFINITY, 0.0, 1e300, 1e-300] {
            let _ = (with_sd(bad, bad), with_error(bad, bad), lap_time(bad, 3), percent(bad), distance(bad));
        }
    }
}
