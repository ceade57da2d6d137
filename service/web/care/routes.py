"""What is stored, looked after: the household's words of itself, how long lunches are kept, backup, export, import, keys."""

from functools import partial

from fastapi import APIRouter, Request, Response
from pydantic import ValidationError
from starlette.concurrency import run_in_threadpool

from service.domain.cautions import CAUTIONS
from service.domain.errors import LastKeepKey, LunchError
from service.domain.messages import message
from service.jobs.household.access.access_keys import NewKey, list_keys, make_key, revoke
from service.jobs.household.access.households import change_settings, keeps_nothing, list_households, today
from service.jobs.household.access.store import back_up
from service.jobs.household.retention.purging import PUT_BACK_FOR, held_now, purge, to_go
from service.jobs.household.retention.removed import put_removed_back, removed_shown
from service.jobs.household.settings import settings_of
from service.jobs.household.transfer.export_household import export_household, read_household
from service.jobs.household.transfer.import_household import export_of, import_household
from service.jobs.household.transfer.json import as_json
from service.reference.fault_words import fault_sentence
from service.reference.sources import sources
from service.reference.stock.keeping import every_region
from service.web.care.downloads import file_to_keep, written_to_keep
from service.web.care.held import held_view
from service.web.care.view import CareView, FoundInFile, ImportView, RetentionView, SourcesView, keys_view
from service.web.forms.form import Form, SentForm, SentLargeForm
from service.web.language.chosen import page_message
from service.web.language.words import said
from service.web.pages import HERE, go, page
from service.web.viewer import Parent, Viewer

NEW_KEY = {"rights": ["read"], "days": [""]}
"""What the form of a new key begins with."""

router = APIRouter(include_in_schema=False)

SALTS = {"yes": True, "no": False, "": None}
BACKUP = b'{"packed_lunch_backup"'
"""How a backup begins, see ``service/store/backup.py``."""
MOST_UNPACKED = 50_000_000
"""Bytes that an export holds unpacked where it comes over a page; larger ones are taken in on the command line."""


@router.get("/care")
def show_care(request: Request, viewer: Parent) -> Response:
    """All of it on one page."""
    return _care(request, viewer)


@router.post("/care/household")
def change_household(request: Request, viewer: Parent, form: SentForm) -> Response:
    """Its name, whether it salts the water it cooks in, and whose guidance it goes by; with nobody ticked, the strictest."""
    caller = viewer.who()
    said_of_itself = {
        "name": form.text("name"),
        "salts_cooking_water": SALTS.get(form.text("salts")),
        "regions": form.texts("regions") or None,
    }
    try:
        change_settings(caller.store, caller.household, said_of_itself)
    except ValidationError as fault:
        return _care(request, viewer, household=form.with_faults(fault, {"/regions": "regions"}))
    return go("/care")


@router.post("/care/retention")
def change_retention(request: Request, viewer: Parent, form: SentForm) -> Response:
    """How long lunches are kept; where some are older than that, it is said first which are removed."""
    caller = viewer.who()
    text = form.text("months")
    months = int(text) if text.isascii() and text.isdigit() and 1 <= int(text[:4]) <= 240 and len(text) < 4 else None
    if months is None:
        return _care(
            request, viewer, retention=form.wrong("months", said(message("care.months-wrong"), viewer.language))
        )
    goes = to_go(caller.store, caller.household, months, today())
    if goes.lunches and form.text("sure") != str(goes.lunches):
        view = RetentionView(months, goes.first_day_kept.isoformat(), goes.lunches)
        return page(request, viewer, "care/retention.html", view)
    change_settings(caller.store, caller.household, {"retention_months": months})
    return go("/care")


@router.post("/care/date-is-right")
def date_is_right(viewer: Parent, form: SentForm) -> Response:
    """A person has looked at the computer's date: what was held back is removed. Only if the day is still the one that was shown."""
    caller, on = viewer.who(), today()
    if form.text("day") == on.isoformat():
        purge(caller.store, on, only=caller.household, sure=True)
    return go("/care")


@router.post("/care/put-back")
def put_back(viewer: Parent, _form: SentForm) -> Response:
    """What was removed for its age is put back where it was."""
    caller = viewer.who()
    put_removed_back(caller.store, caller.household, today())
    return go("/care")


@router.post("/care/backup")
def download_backup(request: Request, viewer: Parent, _form: SentForm) -> Response:
    """All that the store holds; not where it holds other households too, whose it would be as well."""
    store = viewer.who().store
    if len(list_households(store)) != 1:
        return _care(request, viewer, status=403)
    return written_to_keep(partial(back_up, store), f"packed-lunch-{today()}.backup", "application/octet-stream")


@router.post("/care/export")
def download_export(viewer: Parent, form: SentForm) -> Response:
    """All that the household stores: CSV files and photographs in a zip file; or the records as one JSON file."""
    caller = viewer.who()
    name = f"packed-lunch-{today()}"
    if form.text("form") == "csv":
        write = partial(export_household, caller.store, caller.household, as_csv=True)
        return written_to_keep(write, f"{name}.zip", "application/zip")
    return file_to_keep(as_json(read_household(caller.store, caller.household)), f"{name}.json", "application/json")


