"""Care: backup, export and import give the same again; what would be removed is said first; a key is shown once."""

import io
import random
import zipfile
from contextlib import closing
from datetime import date, timedelta

import pytest
from PIL import Image

from service.domain.messages import Message
from service.jobs.household.access.households import make_household
from service.jobs.household.access.store import open_household_store
from service.jobs.household.kinds import RESOURCES
from service.jobs.household.packets.packet_photos import put_photo
from service.jobs.household.packets.photographs import as_kept
from service.jobs.household.settings import settings_of
from service.jobs.household.stock.known_foods import KnownFoods
from service.jobs.household.transfer.csv import as_tables
from service.jobs.household.transfer.export_household import read_household
from service.jobs.household.transfer.json import as_json
from service.jobs.household.transfer.restore import restore
from service.reference.messages import languages, page_catalogue
from service.reference.stock.keeping import keeping_rules
from service.store.database import Store
from tests.web.kitchens import OURS, Browser, Kitchen, empty_kitchen


def export_of(kitchen: Kitchen) -> bytes:
    return as_json(read_household(kitchen.store, kitchen.id))


def sent_file(browser: Browser, name: str, content: bytes, do: str, status: int = 200) -> str:
    """The answer to the import's form with a file."""
    form = browser.get("/care/import").form("/care/import")
    data = {name: values[0] for name, values in form.data().items()} | {"do": do}
    answer = browser.client.post("/care/import", data=data, files={"file": (name, content)}, headers=OURS)
    assert answer.status_code == status, answer.text[-1500:]
    return answer.text


def test_the_household_says_of_itself(kitchen: Kitchen) -> None:
    parent = kitchen.browser()
    parent.send(parent.get("/care"), "/care/household", name="the Hazels", salts="yes")
    fields = dict(parent.get("/care").form("/care/household").fields)
    assert (fields["name"], fields["salts"]) == ("the Hazels", "yes")
    parent.send(parent.get("/care"), "/care/household", name="the Hazels", salts="")
    assert dict(parent.get("/care").form("/care/household").fields)["salts"] == ""
    wrong = parent.send(parent.get("/care"), "/care/household", status=422, name="", salts="no")
    assert dict(wrong.form("/care/household").fields)["salts"] == "no"


@pytest.mark.parametrize(
    ("ticked", "counts"),
    [(["GB"], ["GB"]), (["US", "GB"], ["US", "GB"]), ([], None)],
    ids=["one", "several", "strictest"],
)
def test_the_household_chooses_whose_guidance_counts(
    kitchen: Kitchen, ticked: list[str], counts: list[str] | None
) -> None:
    """Nothing ticked is the strictest of all, which a household starts with; the name stays what it was."""
    parent = kitchen.browser()
    before = dict(parent.get("/care").form("/care/household").fields)
    assert "regions" not in before
    parent.send(parent.get("/care"), "/care/household", regions="US" if ticked != ["US"] else "GB")
    parent.send(parent.get("/care"), "/care/household", regions=ticked)
    form = parent.get("/care").form("/care/household")
    assert [value for name, value in form.fields if name == "regions"] == ticked
    assert dict(form.fields)["name"] == before["name"]
    with kitchen.store.reading() as connection:
        assert settings_of(connection, kitchen.id).regions == counts


def test_the_guidance_chosen_is_the_one_the_stock_goes_by(kitchen: Kitchen) -> None:
    parent = kitchen.browser()

    def chosen(region: str) -> KnownFoods:
        parent.send(parent.get("/care"), "/care/household", regions=region)
        with kitchen.store.reading() as connection:
            return KnownFoods(connection, kitchen.id)

    assert chosen("US").rules == keeping_rules(("US",))
    assert chosen("GB").rules == keeping_rules(("GB",)) != keeping_rules(("US",))


def test_a_region_that_there_is_not_is_refused_at_its_field(kitchen: Kitchen) -> None:
    parent = kitchen.browser()
    wrong = parent.send(parent.get("/care"), "/care/household", status=422, regions="XX")
    assert 'id="regions-fault"' in wrong.html


def test_whose_guidance_is_asked_in_the_language_of_the_page(kitchen: Kitchen) -> None:
    english, spanish = (kitchen.browser(language=one).get("/care").text for one in ("en", "es"))
    assert "US guidance" in english
    assert "UK guidance" in english
    assert "Guía del Reino Unido" in spanish


