//! Days: 2026-03-14, or 14.3.2026 as a spreadsheet may have made of it.

/// Days since 1970-01-01 of a date; `None` where it is none.
pub fn day(text: &str) -> Option<i64> {
    let number = |s: &str, most: usize| {
        let digits = !s.is_empty() && s.len() <= most && s.bytes().all(|b| b.is_ascii_digit());
        if digits { s.parse::<i64>().ok() } else { None }
    };
    let text = text.trim();
    let (year, month, day) = if text.contains('-') {
        let mut parts = text.splitn(3, '-');
        (parts.next()?, parts.next()?, parts.next()?)
    } else {
        let mut parts = text.splitn(3, '.');
        let (day, month) = (parts.next()?, parts.next()?);
        (parts.next()?, month, day)
    };
    if year.len() != 4 {
        return None;
    }
    let (year, month, day) = (number(year, 4)?, number(month, 2)?, number(day, 2)?);
    if !(1900..=2999).contains(&year) || !(1..=12).contains(&month) {
        return None;
    }
    let days = days_from(year, month, day);
    // A 30th of February is another day written again.
    (written(days) == format!("{year:04}-{month:02}-{day:02}")).then_some(days)
}

/// The date of a day, 2026-03-14.
pub fn written(days: i64) -> String {
    let (mut year, mut rest) = (1970, days);
    let length = |y: i64| if y % 4 == 0 && (y % 100 != 0 || y % 400 == 0) { 366 } else { 365 };
    while rest < 0 {
        year -= 1;
        rest += length(year);
    }
    while rest >= length(year) {
        rest -= length(year);
        year += 1;
    }
    let mut month = 1;
    for days in months(length(year) == 366) {
        if rest < days {
            break;
        }
        rest -= days;
        month += 1;
    }
    format!("{year:04}-{month:02}-{:02}", rest + 1)
}

fn months(leap: bool) -> [i64; 12] {
    [31, if leap { 29 } else { 28 }, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31]
}

fn days_from(year: i64, month: i64, day: i64) -> i64 {
    let leap = year % 4 == 0 && (year % 100 != 0 || year % 400 == 0);
    let years: i64 = if year >= 1970 {
        (1970..year).map(|y| if y % 4 == 0 && (y % 100 != 0 || y % 400 == 0) { 366 } else { 365 }).sum()
    } else {
        -(year..1970).map(|y| if y % 4 == 0 && (y % 100 != 0 || y % 400 == 0) { 366 } else { 365 }).sum::<i64>()
    };
    let before = usize::try_from(month - 1).unwrap_or(0);
    years + months(leap).iter().take(before).sum::<i64>() + day - 1
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The day 2000-03-01 is day 11017 (RFC 3339's own arithmetic: 30 years of 365 days, 7 leap days, 60 days).
    #[test]
    fn closed_form_days() {
        for (text, days) in [
            ("1970-01-01", 0),
            ("1969-12-31", -1),
            ("2000-03-01", 30 * 365 + 7 + 60),
            ("1.3.2000", 30 * 365 + 7 + 60),
            (" 2024-02-29 ", 54 * 365 + 13 + 31 + 28),
        ] {
            assert_eq!(day(text), Some(days), "{text}");
        }
    }

    #[test]
    fn property_days_come_back() {
        for days in (-20_000..40_000).step_by(17) {
            assert_eq!(day(&written(days)), Some(days));
        }
    }

    #[test]
    fn bad_input_no_dates() {
        for text in
            ["", "2026", "2025-02-29", "2026-13-01", "31.4.2026", "3/4/2026", "26-01-02", "2026-01-0x", "2026--1-1"]
        {
            assert_eq!(day(text), None, "{text}");
        }
    }
}
