#!/usr/bin/env bash
# Fuzzes every target, or those that are named, each for so many seconds of processor time. Stable Rust, libFuzzer and
# nothing else: what `cargo fuzz` asks nightly for is its address sanitizer, which code without `unsafe` needs least.
#
#   bash fuzz/run.sh SECONDS [TARGET …]
#
# New inputs go to fuzz/found/TARGET, which is not committed; the run goes on from what earlier runs left there. It stops
# with status 1 where a property breaks, an input takes more than 10 seconds, or memory more than 2 GiB, and names the input.
set -euo pipefail
cd "$(dirname "${BASH_SOURCE[0]}")"

seconds=${1:?how many seconds of processor time for each target}
shift
if [ $# -gt 0 ]; then targets=("$@"); else mapfile -t targets < <(ls dictionaries | sed 's/\.dict$//'); fi

# Coverage as libFuzzer reads it: counters of edges with their addresses, and the values that are compared. Flags of the
# compiler that are stable; with --target they leave build scripts and procedural macros alone.
host=$(rustc -vV | sed -n 's/^host: //p')
export RUSTFLAGS="--cfg fuzzing -Cpasses=sancov-module -Cllvm-args=-sanitizer-coverage-level=4 \
-Cllvm-args=-sanitizer-coverage-inline-8bit-counters -Cllvm-args=-sanitizer-coverage-pc-table \
-Cllvm-args=-sanitizer-coverage-trace-compares"
cargo build --release --locked --target "$host" --bins

# Sets `spent` to the processor seconds of all children so far. `times` must not run in a subshell, whose children are others.
note_spent() {
    times >"found/times.$$"
    spent=$(tail -n 1 "found/times.$$" | tr 'ms' '  ' | awk '{ printf "%d", $1 * 60 + $2 + $3 * 60 + $4 }')
}

for target in "${targets[@]}"; do
    mkdir -p "found/$target" "found/broken"
    log="found/$target.log"
    note_spent
    began=$spent
    used=0
    executions=0
    # On a busy machine a second on the clock is less of the processor: run again until the time is used.
    while [ "$used" -lt "$seconds" ]; do
        # The seed differs from run to run, and is the same whenever the same runs are made.
        runs=$(find found -maxdepth 1 -name "$target.runs" -exec wc -l {} + | awk '{ n = $1 } END { print n + 1 }')
        echo "$runs" >>"found/$target.runs"
        if ! "target/$host/release/$target" "found/$target" "corpus/$target" -dict="dictionaries/$target.dict" \
            -artifact_prefix="found/broken/$target-" -max_len=6000 -timeout=10 -rss_limit_mb=2048 \
            -max_total_time=$((seconds - used)) -seed="$runs" -print_final_stats=1 >"$log" 2>&1; then
            tail -n 40 "$log"
            echo "$target: broken; see fuzz/$log"
            exit 1
        fi
        note_spent
        used=$((spent - began))
        executions=$((executions + $(awk '/stat::number_of_executed_units/ { print $2 }' "$log")))
    done
    edges=$(grep -o 'cov: [0-9]*' "$log" | tail -n 1 | cut -d' ' -f2)
    peak=$(awk '/stat::peak_rss_mb/ { print $2 }' "$log")
    printf '%-18s %6d s of processor time %10d executions %6d edges %5d MiB, nothing found\n' \
        "$target" "$used" "$executions" "$edges" "$peak"
done
