#!/usr/bin/env python3
"""Solves the steady flow past a round post between two plates in three dimensions, with and without inertia.

    python3 post.py --gap 0.1 [--cells 16 24 36] [--modes 14] [--outer 25] [--first]

Shares nothing with twinplate; see README.md. Lengths are in radii a of the post, velocities in U; zeta = 2z/b. Writes, beside this
file, post_GAP.csv (azimuthal modes of the velocity on the ring, extrapolated from the last two meshes) and meshes_GAP.csv (what the
error is judged by). With --first it writes nothing and stops at the first coefficient of Re*.
"""
import argparse
import csv
import pathlib
import sys
import time

import scratch

if __name__ == "__main__":
    scratch.enter()

import numpy as np
import scipy.sparse as sparse
from scipy.interpolate import CubicSpline
from scipy.sparse.linalg import splu

HERE = pathlib.Path(__file__).resolve().parent
REYNOLDS = (0.04, 0.13, 0.27, 0.6)  # Re* = U b^2/(nu 2a)
STRAIGHT_EDGE = 0.05208015  # C1 of the flux C1 (b^3/nu) V_s V_s' along a straight edge
OUTER = 4.0  # the ring reaches from three gaps off the post to here
RADII = 10  # Gauss points across the ring
LAYERS = ("mean", "middle", "plate")
SERIES = 5  # terms in Re* from which the steps at finite Re* start


class Mesh:
    """Staggered cells over r from 1 to R and z from mid-gap to the plate; r = 1 + b (exp(s/2n) - 1) at s cells from the post.

    Next to the post cells are b/2n in both directions. u_r is on faces of r, u_z on faces of z, u_t and pressure in the middle of
    cells. Widths are differences of the places themselves, so that the uniform stream is an exact solution on any mesh.
    """

    def __init__(self, gap, cells, outer):
        # a whole number of half units, so that meshes of one gap end at the same place
        self.gap, self.nz, self.nr = gap, cells, round(2 * np.log1p((outer - 1) / gap)) * cells
        radius = lambda s: 1 + gap * np.expm1(s / (2 * cells))
        self.face = radius(np.arange(self.nr + 1))
        self.centre = radius(np.arange(-1, self.nr + 1) + 0.5)  # with one beyond either end
        self.across_cell = np.diff(self.face)
        self.across_face = np.diff(self.centre)
        self.dz = gap / 2 / cells
        self.zeta = (np.arange(cells) + 0.5) / cells
        parabola = 1 - self.zeta ** 2
        self.stream = parabola / parabola.mean()

    def cells_from_post(self, r):
        return 2 * self.nz * np.log1p((r - 1) / self.gap)


def difference(n):
    """From n + 1 values to the n differences of neighbours."""
    return sparse.diags_array([-np.ones(n), np.ones(n)], offsets=[0, 1], shape=(n, n + 1))


def average(n):
    return abs(difference(n)) / 2


def with_ghosts(n, mirrored):
    """Values in n cells with one ghost more at either end: mirrored or of a wall at the first, of a wall at the last.

    Ghosts of a wall come from the parabola through the wall and two cells, which makes the profile 1 - zeta^2 exact.
    """
    ghosts = sparse.lil_array((n + 2, n))
    ghosts[1:-1, :] = sparse.eye_array(n)
    ghosts[0, :2] = [1, 0] if mirrored else [-2, 1 / 3]
    ghosts[n + 1, n - 2:] = [1 / 3, -2]
    return ghosts.tocsr()


def with_ends(mesh, decay):
    """The same along r: a wall on the post; at R the last value falls by `decay`. Of values on faces and of values in cells."""
    nr = mesh.nr
    faces = sparse.lil_array((nr + 1, nr - 1))
    faces[1:-1, :] = sparse.eye_array(nr - 1)
    faces[nr, nr - 2] = decay[0]
    cells = with_ghosts(nr, False).tolil()
    cells[nr + 1, nr - 2:] = [0, decay[1]]
    return faces.tocsr(), cells.tocsr()


