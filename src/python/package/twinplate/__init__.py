"""How far is the flow between two close plates from the ideal pattern it shows?

>>> import twinplate as tp
>>> s = tp.solve("meshes/two_piers.toml", inertia=True)
>>> s.shape_factor.lower <= s.shape_factor.value <= s.shape_factor.upper
True

Lengths and all else are in SI, angles in degrees where a name says so. Numbers are those of the program, to the last digit.
"""

from ._core import __version__
from .campaigns import Share, campaign, collect
from .errors import CaseError, Error, FileError, FolderError, Problem, SolveError, TooLargeError, UsageError
from .results import Mesh, Result, ShapeFactor, Solved, Streakline
from .runs import converge, departure, rig, schema, solve

__all__ = [
    "CaseError",
    "Error",
    "FileError",
    "FolderError",
    "Mesh",
    "Problem",
    "Result",
    "ShapeFactor",
    "Share",
    "SolveError",
    "Solved",
    "Streakline",
    "TooLargeError",
    "UsageError",
    "__version__",
    "campaign",
    "collect",
    "converge",
    "departure",
    "rig",
    "schema",
    "solve",
]
