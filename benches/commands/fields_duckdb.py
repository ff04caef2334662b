"""Five fields a cycle by DuckDB's regexp_extract, written as CSV. Without files it only starts."""

import sys

import duckdb

FIELDS = ["unit", "counter", "program", "started", "outcome"]

if len(sys.argv) > 1:
    out, files = sys.argv[1], sys.argv[2:]
    columns = ", ".join(f"regexp_extract(cycle, '(?m)^{field}: (.*)$', 1) AS {field}" for field in FIELDS)
    cycles = f"SELECT unnest(string_split(content, 'loadbook printout 1')) AS cycle FROM read_text({files})"
    duckdb.execute(f"COPY (SELECT {columns} FROM ({cycles}) WHERE cycle LIKE '%outcome: %') TO '{out}' (FORMAT csv)")
