#!/bin/sh
# A season of fields on an Apache Spark cluster of this machine alone: makes the Python environment .venv-spark
# with PySpark (once, from PyPI, about 500 MB), starts a Spark master and workers on free ports of 127.0.0.1, does
# every field that is not finished, and stops them. Needs Java 17 or newer and Python 3.11 or newer.
#
#   scripts/season-on-spark.sh SEASON_URL OUT_URL [--workers N] [--units farm|si] [--export FORM] [--fields-per-task N]
#
# URLs are file:///folder/SEASON.toml or s3://bucket/folder/SEASON.toml; docs/season-distributed.md has more.
# Exit status: 0 done; 1 something could not be read, written or started; 2 wrong command line; 3 some fields failed.
set -eu

say() { printf 'season-on-spark: %s\n' "$*" >&2; }
usage() {
    sed -n 's/^#   //p' "$0" >&2
    exit 2
}

[ $# -ge 2 ] || usage
season=$1
out=$2
shift 2
workers=2
options=
while [ $# -gt 0 ]; do
    [ $# -ge 2 ] || usage
    case "$1" in
        --workers) workers=$2 ;;
        --units | --export | --fields-per-task) options="$options $1 $2" ;;
        *) usage ;;
    esac
    shift 2
done
case "$workers" in '' | *[!0-9]* | 0) usage ;; esac

project=$(cd "$(dirname "$0")/.." && pwd)
binary=${CHECKSTRIP_SEASON:-$project/target/release/checkstrip-season}
if [ ! -x "$binary" ]; then
    say "building checkstrip-season"
    (cd "$project" && scripts/prepare.sh && PATH="$PWD/target/tools/bin:$PATH" \
        cargo build --release -q -p checkstrip-distributed)
fi

if ! java -version >/dev/null 2>&1; then
    say "Java is missing; Spark 4 needs version 17 or newer (Debian and Ubuntu: apt-get install openjdk-17-jre-headless)"
    exit 1
fi
environment=$project/.venv-spark
wanted=$project/distributed/requirements.txt
if ! cmp -s "$wanted" "$environment/requirements.done"; then
    say "making .venv-spark with the version in distributed/requirements.txt (once; some minutes, needs PyPI)"
    rm -rf "$environment"
    python3 -m venv "$environment"
    "$environment/bin/python" -m pip install -q --disable-pip-version-check -r "$wanted"
    cp "$wanted" "$environment/requirements.done"
fi
SPARK_HOME=$("$environment/bin/python" -c 'import os, pyspark; print(os.path.dirname(pyspark.__file__))')
PYSPARK_PYTHON=$environment/bin/python
# Everything of this run stays on this machine, whatever its name resolves to.
SPARK_LOCAL_IP=127.0.0.1
export SPARK_HOME PYSPARK_PYTHON SPARK_LOCAL_IP

run=$(mktemp -d)
started=
stop() {
    for process in $started; do kill "$process" 2>/dev/null || :; done
    for process in $started; do wait "$process" 2>/dev/null || :; done
    rm -rf "$run"
}
trap stop EXIT
trap 'exit 1' INT TERM

# `start NAME CLASS ARGUMENTS` starts one of Spark's own programs, with what it says in a file. Port 0 is any
# free one.
start() {
    name=$1
    shift
    : >"$run/$name.log"
    "$SPARK_HOME/bin/spark-class" "$@" >"$run/$name.log" 2>&1 &
    started="$started $!"
}
# `said NAME PATTERN` prints the first match in what a program says, waiting some minutes at most: a busy machine
# takes its time over a Java program.
said() {
    waited=0
    while [ "$waited" -lt 1200 ]; do
        found=$(grep -o -m 1 "$2" "$run/$1.log" || :)
        [ -z "$found" ] || { printf '%s\n' "$found"; return; }
        sleep 0.1
        waited=$((waited + 1))
    done
    say "$1 did not start:"
    tail -n 5 "$run/$1.log" >&2
    return 1
}

start master org.apache.spark.deploy.master.Master --host 127.0.0.1 --port 0 --webui-port 0
master=$(said master 'spark://127\.0\.0\.1:[0-9]*')
processors=$(getconf _NPROCESSORS_ONLN)
cores=$((processors / workers))
[ "$cores" -gt 0 ] || cores=1
number=0
while [ "$number" -lt "$workers" ]; do
    number=$((number + 1))
    start "worker-$number" org.apache.spark.deploy.worker.Worker --host 127.0.0.1 --webui-port 0 \
        --cores "$cores" --memory 1g --work-dir "$run/worker-$number" "$master"
done
number=0
while [ "$number" -lt "$workers" ]; do
    number=$((number + 1))
    said "worker-$number" 'Successfully registered' >/dev/null
done
say "$master with $workers workers, $cores at once each"

# A step reads its store by itself: executors need little memory. A worker that dies takes no field with it.
status=0
"$SPARK_HOME/bin/spark-submit" --master "$master" \
    --conf spark.driver.host=127.0.0.1 --conf spark.driver.bindAddress=127.0.0.1 \
    --conf spark.executor.memory=512m --conf spark.ui.enabled=false \
    --conf spark.log.level=WARN \
    "$project/distributed/season_on_spark.py" "$season" "$out" --binary "$binary" $options || status=$?
exit "$status"
