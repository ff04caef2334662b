#!/usr/bin/env python3
"""Reads the exports of the samples with libraries that know nothing of loadbook, and compares.

    python3 -m venv DIR && DIR/bin/pip install -r requirements.txt && DIR/bin/python check.py PATH/TO/loadbook

The same tables are exported as CSV, JSON and Parquet. Parquet is read by pyarrow (and by pandas through it), DuckDB and
polars; CSV by Python's csv module; JSON by Python's json module. Spark is not run: it reads the same physical and logical
types of the Parquet format that are checked here, of which pyarrow and DuckDB are two independent readers.

The counts come from samples/answer-sheet.md, which `loadbook simulate` writes from what it planted, not from what it read.
Ends with status 1 and the differences if anything differs.
"""
import collections
import csv
import datetime
import json
import math
import pathlib
import re
import subprocess
import sys
import tempfile

import duckdb
import jsonschema
import pandas
import polars
import pyarrow
import pyarrow.parquet

ROOT = pathlib.Path(__file__).resolve().parents[2]
LOADBOOK = pathlib.Path(sys.argv[1] if len(sys.argv) > 1 else ROOT / "target/debug/loadbook").resolve()
FORMS = ("csv", "json", "parquet")
differences = []
n_checks = 0


def check(is_right, said):
    global n_checks
    n_checks += 1
    if not is_right:
        differences.append(said)


def same(found, expected, said):
    check(found == expected, f"{said}: {found!r} is not {expected!r}")


def export(paths, form, folder):
    run = subprocess.run(
        [LOADBOOK, "export", *paths, "--as", form, "-o", folder],
        cwd=ROOT, capture_output=True, text=True, check=False,
    )
    if run.returncode not in (0, 1):
        sys.exit(f"export as {form} ended with {run.returncode}: {run.stderr}")


def sheet():
    """The tables of the answer sheet, by the names of their columns: each a list of rows of text."""
    tables, rows = {}, None
    for line in (ROOT / "samples/answer-sheet.md").read_text().splitlines():
        if not line.startswith("|"):
            rows = None
        elif rows is None:
            rows = tables.setdefault(tuple(cell.strip() for cell in line.strip("|").split("|")), [])
        elif not re.match(r"\|[ :-]+\|", line):
            rows.append([cell.strip() for cell in line.strip("|").split("|")])
    return tables


def counted(rows):
    """Rows of a table of the answer sheet whose last column is a count."""
    return {tuple(row[:-1]): int(row[-1]) for row in rows}


# The types that each kind of column is to have for a reader, by the kinds of schema.json.
ARROW = {
    "text": pyarrow.large_string(),
    "key": pyarrow.large_string(),
    "word": pyarrow.dictionary(pyarrow.uint32(), pyarrow.string()),
    "whole number": pyarrow.int64(),
    "number": pyarrow.float64(),
    "true or false": pyarrow.bool_(),
    "day": pyarrow.date32(),
    "local time": pyarrow.timestamp("us"),
    "UTC": pyarrow.timestamp("us", tz="UTC"),
}
DUCKDB = {
    "text": "VARCHAR", "key": "VARCHAR", "word": "VARCHAR", "whole number": "BIGINT", "number": "DOUBLE",
    "true or false": "BOOLEAN", "day": "DATE", "local time": "TIMESTAMP", "UTC": "TIMESTAMP WITH TIME ZONE",
}
POLARS = {
    "text": polars.String, "key": polars.String, "word": polars.Categorical, "whole number": polars.Int64,
    "number": polars.Float64, "true or false": polars.Boolean, "day": polars.Date,
    "local time": polars.Datetime("us"), "UTC": polars.Datetime("us", "UTC"),
}
PARQUET = {
    "text": "String", "key": "String", "word": "String",
    "local time": "Timestamp(isAdjustedToUTC=false, timeUnit=microseconds",
    "UTC": "Timestamp(isAdjustedToUTC=true, timeUnit=microseconds", "day": "Date",
}


def from_csv(text, kind, may_lack):
    """What a cell of the CSV means, by grammars/export.md."""
    if kind in ("text", "key", "word"):
        text = text[1:] if text.startswith("'") else text
        return None if text == "" and may_lack else text
    if text == "":
        return None
    return {
        "whole number": int, "number": float, "true or false": lambda t: {"true": True, "false": False}[t],
        "day": datetime.date.fromisoformat, "local time": datetime.datetime.fromisoformat,
        "UTC": datetime.datetime.fromisoformat,
    }[kind](text)


