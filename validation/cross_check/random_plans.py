#!/usr/bin/env python3
"""Solves twenty of the random plans of `tests/random/bounds.rs` a second time with scikit-fem, at order two on meshes of its own.

    python3 validation/cross_check/random_plans.py --program target/release/twinplate [--plans FOLDER] [--write]

The plans are written by the test itself (`PLANS=FOLDER cargo test --test random two_hundred`), here unless --plans names a folder
where it has left them. Each bracket of twinplate, at `--error 1e-3` and `1e-4`, must hold the second solution: allowance for chords and the
error estimate of the second solution added; see README.md. Exit code 1 if one does not. --write puts the table into README.md.
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

sys.dont_write_bytecode = True  # nothing is left beside the scripts
from cross_check import HERE, SCRATCH, enter_scratch_environment, harmonic

ERRORS = ("1e-3", "1e-4")
PLANS = 20
LENGTH, WIDTH = 2.0, 1.0


def plans_in(folder):
    if folder is None:
        folder = tempfile.mkdtemp()
        command = ["cargo", "test", "--test", "random", "two_hundred"]
        subprocess.run(command, cwd=HERE.parents[1], env=os.environ | {"PLANS": folder}, check=True)
    found = sorted(pathlib.Path(folder).glob("plan_*.toml"))
    assert len(found) == PLANS, f"{len(found)} plans in {folder}"
    return found


def ring(obstacle, chords):
    """(points along an outline, for a curve the function of an angle and the angles that gave them, corners)."""
    import numpy as np
    if points := obstacle.get("polygon"):
        corners = np.array(points["points"])
        return corners, None, corners
    if circle := obstacle.get("circle"):
        (x, y), a, b, turn = circle["centre"], circle["diameter"] / 2, circle["diameter"] / 2, 0.0
    else:
        e = obstacle["ellipse"]
        (x, y), (a, b), turn = e["centre"], e["semi_axes"], np.radians(e.get("angle", 0.0))

    def curve(t):
        z = (a * np.cos(t) + 1j * b * np.sin(t)) * np.exp(1j * turn) + x + 1j * y
        return np.c_[z.real, z.imag]
    whole = 2 * np.pi * np.arange(chords) / chords
    wall = obstacle.get("on_wall")
    if wall is None:
        return curve(whole), (curve, whole), np.empty((0, 2))
    # the half in the fluid, from its right foot to its left on the lower wall, and the other way round on the upper: the wall's way
    half = np.linspace(0, np.pi, chords // 2 + 1) if wall == "lower" else np.linspace(np.pi, 2 * np.pi, chords // 2 + 1)
    return curve(half), (curve, half), np.empty((0, 2))  # square to the wall: no corner of the field


def make_mesh(case, fineness):
    """(mesh with curved edges, unknowns of the lower wall, of the upper, of each free solid)."""
    import numpy as np
    import triangle
    from skfem import Basis, ElementTriP2, MeshTri, MeshTri2
    side, chords = 0.04 / fineness, 96 * fineness
    low, high, free, curved, corners = [], [], [], [], []
    for obstacle in case["obstacle"]:
        points, curve, sharp = ring(obstacle, chords)
        {"lower": low, "upper": high, None: free}[obstacle.get("on_wall")].append(points)
        curved += [curve] if curve else []
        corners += list(sharp)
    # outer loop, counter-clockwise; piers are walked against their own sense, into the fluid
    outer = [[[0, 0]], *(p[::-1] for p in sorted(low, key=lambda p: p[0][0])), [[LENGTH, 0], [LENGTH, WIDTH]],
             *(p[::-1] for p in sorted(high, key=lambda p: -p[0][0])), [[0, WIDTH]]]
    rings, segments, start = [np.vstack(outer), *free], [], 0
    for r in rings:
        i = np.arange(len(r))
        segments.append(start + np.c_[i, np.roll(i, -1)])
        start += len(r)
    holes = [hole_in(r) for r in free]
    given = {"vertices": np.vstack(rings), "segments": np.vstack(segments)} | ({"holes": holes} if holes else {})
    made = triangle.triangulate(given, f"pq30a{0.43 * side ** 2:.12f}Q")
    mesh = MeshTri(*(np.ascontiguousarray(made[k].T) for k in ("vertices", "triangles")))
    for k in range(14 + 3 * fineness if corners else 0):  # halve round each corner, in half the radius each time
        near = np.min([np.hypot(*(mesh.p - c[:, None])) for c in corners], axis=0) < 0.04 / 2 ** k
        mesh = mesh.refined(np.nonzero(near[mesh.t].any(0))[0])
    # vertices and the edges' own nodes onto the curves, at the angle in proportion to their place on the given chord
    basis = Basis(mesh, ElementTriP2())
    points, at = mesh.p.copy(), basis.doflocs.copy()
    edges = mesh.boundary_facets()
    a, b = mesh.facets[:, edges]
    node = basis.facet_dofs[0, edges]
    for curve, t in curved:
        ends = np.c_[t, np.append(t[1:], t[0] + 2 * np.pi)] if len(t) == chords else np.c_[t[:-1], t[1:]]
        for t0, t1 in ends:  # each given chord, however often Triangle and the halving round a foot have split it
            p, q = curve(np.array([t0, t1]))
            length2 = ((q - p) ** 2).sum()

            def along(v):
                s = (mesh.p[:, v].T - p) @ (q - p) / length2
                off = np.abs((mesh.p[:, v].T - p) @ np.array([-(q - p)[1], (q - p)[0]])) / length2
                return s, (off < 1e-9) & (s > -1e-9) & (s < 1 + 1e-9)
            (sa, on_a), (sb, on_b) = along(a), along(b)
            for e in np.nonzero(on_a & on_b)[0]:
                ta, tb = t0 + sa[e] * (t1 - t0), t0 + sb[e] * (t1 - t0)
                at[:, [a[e], b[e]]] = curve(np.array([ta, tb])).T
                at[:, node[e]] = curve(np.array([(ta + tb) / 2]))[0]
    # nodes of inner edges stay half way between their ends, wherever those have moved
    inner = np.setdiff1d(np.arange(mesh.facets.shape[1]), edges)
    at[:, basis.facet_dofs[0, inner]] = at[:, mesh.facets[:, inner]].mean(axis=1)
    facets, middle, loops = np.vstack([a, b, node]), at[:, node], connected(a, b)
    on_ring = [np.unique(facets[:, loop]) for loop in loops]
    outer_loop = max(range(len(loops)), key=lambda k: np.ptp(middle[0, loops[k]]))
    inlet, outlet = middle[0, :] < 1e-9, middle[0, :] > LENGTH - 1e-9
    rest = np.array([e for e in loops[outer_loop] if not inlet[e] and not outlet[e]])
    is_low = middle[1, rest] < WIDTH / 2  # no pier is as high as half the width
    lower, upper = np.unique(facets[:, rest[is_low]]), np.unique(facets[:, rest[~is_low]])
    solids = [nodes for k, nodes in enumerate(on_ring) if k != outer_loop]
    assert len(solids) == len(free)
    return MeshTri2(at, mesh.t), lower, upper, solids


def hole_in(r):
    """A point just inside the first side of a ring."""
    import numpy as np
    z = np.asarray(r) @ [1, 1j]
    left = np.sign((z.conj() * np.roll(z, -1)).imag.sum())
    hole = (z[0] + z[1]) / 2 + 1e-3j * left * (z[1] - z[0])
    return [float(hole.real), float(hole.imag)]


def connected(a, b):
    """Edges of each closed loop."""
    import numpy as np
    from scipy.sparse import coo_matrix
    from scipy.sparse.csgraph import connected_components
    n = max(a.max(), b.max()) + 1
    label = connected_components(coo_matrix((np.ones(len(a)), (a, b)), shape=(n, n)), directed=False)[1][a]
    return [np.nonzero(label == k)[0] for k in np.unique(label)]


def solve(case, fineness):
    """(1/E(psi), E(p), triangles): below and above the shape factor of the mesh's own domain."""
    import numpy as np
    from skfem import Basis, BilinearForm, ElementTriP2
    from skfem.helpers import dot, grad
    mesh, lower, upper, solids = make_mesh(case, fineness)
    basis = Basis(mesh, ElementTriP2(), intorder=8)
    laplace = BilinearForm(lambda u, t, _: dot(grad(u), grad(t))).assemble(basis).tocsc()
    x = mesh.doflocs[0]

    among = lambda nodes: np.isin(np.arange(len(x)), nodes)
    _, drop = harmonic(laplace, 1.0 * (x < 1e-9), (x < 1e-9) | (x > LENGTH - 1e-9), [])
    _, flux = harmonic(laplace, 1.0 * among(upper), among(lower) | among(upper), solids)
    return 1 / flux, drop, mesh.nelements


