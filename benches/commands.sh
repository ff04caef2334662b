#!/usr/bin/env bash
# How fast whole commands are, side by side in one run on one machine, with the peak memory of each:
#
#     bash benches/commands.sh [CYCLES] [LOADBOOK]
#
# CYCLES (default 20000) is about how many cycles are simulated, LOADBOOK (default target/release/loadbook) the program.
# Everything goes into a folder of its own under TMPDIR and is deleted at the end. Each command runs three times, and its
# best time counts; times on shared machines are noisy, so that only ratios within one run are worth quoting.
# gawk, mawk and python3 are used where they are there; what is missing is said.
set -euo pipefail
cd "$(dirname "$0")/.."
n_cycles=${1:-20000}
loadbook=$(realpath "${2:-target/release/loadbook}")
dir=$(mktemp -d)
trap 'rm -rf "$dir"' EXIT
if ! command -v python3 >/dev/null; then
    echo "python3 is missing: it takes the times" >&2
    exit 2
fi

# Twenty cycles a day on an average, so that the days are what grows.
days=$((n_cycles / 20))
"$loadbook" simulate --out "$dir/records" --answer "$dir/answers.md" --days "$days" --seed 7 --cycles-per-day 20 >/dev/null
mkdir -p "$dir/one"
printouts=$(find "$dir/records" -name '*.txt' | sort)
first=$(grep -l '^loadbook printout' $printouts | sed -n 1p)
awk '/^loadbook printout/ { n++ } n > 1 { exit } { print }' "$first" > "$dir/one/strip.txt"

# Five fields a cycle, as a script of an afternoon takes them.
cat > "$dir/fields.awk" <<'AWK'
/^unit: / { unit = $2 }
/^counter: / { counter = $2 }
/^program: / { program = $2 }
/^started: / { started = $2 " " $3 }
/^outcome: / { print unit "," counter "," program "," started "," $2 }
AWK
# Every reading, typed: time, name, number, unit.
cat > "$dir/readings.py" <<'PY'
import re, sys
line = re.compile(r"^(\d\d):(\d\d):(\d\d) (.*)$")
value = re.compile(r"([a-z][a-z ]*) (-?\d+(?:\.\d+)?) ([^,\s]+)")
n, total = 0, 0.0
for name in sys.argv[1:]:
    with open(name, encoding="utf-8", errors="replace") as file:
        for text in file:
            seen = line.match(text)
            if not seen:
                continue
            at = int(seen[1]) * 3600 + int(seen[2]) * 60 + int(seen[3])
            for reading in value.finditer(seen[4]):
                total += float(reading[2]) + at * 0
                n += 1
print(n, total)
PY
cat > "$dir/time.py" <<'PY'
import os, pathlib, resource, subprocess, sys, tempfile, time
folder, loadbook, n_asked = sys.argv[1:4]


def name_of_strip(path):
    """The name that `show` takes: unit and counter."""
    fields = dict(line.split(": ", 1) for line in pathlib.Path(path).read_text().splitlines() if ": " in line)
    return fields["unit"].split()[0] + ":" + fields["counter"]


records, root = folder + "/records", pathlib.Path(folder)
files = sorted(str(path) for path in (root / "records").rglob("*") if path.is_file())
n_bytes = sum(os.path.getsize(name) for name in files)
n_cycles = sum(pathlib.Path(name).read_bytes().count(b"loadbook printout") for name in files)

def once(command):
    """Wall and processor seconds and peak memory of one run."""
    start = time.perf_counter()
    child = subprocess.Popen(command, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
    _, status, used = os.wait4(child.pid, 0)
    wall = time.perf_counter() - start
    child.returncode = os.waitstatus_to_exitcode(status)
    # 1 says that something needs a person, which is no failure here.
    if child.returncode not in (0, 1):
        sys.exit(f"{command[:3]} ended with {child.returncode}")
    return wall, used.ru_utime + used.ru_stime, used.ru_maxrss / 1024

def has(program):
    return any(os.access(os.path.join(path, program), os.X_OK) for path in os.environ["PATH"].split(":"))

cases = [("wc -l", ["wc", "-l", *files])]
for awk in ("gawk", "mawk"):
    if has(awk):
        cases.append((f"{awk}, five fields a cycle", [awk, "-f", folder + "/fields.awk", *files]))
    else:
        print(f"missing: {awk}")
cases += [
    ("Python re, every reading", [sys.executable, folder + "/readings.py", *files]),
    ("loadbook read", [loadbook, "read", records]),
    ("loadbook review", [loadbook, "review", records]),
    ("loadbook service", [loadbook, "service", records]),
    ("loadbook report review", [loadbook, "report", "review", records, "--output", folder + "/review.html"]),
    ("loadbook --help", [loadbook, "--help"]),
    ("loadbook show, one strip", [loadbook, "show", name_of_strip(folder + "/one/strip.txt"), folder + "/one"]),
]
print(f"{n_cycles} cycles, {n_bytes / 1e6:.1f} MB in {len(files)} files, {os.cpu_count()} cores, best of 3")
print(f"| {'command':<28} | wall s | cpu s | MB/s of wall | of wc -l | peak MB | bytes a cycle |")
print("| :--- | ---: | ---: | ---: | ---: | ---: | ---: |")
base = None
times = {}
for name, command in cases:
    runs = []
    for _ in range(3):
        out = root / "review.html"
        out.unlink(missing_ok=True)
        runs.append(once(command))
    wall, cpu = min(run[0] for run in runs), min(run[1] for run in runs)
    peak = max(run[2] for run in runs)
    base = base or wall
    times[name] = wall
    whole = name not in ("loadbook --help", "loadbook show, one strip")
    rate = f"{n_bytes / 1e6 / wall:.0f} | {base / wall:.4f}" if whole else "– | –"
    each = f"{peak * 1048576 / n_cycles:.0f}" if whole else "–"
    print(f"| {name:<28} | {wall:.3f} | {cpu:.3f} | {rate} | {peak:.0f} | {each} |", flush=True)
print()
print(f"read / Python re:       {times['Python re, every reading'] / times['loadbook read']:.1f} times as fast (target: 20)")
for awk in ("gawk", "mawk"):
    name = f"{awk}, five fields a cycle"
    if name in times:
        print(f"read / {awk}:            {times[name] / times['loadbook read']:.2f} times as fast (target: more than 1)")
print(f"review / read:          {times['loadbook review'] / times['loadbook read']:.2f} times as long (target: 3 at most)")
print(f"--help:                 {times['loadbook --help'] * 1e3:.0f} ms (target: under 30)")
print(f"show of one strip:      {times['loadbook show, one strip'] * 1e3:.0f} ms (target: under 30)")
PY
python3 "$dir/time.py" "$dir" "$loadbook" "$n_cycles"
echo
echo "The memchr line split of the same kind of bytes, on one core: cargo bench --bench read"
