#!/usr/bin/env python3
"""Can a picture be trusted that was taken at an obstacle Reynolds number of ten? A post, three gaps, speeds over three decades.

    python3 trust.py --program twinplate [--write]

Prints the table. --write puts it into README.md and draws trust.svg. Needs nothing but Python.
"""
import argparse
import json
import math
import os
import pathlib
import subprocess
import sys
import tempfile

HERE = pathlib.Path(__file__).resolve().parent
DIAMETER = 40.0  # mm, the L of Re_L
PARTS = (100, 40, 10)  # the gap is L over these
REYNOLDS = [10 ** (k / 10) for k in range(35)] + [3000.0]  # Re_L
ASKED = 10.0
LISTED = (1, 10, 100, 1000)
ERROR = "5e-6"
EDGE_LIMIT, LOCAL_LIMIT, LARGEST = 1.5, 2.0, 0.6  # edge number, local number and Re* from which on the series no longer decides
# key in the sweep, factor to the unit of the picture, unit, tolerance in it, key of the largest
SPEED = ("speed_q99", 100.0, "%", 2.0, "speed_max")
DIRECTION = ("direction_q99_deg", 1.0, "deg", 1.0, "direction_max_deg")


def case(part, height):
    """The drive only says at which Re* the program gives its edge number; the sweep has speeds of its own."""
    values = ", ".join(repr(reynolds / part ** 2) for reynolds in REYNOLDS)
    return f"""[cell]
length = "400 mm"
width = "240 mm"
gap = "{DIAMETER / part} mm"
[fluid]
name = "water"
temperature = "20 degC"
[drive]
reduced_reynolds = 1
ends = "held-pressure"
[streaklines]
height = {height}
[tolerance]
speed = "{SPEED[3]} %"
direction = "{DIRECTION[3]} deg"
[[obstacle]]
name = "post"
circle = {{ centre = ["200 mm", "120 mm"], diameter = "{DIAMETER} mm" }}
[sweep]
reduced_reynolds = [{values}]
"""


class Gap:
    """What the program says of one gap, dye at mid-gap."""

    def __init__(self, program, part):
        self.part = part
        middle, plates = (self.report(program, height) for height in (0, 0.99))
        self.rows, self.rows_at_plates = middle["sweep"], plates["sweep"]
        numbers = {warning["code"]: warning.get("value") for warning in middle["warnings"]}
        local = numbers.get("inertia_number", LOCAL_LIMIT)  # said if above
        self.ends = min(EDGE_LIMIT / middle["inertia"]["edge_number"], LOCAL_LIMIT / local, LARGEST) * part ** 2  # Re_L; each goes as Re*
        first = [r for row, r in zip(self.rows, REYNOLDS) if row["order_suffices"] == 0]
        if first and first[0] < self.ends:
            sys.exit(f"L/{part}: the program says at Re_L = {first[0]:.0f} already that the series does not decide")
        self.errors = {one["name"]: one for one in middle["departure"]["contributions"]}

    def report(self, program, height):
        with tempfile.TemporaryDirectory() as folder:
            path = pathlib.Path(folder) / "post.toml"
            path.write_text(case(self.part, height))
            command = [program, "departure", str(path), "--error", ERROR, "--json", "-o", folder + "/out"]
            return json.loads(subprocess.run(command, check=True, capture_output=True, text=True).stdout)

    def curve(self, measure, effect="inertia", rows=None):
        return [measure[1] * row["effects"][effect][measure[0]] for row in rows or self.rows]

    def edge(self, measure):
        return self.curve(measure, "edge_layer")[0]

    def at(self, measure, reynolds, **more):
        """On the curve, straight between rows on logarithmic scales."""
        values = self.curve(measure, **more)
        k = max(1, next((k for k, r in enumerate(REYNOLDS) if r >= reynolds), len(REYNOLDS) - 1))
        (x, y), (x0, y0) = (tuple(map(math.log, (REYNOLDS[j], values[j]))) for j in (k, k - 1))
        return math.exp(y0 + (y - y0) * (math.log(reynolds) - x0) / (x - x0))

    def reaches(self, measure, level):
        """Re_L at which inertia alone changes as much; None if beyond the last row."""
        values = self.curve(measure)
        for k in range(1, len(values)):
            if values[k] >= level:
                share = math.log(level / values[k - 1]) / math.log(values[k] / values[k - 1])
                return REYNOLDS[k - 1] * (REYNOLDS[k] / REYNOLDS[k - 1]) ** share
        return None


def two(value):
    """Two digits, without an exponent."""
    digits = max(0, 1 - math.floor(math.log10(value)))
    return f"{round(value, 1 - math.floor(math.log10(value))):.{digits}f}"


def bracketed(gap, reynolds, words):
    """In brackets where the series does not decide."""
    return words if reynolds <= gap.ends else f"({words})"


def crossing(gap, measure, level):
    found = gap.reaches(measure, level)
    return "beyond 3000" if found is None else bracketed(gap, found, two(found))