class Stokes:
    """lap u - grad P = f, div u = 0 for one azimuthal mode m: u_r, u_z, P ~ cos m t, u_t ~ sin m t.

    At R what departs from the stream falls as r^-(m+1), as harmonic modes of the gap mean do.
    """

    def __init__(self, mesh, m):
        self.mesh, nr, nz = mesh, mesh.nr, mesh.nz
        face, centre = mesh.face, mesh.centre[1:-1]
        inner, between = face[1:-1], mesh.across_face[1:-1]
        self.decay = [(face[-2] / face[-1]) ** (m + 1), (mesh.centre[-2] / mesh.centre[-1]) ** (m + 1)]
        faces, cells = with_ends(mesh, self.decay)

        each, every, each_z = sparse.eye_array(nr), sparse.eye_array(nz), sparse.eye_array(nz - 1)
        scaled = sparse.diags_array
        around = lambda r, z: sparse.kron(r, z, format="csr")
        # along r, of values with their ends
        lap_r = scaled(1 / (inner * between)) @ difference(nr - 1) @ scaled(centre / mesh.across_cell) @ difference(nr)
        lap_t = scaled(1 / (centre * mesh.across_cell)) @ difference(nr) @ scaled(face / mesh.across_face) @ difference(nr + 1)
        divergence = scaled(1 / (centre * mesh.across_cell)) @ difference(nr) @ scaled(face)
        turn = scaled(-2 * m / centre ** 2) @ average(nr)  # -2 m u_r/r^2, which acts on u_t
        # along z
        to_faces = difference(nz - 1) / mesh.dz
        bent = difference(nz) @ difference(nz + 1) @ with_ghosts(nz, True) / mesh.dz ** 2
        bent_z = -to_faces @ to_faces.T

        # what needs the values at R besides those solved for
        self.ended = {"rr": around(lap_r, every), "tr": around(turn, every), "tt": around(lap_t, every),
                      "pr": around(divergence, every)}
        self.faces, self.cells = faces, cells
        faces, cells = around(faces, every), around(cells, every)
        rr = self.ended["rr"] @ faces - around(scaled((m * m + 1) / inner ** 2), every) + around(sparse.eye_array(nr - 1), bent)
        rt = around(scaled(-2 * m / inner ** 2) @ average(nr - 1), every)
        rp = -around(scaled(1 / between) @ difference(nr - 1), every)
        tr = self.ended["tr"] @ faces
        tt = self.ended["tt"] @ cells - around(scaled((m * m + 1) / centre ** 2), every) + around(each, bent)
        tp = around(scaled(m / centre), every)
        zz = around(lap_t @ self.cells - scaled(m * m / centre ** 2), each_z) + around(each, bent_z)
        zp = -around(each, to_faces)
        pr, pt, pz, pp = self.ended["pr"] @ faces, around(scaled(m / centre), every), -around(each, to_faces.T), None
        if m == 0:  # the level of the pressure is free, and one balance of mass follows from the others
            kept = np.ones(nr * nz)
            kept[-1] = 0
            pr, pz, pp = scaled(kept) @ pr, scaled(kept) @ pz, scaled(1 - kept)
        system = [[rr, rt, None, rp], [tr, tt, None, tp], [None, None, zz, zp], [pr, pt, pz, pp]]
        self.cuts = np.cumsum([(nr - 1) * nz, nr * nz, nr * (nz - 1)])
        self.solver = splu(sparse.block_array(system).tocsc())

    def solve(self, forces, stream=0.0):
        """(u_r, u_t, u_z) with their ends, of the forces at the places of each; `stream` times the uniform stream far away."""
        mesh, nr, nz = self.mesh, self.mesh.nr, self.mesh.nz
        # what the stream adds at R to the values that decay
        far_r, far_t = np.zeros((nr + 1, nz)), np.zeros((nr + 2, nz))
        far_r[-1] = stream * (1 - self.decay[0]) * mesh.stream
        far_t[-1] = -stream * (1 - self.decay[1]) * mesh.stream
        loads = [f.ravel() for f in forces] + [np.zeros(nr * nz)]
        if stream:
            loads[0] = loads[0] - self.ended["rr"] @ far_r.ravel()
            loads[1] = loads[1] - self.ended["tr"] @ far_r.ravel() - self.ended["tt"] @ far_t.ravel()
            loads[3] = loads[3] - self.ended["pr"] @ far_r.ravel()
        r, t, z, _ = np.split(self.solver.solve(np.concatenate(loads)), self.cuts)
        z = np.pad(z.reshape(nr, nz - 1), ((0, 0), (1, 1)))
        return (self.faces @ r.reshape(nr - 1, nz) + far_r, self.cells @ t.reshape(nr, nz) + far_t, self.cells @ z)


