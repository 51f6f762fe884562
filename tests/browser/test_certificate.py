"""A buyer with a telephone: scans the code, reads, checks in the page, and looks again."""

import base64

import pytest

from tests.browser.conftest import Looking
from tests.certified import certify, ready_floor

PHONE = {"width": 360, "height": 740}
# Our own reader stands on the page for scanning alone; any camera reads the same.
READ = """async (picture) => {
  const png = Uint8Array.from(atob(picture), (one) => one.charCodeAt(0));
  const bitmap = await createImageBitmap(new Blob([png], { type: "image/png" }));
  const { ofOurs } = await import("/static/scan-reader.js");
  return (await ofOurs())(bitmap);
}"""


@pytest.fixture
def certificate(client, settings, transactional_db, live_server):
    settings.TEST_CLOCK = True
    settings.ADDRESS = live_server.url
    floor, batch = ready_floor(client)
    return floor, certify(floor, batch, 20)


@pytest.fixture
def buyer(browser, certificate):
    """A telephone that nobody is signed in on."""
    context = browser.new_context(
        viewport=PHONE, extra_http_headers={"Fillmark-Now": certificate[0].walk.now}
    )
    context.set_default_timeout(30_000)
    looking = Looking(context.new_page(), "", [])
    looking.page.on("pageerror", lambda error: looking.faults.append(str(error)))
    yield looking
    context.close()


@pytest.fixture
def scanned(browser, certificate, live_server):
    """What a reader makes of a picture."""
    context = browser.new_context(extra_http_headers={"Fillmark-Now": certificate[0].walk.now})
    page = context.new_page()
    page.goto(f"{live_server.url}/sign-in")
    page.fill("#id_email", "mara@example.org")
    page.fill("#id_password", "correct horse")
    page.click("main button.action")
    page.goto(f"{live_server.url}/sites/{certificate[0].walk.site}/scan")

    def scanned(png):
        return page.evaluate(READ, base64.b64encode(png).decode())[0]

    yield scanned
    context.close()


def check(buyer):
    buyer.page.click("text=Check it in this browser")
    buyer.sees("by the seller's signed list", "What is true today stands at the top")


def test_a_buyer_scans_reads_checks_and_sees_a_suspension(certificate, buyer, scanned):
    floor, issued = certificate
    page = buyer.page
    page.goto(issued["url"])
    code = page.locator(".verify svg").screenshot()

    page.goto(scanned(code))
    buyer.sees("Valid", "This record stands for 20", "Do not pour water from the bag")
    check(buyer)
    buyer.sees(
        "The signature fits a key that the seller publishes.",
        "It is the signed text of this certificate, for as many animals.",
        "It is not withdrawn",
        "It is not suspended",
    )
    floor.walk.post(f"certificates/{issued['uid']}/suspensions", {"reason": "A question."})
    page.reload()
    buyer.sees("Suspended", "Do not rely on this record now")
    check(buyer)
    buyer.sees("It is suspended, by the seller's signed list: do not rely on it now.")

    assert buyer.faults == []


def test_what_was_exchanged_on_the_way_is_said(certificate, buyer):
    page = buyer.page
    page.goto(certificate[1]["url"])
    page.route("**/*format=jwt", swapped)
    page.click("text=Check it in this browser")
    buyer.sees("WRONG: the signature does not fit the text.")
    page.unroute("**/*format=jwt")
    page.route("**/jwks.json", lambda one: one.fulfill(json={"keys": []}))
    page.click("text=Check it in this browser")

    buyer.sees("WRONG: it is signed by no key that the seller publishes.")


def swapped(route):
    """Another number in the text, under the old signature."""
    head, body, signature = route.fetch().text().split(".")
    said = base64.urlsafe_b64decode(body + "=" * (-len(body) % 4))
    said = said.replace(b'"certified":20', b'"certified":90')
    body = base64.urlsafe_b64encode(said).decode().rstrip("=")
    route.fulfill(body=f"{head}.{body}.{signature}")


def test_a_copy_that_was_left_open_says_that_it_is_old(certificate, buyer):
    page = buyer.page
    page.clock.install(time="2027-06-01T00:00:00Z")
    page.goto(certificate[1]["url"])

    buyer.sees("This copy is old.", "Open the address again for what is true today.")
