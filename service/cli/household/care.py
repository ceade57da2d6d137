"""Commands that look after what households store: backup, restore, export, import, households, access keys."""

from collections.abc import Iterator
from contextlib import contextmanager
from typing import TYPE_CHECKING, Annotated, Literal

import typer

from service.cli.terminal.faults import report_faults
from service.cli.terminal.printing import AsJson, Reply, finish, minute, say, table
from service.domain.errors import BadInput
from service.domain.messages import message

if TYPE_CHECKING:
    from rich.console import Console

    from service.jobs.household.access.store import Store

WhichHousehold = Annotated[
    str | None, typer.Option(metavar="ID", help="Id of the household; may be left out if there is only one.")
]
Rights = Literal["keep", "pack", "read"]

SALTS = typer.Option(
    "--salts-cooking-water/--no-salt", help="Whether the water for pasta, rice, pulses and vegetables is salted."
)

WIPED = {
    "done": "",
    "nothing": "",
    "later": "The store is in use, so what was deleted can still be found in its file. The next packed-lunch purge removes it, "
    "and so does the server when it stops or starts.",
    "no_right": "What was deleted can still be found in the files of PostgreSQL until it next vacuums the tables; only their owner may "
    "do so at once.",
}
"""What to say of what is left behind in the files of the store."""

households = typer.Typer(help="Households: make, edit, list, remove.", no_args_is_help=True)
keys = typer.Typer(help="Access keys of a household: list, make, revoke.", no_args_is_help=True)


def install_care(app: typer.Typer) -> None:
    """Add these commands to the command line."""
    for command, name in (
        (backup, "backup"), (restore, "restore"), (set_aside, "set-aside"), (export, "export"), (import_file, "import"),
    ):  # fmt: skip
        app.command(name)(command)
    app.add_typer(households, name="household")
    app.add_typer(keys, name="keys")


@contextmanager
def opened_store(url: str | None = None) -> Iterator["Store"]:
    """The store of the settings, open for as long as a command works on it."""
    from service.jobs.household.access.store import naming_the_file, open_household_store
    from service.settings import settings

    store = open_household_store(url or settings().database_url)
    try:
        with naming_the_file(store):
            yield store
    finally:
        store.close()


def backup(
    file: Annotated[str, typer.Argument(metavar="FILE", help="Where the backup goes; another one there is replaced.")],
    as_json: AsJson = False,
) -> None:
    """Write all that the store holds to one file, while it is in use. The file is for its owner only: keep it so."""
    from service.jobs.household.access.store import back_up

    with report_faults(as_json), opened_store() as store:
        made = back_up(store, file)
        say(
            {"file": file, "rows": made.rows, "made_at": made.made_at.isoformat(), "revision": made.revision},
            as_json,
            f"Backup of {made.rows:,} rows in {file}. It holds what children must not eat, and the hashes of access "
            "keys: keep it where only you can read it.",
        )


def restore(
    file: Annotated[str, typer.Argument(metavar="FILE", help="A file that 'packed-lunch backup' wrote.")],
    replace: Annotated[bool, typer.Option("--replace", help="Replace records that the store holds now.")] = False,
    leave_out: Annotated[
        bool,
        typer.Option(
            "--leave-out-unusable",
            help="Restore the rest where rows of the backup cannot be used, and list what was left out.",
        ),
    ] = False,
    as_json: AsJson = False,
) -> None:
    """Put a backup in the place of all that is stored, access keys too. A running service goes on with what the backup holds."""
    from service.jobs.household.transfer.restore import restore as restore_store
    from service.reference.fault_words import fault_sentence

    with report_faults(as_json), opened_store() as store:
        put = restore_store(store, file, replace=replace, leave_out=leave_out)
        of, left_out = put.backup, [fault_sentence(one) for one in put.left_out]
        say(
            {
                "file": file,
                "rows": put.rows,
                "made_at": of.made_at.isoformat(),
                "revision": of.revision,
                "left_out": left_out,
            },
            as_json,
            f"Restored: {put.rows:,} rows of the backup of {of.made_at:%Y-%m-%d %H:%M} UTC are now all that is stored. "
            "Access keys are those of the backup.",
            *(f"Left out: {one}" for one in left_out),
        )


def set_aside(
    file: Annotated[str, typer.Argument(metavar="FILE", help="The file of a store that cannot be used.")],
    as_json: AsJson = False,
) -> None:
    """Give a store's file another name, with all that belongs to it, so that a backup or a new store can take its place."""
    from service.jobs.household.access.store import put_aside

    with report_faults(as_json):
        name = put_aside(file)
        say(
            {"file": file, "set_aside": name},
            as_json,
            f"The file is now {name}; nothing in it was changed.",
            "Put your last backup in its place with 'packed-lunch restore BACKUP', or start anew with 'packed-lunch serve'.",
        )


