"""The tables of benches/commands.sh: commands side by side, layouts, start-up, the archive, and what is wanted of them.

    tables.py LOADBOOK FOLDER CYCLES
"""

import os
import pathlib
import shutil
import subprocess
import sys

import measure
import records

HERE = pathlib.Path(__file__).resolve().parent
CORES = f"{len(os.sched_getaffinity(0))} cores"


class Table:
    """Commands over the same files, each beside the line split on as many cores."""

    def __init__(self, title, files):
        self.n_bytes, self.n_cycles = records.n_bytes(files), records.n_cycles(files)
        self.runs = {}
        print(f"\n{title}: {self.n_cycles} cycles, {self.n_bytes / 1e6:.1f} MB in {len(files)} files\n")
        print("| command | cores | wall s | cpu s | MB/s | of the split, wall | of the split, cpu | peak MB | bytes a cycle |")
        print("| :- | :- | -: | -: | -: | -: | -: | -: | -: |", flush=True)

    def add(self, name, command, before=None, cores=CORES, n_rounds=measure.N_ROUNDS):
        """Times a command, prints its row and keeps its run under name and cores."""
        try:
            run = measure.best(command, before, n_rounds)
        except (RuntimeError, OSError) as error:
            measure.missing(f"{name}: {error}")
            return
        self.runs[name, cores] = run
        split = self.runs.get(("line split", cores))
        ratios = f"{split.wall / run.wall:.4f} | {split.cpu / run.cpu:.4f}" if split and run.cpu > 0 else "– | –"
        peak = run.peak_cells(self.n_cycles)
        rate = f"{self.n_bytes / 1e6 / run.wall:.0f}"
        print(f"| {name} | {cores} | {run.wall:.3f} | {run.cpu:.3f} | {rate} | {ratios} | {peak} |", flush=True)

    def add_on_both(self, name, command):
        """Times a command on one core and on all."""
        alone = measure.on_one_core(command)
        if alone:
            self.add(name, alone, cores="1 core")
        self.add(name, command)

    def ratio(self, name, other, cores, less=None):
        """How many times as long the first takes as the second, by wall and by processor time; `less` is taken off the
        first."""
        runs = [self.runs.get((which, cores)) for which in (name, other)]
        if None in runs:
            return None
        start = self.runs.get((less, cores)) if less else None
        wall, cpu = (start.wall, start.cpu) if start else (0.0, 0.0)
        return (runs[0].wall - wall) / runs[1].wall, (runs[0].cpu - cpu) / runs[1].cpu


def split_of(files, n_threads):
    return [os.environ["SPLIT"], "--threads", str(n_threads), *files]


def add_bases(table, files):
    """What everything is held against."""
    table.add("`wc -l`", ["wc", "-l", *files], cores="1 core")
    if os.access(os.environ.get("SPLIT", ""), os.X_OK):
        table.add("line split", measure.on_one_core(split_of(files, 1)) or split_of(files, 1), cores="1 core")
        table.add("line split", split_of(files, len(os.sched_getaffinity(0))))


