"""The equations (§2 to §7) as compiled functions. SI units.

All of them stand in one file: numba's cache notices a change of a function's own file only, so a function compiled
here must not call one compiled elsewhere, or an edit there could go unnoticed.
"""

import math
from collections import namedtuple

import numpy as np
from numba import njit, prange

G = 9.80665

Car = namedtuple(
    "Car",
    "m a y h L tf tr hrf hrr chi "
    "mux0f muy0f kxf kyf N0f cf mux0r muy0r kxr kyr N0r cr "
    "u_c u_t u_b "
    "rho cda cfa cra crr "
    "layout front_share Bc Bf Br "
    "brake_kind beta knee knee_slope "
    "w_rpm w_nm w_launch w_limit gears i0 eta rw mrot_wheels j_engine shift_time",
)

Track = namedtuple("Track", "length k0 k1 q0 q1 b0 b1 grip")


# ----------------------------------------------------------------------------------------------------------------
# One station: §2 to §5
# ----------------------------------------------------------------------------------------------------------------

# A station is a tuple: curvature, sin and cos of the grade angle, vertical curvature, sin and cos of bank, grip.

@njit(cache=True)
def make_station(kappa, q, dq, bank, grip):
    n = math.sqrt(1 + q * q)
    return (kappa, q / n, 1 / n, dq / n**3, math.sin(bank), math.cos(bank), grip)


@njit(cache=True)
def station(trk, i, s):
    """Station at plan distance s inside segment i."""
    u = s / trk.length[i]
    dq = (trk.q1[i] - trk.q0[i]) / trk.length[i]
    return make_station(
        trk.k0[i] + (trk.k1[i] - trk.k0[i]) * u, trk.q0[i] + (trk.q1[i] - trk.q0[i]) * u, dq,
        trk.b0[i] + (trk.b1[i] - trk.b0[i]) * u, trk.grip[i],
    )


@njit(cache=True)
def accelerations(st, X):
    kappa, sth, cth, kv, sphi, cphi, _ = st
    An = G * cth * cphi + X * kappa * cth * cth * sphi + X * kv * cphi
    Ay = X * kappa * cth * cth * cphi - G * cth * sphi - X * kv * sphi
    return An, Ay


@njit(cache=True)
def axle_loads(car, st, X, An, ax):
    """§3: axles under A_x = a_x + g sinθ."""
    half = 0.5 * car.rho * X
    move = car.m * (ax + G * st[1]) * car.h / car.L
    return (car.m * An * (car.L - car.a) / car.L + half * car.cfa - move,
            car.m * An * car.a / car.L + half * car.cra + move)


@njit(cache=True)
def resistance(car, An, Ay, X, Nf, Nr):
    """§2: D + R + C."""
    half = 0.5 * car.rho * X
    total = half * car.cda + car.crr * (car.m * An + half * (car.cfa + car.cra))
    if car.cf > 0:
        F = car.m * Ay * (car.L - car.a) / car.L
        total += F * F * car.N0f / (car.cf * max(Nf, 1.0))
    if car.cr > 0:
        F = car.m * Ay * car.a / car.L
        total += F * F * car.N0r / (car.cr * max(Nr, 1.0))
    return total


@njit(cache=True)
def total_force(car, st, X, ax):
    An, Ay = accelerations(st, X)
    Nf, Nr = axle_loads(car, st, X, An, ax)
    return car.m * (ax + G * st[1]) + resistance(car, An, Ay, X, Nf, Nr)


@njit(cache=True)
def solve_ax(car, st, X, force, mrot):
    """a_x with F_x + m_rot a_x = force. C depends on a_x through the axle loads, weakly: iterate."""
    An, Ay = accelerations(st, X)
    ax = 0.0
    for _ in range(100):
        Nf, Nr = axle_loads(car, st, X, An, ax)
        new = (force - car.m * G * st[1] - resistance(car, An, Ay, X, Nf, Nr)) / (car.m + mrot)
        if abs(new - ax) < 1e-14 * (1 + abs(new)):
            return new
        ax = new
    return ax


@njit(cache=True)
def share(F, c1, c2, r0, B):
    """§5, the sharing rule; the third value is False where nothing can be passed at all."""
    if c1 <= 0 and c2 <= 0:
        return 0.0, 0.0, False
    if B == np.inf:
        f1 = F * c1 / (c1 + c2)
        return f1, F - f1, True
    r = r0 * B
    if c2 > 0:
        r = min(max(c1 / c2, r0 / B), r0 * B)
    return F * r / (1 + r), F / (1 + r), True


@njit(cache=True)
def axle_capacity(cL, cR, B):
    """What an axle with its own differential can pass."""
    if B == np.inf:
        return cL + cR
    return min(cL + cR, (1 + B) * min(cL, cR))


@njit(cache=True)
def lateral_left(cxL, cxR, cyL, cyR, fL, fR):
    """Σ μ_y N √(1 − (f_x/μ_x N)²); a wheel at its limit, or off the ground, carries nothing sideways."""
    out = 0.0
    if cxL > 0:
        out += cyL * math.sqrt(max(0.0, 1 - (fL / cxL) ** 2))
    if cxR > 0:
        out += cyR * math.sqrt(max(0.0, 1 - (fR / cxR) ** 2))
    return out


