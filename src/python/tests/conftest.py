"""The demos, and the program to compare with where it is built."""

import json
import os
import subprocess
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[3]


@pytest.fixture
def piers():
    return ROOT / "meshes" / "two_piers.toml"


@pytest.fixture
def pier():
    """A case as a dict."""
    return {
        "title": "pier",
        "cell": {"length": "200 mm", "width": "100 mm", "gap": "0.5 mm"},
        "fluid": {"name": "water", "temperature": "20 degC"},
        "drive": {"mean_speed": "1 mm/s"},
        "obstacle": [{"name": "pier", "circle": {"centre": [0.1, 0.05], "diameter": 0.04}}],
        "probe": [{"name": "shoulder", "at": [0.1, 0.08]}],
    }


@pytest.fixture
def program(tmp_path):
    """The report of a command of the program; skipped where TWINPLATE names no program."""
    name = os.environ.get("TWINPLATE")
    if not name:
        pytest.skip("TWINPLATE names no program to compare with")

    def report(command, case, *options):
        run = [name, command, str(case), "--json", "-o", str(tmp_path / command), *options]
        return json.loads(subprocess.run(run, check=True, capture_output=True, text=True).stdout)

    return report


def shared(report):
    """A report without what tells of the run and its files."""
    return {k: v for k, v in report.items() if k not in ("run", "timings_s", "files", "file_sizes_bytes")}
