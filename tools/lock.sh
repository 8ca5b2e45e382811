#!/usr/bin/env bash
# Write locks/*.txt afresh from pyproject.toml: exact versions and hashes for CPython 3.11 to 3.13, no addresses.
# Needs uv (on PATH or in .venv).  A moved version can move results: note it in CHANGELOG.md.
set -euo pipefail
cd "$(dirname "$0")/.."
uv=$(command -v uv || echo .venv/bin/uv)
compile() {
    "$uv" pip compile pyproject.toml --universal --python-version 3.11 --fork-strategy fewest --generate-hashes \
        --no-emit-index-url --no-emit-find-links --no-header --no-annotate --quiet --upgrade "$@"
}
compile --output-file locks/requirements.txt
compile --extra dev --output-file locks/requirements-dev.txt
compile --extra dev --extra browser --output-file locks/requirements-browser.txt
if grep -nE '://|file:|^-|/' locks/*.txt; then
    echo "a lock holds an address or a path" >&2
    exit 1
fi
