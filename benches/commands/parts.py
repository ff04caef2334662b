"""What `cargo bench --bench read --bench layout` measured, as a Markdown table.

    python3 benches/commands/parts.py [target/criterion]

The time is criterion's median; the last column is it over that of the first part with the same input.
"""

import json
import pathlib
import sys

root = pathlib.Path(sys.argv[1] if len(sys.argv) > 1 else "target/criterion")
groups = {}
for path in root.rglob("new/benchmark.json"):
    part = json.loads(path.read_text())
    median = json.loads((path.parent / "estimates.json").read_text())["median"]
    groups.setdefault(part["group_id"], []).append((part["function_id"], part["throughput"]["Bytes"], median))

if not groups:
    sys.exit(f"nothing under {root}; first: cargo bench --bench read --bench layout")
print("| input | part | MB | ms | from | to | MB/s | of the first |\n| :- | :- | -: | -: | -: | -: | -: | -: |")
FIRST = ["split into lines", "SHA-256", "neutral", "read", "strip"]
for group, parts in sorted(groups.items()):
    parts.sort(key=lambda part: FIRST.index(part[0]))
    base = parts[0][2]["point_estimate"]
    for name, n_bytes, median in parts:
        ns, sure = median["point_estimate"], median["confidence_interval"]
        bounds = " | ".join(f"{sure[side] / 1e6:.2f}" for side in ("lower_bound", "upper_bound"))
        rate = n_bytes / 1e6 / (ns / 1e9)
        print(f"| {group} | {name} | {n_bytes / 1e6:.2f} | {ns / 1e6:.2f} | {bounds} | {rate:.0f} | {ns / base:.2f} |")