def export(
    out: Annotated[str, typer.Option(metavar="FILE|FOLDER", help="A JSON file; with --csv a folder or a .zip file.")],
    household: WhichHousehold = None,
    as_csv: Annotated[
        bool, typer.Option("--csv", help="One CSV file a kind, and photographs, instead of one JSON file.")
    ] = False,
    log: Annotated[
        bool,
        typer.Option(
            "--log",
            help="The log of lunches as tables for other programs, with their nutrients: FILE.zip with a data dictionary, or FILE.parquet.",
        ),
    ] = False,
    as_json: AsJson = False,
) -> None:
    """Write a household's records as JSON, or as CSV with its photographs of packets. Access keys are not in it.

    With --log its log of lunches, which is not read back.
    """
    from service.jobs.household.transfer.export_household import export_household, the_household

    with report_faults(as_json), opened_store() as store:
        if log:
            _export_log(store, household, out, as_csv, as_json)
        whole = export_household(store, the_household(store, household), out, as_csv=as_csv)
        counts = {name: len(records) for name, records in whole.records.items()}
        told = _counted(counts)
        say({"out": out, "household": str(whole.household.id), **counts}, as_json, f"Exported to {out}: {told}.")


def _counted(counts: dict[str, int]) -> str:
    """How many records of each kind there are: "children 2, school days 14"."""
    some = [f"{kind.replace('_', ' ')} {count:,}" for kind, count in counts.items() if count]
    return ", ".join(some) or "no records"


def _export_log(store: "Store", household: str | None, out: str, as_csv: bool, as_json: bool) -> None:
    """Write the log as tables, by the ending of the file's name, and end the command."""
    from service.jobs.files import write_whole
    from service.jobs.household.transfer.export_household import the_household
    from service.jobs.household.transfer.log_package import log_package
    from service.jobs.tables.data_package.written import package_file

    if as_csv:
        raise BadInput(pointer="--csv", value="--log", problem=message("fault.both-of-two", one="--csv", other="--log"))
    package = log_package(store, the_household(store, household))
    write_whole(out, package_file(package, out, "--out"), "--out")
    counts = {table.name: len(table.rows) for table in package.tables}
    told = ", ".join(f"{count:,} {name}" for name, count in counts.items())
    say({"out": out, **counts}, as_json, f"Exported to {out}: {told}.")


def import_file(
    file: Annotated[
        str, typer.Argument(metavar="FILE|FOLDER", help="What 'packed-lunch export' wrote: JSON, CSV folder or .zip.")
    ],
    household: Annotated[
        str | None,
        typer.Option(metavar="ID", help="An empty household to import it into; left out: the one of the file."),
    ] = None,
    as_json: AsJson = False,
) -> None:
    """Take in an export, all of it or nothing, as a new household or into an empty one."""
    from service.jobs.household.transfer.export_household import the_household
    from service.jobs.household.transfer.import_household import import_household, read_export

    with report_faults(as_json):
        whole = read_export(file)
        with opened_store() as store:
            into = None if household is None else the_household(store, household)
            done = str(import_household(store, whole, into))
        counts = {name: len(records) for name, records in whole.records.items()}
        counts["photographs"] = len(whole.photographs)
        told = _counted(counts)
        key = "" if into else f" Make a key for it: packed-lunch keys make NAME --household {done}"
        say({"household": done, **counts}, as_json, f"Imported as household {done}: {told}.{key}")


@households.command("make")
def household_make(
    name: Annotated[str, typer.Option(help="What it is called.")] = "our household",
    retention_months: Annotated[
        int, typer.Option(min=1, max=240, help="Months that lunches are kept; older ones are removed.")
    ] = 13,
    salts_cooking_water: Annotated[bool | None, SALTS] = None,
    as_json: AsJson = False,
) -> None:
    """Make a household and a key that may do everything; the key is shown this once."""
    from service.jobs.household.access.households import make_household

    with report_faults(as_json), opened_store() as store:
        household, secret = make_household(store, name, retention_months, salts_cooking_water)
        say(
            {"household": str(household), "key": secret},
            as_json,
            f"Household {household}",
            f"Access key, shown this once: {secret}",
        )


@households.command("edit")
def household_edit(
    household: WhichHousehold = None,
    name: Annotated[str | None, typer.Option(help="What it is called.")] = None,
    retention_months: Annotated[
        int | None, typer.Option(min=1, max=240, help="Months that lunches are kept; older ones are removed.")
    ] = None,
    salts_cooking_water: Annotated[bool | None, SALTS] = None,
    as_json: AsJson = False,
) -> None:
    """Change a household's settings; what is left out stays as it is."""
    from service.jobs.household.access.households import change_settings
    from service.jobs.household.transfer.export_household import the_household

    given = {"name": name, "retention_months": retention_months, "salts_cooking_water": salts_cooking_water}
    with report_faults(as_json), opened_store() as store:
        one = the_household(store, household)
        now = change_settings(store, one, {key: value for key, value in given.items() if value is not None})
        salt = {True: "is salted", False: "is not salted", None: "not said"}[now["salts_cooking_water"]]
        said = f"{now['name']}: lunches kept {now['retention_months']} months; cooking water: {salt}."
        say({"household": str(one), **now}, as_json, said)


