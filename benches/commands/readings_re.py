"""Every reading, typed, by regular expressions: time of day, name, number, unit. Prints how many and their sum."""

import re
import sys

LINE = re.compile(r"^(\d\d):(\d\d):(\d\d) (.*)$")
VALUE = re.compile(r"([a-z][a-z ]*) (-?\d+(?:\.\d+)?) ([^,\s]+)")

n, total, last = 0, 0.0, None
for name in sys.argv[1:]:
    with open(name, encoding="utf-8", errors="replace") as file:
        for text in file:
            seen = LINE.match(text)
            if not seen:
                continue
            at = int(seen[1]) * 3600 + int(seen[2]) * 60 + int(seen[3])
            for reading in VALUE.finditer(seen[4]):
                last = (at, reading[1], float(reading[2]), reading[3])
                total += last[2]
                n += 1
print(n, total, last)
