//! Against numpy, scipy, statsmodels, exact arithmetic and NIST's reference data: `tests/independent_statistics`.

use nalgebra::{DMatrix, DVector};
use unladen_study::trial::diary::{Entry, diary};
use unladen_study::trial::fit::least_squares::Factored;
use unladen_study::trial::fit::mixture::Mixture;
use unladen_study::trial::fit::noise::{Grams, Noise, Seat, whiten};
use unladen_study::trial::fit::robust::{Loss, m_estimate, pseudo_values};
use unladen_study::trial::learn::{Slope, learn};

use super::{near, values};

/// β, standard errors and residual standard deviation.
fn solved(x: &DMatrix<f64>, y: &[f64]) -> (Vec<f64>, Vec<f64>, f64) {
    let y = DVector::from_column_slice(y);
    let factored = Factored::of(x).unwrap();
    let beta = factored.solve(&y);
    let sd = ((&y - x * &beta).norm_squared() / factored.freedom()).sqrt();
    let unit = factored.unit_covariance();
    let errors = (0..x.ncols()).map(|j| sd * unit[(j, j)].sqrt()).collect();
    (beta.iter().copied().collect(), errors, sd)
}

/// NIST StRD, Norris and Longley; nine digits. Longley loses two of sixteen to its scaled columns, Norris none.
#[test]
fn published_nist_strd_norris_and_longley() {
    let v = values();
    let x = &v["norris_x"];
    let x = DMatrix::from_fn(x.len(), 2, |i, j| if j == 0 { 1.0 } else { x[i] });
    let (beta, errors, sd) = solved(&x, &v["norris_y"]);
    for (j, pair) in v["norris_certified"].chunks(2).enumerate() {
        near(beta[j], pair[0], 1e-9);
        near(errors[j], pair[1], 1e-9);
    }
    near(sd, v["norris_sd"][0], 1e-9);
    let x = DMatrix::from_row_slice(16, 6, &v["longley_x"]).insert_column(6, 1.0);
    let (beta, errors, sd) = solved(&x, &v["longley_y"]);
    for j in 0..7 {
        near(beta[j], v["longley_certified"][j], 1e-9);
        near(errors[j], v["longley_certified"][7 + j], 1e-9);
    }
    near(sd, v["longley_sd"][0], 1e-9);
}

/// NIST StRD, Wampler1 and Wampler2: y is the polynomial itself, 1 + x + … + x⁵ and 1 + 0.1x + … + (0.1x)⁵ at x = 0 … 20,
/// so that every coefficient is certified exactly and nothing is left over. Nine digits of each; the rest is at most what
/// rounding y leaves.
#[test]
fn published_nist_strd_wampler() {
    let x = DMatrix::from_fn(21, 6, |i, j| (i as f64).powi(j as i32));
    for tenth in [1.0, 0.1] {
        let beta: Vec<f64> = (0..6).map(|j| f64::powi(tenth, j)).collect();
        let y: Vec<f64> = (0..21).map(|i| (0..6).map(|j| beta[j] * x[(i, j)]).sum()).collect();
        let (found, _, sd) = solved(&x, &y);
        (0..6).for_each(|j| near(found[j], beta[j], 1e-9));
        assert!(sd < 1e-15 * 5.0 * y[20].abs(), "{sd}");
    }
}

/// NIST StRD, Wampler3 to Wampler5: the first polynomial with so much left over once, a hundred and ten thousand times (data
/// and certified values from memory; exact arithmetic gives the same). Standard errors to nine digits, coefficients to
/// as many of their standard errors.
#[test]
fn published_nist_strd_wampler_with_something_left_over() {
    let left = [759, -2048, 2048, -2048, 2523, -2048, 2048, -2048, 1838, -2048, 2048];
    let certified =
        [2152.32624678170, 2363.55173469681, 779.343524331583, 101.475507550350, 5.64566512170752, 0.112324854679312];
    let x = DMatrix::from_fn(21, 6, |i, j| (i as f64).powi(j as i32));
    for times in [1.0, 100.0, 10_000.0] {
        let of = |i: usize| x.row(i).sum() + times * f64::from(left[i.min(20 - i)]);
        let (beta, errors, sd) = solved(&x, &(0..21).map(of).collect::<Vec<f64>>());
        for j in 0..6 {
            near(errors[j], times * certified[j], 1e-9);
            assert!((beta[j] - 1.0).abs() < 1e-9 * errors[j], "{} {}", beta[j], errors[j]);
        }
        near(sd, times * 2360.14502379268, 1e-9);
    }
}

