//! What one unknown does by itself, and what all do added up as if each were alone.

/// What an unknown does to a figure by itself: through both ends and nothing in the middle.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct Alone {
    pub(crate) slope: f64,
    pub(crate) bend: f64,
    /// The mean of its squares, a standard deviation down and up.
    pub(crate) square: f64,
    /// How far its ends are off the slope, the mean of the squares.
    pub(crate) off: f64,
}

impl Alone {
    /// (by how many standard deviations, how much the figure changes), down and up; `None` without either.
    pub(crate) fn through(ends: [Option<(f64, f64)>; 2]) -> Option<Self> {
        let all: Vec<(f64, f64)> = ends.into_iter().flatten().collect();
        let count = all.len() as f64;
        let square = all.iter().map(|(z, d)| (d / z).powi(2)).sum::<f64>() / count;
        let (slope, bend) = match all[..] {
            [] => return None,
            [(z, d)] => (d / z, 0.0),
            [(a, da), (b, db), ..] => {
                let bend = (db / b - da / a) / (b - a);
                (da / a - bend * a, bend)
            }
        };
        let off = all.iter().map(|(z, d)| (d - slope * z).powi(2)).sum::<f64>() / count;
        Some(Self { slope, bend, square, off })
    }
}

/// What the unknowns do, added up as if each were alone.
pub(crate) fn sum(alone: &[Alone], z: &[f64]) -> f64 {
    alone.iter().zip(z).map(|(a, z)| (a.slope + a.bend * z) * z).sum()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn closed_form_what_an_unknown_does_alone() {
        let a = Alone::through([Some((-1.0, 2.0)), Some((1.0, 4.0))]).unwrap();
        assert_eq!((a.slope, a.bend, a.square), (1.0, 3.0, 10.0));
        let half = Alone::through([Some((-1.0, -2.0)), Some((0.5, 1.0))]).unwrap();
        assert_eq!((half.slope, half.bend, half.off), (2.0, 0.0, 0.0));
        assert_eq!(Alone::through([None, Some((0.5, 1.0))]).unwrap().slope, 2.0);
        assert!(Alone::through([None, None]).is_none());
        assert_eq!(sum(&[a, half], &[2.0, 1.0]), 16.0);
    }
}
