#!/usr/bin/python3
"""Reference solution of the tub network, for the tests of package sim.

Integrates the equations of sim/tub_network.go as they stand, nothing made
linear and nothing frozen, by an implicit Runge-Kutta method of order five
(scipy's Radau) with tight tolerances, between the moments at which an input
changes. Water that evaporates or leaks leaves continuously here; the Go model
books it at intervals.

Writes tub_inputs.csv (what acts on the tub) and tub_reference.csv (the nodes).
With --time it writes tub_time.md instead: how long this takes, how long scipy
takes at best, and how long the Go model takes over the same 48 h, one after the
other on one processor.
Needs numpy and scipy, and go for --time. Run it in its own folder.
"""
import csv
import math
import subprocess
import sys
import time

import numpy as np
from scipy.integrate import solve_ivp

PAD, FLOOR, PATCH, LOWER, UPPER, AIR, WALL, LID, BEAST = range(9)
CP = 4180.0
K0 = 273.15

# The tub: polypropylene of EN 12524.
L, W, DEPTH, HEIGHT, WALL_M = 0.40, 0.28, 0.06, 0.16, 0.0025
POWER, AREA, CONTACT, PADCAP, BELOW = 20.0, 0.08, 60.0, 2500.0, 0.6
HOLES, HOLE, RIM, HUMIDITY = 60, 0.010, 0.0025 * 2 * (L + W), 0.5
K_PP, RHO_PP, CP_PP = 0.22, 910.0, 1800.0

BASE = L * W
BESIDE = BASE - AREA
PERIMETER = 2 * (L + W)
PLATE = WALL_M / K_PP
HEAVY = WALL_M * RHO_PP * CP_PP
SIZE = BASE / PERIMETER
OPEN = HOLES * math.pi / 4 * HOLE**2 + RIM


def saturation(t):
    """IAPWS-IF97 region 4, kPa."""
    k = t + K0
    th = k - 0.23855557567849 / (k - 650.17534844798)
    a = th * th + 1167.0521452767 * th - 724213.16703206
    b = -17.073846940092 * th * th + 12020.82470247 * th - 3232555.0322333
    c = 14.91510861353 * th * th - 4823.2657361591 * th + 405113.40542057
    return 1000 * (2 * c / (-b + math.sqrt(b * b - 4 * a * c))) ** 4


def latent(t):
    return 2500.9e3 - 2381 * t


def density(t):
    return 1000.0468 + 0.0265145 * t - 6.38641e-3 * t**2 + 2.09759e-5 * t**3


def water_group(t):
    return max(0, -4.72875645e8 + 1.05833867e8 * t + 3.366893446e6 * t**2 + 4.0408481648e3 * t**3)


def air_group(t):
    return 49.509156 - 0.23996068 * t + 7.78260393e-4 * t**2


def water_film(c, t, steady, d):
    return np.cbrt(steady**3 + c**3 * water_group(t) * max(d, 0)) * d


def air_film(up, down, t, size, steady, d):
    c = up if d >= 0 else down
    return (steady**4 + c**4 * air_group(t) / size * abs(d)) ** 0.25 * d


def forced(v, length):
    return 0 if v <= 0 else 0.664 * 0.02592 / length * math.sqrt(v * length / 1.552e-5) * 0.8917


def radiation(a, b, e):
    return e * 5.670374e-8 * ((a + K0) ** 4 - (b + K0) ** 4)


