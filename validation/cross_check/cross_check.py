#!/usr/bin/env python3
"""Solves cases of the museum a second time with scikit-fem, at order two on meshes of its own, and compares.

    python3 validation/cross_check/cross_check.py --program target/release/twinplate [--write]

Shares nothing with twinplate: outlines are built here (spline of scipy), meshed by the `triangle` library, solved with
curved quadratic elements; see README.md. Prints each quantity, the difference to twinplate and both error estimates; exit code 1
if a difference is larger than their sum. --write freezes the figures in expected.toml and the table in README.md. Makes its
own scratch environment in the folder for temporary files.
"""
import argparse
import datetime
import json
import os
import pathlib
import subprocess
import sys
import tempfile
import tomllib

HERE = pathlib.Path(__file__).resolve().parent
MESHES = HERE.parents[1] / "meshes"
SCRATCH = pathlib.Path(tempfile.gettempdir()) / "twinplate_validation_cross_check"
PACKAGES = ["numpy==2.4.6", "scipy==1.17.1", "triangle==20250106", "scikit-fem==12.0.2"]
CASES = ("two_piers", "seal", "lens_caisson")
HEAD = """# Written by cross_check.py: the cases solved with another code.

title = "Cases of the museum solved a second time"
source = "scikit-fem, curved quadratic triangles"
kind = "computed"
estimate = "half the bracket and the outline allowance; at probes the change, as a vector, from a bracket ten times as wide"

"""


def enter_scratch_environment():
    python = SCRATCH / "bin" / "python"
    if pathlib.Path(sys.prefix) != SCRATCH:
        if not python.exists():
            subprocess.run([sys.executable, "-m", "venv", str(SCRATCH)], check=True)
        subprocess.run([str(python), "-m", "pip", "install", "-q", "--disable-pip-version-check", *PACKAGES], check=True)
        os.execv(python, [str(python), *sys.argv])


def metres(value):
    return float(value.removesuffix("mm")) * 1e-3 if isinstance(value, str) else float(value)


def outline(obstacle):
    """(closed curve over [0, 1) as an array function, parameters every mesh has as vertices, sharp corners)."""
    import numpy as np
    from scipy.interpolate import CubicSpline, make_interp_spline
    if circle := obstacle.get("circle"):
        centre, r = [metres(v) for v in circle["centre"]], metres(circle["diameter"]) / 2
        return (lambda t: np.c_[centre[0] + r * np.cos(2 * np.pi * t), centre[1] + r * np.sin(2 * np.pi * t)],
                np.arange(100) / 100, [])
    o = obstacle["outline"]
    rows = (MESHES / o["file"]).read_text().splitlines()
    points = np.array([[float(v) for v in row.split(",")] for row in rows if row[0] not in "#x"])
    closed = np.vstack([points, points[:1]])
    s = np.concatenate([[0], np.cumsum(np.hypot(*np.diff(closed, axis=0).T))])  # spline over the length of its chords
    s /= s[-1]
    raw = CubicSpline(s, closed, bc_type="periodic") if o["smooth"] else make_interp_spline(s, closed, k=1)
    dense = raw(np.concatenate([s, np.linspace(0, 1, 1_000_001)]))
    low, high = dense.min(0), dense.max(0)
    scale, turn = metres(o["width"]) / (high - low)[0], np.radians(o["angle"])
    turning = np.array([[np.cos(turn), -np.sin(turn)], [np.sin(turn), np.cos(turn)]])
    centre = np.array([metres(v) for v in o["centre"]])

    def curve(t):
        return (raw(t) - (low + high) / 2) * scale @ turning.T + centre
    side = np.diff(closed, axis=0) @ [1, 1j]
    bend = np.abs(np.angle(side / np.roll(side, 1)))
    return curve, s[:-1], [] if o["smooth"] else list(curve(s[:-1][bend > 0.5]))


