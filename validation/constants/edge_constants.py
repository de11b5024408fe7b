#!/usr/bin/env python3
"""The two universal constants of a straight edge between plates, computed again with scikit-fem.

    python3 validation/constants/edge_constants.py

delta*/b, the displacement thickness, and C1, the edge inertia constant (README.md derives both). Taylor-Hood elements of
degree 4/3 on three meshes graded into the corner where edge and plate meet. Makes its own scratch environment in the
folder for temporary files. Exit code 0 if both constants agree with those of the program to 1e-6, else 1.
"""
import os
import pathlib
import subprocess
import sys
import tempfile

PACKAGES = ["numpy==2.4.6", "scipy==1.17.1", "scikit-fem==12.0.2"]
DISPLACEMENT, INERTIA, TOLERANCE = 0.315124438, 0.05208015, 1e-6
REACH = 10.0  # of the cross-section, in gaps: what is cut off falls as REACH exp(-pi REACH), some 1e-7 of C1 at 6, 1e-12 at 10


def enter_scratch_environment():
    """Runs this script again with the Python of a scratch environment that holds PACKAGES."""
    home = pathlib.Path(tempfile.gettempdir()) / "twinplate_validation_constants"
    python = home / "bin" / "python"
    if pathlib.Path(sys.prefix) != home:
        if not python.exists():
            subprocess.run([sys.executable, "-m", "venv", str(home)], check=True)
        subprocess.run([str(python), "-m", "pip", "install", "-q", "--disable-pip-version-check", *PACKAGES], check=True)
        os.execv(python, [str(python), __file__, *sys.argv[1:]])


def section(columns, rows):
    """Half of the cross-section, 0 <= n <= REACH, 0 <= z <= 1/2 (z = 0 is mid-gap), graded into the corner (0, 1/2)."""
    import numpy as np
    from skfem import MeshTri
    n = REACH * np.linspace(0, 1, columns + 1) ** 3
    z = 0.5 * (1 - np.linspace(1, 0, rows + 1) ** 2)
    return MeshTri.init_tensor(n, z).with_boundaries({
        "edge": lambda x: x[0] < 1e-12, "plate": lambda x: x[1] > 0.5 - 1e-12,
        "mid": lambda x: x[1] < 1e-12, "far": lambda x: x[0] > REACH - 1e-12})


def constants(columns, rows):
    """(delta*/b, C1) on one mesh."""
    import numpy as np
    from skfem import Basis, BilinearForm, ElementTriP3, ElementTriP4, ElementVector, Functional, LinearForm, bmat
    from skfem import condense, solve
    from skfem.helpers import ddot, div, dot, grad

    mesh = section(columns, rows)
    line = Basis(mesh, ElementTriP4(), intorder=12)  # phi, chi
    flow = Basis(mesh, ElementVector(ElementTriP4()), intorder=12)  # (v, w)
    pressure = line.with_element(ElementTriP3())
    laplace = BilinearForm(lambda u, t, _: dot(grad(u), grad(t))).assemble(line)
    solid = line.get_dofs({"edge", "plate"})
    mean = Functional(lambda d: 2 * d["u"])  # z from 0 to 1/2 stands for the whole gap

    # lap phi = -12, phi = 0 on solids
    phi = solve(*condense(laplace, LinearForm(lambda t, _: 12 * t).assemble(line), D=solid))
    displacement = REACH - mean.assemble(line, u=line.interpolate(phi))

    # lap (v, w) = grad P, v_n + w_z = -phi; no slip; far away (v, w) = (-(n - delta*) F, 0); w = 0 at mid-gap
    viscous = BilinearForm(lambda u, t, _: ddot(grad(u), grad(t))).assemble(flow)
    divergence = BilinearForm(lambda u, q, _: -div(u) * q).assemble(flow, pressure)
    source = LinearForm(lambda q, d: d["phi"] * q).assemble(pressure, phi=line.interpolate(phi))
    system = bmat([[viscous, divergence.T], [divergence, None]], "csr")
    load = np.concatenate([np.zeros(flow.N), source])
    value = np.zeros(flow.N + pressure.N)
    far = flow.get_dofs("far")
    v_far = far.all(["u^1"])
    value[v_far] = -(REACH - displacement) * 1.5 * (1 - 4 * flow.doflocs[1, v_far] ** 2)
    held = np.unique(np.concatenate([flow.get_dofs({"edge", "plate"}).all(), far.all(),
                                     flow.get_dofs("mid").all(["u^2"]), [flow.N]]))  # the last pins the pressure
    velocity = solve(*condense(system, load, x=value, D=held))[:flow.N]

    # lap chi = -54/35 + phi^2 + v phi_n + w phi_z, chi = 0 on solids, no change along n far away
    def inertia(t, d):
        return (54 / 35 - d["phi"] ** 2 - dot(d["velocity"], grad(d["phi"]))) * t
    right = LinearForm(inertia).assemble(line, phi=line.interpolate(phi), velocity=flow.interpolate(velocity))
    chi = solve(*condense(laplace, right, D=solid))
    return displacement, mean.assemble(line, u=line.interpolate(chi))


def main():
    print(f"{'mesh':>9} {'delta*/b':>15} {'C1':>15}")
    figures = []
    for columns, rows in ((12, 5), (24, 10), (48, 14)):
        figures.append(constants(columns, rows))
        print(f"{columns:>5} x{rows:>2} {figures[-1][0]:15.11f} {figures[-1][1]:15.11f}", flush=True)
    good = True
    for name, expected, coarse, fine in zip(("delta*/b", "C1"), (DISPLACEMENT, INERTIA), figures[-2], figures[-1]):
        difference, change = abs(fine - expected), abs(fine - coarse)
        good &= difference <= TOLERANCE and change <= TOLERANCE
        print(f"{name}: {fine:.10f}, last change {change:.1e}, program's {expected}, difference {difference:.1e}")
    print("agree" if good else f"DIFFER by more than {TOLERANCE}")
    return 0 if good else 1


if __name__ == "__main__":
    enter_scratch_environment()
    sys.exit(main())