def table(gaps):
    rows = [("gap, mm", lambda g: f"{DIAMETER / g.part:g}"), ("Re\\* at Re_L = 10", lambda g: f"{ASKED / g.part ** 2:g}"),
            ("series decides up to Re_L", lambda g: two(g.ends) if g.ends < REYNOLDS[-1] else "3000, all")]
    for name, measure in (("speed", SPEED), ("direction", DIRECTION)):
        key, factor, unit, tolerance, most = measure
        largest = (most, factor)
        rows += [(f"**{name}**, {'% of U' if unit == '%' else unit}: edge layer, any speed", lambda g, m=measure: two(g.edge(m)))]
        rows += [(f"{name}: inertia at Re_L = {r}", lambda g, m=measure, r=r: two(g.at(m, r)) if r <= g.ends else "not decided")
                 for r in LISTED]
        rows += [(f"{name}: inertia where the series ends", lambda g, m=measure: two(g.at(m, min(g.ends, REYNOLDS[-1])))),
                 (f"{name}: the same, dye near the plates",
                  lambda g, m=measure: two(g.at(m, min(g.ends, REYNOLDS[-1]), rows=g.rows_at_plates))),
                 (f"{name}: inertia at Re_L = 10, largest", lambda g, m=largest: two(g.at(m, ASKED))),
                 (f"{name}: inertia at Re_L = 10, dye near the plates",
                  lambda g, m=measure: two(g.at(m, ASKED, rows=g.rows_at_plates))),
                 (f"{name}: all but side walls at Re_L = 10", lambda g, m=measure: two(g.at(m, ASKED, effect="all_but_confinement"))),
                 (f"{name}: Re_L where inertia is as large as the edge layer", lambda g, m=measure: crossing(g, m, g.edge(m))),
                 (f"{name}: Re_L where inertia reaches {tolerance:g} {unit}", lambda g, m=measure, t=tolerance: crossing(g, m, t))]
    lines = ["| | " + " | ".join(f"b = L/{g.part}" for g in gaps) + " |", "|---" * (1 + len(gaps)) + "|"]
    return "\n".join(lines + [f"| {head} | " + " | ".join(cell(g) for g in gaps) + " |" for head, cell in rows])


LOOKS = {100: ("#7fb3e6", "circle"), 40: ("#d06a00", "square"), 10: ("#1b1b6b", "triangle")}


class Panel:
    """One diagram: Re_L along, the change up, both logarithmic."""

    WIDE, HIGH = 312, 330
    ALONG, UP = (0.4, 5000.0), (3e-5, 20.0)

    def __init__(self, x, y, title, measure):
        self.place, self.measure = (x, y), measure
        self.parts = [f'<clipPath id="at{x}"><rect x="{x}" y="{y}" width="{self.WIDE}" height="{self.HIGH}"/></clipPath>']
        self.text(x, y - 10, title)
        self.text(x + self.WIDE / 2, y + self.HIGH + 36, "obstacle Reynolds number U L/\u03bd", 'text-anchor="middle"')
        for value in range(0, 4):
            at, _ = self.at(10 ** value, 1)
            self.add(f'<path d="M{at:.1f} {y + self.HIGH}v5" stroke="black"/>')
            self.text(at, y + self.HIGH + 18, f"{10 ** value}", 'text-anchor="middle"')
        for value in range(-4, 2):
            _, at = self.at(1, 10 ** value)
            self.add(f'<path d="M{x} {at:.1f}h-5" stroke="black"/>')
            self.text(x - 8, at + 4, f"{10.0 ** value:.{max(0, -value)}f}", 'text-anchor="end"')

    def add(self, part):
        self.parts.append(part)

    def text(self, x, y, words, more=""):
        self.add(f'<text x="{x:.1f}" y="{y:.1f}" {more}>{words}</text>')

    def at(self, reynolds, value):
        (x, y), share = self.place, lambda v, ends: math.log(v / ends[0]) / math.log(ends[1] / ends[0])
        return x + self.WIDE * share(reynolds, self.ALONG), y + self.HIGH * (1 - share(value, self.UP))

    def line(self, points, style):
        path = "L".join("{:.1f} {:.1f}".format(*self.at(*point)) for point in points)
        self.add(f'<path d="M{path}" fill="none" clip-path="url(#at{self.place[0]})" {style}/>')

    def mark(self, reynolds, value, part, solid):
        (x, y), (colour, kind) = self.at(reynolds, value), LOOKS[part]
        if not self.UP[0] < value < self.UP[1] * 0.9:
            return
        paint = f'fill="{colour if solid else "white"}" stroke="{colour}" stroke-width="1.4"'
        self.add({"circle": f'<circle cx="{x:.1f}" cy="{y:.1f}" r="3.4" {paint}/>',
                  "square": f'<rect x="{x - 3.2:.1f}" y="{y - 3.2:.1f}" width="6.4" height="6.4" {paint}/>',
                  "triangle": f'<path d="M{x:.1f} {y - 4.2:.1f}l4 7h-8z" {paint}/>'}[kind])

    def draw(self, gaps, places):
        _, _, unit, tolerance, _ = self.measure
        along, left = self.ALONG, self.place[0] + 5
        self.line([(ASKED, self.UP[0]), (ASKED, self.UP[1])], 'stroke="#666" stroke-width="0.8"')
        self.line([(along[0], tolerance), (along[1], tolerance)], 'stroke="black" stroke-width="1.3" stroke-dasharray="7 4"')
        self.text(left, self.at(1, tolerance)[1] + places["tolerance"], f"tolerance {tolerance:g} {unit}")
        for gap in gaps:
            colour, _ = LOOKS[gap.part]
            level = gap.edge(self.measure)
            self.line([(along[0], level), (along[1], level)], f'stroke="{colour}" stroke-width="0.9"')
            self.text(left, self.at(1, level)[1] + places[gap.part], f"edge layer L/{gap.part}")
        for gap in gaps:
            colour, _ = LOOKS[gap.part]
            points = list(zip(REYNOLDS, gap.curve(self.measure)))
            inside = [point for point in points if point[0] <= gap.ends]
            beyond = [point for point in points if point[0] > gap.ends]
            if beyond:
                last = (gap.ends, gap.at(self.measure, gap.ends))
                inside, beyond = inside + [last], [last] + beyond
            self.line(inside, f'stroke="{colour}" stroke-width="2.2"')
            if beyond:
                self.line(beyond, f'stroke="{colour}" stroke-width="1.8" stroke-dasharray="1.5 3.5"')
            for k, point in enumerate(points):
                if k % 5 == 0:
                    self.mark(*point, gap.part, point[0] <= gap.ends)
            beside, right, down, more = {40: (60, -6, -6, 'text-anchor="end"')}.get(gap.part, (20, 7, 14, ""))
            x, y = self.at(beside, gap.at(self.measure, beside))
            self.text(x + right, y + down, f"b = L/{gap.part}", more)
        x, y = self.place
        self.text(self.at(ASKED, 1)[0] + 4, y + self.HIGH - 6, 'Re<tspan dy="3" font-size="9">L</tspan><tspan dy="-3"> = 10</tspan>')
        self.add(f'<rect x="{x}" y="{y}" width="{self.WIDE}" height="{self.HIGH}" fill="none" stroke="black"/>')


