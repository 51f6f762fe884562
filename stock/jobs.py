"""What runs beside the requests and belongs to the outside: settings name it.

The floors stay as they are: nothing here imports what it calls.
"""

from datetime import datetime
from typing import Any
from uuid import UUID

from django.conf import settings
from django.utils.module_loading import import_string


def run_due(site: UUID, at: datetime) -> dict[str, Any]:
    """Do what waits at a site; what each job says of it, by its name."""
    return {name: import_string(path)(site, at) for name, path in settings.JOBS.items()}