def from_json(value, kind):
    if value is None or kind not in ("day", "local time", "UTC"):
        return value
    return (datetime.date if kind == "day" else datetime.datetime).fromisoformat(value)


def check_table(name, schema, folders):
    items = schema["$defs"][name]["items"]
    columns = {column: items["properties"][column] for column in items["required"]}
    kinds = {column: about["x-kind"] for column, about in columns.items()}
    lacking = {column: isinstance(about["type"], list) for column, about in columns.items()}
    names = list(kinds)

    with open(folders["csv"] / f"{name}.csv", newline="", encoding="utf-8") as file:
        rows = list(csv.reader(file, strict=True))
    same(rows[0], names, f"{name}.csv, header")
    formulas = [
        (row, column) for row in rows[1:] for column, cell in zip(names, row)
        if kinds[column] in ("text", "key", "word") and cell.lstrip().startswith(("=", "+", "-", "@", "\t", "\r", "\n"))
    ]
    check(not formulas, f"{name}.csv, cells like formulas: {formulas[:3]}")
    of_csv = [
        {column: from_csv(cell, kinds[column], lacking[column]) for column, cell in zip(names, row, strict=True)}
        for row in rows[1:]
    ]

    document = json.loads((folders["json"] / f"{name}.json").read_text())
    if name != "readings":  # Python's validator takes minutes for it; the Rust tests validate a smaller export whole.
        validator = jsonschema.Draft202012Validator(
            {"$schema": schema["$schema"], "$ref": f"#/$defs/{name}", "$defs": schema["$defs"]},
            format_checker=jsonschema.FormatChecker(),
        )
        faults = [fault.message for fault in validator.iter_errors(document)]
        check(not faults, f"{name}.json, against its schema: {faults[:3]}")
    of_json = [{column: from_json(row[column], kinds[column]) for column in names} for row in document]

    path = folders["parquet"] / f"{name}.parquet"
    arrow = pyarrow.parquet.read_table(path)
    for column, kind in kinds.items():
        same(arrow.schema.field(column).type, ARROW[kind], f"{name}.parquet, {column}, pyarrow")
        same(arrow.schema.field(column).nullable, lacking[column], f"{name}.parquet, {column}, nullable")
    of_parquet = arrow.to_pylist()

    same(len(of_csv), len(of_json), f"{name}, rows of CSV and JSON")
    same(len(of_csv), len(of_parquet), f"{name}, rows of CSV and Parquet")
    for others, form in ((of_json, "JSON"), (of_parquet, "Parquet")):
        differing = [(number, a, b) for number, (a, b) in enumerate(zip(of_csv, others)) if a != b]
        for number, a, b in differing[:2]:
            apart = {column: (a[column], b[column]) for column in names if a[column] != b[column]}
            differences.append(f"{name}, row {number} of CSV and {form}: {apart}")

    keys = [tuple(row[key] for key in schema["$defs"][name]["x-key"]) for row in of_csv]
    same(len(set(keys)), len(keys), f"{name}, keys that tell the rows apart")

    # In the file itself: dictionaries where text repeats, logical types, nothing of time and machine.
    file = pyarrow.parquet.ParquetFile(path)
    same(file.metadata.created_by, "loadbook", f"{name}.parquet, created by")
    for at, (column, kind) in enumerate(kinds.items()):
        logical = str(file.schema.column(at).logical_type)
        check(logical.startswith(PARQUET.get(kind, "None")), f"{name}.parquet, {column}: {logical}")
        for group in range(file.metadata.num_row_groups):
            chunk = file.metadata.row_group(group).column(at)
            same(chunk.compression, "SNAPPY", f"{name}.parquet, {column}, compression")
            if kind in ("key", "word"):
                check("RLE_DICTIONARY" in chunk.encodings, f"{name}.parquet, {column}: {chunk.encodings}")

    duck = duckdb.sql(f"select * from read_parquet('{path}')")
    for column, kind, found in zip(names, kinds.values(), map(str, duck.types), strict=True):
        same(found, DUCKDB[kind], f"{name}.parquet, {column}, DuckDB")
    frame = polars.read_parquet(path)
    for column, kind in kinds.items():
        found = frame.schema[column]
        check(found == POLARS[kind], f"{name}.parquet, {column}, polars: {found}")
    panda = pandas.read_parquet(path)
    for column, kind in kinds.items():
        found = panda[column].dtype
        if kind == "word":
            check(isinstance(found, pandas.CategoricalDtype), f"{name}.parquet, {column}, pandas: {found}")
        if kind == "local time":
            same(str(found), "datetime64[us]", f"{name}.parquet, {column}, pandas")
        if kind == "UTC":
            same(str(found), "datetime64[us, UTC]", f"{name}.parquet, {column}, pandas")

    # Every reader counts and sums alike.
    for found in (duck.aggregate("count(*)").fetchall()[0][0], frame.height, len(panda)):
        same(found, len(of_csv), f"{name}.parquet, rows")
    for column, kind in kinds.items():
        if kind not in ("number", "whole number"):
            continue
        expected = math.fsum(row[column] for row in of_csv if row[column] is not None)
        for reader, total in (
            ("JSON", math.fsum(row[column] for row in of_json if row[column] is not None)),
            ("DuckDB", duck.aggregate(f'coalesce(sum("{column}"), 0)').fetchall()[0][0]),
            ("polars", frame[column].sum()),
            ("pandas", panda[column].sum()),
        ):
            check(
                math.isclose(float(total), expected, rel_tol=1e-9, abs_tol=1e-9),
                f"{name}, sum of {column}, {reader}: {total}, not {expected}",
            )
    return of_csv