class Tub:
    def __init__(self, water, room):
        self.x = np.full(10, room, float)
        self.x[[LOWER, UPPER, BEAST]] = water
        self.x[9] = DEPTH * BASE * density(water)
        self.animal, self.share = 0.0, 0.0
        self.inputs = None

    def covered(self):
        return 0.02 if self.animal == 0 else min(max(self.share, 0.02), 0.9)

    def fixed(self):
        c = np.zeros(9)
        c[PAD] = PADCAP * AREA
        whole = HEAVY * AREA
        c[PATCH] = whole * self.covered()
        c[FLOOR] = whole - c[PATCH]
        c[LOWER] = 1 + HEAVY * BESIDE
        c[UPPER] = 1
        c[AIR] = 1 + 1200 * BASE * (HEIGHT - DEPTH) + 0.5 * HEAVY * PERIMETER * (HEIGHT - DEPTH)
        c[WALL] = HEAVY * PERIMETER * DEPTH
        c[LID] = HEAVY * BASE
        c[BEAST] = 1 + 3500 * self.animal
        return c

    def slope(self, _, x):
        t, mass = x[:9], x[9]
        pad, room, sun, lid_off, draught, stir, leak, factor = self.inputs
        q = np.zeros(9)
        out = np.zeros(10)

        def flow(i, j, w):
            q[i] -= w
            q[j] += w

        depth = mass / (BASE * density((t[LOWER] + t[UPPER]) / 2))
        cov = self.covered()
        q[PAD] += pad * POWER
        q[LOWER] += sun / 2
        q[UPPER] += sun / 2
        up = AREA / (1 / CONTACT + PLATE)
        flow(PAD, FLOOR, up * (1 - cov) * (t[PAD] - t[FLOOR]))
        flow(PAD, PATCH, up * cov * (t[PAD] - t[PATCH]))
        q[PAD] -= AREA / BELOW * (t[PAD] - room)

        # water and animal
        k = 0.558105 + 2.188658e-3 * t[LOWER] - 1.064123e-5 * t[LOWER] ** 2
        steady = 4 * k / depth + 400 * stir
        flow(FLOOR, LOWER, AREA * (1 - cov) * factor * water_film(0.15, t[LOWER], steady, t[FLOOR] - t[LOWER]))
        under = factor * cov * AREA
        if self.animal > 0:
            flow(PATCH, BEAST, 60 * cov * AREA * (t[PATCH] - t[BEAST]))
            flow(BEAST, LOWER, 100 * 0.06 * self.animal ** (2 / 3) * (t[BEAST] - t[LOWER]))
            under *= 0.15
        else:
            flow(BEAST, LOWER, 0.1 * (t[BEAST] - t[LOWER]))
        flow(PATCH, LOWER, under * water_film(0.15, t[LOWER], steady, t[PATCH] - t[LOWER]))
        still = 2 * k / depth + 40 + stir * 0.5 * 4.18e6 / 5 * depth
        flow(LOWER, UPPER, BASE * water_film(0.30, (t[LOWER] + t[UPPER]) / 2, still, t[LOWER] - t[UPPER]))

        # over the water
        breeze = draught if lid_off else 0
        outside = forced(draught, L)
        flow(UPPER, AIR, BASE * air_film(0.54, 0.27, t[AIR], SIZE, max(0.5, forced(breeze, L)), t[UPPER] - t[AIR]))
        q[LID] -= BASE * (air_film(0.54, 0.27, room, SIZE, max(0.5, outside), t[LID] - room) + radiation(t[LID], room, 0.95))
        if lid_off:
            q[UPPER] -= BASE * radiation(t[UPPER], room, 0.95)
        else:
            flow(AIR, LID, BASE * air_film(0.54, 0.27, t[AIR], SIZE, 0.5, t[AIR] - t[LID]))
            flow(UPPER, LID, BASE * radiation(t[UPPER], t[LID], 1 / (2 / 0.95 - 1)))

        # around it
        wetted = PERIMETER * depth
        inner = wetted / (1 / 150 + PLATE)
        flow(LOWER, WALL, inner / 2 * (t[LOWER] - t[WALL]))
        flow(UPPER, WALL, inner / 2 * (t[UPPER] - t[WALL]))
        q[WALL] -= wetted * (
            air_film(0.59, 0.59, room, max(0.03, depth), max(0.5, outside), t[WALL] - room) + radiation(t[WALL], room, 0.95)
        )
        q[AIR] -= PERIMETER * (HEIGHT - depth) / (0.35 + PLATE + 0.12) * (t[AIR] - room)
        q[LOWER] -= BESIDE / (1 / 150 + PLATE + 0.35) * (t[LOWER] - room)

        # vapour
        water, outer, dew = saturation(t[UPPER]), HUMIDITY * saturation(room), saturation(t[LID])
        y = latent(t[UPPER])
        rise = BASE * min(1, mass / (0.2 * BASE)) * (89 * 0.74 + 78.2 * breeze)
        if lid_off:
            gone = rise * (water - outer)
            q[UPPER] -= gone
            q[AIR] -= 1200 * (0.01 + 0.1 * breeze) * BASE * (t[AIR] - room)
        else:
            lighter = max(1e-4, (t[AIR] - room) / (room + K0) + 0.378 * (min(water, dew) - outer) / 101.325)
            through = OPEN / (math.pi / 4 * HOLE**2) * 0.055 * math.sqrt(9.80665 * HOLE**5 * lighter) + 0.025 * OPEN * draught
            q[AIR] -= 1200 * through * (t[AIR] - room)
            holes = through * y * 1000 / (461.5 * (t[AIR] + K0))
            p = (rise * water + holes * outer) / (rise + holes)
            drops = 0.0
            if p > dew:
                drops = BASE * 89 * 0.74
                p = (rise * water + drops * dew + holes * outer) / (rise + drops + holes)
            gone = holes * (p - outer)
            q[UPPER] -= rise * (water - p)
            q[LID] += drops * (p - dew)

        c = self.fixed()
        c[LOWER] += CP * mass / 2
        c[UPPER] += CP * mass / 2
        vapour, lost = gone / y, leak * 1e-3 / 3.6
        # The halves stay even: what the upper loses more comes from the lower.
        move = (vapour - lost) / 2
        carried = CP * move * (t[LOWER] - t[UPPER])
        if move > 0:
            q[UPPER] += carried
        else:
            q[LOWER] += carried
        out[:9] = q / c
        out[9] = -vapour - lost
        return out


    def event(self, kind, a, b):
        x = self.x
        if kind == "change":  # to depth b at a °C
            fixed = self.fixed()
            kg = b * BASE * density(a)
            for i in (LOWER, UPPER):
                more = CP * kg / 2
                x[i] = (fixed[i] * x[i] + more * a) / (fixed[i] + more)
            x[9] = kg
        elif kind == "animal":  # kg a, at b °C, on 0.4 of the pad
            old, self.animal, self.share = self.fixed(), a, 0.4
            new = self.fixed()
            if a > 0:
                x[BEAST] = (x[BEAST] + 3500 * a * b) / (1 + 3500 * a)
            grown = new[PATCH] - old[PATCH]
            if grown > 0:
                x[PATCH] = (old[PATCH] * x[PATCH] + grown * x[FLOOR]) / new[PATCH]
            else:
                x[FLOOR] = (old[FLOOR] * x[FLOOR] - grown * x[PATCH]) / new[FLOOR]


