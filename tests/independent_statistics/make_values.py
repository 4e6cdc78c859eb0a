"""Makes values.csv: what numpy, scipy and statsmodels say of the data that stand in it too. One row a name, then its numbers."""

import csv
from fractions import Fraction
from pathlib import Path

import numpy as np
import scipy.integrate
import scipy.optimize
import scipy.stats
import scipy.stats.tests
import statsmodels.api as sm
from statsmodels.regression.tests.results.results_regression import Longley

HERE = Path(__file__).resolve().parent
ROWS = []


def put(name, values):
    ROWS.append([name, *(repr(float(v)) for v in np.asarray(values, dtype=float).ravel())])


def nist(path):
    """A NIST StRD file: the lines of its data, certified lines before."""
    return Path(scipy.stats.tests.__file__).parent.joinpath("data", path).read_text().splitlines()


def norris():
    lines = nist("nist_linregress/Norris.dat")
    data = np.array([line.split() for line in lines[60:96]], dtype=float)
    put("norris_y", data[:, 0])
    put("norris_x", data[:, 1])
    certified = [line.split() for line in lines[30:50] if line.split()[:1] in (["B0"], ["B1"])]
    put("norris_certified", [float(v) for row in certified for v in row[1:3]])
    put("norris_sd", [float(next(line for line in lines[34:46] if line.split()[:2] == ["Standard", "Deviation"]).split()[-1])])


def longley():
    data = sm.datasets.longley.load_pandas()
    put("longley_y", data.endog)
    put("longley_x", data.exog)
    # Certified by NIST, as statsmodels' own tests hold them.
    certified = Longley()
    put("longley_certified", [*certified.params, *certified.bse])
    put("longley_sd", [np.sqrt(certified.scale)])


def one_way(name, path):
    """NIST StRD, analysis of variance: levels as blocks; the certified residual standard deviation and mean squares."""
    lines = nist(path)
    data = np.array([line.split() for line in lines[60:]], dtype=float)
    put(f"{name}_level", data[:, 0])
    put(f"{name}_y", data[:, 1])
    within = next(line for line in lines[40:48] if line.startswith("Within"))
    put(f"{name}_within", within.split()[-3:])


def steep():
    """Ten powers of x, as ill-conditioned as a reference set gets: β in exact arithmetic."""
    x = [Fraction(float(v)) for v in np.round(np.linspace(-8.8, -3.2, 41), 6)]
    y = [Fraction(float(v)) for v in np.round(0.85 + 0.05 * np.sin(np.arange(41) * 0.7), 5)]
    p = 11
    columns = [[v**j for v in x] for j in range(p)]
    # The columns as doubles hold them: rounding of the powers is the caller's, not the solver's.
    columns = [[Fraction(float(v)) for v in column] for column in columns]
    a = [[sum(u * v for u, v in zip(columns[i], columns[j])) for j in range(p)] for i in range(p)]
    b = [sum(u * v for u, v in zip(columns[i], y)) for i in range(p)]
    for i in range(p):
        pivot = a[i][i]
        for k in range(i + 1, p):
            factor = a[k][i] / pivot
            a[k] = [u - factor * v for u, v in zip(a[k], a[i])]
            b[k] -= factor * b[i]
    beta = [Fraction(0)] * p
    for i in reversed(range(p)):
        beta[i] = (b[i] - sum(a[i][j] * beta[j] for j in range(i + 1, p))) / a[i][i]
    rss = sum((v - sum(columns[j][i] * beta[j] for j in range(p))) ** 2 for i, v in enumerate(y))
    for j in range(p):
        put(f"steep_x{j}", columns[j])
    put("steep_y", y)
    put("steep_beta", beta)
    put("steep_rss", [rss])


def day():
    """A made day of four runs: X, its seats, and times, three of them far off."""
    rng = np.random.default_rng(15)
    run = np.repeat(np.arange(4), 7)
    lap = np.tile(np.arange(7), 4)
    keep = np.array([i not in (9, 20) for i in range(28)])
    run, lap = run[keep], lap[keep]
    changed = np.isin(run, (1, 2))
    clock = (run * 1800.0 + lap * 80.0) / 3600.0
    x = np.column_stack([np.ones(len(run)), -changed.astype(float), clock - clock.mean()])
    y = 76.0 - 0.2 * changed + 0.1 * clock + 0.3 * rng.standard_normal(len(run))
    y[[3, 12, 22]] += [0.9, 4.0, -2.5]
    y = np.round(y, 3)
    put("day_run", run)
    put("day_lap", lap)
    put("day_x", x)
    put("day_y", y)
    return run, lap, x, y


def robust(x, y):
    for name, norm in (("huber", sm.robust.norms.HuberT(1.345)), ("tukey", sm.robust.norms.TukeyBiweight(4.685))):
        fit = sm.RLM(y, x, M=norm).fit(maxiter=500, tol=1e-12, cov="H1")
        put(f"{name}_beta", fit.params)
        put(f"{name}_scale", [fit.scale])
        put(f"{name}_se", fit.bse)


