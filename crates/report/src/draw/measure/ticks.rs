//! Axes with ticks at numbers that a person would have chosen.

/// A span of values with the ticks on it.
#[derive(Clone, Debug, PartialEq)]
pub struct Axis {
    /// Lowest value shown.
    pub from: f64,
    /// Highest value shown.
    pub to: f64,
    /// Where the ticks are, rising.
    pub ticks: Vec<f64>,
    /// Digits behind the point that tell the ticks apart.
    pub decimals: usize,
    /// What one shown unit is: 1000 where metres are shown as kilometres.
    pub unit: f64,
}

impl Axis {
    /// An axis over exactly `from..to`, with about `count` ticks inside.
    pub fn over(from: f64, to: f64, count: usize) -> Axis {
        let (from, to) = sound(from, to);
        let raw = (to - from) / count.max(1) as f64;
        let inside = |step: f64| ((from / step - 1e-9).ceil(), (to / step + 1e-9).floor());
        let mut step = nice_step(raw);
        if inside(step).1 < inside(step).0 {
            // No longer than the span: one of its multiples is inside.
            step = nice_length(raw);
        }
        let (first, last) = inside(step);
        Axis::stepped(from, to, step, first, last)
    }

    /// An axis that starts and ends on a tick and covers `from..to`.
    pub fn round(from: f64, to: f64, count: usize) -> Axis {
        let (from, to) = sound(from, to);
        let step = nice_step((to - from) / count.max(1) as f64);
        let (first, last) = ((from / step + 1e-9).floor(), (to / step - 1e-9).ceil());
        let mut axis = Axis::stepped(from, to, step, first, last);
        (axis.from, axis.to) = (axis.ticks[0], axis.ticks[axis.ticks.len() - 1]);
        axis
    }

    fn stepped(from: f64, to: f64, step: f64, first: f64, last: f64) -> Axis {
        let decimals = (-step.log10().floor()).max(0.0) as usize;
        // Counted, not accumulated; rounded so that 0.1 · 3 reads 0.3, and no tick is −0.
        let scale = 10f64.powi(decimals as i32);
        let tick = |i: usize| ((first + i as f64) * step * scale).round() / scale + 0.0;
        let count = (last - first).max(0.0) as usize + 1;
        Axis { from, to, ticks: (0..count).map(tick).collect(), decimals, unit: 1.0 }
    }

    /// The same axis, its figures in units of `power` (a power of ten, so that they stay round).
    pub fn shown_in(mut self, power: f64) -> Axis {
        let step = match self.ticks[..] {
            [a, b, ..] => b - a,
            _ => self.to - self.from,
        };
        self.decimals = (-(step / power * (1.0 + 1e-9)).log10().floor()).max(0.0) as usize;
        self.unit = power;
        self
    }

    /// Distance along a lap: metres, or kilometres from 3 km on. Also what to call the unit.
    pub fn distance(length_m: f64, count: usize) -> (Axis, &'static str) {
        let axis = Axis::over(0.0, length_m, count);
        if length_m < 3000.0 { (axis, "m") } else { (axis.shown_in(1000.0), "km") }
    }

    /// A tick's text, with a real minus sign; zero is `0`.
    pub fn label(&self, tick: f64) -> String {
        if tick == 0.0 {
            return "0".to_owned();
        }
        format!("{:.*}", self.decimals, tick / self.unit).replace('-', "−")
    }

    /// Where `value` lies on the axis, 0…1.
    pub fn share(&self, value: f64) -> f64 {
        (value - self.from) / (self.to - self.from)
    }
}

/// The one of 1, 2, 5 × 10ⁿ nearest to `step` by ratio.
pub fn nice_step(step: f64) -> f64 {
    let power = 10f64.powf(step.log10().floor());
    let head = step / power;
    // Between two candidates the border is their geometric mean.
    power * [1.0, 2.0, 5.0].into_iter().zip([2f64, 10.0, 50.0]).find(|(_, b)| head <= b.sqrt()).map_or(10.0, |(n, _)| n)
}