def test_what_retention_removes_is_said_before(kitchen: Kitchen, on: date) -> None:
    parent = kitchen.browser()
    rowan = kitchen.children["Rowan"]
    old = on - timedelta(days=60)
    kitchen.keep("lunches", {"child": rowan, "date": old.isoformat(), "kind": "none"})
    asked = parent.send(parent.get("/care"), "/care/retention", months="1")
    assert "Remove 1 lunch?" in asked.text
    assert dict(parent.get("/care").form("/care/retention").fields)["months"] == "13"
    parent.send(asked, "/care/retention")
    assert dict(parent.get("/care").form("/care/retention").fields)["months"] == "1"
    assert kitchen.lunch(rowan, old) is not None  # until the next start
    for text in ("0", "241", "a year", "", "1.5", "٣", "99999999999999999999"):
        wrong = parent.send(parent.get("/care"), "/care/retention", status=422, months=text)
        assert "Write a whole number from 1 to 240." in wrong.text


def test_more_lunches_than_were_said_are_not_removed(kitchen: Kitchen, on: date) -> None:
    """Logged on another device after the page was shown: it is asked again."""
    parent = kitchen.browser()
    rowan, kit = list(kitchen.children.values())[:2]
    kitchen.keep("lunches", {"child": rowan, "date": (on - timedelta(days=60)).isoformat(), "kind": "none"})
    asked = parent.send(parent.get("/care"), "/care/retention", months="1")
    kitchen.keep("lunches", {"child": kit, "date": (on - timedelta(days=60)).isoformat(), "kind": "none"})
    again = parent.send(asked, "/care/retention")
    assert "Remove 2 lunches?" in again.text


def test_a_backup_is_the_whole_store(kitchen: Kitchen, tmp_path_factory: pytest.TempPathFactory) -> None:
    parent = kitchen.browser()
    answer = parent.client.post("/care/backup", data=parent.get("/care").form("/care/backup").data(), headers=OURS)
    assert answer.status_code == 200
    assert answer.headers["content-disposition"].startswith('attachment; filename="packed-lunch-')
    assert answer.headers["cache-control"] == "no-store"
    folder = tmp_path_factory.mktemp("restored")
    (folder / "backup").write_bytes(answer.content)
    other = open_household_store(f"sqlite:///{folder / 'other.sqlite3'}")
    restore(other, str(folder / "backup"), replace=False)
    assert as_json(read_household(other, kitchen.id)) == export_of(kitchen)
    other.close()


def test_no_backup_where_other_households_would_be_in_it(kitchen: Kitchen, store: Store) -> None:
    parent = kitchen.browser()
    before = parent.get("/care")
    make_household(store, "the neighbours", 13)
    told = parent.get("/care")
    assert "This store holds 2 households" in told.text
    assert not any(form.action == "/care/backup" for form in told.forms)
    refused = parent.send(before, "/care/backup", status=403)
    assert "the neighbours" not in refused.html


def test_an_export_is_taken_in_by_an_empty_household_whole_or_not_at_all(
    kitchen: Kitchen, tmp_path_factory: pytest.TempPathFactory
) -> None:
    parent = kitchen.browser()
    page = parent.get("/care")
    files = {}
    for place, kind in enumerate(("csv", "json")):
        form = [one for one in page.forms if one.action == "/care/export"][place]
        answer = parent.client.post("/care/export", data=form.data(), headers=OURS)
        assert answer.headers["content-disposition"].startswith("attachment; ")
        files[kind] = answer.content
    assert files["json"] == export_of(kitchen)
    with zipfile.ZipFile(io.BytesIO(files["csv"])) as archive:
        assert {name: archive.read(name) for name in archive.namelist()} == as_tables(
            read_household(kitchen.store, kitchen.id)
        )
    for kind, name in (("json", "home.json"), ("csv", "home.zip")):
        url = f"sqlite:///{tmp_path_factory.mktemp(kind) / 'other.sqlite3'}"
        with closing(open_household_store(url)) as store, closing(empty_kitchen(store, url)) as other:
            empty = other.browser()
            looked = sent_file(empty, name, files[kind], "look")
            assert "3 children" in looked
            assert read_household(store, other.id).records["children"] == []
            broken = (
                files[kind].replace(b'"birth_month": "', b'"birth_month": "x') if kind == "json" else files[kind][:-60]
            )
            sent_file(empty, name, broken, "take", 422)
            assert read_household(store, other.id).records["children"] == []
            sent_file(empty, name, files[kind], "take")
            took = read_household(store, other.id)
            assert took.records == read_household(kitchen.store, kitchen.id).records
            again = sent_file(empty, name, files[kind], "take", 422)
            assert "If you pressed the button twice, the first press imported the file" in again
            assert "--household" not in again


@pytest.mark.parametrize("language", languages())
def test_what_a_file_holds_is_said_for_every_kind_of_record(language: str) -> None:
    for collection in (*RESOURCES, "photographs"):
        code = f"care.holds-{collection.replace('_', '-')}"
        assert page_catalogue(language).say(Message(code, {"n": 2})).startswith("2 ")