def make_mesh(case, fineness):
    """(mesh of straight triangles, the same with curved edges, for each solid the numbers of its quadratic unknowns)."""
    import numpy as np
    import triangle
    from skfem import Basis, ElementTriP2, MeshTri, MeshTri2
    length, width = metres(case["cell"]["length"]), metres(case["cell"]["width"])
    side = 0.008 / fineness
    nx, ny = round(length / side), round(width / side)
    u, v = np.arange(nx) / nx * length, np.arange(ny) / ny * width
    rings = [np.vstack([np.c_[u, 0 * u], np.c_[0 * v + length, v], np.c_[length - u, 0 * u + width], np.c_[0 * v, width - v]])]
    curves, corners = [], []
    for obstacle in case["obstacle"]:
        curve, t, sharp = outline(obstacle)
        t = (t[:, None] + np.diff(np.append(t, 1))[:, None] * np.arange(2 * fineness) / (2 * fineness)).ravel()
        curves.append((curve, t, sum(map(len, rings))))
        rings.append(curve(t))
        corners += sharp
    segments, holes, start = [], [], 0
    for ring in rings:
        i = np.arange(len(ring))
        segments.append(start + np.c_[i, np.roll(i, -1)])
        start += len(ring)
        z = ring @ [1, 1j]
        left = np.sign((z.conj() * np.roll(z, -1)).imag.sum())  # a point just inside the first side is in the hole
        hole = (z[0] + z[1]) / 2 + 1e-3j * left * (z[1] - z[0])
        holes.append([hole.real, hole.imag])
    made = triangle.triangulate({"vertices": np.vstack(rings), "segments": np.vstack(segments), "holes": holes[1:]},
                                f"pq30Ya{0.43 * side ** 2:.12f}Q")
    straight = MeshTri(*(np.ascontiguousarray(made[k].T) for k in ("vertices", "triangles")))
    for k in range(20 + 3 * fineness if corners else 0):  # halve round each corner, in half the radius each time
        near = np.min([np.hypot(*(straight.p - c[:, None])) for c in corners], axis=0) < 0.001 / 2 ** k
        straight = straight.refined(np.nonzero(near[straight.t].any(0))[0])
    basis = Basis(straight, ElementTriP2())
    at, solids = basis.doflocs.copy(), []
    edges = straight.boundary_facets()
    ends = straight.facets[:, edges]
    for curve, t, first in curves:
        if not corners:  # vertices on the curve are those given, in order: put the edge's own node onto it
            on = ((ends >= first) & (ends < first + len(t))).all(0)
            assert on.sum() == len(t)
            i, j = np.sort(ends[:, on] - first, axis=0)
            step = np.where(j - i == 1, (np.append(t, 1)[i + 1] + t[i]) / 2, (1 + t[-1]) / 2)
            at[:, basis.facet_dofs[0, edges[on]]] = curve(step).T
        else:
            on = ((straight.p[:, ends] > 1e-9) & (straight.p[:, ends] < np.array([[[length]], [[width]]]) - 1e-9)).all((0, 1))
        solids.append(np.union1d(np.unique(ends[:, on]), basis.facet_dofs[0, edges[on]]))
    return straight, MeshTri2(at, straight.t), solids


def harmonic(laplace, value, held, tied):
    """The field with the values given where it is held and one value on each tied set of nodes, and its energy."""
    import numpy as np
    import scipy.sparse as sparse
    from scipy.sparse.linalg import splu
    number = np.where(held, -1, 0)
    for k, solid in enumerate(tied, 1):
        number[solid] = k
    plain = number == 0
    column = np.where(plain, np.cumsum(plain) - 1, plain.sum() + number - 1)
    free = ~held
    tie = sparse.csc_matrix((np.ones(free.sum()), (np.nonzero(free)[0], column[free])), shape=(len(held), column[free].max() + 1))
    fixed = np.where(held, value, 0.0)
    system = splu((tie.T @ laplace @ tie).tocsc(), permc_spec="MMD_AT_PLUS_A", options={"SymmetricMode": True},
                  diag_pivot_thresh=0.0)
    u = fixed + tie @ system.solve(-(tie.T @ (laplace @ fixed)))
    return u, u @ (laplace @ u)


def solve_case(case, fineness):
    """Bounds of the shape factor and, for each probe, (pressure fraction, velocity over U) from pressure and from stream function."""
    import numpy as np
    from skfem import Basis, BilinearForm, ElementTriP2
    from skfem.helpers import dot, grad
    length, width = metres(case["cell"]["length"]), metres(case["cell"]["width"])
    straight, curved, solids = make_mesh(case, fineness)
    basis = Basis(curved, ElementTriP2(), intorder=8)
    laplace = BilinearForm(lambda u, t, _: dot(grad(u), grad(t))).assemble(basis).tocsc()
    x, y = curved.doflocs

    on = lambda coordinate, end: np.abs(coordinate - end) < 1e-12
    p, upper = harmonic(laplace, 1 - x / length, on(x, 0) | on(x, length), [])
    psi, energy = harmonic(laplace, y / width, on(y, 0) | on(y, width), solids)
    lower, plain = 1 / energy, Basis(straight, ElementTriP2())
    read_p, read_psi = plain.interpolator(p), plain.interpolator(psi)
    t = 2 * np.pi * np.arange(96) / 96
    probes = {}
    for probe in case["probe"]:
        px, py = (metres(v) for v in probe["at"])
        r = 0.7 * min(px, length - px, py, width - py, *(np.hypot(x[s] - px, y[s] - py).min() for s in solids))
        ring = np.array([px + r * np.cos(t), py + r * np.sin(t)])  # p is harmonic: its mean and first moments round the
        values, stream = read_p(ring), read_psi(ring)  # probe are its value and gradient there, whatever the radius
        from_p = -2 / r * np.mean(values * np.exp(1j * t)) * width / ((lower + upper) / 2)
        moment = 2 / r * np.mean(stream * np.exp(1j * t))
        from_psi = (moment.imag - 1j * moment.real) * width
        probes[probe["name"]] = values.mean(), from_p, from_psi
    return lower, upper, probes, straight.nelements


