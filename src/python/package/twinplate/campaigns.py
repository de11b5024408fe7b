"""Campaigns: many runs of one case with other values, by shares that any number of processes do on one folder."""

from __future__ import annotations

import json
import os
from pathlib import Path
from typing import Any, NamedTuple, Optional, Union

from . import _core

Place = Union[str, "os.PathLike[str]"]


class Share(NamedTuple):
    """What a share has come to."""

    #: Runs that are known now.
    known: int
    #: Those of them that failed.
    failed: int
    #: Runs of the share.
    of: int


def _place(plan: Place, output: Optional[Place], replace: bool) -> dict[str, Any]:
    return {"plan": Path(plan), "output": None if output is None else Path(output), "replace": replace}


def campaign(
    plan: Place,
    *,
    part: tuple[int, int] = (1, 1),
    output: Optional[Place] = None,
    threads: Optional[int] = None,
    replace: bool = False,
) -> Share:
    """Does what is left of a share of a plan: ``part=(3, 40)`` is the third of forty.

    Each run is stored in ``output`` (``results/STEM`` if none is named) as soon as it is done; runs that are there are not done again.
    Shares may be done anywhere on a shared folder, in any order, by the program as well; :func:`collect` joins them. ``threads`` runs go on
    at once, one for each core if it is not given. ``replace`` throws away the runs of another plan that stand there.
    """
    number, of = part
    return Share(*_core.campaign(_place(plan, output, replace), (number, of), threads))


def collect(plan: Place, *, output: Optional[Place] = None, replace: bool = False) -> dict[str, Any]:
    """Joins what all shares have done: writes campaign.csv and campaign.json, and gives what campaign.json says of all runs together.

    Runs that nobody has done are ``missing`` there; ``["campaign"]["missing"]`` counts them.
    """
    found: dict[str, Any] = json.loads(_core.collect(_place(plan, output, replace)))
    return found