def v_of(run, lap, phi, tau):
    same = run[:, None] == run[None, :]
    apart = np.abs(lap[:, None] - lap[None, :])
    with np.errstate(divide="ignore"):
        lean = np.where(apart == 0, 1.0, float(phi) ** apart)
    return np.where(same, lean + tau * tau, 0.0)


def noises(run, lap, x, y):
    for i, (phi, tau) in enumerate([(0.0, 0.0), (0.36, 0.0), (0.0, 0.42), (0.48, 0.8)]):
        v = v_of(run, lap, phi, tau)
        fit = sm.GLS(y, x, sigma=v).fit()
        rss = float(fit.resid @ np.linalg.solve(v, fit.resid))
        half = 0.5 * (np.linalg.slogdet(v)[1] + np.linalg.slogdet(x.T @ np.linalg.solve(v, x))[1])
        put(f"noise_{i}", [phi, tau, fit.params[1], fit.bse[1], rss, half])


PHIS = [0.0, 0.08, 0.16, 0.25, 0.36, 0.48, 0.6, 0.72, 0.84]
TAUS = [0.0, 0.1, 0.2, 0.3, 0.42, 0.58, 0.8, 1.2]


def mixture(run, lap, x, y):
    """The whole mixture from its definition: trapezoid weights, restricted likelihood, quantiles by a root finder."""

    def weights(at, density):
        at = np.array(at)
        share = np.array([0.5 * (at[min(i + 1, len(at) - 1)] - at[max(i - 1, 0)]) for i in range(len(at))])
        w = share * density(at)
        return w / w.sum()

    a = weights(PHIS, lambda p: (1 - p) ** 2)
    b = weights(TAUS, lambda t: np.exp(-0.5 * (t / 0.25) ** 2))
    freedom = len(y) - x.shape[1]
    logs, effects, errors = [], [], []
    for phi, wa in zip(PHIS, a):
        for tau, wb in zip(TAUS, b):
            v = v_of(run, lap, phi, tau)
            vi = np.linalg.inv(v)
            xvx = x.T @ vi @ x
            beta = np.linalg.solve(xvx, x.T @ vi @ y)
            rss = (y - x @ beta) @ vi @ (y - x @ beta)
            half = 0.5 * (np.linalg.slogdet(v)[1] + np.linalg.slogdet(xvx)[1])
            logs.append(np.log(wa * wb) - half - 0.5 * freedom * np.log(rss))
            effects.append(beta[1])
            errors.append(np.sqrt(rss / freedom * np.linalg.inv(xvx)[1, 1]))
    w = np.exp(np.array(logs) - max(logs))
    w /= w.sum()
    effects, errors = np.array(effects), np.array(errors)
    below = lambda q, at: float(w @ scipy.stats.t.cdf((at - effects) / errors, freedom)) - q
    put("mixture_effect", [w @ effects])
    put("mixture_ends", [scipy.optimize.brentq(lambda at: below(q, at), -20, 20, xtol=1e-14) for q in (0.05, 0.95)])


def scores():
    """Continuous ranked probability score of N(predicted, spread) by its integral."""
    out = []
    for middle, spread, at in [(0.2, 0.1, 0.25), (0.0, 0.3, -0.5), (0.1, 0.05, 0.4)]:
        cdf = lambda t: scipy.stats.norm.cdf(t, middle, spread)
        low = scipy.integrate.quad(lambda t: cdf(t) ** 2, middle - 12 * spread, at, epsabs=1e-13)[0]
        high = scipy.integrate.quad(lambda t: (1 - cdf(t)) ** 2, at, at + 14 * spread + abs(at - middle), epsabs=1e-13)[0]
        out += [middle, spread, at, low + high]
    put("crps", out)
    put("chi_squared_8", [scipy.stats.chi2.ppf(q, 8) for q in (0.05, 0.95)])


def learning():
    """A Gaussian update by inverting the whole information matrix."""
    g, rest, predicted, measured, error = np.array([0.05, -0.02, 0.0005]), 0.01, 0.2, 0.3, 0.04
    information = np.eye(3) + np.outer(g, g) / (rest**2 + error**2)
    covariance = np.linalg.inv(information)
    mean = covariance @ g * (measured - predicted) / (rest**2 + error**2)
    put("learn_in", [*g, rest, predicted, measured, error])
    put("learn_mean", mean)
    put("learn_left", np.sqrt(np.diag(covariance)))


def main():
    norris()
    longley()
    one_way("resistivity", "nist_anova/SiRstv.dat")
    one_way("silver", "nist_anova/AtmWtAg.dat")
    steep()
    run, lap, x, y = day()
    robust(x, y)
    noises(run, lap, x, y)
    mixture(run, lap, x, y)
    scores()
    learning()
    with open(HERE / "values.csv", "w", newline="") as out:
        csv.writer(out, lineterminator="\n").writerows(ROWS)


if __name__ == "__main__":
    main()
