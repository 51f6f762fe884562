"""Codes that are scanned: by hand scanner, by camera and typed, in the context of the step."""

import io
import re

import numpy as np
import pytest
from playwright.sync_api import expect

from api.exports.labels import FORMATS, Label, write_labels
from stock.models import Batch, Container, Kit
from tests.browser.conftest import CHROMIUM, NOW
from tests.pdf import code_drawn, pages

pytestmark = pytest.mark.django_db


def code_of(sort, label):
    return sort.objects.get(label=label).code


def scan(page, text):
    """What a hand scanner does: it types without a pause and ends with Enter.

    In one go inside the page: keys sent one by one come as slowly as a busy machine is.
    """
    page.evaluate(
        """(text) => {
          const press = (key) => (document.activeElement ?? document.body).dispatchEvent(
            new KeyboardEvent("keydown", { key, bubbles: true, cancelable: true }));
          for (const one of text)
            if (press(one) && document.activeElement?.matches("input"))
              document.execCommand("insertText", false, one);
          press("Enter");
        }""",
        text.replace("-", ""),
    )


def label_as_pixels(code):
    """A label of ours as it is printed, black on white."""
    file = io.BytesIO()
    label = Label("R1-01", code, code.replace("-", ""))
    write_labels([label], FORMATS["roll-57"], file, title="Labels")
    return code_drawn(pages(file.getvalue())[0])


def test_a_hand_scanner_opens_a_thing_and_fills_the_field_that_asks_for_it(look, floor, batch):
    looking = look()
    page = looking.open("room", floor.walk.site)
    scan(page, code_of(Container, "R1-01"))
    page.wait_for_url(re.compile(f"/containers/{floor.uids['R1-01']}$"))
    looking.open("shift", floor.walk.site)
    scan(page, code_of(Container, "R1-01"))
    page.wait_for_url(re.compile(f"/batches/{batch}/move$"))

    page.locator("#id_count").focus()
    scan(page, code_of(Kit, "B-1"))
    looking.sees("is filled in")
    scan(page, code_of(Container, "R1-02"))
    expect(page.locator("#id_container")).to_have_value(floor.uids["R1-02"])

    assert page.locator("#id_kit").input_value() == floor.uids["B-1"]
    assert page.locator("#id_count").input_value() == "", "what was there before comes back"
    assert page.url.endswith("/move")
    assert looking.faults == []


def test_without_network_the_codes_that_were_kept_still_fill_a_form(look, floor, batch):
    looking = look()
    page = looking.open("move", batch)
    page.evaluate(
        """async (site) => (await import("/static/scan-things.js")).keepList(site)""",
        str(floor.walk.site),
    )

    page.context.set_offline(True)
    scan(page, code_of(Kit, "B-1"))
    looking.sees("is filled in")

    assert page.locator("#id_kit").input_value() == floor.uids["B-1"]


def test_what_leads_nowhere_is_said_and_a_form_is_not_left(look, floor, batch):
    looking = look()
    page = looking.open("loss", batch)
    good = code_of(Kit, "A-1").replace("-", "")
    asked = []
    page.on("request", lambda one: asked.append(one.url) if "codes?" in one.url else None)

    scan(page, ("7" if good[0] != "7" else "8") + good[1:])
    looking.sees("misread or mistyped")
    assert asked == [], "what was misread is known without asking"
    page.evaluate(
        """async () => {
          const { scanned } = await import("/static/scan.js");
          for (const at of [0, 400, 999, 2500]) await scanned("RSYW-C6T1", at);
        }"""
    )
    looking.sees("Nothing here bears the code RSYW-C6T1")
    assert len(asked) == 2, "the same code within a second is one"
    page.locator("#id_count").fill("1")
    scan(page, good)
    looking.sees("is not among the choices on this page", "Open it and leave this form")

    assert page.locator("#id_count").input_value() == "1"
    assert page.url.endswith("/loss")


@pytest.fixture
def seen_by_camera(tmp_path):
    """A film for the camera of the browser: a label on a table."""

    def film(code):
        drawn = label_as_pixels(code)
        grey = np.frombuffer(drawn.grey, np.uint8).reshape(drawn.height, drawn.width)
        table = np.full((480, 640), 200, np.uint8)
        top, left = (480 - drawn.height) // 2, (640 - drawn.width) // 2
        table[top : top + drawn.height, left : left + drawn.width] = grey
        colours = np.full(640 * 480 // 2, 128, np.uint8).tobytes()
        frame = b"FRAME\n" + table.tobytes() + colours
        path = tmp_path / "label.y4m"
        path.write_bytes(b"YUV4MPEG2 W640 H480 F10:1 Ip A1:1 C420jpeg\n" + frame * 4)
        return path

    return film


def test_our_reader_and_the_camera_read_what_stands_on_our_labels(
    browser, look, floor, batch, seen_by_camera, live_server
):
    code = Batch.objects.get(uid=batch).code
    looking = look()
    page = looking.open("scan", floor.walk.site)
    drawn = label_as_pixels(code)

    read = page.evaluate(
        """async ({ width, height, grey }) => {
          const pixels = new Uint8ClampedArray(width * height * 4);
          grey.forEach((one, at) => pixels.set([one, one, one, 255], at * 4));
          const picture = await createImageBitmap(new ImageData(pixels, width, height));
          const { ofOurs } = await import("/static/scan-reader.js");
          return (await ofOurs())(picture);
        }""",
        {"width": drawn.width, "height": drawn.height, "grey": list(drawn.grey)},
    )
    assert read == [code.replace("-", "")]
    assert looking.faults == []

    arguments = [
        "--no-sandbox",
        "--use-fake-ui-for-media-stream",
        "--use-fake-device-for-media-stream",
        f"--use-file-for-fake-video-capture={seen_by_camera(code)}",
    ]
    state = page.context.storage_state()
    with browser.browser_type.launch(executable_path=CHROMIUM, args=arguments) as another:
        page = another.new_context(
            storage_state=state, extra_http_headers={"Fillmark-Now": NOW}
        ).new_page()
        page.goto(f"{live_server.url}/sites/{floor.walk.site}/scan")
        page.get_by_role("button", name="Scan with the camera").click()
        page.wait_for_url(re.compile(f"/batches/{batch}$"))
