#!/usr/bin/env python3
"""Times twinplate against what a competent Python user would put together from general-purpose libraries.

    python3 validation/speed/compare.py --program target/release/twinplate [--triangles 1M] [--runs 3] [--write]

Every tool does the same work in a process of its own, timed whole: a quality mesh of the two posts (two_posts.toml) with
about N triangles, the pressure and the stream function (each post one tied unknown), gradients, one VTU file. The tools
take turns, run after run, and medians are given. The stacks live in a scratch environment that this script makes; a
stack that does not install is named in capitals and left out, and the exit code is 1. --write puts the table into README.md.
"""
import argparse
import datetime
import json
import os
import pathlib
import platform
import statistics
import subprocess
import sys
import tempfile
import time

HERE = pathlib.Path(__file__).resolve().parent
BASE = ["numpy==2.4.6", "scipy==1.17.1", "triangle==20250106"]
STACKS = {  # name: (what to install besides BASE, what it is)
    "cholesky": ("scikit-sparse==0.4.16", "triangle + numpy + scikit-sparse (CHOLMOD, supernodal)"),
    "vendor": ("pypardiso==0.4.7", "triangle + numpy + pypardiso (MKL)"),
    "multigrid": ("pyamg==5.4.1", "triangle + numpy + pyamg (CG to a residual of 1e-8)"),
}
APT = "apt-get install libsuitesparse-dev libopenblas0-pthread"  # CHOLMOD's headers, and a BLAS that is not the slow one
POSTS = (((0.6, 0.45), 0.14), ((1.3, 0.6), 0.12))
LENGTH, WIDTH = 2.0, 1.0


# ---- one stack, run inside the scratch environment ----
def make_mesh(triangles):
    """Delaunay mesh, no angle below 28 degrees, areas below a ceiling that gives about the wanted number; marks of vertices:
    0 on the channel, 1 and 2 on the posts, less inside."""
    import numpy as np
    import triangle
    ceiling = 1.537 * (LENGTH * WIDTH - np.pi * sum(r * r for _, r in POSTS)) / triangles
    side = np.sqrt(4 / np.sqrt(3) * ceiling / 1.3)
    points, segments, marks = [np.array([[0, 0], [LENGTH, 0], [LENGTH, WIDTH], [0, WIDTH]])], [], []
    for centre, r in POSTS:
        n = int(np.ceil(2 * np.pi * r / side))
        t = 2 * np.pi * np.arange(n) / n
        points.append(np.c_[centre[0] + r * np.cos(t), centre[1] + r * np.sin(t)])
    start = 0
    for number, ring in enumerate(points):
        i = np.arange(len(ring))
        segments.append(start + np.c_[i, np.roll(i, -1)])
        marks.append(np.full(len(ring), 2 + number))
        start += len(ring)
    plan = {"vertices": np.vstack(points), "segments": np.vstack(segments), "holes": [c for c, _ in POSTS],
            "segment_markers": np.hstack(marks)}
    mesh = triangle.triangulate(plan, f"pq28a{ceiling:.15f}Q")
    return mesh["vertices"], mesh["triangles"].astype(np.int32), mesh["vertex_markers"].ravel() - 2


def assemble(stiffness, corners, dof, fixed):
    """Matrix and load of the free unknowns; dof >= 0 numbers them (tied vertices share one), -1 means a fixed value."""
    import numpy as np
    import scipy.sparse as sparse
    count = int(dof.max()) + 1
    rows, cols = np.repeat(corners, 3, axis=1).ravel(), np.tile(corners, (1, 3)).ravel()
    row, col, values = dof[rows], dof[cols], stiffness.ravel()
    inner, edge = (row >= 0) & (col >= 0), (row >= 0) & (col < 0)
    matrix = sparse.coo_matrix((values[inner], (row[inner], col[inner])), shape=(count, count)).tocsr()
    return matrix, -np.bincount(row[edge], values[edge] * fixed[cols[edge]], minlength=count)


def solve(stack, matrix, load):
    if stack == "cholesky":
        from sksparse.cholmod import cholesky
        return cholesky(matrix.tocsc(), mode="supernodal", ordering_method="default")(load)
    if stack == "vendor":
        import scipy.sparse as sparse
        from pypardiso import PyPardisoSolver
        solver = PyPardisoSolver(mtype=2)
        solution = solver.solve(sparse.triu(matrix, format="csr"), load)
        solver.free_memory(everything=True)
        return solution.ravel()
    import pyamg
    return pyamg.ruge_stuben_solver(matrix, max_coarse=500).solve(load, tol=1e-8, accel="cg", maxiter=200)


