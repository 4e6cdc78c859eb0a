"""The lap of docs/model.md (§2 to §7) as one nonlinear program, with wheels that may lift; CasADi, IPOPT.

Every rule of the model is a constraint of the program, at three stations of every cell (its ends and its middle; Lobatto's
formulas of order 4 join them). Unknown are X = v², and at each station a_x, the forces and what each wheel is short of
load. Where the model says min, max, clamp or "where a wheel would go below zero", two quantities are complementary:
neither is negative and their product is nought, here EPS (forces in weights). One gear, no slipping clutch, no shift:
choosing among gears would make it a program of whole numbers.
"""

import math

import casadi as ca
import numpy as np

from files import G

# Products of complementary quantities, from far to near: each program starts from the one before.
EPS = (1e-3, 1e-5, 1e-7, 1e-9)
X_UNIT = 400.0     # m²/s²


class Point:
    """Unknowns and constraints at one station, collected as they are written down."""

    def __init__(self, eps):
        self.eps = eps
        self.unknown, self.low, self.high, self.guess = [], [], [], []
        self.zero, self.positive = [], []

    def new(self, guess, low=0.0, high=math.inf):
        z = ca.SX.sym(f"z{len(self.unknown)}")
        self.unknown.append(z)
        self.low.append(low)
        self.high.append(high)
        self.guess.append(guess)
        return z

    def complementary(self, a, b):
        """a ≥ 0, b ≥ 0, a b = eps, in the form of Fischer and Burmeister."""
        self.zero.append(a + b - ca.sqrt(a * a + b * b + 2 * self.eps))

    def least(self, a, b):
        """z = min(a, b): a − z and b − z are complementary; the root is written out."""
        return 0.5 * (a + b - ca.sqrt((a - b) ** 2 + 4 * self.eps))

    def most(self, a, b):
        return -self.least(-a, -b)