def check_answers(tables, folders):
    """The counts of the answer sheet, section "Counts", grouped anew by each reader from the Parquet files."""
    answers = sheet()
    cycles = folders["parquet"] / "cycles.parquet"
    groupings = (
        (("unit", "purpose", "outcome", "cycles"), ("unit", "purpose", "outcome"), None),
        (("unit", "aborted in stage", "cause", "cycles"), ("unit", "aborted_stage", "cause"), "aborted"),
        (("unit", "load rejected because", "cycles"), ("unit", "cause"), "rejected"),
    )
    frame = polars.read_parquet(cycles)
    panda = pandas.read_parquet(cycles)
    for heading, columns, outcome in groupings:
        expected = counted(answers[heading])
        check(len(expected) > 5, f"the answer sheet's table {heading}")
        where = f"where outcome = '{outcome}'" if outcome else ""
        of_duck = duckdb.sql(
            f"select {', '.join(columns)}, count(*) from read_parquet('{cycles}') {where} group by all"
        ).fetchall()
        same({row[:-1]: row[-1] for row in of_duck}, expected, f"{heading}, DuckDB")
        of_frame = frame.filter(polars.col("outcome") == outcome) if outcome else frame
        of_frame = of_frame.group_by(columns).len().rows()
        same({row[:-1]: row[-1] for row in of_frame}, expected, f"{heading}, polars")
        of_panda = panda[panda["outcome"] == outcome] if outcome else panda
        of_panda = of_panda.groupby(list(columns), observed=True).size().to_dict()
        same({tuple(key): int(n) for key, n in of_panda.items()}, expected, f"{heading}, pandas")
        of_csv = collections.Counter(
            tuple(row[column] for column in columns) for row in tables["cycles"]
            if outcome in (None, row["outcome"])
        )
        same(dict(of_csv), expected, f"{heading}, CSV")

    said = (ROOT / "samples/answer-sheet.md").read_text()
    n_cycles, n_twice = map(int, re.search(r"printouts of (\d+) cycles.*?; (\d+) of them are printed twice", said).groups())
    n_entries = int(re.search(r"logs hold (\d+) entries", said).group(1))
    same(len(tables["cycles"]), n_cycles, "cycles")
    same(sum(row["n_reprints"] for row in tables["cycles"]), n_twice, "printed twice")
    # The two entries whose keyword is misspelt can't be read ("Slips of the hand in the log").
    n_misspelt = int(re.search(r"keyword misspelt \((\d+)\)", said).group(1))
    same(len(tables["entries"]), n_entries - n_misspelt, "entries")
    same(len(tables["unread"]), n_misspelt, "unread lines")

    # Trouble 4: internal CIs of the plasma units by lot and unit. A load number with a slip of the hand ("Slips of the hand
    # in the log") is not joined, and so has no unit; its first two characters tell it. An entry that can't be read is in
    # the sheet and not in the table.
    heading = ("lot", "unit", "CIs", "endpoint not shown")
    expected = {(row[0], row[1]): int(row[2]) for row in answers[heading]}
    lots = {lot for lot, _ in expected}
    unit_of = lambda number: f"{number[0]}{'L' if number[0] == 'P' else 'T'}-{number[1]}"
    found = collections.Counter()
    for row in tables["indicators"]:
        if row["kind"] == "ci" and row["position"] == "internal" and row["lot"] in lots:
            found[row["lot"], row["unit"] or unit_of(row["load_number"])] += 1
    for row in tables["unread"]:
        line = (ROOT / row["file"]).read_text().splitlines()[row["line"] - 1]
        entry = re.search(r"ci: (\S+), position internal, .*lot (\w+),", line)
        if entry and entry.group(2) in lots:
            found[entry.group(2), unit_of(entry.group(1))] += 1
    same(dict(found), expected, "internal CIs by lot and unit")

    # Trouble 1: the mean evacuation of PL-2 by week, over completed cycles, by a join of stages and cycles in DuckDB.
    weeks = duckdb.sql(
        f"""
        select datediff('day', date '2026-01-05', cast(c.began_local as date)) // 7 as week,
            count(distinct c.cycle_key), sum(s.duration_s) / 60.0 / count(distinct c.cycle_key)
        from read_parquet('{cycles}') c join read_parquet('{folders["parquet"] / "stages.parquet"}') s using (cycle_key)
        where c.unit = 'PL-2' and c.outcome = 'completed' and s.stage = 'evacuate' group by week order by week
        """
    ).fetchall()
    expected = answers[("week", "completed cycles", "mean evacuation, min")]
    same([row[0] for row in weeks], [int(row[0]) for row in expected], "weeks of PL-2")
    n_missing = sum(abs(found[1] - int(row[1])) for found, row in zip(weeks, expected))
    # Cycles without printout are in the sheet's weeks: one of PL-2 ("Missing printouts").
    check(n_missing <= 1, f"completed cycles of PL-2 by week: {n_missing} differ")
    for found, row in zip(weeks, expected):
        check(abs(found[2] - float(row[2])) < 0.05, f"mean evacuation of week {row[0]}: {found[2]}, not {row[2]}")