@router.get("/care/import")
def show_import(request: Request, viewer: Parent) -> Response:
    """What an import does, and the form for the file."""
    return _import(request, viewer, Form())


@router.post("/care/import")
async def take_in(request: Request, viewer: Parent, form: SentLargeForm) -> Response:
    """Look into an export, or take it in: all of it or nothing."""
    file = form.files.get("file")
    content: bytes = b"" if file is None else await file.read()
    name = "" if file is None else file.filename or ""
    return await run_in_threadpool(_take_in, request, viewer, form, name, content)


def _take_in(request: Request, viewer: Viewer, form: Form, name: str, content: bytes) -> Response:
    caller = viewer.who()
    if not content:
        return _import(request, viewer, form.wrong("file", said(message("care.no-file"), viewer.language)))
    no_export = _no_export(content)
    if no_export:
        return _import(request, viewer, form.wrong("file", said(page_message(no_export, name=name), viewer.language)))
    try:
        whole = export_of(name, content, MOST_UNPACKED)
        if form.text("do") == "take":
            import_household(caller.store, whole, caller.household)
            return go("/")
    except LunchError as fault:
        for one in fault.faults():
            there = one.code == "household-not-empty"
            form.wrong(
                "file",
                said(page_message("care.stores-already"), viewer.language)
                if there
                else fault_sentence(one, viewer.language),
            )
        return _import(request, viewer, form)
    counts = {collection: len(records) for collection, records in whole.records.items()}
    counts["photographs"] = len(whole.photographs)
    return _import(request, viewer, form, FoundInFile(str(whole.household.body.get("name", "")), counts))


def _no_export(content: bytes) -> str:
    """Which message says that a file is no export, by how it begins; empty where it may be one."""
    begins = content.lstrip()[: len(BACKUP)]
    if begins == BACKUP:
        return "care.no-export-backup"
    return "" if begins.startswith((b"{", b"PK")) else "care.no-export"


@router.get("/care/keys")
def show_keys(request: Request, viewer: Parent) -> Response:
    """The access keys: for other programs."""
    return _keys(request, viewer, Form(NEW_KEY))


@router.post("/care/keys/new")
def add_key(request: Request, viewer: Parent, form: SentForm) -> Response:
    """Make a key; it stands on the answer to this form and nowhere else."""
    caller = viewer.who()
    try:
        typed = {"name": form.text("name"), "rights": form.text("rights"), "days": form.text("days") or None}
        asked = NewKey.model_validate(typed)
    except ValidationError as fault:
        return _keys(request, viewer, form.with_faults(fault), status=422)
    with caller.store.writing() as connection:
        _key, secret = make_key(connection, caller.household, asked)
    return _keys(request, viewer, Form(NEW_KEY), secret)


@router.post("/care/keys/{key}/revoke")
def revoke_key(request: Request, viewer: Parent, key: str, _form: SentForm) -> Response:
    """Make a key useless from now on; the last that may do everything stays."""
    caller = viewer.who()
    try:
        with caller.store.writing() as connection:
            revoke(connection, caller.household, key)
    except LastKeepKey:
        refused = said(message("problem.last-keep-key"), viewer.language)
        return _keys(request, viewer, Form(NEW_KEY), refused=refused, status=409)
    return go("/care/keys")


@router.get("/care/sources")
def show_sources(request: Request, viewer: Parent) -> Response:
    """Where figures and pictures come from, and under which licences."""
    notice = (HERE / "static" / "pictures" / "NOTICE").read_text(encoding="utf-8")
    return page(request, viewer, "care/sources.html", SourcesView(sources(), notice))


def _care(
    request: Request, viewer: Viewer, *, household: Form | None = None, retention: Form | None = None, status: int = 200
) -> Response:
    caller = viewer.who()
    with caller.store.reading() as connection:
        now = settings_of(connection, caller.household)
        held = held_now(connection, caller.household, today())
        removed = removed_shown(connection, caller.household)
    salts = next(word for word, salted in SALTS.items() if salted is now.salts_cooking_water)
    view = CareView(
        household=household or Form({"name": [now.name], "salts": [salts], "regions": now.regions or []}),
        regions=[(one, said(page_message("care.region", region=one), viewer.language)) for one in every_region()],
        retention=retention or Form({"months": [str(now.retention_months)]}),
        first_day=to_go(caller.store, caller.household, now.retention_months, today()).first_day_kept.isoformat(),
        held=None if held is None else held_view(held),
        removed=removed,
        put_back_for=PUT_BACK_FOR,
        households=len(list_households(caller.store)),
        cautions=CAUTIONS,
    )
    return page(request, viewer, "care/care.html", view, 422 if household or retention else status)


def _import(request: Request, viewer: Viewer, form: Form, found: FoundInFile | None = None) -> Response:
    caller = viewer.who()
    view = ImportView(keeps_nothing(caller.store, caller.household), form, found)
    return page(request, viewer, "care/import.html", view, 422 if form.faults else 200)


def _keys(
    request: Request, viewer: Viewer, form: Form, secret: str = "", refused: str = "", status: int = 200
) -> Response:
    caller = viewer.who()
    with caller.store.reading() as connection:
        keys = list_keys(connection, caller.household)
    return page(request, viewer, "care/keys.html", keys_view(keys, viewer.language, form, secret, refused), status)
