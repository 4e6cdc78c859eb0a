"""The files of the project, read on their own terms: quantities with units, cars, tracks."""

import csv
import math
import re
import tomllib

import numpy as np

from model import Car, Track, G

UNITS = {
    "kg": 1.0, "g": 1e-3, "t": 1e3, "lb": 0.45359237,
    "m": 1.0, "mm": 1e-3, "cm": 1e-2, "km": 1e3, "in": 0.0254, "ft": 0.3048,
    "m2": 1.0, "m²": 1.0, "m3": 1.0,
    "L": 1e-3, "l": 1e-3,
    "kg/L": 1e3, "kg/l": 1e3, "kg/m3": 1.0, "kg/m³": 1.0,
    "N": 1.0, "kN": 1e3, "N/rad": 1.0, "kN/rad": 1e3, "N/deg": 180 / math.pi, "kN/deg": 180e3 / math.pi,
    "Nm": 1.0, "N m": 1.0, "kg m2": 1.0, "kg m²": 1.0, "kgm2": 1.0,
    "rpm": 2 * math.pi / 60, "rad/s": 1.0,
    "s": 1.0, "ms": 1e-3,
    "m/s": 1.0, "km/h": 1 / 3.6, "mph": 0.44704,
    "%": 1e-2, "": 1.0,
}
NUMBER = r"[-+]?(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d+)?"
QUANTITY = re.compile(rf"^\s*({NUMBER}|inf)\s*(?:(?:±|\+-|\+/-)\s*{NUMBER}\s*)?(.*?)\s*$")


def quantity(value):
    """A number in SI from 1.2, "492 ± 15 mm", "18 °C"; the uncertainty is not used here."""
    if isinstance(value, (int, float)):
        return float(value)
    match = QUANTITY.match(value)
    if not match:
        raise ValueError(f"not a quantity: {value!r}")
    number, unit = float(match.group(1)), match.group(2)
    if unit in ("°C", "C", "degC"):
        return number + 273.15
    if unit == "K":
        return number
    if unit not in UNITS:
        raise ValueError(f"unknown unit in {value!r}")
    return number * UNITS[unit]


CAR_TABLES = {"mass", "fuel", "driver", "chassis", "tyres", "aero", "engine", "driveline", "brakes", "name", "schema"}


def apply_settings(car, track, settings):
    """`--set a.b.c=value`, into whichever file owns the first word."""
    for setting in settings:
        key, _, text = setting.partition("=")
        try:
            value = tomllib.loads(f"v = {text}")["v"]
        except tomllib.TOMLDecodeError:
            value = text
        *path, last = key.strip().split(".")
        table = car if (path + [last])[0] in CAR_TABLES else track
        for word in path:
            table = table.setdefault(word, {})
        table[last] = value


def air_density(air):
    """ISO 2533: pressure from altitude; the temperature given, or the standard one at that altitude."""
    altitude = quantity(air.get("altitude", "0 m"))
    geopotential = 6356766.0 * altitude / (6356766.0 + altitude)
    standard = 288.15 - 0.0065 * geopotential
    pressure = 101325.0 * (standard / 288.15) ** (G / (0.0065 * 287.05287))
    temperature = quantity(air["temperature"]) if "temperature" in air else standard
    return pressure / (287.05287 * temperature)


LAYOUT = {"front": 0, "rear": 1, "all": 2}
BRAKES = {"none": 0, "3-channel": 3, "4-channel": 4}


def mass_on_track(car):
    """Mass and CG as it laps: what was aboard on the scales comes off at its own place, what is aboard now goes on."""
    mass = car["mass"]
    m = quantity(mass["total"])
    moment = m * np.array([quantity(mass[k]) for k in ("cg_x", "cg_y", "cg_height")])
    changes = []
    if "fuel" in car:
        fuel = car["fuel"]
        tank = {k: quantity(v) for k, v in fuel["tank"].items()}
        for sign, key in ((-1, "as_weighed"), (1, "on_track")):
            volume = quantity(fuel[key])
            level = volume / (tank["length"] * tank["width"])
            changes.append((sign * volume * quantity(fuel["density"]), tank["x"], tank["y"], tank["z"] + level / 2))
    if "driver" in car:
        driver = car["driver"]
        seat = [quantity(driver["seat"][k]) for k in "xyz"]
        for sign, key in ((-1, "as_weighed"), (1, "on_track")):
            changes.append((sign * quantity(driver[key]), *seat))
    for dm, x, y, z in changes:
        m += dm
        moment = moment + dm * np.array([x, y, z])
    return m, *(moment / m)


