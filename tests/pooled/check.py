"""The pooled queries of reports/pooled on three engines: polars SQL, DuckDB and Spark (local mode) must give the same rows,
and the counts that the answer sheets of the practice records state.

Usage: check.py LOADBOOK [--spark]. Spark needs Java 17 and pyspark. The samples are one site; another is simulated."""

import json
import math
import pathlib
import re
import shutil
import subprocess
import sys
import tempfile
from datetime import date, datetime
from decimal import Decimal

import duckdb
import polars

ROOT = pathlib.Path(__file__).resolve().parents[2]
TABLES = ["cycles", "stages", "loads", "indicators", "decisions"]


def read_queries(folder):
    return {path.stem: path.read_text() for path in sorted(folder.glob("*.sql"))}


def plain(value):
    """A number as a float, everything else as text, so that engines' own types don't matter."""
    if value is None:
        return None
    if isinstance(value, (bool, str, date, datetime)):
        return str(value)
    if isinstance(value, (int, float, Decimal)):
        return float(value)
    return str(value)


def sort_rows(rows):
    return sorted(
        ([plain(value) for value in row] for row in rows),
        key=lambda row: [(value is None, str(value)) for value in row],
    )


def run_polars(pool, queries):
    frames = {
        name: polars.scan_parquet(f"{pool}/site=*/{name}.parquet", hive_partitioning=True)
        for name in TABLES
    }
    with polars.SQLContext(frames=frames) as context:
        for name, query in queries.items():
            frame = context.execute(query, eager=True)
            yield name, frame.columns, frame.rows()


def run_duckdb(pool, queries):
    connection = duckdb.connect()
    for name in TABLES:
        connection.execute(
            f"create view {name} as select * from read_parquet('{pool}/site=*/{name}.parquet', hive_partitioning=true)"
        )
    for name, query in queries.items():
        cursor = connection.execute(query)
        yield name, [column[0] for column in cursor.description], cursor.fetchall()


def run_spark(pool, queries):
    from pyspark.sql import SparkSession

    session = (
        SparkSession.builder.master("local[2]")
        .appName("loadbook pooled queries")
        .config("spark.ui.enabled", "false")
        .config("spark.ui.showConsoleProgress", "false")
        .config("spark.sql.shuffle.partitions", "4")
        .config("spark.sql.session.timeZone", "UTC")
        .getOrCreate()
    )
    session.sparkContext.setLogLevel("ERROR")
    for name in TABLES:
        frame = session.read.option("basePath", str(pool)).parquet(f"{pool}/site=*/{name}.parquet")
        frame.createOrReplaceTempView(name)
    for name, query in queries.items():
        frame = session.sql(query)
        yield name, frame.columns, [tuple(row) for row in frame.collect()]
    session.stop()


def is_same(one, other):
    if isinstance(one, float) and isinstance(other, float):
        return math.isclose(one, other, rel_tol=1e-9, abs_tol=1e-12)
    return one == other


def compare(name, first, second):
    (engine, columns, rows), (other_engine, other_columns, other_rows) = first, second
    if list(columns) != list(other_columns):
        raise SystemExit(f"{name}: {engine} has the columns {columns}, {other_engine} {other_columns}")
    if len(rows) != len(other_rows):
        raise SystemExit(f"{name}: {engine} gives {len(rows)} rows, {other_engine} {len(other_rows)}")
    for row, other_row in zip(rows, other_rows):
        if not all(map(is_same, row, other_row)):
            raise SystemExit(f"{name}: {engine} gives {row}, {other_engine} {other_row}")


def rows_of_sheet(sheet, header):
    """The rows of the table of an answer sheet that has this header."""
    lines = pathlib.Path(sheet).read_text().splitlines()
    start = lines.index(header) + 2
    rows = []
    for line in lines[start:]:
        if not line.startswith("|"):
            break
        rows.append([cell.strip() for cell in line.strip("|").split("|")])
    return rows


