#!/usr/bin/env python3
"""Compares twinplate's inertia with the flow past a post in three dimensions that post.py has solved.

    python3 compare_post.py --program twinplate [--check] [--write]

Prints the meshes of post_GAP.csv and meshes_GAP.csv and, per gap, Re* and layer, how far the program's change of the velocity by
inertia is off, in per cent of the change in three dimensions. --check repeats it in a cell of half the width and with four times
the triangles. --write puts the tables into README.md and draws departure_post.svg.
"""
import argparse
import csv
import json
import os
import pathlib
import subprocess
import sys
import tempfile

import scratch

if __name__ == "__main__":
    scratch.enter()

import numpy as np

from post import LAYERS, REYNOLDS, STRAIGHT_EDGE, ring

HERE = pathlib.Path(__file__).resolve().parent
GAPS = (0.1, 0.2)
RADIUS = 0.01  # m; only ratios matter
ANGLES = (np.arange(24) + 0.5) * np.pi / 24  # of one half, the other mirrors it; squares of modes up to 23 are summed exactly
NAMES = {"mean": "in the gap mean", "middle": "at mid-gap", "plate": "near the plates"}
PROFILES = {"mean": 0.0, "middle": -1 / 28, "plate": 4 / 35}  # g over the parabola at zeta = 0 and 1
KEYS = {"mean": "mean", "middle": "midplane", "plate": "near_plate"}
# head of the column, options of `solve` besides --inertia, keys of [inertia]; one more prediction is one more row
PREDICTIONS = (
    ("first, without next term", ["--order", "1"], "next_edge_term = false"),
    ("first", ["--order", "1"], ""),
    ("second, without next term", ["--order", "2"], "next_edge_term = false"),
    ("second", ["--order", "2"], ""),
    ("closure", ["--closure"], ""),
)
DRAWN = {"first": ("#d08000", ' stroke-dasharray="8 4"'), "second": ("#1f4e9c", ""), "closure": ("#5f8f4f", ' stroke-dasharray="2 3"')}
WORDS = {"dipole": "dipole of Stokes flow over a^2", "edge_inertia": "first coefficient of Re* over that of C1"}


def read_post(gap):
    """{Re*: array of layer, component, mode, radius}, Re* = 0 among them."""
    with open(HERE / f"post_{gap}.csv", newline="") as file:
        _, *rows = csv.reader(file)
    found = {}
    for reynolds, mode, _, *values in rows:
        found.setdefault(float(reynolds), {}).setdefault(int(mode), []).append([float(v) for v in values])
    shaped = lambda modes: np.array([modes[m] for m in sorted(modes)]).reshape(len(modes), -1, len(LAYERS), 2).transpose(2, 3, 0, 1)
    return {reynolds: shaped(modes) for reynolds, modes in found.items()}


def in_space(modes):
    """Layer x radius x angle of the velocity, x + iy, from its modes."""
    m = np.arange(modes.shape[2])
    cos, sin = np.cos(np.outer(m, ANGLES)), np.sin(np.outer(m, ANGLES))
    r, t = np.einsum("lmr,mk->lrk", modes[:, 0], cos), np.einsum("lmr,mk->lrk", modes[:, 1], sin)
    return (r + 1j * t) * np.exp(1j * ANGLES)


def case(gap, reynolds, keys, width):
    """A cell `width` radii wide and long, the post in the middle, probes on the ring."""
    middle = width * RADIUS / 2
    text = f"""[cell]
length = {width * RADIUS}
width = {width * RADIUS}
gap = {gap * RADIUS}
[fluid]
name = "water"
temperature = "20 degC"
[drive]
reduced_reynolds = {reynolds}
ends = "given-inflow"
[inertia]
{keys}
[[obstacle]]
name = "post"
circle = {{ centre = [{middle}, {middle}], diameter = {2 * RADIUS} }}
"""
    for j, r in enumerate(ring(gap)[0]):
        for k, t in enumerate(ANGLES):
            at = [middle + RADIUS * r * np.cos(t), middle + RADIUS * r * np.sin(t)]
            text += f'[[probe]]\nname = "{j} {k}"\nat = [{at[0]:.12g}, {at[1]:.12g}]\n'
    return text