def load_car(car, rho):
    m, a, y, h = mass_on_track(car)
    ch, dl, en, br, aero = (car[k] for k in ("chassis", "driveline", "engine", "brakes", "aero"))
    driver = car.get("driver", {})
    q = quantity
    tyre = {}
    for end, s in (("front", "f"), ("rear", "r")):
        t = car["tyres"][end]
        tyre |= {
            "mux0" + s: q(t["peak_friction_long"]), "muy0" + s: q(t["peak_friction_lat"]),
            "kx" + s: q(t["load_slope_long"]), "ky" + s: q(t["load_slope_lat"]),
            "N0" + s: q(t["reference_load"]), "c" + s: q(t.get("cornering_stiffness", 0.0)),
        }
    radius = {end: q(car["tyres"][end]["rolling_radius"]) for end in ("front", "rear")}
    layout = LAYOUT[dl["layout"]]
    front_share = {0: 1.0, 1: 0.0}.get(layout, q(dl.get("front_share", 0.5)))
    limiter = br.get("rear_limiter", {"knee": "1e9 N", "slope": 1.0})
    torque = [(q(w), q(t)) for w, t in en["torque"]]
    return Car(
        m=m, a=a, y=y, h=h, L=q(ch["wheelbase"]), tf=q(ch["track_front"]), tr=q(ch["track_rear"]),
        hrf=q(ch["roll_centre_front"]), hrr=q(ch["roll_centre_rear"]), chi=q(ch["roll_stiffness_front_share"]),
        **tyre,
        u_c=q(driver.get("use_cornering", 1.0)), u_t=q(driver.get("use_traction", 1.0)),
        u_b=q(driver.get("use_braking", 1.0)),
        rho=rho, cda=q(aero["drag_area"]), cfa=q(aero["downforce_area_front"]), cra=q(aero["downforce_area_rear"]),
        crr=q(aero["rolling_resistance"]),
        layout=layout, front_share=front_share,
        Bc=q(dl.get("centre_bias", 1.0)), Bf=q(dl.get("front_bias", 1.0)), Br=q(dl.get("rear_bias", 1.0)),
        brake_kind=BRAKES[br["anti_lock"]], beta=q(br["front_share"]),
        knee=q(limiter["knee"]), knee_slope=q(limiter["slope"]),
        w_rpm=np.array([p[0] for p in torque]), w_nm=np.array([p[1] for p in torque]),
        w_launch=q(en["launch"]), w_limit=q(en["limit"]),
        gears=np.array([float(i) for i in dl["gears"]]), i0=q(dl["final_drive"]), eta=q(dl["efficiency"]),
        rw=front_share * radius["front"] + (1 - front_share) * radius["rear"],
        mrot_wheels=sum(2 * q(car["tyres"][e]["wheel_inertia"]) / radius[e] ** 2 for e in radius),
        j_engine=q(en["inertia"]), shift_time=q(dl["shift_time"]),
    )


def load_track(track, folder, grip_override):
    rows = [line for line in (folder / track["segments"]).read_text(encoding="utf-8").splitlines()
            if line.strip() and not line.lstrip().startswith("#")]
    rows = list(csv.DictReader(rows, skipinitialspace=True))
    day = grip_override if grip_override is not None else quantity(track.get("grip", 1.0))

    def column(name, default):
        return np.array([float(r.get(name) or default) for r in rows])

    t = Track(
        column("length_m", 0), column("curvature_start_1pm", 0), column("curvature_end_1pm", 0),
        column("grade_start_pct", 0) / 100, column("grade_end_pct", 0) / 100,
        np.radians(column("bank_start_deg", 0)), np.radians(column("bank_end_deg", 0)),
        day * column("grip", 1),
    )
    pairs = range(len(rows)) if track["closed"] else range(1, len(rows))
    for i in pairs:
        if abs(t.q1[i - 1] - t.q0[i]) > 1e-9:
            raise ValueError(f"a step of grade between rows {i} and {i + 1}")
    return t