@njit(cache=True)
def brake_sum(P, beta, knee, slope, c):
    Pf = beta * P
    Pr = (1 - beta) * P
    if Pr > knee:
        Pr = knee + slope * (Pr - knee)
    return min(Pf / 2, c[0]), min(Pf / 2, c[1]), min(Pr / 2, c[2]), min(Pr / 2, c[3])


@njit(cache=True)
def pedal_at(axle_force, share_of_pedal, knee, slope, rear):
    """Pedal force at which an axle's pressure equals axle_force."""
    if share_of_pedal <= 0:
        return np.inf
    if rear and axle_force > knee:
        if slope <= 0:
            return np.inf
        axle_force = knee + (axle_force - knee) / slope
    return axle_force / share_of_pedal


@njit(cache=True)
def no_anti_lock(car, need, c):
    """Wheel forces for a total brake force `need`; the second value is what is left to the highest pedal."""
    beta, knee, slope = car.beta, car.knee, car.knee_slope
    points = np.empty(6)
    points[0] = pedal_at(2 * c[0], beta, knee, slope, False)
    points[1] = pedal_at(2 * c[1], beta, knee, slope, False)
    points[2] = pedal_at(2 * c[2], 1 - beta, knee, slope, True)
    points[3] = pedal_at(2 * c[3], 1 - beta, knee, slope, True)
    points[4] = knee / (1 - beta) if beta < 1 else np.inf
    top = min(max(points[0], points[1]), max(points[2], points[3]))
    points[5] = top
    f = brake_sum(top, beta, knee, slope, c)
    left = f[0] + f[1] + f[2] + f[3] - need
    if left <= 0:
        return f, left
    # The sum is piecewise linear in the pedal force: find the piece, interpolate.
    points.sort()
    P0 = 0.0
    B0 = 0.0
    for P1 in points:
        P1 = min(P1, top)
        f = brake_sum(P1, beta, knee, slope, c)
        B1 = f[0] + f[1] + f[2] + f[3]
        if B1 >= need:
            P = P0 if B1 == B0 else P0 + (need - B0) * (P1 - P0) / (B1 - B0)
            return brake_sum(P, beta, knee, slope, c), left
        P0, B0 = P1, B1
    return f, left


# Names of the constraints, by the number that `slack` returns.
LIMITS = ("axle load", "roll-over", "front lateral", "rear lateral", "drive, a wheel", "drive, nothing passed",
          "brake force")


