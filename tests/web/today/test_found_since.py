"""What is read or entered after a lunch was taken shows on the first page while it can still be taken out of the bag."""

from datetime import date

from service.jobs.household.kinds import CHILDREN
from service.jobs.household.records import edit_record
from tests.web.kitchens import OURS, Browser, Kitchen

WITH_BEANS = {"take": ["main~rice and bean pot", "fruit~clementine", "vegetable~carrots-raw", "drink~milk-1-percent"]}


def take(kitchen: Kitchen, parent: Browser, on: date) -> None:
    """Linden, who must not have peanut, takes beans whose packet nobody has read."""
    offer = kitchen.set_out("usual mornings", on)
    address = f"/take/{kitchen.children['Linden']}"
    chosen = "&".join(f"take={one.replace(' ', '+')}" for one in WITH_BEANS["take"])
    page = parent.get(f"{address}?day={on}&offer={offer}&{chosen}")
    finish = next(one for one in page.forms if one.method == "post")
    assert parent.client.post(finish.action, data=finish.data(), headers=OURS).status_code == 200
    assert kitchen.lunch(kitchen.children["Linden"], on) is not None


def read(kitchen: Kitchen, food: str, on: date, ingredients: str) -> None:
    """Store what a packet says, read on the day."""
    kitchen.keep("packets", {"food": food, "read_on": on.isoformat(), "ingredients": ingredients})


def test_a_packet_that_a_taken_lunch_waits_for_is_still_asked_for_and_named_at_the_child(
    kitchen: Kitchen, on: date
) -> None:
    parent = kitchen.browser()
    take(kitchen, parent, on)
    page = parent.get("/")
    assert "? packed" in page.text
    assert "Still to be read: black beans, cooked, no salt; rapeseed oil" in page.text
    assert (
        "/packets/new?food=beans-black-cooked",
        "Read the packet of black beans, cooked, no salt, for Linden",
    ) in page.links


def test_a_packet_read_later_that_names_the_allergen_is_said_at_once(kitchen: Kitchen, on: date) -> None:
    parent = kitchen.browser()
    take(kitchen, parent, on)
    read(kitchen, "beans-black-cooked", on, "black beans, peanut, salt")
    page = parent.get("/")
    assert (
        "Not for Linden: rice and bean pot. It has or may have peanut, by what has been read or entered since. Take it out."
        in page.text
    )
    assert "✕ packed" in page.text
    assert (f"/week/{kitchen.children['Linden']}/{on}", "Correct this lunch") in page.links


def test_packets_read_later_that_name_nothing_end_the_question(kitchen: Kitchen, on: date) -> None:
    parent = kitchen.browser()
    take(kitchen, parent, on)
    read(kitchen, "beans-black-cooked", on, "black beans, water, salt")
    read(kitchen, "canola-oil", on, "rapeseed oil")
    page = parent.get("/")
    assert "Still to be read" not in page.text
    assert "✓ packed" in page.text


def test_an_allergy_entered_later_is_said_at_once(kitchen: Kitchen, on: date) -> None:
    parent = kitchen.browser()
    take(kitchen, parent, on)
    child = kitchen.children["Linden"]
    with kitchen.store.writing() as connection:
        parts = b'{"avoids": [{"allergen": "peanut"}, {"allergen": "milk"}]}'
        edit_record(connection, CHILDREN, kitchen.id, child, lambda _v: None, parts, None)
    page = parent.get("/")
    assert (
        "Not for Linden: 1 % milk. It has or may have milk, by what has been read or entered since. Take it out."
        in page.text
    )


def test_a_new_ban_of_the_class_is_said_at_once_in_spanish_too(kitchen: Kitchen, on: date) -> None:
    parent = kitchen.browser()
    take(kitchen, parent, on)
    child = kitchen.children["Linden"]
    with kitchen.store.writing() as connection:
        edit_record(connection, CHILDREN, kitchen.id, child, lambda _v: None, b'{"bans": ["milk"]}', None)
    page = kitchen.browser(language="es").get("/")
    assert (
        "No es para Linden: 1 % milk. Lleva o puede llevar leche, por lo que se leyó o anotó después. Sácalo."
        in page.text
    )