def write_vtu(path, points, corners, point_data, cell_data):
    """Raw appended data: nothing faster opens in a viewer."""
    import numpy as np
    blocks, offset = [], 0

    def array(name, data):
        nonlocal offset
        kind = {"f": "Float", "i": "Int", "u": "UInt"}[data.dtype.kind] + str(8 * data.dtype.itemsize)
        width = data.shape[1] if data.ndim == 2 else 1
        blocks.append(np.ascontiguousarray(data))
        tag = (f'<DataArray type="{kind}" Name="{name}" NumberOfComponents="{width}" format="appended"'
               f' offset="{offset}"/>')
        offset += 8 + data.nbytes
        return tag

    def space(v):
        return np.c_[v, np.zeros(len(v))]

    n = len(corners)
    head = [f'<VTKFile type="UnstructuredGrid" version="1.0" byte_order="LittleEndian" header_type="UInt64">'
            f'<UnstructuredGrid><Piece NumberOfPoints="{len(points)}" NumberOfCells="{n}"><Points>',
            array("points", space(points)), "</Points><Cells>", array("connectivity", corners.ravel()),
            array("offsets", np.arange(3, 3 * n + 1, 3, dtype=np.int64)), array("types", np.full(n, 5, np.uint8)),
            "</Cells><PointData>", *(array(k, space(v) if v.ndim == 2 else v) for k, v in point_data.items()),
            "</PointData><CellData>", *(array(k, space(v) if v.ndim == 2 else v) for k, v in cell_data.items()),
            '</CellData></Piece></UnstructuredGrid><AppendedData encoding="raw">_']
    with open(path, "wb") as out:
        out.write("".join(head).encode())
        for block in blocks:
            out.write(np.uint64(block.nbytes).tobytes())
            block.tofile(out)
        out.write(b"</AppendedData></VTKFile>")


def run_stack(stack, triangles, folder):
    import numpy as np
    marks = [("start", time.perf_counter())]
    points, corners, mark = make_mesh(triangles)
    marks.append(("mesh", time.perf_counter()))
    x, y = points[:, 0][corners], points[:, 1][corners]
    b, c = np.roll(y, -1, 1) - np.roll(y, 1, 1), np.roll(x, 1, 1) - np.roll(x, -1, 1)
    area = 0.5 * (b[:, 0] * c[:, 1] - b[:, 1] * c[:, 0])
    stiffness = (b[:, :, None] * b[:, None, :] + c[:, :, None] * c[:, None, :]) / (4 * area)[:, None, None]
    ends = (points[:, 0] == 0) | (points[:, 0] == LENGTH)
    walls = (points[:, 1] == 0) | (points[:, 1] == WIDTH)
    post = np.maximum(mark, 0)

    def unknown(held, fixed, tied):
        free = ~held & (tied == 0)
        dof = np.where(free, np.cumsum(free) - 1, -1)
        dof = np.where(tied > 0, free.sum() + tied - 1, dof)
        matrix, load = assemble(stiffness, corners, dof, fixed)
        value = np.where(held, fixed, 0.0)
        value[~held] = solve(stack, matrix, load)[dof[~held]]
        local = value[corners]
        gradient = np.stack([(b * local).sum(1), (c * local).sum(1)], 1) / (2 * area)[:, None]
        return value, gradient, float((area * (gradient ** 2).sum(1)).sum())

    p, grad_p, upper = unknown(ends, 1 - points[:, 0] / LENGTH, np.zeros_like(post))
    psi, grad_psi, energy = unknown(walls, points[:, 1] / WIDTH, post)
    lower = 1 / energy
    marks.append(("solve", time.perf_counter()))
    velocity = -grad_p
    excess = area * ((grad_p + lower * np.stack([grad_psi[:, 1], -grad_psi[:, 0]], 1)) ** 2).sum(1)
    weight = np.bincount(corners.ravel(), np.repeat(area, 3))
    nodal = np.stack([np.bincount(corners.ravel(), np.repeat(area * v, 3)) for v in velocity.T], 1) / weight[:, None]
    write_vtu(pathlib.Path(folder) / "fields.vtu", points, corners,
              {"pressure": p, "stream_function": psi, "velocity": nodal, "speed_ratio": np.hypot(*nodal.T)},
              {"velocity_cell": velocity, "bracket_density": excess})
    marks.append(("write", time.perf_counter()))
    print(json.dumps({"triangles": len(corners), "lower": lower, "upper": upper,
                      "half_width": (upper - lower) / (upper + lower),
                      "stages": {name: t - s for (_, s), (name, t) in zip(marks, marks[1:])}}))


# ---- the comparison ----
def prepare(folder):
    """The scratch environment and the stacks that installed."""
    python = folder / "venv" / "bin" / "python"
    if not python.exists():
        subprocess.run([sys.executable, "-m", "venv", str(folder / "venv")], check=True)
    install = [str(python), "-m", "pip", "install", "-q", "--disable-pip-version-check"]
    subprocess.run(install + BASE, check=True)
    ready = []
    for stack, (package, _) in STACKS.items():
        if subprocess.run(install + [package], capture_output=True).returncode == 0:
            ready.append(stack)
        else:
            print(f"DID NOT INSTALL: {package}, LEFT OUT (Debian: {APT})", file=sys.stderr)
    return python, ready


