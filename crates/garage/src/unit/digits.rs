//! Numbers written with as many digits as are known.

/// Digits behind the point so that `sd` shows two significant digits.
pub fn decimals_for(sd: f64) -> usize {
    decimals(sd, 2)
}

/// Digits behind the point so that `size` shows so many significant digits; at most 9.
fn decimals(size: f64, digits: i32) -> usize {
    if !(size.is_finite() && size > 0.0) {
        return 3;
    }
    // Rounded first: 0.0998 to two digits is 0.10 and not 0.100.
    let text = format!("{:.*e}", (digits - 1).max(0) as usize, size);
    let exponent: i32 = text.rsplit('e').next().and_then(|e| e.parse().ok()).unwrap_or(0);
    (digits - 1 - exponent).clamp(0, 9) as usize
}

/// `0.214 ± 0.012`: the uncertainty in two digits, the value with as many decimals.
pub fn with_sd(value: f64, sd: f64) -> String {
    if !(sd.is_finite() && sd > 0.0) {
        return with_error(value, 0.0);
    }
    let decimals = decimals_for(sd);
    // From 100 on, two digits end before the point.
    let unit = if sd >= 99.5 { 10f64.powf(sd.log10().floor() - 1.0) } else { 1.0 };
    let [value, sd] = [value, sd].map(|x| if unit > 1.0 { (x / unit).round() * unit } else { x });
    format!("{} ± {sd:.decimals$}", fixed(value, decimals))
}

/// A value as finely as its numerical error allows, and no finer than four digits.
pub fn with_error(value: f64, error: f64) -> String {
    let most = decimals(value.abs(), 4);
    let known = if error.is_finite() && error > 0.0 { decimals(error, 1) } else { most };
    fixed(value, most.min(known))
}

/// A value with fixed decimals, and no minus before zero.
pub fn fixed(value: f64, decimals: usize) -> String {
    let text = format!("{value:.decimals$}");
    match text.strip_prefix('-') {
        Some(rest) if rest.chars().all(|c| matches!(c, '0' | '.')) => rest.to_owned(),
        _ => text,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn closed_form_the_uncertainty_has_two_digits() {
        for (value, sd, text) in [
            (0.21432, 0.01234, "0.214 ± 0.012"),
            (0.21432, 0.0998, "0.21 ± 0.10"),
            (83.4119, 0.31, "83.41 ± 0.31"),
            (1284.3, 14.6, "1284 ± 15"),
            (-0.00004, 0.012, "0.000 ± 0.012"),
            (123456.0, 1234.0, "123500 ± 1200"),
        ] {
            assert_eq!(with_sd(value, sd), text);
        }
    }

    proptest! {
        #[test]
        fn property_value_and_uncertainty_have_the_same_decimals(value in -1e3..1e3f64, sd in 1e-6..1e3f64) {
            let text = with_sd(value, sd);
            let (v, s) = text.split_once(" ± ").unwrap_or_default();
            let places = |t: &str| t.split_once('.').map_or(0, |(_, d)| d.len());
            prop_assert_eq!(places(v), places(s));
            prop_assert!((s.parse::<f64>().unwrap_or(f64::NAN) - sd).abs() <= 0.051 * sd.max(10.0 * f64::EPSILON));
        }
    }
}