def point(car, x, road, eps):
    """All constraints at one station and X (in X_UNIT). Returns the point, dX/ds and the wheel loads in weights."""
    p = Point(eps)
    kappa, q, dq, phi, gamma = road
    X = X_UNIT * x
    w = car.m * G
    a, b, L = car.a, car.L - car.a, car.L
    a_x = G * p.new(0.0, -4.0, 4.0)

    # §2. Forces in weights from here on.
    cos, sin = 1 / ca.sqrt(1 + q * q), q / ca.sqrt(1 + q * q)
    kappa_v = dq * cos**3
    n = (G * cos * ca.cos(phi) + X * kappa * cos**2 * ca.sin(phi) + X * kappa_v * ca.cos(phi)) / G
    y = (X * kappa * cos**2 * ca.cos(phi) - G * cos * ca.sin(phi) - X * kappa_v * ca.sin(phi)) / G
    air = 0.5 * car.rho * X / w
    A_x = a_x / G + sin

    # §3: axles, lateral transfer before lift.
    N = (n * b / L + air * car.cfa - A_x * car.h / L, n * a / L + air * car.cra + A_x * car.h / L)
    F_y = (y * b / L, y * a / L)
    h_ra = (car.hrf * b + car.hrr * a) / L
    track = (car.tf, car.tr)
    dN = [(F_y[i] * (car.hrf, car.hrr)[i] + (car.chi, 1 - car.chi)[i] * y * (car.h - h_ra) + n * (b / L, a / L)[i] * car.y)
          / track[i] for i in (0, 1)]
    moment, most = track[0] * dN[0] + track[1] * dN[1], (track[0] * N[0] + track[1] * N[1]) / 2
    p.positive += [N[0], N[1], most - moment, most + moment]
    # Wheel lift. What a wheel is short of, it has only where it carries nothing; the axle's moment goes to the other.
    short = [[p.new(0.01), p.new(0.01)], [p.new(0.01), p.new(0.01)]]
    less = [short[i][0] - short[i][1] for i in (0, 1)]
    final = (dN[0] - less[0] + less[1] * track[1] / track[0], dN[1] - less[1] + less[0] * track[0] / track[1])
    load = [[N[i] / 2 - final[i], N[i] / 2 + final[i]] for i in (0, 1)]
    for i in (0, 1):
        for side in (0, 1):
            p.complementary(load[i][side], short[i][side])

    # §2: the total at the contact patches.
    cornering = 0.0
    for i, (c, N_0) in enumerate(((car.cf, car.N0f), (car.cr, car.N0r))):
        if c > 0:
            cornering += F_y[i] ** 2 * N_0 / (c * N[i])
    F_x = A_x + air * car.cda + car.crr * (n + air * (car.cfa + car.cra)) + cornering

    # §4: capacities of the wheels; the floor of 0.05 is far from any load here.
    def capacity(i, mu, slope, use):
        N_0 = (car.N0f, car.N0r)[i] / w
        return [use * gamma * load[i][s] * (mu + slope * (load[i][s] / N_0 - 1)) for s in (0, 1)]

    c_y = [capacity(0, car.muy0f, car.kyf, car.u_c), capacity(1, car.muy0r, car.kyr, car.u_c)]
    c_t = [capacity(0, car.mux0f, car.kxf, car.u_t), capacity(1, car.mux0r, car.kxr, car.u_t)]
    c_b = [capacity(0, car.mux0f, car.kxf, car.u_b), capacity(1, car.mux0r, car.kxr, car.u_b)]

    def holds(i, used):
        """The axle's lateral demand, its wheels using these shares of their longitudinal capacity."""
        held = 0.0
        for s in (0, 1):
            lateral = p.new(0.7, 0.0, 1.0)
            p.positive.append(1 - used[s] ** 2 - lateral**2)
            held += lateral * c_y[i][s]
        p.positive += [held - F_y[i], held + F_y[i]]

    # §5. Drive and brakes each hold by themselves: more of one never helps the other.
    drive, brake = p.new(0.05), p.new(0.02)
    p.zero.append(F_x - drive + brake)

    def shared(force, c, r_0, B):
        """The sharing rule: the first carrier's share of the sum follows the capacities, between two bounds."""
        if math.isinf(B):
            first = c[0] / (c[0] + c[1])
        elif B == 1.0:
            first = r_0 / (1 + r_0)
        else:
            least, most = (r / (1 + r) for r in (r_0 / B, r_0 * B))
            first = p.least(p.most(c[0] / (c[0] + c[1]), least), most)
        return force * first, force * (1 - first)

    def passes(i, B):
        c = c_t[i]
        return c[0] + c[1] if math.isinf(B) else p.least(c[0] + c[1], (1 + B) * p.least(c[0], c[1]))

    bias = (car.Bf, car.Br)
    if car.layout == 2:
        r_0 = car.front_share / (1 - car.front_share)
        to = shared(drive, [passes(0, car.Bf), passes(1, car.Br)], r_0, car.Bc)
    else:
        to = (drive, 0.0) if car.layout == 0 else (0.0, drive)
    for i in (0, 1):
        if car.layout != 2 and i != car.layout:
            p.positive += [c_y[i][0] + c_y[i][1] - F_y[i], c_y[i][0] + c_y[i][1] + F_y[i]]
            continue
        used = [p.new(0.2, 0.0, 1.0), p.new(0.2, 0.0, 1.0)]
        for s, force in enumerate(shared(to[i], c_t[i], 1.0, bias[i])):
            p.positive.append(used[s] * c_t[i][s] - force)
        holds(i, used)

    if car.brake_kind == 0:
        pedal = p.new(0.1)
        pressed = [car.beta * pedal, (1 - car.beta) * pedal]
        if car.knee < 1e8:
            over = p.most(pressed[1] - car.knee / w, 0.0)
            pressed[1] -= (1 - car.knee_slope) * over
        total = 0.0
        for i in (0, 1):
            used = [p.new(0.2, 0.0, 1.0), p.new(0.2, 0.0, 1.0)]
            for s in (0, 1):
                # Each wheel brakes its half of the pressure, or is locked.
                force = p.least(pressed[i] / 2, c_b[i][s])
                p.positive.append(used[s] * c_b[i][s] - force)
                total += force
            p.positive.append(p.most(*c_b[i]) - pressed[i] / 2)
            holds(i, used)
        p.zero.append(total - brake)
    else:
        left = []
        for i in (0, 1):
            share = p.new(0.5, 0.0, 1.0)
            C_y = c_y[i][0] + c_y[i][1]
            p.positive.append((1 - share**2) * C_y**2 - F_y[i] ** 2)
            left.append(share * (c_b[i][0] + c_b[i][1]))
        if car.brake_kind == 4:
            p.positive.append(left[0] + left[1] - brake)
        else:
            half = p.new(0.01)
            p.positive.append(left[0] + 2 * half - brake)
            used = [p.new(0.2, 0.0, 1.0), p.new(0.2, 0.0, 1.0)]
            for s in (0, 1):
                p.positive.append(used[s] * c_b[1][s] - half)
            holds(1, used)

    # §6, in the one gear.
    ratio = car.gears[0] * car.i0 / car.rw
    speed = ca.sqrt(X) * ratio
    torque = car.w_nm[0] + (speed - car.w_rpm[0]) * (car.w_nm[1] - car.w_nm[0]) / (car.w_rpm[1] - car.w_rpm[0])
    rotating = car.mrot_wheels + car.j_engine * ratio**2
    p.positive.append((torque * car.eta * ratio - rotating * a_x) / w - F_x)
    return p, 2 * a_x / cos, ca.vertcat(*load[0], *load[1])