def test_photographs_of_packets_go_with_the_tables(kitchen: Kitchen, tmp_path_factory: pytest.TempPathFactory) -> None:
    """Out over the page and in over the page of another household: what is found is counted first, then it is there."""
    image = io.BytesIO()
    Image.new("RGB", (40, 30), "green").save(image, "PNG")
    packet = kitchen.keep("packets", {"food": "hummus", "read_on": "2026-11-01", "ingredients": "Chickpeas, tahini."})
    with kitchen.store.writing() as connection:
        put_photo(connection, kitchen.id, packet, as_kept(image.getvalue()))
    parent = kitchen.browser()
    shown = parent.client.get(f"/packets/{packet}/photo").content
    form = next(one for one in parent.get("/care").forms if ("form", "csv") in one.fields)
    answer = parent.client.post("/care/export", data=form.data(), headers=OURS)
    assert answer.headers["cache-control"] == "no-store"
    url = f"sqlite:///{tmp_path_factory.mktemp('other') / 'other.sqlite3'}"
    with closing(open_household_store(url)) as store, closing(empty_kitchen(store, url)) as other:
        assert "1 photograph of packets" in sent_file(other.browser(), "home.zip", answer.content, "look")
        sent_file(other.browser(), "home.zip", answer.content, "take")
        assert other.browser().client.get(f"/packets/{packet}/photo").content == shown != b""


def test_an_export_may_be_larger_than_a_photograph(new_kitchen: Kitchen) -> None:
    """13 MB are looked into; what other pages take is as small as before."""
    parent = new_kitchen.browser()
    sent_file(parent, "home.zip", bytes(13_000_000), "look", 422)
    sent_file(parent, "home.zip", bytes(50_000_001), "look", 413)


def test_a_file_of_another_kind_is_told_apart_in_words_for_a_parent(new_kitchen: Kitchen) -> None:
    parent = new_kitchen.browser()
    for content in (b"\x89PNG\r\n", b"hello", b"[1, 2]"):
        told = sent_file(parent, "cake.png", content, "look", 422)
        assert "“cake.png” is not a file that was exported here." in told
        assert "JSON (" not in told
    form = parent.get("/care").form("/care/backup")
    backup = parent.client.post("/care/backup", data=form.data(), headers=OURS).content
    assert "is a backup, not an export" in sent_file(parent, "home.backup", backup, "look", 422)


@pytest.mark.parametrize("content", [b"", b"{}", b"[1", b"PK\x05\x06" + b"\0" * 18, b"\xff" * 100])
def test_any_other_file_is_refused_in_words(new_kitchen: Kitchen, content: bytes) -> None:
    parent = new_kitchen.browser()
    told = sent_file(parent, "<b>cake</b>.json", content, "take", 422)
    assert 'aria-invalid="true"' in told
    assert "<b>cake" not in told


def test_a_refused_file_is_told_in_the_language_of_the_page(new_kitchen: Kitchen) -> None:
    told = sent_file(new_kitchen.browser(language="es"), "home.json", b"{}", "take", 422)
    assert "no es una exportación de la forma 1" in told
    assert "is not an export" not in told


def test_a_zip_that_unpacks_to_too_much_is_refused(new_kitchen: Kitchen) -> None:
    chance = random.Random(0)  # noqa: S311 - so that it is not packed too tightly
    packed = io.BytesIO()
    with zipfile.ZipFile(packed, "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr("lunches.csv", b"".join(chance.randbytes(1_000) + bytes(29_000) for _ in range(2_000)))
    told = sent_file(new_kitchen.browser(), "home.zip", packed.getvalue(), "look", 422)
    assert "holds more than 50,000,000 bytes" in told


def test_a_key_is_shown_once_and_can_be_revoked(new_kitchen: Kitchen) -> None:
    parent = new_kitchen.browser()
    made = parent.send(parent.get("/care/keys"), "/care/keys/new", name="scales", rights="keep")
    secret = made.html.partition("<code>")[2].partition("</code>")[0]
    header = {"Authorization": f"Bearer {secret}"}
    assert parent.client.get("/v1/household", headers=header).status_code == 200
    listed = parent.get("/care/keys")
    assert secret not in listed.html
    assert "scales" in listed.text
    last = parent.send(listed, "/care/keys/0", status=409)
    assert "Make another key that may do everything first." in last.text
    parent.send(parent.get("/care/keys"), "/care/keys/new", name="second", rights="keep")
    parent.send(parent.get("/care/keys"), "/care/keys/0")
    assert "no longer works" in parent.get("/care/keys").text
    parent.send(parent.get("/care/keys"), "/care/keys/new", status=422, name="", rights="read")


def test_sources_cautions_and_licences_are_named(kitchen: Kitchen) -> None:
    parent = kitchen.browser()
    assert "This is not medical advice" in parent.get("/care").text
    sources = parent.get("/care/sources")
    assert "7 CFR 210.10, Meal requirements for lunches" in sources.text
    assert "MIT License" in sources.text
    assert "United Kingdom (" in sources.text
    assert sources.html.count("<details") == sources.html.count("<summary") == 10
