#!/usr/bin/env python3
"""Flow past an elliptic post of 2:1 between plates in three dimensions, by finite elements, as a series in Re*.

    venv/bin/python ellipse.py --case along|oblique|across [--gap 0.15] [--order 4] [--mesh 36 18 2] [--radius 14] [--re 0.15 0.3]

Units: a = mean semi-axis = 1 (semi-axes 4/3 and 2/3), U = mean speed far away = 1; Re* = U b^2/(nu L), L the extent across the
stream, which runs along x. Writes ellipses/NAME.csv: at points of the ring from three gaps from the edge to 4a from the centre, the
gap mean (m) and the mid-gap velocity (c) of Stokes flow, the coefficients of Re*, Re*^2 .. and the change from Stokes flow at
each --re.
"""
import argparse
import pathlib
import resource
import time

import numpy as np
from ngsolve import (BilinearForm, BitArray, CF, Grad, GridFunction, H1, InnerProduct, LinearForm, Periodic, SetNumThreads,
                     VectorH1, cos, cosh, div, dx, sin, sinh, sqrt, x, y, z)
from ngsolve.meshes import MakeStructured3DMesh

HERE = pathlib.Path(__file__).resolve().parent
LONG, SHORT = 4 / 3, 2 / 3
FOCUS = np.sqrt(LONG ** 2 - SHORT ** 2)
START = np.arctanh(SHORT / LONG)  # mu of the outline in elliptic coordinates, FOCUS cosh(mu + it)
ANGLES = {"along": 0.0, "oblique": np.pi / 6, "across": np.pi / 2}
MOVED = 0.31512444  # gaps by which a solid edge acts thicker
PENALTY = 1e-10  # on pressure, for the factorisation; changes velocity by less than 1e-5 of itself
MIXED = 20  # steps that are mixed on the way to Navier-Stokes
GROWTH, WIDEST = 1.35, 0.2  # of the rings of elements, in mu
NEAR, REACH = 3, 4.0  # the ring that is compared: from so many gaps from the edge, to this distance from the centre


def extent(angle):
    """L, across the stream."""
    return 2 * np.hypot(LONG * np.sin(angle), SHORT * np.cos(angle))


def rings(radius, count):
    """mu of the rings of vertices: steps grow from the outline until they are WIDEST."""
    end = np.log(2 * radius / FOCUS)

    def steps(first):
        return np.minimum(first * GROWTH ** np.arange(count), WIDEST)
    low, high = 1e-5, WIDEST
    if steps(high).sum() < end - START:
        raise SystemExit("too few rings")
    for _ in range(60):
        middle = np.sqrt(low * high)
        low, high = (middle, high) if steps(middle).sum() < end - START else (low, middle)
    return START + np.concatenate([[0], np.cumsum(steps(high))])


def make_mesh(gap, angle, radius, counts, order):
    """(mesh of hexahedra in mu, t, zeta (0 mid-gap, 1 plate), the deformation that bends it onto the half gap)."""
    around, out, layers = counts
    mu = rings(radius, out)

    def place(i, j, k):
        return mu[round(i * out)], 2 * np.pi * j, k
    mesh = MakeStructured3DMesh(hexes=True, nx=out, ny=around, nz=layers, periodic_y=True, mapping=place)
    bent = GridFunction(VectorH1(mesh, order=order))
    along, aside = FOCUS * cosh(x) * cos(y), FOCUS * sinh(x) * sin(y)
    c, s = np.cos(angle), np.sin(angle)
    bent.Set(CF((c * along - s * aside - x, s * along + c * aside - y, gap / 2 * z - z)))
    first = (mu[1] - mu[0]) / gap
    print(f"  first ring {first * SHORT:.2f} gaps thick at the tips, {first * LONG:.2f} at the sides")
    return mesh, bent


