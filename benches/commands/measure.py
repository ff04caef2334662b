"""Runs commands, and says how long each took and how much memory it held at its peak."""

import os
import resource
import shutil
import subprocess
import sys
import time

# A command is run three times, but not again once it has taken so many seconds.
N_ROUNDS, ENOUGH_S = 3, 20.0


class Run:
    """The best of some runs: seconds by the clock and of the processor, and the highest peak in bytes."""

    def __init__(self, wall, cpu, peak):
        self.wall, self.cpu, self.peak = wall, cpu, peak

    def peak_cells(self, n_cycles):
        """The peak in MB and in bytes a cycle. The system counts a command's peak from that of the Python that starts it:
        what stays below is not seen."""
        floor = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss * 1024
        if self.peak <= floor * 1.02:
            return f"< {floor / 1e6:.0f} | –"
        return f"{self.peak / 1e6:.0f} | {self.peak / n_cycles:.0f}"


def once(command, before=None):
    """One run. Exit code 1 says that something needs a person, which is no failure here."""
    if before:
        before()
    start = time.perf_counter()
    child = subprocess.Popen(command, stdout=subprocess.DEVNULL, stderr=subprocess.PIPE)
    said = child.stderr.read()
    _, status, used = os.wait4(child.pid, 0)
    wall = time.perf_counter() - start
    child.returncode = os.waitstatus_to_exitcode(status)
    if child.returncode not in (0, 1) or (child.returncode == 1 and said.startswith(b"Traceback")):
        told = said.decode(errors="replace").strip()[-300:]
        raise RuntimeError(f"{' '.join(command[:4])[:120]} … ended with {child.returncode}: {told}")
    return Run(wall, used.ru_utime + used.ru_stime, used.ru_maxrss * 1024)


def best(command, before=None, n_rounds=N_ROUNDS):
    """The best of some runs. `before` makes ready what a run changes, and is not timed."""
    runs, spent = [], 0.0
    while len(runs) < n_rounds and spent < ENOUGH_S:
        runs.append(once(command, before))
        spent += runs[-1].wall
    return Run(min(run.wall for run in runs), min(run.cpu for run in runs), max(run.peak for run in runs))


def on_one_core(command):
    """The same command held to one core, or nothing where that can't be done."""
    return ["taskset", "-c", "0", *command] if shutil.which("taskset") else None


def missing(what):
    """Says what is left out, and why."""
    print(f"missing: {what}", file=sys.stderr, flush=True)


def commands_of(loadbook):
    """What the program can do, by its own help: the first words of the lines that are indented by two."""
    said = subprocess.run([loadbook, "--help"], capture_output=True, text=True).stdout
    return {line.split()[0] for line in said.splitlines() if line.startswith("  ") and line[2:3].isalpha()}


def options_of(loadbook, command):
    """The options that a command knows, by its own help."""
    said = subprocess.run([loadbook, command, "--help"], capture_output=True, text=True).stdout
    return {word.rstrip(",") for word in said.split() if word.startswith("--")}
