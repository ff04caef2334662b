#!/usr/bin/env bash
# Changes the code in one place after the other, by cargo-mutants, and sees whether a test notices.
#
#   bash tests/mutants/run.sh DIR MODULE SHARD/N [more options of cargo-mutants]
#
# DIR is a folder outside of the repository; MODULE is parse, reconcile, judge or stats; SHARD/N takes every N-th change.
# The whole crate takes minutes to build, most of them polars: so a crate is made in DIR of the modules below the analysis
# alone, with their unit tests and those of tests/ that need no more. What only a test of the commands, reports or findings
# would notice counts as missed here.
set -euo pipefail
repository=$(cd "$(dirname "${BASH_SOURCE[0]}")/../.." && pwd)
crate=${1:?a folder outside of the repository}/loadbook
module=${2:?parse, reconcile, judge or stats}
shard=${3:?such as 0/20}
shift 3

mkdir -p "$crate"
rm -rf "$crate/src" "$crate/tests"
cp -r "$repository/src" "$repository/tests" "$repository/grammars" "$repository/samples" "$crate"
mkdir -p "$crate/fuzz"
cp -r "$repository/fuzz/"{properties.rs,corpus,dictionaries,fuzz_targets} "$crate/fuzz"
cp "$repository/Cargo.lock" "$repository/README.md" "$crate"

# The crate without polars and without what only screens and commands use.
awk '/^\[\[bench\]\]/ { exit } /^\[profile\.[a-z]*\.package\.polars/ { skip = 4 } skip > 0 { skip--; next }
    /^(polars|annotate|clap|fluent|indicatif|maud|signal|tabled|terminal|unic|default-run)/ { next } { print }' \
    "$repository/Cargo.toml" >"$crate/Cargo.toml"
cat >>"$crate/Cargo.toml" <<'TOML'
[[test]]
name = "main"
path = "tests/main.rs"

[profile.mutants]
inherits = "test"
debug = false
TOML
rm "$crate/src/main.rs"
awk '/^pub mod (analyse|report|archive|cli);/ { next } { print }' "$repository/src/lib.rs" >"$crate/src/lib.rs"
cat >>"$crate/src/lib.rs" <<'RUST'
pub mod archive {
    pub mod event;
    pub mod fault;
    pub mod fingerprint;
    pub mod manifest;
    pub mod part;
    pub mod reading;
}
RUST
without='archive|commands|export|findings|html|hostile|layers|sites|threads'
awk -v without="^mod ($without);" '$0 ~ without { next } { print }' "$repository/tests/main.rs" >"$crate/tests/main.rs"
sed -i '/^mod commands;/d' "$crate/tests/layouts/mod.rs"

# The tests that can notice a change of the module; all of them would take four times as long.
case $module in
    stats) tests=(stats:: selftest::) ;;
    parse) tests=(parse:: layouts:: grammar:: damaged:: conservation:: fuzz_corpus:: faults:: selftest::) ;;
    reconcile) tests=(reconcile:: damaged:: decisions:: recall:: faults:: selftest::) ;;
    judge) tests=(judge:: decisions:: recall:: selftest::) ;;
    *) echo "no module of these: $module" >&2 && exit 2 ;;
esac

cd "$crate"
cargo mutants --dir . --in-place --output "$crate/../$module" --file "src/$module/**" --shard "$shard" \
    --sharding round-robin --profile mutants --timeout 120 --colors never --no-shuffle "$@" -- --offline -- "${tests[@]}"
