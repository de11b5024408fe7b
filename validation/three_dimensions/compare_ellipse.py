#!/usr/bin/env python3
"""Prints how far the program's inertia is off the three-dimensional runs of ellipse.py, in per cent of the change.

    venv/bin/python compare_ellipse.py --program PATH ellipses/A.csv ..           the program, without and with its next edge term
    venv/bin/python compare_ellipse.py --program PATH --closed ellipses/A.csv ..  its V1 against a closed form
    venv/bin/python compare_ellipse.py --runs ellipses/A.csv ..                   runs among one another

Change = velocity at Re* less that of Stokes flow; of the program, its inertia probes less its ideal ones. Error = rms of the
difference of the vectors over rms of the three-dimensional change, by area over the ring of the CSV file. In brackets, of
coefficients: how many times the three-dimensional one the program's is, at its best fit.
"""
import argparse
import csv
import functools
import json
import pathlib
import re
import subprocess
import tempfile

import numpy as np

ANGLES = {"along": 0.0, "oblique": 30.0, "across": 90.0}
LONG, SHORT = 4 / 3, 2 / 3
SIDE = 80.0  # of the channel, in a: its walls change speeds by a thousandth
SMALL, LESS = 1e-3, 1e-2  # Re* at which the first and the second coefficient are taken
# of the program: the leading edge term, by how many gaps outlines act as if moved out, the next term
C1, MOVED, FIT = 0.05208015, 0.31512444, (3 * -0.0363006646, -0.0363006646, 0.9)
CASE = """
[cell]
length = {side}
width = {side}
gap = {gap}
[fluid]
density = 1.0
viscosity = 1.0
[drive]
reduced_reynolds = {re}
ends = "given-inflow"
[mesh]
error = {error}
[inertia]
next_edge_term = {next}
[[obstacle]]
ellipse = {{ centre = [{half}, {half}], semi_axes = [1.3333333333333333, 0.6666666666666667], angle = {angle} }}
"""


class Run:
    """A CSV file."""

    def __init__(self, path):
        self.name = path.stem
        self.case, gap = re.match(r"(\w+?)_b([\d.]+)_", path.name).groups()
        self.gap, self.turn = float(gap), np.radians(ANGLES[self.case])
        with path.open() as file:
            rows = list(csv.DictReader(file))
        self.columns = {k: np.array([float(row[k]) for row in rows]) for k in rows[0]}
        self.z = self.columns["x"] + 1j * self.columns["y"]
        self.area = self.columns["area"]

    def quantities(self):
        return [k.removesuffix("_mx") for k in self.columns if k.endswith("_mx") and k != "u0_mx"]

    def field(self, name):
        """Gap mean and mid-gap of a quantity."""
        return [np.column_stack([self.columns[f"{name}_{k}{d}"] for d in "xy"]) for k in "mc"]

    def error(self, found, true):
        """Per cent, as vectors."""
        return 100 * np.sqrt((self.area @ ((found - true) ** 2).sum(1)) / (self.area @ (true ** 2).sum(1)))

    def times(self, found, true):
        """The factor with which the true field comes nearest to what was found."""
        return (self.area @ (found * true).sum(1)) / (self.area @ (true ** 2).sum(1))

    def extent(self):
        """L, across the stream."""
        return 2 * np.hypot(LONG * np.sin(self.turn), SHORT * np.cos(self.turn))

    def edge(self):
        """Of the outline, at 1024 parameters t: ds/dt and the ideal speed along it."""
        t = 2 * np.pi * np.arange(1024) / 1024
        stretch = np.hypot(LONG * np.sin(t), SHORT * np.cos(t))
        return stretch, -(LONG + SHORT) * np.sin(t + self.turn) / stretch

    def edge_number(self, reynolds):
        """b^2 max |dV_s/ds|/nu, by which the program tells how far its series goes."""
        stretch, speed = self.edge()
        return reynolds * self.extent() * np.abs(along(speed, stretch)).max()


class Program:
    def __init__(self, path, mesh_error):
        self.path, self.mesh_error = path, mesh_error

    @functools.cache
    def change(self, run, reynolds, order, with_next):
        """Change at the points of a run, gap mean and mid-gap."""
        text = CASE.format(side=SIDE, half=SIDE / 2, gap=run.gap, re=reynolds, angle=ANGLES[run.case], error=self.mesh_error,
                           next=str(with_next).lower())
        for k, z in enumerate(run.z + (1 + 1j) * SIDE / 2):
            text += f'[[probe]]\nname = "{k}"\nat = [{float(z.real)!r}, {float(z.imag)!r}]\n'
        with tempfile.TemporaryDirectory() as folder:
            file = pathlib.Path(folder) / "case.toml"
            file.write_text(text)
            options = ["--inertia", "--order", str(order), "--json", "-q", "--threads", "1", "-o", f"{folder}/out"]
            made = subprocess.run([self.path, "solve", file, *options], capture_output=True, text=True, check=True)
        report = json.loads(made.stdout)

        def vectors(probes, name):
            speed, angle = (np.array([p[name + k] for p in probes]) for k in ("speed_ratio", "angle_deg"))
            return np.column_stack([speed * np.cos(np.radians(angle)), speed * np.sin(np.radians(angle))])
        ideal, moved = vectors(report["probes"], ""), report["inertia"]["probes"]
        # the mid-gap speed is over 3U/2
        return vectors(moved, "mean_") - ideal, 1.5 * (vectors(moved, "midplane_") - ideal)

    def quantity(self, run, name, order, with_next):
        """What the program has for a quantity of a run at an order; nothing where it has none."""
        if name.startswith("re"):
            return self.change(run, float(name[2:]), order, with_next)
        if name == "u1" == f"u{order}":
            return [change / SMALL for change in self.change(run, SMALL, 1, with_next)]
        if name == "u2" == f"u{order}":
            both, first = (self.change(run, LESS, n, with_next) for n in (2, 1))
            return [(b - f) / LESS ** 2 for b, f in zip(both, first)]
        return None


