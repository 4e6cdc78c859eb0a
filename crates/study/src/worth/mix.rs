//! The weighted mean over tracks.

use unladen_lap::Limit;

use crate::input::leg::whole_percent;
use crate::worth::figures::Figures;
use crate::worth::known::Known;

/// The mix: every figure the mean of the tracks' by their shares.
pub(crate) fn mix(legs: &[Known], shares: &[f64]) -> Known {
    let mean = |of: &dyn Fn(&Known) -> Figures| sum(legs.iter().zip(shares).map(|(leg, share)| (of(leg), *share)));
    let figures = mean(&|leg| leg.figures.clone());
    let mut limits = [0.0; Limit::ALL.len()];
    for (leg, share) in legs.iter().zip(shares) {
        for (own, of_leg) in limits.iter_mut().zip(leg.limits) {
            *own += share * leg.figures[0] * of_leg / figures[0];
        }
    }
    let name = whole_percent(shares).into_iter().zip(legs).map(|(share, leg)| format!("{share} % {}", leg.name));
    Known {
        name: name.collect::<Vec<_>>().join(", "),
        errors: mean(&|leg| leg.errors.clone()),
        one_sided: one_sided(legs, shares, figures.len()),
        figures,
        limits,
        caveats: Vec::new(),
        along: None,
    }
}

fn sum(parts: impl Iterator<Item = (Figures, f64)>) -> Figures {
    parts.fold(Vec::new(), |mut all, (figures, share)| {
        all.resize(figures.len(), 0.0);
        all.iter_mut().zip(figures).for_each(|(own, x)| *own += share * x);
        all
    })
}

/// A kink on one track is one of the mix.
fn one_sided(legs: &[Known], shares: &[f64], figures: usize) -> Vec<Option<[f64; 2]>> {
    let at = |i: usize| {
        legs.iter().any(|leg| leg.one_sided[i].is_some()).then(|| {
            let parts = legs.iter().zip(shares);
            parts.fold([0.0; 2], |sum, (leg, share)| {
                let sides = leg.one_sided[i].unwrap_or([leg.figures[i]; 2]);
                [sum[0] + share * sides[0], sum[1] + share * sides[1]]
            })
        })
    };
    (0..figures).map(at).collect()
}
