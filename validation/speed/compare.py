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
    parser.add_argument("--triangles", default="1M", help="20k, 1M, 4M or a number")
    parser.add_argument("--runs", type=int, default=3)
    parser.add_argument("--folder", default=str(pathlib.Path(tempfile.gettempdir()) / "twinplate_speed"))
    parser.add_argument("--write", action="store_true", help="put the table into README.md")
    given = parser.parse_args()
    triangles = int(float(given.triangles.upper().replace("M", "e6").replace("K", "e3")))
    folder = pathlib.Path(given.folder)
    folder.mkdir(parents=True, exist_ok=True)
    python, ready = prepare(folder)
    environment = {k: v for k, v in os.environ.items() if k not in ("OPENBLAS_CORETYPE", "OPENBLAS_L2_SIZE")}
    commands = {"twinplate": [given.program, "solve", str(HERE / "two_posts.toml"), "--triangles", str(triangles), "--json",
                              "--force", "-o", str(folder / "twinplate")]}
    for stack in ready:
        (folder / stack).mkdir(exist_ok=True)
        commands[stack] = [str(python), str(HERE / "stack.py"), stack, str(triangles), str(folder / stack)]
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