class Flow:
    """The modes m = 0..M of a velocity: r, t, z with their ends, first index the mode."""

    def __init__(self, r, t, z):
        self.parts = r, t, z

    def __add__(self, other):
        return Flow(*(a + b for a, b in zip(self.parts, other.parts)))

    def __rmul__(self, factor):
        return Flow(*(factor * a for a in self.parts))

    def flat(self):
        return np.concatenate([part.ravel() for part in self.parts])

    def like(self, flat):
        cuts = np.cumsum([part.size for part in self.parts])[:-1]
        return Flow(*(x.reshape(part.shape) for x, part in zip(np.split(flat, cuts), self.parts)))


class Solver:
    def __init__(self, mesh, modes):
        self.mesh, self.modes = mesh, modes
        self.stokes = [Stokes(mesh, m) for m in range(modes + 1)]
        count = 3 * modes // 2 + 2  # products of two modes, weighed with a third, are summed exactly
        angle = (np.arange(count) + 0.5) * np.pi / count
        m = np.arange(modes + 1)
        self.cos, self.sin = np.cos(np.outer(angle, m)), np.sin(np.outer(angle, m))
        weight = np.where(m == 0, 1, 2) / count
        self.to_cos, self.to_sin = self.cos.T * weight[:, None], self.sin.T * weight[:, None]

    def slow(self):
        """Stokes flow past the post: u0."""
        return self.respond(None, 1.0)

    def respond(self, forces, stream=0.0):
        nr, nz, found = self.mesh.nr, self.mesh.nz, []
        shapes = (nr - 1, nz), (nr, nz), (nr, nz - 1)
        for m, stokes in enumerate(self.stokes):
            own = [f[m] for f in forces] if forces else [np.zeros(shape) for shape in shapes]
            found.append(stokes.solve(own, stream if m == 1 else 0.0))
        return Flow(*(np.array(part) for part in zip(*found)))

    def carried(self, u, v):
        """(2/b^2) (u.grad) v, the force of inertia at Re* = 1, as modes at the places of the three balances of momentum."""
        mesh, m = self.mesh, np.arange(self.modes + 1)[:, None, None]
        at = lambda basis, modes: np.tensordot(basis, modes, 1)
        even, odd = lambda f: at(self.cos, f), lambda f: at(self.sin, f)
        mean_r, mean_z = lambda f: (f[:, 1:] + f[:, :-1]) / 2, lambda f: (f[..., 1:] + f[..., :-1]) / 2
        across_r = lambda f, width: (f[:, 2:] - f[:, :-2]) / (2 * width[:, None])
        across_z = lambda f: (f[..., 2:] - f[..., :-2]) / (2 * mesh.dz)
        ghosts = lambda f: np.concatenate([f[..., :1], f, f[..., -2:-1] / 3 - 2 * f[..., -1:]], axis=-1)
        (ur, ut, uz), (vr, vt, vz) = u.parts, v.parts
        cell = slice(1, -1)

        def force(r, of_r, of_t, of_z, by, slope_r, slope_t, slope_z):
            return even(of_r) * by(slope_r) + odd(of_t) / r[:, None] * slope_t + even(of_z) * by(slope_z)

        r = mesh.face[1:-1]
        inner, own_t = vr[:, cell], mean_r(ut)[:, cell]
        f_r = force(r, ur[:, cell], own_t, mean_z(mean_r(uz)[:, cell]), even,
                    across_r(vr, mesh.across_face[cell]), odd(-m * inner), across_z(ghosts(inner)))
        f_r -= odd(own_t) * odd(mean_r(vt)[:, cell]) / r[:, None]
        r = mesh.centre[cell]
        inner, own_t = vt[:, cell], ut[:, cell]
        f_t = force(r, mean_r(ur), own_t, mean_z(uz[:, cell]), odd,
                    across_r(vt, mesh.across_cell), even(m * inner), across_z(ghosts(inner)))
        f_t += odd(own_t) * even(mean_r(vr)) / r[:, None]
        inner = vz[:, cell]
        f_z = force(r, mean_z(mean_r(ur)), mean_z(own_t), uz[:, cell, cell], even,
                    across_r(vz, mesh.across_cell)[..., cell], odd(-m * inner[..., cell]), across_z(inner))
        scale = 2 / mesh.gap ** 2
        return [scale * at(back, f) for back, f in ((self.to_cos, f_r), (self.to_sin, f_t), (self.to_cos, f_z))]

    def series(self, order):
        """u0, u1, .. of u = u0 + Re* u1 + Re*^2 u2 + .."""
        terms = [self.slow()]
        for n in range(1, order + 1):
            forces = [self.carried(terms[k], terms[n - 1 - k]) for k in range(n)]
            terms.append(self.respond([sum(parts) for parts in zip(*forces)]))
        return terms

    def inertial(self, reynolds, slow, start, tolerance=1e-9, depth=14):
        """The flow at Re* by fixed-point steps u <- u0 + Stokes(Re* (u.grad) u), mixed as Anderson does."""
        flow, before, changes = start, [], []
        for step in range(100):
            found = slow + self.respond([reynolds * f for f in self.carried(flow, flow)])
            here, new = flow.flat(), found.flat()
            change = new - here
            size = np.abs(change).max()
            if size < tolerance:
                return found, step
            before, changes = (before + [new])[-depth:], (changes + [change])[-depth:]
            if len(before) > 1:
                steps = np.diff(changes, axis=0)
                mix = np.linalg.lstsq(steps.T, change, rcond=None)[0]
                new = new - mix @ np.diff(before, axis=0)
            flow = flow.like(new)
        raise RuntimeError(f"no convergence at Re* = {reynolds}: still {size:.1e}")


