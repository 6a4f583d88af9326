#!/usr/bin/env python3
"""Times `checkstrip compare` against a script of general-purpose libraries on one invented field.

    scripts/measure_peer.py --peer ../shared/peer --points 100000 --runs 5

Both programs run in turn on the same machine and the same field, so that what else the machine does
meets both. Prints the median wall time and the largest resident memory of each, and the ratios. The
folder of the peer holds gen_field.py and baseline.py; without it there is nothing to compare with.
"""
import argparse
import os
import statistics
import subprocess
import sys
import tempfile
import time


def run(command):
    """Seconds and peak resident megabytes of one run."""
    began = time.perf_counter()
    process = subprocess.Popen(command, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
    _, status, usage = os.wait4(process.pid, 0)
    if status != 0:
        sys.exit(f"failed: {' '.join(command)}")
    return time.perf_counter() - began, usage.ru_maxrss / 1024


def main():
    parser = argparse.ArgumentParser(description=__doc__.split("\n")[0])
    parser.add_argument("--peer", default="../shared/peer")
    parser.add_argument("--points", type=int, default=100_000)
    parser.add_argument("--runs", type=int, default=5)
    parser.add_argument("--binary", default="target/release/checkstrip")
    parser.add_argument("--python", default=os.environ.get("CHECKSTRIP_PYTHON", sys.executable))
    options = parser.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        field = os.path.join(folder, "field")
        generate = [options.python, os.path.join(options.peer, "gen_field.py")]
        run(generate + ["--points", str(options.points), "--seed", "1", "--out", field])
        log, strips = os.path.join(field, "log.csv"), os.path.join(field, "strips.geojson")
        ours = [options.binary, "compare", "--harvest", log, "--strips", strips, "--inset", "3 m"]
        ours += ["--crop", "soybean", "--quiet", "--out", os.path.join(folder, "ours")]
        peer = [options.python, os.path.join(options.peer, "baseline.py"), log, strips]
        peer += ["--delay-s", "13", "--out", os.path.join(folder, "peer")]
        figures = {"checkstrip": [], "peer": []}
        for _ in range(options.runs):
            figures["checkstrip"].append(run(ours))
            figures["peer"].append(run(peer))
    medians = {}
    for name, runs in figures.items():
        seconds = statistics.median(run[0] for run in runs)
        megabytes = max(run[1] for run in runs)
        medians[name] = (seconds, megabytes)
        spread = f"{min(r[0] for r in runs):.2f} to {max(r[0] for r in runs):.2f}"
        print(f"{name:<11} {seconds:7.2f} s ({spread} s)  {megabytes:7.0f} MB")
    ours, peer = medians["checkstrip"], medians["peer"]
    print(f"{options.points} records: {peer[0] / ours[0]:.1f} times faster, "
          f"{ours[1] / peer[1]:.2f} of the memory")


if __name__ == "__main__":
    main()