def speed_and_angle(name, vector, error):
    """Both estimates from the length of the error of the vector: one component alone can be right by chance."""
    import numpy as np
    return {f"probe.{name}.speed_ratio": (abs(vector), error),
            f"probe.{name}.angle_deg": (np.degrees(np.angle(vector)), np.degrees(error / abs(vector)))}


def figures_of(case):
    """{quantity: (value, error estimate)} of the finer of two meshes; half of what pressure and stream function differ by
    plus the change between the meshes."""
    coarse, fine = solve_case(case, 2), solve_case(case, 4)
    mean = lambda pair: (pair[0] + pair[1]) / 2
    estimate = lambda now, then: abs(now[1] - now[0]) / 2 + abs(mean(now) - mean(then))
    result = {"shape_factor": (mean(fine), estimate(fine, coarse))}
    for name, (level, *both) in fine[2].items():
        before = coarse[2][name]
        result[f"probe.{name}.pressure_fraction"] = level, abs(level - before[0])
        result |= speed_and_angle(name, mean(both), estimate(both, before[1:]))
    return result, fine[3]


def twinplate(program, stem):
    """The same from twinplate at --error 1e-5: its bracket plus the outline allowance; for probes, 1.5 times the change to its
    own run at 1e-6 (bracket ten times finer, about ten times the triangles), the half more as that run is not exact."""
    import numpy as np
    runs = []
    for error in ("1e-5", "1e-6"):
        folder = SCRATCH / "out" / f"{stem}_{error}"
        subprocess.run([program, "solve", MESHES / f"{stem}.toml", "--error", error, "-q", "--force", "-o", folder], check=True)
        report = json.loads((folder / "report.json").read_text())
        probes = {p["name"]: (p["pressure_fraction"], p["speed_ratio"] * np.exp(1j * np.radians(p["angle_deg"])))
                  for p in report["probes"]}
        runs.append((report["shape_factor"], probes))
    (s, probes), (_, finer) = runs
    result = {"shape_factor": (s["value"], (s["upper"] - s["lower"]) / 2 + s["value"] * s["outline_allowance"])}
    for name, (level, vector) in probes.items():
        result[f"probe.{name}.pressure_fraction"] = level, 1.5 * abs(level - finer[name][0])
        result |= speed_and_angle(name, vector, 1.5 * abs(vector - finer[name][1]))
    return result


def main():
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--program", default=str(HERE.parents[1] / "target/release/twinplate"))
    parser.add_argument("--write", action="store_true", help="write expected.toml and the table of README.md")
    given = parser.parse_args()
    good, frozen, today = True, [], datetime.date.today()
    table = ["| case | quantity | here | its error | twinplate | its error | difference |", "|---|---|---|---|---|---|---|"]
    for stem in CASES:
        ours, triangles = figures_of(tomllib.loads((MESHES / f"{stem}.toml").read_text()))
        theirs = twinplate(given.program, stem)
        for name, (value, error) in ours.items():
            other, bound = theirs[name]
            fits = abs(other - value) <= error + bound
            good &= fits
            table.append(f"| {stem} | {name} | {value:.9f} | {error:.1e} | {other:.9f} | {bound:.1e} | {other - value:+.1e}"
                         f"{'' if fits else ' LARGER THAN BOTH'} |")
            print(table[-1], flush=True)
            frozen.append(f'[[expected]]\ncase = "{stem}"\nquantity = "{name}"\nvalue = {value:.12g}\nerror = {error:.1e}\n'
                          f'computed = "scikit-fem, curved quadratic triangles, {triangles} of them, {today}"\n')
    if given.write:
        (HERE / "expected.toml").write_text(HEAD + "\n".join(frozen))
        readme = HERE / "README.md"
        head, _, rest = readme.read_text().partition("<!-- table -->")
        tail = rest.partition("<!-- end of table -->")[2]
        readme.write_text(f"{head}<!-- table -->\nMeasured {today}.\n\n" + "\n".join(table) + f"\n<!-- end of table -->{tail}")
    print("agree" if good else "DIFFER by more than both error estimates together")
    return 0 if good else 1


if __name__ == "__main__":
    enter_scratch_environment()
    sys.exit(main())