def ring(gap):
    """Radii from three gaps off the post to OUTER, and weights of area whose sum is one."""
    x, w = np.polynomial.legendre.leggauss(RADII)
    half = (OUTER - 1 - 3 * gap) / 2
    r = 1 + 3 * gap + half * (x + 1)
    return r, w * r / (w @ r)


def layers(mesh, part, faces, radii):
    """{layer: modes x radii} of u_r or u_t: gap mean over U, mid-gap over 3U/2, limit at the plates over (3/2)(1 - zeta^2) U."""
    parabola = 1 - mesh.zeta ** 2
    powers = lambda x: np.vander(x, 3, increasing=True)
    middle = np.linalg.inv(powers(mesh.zeta[:3] ** 2))[0]  # even polynomial through three cells, at zeta = 0
    plate = np.linalg.inv(parabola[-3:, None] * powers(parabola[-3:]))[0]  # over 1 - zeta^2, at zeta = 1
    at = np.arange(mesh.nr + 1) if faces else np.arange(-1, mesh.nr + 1) + 0.5
    read = lambda values: CubicSpline(at, values, axis=1)(mesh.cells_from_post(radii))
    return {"mean": read(part.mean(-1)), "middle": read(part[..., :3] @ middle / 1.5), "plate": read(part[..., -3:] @ plate / 1.5)}


def on_ring(mesh, flow, radii):
    """Array: layer, component (r, t), mode, radius."""
    r, t = (layers(mesh, flow.parts[k], k == 0, radii) for k in (0, 1))
    return np.array([[r[layer], t[layer]] for layer in LAYERS])


def size(values, weights):
    """Root mean square over the ring, per layer: modes of cosine and sine average to one half, mode 0 to one."""
    half = np.where(np.arange(values.shape[2]) == 0, 1.0, 0.5)
    return np.sqrt(np.einsum("lcmr,m,r->l", values ** 2, half, weights))


