"""Readings that are a flat table already, read as typed columns by polars. Without a file it only starts."""

import sys

import polars

# Which columns hold numbers; polars finds the times, and everything else is text.
NUMBERS = ("_number", "_s", "_pa", "_c", "_per_l", "_percent", "_w", "_per_cm")

for name in sys.argv[1:]:
    with open(name, encoding="utf-8") as file:
        header = file.readline().rstrip("\r\n").split(",")
    types = {column: polars.Float64 for column in header if column.endswith(NUMBERS)}
    table = polars.read_csv(name, schema_overrides=types, try_parse_dates=True)
    print(table.shape, table.schema)
