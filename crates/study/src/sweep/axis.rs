//! An axis of a sweep: counted steps.

/// From, to, and how many values, both ends among them.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Axis {
    from: f64,
    to: f64,
    count: u64,
}

impl Axis {
    /// `None` where there are no values, or one value for two ends, or an end that is no number.
    pub fn new(from: f64, to: f64, count: u64) -> Option<Self> {
        let sound = from.is_finite() && to.is_finite() && (count > 1 || count == 1 && from == to);
        sound.then_some(Self { from, to, count })
    }

    /// How many values.
    pub fn count(&self) -> u64 {
        self.count
    }

    /// Both ends.
    pub fn ends(&self) -> [f64; 2] {
        [self.from, self.to]
    }

    /// The i-th value, from 0: x₀ + i dx counted, never added up; the last is the end itself.
    pub fn at(&self, i: u64) -> f64 {
        if i + 1 >= self.count {
            return self.to;
        }
        self.from + (self.to - self.from) * (i as f64 / (self.count - 1) as f64)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn closed_form_counted_steps() {
        let axis = Axis::new(1000.0, 1300.0, 21).unwrap();
        assert_eq!((axis.at(0), axis.at(1), axis.at(10), axis.at(20)), (1000.0, 1015.0, 1150.0, 1300.0));
        let share = Axis::new(0.45, 0.60, 16).unwrap();
        assert_eq!((share.at(15), share.at(5)), (0.60, 0.45 + (0.60 - 0.45) * (5.0 / 15.0)));
        let falling = Axis::new(2.0, 1.0, 3).unwrap();
        assert_eq!([0, 1, 2].map(|i| falling.at(i)), [2.0, 1.5, 1.0]);
    }

    #[test]
    fn property_an_axis_without_length_stays_where_it_is() {
        let axis = Axis::new(0.3, 0.3, 5).unwrap();
        assert!((0..5).all(|i| axis.at(i) == 0.3));
        assert_eq!(Axis::new(0.3, 0.3, 1).unwrap().at(0), 0.3);
    }

    #[test]
    fn bad_input_axes_that_are_none() {
        for (from, to, count) in
            [(1.0, 2.0, 1), (1.0, 2.0, 0), (1.0, 1.0, 0), (f64::NAN, 2.0, 3), (1.0, f64::INFINITY, 3)]
        {
            assert_eq!(Axis::new(from, to, count), None);
        }
    }
}
