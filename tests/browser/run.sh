#!/usr/bin/env bash
# Opens the reports in a real browser. Installs what it needs on a bare Debian machine: Chromium, poppler-utils, Node.js,
# and from the npm registry playwright-core and axe-core at the versions of package-lock.json.
set -euo pipefail
cd "$(dirname "${BASH_SOURCE[0]}")"

as_root() {
    if [ "$(id -u)" -eq 0 ]; then
        "$@"
    else
        sudo "$@"
    fi
}

missing=()
command -v chromium >/dev/null || missing+=(chromium)
command -v pdftotext >/dev/null || missing+=(poppler-utils)
command -v node >/dev/null || missing+=(nodejs)
command -v npm >/dev/null || missing+=(npm)
# The reports ask for common fonts; a machine without any draws boxes.
[ -n "$(find /usr/share/fonts -name '*.ttf' -print -quit 2>/dev/null)" ] || missing+=(fonts-liberation)
if [ "${#missing[@]}" -gt 0 ]; then
    if ! command -v apt-get >/dev/null; then
        echo "missing: ${missing[*]} (names of Debian packages). There is no apt-get to install them with: install them, and run this again" >&2
        exit 2
    fi
    if [ "$(id -u)" -ne 0 ] && ! command -v sudo >/dev/null; then
        echo "missing: ${missing[*]} (Debian packages). Installing them needs root or sudo: install them, and run this again" >&2
        exit 2
    fi
    as_root apt-get update -q
    as_root env DEBIAN_FRONTEND=noninteractive apt-get install -y -q --no-install-recommends "${missing[@]}"
fi

if ! cmp -s package-lock.json node_modules/.installed-lock.json; then
    npm ci --ignore-scripts --no-audit --no-fund
    cp package-lock.json node_modules/.installed-lock.json
fi

if [ -z "${LOADBOOK:-}" ]; then
    cargo build --locked --quiet --manifest-path ../../Cargo.toml
    target=$(cargo metadata --locked --no-deps --format-version 1 --manifest-path ../../Cargo.toml |
        node -e 'process.stdout.write(JSON.parse(require("fs").readFileSync(0, "utf8")).target_directory)')
    export LOADBOOK="$target/debug/loadbook"
fi

exec node --test --test-reporter=spec reports.test.mjs