def against_program(runs, program):
    print("| post | b/a | Re* | edge number | order | gap mean, without | with next term | mid-gap, without | with next term |")
    print("|---|---|---|---|---|---|---|---|---|")
    for run in runs:
        for name in run.quantities():
            finite = name.startswith("re")
            label = f"{name[2:]} | {run.edge_number(float(name[2:])):.2f}" if finite else f"coefficient of Re*^{name[1:]} |"
            for order in (1, 2):
                cells = []
                for k, true in enumerate(run.field(name)):
                    for with_next in (False, True):
                        if found := program.quantity(run, name, order, with_next):
                            times = "" if finite else f" ({run.times(found[k], true):.2f})"
                            cells.append(f"{run.error(found[k], true):.1f}{times}")
                if cells:
                    print(f"| {run.case} | {run.gap} | {label} | {order} | " + " | ".join(cells) + " |", flush=True)


def along(f, stretch):
    """df/ds of values round the outline."""
    waves = np.fft.fftfreq(len(f), 1 / len(f))
    return np.fft.ifft(1j * waves * np.fft.fft(f)).real / stretch


def inwards(f, stretch):
    """Derivative towards the solid of the harmonic function outside that has these values on the outline."""
    waves = np.abs(np.fft.fftfreq(len(f), 1 / len(f)))
    return np.fft.ifft(waves * np.fft.fft(f)).real / stretch


def averaged(bend, stretch, width):
    """Mean over a length of the outline about each point."""
    step = stretch * 2 * np.pi / len(stretch)
    s, turned = (np.concatenate([[0], np.cumsum(f)]) for f in (step, bend * step))
    ways, turns = (np.concatenate([f[:-1] - f[-1], f, f[1:] + f[-1]]) for f in (s, turned))
    middle = s[:-1] + step / 2
    return (np.interp(middle + width / 2, ways, turns) - np.interp(middle - width / 2, ways, turns)) / width


def closed_form(run, with_next, window):
    """V1 in the gap mean over Re*: its stream function on the outline is -Q1, the flux along the edge; outside, a Fourier series.

    The curvature is averaged over so many gaps; 0 takes its own value.
    """
    stretch, speed = run.edge()
    over_nu = run.extent() / run.gap ** 2
    leading = C1 * over_nu * run.gap ** 3 * speed * along(speed, stretch)
    flux = leading
    if with_next:
        bend = LONG * SHORT / stretch ** 3
        if window:
            bend = averaged(bend, stretch, window * run.gap)
        a1, a2, weaker = FIT
        more = a1 * bend * speed * along(speed, stretch) + a2 * along(bend, stretch) * speed ** 2
        moved = inwards(MOVED * run.gap * speed, stretch)  # what the edge layer adds to the speed
        flux = (leading + MOVED * run.gap * inwards(leading, stretch) + C1 * over_nu * run.gap ** 3 * along(speed * moved, stretch)
                + over_nu * run.gap ** 4 * more / (1 + weaker * bend * run.gap))
    focus, start, k = np.sqrt(LONG ** 2 - SHORT ** 2), np.arctanh(SHORT / LONG), np.arange(1, 200)
    w = np.arccosh(run.z * np.exp(-1j * run.turn) / focus)
    part = -2 * np.conj(np.fft.fft(flux)[k] / len(flux))
    slope = (-k * part * np.exp(-k * (w[:, None] - start))).sum(1) / (focus * np.sinh(w)) * np.exp(-1j * run.turn)
    return np.column_stack([-slope.imag, -slope.real])


def against_closed_form(runs, program):
    print("| post | b/a | next term | closed form off 3-D | program off 3-D | program off closed form |")
    print("|---|---|---|---|---|---|")
    for run in runs:
        true = run.field("u1")[0]
        for with_next, window in ((False, 0), (True, 0), (True, 1), (True, 2)):
            exact, made = closed_form(run, with_next, window), program.quantity(run, "u1", 1, with_next)[0]
            label = ("curvature itself" if window == 0 else f"curvature over {window} b") if with_next else "none"
            cells = [run.error(exact, true), run.error(made, true), run.error(made, exact)]
            print(f"| {run.case} | {run.gap} | {label} | " + " | ".join(f"{c:.1f}" for c in cells) + " |", flush=True)


def between_runs(runs):
    """What each run differs by from the first of the same case and gap, in per cent of the rms."""
    print("| run | gap mean and mid-gap of each quantity |")
    print("|---|---|")
    first = {}
    for run in runs:
        best = first.setdefault((run.case, run.gap), run)
        if run is not best:
            names = [n for n in ["u0", *run.quantities()] if n in ["u0", *best.quantities()]]
            cells = [f"{n} " + "/".join(f"{run.error(a, b):.2f}" for a, b in zip(run.field(n), best.field(n))) for n in names]
            print(f"| {run.name} | {', '.join(cells)} |")


def main():
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--program", default="twinplate")
    parser.add_argument("--error", type=float, default=1e-7, help="of the program's mesh")
    parser.add_argument("--closed", action="store_true", help="the first coefficient of the gap mean against a closed form")
    parser.add_argument("--runs", action="store_true", help="each file against the first of the same post and gap")
    parser.add_argument("files", nargs="+", type=pathlib.Path)
    given = parser.parse_args()
    runs = [Run(path) for path in given.files]
    if given.runs:
        between_runs(runs)
    elif given.closed:
        against_closed_form(runs, Program(given.program, given.error))
    else:
        against_program(runs, Program(given.program, given.error))


if __name__ == "__main__":
    main()
