"""Nothing that axe-core knows of stands between anybody and a page: languages, themes, shapes.

axe-core (MPL-2.0) is only here for this test; nothing of it is served.
"""

import re
from pathlib import Path

import pytest

from tests.browser.conftest import WIDE

AXE = (Path(__file__).parent / "vendor" / "axe.min.js").read_text()
TALL = {"width": 768, "height": 1024}
NARROW = {"width": 320, "height": 700}
RULES = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]
OF_SITE = (
    *("shift", "room", "unpacking", "kits", "mixing", "questions", "certifiable"),
    *("protocols", "record-book", "calls", "units", "set-up", "reckon", "tablets", "people"),
    *("scan", "labels", "probes", "set-up-container", "small-delivery", "disinfect"),
)
OF_BATCH = (
    "batch",
    "move",
    "loss",
    "count-batch",
    "sign",
    "split",
    "history",
    "certificate-check",
)
FOUND = """async (rules) => {
  const {violations} = await axe.run(document, {runOnly: rules});
  const said = (id, one) => `${id}: ${one.html.slice(0, 160)}`;
  return violations.flatMap(({id, nodes}) => nodes.map((one) => said(id, one)));
}"""
# What makes the page wider than the screen: its elements that end beyond the right edge.
OVER = """() => {
  const wide = document.documentElement.clientWidth;
  if (document.documentElement.scrollWidth <= wide) return [];
  const beyond = [...document.querySelectorAll("main *")]
    .filter((one) => one.getBoundingClientRect().right > wide + 1);
  const said = beyond.slice(0, 4).map((one) => one.outerHTML.slice(0, 120));
  return ["wider than the screen", ...said];
}"""


def faults(page):
    """What axe finds now, each with the element."""
    if not page.evaluate("'axe' in window"):
        page.evaluate(AXE)
    return page.evaluate(FOUND, RULES)


@pytest.mark.parametrize("language", ["en", "es"])
def test_nothing_stands_in_the_way(look, floor, batch, language):
    looking = look(locale=language, bypass_csp=True)
    page, found = looking.page, {}
    asked = [(name, floor.walk.site) for name in OF_SITE]
    asked += [(name, batch) for name in OF_BATCH]

    for name, uid in [*asked, ("container", floor.uids["R1-01"]), ("kit", floor.uids["A-1"])]:
        looking.open(name, uid)
        assert page.get_attribute("html", "lang") == language
        for scheme, shape in (("light", WIDE), ("dark", TALL), ("light", NARROW)):
            page.emulate_media(color_scheme=scheme)
            page.set_viewport_size(shape)
            wrong = faults(page) + page.evaluate(OVER)
            if wrong:
                found[f"{name} {scheme} {shape['width']}"] = wrong

    assert found == {}, "\n".join(f"{k}: {v}" for k, v in found.items())


@pytest.mark.parametrize("language", ["en", "es"])
def test_sign_in_and_a_refused_form_are_as_good(look, floor, language):
    looking = look(locale=language, bypass_csp=True)
    page = looking.open("set-up-room", floor.walk.site)
    page.click("main button.action")
    page.wait_for_selector(".wrong")

    assert faults(page) == []
    page.context.clear_cookies()
    looking.open("sign-in")
    assert faults(page) == []


def test_twice_the_text_loses_nothing(look, floor, batch):
    """Zoomed to 200 %, a page of 1024 is one of 512: nothing is cut off or moves aside."""
    looking = look(locale="es")
    page = looking.page
    page.set_viewport_size({"width": 512, "height": 384})

    for name, uid in (("shift", floor.walk.site), ("batch", batch), ("move", batch)):
        looking.open(name, uid)
        page.evaluate("document.documentElement.style.fontSize = '200%'")
        assert page.evaluate(OVER) == [], name
        words = page.inner_text("main")
        assert not re.search(r"\b(Move them|Record|Nothing|Since)\b", words), words
