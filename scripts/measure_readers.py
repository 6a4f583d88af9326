#!/usr/bin/env python3
"""Times checkstrip's readers of CSV and GeoParquet beside polars and DuckDB on one invented log.

    cargo build --release -p checkstrip-formats --example read_log_once -p checkstrip-cli
    scripts/measure_readers.py --records 1000000 --runs 7

All read the same columns of the same files, in turn on the same machine, so that what else the machine
does meets all of them. Prints the median wall time and the spread of each, with two threads and with
one. checkstrip hashes the file, turns geometries into positions, converts to SI units and checks every
record as well; polars and DuckDB only read, geometries as bytes. Needs polars and duckdb
(pip install polars duckdb); what is not there is left out.
"""
import argparse
import math
import os
import statistics
import subprocess
import sys
import tempfile

HEADERS = ("timestamp_s,lon,lat,mass_flow_kg_s,moisture_pct,speed_m_s,distance_m,interval_s,width_m,"
           "header_down,heading_deg,pass_id,elevation_m")

POLARS = """
import sys, time, polars
path = sys.argv[1]
began = time.perf_counter()
read = polars.read_csv if path.endswith(".csv") else polars.read_parquet
frame = read(path)
print(time.perf_counter() - began, frame.height)
"""

# Into memory as columns, which is what the others do.
DUCKDB = """
import os, sys, time, duckdb
path = sys.argv[1]
database = duckdb.connect()
database.execute(f"SET threads = {os.environ['THREADS']}")
read = "read_csv" if path.endswith(".csv") else "read_parquet"
began = time.perf_counter()
columns = database.execute(f"SELECT * FROM {read}('{path}')").fetchnumpy()
print(time.perf_counter() - began, len(next(iter(columns.values()))))
"""


def write_log(path, records):
    with open(path, "w") as file:
        print(HEADERS, file=file)
        for at in range(records):
            wave = math.sin(at * 0.37)
            file.write(
                f"{1_759_759_200.0 + at:.3f},{-93.1 + at * 1e-6:.9f},{43.2 + wave * 1e-4:.9f},"
                f"{5 + wave:.6f},{13 + wave:.3f},{2 + wave * 0.1:.5f},{2 + wave * 0.1:.6f},1.0,9.144,"
                f"{at % 2},{180 + wave:.4f},{at // 500},{300 + wave:.4f}\n")


def seconds(command, threads, records):
    names = ("RAYON_NUM_THREADS", "POLARS_MAX_THREADS", "THREADS")
    environment = dict(os.environ, **{name: str(threads) for name in names})
    done = subprocess.run(command, env=environment, check=True, capture_output=True, text=True)
    time, read = done.stdout.split()
    if int(read) != records:
        sys.exit(f"read {read} of {records} records: {' '.join(command)}")
    return float(time)


def main():
    parser = argparse.ArgumentParser(description=__doc__.split("\n")[0])
    parser.add_argument("--records", type=int, default=1_000_000)
    parser.add_argument("--runs", type=int, default=7)
    parser.add_argument("--binaries", default="target/release")
    parser.add_argument("--python", default=os.environ.get("CHECKSTRIP_PYTHON", sys.executable))
    options = parser.parse_args()
    readers = {"checkstrip": [os.path.join(options.binaries, "examples", "read_log_once")]}
    for name, script in (("polars", POLARS), ("duckdb", DUCKDB)):
        probe = subprocess.run([options.python, "-c", f"import {name}"], capture_output=True)
        if probe.returncode == 0:
            readers[name] = [options.python, "-c", script]
        else:
            print(f"{name} is not installed: left out", file=sys.stderr)
    with tempfile.TemporaryDirectory() as folder:
        csv, parquet = os.path.join(folder, "log.csv"), os.path.join(folder, "log.parquet")
        write_log(csv, options.records)
        convert = [os.path.join(options.binaries, "checkstrip"), "convert", csv, parquet]
        subprocess.run(convert, check=True, stdout=subprocess.DEVNULL)
        print(f"{options.records} records, {options.runs} runs: median seconds (lowest to highest)")
        for threads in (2, 1):
            for path in (csv, parquet):
                times = {name: [] for name in readers}
                for _ in range(options.runs):
                    for name, command in readers.items():
                        times[name].append(seconds(command + [path], threads, options.records))
                for name, runs in times.items():
                    ratio = statistics.median(times["checkstrip"]) / statistics.median(runs)
                    kind = os.path.splitext(path)[1][1:]
                    print(f"{threads} threads  {kind:<7}  {name:<10}  {statistics.median(runs):.3f} "
                          f"({min(runs):.3f} to {max(runs):.3f})  checkstrip takes {ratio:.2f} times that")


if __name__ == "__main__":
    main()