def predicted(given, gap, reynolds, options, keys):
    """The change by inertia that the program predicts: its velocity with inertia less the ideal one. Layer x radius x angle."""
    with tempfile.TemporaryDirectory() as folder:
        path = pathlib.Path(folder) / "post.toml"
        path.write_text(case(gap, reynolds, keys, given.width))
        command = [given.program, "solve", str(path), "--inertia", *options, "--triangles", str(given.triangles), "--threads", "1",
                   "--json", "-o", folder + "/out"]
        report = json.loads(subprocess.run(command, check=True, capture_output=True, text=True).stdout)
    read = lambda probes, key: np.array([p[key + "speed_ratio"] * np.exp(1j * np.radians(p[key + "angle_deg"])) for p in probes])
    ideal = read(report["probes"], "")
    layers = [read(report["inertia"]["probes"], KEYS[layer] + "_") - ideal for layer in LAYERS]
    if "closure" in report:  # it has a gap mean, about which the layers part as in the series
        probes = report["closure"]["probes"]
        layers = [read(probes, "") - read(probes, "slow_") + layer - layers[0] for layer in layers]
    return np.array(layers).reshape(len(LAYERS), -1, len(ANGLES))


def rms(values, weights):
    return np.sqrt(weights @ (np.abs(values) ** 2).mean(-1))


def compare(given, wanted=PREDICTIONS):
    """{(gap, Re*): (change in space, {head: change predicted}, weights)}."""
    found = {}
    for gap in GAPS:
        post = read_post(gap)
        for reynolds in REYNOLDS:
            truth = in_space(post[reynolds] - post[0.0])
            guesses = {head: predicted(given, gap, reynolds, options, keys) for head, options, keys in wanted}
            found[gap, reynolds] = truth, guesses, ring(gap)[1]
    return found


def errors(found):
    """{(gap, layer, Re*, head): per cent}."""
    return {(gap, layer, reynolds, head): 100 * rms((guess - truth)[k], weights) / rms(truth[k], weights)
            for (gap, reynolds), (truth, guesses, weights) in found.items()
            for k, layer in enumerate(LAYERS) for head, guess in guesses.items()}


def comparison_table(found):
    off, heads = errors(found), [head for head, *_ in PREDICTIONS]
    lines = ["| b/a | layer | Re* | change, % of U | " + " | ".join(f"{head}, %" for head in heads) + " |",
             "|---" * (4 + len(heads)) + "|"]
    for gap in GAPS:
        for k, layer in enumerate(LAYERS):
            for reynolds in REYNOLDS:
                truth, _, weights = found[gap, reynolds]
                values = " | ".join(f"{off[gap, layer, reynolds, head]:.1f}" for head in heads)
                lines.append(f"| {gap} | {NAMES[layer]} | {reynolds} | {100 * rms(truth[k], weights):.4f} | {values} |")
    return "\n".join(lines)


def extrapolated(gap):
    """{quantity: (values of the last three meshes, observed order, value extrapolated at order two, the same without the last)}."""
    with open(HERE / f"meshes_{gap}.csv", newline="") as file:
        (_, *cells), *rows = csv.reader(file)
    a, b, c = (int(n) for n in cells[-3:])
    finer = lambda one, two, m, n: two + (two - one) / ((n / m) ** 2 - 1)
    found = {}
    for name, *values in rows:
        x, y, z = (float(v) for v in values[-3:])
        found[name] = (x, y, z), np.log((x - y) / (y - z)) / np.log(c / b), finer(y, z, b, c), finer(x, y, a, b)
    return (a, b, c), found


