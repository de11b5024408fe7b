#!/usr/bin/env python3
"""Solves the two posts (two_posts.toml) with one stack of general-purpose libraries: `stack.py cholesky|vendor|multigrid N FOLDER`.

Runs inside the scratch environment of compare.py, in a process of its own; prints what it found and the seconds of its stages.
"""
import json
import pathlib
import sys
import time

import numpy as np

POSTS = (((0.6, 0.45), 0.14), ((1.3, 0.6), 0.12))
LENGTH, WIDTH = 2.0, 1.0


def make_mesh(triangles):
    """Delaunay mesh, no angle below 28 degrees, areas below a ceiling that gives about the wanted number; marks of vertices:
    0 on the channel, 1 and 2 on the posts, less inside."""
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


def run(stack, triangles, folder):
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


if __name__ == "__main__":
    run(sys.argv[1], int(sys.argv[2]), sys.argv[3])
