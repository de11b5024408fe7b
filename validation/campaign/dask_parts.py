"""A campaign by the processes of a Dask cluster; its table against that of one process.

    python validation/campaign/dask_parts.py [SCHEDULER]

Needs the module twinplate and the package distributed. Without the address of a scheduler four processes are started here; the workers of
another must see this folder and the temporary one. Exit code 77 where something is missing.
"""

import os
import shutil
import sys
import tempfile
import time
from pathlib import Path

PARTS = 8
HERE = Path(__file__).resolve().parent


def skip(why):
    print(f"skipped: {why}", file=sys.stderr)
    sys.exit(77)


def share(plan, number, output):
    """One share in whatever process this is."""
    import twinplate

    return os.getpid(), twinplate.campaign(plan, part=(number, PARTS), output=output, threads=1)


def main():
    try:
        import twinplate
    except ImportError:
        skip("no module twinplate: pip install ./src/python")
    try:
        from distributed import Client, LocalCluster
    except ImportError:
        skip("no Dask: pip install distributed")
    folder = Path(tempfile.mkdtemp(prefix="harbour"))
    try:
        for name in ("pier.toml", "slow.toml"):
            shutil.copy(HERE / name, folder)
        plan, parts, alone = folder / "slow.toml", folder / "by parts", folder / "by one process"
        address = sys.argv[1] if len(sys.argv) > 1 else None
        cluster = address or LocalCluster(n_workers=4, threads_per_worker=1, processes=True, dashboard_address=None)
        with Client(cluster) as client:
            begin = time.monotonic()
            # the first share is handed out twice: a scheduler that loses sight of a worker does that
            numbers = [*range(1, PARTS + 1), 1]
            futures = [client.submit(share, plan, number, parts, pure=False) for number in numbers]
            done = client.gather(futures)
            print(f"{len(numbers)} shares by {len({process for process, _ in done})} processes, {time.monotonic() - begin:.1f} s")
        if not address:
            cluster.close()
        failed = sum(found.failed for _, found in done)
        counts = twinplate.collect(plan, output=parts)["campaign"]
        twinplate.campaign(plan, output=alone)
        twinplate.collect(plan, output=alone)
        tables = [(place / "campaign.csv").read_bytes() for place in (parts, alone)]
        if failed or counts["missing"] or tables[0] != tables[1]:
            print(f"FAILED: {failed} runs failed, {counts['missing']} are missing, or the tables differ", file=sys.stderr)
            return 1
        print(f"passed: campaign.csv of {counts['done']} runs is the same to the last byte ({len(tables[0])} bytes)")
        return 0
    finally:
        shutil.rmtree(folder, ignore_errors=True)


if __name__ == "__main__":
    sys.exit(main())
