"""A season of fields on an Apache Spark cluster, one field a task.

Submitted by scripts/season-on-spark.sh. The driver asks `checkstrip-season fields` which fields there are, hands
them out, and gives what became of them to `checkstrip-season ledger`. A task runs `checkstrip-season field`, which
reads and writes the store by itself: no log passes through Spark, and a task that is lost with its worker is
simply done again elsewhere. Exit status: that of `checkstrip-season ledger`.
"""

import argparse
import json
import os
import subprocess
import sys
import time

from pyspark import SparkContext, SparkFiles, TaskContext

# Statuses of `checkstrip-season field` with which it has said what became of the field.
DONE, FAILED = 0, 3


def do_fields(fields, season, out, options, attempts):
    """Does the fields of one task, one after the other, and yields what became of each with its seconds."""
    binary = SparkFiles.get("checkstrip-season")
    # What a killed step leaves lies in the worker's own folder; one field takes one processor.
    environment = os.environ | {"TMPDIR": os.getcwd(), "RAYON_NUM_THREADS": "1"}
    for field in fields:
        begun = time.monotonic()
        command = [binary, "field", season, field["trial"], "--out", out, *options]
        step = subprocess.run(command, capture_output=True, text=True, env=environment, check=False)
        seconds = time.monotonic() - begun
        if step.returncode in (DONE, FAILED):
            yield json.loads(step.stdout), seconds
            continue
        # The store may answer next time; but a field that breaks its step every time stops no other.
        said = step.stderr.strip() or f"its step ended with status {step.returncode}"
        if TaskContext.get().attemptNumber() + 1 < attempts:
            raise RuntimeError(f"{field['folder']}: {said}")
        yield {**field, "status": "failed", "reason": said.removeprefix("error: ")}, seconds


def main():
    """Runs the season."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("season", help="URL of the season file")
    parser.add_argument("out", help="URL of the folder of the results")
    parser.add_argument("--binary", required=True, help="the program checkstrip-season")
    parser.add_argument("--fields-per-task", type=int, default=1)
    parser.add_argument("--units", default="farm")
    parser.add_argument("--export", default="auto")
    asked = parser.parse_args()
    options = ["--units", asked.units, "--export", asked.export]

    listed = subprocess.run([asked.binary, "fields", asked.season], stdout=subprocess.PIPE, text=True, check=False)
    if listed.returncode != 0:
        return listed.returncode
    fields = [json.loads(line) for line in listed.stdout.splitlines()]

    spark = SparkContext(appName="checkstrip season")
    spark.setLogLevel("WARN")
    # Every worker gets the program from the driver.
    spark.addFile(asked.binary)
    attempts = int(spark.getConf().get("spark.task.maxFailures", "4"))
    tasks = -(-len(fields) // asked.fields_per_task)
    season, out = asked.season, asked.out
    begun = time.monotonic()
    done = (
        spark.parallelize(fields, tasks)
        .mapPartitions(lambda part: do_fields(part, season, out, options, attempts))
        .collect()
    )
    elapsed = time.monotonic() - begun
    at_once = spark.defaultParallelism
    spark.stop()
    in_steps = sum(seconds for _, seconds in done)
    print(
        f"{len(fields)} fields in {tasks} tasks, {at_once} at once: {elapsed:.1f} s, of which {in_steps:.1f} s in steps",
        file=sys.stderr,
    )
    lines = "".join(json.dumps(outcome) + "\n" for outcome, _ in done)
    command = [asked.binary, "ledger", asked.season, "--out", asked.out, "--at-once", str(at_once), *options]
    return subprocess.run(command, input=lines, text=True, check=False).returncode


if __name__ == "__main__":
    sys.exit(main())