@njit(cache=True)
def slack(car, st, X, ax):
    """Smallest slack over all grip constraints, as a share of the weight; >= 0 is feasible.

    Also: which one, F_x, and the four wheel loads (front left, front right, rear left, rear right).
    """
    w = car.m * G
    a, b, L = car.a, car.L - car.a, car.L
    An, Ay = accelerations(st, X)
    Nf, Nr = axle_loads(car, st, X, An, ax)
    Fx = car.m * (ax + G * st[1]) + resistance(car, An, Ay, X, Nf, Nr)
    best = min(Nf, Nr)
    if best <= 0:
        return min(best / w, -1e-12), 0, Fx, 0.0, 0.0, 0.0, 0.0
    best = np.inf
    which = 0

    # §3 lateral transfer, lift, roll-over
    Fyf = car.m * Ay * b / L
    Fyr = car.m * Ay * a / L
    hra = (car.hrf * b + car.hrr * a) / L
    elastic = car.m * Ay * (car.h - hra)
    dNf = (Fyf * car.hrf + car.chi * elastic + car.m * An * (b / L) * car.y) / car.tf
    dNr = (Fyr * car.hrr + (1 - car.chi) * elastic + car.m * An * (a / L) * car.y) / car.tr
    roll = (car.tf * Nf + car.tr * Nr) / 2 - abs(car.tf * dNf + car.tr * dNr)
    if roll < 0:
        best, which = roll / w, 1
    if abs(dNf) > Nf / 2:
        dNr += math.copysign((abs(dNf) - Nf / 2) * car.tf / car.tr, dNf)
        dNf = math.copysign(Nf / 2, dNf)
    if abs(dNr) > Nr / 2:
        dNf += math.copysign((abs(dNr) - Nr / 2) * car.tr / car.tf, dNr)
        dNr = math.copysign(Nr / 2, dNr)
        dNf = min(max(dNf, -Nf / 2), Nf / 2)   # beyond this it rolls over, which is caught above
    n0, n1, n2, n3 = Nf / 2 - dNf, Nf / 2 + dNf, Nr / 2 - dNr, Nr / 2 + dNr

    # §4 capacities
    ux = car.u_t if Fx >= 0 else car.u_b
    gx = ux * st[6]
    gy = car.u_c * st[6]
    x0 = n0 * gx * max(car.mux0f + car.kxf * (n0 / car.N0f - 1), 0.05)
    x1 = n1 * gx * max(car.mux0f + car.kxf * (n1 / car.N0f - 1), 0.05)
    x2 = n2 * gx * max(car.mux0r + car.kxr * (n2 / car.N0r - 1), 0.05)
    x3 = n3 * gx * max(car.mux0r + car.kxr * (n3 / car.N0r - 1), 0.05)
    y0 = n0 * gy * max(car.muy0f + car.kyf * (n0 / car.N0f - 1), 0.05)
    y1 = n1 * gy * max(car.muy0f + car.kyf * (n1 / car.N0f - 1), 0.05)
    y2 = n2 * gy * max(car.muy0r + car.kyr * (n2 / car.N0r - 1), 0.05)
    y3 = n3 * gy * max(car.muy0r + car.kyr * (n3 / car.N0r - 1), 0.05)

    f0 = f1 = f2 = f3 = 0.0
    if Fx >= 0:
        # §5 drive
        front, rear, ok = 0.0, 0.0, True
        if car.layout == 0:
            front = Fx
        elif car.layout == 1:
            rear = Fx
        else:
            front, rear, ok = share(Fx, axle_capacity(x0, x1, car.Bf), axle_capacity(x2, x3, car.Br),
                                    car.front_share / (1 - car.front_share), car.Bc)
        okf = okr = True
        if front > 0:
            f0, f1, okf = share(front, x0, x1, 1.0, car.Bf)
        if rear > 0:
            f2, f3, okr = share(rear, x2, x3, 1.0, car.Br)
        if Fx > 0 and not (ok and okf and okr):
            if -Fx / w < best:
                best, which = -Fx / w, 5
        # A wheel without drive has no limit to meet (and a lifted one would read as "just at it").
        for f, x in ((f0, x0), (f1, x1), (f2, x2), (f3, x3)):
            if f > 0 and (x - f) / w < best:
                best, which = (x - f) / w, 4
    elif car.brake_kind == 0:
        c = (x0, x1, x2, x3)
        f, left = no_anti_lock(car, -Fx, c)
        f0, f1, f2, f3 = f
        if left / w < best:
            best, which = left / w, 6
    else:
        Cyf, Cyr = y0 + y1, y2 + y3
        front = (x0 + x1) * math.sqrt(max(0.0, 1 - (Fyf / Cyf) ** 2))
        if car.brake_kind == 4:
            rear = (x2 + x3) * math.sqrt(max(0.0, 1 - (Fyr / Cyr) ** 2))
            if (front + rear + Fx) / w < best:
                best, which = (front + rear + Fx) / w, 6
        else:
            # Select-low: the rear wheels need each half of what the front leaves over.
            f2 = f3 = max(0.0, -Fx - front) / 2
            if f2 > 0 and 2 * (min(x2, x3) - f2) / w < best:
                best, which = 2 * (min(x2, x3) - f2) / w, 6
        # What the front brakes is what its lateral demand leaves: f0, f1 stay 0 in the check below.

    front = lateral_left(x0, x1, y0, y1, f0, f1) - abs(Fyf)
    if front / w < best:
        best, which = front / w, 2
    rear = lateral_left(x2, x3, y2, y3, f2, f3) - abs(Fyr)
    if rear / w < best:
        best, which = rear / w, 3
    return best, which, Fx, n0, n1, n2, n3


@njit(cache=True)
def slk(car, st, X, ax):
    return slack(car, st, X, ax)[0]


SCAN = 0.1        # m/s², step of the outward scan: an infeasible gap narrower than this would be missed
REACH = 25.0      # m/s², how far from coasting anything is looked for


@njit(cache=True)
def refine_peak(car, st, X, lo, hi):
    """Golden-section search for the highest slack between two a_x."""
    r = 0.6180339887498949
    c, d = hi - r * (hi - lo), lo + r * (hi - lo)
    fc, fd = slk(car, st, X, c), slk(car, st, X, d)
    for _ in range(60):
        if fc >= 0:
            return c
        if fd >= 0:
            return d
        if fc > fd:
            hi, d, fd = d, c, fc
            c = hi - r * (hi - lo)
            fc = slk(car, st, X, c)
        else:
            lo, c, fc = c, d, fd
            d = lo + r * (hi - lo)
            fd = slk(car, st, X, d)
    return c if fc > fd else d


@njit(cache=True)
def seed(car, st, X):
    """A feasible a_x: coasting, or one in the part of the set nearest to coasting (§7); False if there is none."""
    coast = solve_ax(car, st, X, 0.0, 0.0)
    here = slk(car, st, X, coast)
    if here >= 0:
        return coast, True
    n = int(REACH / SCAN)
    up1 = up2 = dn1 = dn2 = here       # slack one and two steps back on either side
    for k in range(1, n + 1):
        up = slk(car, st, X, coast + k * SCAN)
        dn = slk(car, st, X, coast - k * SCAN)
        if up >= 0:
            return coast + k * SCAN, True
        if dn >= 0:
            return coast - k * SCAN, True
        # A peak between samples may still reach above zero where the set shrinks to a point.
        if k == 1:
            if here >= up and here >= dn and here > -0.1:
                p = refine_peak(car, st, X, coast - SCAN, coast + SCAN)
                if slk(car, st, X, p) >= 0:
                    return p, True
        else:
            if up1 >= up2 and up1 >= up and up1 > -0.1:
                p = refine_peak(car, st, X, coast + (k - 2) * SCAN, coast + k * SCAN)
                if slk(car, st, X, p) >= 0:
                    return p, True
            if dn1 >= dn2 and dn1 >= dn and dn1 > -0.1:
                p = refine_peak(car, st, X, coast - k * SCAN, coast - (k - 2) * SCAN)
                if slk(car, st, X, p) >= 0:
                    return p, True
        up2, up1, dn2, dn1 = up1, up, dn1, dn
    return coast, False