def figure(gaps):
    below, above = 12, -3
    left = Panel(55, 30, "change of speed by inertia, % of U (99 % of the area)", SPEED)
    left.draw(gaps, {"tolerance": above, 10: above, 40: below, 100: below})
    right = Panel(432, 30, "change of direction by inertia, deg (99 % of the area)", DIRECTION)
    right.draw(gaps, {"tolerance": above, 10: above, 40: below, 100: below})
    parts = ['<svg xmlns="http://www.w3.org/2000/svg" width="175mm" height="98.1mm" viewBox="0 0 760 426" font-family="sans-serif" '
             'font-size="11.5">', '<rect width="760" height="426" fill="white"/>', *left.parts, *right.parts]
    parts += ['<path d="M55 415h34" stroke="black" stroke-width="2.2"/><text x="95" y="419">the series decides</text>',
              '<path d="M235 415h34" stroke="black" stroke-width="1.8" stroke-dasharray="1.5 3.5"/>'
              '<text x="275" y="419">it no longer does (marks hollow)</text>',
              '<path d="M495 415h34" stroke="black" stroke-width="0.9"/><text x="535" y="419">edge layer, the same at any speed</text>']
    (HERE / "trust.svg").write_text("\n".join(parts) + "\n</svg>\n")


def replaced(text, mark, lines):
    head, _, rest = text.partition(f"<!-- {mark} -->")
    return f"{head}<!-- {mark} -->\n{lines}\n<!-- end of {mark} -->" + rest.partition(f"<!-- end of {mark} -->")[2]


def main():
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--program", default=os.environ.get("TWINPLATE", str(HERE.parents[1] / "target/release/twinplate")))
    parser.add_argument("--write", action="store_true", help="write the table of README.md and trust.svg")
    given = parser.parse_args()
    gaps = [Gap(given.program, part) for part in PARTS]
    for gap in gaps:
        edge, inertia = gap.errors["edge_layer"], gap.errors["inertia"]
        print(f"L/{gap.part}: estimated errors: edge layer {100 * edge['speed_error']:.2g} % of U, {edge['direction_error_deg']:.2g} deg; "
              f"inertia at Re* = 1 {100 * inertia['speed_error']:.2g} % of U, {inertia['direction_error_deg']:.2g} deg; "
              f"side walls {gap.curve(SPEED, 'confinement')[0]:.2g} % of U")
    lines = table(gaps)
    print(lines)
    if given.write:
        readme = HERE / "README.md"
        readme.write_text(replaced(readme.read_text(), "table", lines))
        figure(gaps)


if __name__ == "__main__":
    main()