/// NIST StRD, NoInt1 and NoInt2: a line through nothing (data and certified values from memory; arithmetic gives the same).
#[test]
fn published_nist_strd_no_intercept() {
    let first: Vec<f64> = (0..11).map(|i| 130.0 + f64::from(i)).collect();
    let sets = [
        (60.0, first, [2.07438016528926, 0.0165289256198347, 3.56753034006338]),
        (4.0, vec![3.0, 4.0, 4.0], [0.727272727272727, 0.0420827318078432, 0.369274472937998]),
    ];
    for (from, y, [slope, error, left]) in sets {
        let x = DMatrix::from_fn(y.len(), 1, |i, _| from + i as f64);
        let (beta, errors, sd) = solved(&x, &y);
        near(beta[0], slope, 1e-9);
        near(errors[0], error, 1e-9);
        near(sd, left, 1e-9);
    }
}

/// NIST StRD, analysis of variance: levels as blocks. Silver's seven leading digits are all alike: what is left of
/// sixteen is nine less those two of squaring, hence 1e-7 there; about its mean it keeps nine.
#[test]
fn published_nist_strd_blocks() {
    let v = values();
    for (name, mean, share) in [("resistivity", 0.0, 1e-9), ("silver", 107.868, 1e-7)] {
        let (level, y) = (&v[&format!("{name}_level")], &v[&format!("{name}_y")]);
        let levels = level.iter().copied().fold(0.0, f64::max) as usize;
        let x = DMatrix::from_fn(y.len(), levels, |i, j| f64::from(level[i] as usize == j + 1));
        let y: Vec<f64> = y.iter().map(|y| y - mean).collect();
        let (_, _, sd) = solved(&x, &y);
        near(sd * sd, v[&format!("{name}_within")][2], share);
    }
}

/// Ten powers of x between −8.8 and −3.2, as ill-conditioned as Filip's set, whose data were not at hand: β by exact
/// arithmetic. Columns of length one leave a condition of 1e10; of sixteen digits six are left of β, and eight of what
/// counts, the residuals (3e-9 measured).
#[test]
fn independent_exact_steep_powers() {
    let v = values();
    let x = DMatrix::from_fn(41, 11, |i, j| v[&format!("steep_x{j}")][i]);
    let (beta, _, sd) = solved(&x, &v["steep_y"]);
    (0..11).for_each(|j| near(beta[j], v["steep_beta"][j], 1e-6));
    near(sd * sd * 30.0, v["steep_rss"][0], 1e-8);
}

fn day() -> (DMatrix<f64>, DVector<f64>, Vec<Seat>) {
    let v = values();
    let y = DVector::from_column_slice(&v["day_y"]);
    let seats = v["day_run"].iter().zip(&v["day_lap"]).map(|(r, l)| Seat { run: *r as usize, lap: *l as usize });
    (DMatrix::from_row_slice(y.len(), 3, &v["day_x"]), y, seats.collect())
}

/// statsmodels' RLM of the same losses and scale, with its covariance H1. A million times finer than a thousandth.
#[test]
fn independent_statsmodels_robust() {
    let (v, (x, y, _)) = (values(), day());
    for (name, loss) in [("huber", Loss::Huber), ("tukey", Loss::Tukey)] {
        let (beta, scale) = m_estimate(&x, &y, loss).unwrap();
        near(scale, v[&format!("{name}_scale")][0], 2e-6);
        (0..3).for_each(|j| assert!((beta[j] - v[&format!("{name}_beta")][j]).abs() < 2e-6, "{name} {beta}"));
        // H1 counts all rows; a row of no weight is none here, so that only Huber's can be held against it.
        if loss == Loss::Huber {
            let (_, _, pseudo, factor) = pseudo_values(&y, &(&x * &beta), scale, loss, 3);
            let (_, errors, _) = solved(&x, pseudo.as_slice());
            (0..3).for_each(|j| near(factor * errors[j], v["huber_se"][j], 1e-5));
        }
    }
}

/// statsmodels' GLS with the same covariance of laps: the effect, its error, what is left, and both determinants.
#[test]
fn independent_statsmodels_noise() {
    let (v, (x, y, seats)) = (values(), day());
    for i in 0..4 {
        let [phi, tau, effect, error, rss, half] = v[&format!("noise_{i}")][..] else { panic!() };
        let found = Grams::of(&x, &y, &seats, Noise { phi, tau }).solve(tau, 1).unwrap();
        near(found.effect, effect, 1e-9);
        near((found.unit * found.rss / 23.0).sqrt(), error, 1e-9);
        near(found.rss, rss, 1e-9);
        near(found.log_det, half, 1e-9);
        let white = whiten(&x, &y, &seats, Noise { phi, tau });
        let factored = Factored::of(&white.x).unwrap();
        near(factored.solve(&white.y)[1], effect, 1e-9);
    }
}