def time_printouts(loadbook, root):
    """Reading of the printouts alone, beside everything else that reads them."""
    folder = root / "records" / "printouts"
    files = records.files_of(folder)
    table = Table("Printouts in neutral text", files)
    add_bases(table, files)
    for awk in ("mawk", "gawk"):
        if shutil.which(awk):
            table.add(f"{awk}, five fields a cycle", [awk, "-f", str(HERE / "fields.awk"), *files], cores="1 core")
        else:
            measure.missing(awk)
    python = sys.executable
    table.add("Python `re`, every reading typed", [python, str(HERE / "readings_re.py"), *files], cores="1 core")
    if shutil.which("agrind"):
        whole = root / "printouts.txt"
        with open(whole, "wb") as out:
            for name in files:
                with open(name, "rb") as file:
                    shutil.copyfileobj(file, out)
        query = '* | parse regex "^(?P<field>unit|counter|program|started|outcome): (?P<value>.*)$"'
        table.add_on_both("angle-grinder, five fields a cycle", ["agrind", "--file", str(whole), query])
    else:
        measure.missing("agrind (cargo install ag)")
    if can_import("duckdb"):
        script = [python, str(HERE / "fields_duckdb.py")]
        table.add_on_both("DuckDB, only started", script)
        table.add_on_both("DuckDB, five fields a cycle", [*script, str(root / "fields.csv"), *files])
    if can_import("polars"):
        flat = root / "flat"
        command = [loadbook, "export", str(folder), "--as", "csv", "--output", str(flat)]
        subprocess.run(command, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
        script = [python, str(HERE / "flat_polars.py")]
        table.add_on_both("polars, only started", script)
        table.add_on_both("polars, the readings as flat CSV already", [*script, str(flat / "readings.csv")])
        size = (flat / "readings.csv").stat().st_size
        shutil.rmtree(flat)
        FOOTNOTES.append(f"The flat CSV that polars reads has {size / 1e6:.0f} MB; its rates are by the bytes of the printouts.")
    table.add_on_both("loadbook read", [loadbook, "read", str(folder)])
    return table


def time_records(loadbook, root):
    """Whole commands over the printouts and the logs of the department."""
    folder = str(root / "records")
    files = records.files_of(folder)
    table = Table("Printouts and logs of one department", files)
    add_bases(table, files)
    table.add_on_both("loadbook read", [loadbook, "read", folder])
    table.add_on_both("loadbook review", [loadbook, "review", folder])
    table.add("loadbook service", [loadbook, "service", folder])
    page = root / "review.html"
    report = [loadbook, "report", "review", folder, "--output", str(page)]
    table.add("loadbook report review", report, before=lambda: page.unlink(missing_ok=True))
    if "sites" in measure.commands_of(loadbook):
        sites = root / "sites"
        shutil.copytree(root / "records", sites / "fennmarsh")
        table.add("loadbook sites, one site", [loadbook, "sites", str(sites)])
        shutil.rmtree(sites)
    else:
        measure.missing("loadbook sites: this loadbook has no such command")
    time_archive(loadbook, root, table)
    return table


def time_archive(loadbook, root, table):
    """The archive of all but the newest day; then that day is added, and the whole reviewed again."""
    rest, day, kept, archive = root / "rest", root / "day", root / "kept", root / "archive"
    records.hold_back_newest_day(root / "records", rest, day)
    clear = lambda: shutil.rmtree(kept, ignore_errors=True)
    table.add("loadbook archive add, all but a day", [loadbook, "archive", "add", str(kept), str(rest)], before=clear, n_rounds=1)
    if not kept.exists():
        return
    subprocess.run([loadbook, "archive", "review", str(kept)], stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
    add = [loadbook, "archive", "add", str(archive), str(day)]

    def as_before():
        shutil.rmtree(archive, ignore_errors=True)
        shutil.copytree(kept, archive)

    def with_the_day():
        as_before()
        subprocess.run(add, check=True, stdout=subprocess.DEVNULL)

    table.add("loadbook archive add, the day", add, before=as_before)
    table.add("loadbook archive review, the day added", [loadbook, "archive", "review", str(archive)], before=with_the_day)
    for folder in (rest, day, kept, archive):
        shutil.rmtree(folder, ignore_errors=True)


def time_layouts(loadbook, root, n_cycles):
    """The strips of each shipped layout beside neutral text of the same cycles. Gives the largest ratios."""
    print("\nStrips of the shipped layouts beside neutral text of the same cycles, on one core: `loadbook read`\n")
    print("| layout | cycles | strips MB | neutral MB | strips cpu s | neutral cpu s | strips / neutral, wall | strips / neutral, cpu |")
    print("| :- | -: | -: | -: | -: | -: | -: | -: |", flush=True)
    ratios = []
    for layout, printed, neutral, n in records.strips(root / "strips", max(n_cycles // 10, 50)):
        commands = [[loadbook, "read", str(path)] for path in (printed, neutral)]
        strip, plain = (measure.best(measure.on_one_core(command) or command) for command in commands)
        ratio = strip.wall / plain.wall, strip.cpu / plain.cpu
        ratios.append(ratio)
        sizes = f"{printed.stat().st_size / 1e6:.1f} | {neutral.stat().st_size / 1e6:.1f}"
        print(f"| {layout} | {n} | {sizes} | {strip.cpu:.3f} | {plain.cpu:.3f} | {ratio[0]:.2f} | {ratio[1]:.2f} |", flush=True)
    return tuple(max(side) for side in zip(*ratios))


def time_start(loadbook, root):
    """What a person waits for at the least. Gives the runs by name."""
    strip = root / "one"
    name = records.one_strip(records.files_of(root / "records" / "printouts"), strip)
    commands = {"`--help`": [loadbook, "--help"], "`show` of one strip": [loadbook, "show", name, str(strip)]}
    print("\n| start | wall ms | cpu ms | peak MB |\n| :- | -: | -: | -: |")
    waits = {}
    for what, command in commands.items():
        run = measure.best(command, n_rounds=20)
        waits[what] = run
        print(f"| {what} | {run.wall * 1e3:.1f} | {run.cpu * 1e3:.1f} | {run.peak_cells(1).split(' | ')[0]} |", flush=True)
    return waits


def can_import(module):
    """Whether this Python has a module; says so if not."""
    found = subprocess.run([sys.executable, "-c", f"import {module}"], capture_output=True).returncode == 0
    if not found:
        measure.missing(f"{module} in {sys.executable} (pip install {module}; PYTHON names another Python)")
    return found


def judge(target, measured, reached, digits=2):
    """A row of what is wanted. `measured` is a pair, by wall and by processor time, and both have to reach it."""
    if measured is None:
        print(f"| {target} | – | – | not measured |")
        return
    said = "reached" if all(map(reached, measured)) else "**not reached**"
    wall, cpu = (f"{value:.{digits}f}" for value in measured)
    print(f"| {target} | {wall} | {cpu} | {said} |")


def print_targets(printouts, whole, layouts, waits):
    print("\n| wanted | by wall | by cpu | |\n| :- | -: | -: | :- |")
    for cores in ("1 core", CORES):
        of_split = printouts.ratio("line split", "loadbook read", cores)
        judge(f"reading at least 0.25 of the speed of the line split, {cores}", of_split, lambda ratio: ratio >= 0.25, 4)
    times = lambda name, less=None: printouts.ratio(name, "loadbook read", "1 core", less)
    judge("reading at least 20 times as fast as Python `re`, 1 core", times("Python `re`, every reading typed"), lambda ratio: ratio >= 20)
    others = [
        ("mawk", "mawk, five fields a cycle", None),
        ("angle-grinder", "angle-grinder, five fields a cycle", None),
        ("DuckDB less its start", "DuckDB, five fields a cycle", "DuckDB, only started"),
    ]
    for name, row, less in others:
        judge(f"reading faster than {name}, 1 core: times as fast", times(row, less), lambda ratio: ratio > 1)
    judge("each layout at most 4 times as long as neutral text: the longest", layouts, lambda ratio: ratio <= 4)
    review = whole.ratio("loadbook review", "loadbook read", CORES)
    judge(f"review at most 3 times as long as reading, {whole.n_cycles} cycles", review, lambda ratio: ratio <= 3)
    again = whole.ratio("loadbook archive review, the day added", "loadbook read", CORES)
    judge("review from the archive after a day at most 0.05 of the time of a full read", again, lambda ratio: ratio <= 0.05, 3)
    for what, wait in waits.items():
        # A person waits by the clock.
        said = "reached" if wait.wall < 0.030 else "**not reached**"
        print(f"| {what} under 30 ms | {wait.wall * 1e3:.1f} ms | {wait.cpu * 1e3:.1f} ms | {said} |")


if __name__ == "__main__":
    loadbook, root, n_wanted = sys.argv[1], pathlib.Path(sys.argv[2]), int(sys.argv[3])
    FOOTNOTES = []
    n_days = max(n_wanted // 20, 10)
    records.simulate(loadbook, root / "records", root / "answers.md", "--days", n_days, "--cycles-per-day", 20)
    version = subprocess.run([loadbook, "--version"], capture_output=True, text=True).stdout.strip()
    print(f"{version}, {CORES}, {n_days} days; the best of up to {measure.N_ROUNDS} runs, fewer above {measure.ENOUGH_S:.0f} s")
    printouts = time_printouts(loadbook, root)
    whole = time_records(loadbook, root)
    layouts = time_layouts(loadbook, root, n_wanted)
    waits = time_start(loadbook, root)
    print_targets(printouts, whole, layouts, waits)
    if not measure.on_one_core(["true"]):
        measure.missing("taskset: nothing is held to one core")
    for note in FOOTNOTES:
        print(f"\n{note}")