@njit(cache=True)
def edge(car, st, X, start, direction, stop):
    """Last feasible a_x going out from `start`, but no further than `stop`."""
    good = start
    while True:
        bad = good + direction * SCAN
        last = (bad - stop) * direction >= 0
        if last:
            bad = stop
        if slk(car, st, X, bad) < 0:
            break
        if last:
            return stop
        good = bad
    for _ in range(60):
        mid = 0.5 * (good + bad)
        if mid == good or mid == bad:
            break
        if slk(car, st, X, mid) >= 0:
            good = mid
        else:
            bad = mid
    return good


@njit(cache=True)
def least_ax(car, st, X):
    a, ok = seed(car, st, X)
    return edge(car, st, X, a, -1.0, a - 2 * REACH) if ok else np.nan


@njit(cache=True)
def greatest_ax(car, st, X, power):
    """Greatest a_x within grip and below `power`."""
    a, ok = seed(car, st, X)
    if not ok:
        return np.nan
    if a >= power:
        return power
    return edge(car, st, X, a, 1.0, power)


# ----------------------------------------------------------------------------------------------------------------
# Engine and gears: §6
# ----------------------------------------------------------------------------------------------------------------

@njit(cache=True)
def torque(car, w):
    x, y = car.w_rpm, car.w_nm
    n = len(x)
    if w <= x[0]:
        return y[0]
    for i in range(1, n):
        if w <= x[i]:
            return y[i - 1] + (y[i] - y[i - 1]) * (w - x[i - 1]) / (x[i] - x[i - 1])
    return y[n - 1]


@njit(cache=True)
def speed2_at(car, gear, w):
    """X at which this gear turns the engine at w."""
    v = w * car.rw / (car.gears[gear] * car.i0)
    return v * v


@njit(cache=True)
def ax_engaged(car, st, X, gear):
    """Power-limited a_x in a gear, limiter not looked at here."""
    i = car.gears[gear] * car.i0
    w = math.sqrt(max(X, 0.0)) * i / car.rw
    mrot = car.mrot_wheels + car.j_engine * i * i / (car.rw * car.rw)
    return solve_ax(car, st, X, torque(car, w) * car.eta * i / car.rw, mrot)


@njit(cache=True)
def ax_slipping(car, st, X):
    i = car.gears[0] * car.i0
    return solve_ax(car, st, X, torque(car, car.w_launch) * car.eta * i / car.rw, car.mrot_wheels)


# A mode says which power limit holds: (lowest gear, highest gear, clutch may slip); lowest > highest: shifting.
@njit(cache=True)
def ax_power(car, st, X, lo, hi, slip):
    if lo > hi:
        return solve_ax(car, st, X, 0.0, car.mrot_wheels)
    best = -np.inf
    for g in range(lo, hi + 1):
        best = max(best, ax_engaged(car, st, X, g))
    if slip:
        best = max(best, ax_slipping(car, st, X))
    return best


@njit(cache=True)
def ax_gear(car, st, X, gear):
    """What a gear allows at X, first gear with the better of slipping and engaged; -inf above the limiter."""
    if X > speed2_at(car, gear, car.w_limit) * (1 + 1e-12):
        return -np.inf
    a = ax_engaged(car, st, X, gear)
    if gear == 0 and X < speed2_at(car, 0, car.w_launch):
        a = max(a, ax_slipping(car, st, X))
    return a


@njit(cache=True)
def best_gear(car, st, X):
    n = len(car.gears)
    pick, most = n - 1, -np.inf
    for g in range(n):
        a = ax_gear(car, st, X, g)
        if a > most:
            pick, most = g, a
    return pick


# ----------------------------------------------------------------------------------------------------------------
# Ceilings and the backward pass
# ----------------------------------------------------------------------------------------------------------------

@njit(cache=True)
def feasible(car, st, X):
    """Is there an a_x that grip allows and (in the best gear) power too?"""
    a, ok = seed(car, st, X)
    if not ok:
        return False
    power = ax_gear(car, st, X, best_gear(car, st, X))
    if a <= power:
        return True
    return edge(car, st, X, a, -1.0, power - SCAN) <= power


@njit(cache=True)
def ceiling(car, st, cap):
    """Highest X up to which every X from rest can be held."""
    lo, v = 0.0, 0.0
    if not feasible(car, st, 0.0):
        return -1.0
    while True:
        v += 0.5
        hi = min(v * v, cap)
        if not feasible(car, st, hi):
            break
        if hi == cap:
            return cap
        lo = hi
    for _ in range(50):
        mid = 0.5 * (lo + hi)
        if hi - lo < 1e-12 * hi:
            break
        if feasible(car, st, mid):
            lo = mid
        else:
            hi = mid
    return lo