/// The mixture from its definition, quantiles by scipy's t and a root finder. Parts below 1e-9 are dropped here.
#[test]
fn independent_scipy_mixture() {
    let (v, (x, y, seats)) = (values(), day());
    let likely = Mixture::of(&x, &y, &seats, 1, 1.0).unwrap();
    near(likely.effect(), v["mixture_effect"][0], 1e-7);
    near(likely.quantile(0.05), v["mixture_ends"][0], 1e-7);
    near(likely.quantile(0.95), v["mixture_ends"][1], 1e-7);
}

/// The score by its integral; χ² of the misses.
#[test]
fn independent_scipy_scores() {
    let v = values();
    for case in v["crps"].chunks(4) {
        let entry = Entry { predicted: (case[0], case[1]), measured: (case[2], 0.0) };
        near(entry.crps_s(), case[3], 1e-8);
    }
    let entries = [Entry { predicted: (0.0, 1.0), measured: (1.0, 0.0) }; 8];
    let [low, high] = diary(&entries).unwrap().between;
    near(low, (8.0 / v["chi_squared_8"][1]).sqrt(), 1e-8);
    near(high, (8.0 / v["chi_squared_8"][0]).sqrt(), 1e-8);
}

/// A Gaussian update by inverting the whole information matrix; what keeps 98 % of its doubt was not spoken about.
#[test]
fn independent_numpy_learning() {
    let v = values();
    let [a, b, c, rest, predicted, measured, error] = v["learn_in"][..] else { panic!() };
    let slope = |(key, gain_s): (&str, f64)| Slope { key: key.into(), gain_s };
    let slopes: Vec<Slope> = [("a", a), ("b", b), ("c", c)].into_iter().map(slope).collect();
    let learnt = learn(&slopes, rest, predicted, (measured, error));
    let keys: Vec<&str> = learnt.iter().map(|l| l.key.as_str()).collect();
    assert_eq!(keys, ["a", "b"]);
    for (i, l) in learnt.iter().enumerate() {
        near(l.by_sds, v["learn_mean"][i], 1e-9);
        near(l.left, v["learn_left"][i], 1e-9);
    }
}

/// NIST/SEMATECH e-Handbook of Statistical Methods, the chapter on calibration designs that eliminate a linear drift (from
/// memory): of A-B-B-A, evenly spaced, the difference is ½ (Y₁ − Y₂ − Y₃ + Y₄) whatever the drift, with the variance of one
/// reading. Least squares with a drift column gives just that.
#[test]
fn published_nist_sematech_a_b_b_a_eliminates_drift() {
    let x = DMatrix::from_fn(4, 3, |i, j| match j {
        0 => 1.0,
        1 => -f64::from([1, 2].contains(&i)),
        _ => i as f64,
    });
    let factored = Factored::of(&x).unwrap();
    near(factored.unit_covariance()[(1, 1)], 1.0, 1e-12);
    for drift in [0.0, -0.3, 5.0] {
        let y = [76.3, 75.9, 76.2, 76.1];
        let drifted = DVector::from_fn(4, |i, _| y[i] + drift * i as f64);
        near(factored.solve(&drifted)[1], 0.5 * (y[0] - y[1] - y[2] + y[3]), 1e-12);
    }
}

/// The same handbook on randomized blocks (from memory): with a level for each block, the difference of two treatments is
/// the mean of the blocks' own, and a block of one treatment alone says nothing of it.
#[test]
fn published_nist_sematech_blocks() {
    let rows = [(0, 0, 76.3), (0, 1, 75.9), (1, 0, 81.0), (1, 1, 80.9), (2, 0, 79.4), (2, 1, 79.0), (3, 1, 60.0)];
    let x = DMatrix::from_fn(7, 5, |i, j| if j < 4 { f64::from(rows[i].0 == j) } else { -f64::from(rows[i].1 == 1) });
    let y = DVector::from_fn(7, |i, _| rows[i].2);
    near(Factored::of(&x).unwrap().solve(&y)[4], (0.4 + 0.1 + 0.4) / 3.0, 1e-12);
}
