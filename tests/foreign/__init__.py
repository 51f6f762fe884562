"""Programs of others that check what we write, brought by `docker/foreign.sh`."""

import json
import subprocess
from pathlib import Path
from typing import Any

import pytest

HERE = Path(__file__).parent
SCHEMA = HERE / "node_modules/epcis/package/src/schema/EPCISDocument.schema.json"


def node(script: str, *arguments: str) -> str:
    """What a script beside this file prints; it may import `jose`."""
    if not (HERE / "node_modules/jose").exists():
        pytest.skip("docker/foreign.sh brings jose")
    done = subprocess.run(
        ["node", str(HERE / script), *arguments],  # noqa: S607
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 0, done.stderr
    return done.stdout


def epcis_schema() -> dict[str, Any]:
    """The JSON Schema (Draft 7) of EPCIS 2.0 documents."""
    if not SCHEMA.exists():
        pytest.skip("docker/foreign.sh brings the schema")
    schema: dict[str, Any] = json.loads(SCHEMA.read_text())
    return schema
