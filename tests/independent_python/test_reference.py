"""Closed forms and published cases for the reference itself: `python test_reference.py`, or pytest.

The case numbers are those of the project's list of check cases.
"""

import math

import numpy as np

from model import G, Car, Track, ceiling, edge, greatest_ax, least_ax, make_station, seed, slack
from reference import run

FLAT = make_station(0.0, 0.0, 0.0, 0.0, 1.0)


def car(**changes):
    """A car of friction alone: no load slope, no drag, CG on the ground, more engine than can be used."""
    values = dict(
        m=1000.0, a=1.25, y=0.0, h=0.0, L=2.5, tf=1.5, tr=1.5, hrf=0.0, hrr=0.0, chi=0.5,
        mux0f=1.0, muy0f=1.0, kxf=0.0, kyf=0.0, N0f=3000.0, cf=0.0,
        mux0r=1.0, muy0r=1.0, kxr=0.0, kyr=0.0, N0r=3000.0, cr=0.0,
        u_c=1.0, u_t=1.0, u_b=1.0, rho=1.2, cda=0.0, cfa=0.0, cra=0.0, crr=0.0,
        layout=2, front_share=0.5, Bc=np.inf, Bf=np.inf, Br=np.inf,
        brake_kind=4, beta=0.6, knee=1e9, knee_slope=1.0,
        w_rpm=np.array([100.0]), w_nm=np.array([1e5]), w_launch=100.0, w_limit=1e4,
        gears=np.array([1.0]), i0=1.0, eta=1.0, rw=0.3, mrot_wheels=0.0, j_engine=0.0, shift_time=0.0)
    return Car(**(values | changes))


def track(rows, grip=1.0):
    """Rows of length, curvature at the start, curvature at the end; flat."""
    L, k0, k1 = (np.array(c, float) for c in zip(*rows))
    z = np.zeros(len(L))
    return Track(L, k0, k1, z, z, z, z, z + grip)


def test_friction_circle_from_rest():
    # Case 29: constant radius from rest; the limit is reached at s = πR/4 after ½ϖ√(R/a).
    time, error, *_ = run(car(), track([(math.pi * 100 / 4, 0.01, 0.01)]), False, 0.0, 0.25)
    assert abs(time - 4.186508) < 1e-5 + error, (time, error)


def test_time_scales_with_root_of_length():
    # Case 31's last line: all lengths × 4 → time × 2.
    def oval(f):
        return track([(500 * f, 0, 0), (math.pi * 100 * f, 0.01 / f, 0.01 / f)] * 2)
    one, e1, *_ = run(car(u_t=0.4), oval(1), True, 0.0, 1.0)
    four, e4, *_ = run(car(u_t=0.4), oval(4), True, 0.0, 4.0)
    assert abs(four - 2 * one) < 1e-7, (one, four)
    assert e1 < 5e-3


def test_pull_away():
    # Case 18: μ 0.8, L 2.62, h 0.72, CG in the middle; open differentials on level ground.
    for layout, expected in ((1, 5.030), (0, 3.217), (2, 7.848)):
        c = car(L=2.62, a=1.31, h=0.72, mux0f=0.8, mux0r=0.8, layout=layout, Bf=1.0, Br=1.0)
        # The case has g 9.81.
        assert abs(greatest_ax(c, FLAT, 0.0, 100.0) * 9.81 / G - expected) < 1e-3


def test_braking_without_anti_lock():
    # Case 14: the front axle's utilisation is 0.8771 at 0.8 g, so that μ allows 0.8 g and no more.
    c = car(m=1100.0, L=2.45, a=0.53 * 2.45, h=0.46, beta=0.68, mux0f=0.8771, mux0r=0.8771, brake_kind=0)
    assert abs(least_ax(c, FLAT, 100.0) / G + 0.8) < 1e-4
    # ... and 0.6740 at the rear: were the front never to lock, that would be the limit.
    c = car(m=1100.0, L=2.45, a=0.53 * 2.45, h=0.46, beta=0.68, mux0f=9.0, mux0r=0.6740, brake_kind=0)
    assert abs(least_ax(c, FLAT, 100.0) / G + 0.8) < 1e-4
    # Ideal distribution: 4 channels use all of μ.
    c = car(m=1100.0, L=2.45, a=0.53 * 2.45, h=0.46, mux0f=0.9, mux0r=0.9)
    assert abs(least_ax(c, FLAT, 100.0) / G + 0.9) < 1e-9


def test_roll_moment_closes_also_with_a_wheel_off_the_ground():
    # Case 8: ΣΔN t = m A_y h + m A_n y, whatever the roll centres and the stiffness share.
    for chi in (0.1, 0.5, 0.95):
        for kappa in (0.005, -0.02, 0.025):
            c = car(h=0.5, hrf=0.05, hrr=0.12, chi=chi, tf=1.5, tr=1.4, y=0.02, a=1.1)
            st = make_station(kappa, 0.0, 0.0, 0.0, 1.0)
            X = 400.0
            value, which, _, fl, fr, rl, rr = slack(c, st, X, 0.5)
            if which == 1:
                continue
            moment = c.tf * (fr - fl) / 2 + c.tr * (rr - rl) / 2
            assert abs(moment - c.m * (X * kappa * c.h + G * c.y)) < 1e-6
            assert min(fl, fr, rl, rr) >= 0
            assert abs(fl + fr + rl + rr - c.m * G) < 1e-6


def test_lifted_wheel_and_differential():
    # Rear roll stiffness so low that the inside front lifts: an open front differential then passes nothing.
    c = car(h=0.5, chi=1.0, layout=0, Bf=1.0, a=1.6, muy0f=3.0, muy0r=3.0, mux0f=3.0)
    st = make_station(0.02, 0.0, 0.0, 0.0, 1.0)
    _, _, _, fl, *_ = slack(c, st, 420.0, 0.0)
    assert fl == 0.0
    assert greatest_ax(c, st, 420.0, 50.0) < 1e-9
    assert greatest_ax(c._replace(Bf=np.inf), st, 420.0, 50.0) > 1.0


def test_ceiling_of_a_point_mass():
    c = car()
    for bank in (-0.05, 0.0, 0.1):
        st = make_station(0.02, 0.0, 0.0, bank, 1.0)
        # X κ cos − g sin = μ (g cos + X κ sin)
        X = G * (math.cos(bank) + math.sin(bank)) / (0.02 * (math.cos(bank) - math.sin(bank)))
        assert abs(ceiling(c, st, 1e4) / X - 1) < 1e-9
        # The mirror image on a right-hand corner
        assert abs(ceiling(c, make_station(-0.02, 0.0, 0.0, -bank, 1.0), 1e4) / X - 1) < 1e-9


def test_entering_faster_than_it_can_hold():
    # §7: where the rear would be spared by braking a little, coasting is infeasible and the set still is not empty.
    c = car(h=0.6, a=1.5, muy0r=1.5)
    st = make_station(0.02, 0.0, 0.0, 0.0, 1.0)
    X = ceiling(c, st, 1e4)
    a, ok = seed(c, st, X)
    assert ok and a < -0.1
    assert edge(c, st, X, a, 1.0, 5.0) - edge(c, st, X, a, -1.0, -5.0) < 1e-3


if __name__ == "__main__":
    for name, function in list(globals().items()):
        if name.startswith("test_"):
            function()
            print(name, "passed")
