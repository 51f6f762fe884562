"""A move through its steps in a real browser: by keyboard alone, reloaded, taken over."""

from stock.models import Fact, Person, StayRow


def at_step(page, name):
    page.wait_for_selector(f"[data-step={name}]:not([hidden])")


def press(page, key):
    page.get_by_role("button", name=key, exact=True).click()


def choose(page, floor):
    page.select_option("#id_container", floor.uids["R1-02"])
    page.select_option("#id_kit", floor.uids["B-1"])


def moved():
    return Fact.objects.get(kind="batch_moved")


def test_a_move_by_keyboard_alone(look, floor, batch):
    looking = look()
    page = looking.open("move", batch)
    keys = page.keyboard

    page.focus("#id_container")
    keys.type("R1-02")
    keys.press("Tab")
    keys.type("B-1")
    looking.sees("Container, kit and both waters fit.")
    keys.press("Enter")
    at_step(page, "feed")
    keys.press("Tab")
    keys.press("Space")
    keys.press("Enter")
    at_step(page, "out")
    keys.type("16")  # the field has the focus
    keys.press("Enter")
    at_step(page, "carry")
    keys.press("Enter")
    at_step(page, "in")
    keys.type("16")
    keys.press("Enter")
    for name in ("source", "dirty"):
        at_step(page, name)
        keys.press("Tab")
        keys.press("Enter")
    at_step(page, "record")
    looking.sees("Into R1-02, with kit B-1.")
    page.focus("[data-step=record] button.action")
    keys.press("Enter")

    looking.sees("is in R1-02. Next limit Sun 17 Jan 2027")
    assert (moved().body["counts"], moved().body["around"]) == ([16, 16], ["fed"])
    assert looking.faults == []


def test_what_was_said_survives_a_reload_without_network_and_shows_no_count(look, floor, batch):
    looking = look()
    page = looking.open("move", batch)
    choose(page, floor)
    page.route("**/begun-move", lambda route: route.abort())
    press(page, "It is prepared")
    press(page, "Go on")
    page.fill("#id_count_out", "16")
    press(page, "They are counted out")
    looking.sees("Kept on this tablet.")

    page.reload()

    at_step(page, "carry")
    press(page, "They are there")
    assert page.input_value("#id_count") == ""
    page.fill("#id_count", "15")
    press(page, "They are counted in")
    looking.sees("Your two counts differ.")
    assert "16" not in page.inner_text("[data-step=in]")
    page.fill("#id_count", "16")
    press(page, "They are counted in")
    at_step(page, "source")
    assert page.input_value("#id_container") == floor.uids["R1-02"]
    assert page.input_value("[name=earlier]") == "16,15"


def test_somebody_else_goes_on_with_it_on_another_tablet(look, floor, batch):
    floor.walk.as_person("Ada", "keeper")
    mara, ada = look(), look(email=Person.objects.get(name="Ada").email)
    page = mara.open("move", batch)
    choose(page, floor)
    press(page, "It is prepared")
    mara.sees("Kept, also for another tablet.")

    other = ada.open("move", batch)
    ada.sees("mara began to tell this move")
    other.click("text=Go on with it")
    at_step(other, "feed")
    press(other, "Go on")
    other.fill("#id_count_out", "16")
    press(other, "They are counted out")
    ada.sees("Kept, also for another tablet.")
    press(page, "Go on")
    mara.sees("Ada went on with this move")
    for key in ("They are there", "They are counted in", "Nobody is in it", "They are away"):
        if key == "They are counted in":
            other.fill("#id_count", "16")
        press(other, key)
    press(other, "Record the move")

    ada.sees("is in R1-02.")
    assert moved().body["with"] == [floor.walk.person]
    assert StayRow.objects.count() == 2