@households.command("list")
def household_list(as_json: AsJson = False) -> None:
    """List the households with what they store."""
    from service.jobs.household.access.households import list_households

    def show(out: "Console", reply: Reply) -> None:
        rows = table("id", "name", "months kept", "children", "lunches", "keys in use")
        for one in reply["households"]:
            cells = (one["id"], one["name"], one["retention_months"], one["children"], one["lunches"], one["keys"])
            rows.add_row(*map(str, cells))
        out.print(rows)

    with report_faults(as_json), opened_store() as store:
        finish({"households": list_households(store)}, as_json, show, 0)


@households.command("remove")
def household_remove(
    household: Annotated[str, typer.Argument(metavar="ID", help="Id of the household.")],
    sure: Annotated[bool, typer.Option("--yes", help="Needed: everything it stores is deleted.")] = False,
    as_json: AsJson = False,
) -> None:
    """Remove a household with everything it stores. Backups and exports made before still hold it."""
    from service.jobs.household.access.households import forget_household
    from service.jobs.household.transfer.export_household import the_household

    with report_faults(as_json), opened_store() as store:
        one = the_household(store, household)
        if not sure:
            raise BadInput(
                pointer="--yes",
                value="",
                problem=message("fault.would-be-deleted"),
            )
        left = WIPED[forget_household(store, one)]
        told = f"Household {household} is removed. Backups made before still hold it."
        say({"removed": household, "gone_from_files": left == ""}, as_json, f"{told} {left}".strip())


@keys.command("list")
def keys_list(household: WhichHousehold = None, as_json: AsJson = False) -> None:
    """List a household's access keys, revoked ones too, with when each was last used."""
    from service.jobs.household.access.access_keys import list_keys
    from service.jobs.household.transfer.export_household import the_household

    def show(out: "Console", reply: Reply) -> None:
        rows = table("id", "name", "rights", "made (UTC)", "last used", "ends", "revoked")
        rows.columns[0].no_wrap = True  # it is copied to revoke the key
        for one in reply["keys"]:
            ends = f"ended {minute(one['ends_at'])}" if one["ended"] else minute(one["ends_at"], "-")
            used, revoked = minute(one["last_used_at"], "never"), minute(one["revoked_at"], "-")
            rows.add_row(one["id"], one["name"], one["rights"], minute(one["created_at"]), used, ends, revoked)
        out.print(rows)

    with report_faults(as_json), opened_store() as store:
        one = the_household(store, household)
        with store.reading() as connection:
            found = list_keys(connection, one)
        finish({"keys": found}, as_json, show, 0)


@keys.command("make")
def keys_make(
    name: Annotated[str, typer.Argument(help="Where it is used, e.g. 'kitchen tablet'.")],
    rights: Annotated[
        Rights, typer.Option(help="keep: everything; pack: see all, log what is packed for the day; read: see only.")
    ] = "read",
    days: Annotated[
        int | None, typer.Option(min=1, max=3650, help="For how many days it works; left out: until it is revoked.")
    ] = None,
    household: WhichHousehold = None,
    as_json: AsJson = False,
) -> None:
    """Make an access key; it is shown this once."""
    from service.jobs.household.access.access_keys import NewKey, make_key
    from service.jobs.household.transfer.export_household import the_household

    with report_faults(as_json), opened_store() as store:
        asked = NewKey(name=name, rights=rights, days=days)
        one = the_household(store, household)
        with store.writing() as connection:
            made, secret = make_key(connection, one, asked)
        say(
            {**made, "key": secret},
            as_json,
            f"Access key {made['name']!r} ({made['rights']}), id {made['id']}"
            + (f", works until {made['ends_at']}" if made["ends_at"] else ""),
            f"Shown this once: {secret}",
        )


@keys.command("revoke")
def keys_revoke(
    key: Annotated[str, typer.Argument(metavar="KEY_ID", help="Id of the key, not the key itself.")],
    household: WhichHousehold = None,
    as_json: AsJson = False,
) -> None:
    """Make an access key useless from now on."""
    from service.jobs.household.access.access_keys import revoke
    from service.jobs.household.transfer.export_household import the_household

    with report_faults(as_json), opened_store() as store:
        one = the_household(store, household)
        with store.writing() as connection:
            revoke(connection, one, key)
        say({"revoked": key}, as_json, f"Key {key} is revoked.")