# A cell's three stations and the weights of Lobatto's formulas: X at the middle, X at the end and the time.
STATIONS = (0.0, 0.5, 1.0)
TO_MIDDLE = (5 / 24, 8 / 24, -1 / 24)
TO_END = (1 / 6, 4 / 6, 1 / 6)


def first_nodes(trk, step):
    """Of each segment the shares of its length at which cells join: dense at its ends, where profiles bend."""
    counts = [max(2, math.ceil(L / step - 1e-9)) for L in trk.length]
    return [0.5 - 0.5 * np.cos(np.pi * np.arange(count + 1) / count) for count in counts]


def cells(trk, nodes):
    """Of every cell its length and the road (κ, q, dq/ds, φ, γ) at its three stations."""
    length, roads = [], ([], [], [])
    for i, (L, shares) in enumerate(zip(trk.length, nodes)):
        dq = (trk.q1[i] - trk.q0[i]) / L
        for u0, u1 in zip(shares[:-1], shares[1:]):
            length.append(L * (u1 - u0))
            for where, at in zip(STATIONS, roads):
                u = u0 + (u1 - u0) * where
                k, q, phi = (e0[i] + (e1[i] - e0[i]) * u for e0, e1 in ((trk.k0, trk.k1), (trk.q0, trk.q1), (trk.b0, trk.b1)))
                at.append([k, q, dq, phi, trk.grip[i]])
    return np.array(length), [np.array(at).T for at in roads]


class Lap:
    """What the program found on one mesh."""

    def __init__(self, time, h, X, slopes, loads, z, by_eps):
        self.time, self.h, self.X, self.slopes, self.loads, self.z, self.by_eps = time, h, X, slopes, loads, z, by_eps

    def doubt(self):
        """Of each cell the time by which the formulas of order 2 and 4 differ: where a_x jumps, that is what the jump costs."""
        f, v = self.slopes, np.sqrt(self.X[1])
        return abs(f[0] - 2 * f[1] + f[2]) / 6 * self.h**2 / (2 * v**3)


def refined(nodes, lap, most):
    """Halves each cell that is in doubt by more than `most`; and the values of the old mesh at the new stations."""
    doubt, new, values, cell = lap.doubt(), [], [], 0
    old = [np.vstack([x[None, :], z]) for x, z in zip(lap.X, lap.z)]
    for shares in nodes:
        out = [shares[0]]
        for u0, u1 in zip(shares[:-1], shares[1:]):
            a, b, c = (o[:, cell] for o in old)
            if doubt[cell] > most:
                out += [0.5 * (u0 + u1), u1]
                values += [(a, 0.5 * (a + b), b), (b, 0.5 * (b + c), c)]
            else:
                out.append(u1)
                values.append((a, b, c))
            cell += 1
        new.append(np.array(out))
    return new, [np.array(v).T for v in zip(*values)]


