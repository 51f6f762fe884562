"""Pictures of every page at three sizes, light and dark, to be looked at by people.

    python -m tests.browser.shots http://127.0.0.1:8000 ADDRESS PASSWORD FOLDER [PAGE ...]

Walks a running service, such as the demo, by the links of its pages.
"""

import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Literal

from playwright.sync_api import Page, sync_playwright

SIZES = {"tablet": (1024, 768), "upright": (768, 1024), "phone": (360, 740)}
SCHEMES: tuple[Literal["light", "dark"], ...] = ("light", "dark")
# Pages of the line at the top, and what is found from there: a page, and a link on it.
FOUND = {
    "shift": ("", "nav.pages >> text=Shift"),
    "room": ("shift", "nav.pages >> text=The room"),
    "unpacking": ("shift", "nav.pages >> text=Unpacking"),
    "kits": ("shift", "nav.pages >> text=Kit"),
    "questions": ("shift", "nav.pages >> text=Questions"),
    "certifiable": ("shift", "nav.pages >> text=May it be certified?"),
    "batch": ("room", "svg.rack a[href*=batches]"),
    "move": ("batch", "text=Move them"),
    "loss": ("batch", "text=Record a loss"),
    "sign": ("batch", "text=A sign was seen"),
    "history": ("batch", "text=History"),
    "contact": ("batch", "text=Something touched them"),
    "incident": ("batch", "text=An incident"),
    "exposures": ("batch", "text=What could have reached them"),
    "touched": ("exposures", "text=What touched what today"),
    "check": ("batch", "main >> text=May it be certified?"),
    "container": ("room", "svg.rack a[href*=containers]"),
    "neighbours": ("container", "text=Neighbours"),
    "reading": ("batch", "text=Read the water"),
    "kit": ("kits", "main table a"),
    "disinfect": ("kits", "main >> text=Disinfect"),
    "dry": ("kits", "main >> text=Seen dry"),
    "fit": ("kits", "main >> text=Fit a piece"),
    "defect": ("kits", "main >> text=A piece is defective"),
    "question": ("questions", "main a[href*=questions]"),
    "consignment": ("unpacking", "main table a"),
    "list": ("unpacking", "text=Read a packing list"),
    "small": ("unpacking", "text=A small delivery"),
}


def addresses(page: Page, base: str, names: list[str]) -> Iterator[tuple[str, str]]:
    """The address of each page by its name; what the service has nothing of is left out."""
    known = {"": f"{base}/"}
    for name, (before, link) in FOUND.items():
        if before not in known:
            continue
        page.goto(known[before])
        found = page.locator(link)
        if found.count():
            known[name] = base + (found.first.get_attribute("href") or "/")
            if not names or name in names:
                yield name, known[name]
    page.goto(known["shift"])
    for words, name in (("Record book", "book"), ("Set up", "set-up")):
        found = page.locator("nav.pages").get_by_text(words)
        if found.count() and (not names or name in names):
            yield name, base + (found.first.get_attribute("href") or "/")


def shoot(base: str, email: str, password: str, folder: Path, names: list[str]) -> None:
    folder.mkdir(parents=True, exist_ok=True)
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(
            executable_path="/usr/bin/chromium", args=["--no-sandbox"]
        )
        for scheme in SCHEMES:
            context = browser.new_context(color_scheme=scheme)
            page = context.new_page()
            page.goto(f"{base}/sign-in")
            shots(page, "sign-in", f"{base}/sign-in", scheme, folder)
            page.fill("#id_email", email)
            page.fill("#id_password", password)
            page.click("main button.action")
            for name, address in list(addresses(page, base, names)):
                shots(page, name, address, scheme, folder)
            context.close()
        browser.close()


def shots(page: Page, name: str, address: str, scheme: str, folder: Path) -> None:
    """One page at every size."""
    for size, (width, height) in SIZES.items():
        page.set_viewport_size({"width": width, "height": height})
        page.goto(address)
        page.screenshot(path=folder / f"{name}-{size}-{scheme}.png", full_page=True)


if __name__ == "__main__":
    base, email, password, folder, *names = sys.argv[1:]
    shoot(base.rstrip("/"), email, password, Path(folder), names)
