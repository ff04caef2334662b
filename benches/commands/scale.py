"""How processor time and memory of a review grow with the cycles: benches/commands.sh --scale.

    scale.py LOADBOOK FOLDER CYCLES…

One department is reviewed up to 100,000 cycles; many departments at once, of 10,000 cycles each, at every number, by
`loadbook sites`, if this loadbook has it. The last column compares a cycle's time (or its
instructions, where they can be counted) with that at the smallest number.
"""

import pathlib
import shutil
import subprocess
import sys
import tempfile

import measure
import records

ONE_DEPARTMENT, PER_SITE, PER_DAY = 100_000, 10_000, 20
# A cycle's share of printouts and logs is under 3 kB; a third more is left free.
BYTES_A_CYCLE = 4_000


def instructions(command):
    """How many instructions a command takes, or nothing where they are not counted: they do not hang on what else runs."""
    if not shutil.which("perf"):
        return None
    with tempfile.NamedTemporaryFile("r") as out:
        counted = ["perf", "stat", "-x", ",", "-e", "instructions:u", "-o", out.name, *command]
        subprocess.run(counted, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
        fields = [line.split(",") for line in out if "instructions" in line]
    return int(fields[0][0]) if fields and fields[0][0].isdigit() else None


class Growth:
    """A command at growing numbers of cycles."""

    def __init__(self, title, counts_instructions):
        # The shares of a cycle, and the highest peak, in bytes.
        self.each, self.peak = [], 0
        self.counts_instructions = counts_instructions
        print(f"\n{title}\n")
        print("| cycles | sites | MB | wall s | cpu s | µs cpu a cycle | instructions a cycle | peak MB | bytes a cycle | time a cycle, of the first |")
        print("| -: | -: | -: | -: | -: | -: | -: | -: | -: | -: |", flush=True)

    def add(self, files, n_sites, command):
        n, n_bytes = records.n_cycles(files), records.n_bytes(files)
        run = measure.best(command)
        counted = instructions(command) if self.counts_instructions else None
        self.each.append((counted or run.cpu) / n)
        self.peak = max(self.peak, run.peak)
        told = f"{counted / n:.0f}" if counted else "–"
        print(
            f"| {n} | {n_sites} | {n_bytes / 1e6:.1f} | {run.wall:.2f} | {run.cpu:.2f} | {run.cpu / n * 1e6:.1f} "
            f"| {told} | {run.peak_cells(n)} | {self.each[-1] / self.each[0]:.2f} |",
            flush=True,
        )

    def print_targets(self, name):
        """What was wanted of it."""
        if len(self.each) > 1:
            ratio = max(self.each) / self.each[0]
            judge(f"{name}: a cycle takes at most 1.15 times as long as at the smallest number", f"{ratio:.2f}", ratio <= 1.15)
        if self.each:
            judge(f"{name}: peak memory under 1 GiB", f"{self.peak / 2**30:.3f} GiB", self.peak < 2**30)


def judge(target, measured, reached):
    print(f"| {target} | {measured} | {'reached' if reached else '**not reached**'} |")


def has_room(root, n):
    """Whether the disk takes the records of so many cycles; says so if not."""
    free = shutil.disk_usage(root).free
    if free < n * BYTES_A_CYCLE:
        measure.missing(f"{n} cycles: {n * BYTES_A_CYCLE / 1e9:.1f} GB are wanted on the disk of {root}, {free / 1e9:.1f} are free")
    return free >= n * BYTES_A_CYCLE


def grow(title, counts, make, command, counts_instructions):
    """Makes the records of each number, times the command, deletes them."""
    growth = Growth(title, counts_instructions)
    for n in counts:
        folder = root / "records"
        if not has_room(root, n):
            continue
        try:
            n_sites = make(folder, n)
            growth.add(records.files_of(folder), n_sites, [*command, str(folder)])
        except (RuntimeError, subprocess.CalledProcessError) as error:
            measure.missing(f"{n} cycles: {error}")
        shutil.rmtree(folder, ignore_errors=True)
    return growth


def make_department(folder, n):
    records.simulate(loadbook, folder, root / "answers.md", "--days", n // PER_DAY, "--cycles-per-day", PER_DAY)
    return 1


def make_sites(folder, n):
    n_sites = max(1, round(n / PER_SITE))
    days = max(1, n // (n_sites * PER_DAY))
    more = ["--sites", n_sites, "--days", days, "--cycles-per-day", PER_DAY]
    records.simulate(loadbook, folder, root / "answers.md", *more)
    return n_sites


if __name__ == "__main__":
    loadbook, root, counts = sys.argv[1], pathlib.Path(sys.argv[2]), sorted(map(int, sys.argv[3:]))
    counts_instructions = instructions(["true"]) is not None
    if not counts_instructions:
        measure.missing("perf stat -e instructions:u counts nothing here: processor time is compared instead")
    departments = [n for n in counts if n <= ONE_DEPARTMENT]
    grown = {}
    if departments:
        command = [loadbook, "review"]
        grown["review"] = grow("One department: `loadbook review`", departments, make_department, command, counts_instructions)
    if "sites" in measure.commands_of(loadbook) and "--sites" in measure.options_of(loadbook, "simulate"):
        command = [loadbook, "sites"]
        grown["sites"] = grow("Many departments: `loadbook sites`", counts, make_sites, command, counts_instructions)
    else:
        measure.missing("loadbook sites, or simulate --sites: this loadbook has them not; one department goes up to 100,000")
    print("\n| wanted | measured | |\n| :- | -: | :- |")
    for name, growth in grown.items():
        growth.print_targets(name)
