#!/usr/bin/env python3
"""Constants of the inertia of a curved edge between plates: delta*, C1 and, for the curvature, A1 and A2.

    python edge_constants.py

Lengths in gaps, 0 <= n <= REACH from the edge, |z| <= 1/2 between the plates; README.md has the problems and the closed
integrals. Every constant comes out twice: as the flux of its own correction ("direct"), and from an integral over phi and the
one cross flow (v, w) alone ("integral"), which shares no other solution with the first.
"""
import os

os.environ.setdefault("OMP_NUM_THREADS", "1")
import time

import numpy as np
import scipy.sparse as sp
from numpy.polynomial import legendre
from scipy.sparse.linalg import splu

REACH = 10.0
F3 = 54 / 35  # gap mean of F^3


class Line:
    """Continuous piecewise polynomials of a degree on given breaks, with values and slopes at Gauss points."""

    def __init__(self, breaks, degree, points):
        inner = np.sort(legendre.legroots(legendre.legder([0] * degree + [1]))) if degree > 1 else []
        nodes = np.concatenate([[-1.0], inner, [1.0]])
        x, w = legendre.leggauss(points)
        basis = np.linalg.inv(legendre.legvander(nodes, degree))
        slopes = np.array([legendre.legval(x, legendre.legder(c)) for c in np.eye(degree + 1)]).T
        half = 0.5 * np.diff(breaks)
        count = len(half)
        at = np.add.outer(np.arange(count) * degree, np.arange(degree + 1))
        rows = np.arange(count * points).reshape(count, points)
        index = (np.repeat(rows, degree + 1), np.repeat(at[:, None], points, 1).ravel())
        shape = (count * points, count * degree + 1)
        self.value = sp.csr_matrix((np.tile((legendre.legvander(x, degree) @ basis).ravel(), count), index), shape)
        self.slope = sp.csr_matrix((np.multiply.outer(1 / half, slopes @ basis).ravel(), index), shape)
        self.weight = np.multiply.outer(half, w).ravel()
        self.points = (breaks[:-1, None] + half[:, None] * (x + 1)).ravel()
        self.nodes = np.concatenate([breaks[:1], (breaks[:-1, None] + half[:, None] * (nodes[1:] + 1)).ravel()])
        self.size = shape[1]

    def form(self, test, trial):
        return test.T @ sp.diags(self.weight) @ trial


class Section:
    """Upper half of the cross-section, graded into the corner of edge and plate."""

    def __init__(self, columns, rows, degree):
        n = REACH * np.linspace(0, 1, columns + 1) ** 3
        z = 0.5 * (1 - np.linspace(1, 0, rows + 1) ** 3)
        points = degree + degree // 2 + 2
        self.n, self.z = Line(n, degree, points), Line(z, degree, points)
        self.pn, self.pz = Line(n, degree - 1, points), Line(z, degree - 1, points)
        self.weight = 2 * np.outer(self.n.weight, self.z.weight)  # the half stands for the whole gap
        self.shape = (self.n.size, self.z.size)
        solid = np.zeros(self.shape, bool)
        solid[0], solid[:, -1] = True, True
        far = np.zeros(self.shape, bool)
        far[-1] = True
        middle = np.zeros(self.shape, bool)
        middle[:, 0] = True
        self.held_line = (solid | far).ravel()
        (an, mn), (az, mz) = [(l.form(l.slope, l.slope), l.form(l.value, l.value)) for l in (self.n, self.z)]
        self.laplace = sp.csr_matrix(sp.kron(an, mz) + sp.kron(mn, az))
        n, z, pn, pz = self.n, self.z, self.pn, self.pz
        dn = sp.kron(n.form(pn.value, n.slope), z.form(pz.value, z.value))
        dz = sp.kron(n.form(pn.value, n.value), z.form(pz.value, z.slope))
        self.stokes = sp.csr_matrix(sp.bmat([[self.laplace, None, -dn.T], [None, self.laplace, -dz.T], [-dn, -dz, None]]))
        pinned = np.zeros(self.pn.size * self.pz.size, bool)
        pinned[-1] = True  # the pressure has no level of its own; it is set afterwards
        self.held_flow = np.concatenate([self.held_line, (solid | far | middle).ravel(), pinned])
        self.factor = {}

    def mean(self, values):
        return float((self.weight * values).sum())

    def at(self, x):
        return self.n.value @ x @ self.z.value.T

    def grad(self, x):
        return self.n.slope @ x @ self.z.value.T, self.n.value @ x @ self.z.slope.T

    def load(self, values):
        weighed = np.outer(self.n.weight, self.z.weight) * values
        return (self.n.value.T @ weighed @ self.z.value).ravel()

    def solve(self, name, matrix, right, held, start):
        free = ~held
        if name not in self.factor:
            self.factor[name] = splu(sp.csc_matrix(matrix[free][:, free]))
        x = start.copy()
        x[free] = self.factor[name].solve((right - matrix @ start)[free])
        return x

    def poisson(self, source, far):
        """lap x = source, 0 on solids, given far away."""
        start = np.zeros(self.shape)
        start[-1] = far
        return self.solve("line", self.laplace, -self.load(source), self.held_line, start.ravel()).reshape(self.shape)

    def flow(self, divergence, force_n, force_z, far):
        """lap (v, w) = grad P + force, v_n + w_z = divergence; far away (far, 0)."""
        size = self.shape[0] * self.shape[1]
        weighed = np.outer(self.n.weight, self.z.weight) * divergence
        right = np.concatenate([-self.load(force_n), -self.load(force_z), -(self.pn.value.T @ weighed @ self.pz.value).ravel()])
        start = np.zeros(len(right))
        start[:size].reshape(self.shape)[-1] = far
        x = self.solve("flow", self.stokes, right, self.held_flow, start)
        v, w, p = x[:size].reshape(self.shape), x[size:2 * size].reshape(self.shape), x[2 * size:]
        return v, w, p.reshape(self.pn.size, self.pz.size)


