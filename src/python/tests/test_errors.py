"""What goes wrong says where, and what can be done."""

import os
import signal
import subprocess
import sys
import threading
import time

import pytest
import twinplate as tp


def test_a_file_has_line_and_column(tmp_path, piers):
    text = piers.read_text()
    line = next(k for k, row in enumerate(text.splitlines(), 1) if row.startswith("width"))
    file = tmp_path / "case.toml"
    file.write_text(text.replace("width =", "wdith =", 1))
    with pytest.raises(tp.CaseError) as caught:
        tp.solve(file)
    error = caught.value
    assert (error.file, error.line, error.column, error.key) == (str(file), line, 1, None)
    assert 'did you mean "width"' in error.remedy and "wdith" in str(error)


@pytest.mark.parametrize(
    ("change", "key", "said"),
    [
        (lambda case: case["cell"].update(gap="0.5 mmm"), "cell.gap", "unknown unit"),
        (lambda case: case["cell"].update(gapp=1), "cell.gapp", "unknown key"),
        (lambda case: case["obstacle"][0]["circle"].update(diameter=-1), "obstacle[0].circle.diameter", "above zero"),
        (lambda case: case["obstacle"][0]["circle"].update(centre=[0.1, "x"]), "obstacle[0].circle.centre[1]", "number"),
        (lambda case: case["obstacle"][0]["circle"].update(centre=[0.0, 0.05]), "obstacle[0].circle", "cell"),
        (lambda case: case["probe"].append({"at": [9, 9]}), "probe[1].at", "outside"),
        (lambda case: case["probe"].append({"näme": 1, "at": [0.1, 0.08]}), "probe[1].näme", "unknown key"),
        (lambda case: case["cell"].update(gap=None), "cell.gap", "NoneType"),
        (lambda case: case["fluid"].update(temperature=float("nan")), "fluid.temperature", "finite"),
    ],
)
def test_a_dict_has_its_key(pier, change, key, said):
    change(pier)
    with pytest.raises(tp.CaseError) as caught:
        tp.solve(pier)
    error = caught.value
    assert (error.key, error.file, error.line) == (key, None, None)
    assert str(error).startswith(f"{key}: ") and said in str(error) and error.remedy


def test_all_mistakes_are_told_at_once(pier):
    pier["cell"]["gap"], pier["fluid"]["name"] = 0, "wine"
    with pytest.raises(tp.CaseError) as caught:
        tp.solve(pier)
    assert {problem.key for problem in caught.value.problems} == {"cell.gap", "fluid.name"}


def test_other_errors(pier, tmp_path):
    with pytest.raises(tp.UsageError) as caught:
        tp.solve(pier, triangles=100, error=0.1)
    assert isinstance(caught.value, ValueError) and caught.value.remedy
    for wrong in ({"triangles": 1}, {"error": 2.0}, {"order": 3}):
        with pytest.raises(tp.UsageError):
            tp.solve(pier, **wrong)
    with pytest.raises(tp.UsageError):
        tp.converge(pier, sizes=[800, 200, 100])
    with pytest.raises(tp.CaseError):
        tp.solve(tmp_path / "nothing.toml")
    with pytest.raises(TypeError):
        tp.solve(pier, triangles="many")


def test_others_run_meanwhile(pier):
    """With the GIL released, this thread goes on counting while another solves."""
    count, done = 0, threading.Event()

    def work():
        tp.solve(pier, triangles=20000)
        done.set()

    thread = threading.Thread(target=work)
    thread.start()
    while not done.wait(0.001):
        count += 1
    thread.join()
    assert count > 3


@pytest.mark.skipif(os.name != "posix", reason="sends a POSIX signal")
def test_ctrl_c_stops_a_solve(tmp_path, piers):
    """A run of many seconds in a process of its own; the signal comes while it solves."""
    script = (
        "import signal, twinplate as tp\n"
        # where this test runs in the background of a shell the signal is ignored from birth
        "signal.signal(signal.SIGINT, signal.default_int_handler)\n"
        "print('begun', flush=True)\n"
        f"try:\n    tp.solve({str(piers)!r}, inertia=True, triangles=2_000_000)\n"
        "except KeyboardInterrupt:\n    print('stopped', flush=True)\n"
    )
    run = subprocess.Popen([sys.executable, "-c", script], stdout=subprocess.PIPE, text=True)
    assert run.stdout.readline() == "begun\n"
    time.sleep(2.0)
    run.send_signal(signal.SIGINT)
    try:
        # generous, for a machine may be slow
        out, _ = run.communicate(timeout=30)
    finally:
        run.kill()
    assert out == "stopped\n" and run.returncode == 0