def main():
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--program", default=str(HERE.parents[1] / "target/release/twinplate"))
    parser.add_argument("--plans", help="folder where the test has left its plans")
    parser.add_argument("--write", action="store_true", help="write the table of README.md")
    given = parser.parse_args()
    good, today = True, datetime.date.today()
    table = ["| plan | obstacles | here | its error | triangles | " +
             " | ".join(f"twinplate {e} | allowance" for e in ERRORS) + " | holds |", "|" + "---|" * (6 + 2 * len(ERRORS))]
    for file in plans_in(given.plans):
        case = tomllib.loads(file.read_text())
        coarse, fine = solve(case, 1), solve(case, 2)
        value = (fine[0] + fine[1]) / 2
        error = abs(fine[1] - fine[0]) / 2 + abs(value - (coarse[0] + coarse[1]) / 2)
        cells, holds = [], True
        for bound in ERRORS:
            folder = SCRATCH / "out" / f"{file.stem}_{bound}"
            subprocess.run([given.program, "solve", file, "--error", bound, "-q", "--force", "-o", folder], check=True)
            s = json.loads((folder / "report.json").read_text())["shape_factor"]
            slack = s["outline_allowance"] + error
            holds &= s["lower"] - slack <= value <= s["upper"] + slack
            cells.append(f"{s['lower']:.7f} to {s['upper']:.7f} | {s['outline_allowance']:.1e}")
        good &= holds
        table.append(f"| {file.stem[-2:]} | {len(case['obstacle'])} | {value:.8f} | {error:.1e} | {fine[2]} | {' | '.join(cells)} | "
                     f"{'yes' if holds else 'NO'} |")
        print(table[-1], flush=True)
    if given.write:
        readme = HERE / "README.md"
        head, _, rest = readme.read_text().partition("<!-- random -->")
        tail = rest.partition("<!-- end of random -->")[2]
        readme.write_text(f"{head}<!-- random -->\nMeasured {today}.\n\n" + "\n".join(table) + f"\n<!-- end of random -->{tail}")
    print("every bracket holds" if good else "a bracket DOES NOT HOLD")
    return 0 if good else 1


if __name__ == "__main__":
    enter_scratch_environment()
    sys.exit(main())
