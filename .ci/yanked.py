"""Asks the registry whether a locked version of a dependency was withdrawn ("yanked"): the one warning that a machine
gets which reaches nothing but the registry. Standard library only.

    python3 .ci/yanked.py Cargo.lock fuzz/Cargo.lock

Status 1 and their names if there are any.
"""

import concurrent.futures
import json
import sys
import tomllib
import urllib.request

INDEX = "https://index.crates.io"


def index_path(name: str) -> str:
    """Where the sparse index has a crate (The Cargo Book, "Index format", index files)."""
    name = name.lower()
    folder = {1: "1", 2: "2", 3: f"3/{name[:1]}"}.get(len(name), f"{name[:2]}/{name[2:4]}")
    return f"{folder}/{name}"


def is_yanked(package: tuple[str, str]) -> bool:
    name, version = package
    with urllib.request.urlopen(f"{INDEX}/{index_path(name)}", timeout=60) as answer:
        lines = [json.loads(line) for line in answer.read().decode().splitlines()]
    found = [line["yanked"] for line in lines if line["vers"] == version]
    if len(found) != 1:
        sys.exit(f"the index has {name} {version} {len(found)} times")
    return found[0]


def main() -> None:
    packages = set()
    for path in sys.argv[1:]:
        with open(path, "rb") as lock:
            locked = tomllib.load(lock)["package"]
        packages.update((p["name"], p["version"]) for p in locked if "source" in p)
    packages = sorted(packages)
    with concurrent.futures.ThreadPoolExecutor(8) as threads:
        yanked = [p for p, is_so in zip(packages, threads.map(is_yanked, packages)) if is_so]
    for name, version in yanked:
        print(f"withdrawn: {name} {version}; run `cargo update -p {name}`")
    print(f"{len(packages)} locked versions, {len(yanked)} withdrawn")
    sys.exit(1 if yanked else 0)


main()
