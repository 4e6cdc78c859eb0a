//! The weighted mean over tracks.

use unladen_lap::Limit;

use crate::worth::figures::Figures;
use crate::worth::known::{Effect, Known};

/// The mix: every figure the weighted mean of the tracks'. An uncertain number of the car moves all tracks at once, one
/// of a track that track alone. `inputs` is how many numbers of the car are uncertain.
pub(crate) fn mix(legs: &[Known], weights: &[f64], inputs: usize) -> Known {
    let total: f64 = weights.iter().sum();
    let shares: Vec<f64> = weights.iter().map(|w| w / total).collect();
    let mean = |of: &dyn Fn(&Known) -> Figures| sum(legs.iter().zip(&shares).map(|(leg, share)| (of(leg), *share)));
    let figures = mean(&|leg| leg.figures.clone());
    let mut limits = [0.0; Limit::ALL.len()];
    for (leg, share) in legs.iter().zip(&shares) {
        for (own, of_leg) in limits.iter_mut().zip(leg.limits) {
            *own += share * leg.figures[0] * of_leg / figures[0];
        }
    }
    let name = legs.iter().zip(&shares).map(|(leg, share)| format!("{:.0} % {}", 100.0 * share, leg.name));
    Known {
        name: name.collect::<Vec<_>>().join(", "),
        errors: mean(&|leg| leg.errors.clone()),
        effects: effects(legs, &shares, inputs),
        one_sided: one_sided(legs, &shares, figures.len()),
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

fn effects(legs: &[Known], shares: &[f64], inputs: usize) -> Vec<Effect> {
    let side = |input: usize, side: usize| -> Option<Figures> {
        let sides = legs.iter().map(|leg| leg.effects[input].sides[side].clone()).collect::<Option<Vec<_>>>()?;
        Some(sum(sides.into_iter().zip(shares.iter().copied())))
    };
    let shared = (0..inputs).map(|i| Effect { sides: [side(i, 0), side(i, 1)] });
    let own = legs.iter().zip(shares).flat_map(|(leg, share)| {
        let scaled = |side: &Option<Figures>| side.as_ref().map(|f| sum([(f.clone(), *share)].into_iter()));
        leg.effects[inputs..].iter().map(move |e| Effect { sides: [scaled(&e.sides[0]), scaled(&e.sides[1])] })
    });
    shared.chain(own).collect()
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
