"""What runs give: the numbers of the program, arrays that belong together, records."""

import subprocess
import sys
import xml.etree.ElementTree as ElementTree

import numpy as np
import pytest
import twinplate as tp
from conftest import shared

COARSE = {"triangles": 2000}


def test_nothing_is_printed_on_import():
    run = subprocess.run([sys.executable, "-c", "import twinplate"], check=True, capture_output=True)
    assert (run.stdout, run.stderr) == (b"", b"")


def test_a_solve_hangs_together(piers):
    s = tp.solve(piers, inertia=True, edge_layer=True, **COARSE)
    shape = s.shape_factor
    assert shape.lower <= shape.value <= shape.upper
    assert s.report["shape_factor"]["value"] == shape.value
    points, triangles = s.mesh
    assert points.shape == (s.report["mesh"]["vertices"], 2) and triangles.shape == (s.report["mesh"]["triangles"], 3)
    assert triangles.max() == len(points) - 1
    for name in ("pressure", "stream_function", "velocity", "speed_ratio", "pressure_coefficient", "inertia_pressure"):
        assert len(s.fields[name]) == len(points) and np.isfinite(s.fields[name]).all(), name
    assert s.fields["velocity"].shape == (len(points), 3) and s.units["velocity"] == "m/s"
    assert s.fields is s.fields and s.mesh is s.mesh
    assert set(np.unique(s.cell_fields["validity"])) <= {0, 1, 2}
    # the computable error is shared out whole: a sum over triangles, off by rounding
    share = s.cell_fields["bracket_density"].sum()
    assert share == pytest.approx(shape.upper - shape.lower, rel=1e-9)
    # the energy of the pressure is the upper bound: S = integral of |grad p|^2 over the square of the drop, for the gap is even
    corners = points[triangles]
    e, f = corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0]
    double = e[:, 0] * f[:, 1] - e[:, 1] * f[:, 0]
    assert (double > 0).all()
    p = s.fields["pressure"][triangles]
    d, g = p[:, 1] - p[:, 0], p[:, 2] - p[:, 0]
    square = ((d * f[:, 1] - g * e[:, 1]) ** 2 + (g * e[:, 0] - d * f[:, 0]) ** 2) / double**2
    drop = s.report["drive"]["pressure_drop_pa"]
    assert (0.5 * double * square).sum() / drop**2 == pytest.approx(shape.upper, rel=1e-9)


def test_lines_and_their_figure(piers):
    s = tp.solve(piers, **COARSE)
    assert len(s.streaklines) == 24
    for line in s.streaklines:
        n = len(line.points)
        assert line.points.shape == (n, 2) and len(line.time) == len(line.speed) == len(line.height) == n
        assert (np.diff(line.time) > 0).all() and line.points[0, 0] == 0.0
    assert ElementTree.fromstring(s._repr_svg_()).tag.endswith("svg")


@pytest.mark.parametrize("threads", [1, 3])
def test_digits_do_not_depend_on_threads(pier, threads):
    one, other = tp.solve(pier, inertia=True, threads=1, **COARSE), tp.solve(pier, inertia=True, threads=threads, **COARSE)
    assert one.report == other.report
    assert (one.fields["inertia_pressure"] == other.fields["inertia_pressure"]).all()


def test_a_dict_is_a_case(pier, tmp_path):
    file = tmp_path / "case.toml"
    file.write_text(
        'title = "pier"\n[cell]\nlength = "200 mm"\nwidth = "100 mm"\ngap = "0.5 mm"\n[fluid]\nname = "water"\n'
        'temperature = "20 degC"\n[drive]\nmean_speed = "1 mm/s"\n[[obstacle]]\nname = "pier"\n'
        'circle = { centre = [0.1, 0.05], diameter = 0.04 }\n[[probe]]\nname = "shoulder"\nat = [0.1, 0.08]\n'
    )
    by_file, by_dict = tp.solve(file, **COARSE).report, tp.solve(pier, **COARSE).report
    by_file.pop("case"), by_dict.pop("case")
    assert by_file == by_dict
    pier["obstacle"][0]["circle"]["centre"] = np.array([0.1, 0.05])
    pier["probe"] = ({"name": "shoulder", "at": (np.float64(0.1), 0.08)},)
    assert tp.solve(pier, **COARSE).shape_factor.value == by_dict["shape_factor"]["value"]


def test_files_of_a_dict_are_relative_to_the_folder(piers, pier):
    pier["obstacle"] = [{"outline": {"file": "seal.svg", "centre": ["100 mm", "50 mm"], "width": "50 mm"}}]
    pier.pop("probe")
    assert tp.solve(pier, folder=piers.parent, triangles=1000).shape_factor.value > 0
    with pytest.raises(tp.CaseError, match="seal.svg"):
        tp.solve(pier, folder=piers.parent.parent, triangles=1000)


