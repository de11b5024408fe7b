#!/usr/bin/env python3
"""Draws seal.csv, seal.svg and seal.dxf: a seal with its head up, nose towards the inlet, from discs along a few lines.

Origin: drawn for the museum's open day; invented data.

    python3 -m venv /tmp/draw && /tmp/draw/bin/pip install numpy scipy shapely matplotlib ezdxf
    /tmp/draw/bin/python meshes/draw_seal.py [preview.png]

The list holds points in units of its own, which the case file scales. The drawings hold the smooth curve through these very
points, 130 mm wide. To change the animal, change the table.
"""
import pathlib
import sys

import ezdxf
import numpy as np
from scipy.interpolate import CubicSpline, PchipInterpolator, make_interp_spline
from shapely.geometry import Point
from shapely.ops import unary_union

# Each part is swept by a disc: x, y of its centre and its radius.
PARTS = {
    "muzzle and head": [(2.6, 23.6, 2.6), (6.5, 24.8, 3.9), (11.2, 26.0, 5.7), (15, 25.2, 5.9)],
    "neck, body and tail": [(13, 25.4, 5.9), (18.5, 21, 6.2), (24, 14.6, 7.8), (31, 8.2, 10.2), (41, 3.6, 11.9),
                            (52, 0.8, 11.9), (64, -1.4, 9.8), (76, -1.8, 6.6), (86, -0.8, 4.0), (94, 1.2, 2.6)],
    "fore flipper": [(37, -2, 3.8), (40.5, -11, 3.9), (47, -18.5, 3.1), (55.5, -23.5, 1.3)],
    "upper hind flipper": [(92, 1.2, 2.2), (99, 4.4, 2.9), (105, 8.8, 2.7), (109.5, 14, 1.2)],
    "lower hind flipper": [(92, 1.0, 2.2), (99.5, 1.2, 2.8), (106.5, -0.6, 2.6), (112, -4, 1.2)],
}
FILLET = 4.2  # radius in concave places
TIP = 0.9  # radius at convex ones
SMOOTHING = 0.8  # width of the average along the outline that takes jumps of curvature out
POINTS = 220
WIDTH = 130  # of the drawings, mm
ORIGIN = "Origin: drawn for the museum's open day; invented data. Made by draw_seal.py."


def swept(table):
    x, y, r = np.array(table, float).T
    t = np.concatenate([[0], np.cumsum(np.hypot(np.diff(x), np.diff(y)))])
    s = np.linspace(0, t[-1], 400)
    line = make_interp_spline(t, np.stack([x, y], 1), k=3)(s)
    return unary_union([Point(p).buffer(r, 64) for p, r in zip(line, PchipInterpolator(t, r)(s))])


def silhouette():
    whole = unary_union([swept(table) for table in PARTS.values()])
    return whole.buffer(FILLET, 64).buffer(-FILLET - TIP, 64).buffer(TIP, 64)


def spaced(ring, n):
    """n points along a closed line, denser where it bends."""
    dense = 8000
    z = np.array([complex(*ring.interpolate(v).coords[0]) for v in np.arange(dense) * ring.length / dense])
    frequency = np.fft.fftfreq(dense, ring.length / dense)
    z = np.fft.ifft(np.fft.fft(z) * np.exp(-0.5 * (2 * np.pi * frequency * SMOOTHING) ** 2))
    step = np.roll(z, -1) - z
    bend = np.abs(np.angle(np.roll(step, -1) / step)) / np.abs(step)
    near = np.exp(-0.5 * (np.arange(-240, 241) / 80) ** 2)
    bend = np.convolve(np.concatenate([bend[-240:], bend, bend[:240]]), near / near.sum(), "valid")
    weight = np.cumsum(0.3 + bend ** 0.5)
    z = z[np.searchsorted(weight, np.arange(n) * weight[-1] / n)]
    return np.stack([z.real, z.imag], 1)


def chords(points):
    """The points with the first repeated, and their distances summed up."""
    ring = np.concatenate([points, points[:1]])
    return ring, np.concatenate([[0], np.cumsum(np.hypot(*np.diff(ring, axis=0).T))])


def draw(points, folder):
    """Writes the closed cubic spline through the points, whose parameter grows with their distance, as SVG and as DXF."""
    ring, t = chords(points)
    extent = [np.sort(line(line.derivative().roots(extrapolate=False)))[[0, -1]]
              for line in (CubicSpline(t, ring[:, k], bc_type="periodic") for k in (0, 1))]
    low = np.array([extent[0][0], extent[1][0]])
    scale = WIDTH / np.ptp(extent[0])
    height = scale * np.ptp(extent[1])
    ring, t = chords(scale * (points - low))
    slope = CubicSpline(t, ring, bc_type="periodic")(t, 1)
    third = np.diff(t)[:, None] / 3
    pen = lambda p: f"{p[0]:.11f} {height - p[1]:.11f}"
    pieces = zip(ring[:-1] + third * slope[:-1], ring[1:] - third * slope[1:], ring[1:])
    path = "\n".join([f"M{pen(ring[0])}"] + ["C" + ", ".join(map(pen, piece)) for piece in pieces])
    (folder / "seal.svg").write_text(
        f'<!-- {ORIGIN} -->\n'
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{WIDTH}mm" height="{height:.11f}mm" '
        f'viewBox="0 0 {WIDTH} {height:.11f}">\n<path id="seal" fill="#345" d="{path}z"/>\n</svg>\n')
    drawing = ezdxf.new("R2000", units=ezdxf.units.MM)
    spline = make_interp_spline(t, ring, k=3, bc_type="periodic")
    entity = drawing.modelspace().add_spline(dxfattribs={"layer": "seal", "degree": 3})
    entity.control_points = [(*map(float, point), 0) for point in spline.c]
    entity.knots = spline.t.tolist()
    drawing.saveas(folder / "seal.dxf")
    text = (folder / "seal.dxf").read_text()
    (folder / "seal.dxf").write_text(f"999\n{ORIGIN}\n{text}")


def main():
    folder = pathlib.Path(__file__).parent
    points = spaced(silhouette().exterior.reverse(), POINTS)
    rows = [f"{x:.4f},{y:.4f}" for x, y in points]
    (folder / "seal.csv").write_text(f"# {ORIGIN}\nx,y\n" + "\n".join(rows) + "\n")
    draw(np.array([row.split(",") for row in rows], float), folder)
    if len(sys.argv) > 1:
        from matplotlib.figure import Figure

        figure = Figure(figsize=(11, 5))
        axes = figure.add_subplot(aspect="equal")
        axes.fill(*points.T, color="#345")
        axes.plot(*points.T, ".", color="#e70", markersize=3)
        figure.savefig(sys.argv[1], dpi=110)


if __name__ == "__main__":
    main()