/// The greatest of 1, 2, 5 × 10ⁿ at or below `length`: for a scale bar.
pub fn nice_length(length: f64) -> f64 {
    let power = 10f64.powf(length.log10().floor());
    let head = length / power;
    power * [5.0, 2.0].into_iter().find(|n| head >= n * (1.0 - 1e-9)).unwrap_or(1.0)
}

/// Ends that can be divided: in order, finite, apart.
fn sound(from: f64, to: f64) -> (f64, f64) {
    if !(from.is_finite() && to.is_finite()) {
        return (0.0, 1.0);
    }
    let (from, to) = (from.min(to), from.max(to));
    let least = 1e-9 * from.abs().max(to.abs()).max(1e-3);
    if to - from > least { (from, to) } else { (from - 0.5 * least.max(0.1), to + 0.5 * least.max(0.1)) }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn closed_form_ticks_of_everyday_spans() {
        assert_eq!(Axis::over(0.0, 2412.0, 6).ticks, [0.0, 500.0, 1000.0, 1500.0, 2000.0]);
        let a = Axis::round(0.0, 0.214, 4);
        assert_eq!((a.ticks.clone(), a.to), (vec![0.0, 0.05, 0.1, 0.15, 0.2, 0.25], 0.25));
        assert_eq!(a.label(0.1), "0.10");
        // A step longer than what is left of the span would put no tick inside.
        assert_eq!(Axis::over(4558.4, 46466.6, 2).ticks, [20_000.0, 40_000.0]);
        let b = Axis::round(-0.03, 0.02, 4);
        assert_eq!(b.ticks, [-0.03, -0.02, -0.01, 0.0, 0.01, 0.02]);
        assert_eq!(b.label(-0.03), "−0.03");
    }

    #[test]
    fn closed_form_kilometres_are_shown_for_long_laps() {
        let (short, unit) = Axis::distance(2412.0, 6);
        assert_eq!((short.label(short.ticks[1]).as_str(), unit), ("500", "m"));
        let (long, unit) = Axis::distance(4210.0, 8);
        assert_eq!((long.label(long.ticks[1]).as_str(), unit), ("0.5", "km"));
        let (longer, _) = Axis::distance(20_800.0, 10);
        assert_eq!(longer.label(longer.ticks[1]), "2");
    }

    #[test]
    fn closed_form_nice_numbers() {
        for (raw, step, length) in
            [(0.8, 1.0, 0.5), (1.0, 1.0, 1.0), (3.0, 2.0, 2.0), (3.3, 5.0, 2.0), (49.0, 50.0, 20.0)]
        {
            assert!((nice_step(raw) - step).abs() < 1e-12 * step, "{raw}");
            assert!((nice_length(raw) - length).abs() < 1e-12 * length, "{raw}");
        }
    }

    #[test]
    fn bad_input_spans_give_a_usable_axis() {
        for (from, to) in [(0.0, 0.0), (5.0, 5.0), (1.0, -1.0), (f64::NAN, 1.0), (f64::INFINITY, 0.0), (1e15, 1e15)] {
            let a = Axis::over(from, to, 5);
            assert!(a.to > a.from && !a.ticks.is_empty() && a.ticks.len() < 20, "{from} {to} {a:?}");
        }
    }

    proptest! {
        #[test]
        fn property_ticks_rise_inside_the_axis(from in -1e4..1e4f64, span in 1e-3..1e5f64, count in 2usize..12) {
            for a in [Axis::over(from, from + span, count), Axis::round(from, from + span, count)] {
                let step = 1e-6 * span;
                prop_assert!(a.ticks.windows(2).all(|w| w[1] > w[0]));
                prop_assert!(a.ticks.iter().all(|t| *t >= a.from - step && *t <= a.to + step));
                prop_assert!(a.from <= from + step && a.to >= from + span - step);
                prop_assert!((count / 3..=2 * count + 3).contains(&a.ticks.len()), "{:?}", a);
            }
        }
    }
}