@njit(parallel=True, cache=True)
def ceilings(car, trk, seg, pos, cap):
    out = np.empty(len(seg))
    for j in prange(len(seg)):
        out[j] = ceiling(car, station(trk, seg[j], pos[j]), cap)
    return out


@njit(cache=True)
def slope_min(car, st, X):
    return 2 * least_ax(car, st, X) / st[2]


@njit(cache=True)
def back_step(car, st, X1, f1, h, cap):
    """Highest X at `st` from which X1, a distance h on, is reached at the least slope (trapezoid)."""
    f = slope_min(car, st, cap)
    if not cap + 0.5 * h * (f + f1) > X1:
        return cap, f
    # Root of r(X) = X + h/2 (f_min(X) + f1) - X1, which rises with X; r(cap) > 0. Illinois' regula falsi.
    hi, rhi = cap, cap + 0.5 * h * (f + f1) - X1
    lo = max(0.0, X1 - h * max(0.0, f1))
    f = slope_min(car, st, lo)
    rlo = lo + 0.5 * h * (f + f1) - X1
    while rlo > 0 and lo > 0:
        lo = max(0.0, lo - h * (1.0 + abs(f1)))
        f = slope_min(car, st, lo)
        rlo = lo + 0.5 * h * (f + f1) - X1
    if rlo > 0:
        return 0.0, f
    X, side = lo, 0
    for _ in range(200):
        if rlo == 0.0 or hi - lo < 1e-13 * (1 + hi):
            break
        X = (lo * rhi - hi * rlo) / (rhi - rlo)
        if not lo < X < hi:
            X = 0.5 * (lo + hi)
        f = slope_min(car, st, X)
        r = X + 0.5 * h * (f + f1) - X1
        if r == 0:
            return X, f
        if not r < 0:                      # also where X is beyond the ceiling and there is no slope
            hi, rhi = X, r
            if side == 1:
                rlo *= 0.5
            side = 1
        else:
            lo, rlo = X, r
            if side == -1:
                rhi *= 0.5
            side = -1
        if abs(r) < 1e-12 * (1 + X):
            return X, f
    return lo, slope_min(car, st, lo)


@njit(cache=True)
def backward(car, trk, seg, pos, top, last):
    """Highest X from which the rest of the course can be held. Joins are two nodes at one place."""
    n = len(seg)
    K = np.empty(n)
    K[n - 1] = min(top[n - 1], last)
    f = slope_min(car, station(trk, seg[n - 1], pos[n - 1]), K[n - 1])
    for j in range(n - 2, -1, -1):
        st = station(trk, seg[j], pos[j])
        if seg[j] != seg[j + 1]:
            K[j] = K[j + 1]          # `top` is the same on both sides of a join
            f = slope_min(car, st, K[j])
        else:
            K[j], f = back_step(car, st, K[j + 1], f, pos[j + 1] - pos[j], top[j])
    return K


# ----------------------------------------------------------------------------------------------------------------
# The forward pass, with gears
# ----------------------------------------------------------------------------------------------------------------

@njit(cache=True)
def slope_max(car, st, X, lo, hi, slip):
    return 2 * greatest_ax(car, st, X, ax_power(car, st, X, lo, hi, slip)) / st[2]


@njit(cache=True)
def forward_step(car, st1, X0, f0, h, cap, lo, hi, slip):
    """X a distance h on at the greatest slope (trapezoid), at most cap; True if cap binds."""
    f = slope_max(car, st1, cap, lo, hi, slip)
    r = cap - X0 - 0.5 * h * (f0 + f)
    if r <= 0:
        return cap, True
    b, rb = cap, r
    a = max(0.0, min(cap, X0 + h * min(f0, 0.0)))
    f = slope_max(car, st1, a, lo, hi, slip)
    ra = a - X0 - 0.5 * h * (f0 + f)
    while ra > 0 and a > 0:
        a = max(0.0, a - h * (1.0 + abs(f0)))
        f = slope_max(car, st1, a, lo, hi, slip)
        ra = a - X0 - 0.5 * h * (f0 + f)
    if ra > 0:
        return 0.0, False
    side = 0
    for _ in range(200):
        if ra == 0.0 or b - a < 1e-13 * (1 + b):
            break
        X = (a * rb - b * ra) / (rb - ra)
        if not a < X < b:
            X = 0.5 * (a + b)
        f = slope_max(car, st1, X, lo, hi, slip)
        r = X - X0 - 0.5 * h * (f0 + f)
        if abs(r) < 1e-12 * (1 + X):
            return X, False
        if not r < 0:
            b, rb = X, r
            if side == 1:
                ra *= 0.5
            side = 1
        else:
            a, ra = X, r
            if side == -1:
                rb *= 0.5
            side = -1
    return a, False