def test_places_are_sampled(pier):
    s = tp.solve(pier, inertia=True, **COARSE)
    there = s.sample([[0.1, 0.08], [0.1, 0.05], [0.0, 0.03], [-1.0, 0.0]])
    assert there["inside"].tolist() == [True, False, True, False]
    assert np.isnan(there["pressure_pa"]).tolist() == [False, True, False, True]
    probe = s.report["probes"][0]
    for key in ("pressure_pa", "pressure_fraction", "speed_ratio", "angle_deg"):
        assert there[key][0] == probe[key], key
    assert there["inertia_pressure_pa"][0] == s.report["inertia"]["probes"][0]["pressure_pa"]
    # the pressure of the inlet is held
    assert there["pressure_pa"][2] == pytest.approx(s.report["drive"]["pressure_drop_pa"], rel=1e-12)
    with pytest.raises(ValueError, match="shape"):
        s.sample([0.1, 0.08])


def test_departures(piers):
    d = tp.departure(piers, **COARSE)
    table = d.rows("departure.contributions")
    assert {"edge_layer", "inertia", "total"} <= {row["name"] for row in table}
    assert isinstance(d.report["departure"]["verdict"]["within_tolerance"], bool)
    by_path = {row["path"]: row for row in d.rows()}
    speed = by_path["departure.contributions.edge_layer.speed_rms"]
    assert speed["value"] == table[0]["speed_rms"] and speed["name"]
    with pytest.raises(KeyError, match="departure.contributions"):
        d.rows("departures")


def test_a_ladder(pier):
    c = tp.converge(pier, sizes=[200, 800, 3200], also=["drive.head_m"])
    rows = c.rows("convergence")
    assert rows[0]["quantity"] == "shape_factor" and len(rows[0]["values"]) == 3
    assert any(row["quantity"] == "drive.head_m" for row in rows)
    assert not hasattr(c, "write")


def test_the_sheet(pier):
    r = tp.rig(pier, **COARSE)
    assert r.report["rig"]["head_m"] > 0


def test_pandas_takes_the_rows(pier):
    pandas = pytest.importorskip("pandas")
    frame = pandas.DataFrame(tp.solve(pier, **COARSE).rows()).set_index("path")
    assert frame.loc["drive.mean_speed_m_per_s", "value"] == 1e-3


@pytest.mark.parametrize(
    ("command", "options", "call"),
    [
        ("solve", ["--inertia", "--edge-layer"], lambda case: tp.solve(case, inertia=True, edge_layer=True, **COARSE)),
        ("departure", [], lambda case: tp.departure(case, **COARSE)),
        ("rig", [], lambda case: tp.rig(case, **COARSE)),
    ],
)
def test_digits_are_those_of_the_program(program, piers, command, options, call):
    own, there = call(piers).report, program(command, piers, "--triangles", "2000", *options)
    assert shared(own) == shared(there)


def test_digits_of_a_ladder_are_those_of_the_program(program, piers):
    own, there = tp.converge(piers, sizes=[300, 1200, 4800]).report, program("converge", piers, "--sizes", "300,1200,4800")
    assert shared(own) == shared(there)


def test_the_program_knows_the_files(pier, tmp_path):
    s = tp.solve(pier, **COARSE)
    s.write(tmp_path / "there")
    names = {file.name for file in (tmp_path / "there").iterdir()}
    assert {"report.json", "fields.vtu", "streaklines.vtp", "results.json"} <= names
    pier["title"] = "another"
    other = tp.solve(pier, **COARSE)
    with pytest.raises(tp.FolderError) as caught:
        other.write(tmp_path / "there")
    assert caught.value.remedy
    other.write(tmp_path / "there", replace=True)


def test_reports_fulfil_the_schema(piers):
    jsonschema = pytest.importorskip("jsonschema")
    for of in ("report", "case"):
        jsonschema.Draft202012Validator.check_schema(tp.schema(of))
    check = jsonschema.Draft202012Validator(tp.schema("report"))
    check.validate(tp.solve(piers, inertia=True, **COARSE).report)
    assert not check.is_valid({"program": 3})


def test_cases_fulfil_the_schema(pier):
    jsonschema = pytest.importorskip("jsonschema")
    check = jsonschema.Draft202012Validator(tp.schema("case"))
    check.validate(pier)
    for key, value in [("cell", {"length": "2 m"}), ("fluid", {"name": "wine"}), ("zzz", 1), ("drive", {"head": "-1"})]:
        assert not check.is_valid({**pier, key: value}), key
    pier["cell"]["length"] = "200"
    assert not check.is_valid(pier)