def measure(command, environment):
    """Output, wall seconds, processor seconds and peak memory in MB of one process."""
    with tempfile.TemporaryFile() as out:
        begin = time.perf_counter()
        process = subprocess.Popen(command, stdout=out, env=environment)
        _, status, usage = os.wait4(process.pid, 0)
        wall = time.perf_counter() - begin
        process.returncode = os.waitstatus_to_exitcode(status)
        out.seek(0)
        text = out.read().decode()
    if process.returncode != 0:
        raise RuntimeError(f"exit code {process.returncode}: {' '.join(map(str, command))}")
    return text, wall, usage.ru_utime + usage.ru_stime, usage.ru_maxrss / 1024


def processor():
    for line in pathlib.Path("/proc/cpuinfo").read_text().splitlines():
        if line.startswith("model name"):
            return line.split(":")[1].strip()
    return platform.processor()


def table(results, triangles, runs):
    own = results["twinplate"]
    lines = [f"{triangles:,} triangles asked for, medians of {runs}, {datetime.date.today()}, {processor()},"
             f" {os.cpu_count()} cores, load average before the runs {results['load']:.2f}:", "",
             "| tool | triangles | wall s | time ratio | processor s | peak MB | memory ratio | relative half-width |"
             " half-width ratio |", "|---|---|---|---|---|---|---|---|---|"]
    for tool in ("twinplate", *STACKS):
        if tool in results:
            r = results[tool]
            name = STACKS[tool][1] if tool in STACKS else "twinplate solve two_posts.toml"
            lines.append(f"| {name} | {r['triangles']:,} | {r['wall']:.2f} | {r['wall'] / own['wall']:.1f} | {r['cpu']:.2f}"
                         f" | {r['memory']:.0f} | {r['memory'] / own['memory']:.2f} | {r['half_width']:.2e}"
                         f" | {r['half_width'] / own['half_width']:.2f} |")
        else:
            lines.append(f"| {STACKS[tool][1]} | did not install or run |")
    stages = [f"{t}: " + ", ".join(f"{k} {v:.2f}" for k, v in results[t]["stages"].items()) for t in results if t != "load"]
    return "\n".join(lines + ["", "Stages of the last run, s: " + "; ".join(stages) + "."])


def main():
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--program", default=str(HERE.parents[1] / "target/release/twinplate"))
    parser.add_argument("--triangles", default="1M", help="1M, 4M or a number")
    parser.add_argument("--runs", type=int, default=3)
    parser.add_argument("--folder", default=str(pathlib.Path(tempfile.gettempdir()) / "twinplate_speed"))
    parser.add_argument("--write", action="store_true", help="put the table into README.md")
    parser.add_argument("--stack", help=argparse.SUPPRESS)
    given = parser.parse_args()
    triangles = int(float(given.triangles.upper().replace("M", "e6")))
    folder = pathlib.Path(given.folder)
    if given.stack:
        return run_stack(given.stack, triangles, folder)
    folder.mkdir(parents=True, exist_ok=True)
    python, ready = prepare(folder)
    environment = {k: v for k, v in os.environ.items() if k not in ("OPENBLAS_CORETYPE", "OPENBLAS_L2_SIZE")}
    commands = {"twinplate": [given.program, "solve", str(HERE / "two_posts.toml"), "--triangles", str(triangles), "--json",
                              "--force", "-o", str(folder / "twinplate")]}
    for stack in ready:
        (folder / stack).mkdir(exist_ok=True)
        commands[stack] = [str(python), __file__, "--stack", stack, "--triangles", str(triangles), "--folder", str(folder / stack)]
    results, samples = {"load": os.getloadavg()[0]}, {tool: [] for tool in commands}
    for turn in range(given.runs):
        for tool, command in commands.items():
            try:
                text, *figures = measure(command, environment)
            except (OSError, RuntimeError) as fault:
                print(f"DID NOT RUN: {tool}, {fault}", file=sys.stderr)
                continue
            print(f"run {turn + 1}: {tool} {figures[0]:.2f} s, {figures[2]:.0f} MB", file=sys.stderr, flush=True)
            samples[tool].append((json.loads(text), *figures))
    if not samples["twinplate"]:
        sys.exit("twinplate itself did not run: nothing to compare with")
    for tool, runs in samples.items():
        if runs:
            last = runs[-1][0]
            if tool == "twinplate":
                last = {"triangles": last["mesh"]["triangles"], "half_width": last["shape_factor"]["relative_half_width"],
                        "stages": {k: v for k, v in last["timings_s"].items() if k != "total"}}
            wall, cpu, memory = (statistics.median(r[i] for r in runs) for i in (1, 2, 3))
            results[tool] = {**last, "wall": wall, "cpu": cpu, "memory": memory}
    text = table(results, triangles, given.runs)
    print(text)
    if given.write:
        readme = HERE / "README.md"
        begin, end = f"<!-- {triangles} -->", f"<!-- end {triangles} -->"
        page = readme.read_text()
        if begin not in page:
            page += f"\n{begin}\n{end}\n"
        readme.write_text(page.split(begin)[0] + f"{begin}\n{text}\n" + end + page.split(end)[1])
    return 0 if all(len(samples.get(s, [])) == given.runs for s in STACKS) else 1


if __name__ == "__main__":
    sys.exit(main())
