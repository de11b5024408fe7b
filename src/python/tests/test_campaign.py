"""Campaigns by shares: the table of one process, from any processes."""

import csv
import subprocess
import sys
import time

import pytest
import twinplate as tp

CASE = """title = "pier"
cell = { length = "200 mm", width = "100 mm", gap = "0.5 mm" }
fluid = { name = "water", temperature = "20 degC" }
drive = { mean_speed = "1 mm/s" }
obstacle = [{ name = "pier", circle = { centre = [0.1, 0.05], diameter = 0.04 } }]
"""
PLAN = """case = "pier.toml"
command = "solve"
triangles = 400
measure = ["shape_factor.value", "drive.head"]
[vary]
"obstacle.pier.diameter" = [0.02, 0.03, 0.04]
"drive.mean_speed" = [1e-4, 1e-3]
"""


@pytest.fixture
def plan(tmp_path):
    (tmp_path / "pier.toml").write_text(CASE)
    (tmp_path / "plan.toml").write_text(PLAN)
    return tmp_path / "plan.toml"


def test_shares_of_any_processes_make_one_table(plan, tmp_path):
    parts, alone = tmp_path / "parts", tmp_path / "alone"
    assert tp.campaign(plan, part=(2, 3), output=parts, threads=1) == tp.Share(known=2, failed=0, of=2)
    assert tp.collect(plan, output=parts)["campaign"]["missing"] == 4
    run = "import sys, twinplate; twinplate.campaign(sys.argv[1], part=(int(sys.argv[2]), 3), output=sys.argv[3])"
    for part in "13":
        subprocess.run([sys.executable, "-c", run, str(plan), part, str(parts)], check=True)
    found = tp.collect(plan, output=parts)
    assert (found["campaign"]["done"], found["campaign"]["missing"]) == (6, 0)
    assert tp.campaign(plan, output=str(alone)).known == 6
    tp.collect(plan, output=alone)
    assert (parts / "campaign.csv").read_bytes() == (alone / "campaign.csv").read_bytes()


def test_numbers_are_those_of_a_run_by_itself(plan, pier, tmp_path):
    tp.campaign(plan, output=tmp_path / "out")
    tp.collect(plan, output=tmp_path / "out")
    with open(tmp_path / "out" / "campaign.csv", newline="") as file:
        last = list(csv.DictReader(file))[-1]
    del pier["probe"]
    one = tp.solve(pier, triangles=400)
    assert float(last["shape_factor.value"]) == one.shape_factor.value
    assert float(last["drive.head"]) == one.report["drive"]["head_m"]


def test_what_cannot_be_is_told(plan, tmp_path):
    with pytest.raises(tp.UsageError, match="there is no share 41 of 40") as error:
        tp.campaign(plan, part=(41, 40), output=tmp_path / "out")
    assert error.value.remedy == "the first is 1/40, the last 40/40"
    with pytest.raises(tp.UsageError, match="holds no run of this plan"):
        tp.collect(plan, output=tmp_path / "out")
    plan.write_text(PLAN.replace("drive.mean_speed", "drive.mean_sped"))
    with pytest.raises(tp.CaseError, match="did you mean") as error:
        tp.campaign(plan)
    assert error.value.line == 7


@pytest.mark.skipif(sys.platform == "win32", reason="signals")
def test_ctrl_c_comes_back_and_what_is_stored_stays(plan, tmp_path):
    plan.write_text(PLAN.replace("[1e-4, 1e-3]", "{ from = 1e-4, to = 1e-3, steps = 2000 }"))
    run = (
        "import signal, sys, twinplate; signal.signal(signal.SIGINT, signal.default_int_handler)\n"
        "twinplate.campaign(sys.argv[1], output=sys.argv[2], threads=1)"
    )
    child = subprocess.Popen([sys.executable, "-c", run, str(plan), str(tmp_path / "out")], stderr=subprocess.PIPE)
    runs = tmp_path / "out" / "runs"
    while not (runs.is_dir() and any(file.stat().st_size > 4000 for file in runs.iterdir())):
        assert child.poll() is None
        time.sleep(0.01)
    child.send_signal(2)
    assert b"KeyboardInterrupt" in child.communicate(timeout=60)[1]
    known = tp.collect(plan, output=tmp_path / "out")["campaign"]["done"]
    assert 0 < known < 6000