@njit(cache=True)
def step_time(X0, X1, h, st0, st1):
    """∫ ds/(v cosθ) with X linear in s: exact for constant acceleration, also from rest."""
    v = math.sqrt(X0) + math.sqrt(X1)
    return np.inf if v <= 0 else 2 * h / v * 0.5 * (1 / st0[2] + 1 / st1[2])


@njit(cache=True)
def wants_up(car, st, X, gear):
    """§6: has v reached v_g at this station?"""
    if gear >= len(car.gears) - 1:
        return False
    if X >= speed2_at(car, gear, car.w_limit) * (1 - 1e-12):
        return True
    return ax_gear(car, st, X, gear + 1) > ax_gear(car, st, X, gear)


@njit(cache=True)
def band(steps, X):
    k = 0
    while k < len(steps) and X >= steps[k]:
        k += 1
    return k


@njit(cache=True)
def lap(car, trk, seg, pos, K, X, record):
    """One run over the course from X where shifts cost nothing: at each station the gear that pulls hardest.

    Returns time, X, number of places where power fell short of the grip set.
    """
    n = len(seg)
    G_n = len(car.gears)
    X_launch = speed2_at(car, 0, car.w_launch)
    # Speeds at which the power limit jumps, and between them a band in which it is continuous.
    jumps = np.empty(G_n + 1)
    for g in range(G_n):
        jumps[g] = speed2_at(car, g, car.w_limit)
    jumps[G_n] = X_launch
    jumps.sort()
    k = band(jumps, X)
    t = 0.0
    short = 0
    record[0, 0], record[0, 1], record[0, 2] = 0.0, X, best_gear(car, station(trk, seg[0], pos[0]), X)

    for j in range(n - 1):
        if seg[j] != seg[j + 1]:
            record[j + 1, 0], record[j + 1, 1], record[j + 1, 2] = t, X, record[j, 2]
            continue
        s, end = pos[j], pos[j + 1]
        kslope = (K[j + 1] - K[j]) / (end - s)
        events = stuck = 0
        while s < end:
            top = jumps[min(k, G_n)]
            lo = 0
            while lo < G_n - 1 and speed2_at(car, lo, car.w_limit) < top:
                lo += 1
            hi, sl = G_n - 1, k <= G_n and top <= X_launch
            st0 = station(trk, seg[j], s)
            f0 = slope_max(car, st0, X, lo, hi, sl)
            h = end - s

            # The whole remaining step first; an event inside it is then looked for by bisection.
            a_len, b_len = 0.0, h
            event = 0
            stop_len = h
            X1 = X
            for trial in range(60):
                trial_len = h if trial == 0 else 0.5 * (a_len + b_len)
                st1 = station(trk, seg[j], s + trial_len)
                cap = K[j] + kslope * (s + trial_len - pos[j])
                Y, clipped = forward_step(car, st1, X, f0, trial_len, cap, lo, hi, sl)
                e = 0
                if k <= G_n and Y > jumps[k]:
                    e = 1
                elif k > 0 and Y < jumps[k - 1]:
                    e = -1
                if trial == 0:
                    X1 = Y
                    if e == 0:
                        break
                    event = e
                    continue
                if e != 0:
                    b_len, event, X1, stop_len = trial_len, e, Y, trial_len
                else:
                    a_len = trial_len
                if b_len - a_len < 1e-12 * (1 + end):
                    break
            if event != 0 and a_len == 0.0 and b_len < 1e-9:
                stuck += 1
            st1 = station(trk, seg[j], s + stop_len)
            if stuck > 4:
                # Two modes each push back into the other: the car stays at that speed.
                stop_len, event = h, 0
                st1 = station(trk, seg[j], end)
                X1 = min(X, K[j + 1])
            t += step_time(X, X1, stop_len, st0, st1)
            if stop_len > 1e-9:
                mid = station(trk, seg[j], s + 0.5 * stop_len)
                Xm = 0.5 * (X + X1)
                if ax_power(car, mid, Xm, lo, hi, sl) < least_ax(car, mid, Xm) - 1e-6:
                    short += 1
            k += event
            s = end if stop_len == h else s + stop_len
            X = X1
            events += 1
            if events > 50:
                raise RuntimeError("too many events in one step")
        record[j + 1, 0], record[j + 1, 1] = t, X
        record[j + 1, 2] = best_gear(car, station(trk, seg[j], end), X)
    return t, X, short


# ----------------------------------------------------------------------------------------------------------------
# The forward pass where shifts take time: the quickest of all sequences of gears (label setting)
# ----------------------------------------------------------------------------------------------------------------

# A label is a row: time, X, gear, how it stands with the upshift, time the shift still takes, upshifts so far, where it
# comes from. Gear FREE: braking, any gear may be taken.
T, XX, GEAR, UP, LEFT, UPS, FROM, COLUMNS = 0, 1, 2, 3, 4, 5, 6, 7
FREE = -1.0
# v_g lies ahead; due, and waiting until the car can roll; not made at v_g, held to the limiter; being made.
AHEAD, DUE, HELD, SHIFTING = 0.0, 1.0, 2.0, 3.0
MOST = 200
EPS = 1e-9