def coefficients(mesh, slow, first, r=OUTER):
    """The dipole of Stokes flow over a^2, and the part of u1 that falls as r^-3 over what C1 gives, both from the gap mean at r."""
    mean = lambda flow, m: layers(mesh, flow.parts[0], True, r)["mean"][m]
    return {"dipole": (1 - mean(slow, 1)) * r ** 2, "edge_inertia": -mean(first, 2) * r ** 3 / (8 * STRAIGHT_EDGE * mesh.gap)}


def solve_mesh(given, cells):
    """{name: number} of what is compared between meshes, and the modes on the ring: first at Re* = 0, then at REYNOLDS."""
    began = time.time()
    mesh = Mesh(given.gap, cells, given.outer)
    solver = Solver(mesh, given.modes)
    radii, weights = ring(given.gap)
    slow, *terms = solver.series(1 if given.first else SERIES)
    found = coefficients(mesh, slow, terms[0])
    place = f"{cells:3} x {mesh.nr} cells to R = {mesh.face[-1]:.1f}"
    say = lambda text: print(f"{place}, {time.time() - began:4.0f} s: {text}", flush=True)
    say(f"dipole {found['dipole']:.6f}, edge inertia {found['edge_inertia']:.5f}")
    rings = [on_ring(mesh, slow, radii)]
    for reynolds in () if given.first else REYNOLDS:
        start = sum((reynolds ** n * term for n, term in enumerate(terms, 1)), start=slow)
        flow, steps = solver.inertial(reynolds, slow, start)
        rings.append(on_ring(mesh, flow, radii))
        change = rings[-1] - rings[0]
        whole = size(change, weights)
        last = size(change[:, :, -2:], weights)[0] / whole[0]
        off = size(on_ring(mesh, start, radii) - rings[-1], weights)[0] / whole[0]
        say(f"Re* {reynolds}: change of mean, middle, plate {whole.round(7)}; {steps} steps; of the mean's, the last two modes "
            f"{last:.0e}, the series to Re*^{SERIES} off by {off:.0e}")
        found |= {f"{layer} {reynolds}": value for layer, value in zip(LAYERS, whole)}
    return found, np.array(rings)


def write(path, head, rows):
    with open(path, "w", newline="") as file:
        csv.writer(file, lineterminator="\n").writerows([head, *rows])


def short(value):
    text = f"{value:.8f}".rstrip("0").rstrip(".")
    return "0" if text == "-0" else text


def main():
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--gap", type=float, required=True, help="b/a")
    parser.add_argument("--cells", type=int, nargs="+", default=[16, 24, 36], help="over half the gap, one mesh each")
    parser.add_argument("--modes", type=int, default=14, help="highest azimuthal mode")
    parser.add_argument("--outer", type=float, default=25.0, help="R, about")
    parser.add_argument("--first", action="store_true", help="stop at the first coefficient of Re*; write nothing")
    parser.add_argument("--out", type=pathlib.Path, default=HERE, help="folder for the tables")
    given = parser.parse_args()
    found, rings = zip(*(solve_mesh(given, cells) for cells in given.cells))
    if len(found) > 1:
        gain = 1 / ((given.cells[-1] / given.cells[-2]) ** 2 - 1)
        final = rings[-1] + gain * (rings[-1] - rings[-2])
        for name in ("dipole", "edge_inertia"):
            print(f"{name} extrapolated {found[-1][name] + gain * (found[-1][name] - found[-2][name]):.6f}")
    if len(found) == 1 or given.first:
        return
    write(given.out / f"meshes_{given.gap}.csv", ["quantity", *given.cells],
          ([name] + [f"{f[name]:.9g}" for f in found] for name in found[0]))
    write(given.out / f"post_{given.gap}.csv",
          ["reynolds", "mode", "radius"] + [f"{layer}_{part}" for layer in LAYERS for part in "rt"],
          ([reynolds, m, f"{r:.9g}"] + [short(v) for v in final[k, :, :, m, j].ravel()]
           for k, reynolds in enumerate((0.0, *REYNOLDS)) for m in range(given.modes + 1) for j, r in enumerate(ring(given.gap)[0])))


if __name__ == "__main__":
    sys.exit(main())
