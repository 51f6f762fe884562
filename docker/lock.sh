#!/bin/sh
# Make the two lock files anew from pyproject.toml; needs uv, and only this does.
# Universal: one file for every platform and every Python from 3.11.0 on. A lock made for one
# machine alone misses what an older patch release or another system needs.
set -eu
cd "$(dirname "$0")/.."

compile() {
    uv pip compile --quiet --universal --python-version 3.11 --generate-hashes \
        --no-header --no-emit-index-url "$@" pyproject.toml
}
compile --output-file docker/requirements.lock
compile --output-file docker/requirements-test.lock --extra test \
    --constraints docker/requirements.lock
