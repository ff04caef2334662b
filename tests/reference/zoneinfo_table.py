"""Makes tests/reference/zoneinfo_table.csv: local times around clock changes, as Python's zoneinfo reads them.

Run with Python 3.9 or later:  python3 tests/reference/zoneinfo_table.py > tests/reference/zoneinfo_table.csv

Columns: zone; local time; fold (PEP 495: which of the two, where a time came twice); offset from UTC in seconds;
exists (1, or 0 where clocks skipped it: the time does not come back from UTC as itself).
The test is in src/reconcile/moments.rs. Source: Python standard library `zoneinfo` (PEP 615) over the IANA time zone
database of the system; its version is on the first line.
"""

import sys
from datetime import datetime, timedelta, timezone
from pathlib import Path
from zoneinfo import TZPATH, ZoneInfo

ZONES = ["Europe/London", "America/New_York", "Australia/Lord_Howe", "Europe/Berlin"]
FIRST, LAST = datetime(2024, 1, 1), datetime(2027, 12, 31)


def database_version():
    for folder in TZPATH:
        for name in ("+VERSION", "tzdata.zi"):
            file = Path(folder) / name
            if file.is_file():
                return file.read_text().splitlines()[0].removeprefix("# version ").strip()
    return "unknown"


def changes(zone):
    """The UTC hours before which the offset changes, found by looking at every half hour."""
    moment = FIRST.replace(tzinfo=timezone.utc)
    last = LAST.replace(tzinfo=timezone.utc)
    step = timedelta(minutes=30)
    while moment < last:
        before = moment.astimezone(zone).utcoffset()
        after = (moment + step).astimezone(zone).utcoffset()
        if before != after:
            yield moment + step, before
        moment += step


def main():
    out = sys.stdout
    out.write(f"# Python {sys.version.split()[0]} zoneinfo, IANA time zone database {database_version()}\n")
    out.write("zone,local,fold,offset_seconds,exists\n")
    for name in ZONES:
        zone = ZoneInfo(name)
        for change, offset_before in changes(zone):
            wall = (change + offset_before).replace(tzinfo=None)
            times = {wall + timedelta(minutes=15 * k) for k in range(-8, 9)}
            times |= {wall + timedelta(minutes=30 * k, seconds=s) for k in range(-3, 4) for s in (-1, 1)}
            for local in sorted(times):
                for fold in (0, 1):
                    aware = local.replace(tzinfo=zone, fold=fold)
                    offset = int(aware.utcoffset().total_seconds())
                    back = aware.astimezone(timezone.utc).astimezone(zone).replace(tzinfo=None)
                    out.write(f"{name},{local:%Y-%m-%d %H:%M:%S},{fold},{offset},{int(back == local)}\n")


main()