def cause_table():
    """First order by hand in an unbounded plane against the coefficient of Re* in three dimensions: what it is off by with the dipole
    of N = (V.grad) V and the first coefficient of the ideal pattern and of C1, and with those in three dimensions."""
    lines = ["| b/a | dipole of N | first coefficient | " + " | ".join(f"{NAMES[layer]}, %" for layer in LAYERS) + " |",
             "|---" * 6 + "|"]
    low, high = sorted(REYNOLDS)[:2]
    for gap in GAPS:
        post, (radii, weights), (_, found) = read_post(gap), ring(gap), extrapolated(gap)
        slope = {reynolds: in_space(post[reynolds] - post[0.0]) / reynolds for reynolds in (low, high)}
        truth = (high * slope[low] - low * slope[high]) / (high - low)
        z = radii[:, None] * np.exp(1j * ANGLES)
        for dipole, of_dipole in ((1.0, "ideal"), (found["dipole"][2], "Stokes")):
            carried = np.conj(2 * dipole / z ** 3) * (1 - dipole / z ** 2)
            for factor, of_factor in ((1.0, "C1"), (found["edge_inertia"][2], "three dimensions")):
                mean = -8 * factor * STRAIGHT_EDGE * gap / np.conj(z) ** 3
                off = [rms(mean + PROFILES[layer] * carried / 2 - change, weights) / rms(change, weights)
                       for layer, change in zip(LAYERS, truth)]
                lines.append(f"| {gap} | {of_dipole} | {of_factor} | " + " | ".join(f"{100 * v:.1f}" for v in off) + " |")
    return "\n".join(lines)


def mesh_table():
    lines = []
    for gap in GAPS:
        cells, found = extrapolated(gap)
        if not lines:
            lines = ["| b/a | quantity | " + " | ".join(f"{n} cells" for n in cells) + " | order | extrapolated | error |",
                     "|---" * 8 + "|"]
        for name, (values, order, best, before) in found.items():
            layer, _, reynolds = name.partition(" ")
            if reynolds and float(reynolds) not in (min(REYNOLDS), max(REYNOLDS)):
                continue
            scale, name = (100, f"change {NAMES[layer]} at Re* {reynolds}, % of U") if reynolds else (1, WORDS[name])
            row = [f"{scale * v:.6f}" for v in values]
            row += [f"{order:.2f}", f"{scale * best:.6f}", f"{scale * abs(best - before):.0e}"]
            lines.append(f"| {gap} | {name} | " + " | ".join(row) + " |")
    return "\n".join(lines)


class Panel:
    """One diagram of the figure: Re* along, per cent up."""

    WIDE, HIGH, ENDS = 300, 200, 0.65

    def __init__(self, x, y, most, step, title, label):
        self.parts, self.place, self.most = [], (x, y), most
        x1, y1 = x + self.WIDE, y + self.HIGH
        self.add(f'<rect x="{x}" y="{y}" width="{self.WIDE}" height="{self.HIGH}" fill="none" stroke="black"/>')
        self.text((x + x1) / 2, y - 10, title, "middle")
        self.text((x + x1) / 2, y1 + 38, "Re* = U b\u00b2/(\u03bd 2a)", "middle")
        self.text(x - 38, (y + y1) / 2, label, "middle", f'transform="rotate(-90 {x - 38} {(y + y1) / 2})"')
        for reynolds in np.arange(0, self.ENDS, 0.1):
            at, _ = self.at(reynolds, 0)
            self.add(f'<path d="M{at:.1f} {y1}v5" stroke="black"/>')
            self.text(at, y1 + 19, f"{reynolds:.1f}", "middle")
        for value in np.arange(0, most + step / 2, step):
            _, at = self.at(0, value)
            self.add(f'<path d="M{x} {at:.1f}h-5" stroke="black"/>')
            self.text(x - 8, at + 4, f"{value:.3g}", "end")

    def add(self, part):
        self.parts.append(part)

    def text(self, x, y, words, anchor="start", more=""):
        self.add(f'<text x="{x:.1f}" y="{y:.1f}" text-anchor="{anchor}" {more}>{words}</text>')

    def at(self, reynolds, value):
        x, y = self.place
        return x + self.WIDE * reynolds / self.ENDS, y + self.HIGH * (1 - value / self.most)

    def line(self, reynolds, values, style):
        points = [self.at(*pair) for pair in zip(reynolds, values)]
        self.add('<path d="M' + "L".join(f"{x:.1f} {y:.1f}" for x, y in points) + f'" fill="none" {style}/>')

    def dots(self, reynolds, values, fill):
        for x, y in (self.at(*pair) for pair in zip(reynolds, values)):
            self.add(f'<circle cx="{x:.1f}" cy="{y:.1f}" r="4" fill="{fill}"/>')


