"""What a page needs where the camera reads codes."""

from django.http import HttpResponse

BUTTON = b"data-camera"
# The reader that is loaded where the browser has none is WebAssembly.
READER = {"script-src": "'wasm-unsafe-eval'"}


def let_reader_run(response: HttpResponse) -> HttpResponse:
    """Allow the reader on a page with the button of the camera, and on no other."""
    if BUTTON in response.content:
        response._csp_update = READER  # type: ignore[attr-defined]  # read by its middleware
    return response