def constants(columns, rows, degree):
    c = Section(columns, rows, degree)
    n, zeta = c.n.points[:, None], 2 * c.z.points
    zeta_far = 2 * c.z.nodes
    parabola = lambda x: 1.5 * (1 - x * x)
    layer = lambda x: 3 / 280 * (x * x - 1) * (7 * x**4 - 28 * x * x + 5) / 4
    F, F_far, g_far = parabola(zeta), parabola(zeta_far), layer(zeta_far)
    zero = 0 * n * zeta

    phi = c.poisson(zero - 12, F_far)
    f, (fn, fz) = c.at(phi), c.grad(phi)
    delta = REACH - c.mean(f)
    # phi1, the profile that curvature adds, is known in terms of phi
    f1, f1n, f1z = -n * (f + F) / 2, -(f + F) / 2 - n * fn / 2, -n * (fz - 6 * zeta) / 2

    def cross(divergence, force_n, force_z):
        v, w, _ = c.flow(divergence, force_n, force_z, c.mean(divergence) * F_far)
        return c.at(v), c.at(w), c.grad(v)[0], c.grad(w)[0]

    v, w, vn, wn = cross(-f, zero, zero)
    va, wa, _, _ = cross(-f1 + n * f - v, -vn + 2 * f, -wn)
    vb, wb, _, _ = cross(-f1, f, zero)
    _, _, p = c.flow(zero, -f * f, zero, -g_far)
    far_pressure = np.zeros(c.pn.size)
    far_pressure[-1] = 1
    level = 2 * float((far_pressure @ p) @ (c.pz.value.T @ c.z.weight)) - F3 * REACH
    pressure = c.pn.value @ p @ c.pz.value.T - level

    source = -F3 + f * f + v * fn + w * fz
    chi = c.poisson(source, g_far)
    first = c.poisson(
        F3 * n + 2 * pressure - c.grad(chi)[0] + 2 * f * f1 - n * f * f + v * f1n + w * f1z + va * fn + wa * fz + f * v,
        -3 * REACH * g_far)
    second = c.poisson(pressure + f * f1 + vb * fn + wb * fz, -REACH * g_far)
    direct = [c.mean(c.at(x)) for x in (chi, first, second)]

    # the same by Green's and the reciprocal theorem (README.md, section 5)
    c1 = c.mean(F3 * f - f**3) / 8
    a1 = c.mean(
        F3 * n * f + 3.5 * v * f * f + 2.5 * f * f * f1 - 1.5 * n * f**3 + f * (v * f1n + w * f1z) - n * (F - f) / 2 * source)
    a1 += F3 * (2.75 * REACH**2 - 2.5 * delta * REACH - 1 / 40)
    a2 = c.mean(v * f * f + 1.5 * f * f * f1) + F3 * (1.25 * REACH**2 - delta * REACH - 1 / 40)
    return [delta, direct[0], c1, direct[1], -a1 / 12, direct[2], -a2 / 12]


def main():
    print("A1 = 3 A2 is exact: inertia does no work on a flow at rest on solids")
    names = ["delta*", "C1 direct", "integral", "A1 direct", "integral", "A2 direct", "integral"]
    print(f"{'mesh':>14} " + " ".join(f"{x:>13}" for x in names))
    for columns, rows, degree in ((8, 3, 4), (8, 3, 6), (12, 4, 6), (16, 5, 6), (16, 5, 8), (20, 6, 8)):
        start = time.time()
        found = constants(columns, rows, degree)
        print(f"{columns:>3} x{rows:>2}, deg {degree:>1} " + " ".join(f"{x:13.10f}" for x in found) + f"  {time.time() - start:.0f} s", flush=True)
    print(f"A1/A2 - 3: direct {found[3] / found[5] - 3:.1e}, integral {found[4] / found[6] - 3:.1e}")


if __name__ == "__main__":
    main()