def plan():
    """What acts on the tub over 48 h: a row whenever something changes."""
    end = 48 * 3600
    keys = ("pad", "room", "sun", "lid_off", "draught", "stir", "leak", "film")
    now = dict(pad=0, room=21.0, sun=0, lid_off=0, draught=0, stir=0, leak=0, film=1)
    changes = {}

    def at(s, **kw):
        changes.setdefault(s, {}).update(kw)

    on, s = True, 0
    while s < end:  # heat of uneven lengths, as a controller's would be
        at(s, pad=1 if on else 0)
        s += (431 if on else 263) + (s % 97)
        on = not on
    for s in range(0, end, 600):
        at(s, room=round(21 + 3 * math.sin(2 * math.pi * s / 86400), 4))
    for s, length, stirred in ((3 * 3600 + 11, 900, 0), (10 * 3600 + 5, 420, 0.3), (20 * 3600, 1800, 0), (33 * 3600, 300, 1)):
        at(s, lid_off=1, stir=stirred)
        at(s + length, lid_off=0, stir=0)
    for s, length, v in ((7 * 3600, 1200, 0.3), (20 * 3600 + 300, 600, 0.15)):
        at(s, draught=v)
        at(s + length, draught=0)
    for s, length, watts in ((14 * 3600, 2400, 12), (38 * 3600, 1500, 7)):
        at(s, sun=watts)
        at(s + length, sun=0)
    at(26 * 3600, leak=0.5)
    at(28 * 3600, leak=0)
    at(40 * 3600, film=0.6)
    at(42 * 3600, film=1)
    at(44 * 3600, pad=0.55)
    events = {5 * 3600 + 30: ("animal", 1.5, 24.0), 24 * 3600 + 17: ("change", 27.5, 0.05), 36 * 3600: ("animal", 0, 0)}
    for s in events:
        changes.setdefault(s, {})
    rows = []
    for s in sorted(changes):
        if s >= end:
            continue
        now.update(changes[s])
        rows.append((s, [now[k] for k in keys], events.get(s)))
    return keys, rows, end


