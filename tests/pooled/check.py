"""The pooled queries of reports/pooled on three engines: polars SQL, DuckDB and Spark (local mode) must give the same rows
over exports and over the tables of archives, and the counts that the answer sheets of the practice records state.

Every table of the archives is held against the export, row by row; and units whose names mislead must come back from the
folders as they were printed, by every reader.

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
from functools import reduce

import duckdb
import polars
import pyarrow.dataset

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


class Exports:
    """Exports side by side: POOL/site=SITE/TABLE.parquet."""

    def __init__(self, folder):
        self.folder = folder

    def polars(self, name):
        return polars.scan_parquet(f"{self.folder}/site=*/{name}.parquet", hive_partitioning=True)

    def duckdb(self, name):
        return f"read_parquet('{self.folder}/site=*/{name}.parquet', hive_partitioning = true)"

    def spark(self, session, name):
        paths = f"{self.folder}/site=*/{name}.parquet"
        return session.read.option("basePath", str(self.folder)).parquet(paths)


class Archives:
    """Archives side by side: FOLDER/ARCHIVE/tables/TABLE/site=SITE/[unit=UNIT/][month=MONTH/]PART.parquet."""

    def __init__(self, folder):
        self.folder = folder

    def polars(self, name):
        paths = f"{self.folder}/*/tables/{name}/**/*.parquet"
        first = next(self.folder.glob(f"*/tables/{name}/**/*.parquet")).relative_to(self.folder)
        keys = [part.split("=")[0] for part in first.parts if "=" in part]
        keys = {key: polars.String for key in keys}
        return polars.scan_parquet(paths, hive_partitioning=True, hive_schema=keys)

    def duckdb(self, name):
        paths = f"{self.folder}/*/tables/{name}/**/*.parquet"
        return f"read_parquet('{paths}', hive_partitioning = true, hive_types_autocast = false)"

    def spark(self, session, name):
        session.conf.set("spark.sql.sources.partitionColumnTypeInference.enabled", "false")
        archives = sorted(self.folder.glob(f"*/tables/{name}"))
        frames = [session.read.parquet(str(archive)) for archive in archives]
        return reduce(lambda one, other: one.unionByName(other), frames)


def run_polars(source, queries):
    frames = {name: source.polars(name) for name in TABLES}
    with polars.SQLContext(frames=frames) as context:
        for name, query in queries.items():
            frame = context.execute(query, eager=True)
            yield name, frame.columns, frame.rows()


def run_duckdb(source, queries):
    connection = duckdb.connect()
    for name in TABLES:
        connection.execute(f"create view {name} as select * from {source.duckdb(name)}")
    for name, query in queries.items():
        cursor = connection.execute(query)
        yield name, [column[0] for column in cursor.description], cursor.fetchall()


def open_spark():
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
    return session


def run_spark(source, queries):
    session = open_spark()
    for name in TABLES:
        source.spark(session, name).createOrReplaceTempView(name)
    for name, query in queries.items():
        frame = session.sql(query)
        yield name, frame.columns, [tuple(row) for row in frame.collect()]


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


def make_sources(loadbook, folder):
    """The exports of two sites and the archives of the same, and the answer sheet of each."""
    other = folder / "records"
    sheets = {"fennmarsh": ROOT / "samples/answer-sheet.md", "practice-77": folder / "sheet.md"}
    simulate = ["simulate", "--seed", "77", "--from", "2026-01-05", "--days", "60"]
    run([loadbook, *simulate, "--out", other, "--answer", sheets["practice-77"]])
    for site, records in [("fennmarsh", ROOT / "samples/fennmarsh"), ("practice-77", other)]:
        run([loadbook, "export", records, "--as", "parquet", "-o", folder / "pool" / f"site={site}"])
        (folder / "archives").mkdir(exist_ok=True)
        # What comes in later makes some of the parts anew.
        some = sorted(path for path in records.rglob("*") if path.is_file())[::2]
        archive = folder / "archives" / f"archive-of-{site}"
        run([loadbook, "archive", "add", archive, *some, "--site", site])
        run([loadbook, "archive", "add", archive, records])
    return Exports(folder / "pool"), Archives(folder / "archives"), sheets


def hold_tables_against_exports(exports, archives):
    """Every table of the archives has the rows of the exports; gives their number. Read with polars, counted with pyarrow."""
    n_rows = 0
    for path in sorted((exports.folder / "site=fennmarsh").glob("*.parquet")):
        name = path.stem
        expected = exports.polars(name).collect()
        found = archives.polars(name).collect()
        # The tables of an archive speak for no moment.
        columns = [column for column in expected.columns if column != "as_of_local"]
        if sorted(found.columns) != sorted({*expected.columns, *[c for c in ("unit", "month") if c in found.columns]}):
            raise SystemExit(f"{name}: the archives have the columns {found.columns}, the exports {expected.columns}")
        rows, other_rows = (sort_rows(frame.select(columns).rows()) for frame in (expected, found))
        if rows != other_rows:
            different = next(pair for pair in zip(rows, other_rows) if pair[0] != pair[1])
            raise SystemExit(f"{name}: {len(rows)} rows exported, {len(other_rows)} in the archives; {different}")
        n_counted = 0
        for archive in archives.folder.glob(f"*/tables/{name}"):
            n_counted += pyarrow.dataset.dataset(archive, partitioning="hive").count_rows()
        if n_counted != len(rows):
            raise SystemExit(f"{name}: pyarrow counts {n_counted} rows, polars {len(rows)}")
        n_rows += len(rows)
    return n_rows


STRIP = """loadbook printout 1
unit: {unit}
process: plasma
counter: {counter}
started: 2026-03-12 07:41:20
stage: evacuate, at 07:41:30
ended: 08:22:05
outcome: completed
end
"""

# Paths, keys, numbers and dates: what readers could take for something else.
UNITS = ["../../up", "/x", "a=b", "100%", "a%2Fb", "Süd-1", "007", "2026-03-01", "true", "1e3", "a+b", "(x)", "#1?", "'"]


def hold_units_against_strips(loadbook, folder, with_spark):
    """Units come back from the names of folders as they were printed, by every reader."""
    records = folder / "units/records"
    records.mkdir(parents=True)
    for counter, unit in enumerate(UNITS, 1):
        (records / f"{counter}.txt").write_text(STRIP.format(unit=unit, counter=counter))
    (records / "none.txt").write_text(STRIP.format(unit="?", counter=0).replace("unit: ?\n", ""))
    run([loadbook, "archive", "add", folder / "units/archive", records, "--site", "a/b"])
    source = Archives(folder / "units")
    expected = sort_rows((counter, unit, "a/b", "2026-03") for counter, unit in [*enumerate(UNITS, 1), (0, None)])
    query = "select counter, unit, site, month from {}"
    readers = {
        "polars": lambda: source.polars("cycles").select("counter", "unit", "site", "month").collect().rows(),
        "duckdb": lambda: duckdb.sql(query.format(source.duckdb("cycles"))).fetchall(),
        "pyarrow": lambda: [
            tuple(row.values())
            for row in pyarrow.dataset.dataset(
                folder / "units/archive/tables/cycles",
                partitioning=pyarrow.dataset.HivePartitioning(
                    pyarrow.schema([(key, pyarrow.string()) for key in ("site", "unit", "month")])
                ),
            )
            .to_table(columns=["counter", "unit", "site", "month"])
            .to_pylist()
        ],
    }
    if with_spark:
        columns = ["counter", "unit", "site", "month"]
        readers["spark"] = lambda: [tuple(row) for row in source.spark(open_spark(), "cycles").select(columns).collect()]
    for reader, read in readers.items():
        found = sort_rows(read())
        if found != expected:
            raise SystemExit(f"{reader} reads the units {found}, printed are {expected}")
    return len(UNITS), list(readers)


def run(words):
    # An exit code of 1 says that some lines could not be read, as the sheets state.
    done = subprocess.run([str(word) for word in words], capture_output=True, text=True, check=False)
    if done.returncode not in (0, 1):
        raise SystemExit(f"{words} failed: {done.stderr}")


def ask(engines, queries, sources):
    """The rows of each query, which all engines agree on, over all sources."""
    results = {}
    for source in sources:
        for engine, run_engine in engines.items():
            for name, columns, rows in run_engine(source, queries):
                answer = (f"{engine} over {type(source).__name__}", columns, sort_rows(rows))
                if not rows:
                    raise SystemExit(f"{name}: {answer[0]} gives no row")
                compare(name, results.setdefault(name, answer), answer)
    return {name: rows for name, (_, _, rows) in results.items()}


def main():
    loadbook = pathlib.Path(sys.argv[1]).resolve()
    with_spark = "--spark" in sys.argv
    queries = read_queries(ROOT / "reports/pooled/sql")
    engines = {"polars": run_polars, "duckdb": run_duckdb}
    if with_spark:
        engines["spark"] = run_spark
    with tempfile.TemporaryDirectory() as folder:
        folder = pathlib.Path(folder)
        exports, archives, sheets = make_sources(loadbook, folder)
        n_units, readers = hold_units_against_strips(loadbook, folder, with_spark)
        n_held = hold_tables_against_exports(exports, archives)
        results = ask(engines, queries, [exports, archives])
        n_lots = hold_sites_against_lots(loadbook, folder, results["indicator_lots"])
        n_stated = sum(hold_against_sheet(site, sheet, results) for site, sheet in sheets.items())
        if with_spark:
            open_spark().stop()
    n_rows = sum(len(rows) for rows in results.values())
    print(
        f"{len(queries)} pooled queries, {n_rows} rows, the same on {', '.join(engines)} over exports and over archives; "
        f"{n_stated} figures as the answer sheets state them; {n_lots} lots as `loadbook sites` has them"
    )
    print(
        f"{n_held} rows of all tables of the archives as in the exports; {n_units} names of units as printed, "
        f"by {', '.join(readers)}"
    )


main()
