"""A post in a channel, from Python: reads a case and the reference beside it, solves for several diameters, compares, and draws.

    python post.py [PICTURE.png]

Needs the module twinplate (pip install ./src/python), matplotlib, and Python 3.11 for its reader of TOML.
"""

import sys
import tomllib
from pathlib import Path

import matplotlib

matplotlib.use("Agg")
import matplotlib.pyplot as plt
import numpy as np
import twinplate as tp

HERE = Path(__file__).resolve().parent.parent / "circle_in_channel"
SHOWN = 0.5


def references():
    """Diameters over the width, and the added lengths that the rows of images give."""
    rows = tomllib.loads((HERE / "expected.toml").read_text())["row"]
    return {row["with"][0]: float(row["reference"]) for row in rows if row.get("at") == "added length"}


def solved(diameter):
    """The case with a post of that diameter."""
    case = tomllib.loads((HERE / "channel.toml").read_text())
    case["obstacle"][0]["circle"]["diameter"] = diameter
    return tp.solve(case, error=3e-4)


def added_length(shape, length):
    """Bounds of the added length over the width of 1, widened by the outline allowance: dL/W = 1/S - L/W."""
    allowance = shape.outline_allowance
    return np.array([1 / (shape.upper + allowance), 1 / shape.value, 1 / (shape.lower - allowance)]) - length


def main(picture):
    exact = references()
    runs = {diameter: solved(diameter) for diameter in exact}
    found = {d: added_length(run.shape_factor, run.report["cell"]["length_m"]) for d, run in runs.items()}
    missed = 0
    print("D/W   reference    bounds of the added length over W")
    for diameter, reference in exact.items():
        low, _, high = found[diameter]
        holds = low <= reference <= high
        missed += not holds
        print(f"{diameter:<4}  {reference:.9f}  {low:.6f} to {high:.6f}  {'holds' if holds else 'DOES NOT HOLD'}")

    figure, (cell, chart) = plt.subplots(1, 2, figsize=(11, 3.6), width_ratios=[2, 1], layout="constrained")
    run = runs[SHOWN]
    points, triangles = run.mesh
    speed = cell.tripcolor(points[:, 0], points[:, 1], triangles, run.fields["speed_ratio"], shading="gouraud", cmap="Blues")
    for line in run.streaklines:
        cell.plot(line.points[:, 0], line.points[:, 1], color="black", linewidth=0.6)
    figure.colorbar(speed, ax=cell, label="speed over the mean speed U", shrink=0.9)
    cell.set(aspect="equal", xlabel="x, m", ylabel="y, m", title=f"Post of D/W = {SHOWN} in a channel")

    diameters = np.array(list(exact))
    middle = np.array([found[d] for d in diameters])
    reference = np.array(list(exact.values()))
    off = 100 * (middle.T - reference) / reference
    chart.axhline(0, color="grey", linewidth=1, label="rows of images")
    bars = [off[1] - off[0], off[2] - off[1]]
    chart.errorbar(diameters, off[1], bars, fmt="o", markersize=4, capsize=4, color="black", label="solved, with bounds")
    chart.set(xlabel="D/W", ylabel="added length, off the reference by, %", title="Against the reference")
    chart.legend(frameon=False)
    figure.savefig(picture, dpi=110)
    return 1 if missed else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1] if len(sys.argv) > 1 else "post.png"))