def integrate(rows, end, method="Radau", tolerance=1e-9):
    """Gives the state every 271 s, and what it was begun with is not given."""
    tub = Tub(29.4, 21.0)
    for n, (s, v, e) in enumerate(rows):
        tub.inputs = v
        if e:
            tub.event(*e)
        stop = rows[n + 1][0] if n + 1 < len(rows) else end
        samples = [x for x in range(s - s % 271, stop + 271, 271) if s < x <= stop]
        solved = solve_ivp(
            tub.slope, (s, stop), tub.x, method=method, rtol=tolerance, atol=tolerance, t_eval=samples + ([] if samples and samples[-1] == stop else [stop]), max_step=60
        )
        assert solved.success, solved.message
        for i, x in enumerate(samples):
            yield x, solved.y[:, i]
        tub.x = solved.y[:, -1]


def main():
    keys, rows, end = plan()
    with open("tub_inputs.csv", "w", newline="") as f:
        w = csv.writer(f, lineterminator="\n")
        w.writerow(("s",) + keys + ("event", "a", "b"))
        for s, v, e in rows:
            w.writerow([s] + [f"{x:g}" for x in v] + (list(e) if e else ["", "", ""]))
    names = "pad floor patch lower upper air wall lid animal".split()
    with open("tub_reference.csv", "w", newline="") as f:
        w = csv.writer(f, lineterminator="\n")
        w.writerow(["s"] + [n + " [C]" for n in names] + ["water [kg]"])
        for x, y in integrate(rows, end):
            w.writerow([x] + [f"{v:.6f}" for v in y])


def compare_times():
    """Processor seconds for the 48 h, and how far from the reference at most."""
    _, rows, end = plan()
    with open("tub_reference.csv", newline="") as f:
        want = [[float(v) for v in row] for row in list(csv.reader(f))[1:]]
    lines = []

    def line(who, seconds, off):
        lines.append((who, seconds, off))
        print(f"{who}: {seconds:.3g} s, {off} mK", file=sys.stderr)

    # The reference itself, and each of scipy's methods for stiff equations with the
    # loosest power of ten that keeps it within the millikelvin of the model.
    for method, tolerance in (("Radau", 1e-9), ("Radau", 1e-5), ("BDF", 1e-6), ("LSODA", 1e-5)):
        began = time.process_time()
        got = list(integrate(rows, end, method, tolerance))
        seconds = time.process_time() - began
        off = max(abs(y[i] - row[1 + i]) for (_, y), row in zip(got, want) for i in range(9))
        line(f"scipy {method}, tolerance {tolerance:g}", seconds, f"{off * 1e3:.3f}")
    run = subprocess.run(
        ["go", "test", "-v", "-run", "AgainstTheReference", "-bench", "ReferenceRun", "-cpu", "1", "../../sim"],
        capture_output=True, text=True, check=True,
    ).stdout
    words = run.split()
    model = float(words[words.index("processor-s/run") - 1])
    line("the Go model, steps of 1 s", model, words[words.index("difference") + 1])
    with open("tub_time.md", "w") as f:
        f.write("| 48 h of the reference tub | processor time | times the model's | at most off the reference |\n|---|---:|---:|---:|\n")
        for who, seconds, off in lines:
            f.write(f"| {who} | {seconds:.3f} s | {seconds / model:.0f} | {off} mK |\n")


if __name__ == "__main__":
    if "--time" in sys.argv[1:]:
        compare_times()
    else:
        main()