def check_hostile(work):
    """Text that a spreadsheet or a terminal would act on: the beginnings of OWASP, "CSV Injection"."""
    work = pathlib.Path(work)
    written = ["=1+2", "+1", "-1", "@SUM(A1)", "'quoted", "a,b", 'say "x"', "tab\there", "turn\u202eed", "plain"]
    with open(work / "log.csv", "w", newline="", encoding="utf-8") as file:
        out = csv.writer(file)
        out.writerow(["loadbook log 1", "date", "time", "about", "note"])
        for n, note in enumerate(written):
            out.writerow(["release", "2026-03-12", f"07:{n:02}", f"A-{n}", note])
    found = {}
    for form in FORMS:
        folder = work / f"hostile-{form}"
        export([str(work / "log.csv")], form, folder)
        if form == "csv":
            with open(folder / "entries.csv", newline="", encoding="utf-8") as file:
                cells = [row["note"] for row in csv.DictReader(file, strict=True)]
            check(not any(cell.startswith(("=", "+", "-", "@", "\t", "\r")) for cell in cells), f"hostile cells: {cells}")
            found[form] = [cell.removeprefix("'") for cell in cells]
        elif form == "json":
            found[form] = [row["note"] for row in json.loads((folder / "entries.json").read_text())]
        else:
            found[form] = pyarrow.parquet.read_table(folder / "entries.parquet")["note"].to_pylist()
    shown = [note.replace("\t", " ").replace("\u202e", "<U+202E>") for note in written]
    for form in FORMS:
        same(found[form], shown, f"hostile notes, {form}")


def main():
    with tempfile.TemporaryDirectory() as work:
        folders = {form: pathlib.Path(work) / form for form in FORMS}
        for form, folder in folders.items():
            export(["samples/fennmarsh"], form, folder)
        schema = json.loads((folders["parquet"] / "schema.json").read_text())
        jsonschema.Draft202012Validator.check_schema(schema)
        tables = {name: check_table(name, schema, folders) for name in schema["$defs"]}
        check_answers(tables, folders)
        check_hostile(work)
    print(f"{n_checks} checks of {len(tables)} tables, {sum(map(len, tables.values()))} rows in each form")
    for said in differences[:40]:
        print("differs:", said)
    sys.exit(1 if differences else 0)


main()