class Stokes:
    """Factorised Stokes operator on the half gap; lap u = grad p - f, velocity given on outline, plate and far boundary."""

    def __init__(self, mesh, bent, order):
        velocity = Periodic(VectorH1(mesh, order=order, dirichlet="back|front|top"))  # outline, far, plate
        self.space = velocity * Periodic(H1(mesh, order=order - 1))
        self.mesh = mesh
        (u, p), (v, q) = self.space.TnT()
        mesh.SetDeformation(bent)
        self.form = BilinearForm(self.space, symmetric=True, condense=True)
        self.form += (InnerProduct(Grad(u), Grad(v)) - div(u) * q - div(v) * p - PENALTY * p * q) * dx
        self.form.Assemble()
        self.free = BitArray(self.space.FreeDofs(coupling=True))
        middle = velocity.GetDofs(mesh.Boundaries("bottom"))
        for dof in range(2 * velocity.ndof // 3, velocity.ndof):  # w, the last third, is held at mid-gap
            if middle[dof]:
                self.free.Clear(dof)
        self.inverse = self.form.mat.Inverse(self.free, inverse="sparsecholesky")

    def solve(self, force=None, far=None, lifted=None):
        """lifted: a part of the pressure that is known beforehand."""
        v, _ = self.space.TestFunction()
        flow = GridFunction(self.space)
        load = LinearForm(self.space)
        if force is not None:
            load += InnerProduct(force, v) * dx
        if lifted is not None:
            load += lifted * div(v) * dx(bonus_intorder=4)
        load.Assemble()
        if far is not None:
            flow.components[0].Set(far, definedon=self.mesh.Boundaries("front"))
        load.vec.data += self.form.harmonic_extension_trans * load.vec
        rest = load.vec.CreateVector()
        rest.data = load.vec - self.form.mat * flow.vec
        flow.vec.data += self.inverse * rest
        flow.vec.data += self.form.inner_solve * load.vec
        flow.vec.data += self.form.harmonic_extension * flow.vec
        return flow


def far_flow(gap, angle):
    """Parabola times the potential flow past the ellipse with its outline moved out, to the dipole."""
    A, B = LONG + MOVED * gap, SHORT + MOVED * gap
    re = ((A + B) ** 2 - (A ** 2 - B ** 2) * np.cos(2 * angle)) / 4
    im = -(A ** 2 - B ** 2) * np.sin(2 * angle) / 4
    r4 = (x * x + y * y) ** 2
    c2, s2 = (x * x - y * y) / r4, -2 * x * y / r4  # 1/z^2
    parabola = 1.5 * (1 - (2 * z / gap) ** 2)
    return CF((parabola * (1 - re * c2 + im * s2), parabola * (re * s2 + im * c2), 0))


def square_speed(angle):
    """|V|^2 of the ideal flow past the ellipse."""
    turn = CF(complex(np.exp(1j * angle)))
    point = (x + 1j * y) / turn
    root = sqrt(point - FOCUS) * sqrt(point + FOCUS)
    circle = (point + root) / 2  # outside of that of radius (LONG + SHORT)/2
    flow = (turn - ((LONG + SHORT) / 2) ** 2 / (turn * circle ** 2)) * circle / root
    return flow.real ** 2 + flow.imag ** 2


def convection(pairs):
    return sum((Grad(carried) * carrier for carrier, carried in pairs), CF((0, 0, 0)))


def ring_points(gap, angle):
    """Points x + iy of the ring and their weights by area, rows of a polar grid."""
    r, t = np.meshgrid(np.linspace(0.8, REACH, 17), 2 * np.pi * (np.arange(36) + 0.5) / 36)
    points = (r * np.exp(1j * t)).ravel()
    edge = outline(angle, np.linspace(0, 2 * np.pi, 2001))
    inside = elliptic(points, angle).real < START
    apart = np.abs(points[:, None] - edge[None, :]).min(1)
    keep = ~inside & (apart >= NEAR * gap)
    return points[keep], np.abs(points[keep])


def outline(angle, t):
    return np.exp(1j * angle) * FOCUS * np.cosh(START + 1j * t)


def elliptic(points, angle):
    """mu + it, t from 0 to 2 pi."""
    w = np.arccosh(points * np.exp(-1j * angle) / FOCUS)
    return w.real + 1j * np.mod(w.imag, 2 * np.pi)


def sample(mesh, field, points, angle, layers, order):
    """Gap mean and mid-gap velocity, one row of four a point. Fields are read on the box that is not bent."""
    mesh.UnsetDeformation()
    at = elliptic(points, angle)
    nodes, weights = np.polynomial.legendre.leggauss(order + 1)

    def read(zeta):
        return np.array(field(mesh(at.real, at.imag, np.full(len(points), zeta))))[:, :2]
    mean = sum(w / 2 / layers * read((k + (n + 1) / 2) / layers) for k in range(layers) for n, w in zip(nodes, weights))
    return np.hstack([mean, read(1e-12)])


def run(case, gap, order, counts, radius, wanted, terms):
    start = time.time()

    def tell(text):
        print(f"{time.time() - start:6.0f} s  {text}", flush=True)
    angle = ANGLES[case]
    mesh, bent = make_mesh(gap, angle, radius, counts, order)
    stokes = Stokes(mesh, bent, order)
    tell(f"factorised, {mesh.ne} hexahedra, {stokes.space.ndof} unknowns, {sum(stokes.free)} coupled")
    points, area = ring_points(gap, angle)
    strength = extent(angle) / gap ** 2  # of convection, at Re* = 1
    # most of the pressure of inertia is known from the theory of the thin gap; solving for the rest alone makes errors smaller
    lifted = -27 / 35 * strength * square_speed(angle)

    def read(field):
        values = sample(mesh, field, points, angle, counts[2], order)
        mesh.SetDeformation(bent)
        return values
    series = [stokes.solve(far=far_flow(gap, angle)).components[0]]
    tell("Stokes flow")
    for n in range(1, terms + 1):
        force = -strength * convection([(series[k], series[n - 1 - k]) for k in range(n)])
        series.append(stokes.solve(force, lifted=lifted if n == 1 else None).components[0])
        tell(f"coefficient of Re*^{n}")
    columns = [read(u) for u in series]
    names = ["u0"] + [f"u{n}" for n in range(1, terms + 1)]
    for re in wanted:
        flow = finite(stokes, series, re, strength, lifted, far_flow(gap, angle), tell)
        columns.append(read(flow) - columns[0])
        names.append(f"re{re:g}")
    head = ["x", "y", "area"] + [f"{n}_{k}" for n in names for k in ("mx", "my", "cx", "cy")]
    folder = HERE / "ellipses"
    folder.mkdir(exist_ok=True)
    name = f"{case}_b{gap:g}_k{order}_m{'x'.join(map(str, counts))}_R{radius:g}"
    np.savetxt(folder / f"{name}.csv", np.column_stack([points.real, points.imag, area, *columns]), "%.9g", ",",
               header=",".join(head), comments="")
    memory = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 2 ** 20
    tell(f"wrote {name}.csv, {len(points)} points; {memory:.1f} GB at most")


def finite(stokes, series, re, strength, lifted, far, tell):
    """Navier-Stokes at Re*: steps of u -> Stokes flow driven by the convection of u, mixed over the last ones (Anderson)."""
    flow = GridFunction(stokes.space)
    velocity = flow.components[0]
    velocity.vec.data = series[0].vec + re * series[1].vec
    seen = []
    for step in range(60):
        made = stokes.solve(-re * strength * convection([(velocity, velocity)]), far, re * lifted).components[0].vec
        apart = made.FV().NumPy() - velocity.vec.FV().NumPy()
        change = np.linalg.norm(apart) / np.linalg.norm(made.FV().NumPy())
        seen = [*seen, (made.FV().NumPy().copy(), apart)][-MIXED:]
        tell(f"Re* {re:g}, step {step + 1}: residual {change:.1e}")
        if change < 1e-6:
            return velocity
        velocity.vec.FV().NumPy()[:] = mix(seen)
    raise SystemExit("no convergence")


def mix(seen):
    made, apart = (np.array(column) for column in zip(*seen))
    if len(seen) == 1:
        return made[0]
    share = np.linalg.lstsq(np.diff(apart, axis=0).T, apart[-1], rcond=None)[0]
    return made[-1] - share @ np.diff(made, axis=0)


def main():
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--case", choices=ANGLES, required=True)
    parser.add_argument("--gap", type=float, default=0.15)
    parser.add_argument("--order", type=int, default=4)
    parser.add_argument("--mesh", type=int, nargs=3, default=[36, 18, 2], help="hexahedra around, outwards, over the half gap")
    parser.add_argument("--radius", type=float, default=14)
    parser.add_argument("--terms", type=int, default=2)
    parser.add_argument("--re", type=float, nargs="*", default=[])
    given = parser.parse_args()
    SetNumThreads(1)
    run(given.case, given.gap, given.order, given.mesh, given.radius, given.re, given.terms)


if __name__ == "__main__":
    main()
