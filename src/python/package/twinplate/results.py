"""What runs found."""

from __future__ import annotations

import json
import os
from functools import cached_property
from typing import Any, NamedTuple, Optional, Union

import numpy as np
from numpy.typing import ArrayLike, NDArray

from ._core import Run

Floats = NDArray[np.float64]


class ShapeFactor(NamedTuple):
    """The conduction shape factor Q/(K dp), K = b^3/(12 mu), with its bounds: lower <= exact <= upper on the polygon that is meshed."""

    value: float
    lower: float
    upper: float
    relative_half_width: float
    #: What chords in place of curved outlines can add to either side, to first order.
    outline_allowance: float


class Mesh(NamedTuple):
    """A mesh of triangles."""

    #: Places of its vertices, m, shape (n, 2).
    points: Floats
    #: Vertices of its triangles, shape (m, 3).
    triangles: NDArray[np.uint32]


class Streakline(NamedTuple):
    """A streakline, with the points that its file has."""

    #: Its points, m, shape (n, 2).
    points: Floats
    #: Time since the start, s.
    time: Floats
    #: Speed, m/s.
    speed: Floats
    #: Height between the plates: 0 at mid-gap, -1 and 1 at the plates.
    height: Floats
    #: Flux between the lower side wall and the line, m3/s.
    stream_function: float


class Result:
    """What a run found: the report, and the solved pattern that it is about."""

    def __init__(self, run: Run) -> None:
        self._run = run

    @cached_property
    def report(self) -> dict[str, Any]:
        """The report as report.json has it, less what tells of the run and its files: run, timings_s, files, file_sizes_bytes."""
        found: dict[str, Any] = json.loads(self._run.report_json())
        return found

    def rows(self, table: Optional[str] = None) -> list[dict[str, Any]]:
        """Records that pandas takes: every quantity (path, name, value, unit, error, meaning), or the entries of one table of the
        report, by its keys joined by dots: ``rows("departure.contributions")``."""
        if table is None:
            return self._run.quantities()
        at: Any = self.report
        for key in table.split("."):
            at = at.get(key) if isinstance(at, dict) else None
        if not isinstance(at, list) or not all(isinstance(entry, dict) for entry in at):
            raise KeyError(f"the report has no table {table}; it has {', '.join(_tables(self.report))}")
        return at

    @cached_property
    def shape_factor(self) -> ShapeFactor:
        """The shape factor with its bounds."""
        return ShapeFactor(*self._run.shape_factor())

    @property
    def title(self) -> str:
        """Title of the case."""
        return self._run.title

    @property
    def reached(self) -> bool:
        """Whether the wanted accuracy was reached."""
        return self._run.reached

    @cached_property
    def _both(self) -> tuple[dict[str, Any], dict[str, Any]]:
        return self._run.fields()

    @property
    def fields(self) -> dict[str, Floats]:
        """Fields at the vertices by the names in fields.vtu; vectors have three components."""
        return self._both[0]

    @property
    def cell_fields(self) -> dict[str, Any]:
        """Fields on the triangles by the names in fields.vtu."""
        return self._both[1]

    @cached_property
    def units(self) -> dict[str, str]:
        """Units of the fields, "1" for plain numbers."""
        return self._run.units()

    @cached_property
    def mesh(self) -> Mesh:
        """The mesh."""
        return Mesh(*self._run.mesh())

    @cached_property
    def streaklines(self) -> list[Streakline]:
        """The streaklines, from the lower side wall upwards."""
        return [Streakline(**line) for line in self._run.streaklines()]

    def sample(self, places: ArrayLike) -> dict[str, Any]:
        """All that is known at places, shape (n, 2), m: an array by the name of each column of the program's ``sample``, not a number in
        solids and outside the cell; ``inside`` is true in the fluid."""
        at = np.asarray(places, dtype=np.float64)
        if at.ndim != 2 or at.shape[1] != 2:
            raise ValueError(f"places have the shape {at.shape}; give an array of the shape (n, 2)")
        columns, inside = self._run.sample(at.tolist())
        return {**columns, "inside": inside}

    def _repr_svg_(self) -> str:
        return self._run.svg()

    def __repr__(self) -> str:
        shape = self.shape_factor
        return f"<{self.title}: shape factor {shape.value:.6g} in [{shape.lower:.6g}, {shape.upper:.6g}]>"


class Solved(Result):
    """A solved case."""

    def write(self, folder: Union[str, "os.PathLike[str]"], replace: bool = False) -> None:
        """Writes the files that the program writes; a folder with results of another case is refused unless they may be replaced."""
        self._run.write(folder, replace)


def _tables(record: dict[str, Any], above: str = "") -> list[str]:
    found: list[str] = []
    for key, value in record.items():
        if isinstance(value, dict):
            found += _tables(value, f"{above}{key}.")
        elif isinstance(value, list) and value and all(isinstance(entry, dict) for entry in value):
            found.append(above + key)
    return found
