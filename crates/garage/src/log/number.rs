//! Numbers as logs write them: decimal commas, thousands, degrees with minutes and seconds.

/// A number; `None` for a blank or what is none.
pub(crate) fn number(field: &str, decimal_comma: bool) -> Option<f64> {
    if field.is_empty() {
        return None;
    }
    let parsed = if decimal_comma && field.contains(',') {
        field.replace('.', "").replace(',', ".").parse::<f64>()
    } else {
        field.parse::<f64>()
    };
    parsed.ok().or_else(|| field.replace('−', "-").parse().ok()).filter(|x| x.is_finite())
}

/// Degrees: a number, or degrees, minutes and seconds with marks and a letter (`52° 04' 43.1" N`), or whole degrees
/// with the minutes run on where the letter says that it is one (`5204.718 N`).
pub(crate) fn degrees(field: &str, decimal_comma: bool) -> Option<f64> {
    if let Some(x) = number(field, decimal_comma) {
        return Some(x);
    }
    let field = if decimal_comma { field.replace(',', ".") } else { field.to_string() };
    let letter = field.chars().find(|c| "NSEWOnsewo".contains(*c)).map(|c| c.to_ascii_uppercase());
    let numbers: Vec<f64> = field
        .split(|c: char| !c.is_ascii_digit() && c != '.')
        .filter(|p| !p.is_empty())
        .map_while(|p| p.parse().ok())
        .collect();
    let marked = field.contains(['°', 'º', '\'', '′', ':']);
    let size = match (&numbers[..], marked) {
        // ddmm.mmmm
        ([one], false) if *one >= 100.0 && letter.is_some() => (one / 100.0).floor() + (one % 100.0) / 60.0,
        ([d], _) if letter.is_some() || marked => *d,
        ([d, m], _) if *m < 60.0 => d + m / 60.0,
        ([d, m, s], _) if *m < 60.0 && *s < 60.0 => d + m / 60.0 + s / 3600.0,
        _ => return None,
    };
    let negative = field.trim_start().starts_with(['-', '−']) || matches!(letter, Some('S' | 'W'));
    Some(if negative { -size } else { size })
}

/// A time: seconds or another unit as a number, `hh:mm:ss.sss`, `mm:ss.sss`, or with a date before it, in seconds.
/// (`None`, …) apart: whether it is a time of day.
pub(crate) fn time(field: &str, decimal_comma: bool) -> Option<(f64, bool)> {
    if let Some(x) = number(field, decimal_comma) {
        return Some((x, false));
    }
    let field = if decimal_comma { field.replace(',', ".") } else { field.to_string() };
    let (date, clock) = match field.split_once(['T', ' ']) {
        Some((date, clock)) if clock.contains(':') => (Some(date), clock),
        _ => (None, &field[..]),
    };
    let end = clock.find(['Z', '+']).or_else(|| clock.rfind('-').filter(|i| *i > 0)).unwrap_or(clock.len());
    let parts: Vec<f64> = clock[..end].split(':').map(|p| p.trim().parse::<f64>()).collect::<Result<_, _>>().ok()?;
    let seconds = match parts[..] {
        [h, m, s] if m < 60.0 && s < 61.0 => h * 3600.0 + m * 60.0 + s,
        [m, s] if s < 61.0 => m * 60.0 + s,
        _ => return None,
    };
    let day = date.and_then(day);
    Some((seconds + day.map_or(0.0, |d| d as f64 * 86_400.0), day.is_none()))
}

/// A date with a time, s since 1970.
pub(crate) fn instant(text: &str) -> Option<f64> {
    let text = text.trim();
    let (t, clock) = time(text, false).filter(|_| text.contains(':'))?;
    // hh:mm behind the time, east of Greenwich positive.
    let zone = text.get(10..).and_then(|rest| {
        let at = rest.rfind(['+', '-'])?;
        let (h, m) = rest[at + 1..].split_once(':').unwrap_or((&rest[at + 1..], "0"));
        let off = h.parse::<f64>().ok()? * 3600.0 + m.parse::<f64>().ok()? * 60.0;
        Some(if rest.as_bytes()[at] == b'-' { -off } else { off })
    });
    (!clock).then_some(t - zone.unwrap_or(0.0))
}

/// Days since 1970-01-01 of a date as `yyyy-mm-dd` or `dd/mm/yyyy` (J. Meeus, *Astronomical Algorithms*, 1998, ch. 7,
/// by whole numbers; from memory).
fn day(date: &str) -> Option<i64> {
    let p: Vec<i64> = date.split(['-', '/', '.']).map(|x| x.parse::<i64>()).collect::<Result<_, _>>().ok()?;
    let &[a, m, c] = &p[..] else { return None };
    let (y, d) = if a > 31 { (a, c) } else { (c, a) };
    if !(1..=12).contains(&m) || !(1..=31).contains(&d) || !(1..=9999).contains(&y) {
        return None;
    }
    let (y, m) = if m > 2 { (y, m - 3) } else { (y - 1, m + 9) };
    Some(365 * y + y / 4 - y / 100 + y / 400 + (153 * m + 2) / 5 + d - 1 - 719_468)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn closed_form_degrees_in_every_writing() {
        let want = 52.0 + 4.0 / 60.0 + 43.1 / 3600.0;
        for text in ["52° 04' 43.1\" N", "52:04:43.1N", "N 52 04 43.1", "52°04,718333333'N", "5204.718333333 N"] {
            let got = degrees(text, text.contains(',')).unwrap();
            assert!((got - want).abs() < 1e-8, "{text}: {got}");
        }
        assert!((degrees("1° 1' 30\" W", false).unwrap() + 1.025).abs() < 1e-12);
        assert_eq!(degrees("-1.025", false), Some(-1.025));
        assert_eq!((degrees("", false), degrees("abc", false), degrees("52° 99'", false)), (None, None, None));
    }

    #[test]
    fn closed_form_instants_with_zones() {
        for text in ["2001-09-09T01:46:40Z", "2001-09-09T03:46:40+02:00", "2001-09-08T20:46:40.000-05:00"] {
            assert_eq!(instant(text), Some(1e9), "{text}");
        }
        assert_eq!((instant("01:46:40"), instant("2001"), instant("")), (None, None, None));
    }

    #[test]
    fn closed_form_times_in_every_writing() {
        assert_eq!(time("12.5", false), Some((12.5, false)));
        assert_eq!(time("01:02:03.250", false), Some((3723.25, true)));
        assert_eq!(time("02:03,5", true), Some((123.5, true)));
        // 2001-09-09 01:46:40 UTC is the 10⁹th second of the Unix count.
        assert_eq!(time("2001-09-09T01:46:40Z", false), Some((1e9, false)));
        assert_eq!(time("09/09/2001 01:46:40", false), Some((1e9, false)));
        assert_eq!((time("", false), time("12:xx", false), time("25", false)), (None, None, Some((25.0, false))));
    }
}
