"""A tablet in a real browser whose network comes and goes and whose clock is wrong.

tablet = Tablet.enrol(looking, floor, "Tablet 3")
tablet.has_kept("loss", batch)
tablet.loses_network()
tablet.presses("loss", batch, count="1")
"""

from dataclasses import dataclass
from typing import Any

from django.urls import reverse
from playwright.sync_api import Page

from tests.browser.conftest import Looking
from tests.floor import Floor

# The clock of a page goes by what the test says; sleep and a hand on the clock look alike.
CLOCK = """(() => {
  const Real = Date;
  const ahead = () => Number(localStorage.getItem("test-ahead") || 0);
  // Time goes by between two pages, as while a tablet sleeps.
  const next = Number(localStorage.getItem("test-next") || 0);
  localStorage.setItem("test-ahead", ahead() + next);
  localStorage.removeItem("test-next");
  window.Date = class extends Real {
    constructor(...given) { given.length ? super(...given) : super(Real.now() + ahead()); }
    static now() { return Real.now() + ahead(); }
  };
})()"""
# Polls inside the page: the policy of our pages allows no code made of texts.
UNTIL = """async (found) => {
  for (let n = 0; n < 3600; n += 1) {
    if (await (%s)()) return true;
    await new Promise((done) => setTimeout(done, 50));
  }
  return false;
}"""
KEPT = """() => new Promise((done) => {
  const asked = indexedDB.open("fillmark");
  asked.onsuccess = () => {
    const all = asked.result.transaction("entries").objectStore("entries").getAll();
    all.onsuccess = () => done(
      all.result.map(({ no, state, doer, answer }) => ({ no, state, doer, answer })));
    asked.result.close();
  };
})"""


@dataclass
class Tablet:
    looking: Looking
    uid: str = ""

    @classmethod
    def enrol(cls, looking: Looking, floor: Floor, label: str) -> "Tablet":
        """The manager makes this browser one of the site's tablets."""
        looking.page.context.add_init_script(CLOCK)
        page = looking.open("tablets", floor.walk.site)
        page.fill("#id_label", label)
        page.click("main form button.action >> nth=0")
        looking.sees(f"This is {label}")
        return cls(looking, page.locator("body").get_attribute("data-device") or "")

    @property
    def page(self) -> Page:
        return self.looking.page

    def until(self, found: str) -> None:
        """Wait until a function says so in the page."""
        assert self.page.evaluate(UNTIL % found), (found, self.entries())

    def has_kept(self, name: str, *arguments: Any) -> None:
        address = reverse(name, args=arguments)
        self.until(f"async () => Boolean(await caches.match('{address}'))")

    def clock(self, now: str, ahead_min: int) -> None:
        """Let its clock be `ahead_min` before the service's, which stands at `now`."""
        self._later(
            "([now, min]) => localStorage.setItem('test-next',"
            " Date.parse(now) + min * 60000 - Date.now())",
            [now, ahead_min],
        )

    def hours_pass(self, hours: float) -> None:
        self._later("(ms) => localStorage.setItem('test-next', ms)", hours * 3_600_000)

    def _later(self, script: str, given: Any) -> None:
        self.page.evaluate(script, given)
        self.page.reload()

    def loses_network(self) -> None:
        self.page.context.set_offline(True)

    def finds_network(self, now: str) -> None:
        self.page.context.set_extra_http_headers({"Fillmark-Now": now})
        self.page.context.set_offline(False)

    def presses(self, name: str, *arguments: Any, by: str = "", **fields: str) -> None:
        """Fill in a form of a kept page and press it; the tablet keeps it."""
        page = self.looking.open(name, *arguments)
        if by:
            page.select_option("#tablet select", by)
        for field, value in fields.items():
            form = page.locator(f"#id_{field}")
            choice = form.evaluate("(one) => one.tagName") == "SELECT"
            form.select_option(value) if choice else form.fill(value)
        page.click("form[data-entry] button.action")
        self.looking.sees("Kept on this tablet, not sent yet.")

    def entries(self) -> list[dict[str, Any]]:
        """What is in the queue of this tablet."""
        found: list[dict[str, Any]] = self.page.evaluate(KEPT)
        return found

    def sends_all(self) -> None:
        self.until(f"async () => !(await ({KEPT})()).some((one) => one.state !== 'look')")
        assert self.entries() == []