@njit(cache=True)
def rolls(car, st, X):
    """Is F_x = 0 feasible?"""
    return slk(car, st, X, solve_ax(car, st, X, 0.0, 0.0)) >= -EPS


@njit(cache=True)
def better_lower(car, st, X, gear):
    """Which lower gears allow more than this one: a bit each."""
    bits = 0
    own = ax_gear(car, st, min(X, speed2_at(car, gear, car.w_limit)), gear)
    for g in range(gear):
        if ax_gear(car, st, X, g) > own + EPS:
            bits |= 1 << g
    return bits


@njit(cache=True)
def stretch(car, trk, i, s, end, pos, K0, kslope, label):
    """A label driven to `end` or its first event. Returns length, X, event, free, whether power fell short.

    Events: 1 shift over, 2 v_g or limiter, 3 a lower gear comes to pull better, 4 clutch, 5 can roll, 6 can roll no more.
    """
    X, gear, up, left = label[XX], int(label[GEAR]), label[UP], label[LEFT]
    free, shifting = gear < 0, up == SHIFTING
    X_launch = speed2_at(car, 0, car.w_launch)
    slip = (gear == 0 or free) and X < X_launch
    st0 = station(trk, i, s)
    if free:
        lo, hi = 0, len(car.gears) - 1
        while lo < hi and speed2_at(car, lo, car.w_limit) < X * (1 + 1e-12):
            lo += 1
        slip = slip and lo == 0
    elif shifting:
        lo, hi = 1, 0
    else:
        lo = hi = gear
    limit = np.inf if free or shifting else speed2_at(car, gear, car.w_limit)
    bits = 0 if free or shifting else better_lower(car, st0, X, gear)
    f0 = slope_max(car, st0, X, lo, hi, slip)
    h = end - s
    a_len, b_len, stop_len, X1, event, forced = 0.0, h, h, X, 0, False
    for trial in range(60):
        trial_len = h if trial == 0 else 0.5 * (a_len + b_len)
        st1 = station(trk, i, s + trial_len)
        k = K0 + kslope * (s + trial_len - pos)
        cap = min(k, max(limit, X))
        Y, clipped = forward_step(car, st1, X, f0, trial_len, cap, lo, hi, slip)
        e = 0
        if shifting:
            if step_time(X, Y, trial_len, st0, st1) >= left:
                e = 1
            elif not rolls(car, st1, Y):
                e = 6
        elif not free:
            at_limit = Y >= limit * (1 - 1e-12) and X < limit * (1 - 1e-12)
            last = gear == len(car.gears) - 1
            if not last and ((up == AHEAD and wants_up(car, st1, Y, gear)) or (up == HELD and at_limit)):
                e = 2
            elif better_lower(car, st1, Y, gear) & ~bits:
                e = 3
            elif gear == 0 and slip != (Y < X_launch):
                e = 4
            elif up == DUE and rolls(car, st1, Y):
                e = 5
        if trial == 0:
            X1, forced = Y, clipped and Y >= k
            if e == 0:
                break
            event = e
            continue
        if e != 0:
            b_len, event, X1, forced, stop_len = trial_len, e, Y, clipped and Y >= k, trial_len
        else:
            a_len = trial_len
        if b_len - a_len < 1e-12 * (1 + end):
            break
    short = False
    brakes = forced
    if stop_len > 1e-9:
        # Grip alone slows the car, off K.
        mid = station(trk, i, s + 0.5 * stop_len)
        Xm = 0.5 * (X + X1)
        ax = 0.5 * (X1 - X) / stop_len * mid[2]
        power = ax_power(car, mid, Xm, lo, hi, slip)
        at_limiter = X1 >= limit * (1 - 1e-12) and X >= limit * (1 - 1e-12)
        if not at_limiter and total_force(car, mid, Xm, ax) < 0 and not greatest_ax(car, mid, Xm, power) >= power:
            brakes = True
        short = not at_limiter and power < least_ax(car, mid, Xm) - 1e-6
    return stop_len, X1, event, brakes, short


@njit(cache=True)
def beats(a, b, shift_time):
    """Whoever stands at b cannot win against a any more."""
    if a[T] > b[T] + 1e-12 * (1 + b[T]) or a[XX] < b[XX] * (1 - 1e-12):
        return False
    if a[GEAR] == FREE or b[GEAR] == FREE:
        return a[GEAR] == FREE
    a_left = a[LEFT] if a[UP] == SHIFTING else 0.0
    b_left = b[LEFT] if b[UP] == SHIFTING else 0.0
    if a[GEAR] > b[GEAR]:
        return a_left <= b_left
    if a[GEAR] == b[GEAR]:
        if a_left > b_left:
            return False
        return b[UP] == SHIFTING or a[UP] == AHEAD or (a[UP] == b[UP] and a[LEFT] <= b[LEFT])
    # A shift costs no more than about its own time: twice that is more than all that b spares.
    return b[T] - a[T] > 2 * shift_time * (b[GEAR] - a[GEAR] + 1)