def hold_against_sheet(site, sheet, results):
    """What the answer sheet says of a site, which the simulator wrote and no reader has touched."""
    outcomes = {}
    for row in results["outcomes"]:
        if row[0] == site:
            key = (row[1], row[3])
            outcomes[key] = outcomes.get(key, 0) + int(row[4])
    stated = {
        (unit, outcome): int(n)
        for unit, purpose, outcome, n in rows_of_sheet(sheet, "| unit | purpose | outcome | cycles |")
        if purpose == "load"
    }
    if outcomes != stated:
        raise SystemExit(f"{site}: outcomes are {outcomes}, the sheet states {stated}")
    aborts = sum(int(n) for _, _, _, n in rows_of_sheet(sheet, "| unit | aborted in stage | cause | cycles |"))
    counted = sum(int(row[3]) for row in results["abort_rates"] if row[1] == site)
    if aborts != counted:
        raise SystemExit(f"{site}: {counted} aborts, the sheet states {aborts}")
    growth = sum(int(row[4]) for row in results["bi_by_month"] if row[0] == site)
    planted = len(re.findall(r"\*\*BI growth\*\*", pathlib.Path(sheet).read_text()))
    if growth != planted:
        raise SystemExit(f"{site}: {growth} BIs grew, the sheet states {planted}")
    return len(stated) + 2


def hold_sites_against_lots(loadbook, folder, rows):
    """`loadbook sites` counts lots as indicator_lots.sql does: the same numbers, which the engines made from the exports."""
    region = folder / "region"
    shutil.copytree(ROOT / "samples/fennmarsh", region / "fennmarsh")
    shutil.copytree(folder / "records", region / "practice-77")
    words = [str(loadbook), "sites", str(region), "--format", "json"]
    report = json.loads(subprocess.run(words, capture_output=True, text=True, check=False).stdout)
    sites = {
        (lot["process"], lot["position"], lot["lot"]): [
            float(lot[key]) for key in ("n_sites", "n_used", "n_failed", "n_expected")
        ]
        for lot in report["lots"]["rows"]
        if lot["used_as"] == "ci"
    }
    query = {tuple(row[:3]): row[3:] for row in rows if row[3] >= 2}
    if not query or sites.keys() != query.keys():
        raise SystemExit(f"lots at several sites: {sorted(sites)}, the query has {sorted(query)}")
    for lot, numbers in query.items():
        if not all(map(is_same, numbers, sites[lot])):
            raise SystemExit(f"{lot}: sites gives {sites[lot]}, the query {numbers}")
    return len(query)


def make_pool(loadbook, folder):
    """The tables of two sites, and the answer sheet of each."""
    other = folder / "records"
    sheets = {"fennmarsh": ROOT / "samples/answer-sheet.md", "practice-77": folder / "sheet.md"}
    simulate = ["simulate", "--seed", "77", "--from", "2026-01-05", "--days", "60"]
    run([loadbook, *simulate, "--out", other, "--answer", sheets["practice-77"]])
    for site, records in [("fennmarsh", ROOT / "samples/fennmarsh"), ("practice-77", other)]:
        run([loadbook, "export", records, "--as", "parquet", "-o", folder / "pool" / f"site={site}"])
    return folder / "pool", sheets


def run(words):
    # An exit code of 1 says that some lines could not be read, as the sheets state.
    done = subprocess.run([str(word) for word in words], capture_output=True, text=True, check=False)
    if done.returncode not in (0, 1):
        raise SystemExit(f"{words} failed: {done.stderr}")


def ask(engines, queries, pool):
    """The rows of each query, which all engines agree on."""
    results = {}
    for engine, run_engine in engines.items():
        for name, columns, rows in run_engine(pool, queries):
            answer = (engine, columns, sort_rows(rows))
            if not rows:
                raise SystemExit(f"{name}: {engine} gives no row")
            compare(name, results.setdefault(name, answer), answer)
    return {name: rows for name, (_, _, rows) in results.items()}


def main():
    loadbook = pathlib.Path(sys.argv[1]).resolve()
    queries = read_queries(ROOT / "reports/pooled/sql")
    engines = {"polars": run_polars, "duckdb": run_duckdb}
    if "--spark" in sys.argv:
        engines["spark"] = run_spark
    with tempfile.TemporaryDirectory() as folder:
        pool, sheets = make_pool(loadbook, pathlib.Path(folder))
        results = ask(engines, queries, pool)
        n_lots = hold_sites_against_lots(loadbook, pathlib.Path(folder), results["indicator_lots"])
        n_stated = sum(hold_against_sheet(site, sheet, results) for site, sheet in sheets.items())
    n_rows = sum(len(rows) for rows in results.values())
    print(
        f"{len(queries)} pooled queries, {n_rows} rows, the same on {', '.join(engines)}; "
        f"{n_stated} figures as the answer sheets state them; {n_lots} lots as `loadbook sites` has them"
    )


main()
