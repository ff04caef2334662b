"""Where the processor time of a command goes: benches/commands.sh --profile.

    profile.py LOADBOOK FOLDER CYCLES

`perf record` samples each command on one core. A sample counts for the function that ran, not for the one that called it:
what a stage asks of the allocator or of the standard library stands under those.
"""

import collections
import pathlib
import re
import shutil
import subprocess
import sys

import measure
import records

# The first that fits a symbol names its group. Functions of loadbook are told by their module.
GROUPS = [
    ("the allocator", r"^(_int_|__libc_)?(malloc|free|realloc|calloc)|^cfree|^unlink_chunk|^sysmalloc|mi_(malloc|free|heap)"),
    ("copying and clearing memory", r"mem(move|cpy|set)"),
    ("comparing memory", r"memcmp|bcmp"),
    ("SHA-256", r"sha2"),
    ("finding bytes (memchr)", r"memchr"),
    ("dates (chrono)", r"chrono"),
    ("parser combinators (nom)", r"\bnom\b"),
    ("compression (flate2)", r"flate|miniz|adler|crc32"),
]
MODULE = re.compile(r"loadbook::(\w+)(?:::(\w+))?")


def group_of(symbol):
    if symbol.startswith("[k]"):
        return "the kernel: reading files, giving out pages"
    name = symbol[4:]
    for group, pattern in GROUPS:
        if re.search(pattern, name):
            return group
    module = MODULE.search(name)
    if module:
        return "`" + "::".join(part for part in module.groups() if part) + "`"
    return "the standard library: collections, sorting, text" if re.search(r"\b(alloc|core|std)::", name) else "other"


def profile(title, command, root):
    """Prints each group's share of the samples."""
    data = root / "perf.data"
    record = ["perf", "record", "-e", "cpu-clock", "-F", "999", "-o", str(data), "--"]
    done = subprocess.run([*record, *(measure.on_one_core(command) or command)], capture_output=True)
    if not data.exists():
        measure.missing(f"a profile of {title}: {done.stderr.decode(errors='replace').strip()[-200:]}")
        return
    report = ["perf", "report", "-i", str(data), "--no-children", "--stdio", "-F", "overhead,sym"]
    said = subprocess.run(report, capture_output=True, text=True).stdout
    shares = collections.Counter()
    for share, symbol in re.findall(r"^ *([0-9.]+)% +(\[.\] .*?) *$", said, re.M):
        shares[group_of(symbol)] += float(share)
    print(f"\n| {title} | % of samples |\n| :- | -: |")
    for group, share in shares.most_common(14):
        print(f"| {group} | {share:.1f} |")
    data.unlink()


if __name__ == "__main__":
    loadbook, root, n_wanted = sys.argv[1], pathlib.Path(sys.argv[2]), int(sys.argv[3])
    if not shutil.which("perf"):
        measure.missing("perf, which takes the profiles")
        sys.exit()
    folder, archive = root / "records", root / "archive"
    n_days = max(n_wanted // 20, 10)
    records.simulate(loadbook, folder, root / "answers.md", "--days", n_days, "--cycles-per-day", 20)
    print(f"{records.n_cycles(records.files_of(folder))} cycles, one core")
    profile("`loadbook read`, printouts alone", [loadbook, "read", str(folder / "printouts")], root)
    profile("`loadbook read`", [loadbook, "read", str(folder)], root)
    profile("`loadbook review`", [loadbook, "review", str(folder)], root)
    profile("`loadbook archive add`", [loadbook, "archive", "add", str(archive), str(folder)], root)
    profile("`loadbook archive review`", [loadbook, "archive", "review", str(archive)], root)