def figure(found):
    """departure_post.svg: above the change of the gap mean, below what the program is off by."""
    styles = {head: f'stroke="{colour}" stroke-width="2"' + dash for head, (colour, dash) in DRAWN.items()}
    off, panels = errors(found), []
    for column, gap in enumerate(GAPS):
        left = 65 + 375 * column
        change = Panel(left, 35, 0.4, 0.1, f"b/a = {gap}", "change, % of U")
        rest = Panel(left, 310, 30, 10, "", "off by, % of the change")
        last = max(REYNOLDS)
        _, guesses, weights = found[gap, last]
        first, second = (guesses[head][0] for head in ("first", "second"))
        along = np.linspace(0, last, 31)
        for head, (colour, _) in DRAWN.items():
            if head == "closure":
                change.line(REYNOLDS, [100 * rms(found[gap, reynolds][1][head][0], weights) for reynolds in REYNOLDS], styles[head])
            else:  # terms of the series grow as powers of Re*
                terms = [first * s + (head == "second") * (second - first) * s ** 2 for s in along / last]
                change.line(along, [100 * rms(term, weights) for term in terms], styles[head])
            own = [off[gap, "mean", reynolds, head] for reynolds in REYNOLDS]
            rest.line(REYNOLDS, own, styles[head])
            rest.dots(REYNOLDS, own, colour)
        change.dots(REYNOLDS, [100 * rms(found[gap, reynolds][0][0], weights) for reynolds in REYNOLDS], "black")
        panels += [change, rest]
    key = panels[0]
    key.add('<circle cx="85" cy="576" r="4" fill="black"/>')
    key.text(98, 580, "three dimensions")
    for n, head in enumerate(DRAWN):
        key.add(f'<path d="M{235 + 165 * n} 576h40" {styles[head]}/>')
        key.text(283 + 165 * n, 580, head if head == "closure" else f"{head} order")
    parts = ['<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 760 600" font-family="sans-serif" font-size="13">',
             '<rect width="760" height="600" fill="white"/>', *(part for panel in panels for part in panel.parts), "</svg>\n"]
    (HERE / "departure_post.svg").write_text("\n".join(parts))


def replaced(text, mark, table):
    head, _, rest = text.partition(f"<!-- {mark} -->")
    return f"{head}<!-- {mark} -->\n{table}\n<!-- end of {mark} -->" + rest.partition(f"<!-- end of {mark} -->")[2]


def main():
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--program", default=os.environ.get("TWINPLATE", str(HERE.parents[1] / "target/release/twinplate")))
    parser.add_argument("--width", type=float, default=120.0, help="of the cell, in radii of the post")
    parser.add_argument("--triangles", type=int, default=160000)
    parser.add_argument("--check", action="store_true", help="how much the cell's width and the triangles matter")
    parser.add_argument("--write", action="store_true", help="write the tables of README.md and departure_post.svg")
    given = parser.parse_args()
    meshes, cause = mesh_table(), cause_table()
    print(meshes + "\n\n" + cause)
    found = compare(given)
    table = comparison_table(found)
    print("\n" + table)
    if given.check:
        own = errors(found)
        for what, other in (("half the width", {"width": given.width / 2}),
                            ("four times the triangles", {"triangles": 4 * given.triangles})):
            others = errors(compare(argparse.Namespace(**vars(given) | other)))
            print(f"{what}: largest change of a per cent {max(abs(others[key] - own[key]) for key in own):.2f}", flush=True)
    if given.write:
        readme = HERE / "README.md"
        text = readme.read_text()
        for mark, lines in (("meshes", meshes), ("table", table), ("cause", cause)):
            text = replaced(text, mark, lines)
        readme.write_text(text)
        figure(found)


if __name__ == "__main__":
    sys.exit(main())
