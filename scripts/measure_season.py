#!/usr/bin/env python3
"""What one field of a season costs when it is done by itself (docs/season-distributed.md): processor time, memory,
bytes and files of `checkstrip-season field`, on one thread, out of and into a folder of this machine.

    scripts/measure_season.py [--records 20000 100000] [--runs 5]

Builds what it needs. The fields are invented (tests/examples/write_season.rs).
"""

import argparse
import os
import statistics
import subprocess
import tempfile
from pathlib import Path

PROJECT = Path(__file__).resolve().parent.parent


def measured(command):
    """Runs a command on one thread; its processor seconds and its largest resident memory in MB."""
    environment = os.environ | {"RAYON_NUM_THREADS": "1"}
    child = subprocess.Popen(command, stdout=subprocess.DEVNULL, env=environment)
    _, status, used = os.wait4(child.pid, 0)
    child.returncode = os.waitstatus_to_exitcode(status)
    if child.returncode != 0:
        raise SystemExit(f"{command} ended with status {child.returncode}")
    # Linux counts kilobytes.
    return used.ru_utime + used.ru_stime, used.ru_maxrss / 1000


def size(folder):
    """Bytes and number of the files below a folder."""
    files = [path for path in folder.rglob("*") if path.is_file()]
    return sum(path.stat().st_size for path in files), len(files)


def main():
    """Prints a row for every number of records and form of the cleaned log."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--records", type=int, nargs="+", default=[20_000, 100_000])
    parser.add_argument("--runs", type=int, default=5)
    asked = parser.parse_args()
    build = ["cargo", "build", "--release", "--workspace", "--bins", "--example", "write_season"]
    subprocess.run(build, cwd=PROJECT, check=True)
    release = PROJECT / "target" / "release"
    print("| records | cleaned log | processor, s | finished already, s | memory, MB | read, MB | written, MB | files written |")
    print("|---|---|---|---|---|---|---|---|")
    for records in asked.records:
        with tempfile.TemporaryDirectory() as folder:
            season = Path(folder) / "season"
            subprocess.run([release / "examples" / "write_season", "1", str(records), season], check=True)
            field = season / "field-0000"
            read, _ = size(field)
            rows = (field / "log.csv").read_bytes().count(b"\n") - 1
            for form in ["geojson", "parquet", "none"]:
                out = Path(folder) / form
                step = [release / "checkstrip-season", "field", (season / "SEASON.toml").as_uri()]
                step += ["field-0000/trial.toml", "--out", out.as_uri(), "--export", form]
                runs = []
                for _ in range(asked.runs):
                    subprocess.run(["rm", "-rf", out], check=True)
                    runs.append(measured(step))
                written, files = size(out)
                again, _ = measured(step)
                seconds = statistics.median(seconds for seconds, _ in runs)
                memory = max(memory for _, memory in runs)
                print(
                    f"| {rows:,} | {form} | {seconds:.2f} | {again:.2f} | {memory:.0f} | {read / 1e6:.2f} "
                    f"| {written / 1e6:.2f} | {files} |"
                )


if __name__ == "__main__":
    main()
