//! Where a kilogram costs most and least: over the outline that is drawn, and where that is in words.

use crate::draw::svg::Point;
use crate::words::number::{decimals_for, fixed, with_error};
use crate::worth::body::{Body, Size};
use crate::worth::field::Plane;
use unladen_study::Quantity;

/// `12.4 ms (90 %: 11.9 to 12.8)`: thousandths of a second.
pub(crate) fn ms(q: &Quantity) -> String {
    let [value, error] = [q.value, q.error].map(|s| 1e3 * s);
    let text = match q.interval.map(|ends| ends.map(|s| 1e3 * s)) {
        None => format!("{} ms", with_error(value, error.max(1e-2))),
        Some([low, high]) => {
            let digits = decimals_for(0.5 * (high - low));
            let text = |x: f64| fixed(x, digits);
            format!("{} ms (90 %: {} to {})", text(value), text(low), text(high))
        }
    };
    text.replace('-', "−")
}

/// A point of the outline, in one of the two views, and its cost there.
struct Extreme {
    at: [f64; 2],
    above: bool,
    ms: f64,
}

/// The picture's title.
pub(crate) fn finding(own: &Quantity, planes: &[Plane; 2], body: &Body, size: &Size) -> String {
    let points = |(plane, outline): (&Plane, &Vec<Point>), above: bool| -> Vec<Extreme> {
        outline.iter().map(|p| Extreme { at: [p.0, p.1], above, ms: plane.at(*p) }).collect()
    };
    let mut all = points((&planes[0], &body.side), false);
    all.extend(points((&planes[1], &body.top), true));
    let known = match own.interval {
        Some([low, high]) => {
            format!("{} ms a lap (90 %: {} to {})", shown(1e3 * own.value), shown(1e3 * low), shown(1e3 * high))
        }
        None => format!("{} a lap", ms(own)),
    };
    let own = format!("A kilogram costs {known} at the centre of gravity");
    let by = |a: &&Extreme, b: &&Extreme| a.ms.total_cmp(&b.ms);
    match (all.iter().max_by(by), all.iter().min_by(by)) {
        (Some(dear), Some(cheap)) if dear.ms - cheap.ms > 0.05 => format!(
            "{own}, {} where it is dearest ({}), {} where it is cheapest ({})",
            shown(dear.ms),
            words(dear, size, body),
            shown(cheap.ms),
            words(cheap, size, body)
        ),
        _ => format!("{own}, and hardly more or less elsewhere"),
    }
}

fn shown(ms: f64) -> String {
    fixed(ms, 1).replace('-', "−")
}

/// `high at the tail`, `at the nose, on the left`.
fn words(e: &Extreme, size: &Size, body: &Body) -> String {
    let [x, v] = e.at;
    let along = if x < 0.12 * size.wheelbase_m {
        "at the nose"
    } else if x > 0.88 * size.wheelbase_m {
        "at the tail"
    } else {
        "between the axles"
    };
    if e.above {
        return match v {
            v if v > 0.25 * body.half_width() => format!("{along}, on the right"),
            v if v < -0.25 * body.half_width() => format!("{along}, on the left"),
            _ => along.to_owned(),
        };
    }
    let tall = body.height();
    if v > 0.93 * tall {
        "at the roof".to_owned()
    } else if v > 0.5 * tall {
        format!("high {along}")
    } else if v < 0.3 * tall {
        format!("low {along}")
    } else {
        along.to_owned()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const SALOON: Size = Size { wheelbase_m: 2.57, track_m: [1.505, 1.5], radius_m: [0.31; 2], cg_height_m: 0.492 };

    fn title(dx: f64, dz: f64, dy: f64) -> String {
        let own = Quantity { interval: Some([0.0098, 0.0106]), ..Quantity::new(0.0102, 1e-5) };
        let planes = [Plane { at_origin: 8.0, du: dx, dv: dz }, Plane { at_origin: 8.0, du: dx, dv: dy }];
        finding(&own, &planes, &Body::new(&SALOON), &SALOON)
    }

    #[test]
    fn closed_form_the_dearest_and_the_cheapest_place_of_the_outline() {
        let high = title(0.0, 4.0, 0.0);
        assert!(high.starts_with("A kilogram costs 10.2 ms a lap (90 %: 9.8 to 10.6) at the centre of gravity, 13.1 where it is dearest (at the roof), 8.0"), "{high}");
        let left = title(0.0, 0.0, -3.0);
        assert!(left.contains("on the left), 5.3 where it is cheapest") && left.contains("on the right)"), "{left}");
        assert!(title(-1.0, 0.0, 0.0).contains("dearest (at the nose)"), "{}", title(-1.0, 0.0, 0.0));
        assert!(title(0.0, 0.0, 0.0).ends_with("and hardly more or less elsewhere"));
    }
}
