"""The records that commands are timed on: simulated ones, the newest day held back, strips of the shipped layouts."""

import datetime
import pathlib
import re
import shutil
import subprocess
import sys

ROOT = pathlib.Path(__file__).resolve().parents[2]


def simulate(loadbook, out, answer, *more):
    """Practice records from a fixed seed. The answer is a file, or with --sites a folder."""
    if pathlib.Path(answer).is_dir():
        shutil.rmtree(answer)
    pathlib.Path(answer).unlink(missing_ok=True)
    command = [loadbook, "simulate", "--out", str(out), "--answer", str(answer), "--seed", "7", *map(str, more)]
    subprocess.run(command, check=True, stdout=subprocess.DEVNULL)


def files_of(folder):
    """The files of a folder, as names."""
    return sorted(str(path) for path in pathlib.Path(folder).rglob("*") if path.is_file())


def n_bytes(files):
    return sum(pathlib.Path(name).stat().st_size for name in files)


def n_cycles(files):
    return sum(pathlib.Path(name).read_bytes().count(b"loadbook printout") for name in files)


def one_strip(printouts, folder):
    """A folder with one strip in it, and the name of its cycle for `show`."""
    text = pathlib.Path(printouts[0]).read_text(encoding="utf-8")
    strip = "loadbook printout" + text.split("loadbook printout")[1]
    folder.mkdir()
    (folder / "strip.txt").write_text(strip, encoding="utf-8")
    fields = dict(line.split(": ", 1) for line in strip.splitlines() if ": " in line)
    return f"{fields['unit']}:{fields['counter']}"


def hold_back_newest_day(records, rest, day):
    """Copies records to `rest` but for the newest day, which goes to files of its own in `day`. Gives that day."""
    records = pathlib.Path(records)
    newest = max(re.findall(r"^started: (\S+)", "".join(path.read_text() for path in newest_files(records)), re.M))
    for name in files_of(records):
        path = pathlib.Path(name)
        text = path.read_text(encoding="utf-8")
        older, held = cut(text, path.suffix, newest) if newest in text else (text, "")
        place = path.relative_to(records)
        for target, content in [(rest / place, older), (day / place.with_stem(path.stem + "-newest"), held)]:
            if content:
                target.parent.mkdir(parents=True, exist_ok=True)
                target.write_text(content, encoding="utf-8")
    return newest


def newest_files(records):
    """Each unit's last file of printouts."""
    return [max(folder.iterdir()) for folder in sorted((records / "printouts").iterdir())]


def cut(text, suffix, day):
    """What of a file is older than a day, and what is of that day or newer; either can be nothing."""
    lines = text.splitlines(keepends=True)
    if lines[0].startswith("loadbook printout"):
        cycles = ["loadbook printout" + part for part in text.split("loadbook printout")[1:]]
        is_held = [re.search(r"^started: (\S+)", cycle, re.M)[1] >= day for cycle in cycles]
        return tuple("".join(cycle for cycle, held in zip(cycles, is_held) if held == side) for side in (False, True))
    if suffix == ".csv":
        begin = next((n for n, line in enumerate(lines) if n > 0 and line.split(",")[1] >= day), len(lines))
        n_head = 1
    else:
        begin = next((n for n, line in enumerate(lines) if line.startswith("date: ") and line[6:16] >= day), len(lines))
        n_head = next(n for n, line in enumerate(lines) if line.startswith("date: "))
    head, held = lines[:n_head], lines[begin:]
    older = lines[:begin]
    return "".join(older) if len(older) > n_head else "", "".join(head + held) if held else ""


def strips(folder, n_times):
    """For each shipped layout the strips of its printer and neutral text of the same cycles: the cycles of its sample, many
    times, each time with other counters and other minutes. Gives name, strips, neutral text, number of cycles.

    A Python of its own makes them, so that the one that takes the times stays small."""
    command = [sys.executable, __file__, str(folder), str(n_times)]
    made = subprocess.run(command, check=True, capture_output=True, text=True).stdout
    for line in made.splitlines():
        layout, n = line.split()
        yield layout, folder / layout / "strips.txt", folder / layout / "neutral.txt", int(n)


def write_strips(folder, n_times):
    sys.path.insert(0, str(ROOT / "tests" / "layouts"))
    import make_samples

    for layout, (make, write) in make_samples.SAMPLES.items():
        place = folder / layout
        place.mkdir(parents=True)
        n = 0
        with open(place / "strips.txt", "wb") as printed, open(place / "neutral.txt", "wb") as neutral:
            for time in range(n_times):
                cycles = make()
                # Under a day's heading the strip fixes which cycle is which.
                if layout != "plasma-time-only":
                    for cycle in cycles:
                        # The samples stand within March, and some printers have words for few months.
                        cycle.start += datetime.timedelta(minutes=time % 600)
                        cycle.fields["counter"] += len(cycles) * time
                printed.write(write(cycles))
                for cycle in cycles:
                    neutral.write(make_samples.neutral(cycle).encode())
                n += len(cycles)
        print(layout, n)


if __name__ == "__main__":
    write_strips(pathlib.Path(sys.argv[1]), int(sys.argv[2]))
