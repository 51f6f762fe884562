"""A good request of the table as it is sent, whole or with something wrong in it."""

import json
import uuid
from typing import Any

from django.core.files.uploadedfile import SimpleUploadedFile
from django.test.client import BOUNDARY, MULTIPART_CONTENT, encode_multipart

from tests.api.every_route import Route
from tests.api.shops import LIST, PHOTO
from tests.walk import Walk

FILES = {"list.csv": LIST, "photo.png": PHOTO}
JSON = "application/json"


def ask(walk: Walk, route: Route, uid: str, body: Any) -> Any:
    """A good request: with a key, the version read, a form where the route wants one."""
    if route.row.form:
        return send(walk, route, uid, form(body), MULTIPART_CONTENT)
    return send(walk, route, uid, "" if body is None else json.dumps(body))


def send(
    walk: Walk, route: Route, uid: str, data: str | bytes, content_type: str = JSON, **more: str
) -> Any:
    """These bytes to the route, with the headers that it asks for; `more` are other ones."""
    headers = {"Fillmark-Now": walk.now, "Authorization": f"Bearer {walk.token}"}
    if route.method != "GET":
        headers["Idempotency-Key"] = str(uuid.uuid4())
    if route.method == "PUT":
        seen = walk.send("GET", route.path(uid))
        headers["If-Match"] = seen.headers.get("ETag", '"1"')
    answer: Any = walk.client.generic(
        route.method,
        route.path(uid),
        data,
        content_type=content_type,
        headers={**headers, **more},
    )
    answer.getvalue()  # a file is closed where it has been read
    return answer


def form(body: dict[str, Any]) -> bytes:
    file = SimpleUploadedFile(body["file"], FILES[body["file"]])
    return encode_multipart(BOUNDARY, {**body, "file": file})


def said(answer: Any) -> tuple[int, dict[str, Any]]:
    """What an answer says, without what is different each time."""
    body = json.loads(answer.content)
    return answer.status_code, {name: body[name] for name in body if name != "request_id"}