def solve(car, trk, closed, start, nodes, guess=None):
    """The lap on one mesh, from nothing or from values at its stations."""
    if len(car.gears) != 1 or len(car.w_rpm) != 2:
        raise ValueError("one gear and a torque of two points")
    h, roads = cells(trk, nodes)
    n = len(h)
    x, eps, road = ca.SX.sym("x"), ca.SX.sym("eps"), ca.SX.sym("road", 5)
    p, slope, load = point(car, x, ca.vertsplit(road), eps)
    unknowns = len(p.unknown)
    at = ca.Function("at", [x, ca.vertcat(*p.unknown), road, eps],
                     [ca.vertcat(*p.zero), ca.vertcat(*p.positive), slope / X_UNIT, load]).map(n)

    e, xs, middle = ca.MX.sym("e"), ca.MX.sym("xs", 1, n + 1), ca.MX.sym("middle", 1, n)
    zs = [ca.MX.sym(f"z{k}", unknowns, n) for k in range(3)]
    X = [xs[:n], middle, xs[1:]]
    stations = [at(X[k], zs[k], roads[k], e * ca.DM.ones(1, n)) for k in range(3)]
    slopes = [station[2] for station in stations]
    H = h[None, :]
    equal = [middle - X[0] - H * sum(c * s for c, s in zip(TO_MIDDLE, slopes)),
             X[2] - X[0] - H * sum(c * s for c, s in zip(TO_END, slopes)),
             xs[0] - (xs[n] if closed else start / X_UNIT)]
    equal = ca.vertcat(*(ca.vec(g) for g in (*equal, *(station[0] for station in stations))))
    more = ca.vertcat(*(ca.vec(station[1]) for station in stations))
    time = sum(ca.sum2(H * np.sqrt(1 + roads[k][1] ** 2)[None, :] * TO_END[k] / ca.sqrt(X_UNIT * X[k])) for k in range(3))

    unknown = ca.vertcat(xs.T, middle.T, *(ca.vec(z) for z in zs))
    # The one gear must neither slip its clutch nor meet its limiter.
    ratio = car.gears[0] * car.i0 / car.rw
    least, most = ((w / ratio) ** 2 / X_UNIT for w in (car.w_launch, car.w_limit))
    lower = np.concatenate([np.full(2 * n + 1, least), np.tile(p.low, 3 * n)])
    upper = np.concatenate([np.full(2 * n + 1, most), np.tile(p.high, 3 * n)])
    if guess is None:
        ladder = EPS
        first = np.concatenate([np.full(2 * n + 1, (start if start > 0 else 144.0) / X_UNIT), np.tile(p.guess, 3 * n)])
    else:
        ladder = EPS[-2:]
        first = np.concatenate([guess[0][0] / X_UNIT, guess[2][0][-1:] / X_UNIT, guess[1][0] / X_UNIT,
                                *(g[1:].T.ravel() for g in guess)])
    bounds = dict(lbx=lower, ubx=upper, lbg=0.0,
                  ubg=np.concatenate([np.zeros(equal.numel()), np.full(more.numel(), math.inf)]))
    program = {"x": unknown, "f": time, "g": ca.vertcat(equal, more), "p": e}
    common = {"max_iter": 1500, "tol": 1e-8, "print_level": 0, "sb": "yes", "mu_strategy": "adaptive"}
    warm = {"warm_start_init_point": "yes", "mu_init": 1e-6, "warm_start_bound_push": 1e-6,
            "warm_start_mult_bound_push": 1e-6, "warm_start_slack_bound_push": 1e-6}
    begun = {} if guess is None else {"mu_init": 1e-3, "bound_push": 1e-4, "bound_frac": 1e-4}
    cold = ca.nlpsol("cold", "ipopt", program, {"print_time": False, "ipopt": common | begun})
    again = ca.nlpsol("again", "ipopt", program, {"print_time": False, "ipopt": common | warm})
    times, found = [], {"x": first}
    for value in ladder:
        run = again if times else cold
        multipliers = {"lam_x0": found["lam_x"], "lam_g0": found["lam_g"]} if times else {}
        found = run(x0=found["x"], p=value, **bounds, **multipliers)
        if not run.stats()["success"]:
            raise RuntimeError(f"{n} cells, eps {value:g}: {run.stats()['return_status']}")
        times.append(float(found["f"]))
    values = ca.Function("values", [unknown, e], [*X, *slopes, *zs, *(station[3] for station in stations)])
    out = [np.array(v) for v in values(found["x"], ladder[-1])]
    return Lap(times[-1], h, [X_UNIT * v[0] for v in out[:3]], [X_UNIT * v[0] for v in out[3:6]], out[9:], out[6:9], times)
