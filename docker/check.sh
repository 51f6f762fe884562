#!/bin/sh
# The checks that run no test: the same by hand and in CI, cheapest first.
set -eu
cd "$(dirname "$0")/.."
python3 manage.py test --help > /dev/null # brings the packages on a fresh machine
PATH="$PWD/.venv/bin:$PATH"

ruff format --check --output-format=concise .
ruff check --output-format=concise .
lint-imports
mypy protocols stock api tests manage.py
DATABASE_URL=sqlite:///:memory: python manage.py makemigrations --check --dry-run
FILLMARK_HTTPS=true python manage.py check --deploy --fail-level WARNING
