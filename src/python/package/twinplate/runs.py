"""The runs. Each works with the GIL released, on all cores if not told otherwise; Ctrl-C stops it."""

from __future__ import annotations

import json
import os
from collections.abc import Iterable
from typing import Any, Callable, Optional, Union

from . import _core
from ._case import Case, Given
from .errors import CaseError
from .results import Result, Solved

Folder = Union[str, "os.PathLike[str]", None]


def _run(case: Case, folder: Folder, work: Callable[[dict[str, Any]], _core.Run]) -> _core.Run:
    given = Given(case, folder)
    try:
        return work(given.source)
    except CaseError as error:
        raise given.named(error) from None


def _options(
    triangles: Optional[int], error: Optional[float], order: Optional[int], threads: Optional[int]
) -> dict[str, Any]:
    return {"triangles": triangles, "error": error, "order": order, "threads": threads}


def solve(
    case: Case,
    *,
    inertia: bool = False,
    edge_layer: bool = False,
    closure: bool = False,
    triangles: Optional[int] = None,
    error: Optional[float] = None,
    order: Optional[int] = None,
    threads: Optional[int] = None,
    folder: Folder = None,
) -> Solved:
    """The ideal pattern with its bounds, and the corrections asked for.

    ``case`` is a case file, or a dict of its tables whose files are relative to ``folder``. ``error`` is the wanted relative half-width
    of the bounds in place of ``mesh.error``, ``triangles`` asks for one mesh of about so many instead; ``order`` is that of inertia.
    """
    options = _options(triangles, error, order, threads)
    return Solved(_run(case, folder, lambda source: _core.solve(source, inertia, edge_layer, closure, options)))


def departure(
    case: Case,
    *,
    closure: bool = False,
    triangles: Optional[int] = None,
    error: Optional[float] = None,
    order: Optional[int] = None,
    threads: Optional[int] = None,
    folder: Folder = None,
) -> Solved:
    """How far the pattern departs from the ideal one: every effect, the sweep, the verdict. Arguments as of :func:`solve`."""
    options = _options(triangles, error, order, threads)
    return Solved(_run(case, folder, lambda source: _core.departure(source, closure, options)))


def rig(
    case: Case,
    *,
    triangles: Optional[int] = None,
    error: Optional[float] = None,
    order: Optional[int] = None,
    threads: Optional[int] = None,
    folder: Folder = None,
) -> Result:
    """The design sheet of the cell; ``report`` is rig.json. Arguments as of :func:`solve`."""
    options = _options(triangles, error, order, threads)
    return Result(_run(case, folder, lambda source: _core.rig(source, options)))


def converge(
    case: Case,
    *,
    levels: Optional[int] = None,
    sizes: Optional[Iterable[int]] = None,
    adaptive: bool = False,
    inertia: bool = False,
    edge_layer: bool = False,
    departure: bool = False,
    also: Iterable[str] = (),
    order: Optional[int] = None,
    threads: Optional[int] = None,
    folder: Folder = None,
) -> Result:
    """Is it converged? The case on a ladder of meshes; fields and lines are those of the finest.

    ``levels`` is the number of meshes, ``sizes`` lists numbers of triangles in their place, ``also`` names further numbers of the
    report by their keys joined by dots. Other arguments as of :func:`solve`.
    """
    ladder = {
        "levels": levels,
        "sizes": None if sizes is None else [int(size) for size in sizes],
        "adaptive": adaptive,
        "inertia": inertia,
        "edge_layer": edge_layer,
        "departure": departure,
        "also": list(also),
    }
    options = _options(None, None, order, threads)
    return Result(_run(case, folder, lambda source: _core.converge(source, ladder, options)))


def schema(of: str = "report") -> dict[str, Any]:
    """The JSON schema (2020-12) of "report" or "case"."""
    if of not in ("report", "case"):
        raise ValueError(f'schema of "{of}": give "report" or "case"')
    found: dict[str, Any] = json.loads(_core.schema(of == "case"))
    return found
