#!/usr/bin/env bash
# How fast whole commands are, side by side in one run on one machine, with their peak memory, as Markdown tables:
#
#     bash benches/commands.sh [CYCLES] [LOADBOOK]
#     bash benches/commands.sh --scale CYCLES… [LOADBOOK]
#     bash benches/commands.sh --profile [CYCLES] [LOADBOOK]
#
# CYCLES (default 20000) is about how many cycles are simulated, LOADBOOK (default target/release/loadbook) the program.
# --scale times a review at each number of cycles, and prints how processor time and memory of a cycle grow.
# --profile prints where processor time goes. It runs on Linux.
#
# PYTHON (default python3) is the Python that takes the times; if duckdb and polars can be imported there, they are timed too.
# SPLIT is the program of benches/split.rs; without it the newest under target/release/deps is taken.
# Everything goes into a folder of its own under TMPDIR and is deleted at the end. What is missing is said and left out.
set -euo pipefail
here=$(cd "$(dirname "$0")" && pwd)
cd "$here/.."

usage() {
    sed -n '2,/^set /{/^#/{s/^# \{0,1\}//;p;}}' "$here/commands.sh"
}

mode=tables
counts=()
loadbook=target/release/loadbook
for arg in "$@"; do
    case $arg in
        -h | --help) usage; exit 0 ;;
        --scale | --profile) mode=${arg#--} ;;
        *[!0-9]*) loadbook=$arg ;;
        *) counts+=("$arg") ;;
    esac
done
python=${PYTHON:-python3}
if ! command -v "$python" >/dev/null; then
    echo "missing: $python, which takes the times" >&2
    exit 2
fi
if [ ! -x "$loadbook" ]; then
    echo "missing: $loadbook; make it with: cargo build --release" >&2
    exit 2
fi
dir=$(mktemp -d)
trap 'rm -rf "$dir"' EXIT

[ "${#counts[@]}" -gt 0 ] || counts=(20000)
if [ "$mode" = tables ]; then
    if [ -z "${SPLIT:-}" ]; then
        SPLIT=$(find target/release/deps -maxdepth 1 -type f -name 'split-*' -perm -u+x -printf '%T@ %p\n' 2>/dev/null |
            sort -rn | sed -n '1s/^[^ ]* //p') || true
    fi
    if [ ! -x "$SPLIT" ]; then
        echo "missing: the line split, which everything is compared with; make it with: cargo bench --bench split --no-run" >&2
    fi
    export SPLIT
fi
export PYTHONDONTWRITEBYTECODE=1
"$python" "$here/commands/$mode.py" "$(realpath "$loadbook")" "$dir" "${counts[@]}"