@njit(cache=True)
def race(car, trk, seg, pos, K, labels, count, history, held):
    """All labels over the course. `history` gets, for each node, each label's time, X, gear and the label before it."""
    n = len(seg)
    stack = np.empty((MOST, COLUMNS + 1))
    arrived = np.empty((MOST, COLUMNS))
    short = 0
    for k in range(count):
        history[0, k, 0], history[0, k, 1], history[0, k, 2], history[0, k, 3] = labels[k, T], labels[k, XX], labels[k, GEAR], k
    held[0] = count
    for j in range(n - 1):
        if seg[j] != seg[j + 1]:
            held[j + 1] = count
            for k in range(count):
                history[j + 1, k] = history[j, k]
                history[j + 1, k, 3] = k
                if labels[k, GEAR] != FREE and labels[k, XX] >= K[j + 1] * (1 - 1e-12):
                    labels[k, GEAR] = FREE
            continue
        end = pos[j + 1]
        kslope = (K[j + 1] - K[j]) / (end - pos[j])
        waiting = 0
        for k in range(count - 1, -1, -1):
            labels[k, FROM] = k
            stack[waiting, :COLUMNS] = labels[k]
            stack[waiting, COLUMNS] = pos[j]
            waiting += 1
        done = 0
        events = 0
        while waiting > 0:
            waiting -= 1
            now = stack[waiting].copy()
            s = now[COLUMNS]
            if s >= end:
                if done < MOST:
                    arrived[done] = now[:COLUMNS]
                    done += 1
                continue
            events += 1
            if events > 2000:
                raise RuntimeError("too many events in one step")
            st0 = station(trk, seg[j], s)
            gear = int(now[GEAR])
            last = gear == len(car.gears) - 1
            if gear >= 0 and now[UP] == HELD and not wants_up(car, st0, now[XX], gear):
                now[UP] = AHEAD
            if gear >= 0 and not last and now[UP] == DUE and rolls(car, st0, now[XX]):
                if now[LEFT] == car.shift_time:
                    stack[waiting] = now
                    stack[waiting, UP], stack[waiting, LEFT] = HELD, 0.0
                    waiting += 1
                    now[UPS] += 1
                now[GEAR], now[UP] = gear + 1, SHIFTING
                gear += 1
            length, X1, event, brakes, fell = stretch(
                car, trk, seg[j], s, end, pos[j], K[j], kslope, now)
            if gear < 0 and not brakes:
                # Drive begins: the gear that pulls hardest, or a higher one that spares shifts.
                for g in range(best_gear(car, st0, now[XX]), len(car.gears)):
                    stack[waiting] = now
                    stack[waiting, GEAR], stack[waiting, UP], stack[waiting, LEFT] = g, AHEAD, 0.0
                    waiting += 1
                continue
            short += fell
            X0 = now[XX]
            dt = step_time(X0, X1, length, st0, station(trk, seg[j], s + length))
            now[T] += dt
            now[XX] = X1
            now[COLUMNS] = end if length == end - s else s + length
            if now[UP] == SHIFTING:
                now[LEFT] = max(0.0, now[LEFT] - dt)
            if brakes:
                now[GEAR], now[UP], now[LEFT] = FREE, AHEAD, 0.0
            elif event == 1:
                now[UP], now[LEFT] = AHEAD, 0.0
            elif event == 2:
                now[UP], now[LEFT] = DUE, car.shift_time
            elif event == 3:
                st1 = station(trk, seg[j], now[COLUMNS])
                stack[waiting] = now
                waiting += 1
                now[GEAR], now[UP], now[LEFT] = min(gear, best_gear(car, st1, X1)), AHEAD, 0.0
            elif event == 6:
                now[GEAR], now[UP] = gear - 1, DUE
            if waiting < MOST:
                stack[waiting] = now
                waiting += 1
        # Those that can still win. One that is behind, but in a lower gear that pulls harder, is what the other becomes
        # by changing down.
        st1 = station(trk, seg[j], end)
        count = 0
        for a in range(done):
            wins = True
            for b in range(done):
                if a == b or not beats(arrived[b], arrived[a], car.shift_time):
                    continue
                low, high = arrived[a, GEAR], arrived[b, GEAR]
                if FREE < low < high and arrived[b, UP] != SHIFTING and arrived[a, UP] != SHIFTING and ax_gear(
                        car, st1, arrived[b, XX], int(low)) > ax_gear(car, st1, arrived[b, XX], int(high)) + EPS:
                    if arrived[b, XX] > arrived[a, XX] * (1 + 1e-12) or arrived[b, T] < arrived[a, T] - 1e-12:
                        arrived[a] = arrived[b]
                        arrived[a, GEAR], arrived[a, UP], arrived[a, LEFT] = low, AHEAD, 0.0
                elif not (b > a and beats(arrived[a], arrived[b], car.shift_time)):
                    wins = False
                    break
            if wins and count < history.shape[1]:
                labels[count] = arrived[a]
                history[j + 1, count, 0], history[j + 1, count, 1] = arrived[a, T], arrived[a, XX]
                history[j + 1, count, 2], history[j + 1, count, 3] = arrived[a, GEAR], arrived[a, FROM]
                count += 1
        held[j + 1] = count
    return count, short
