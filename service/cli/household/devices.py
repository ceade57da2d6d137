"""``packed-lunch devices``: which devices are signed in, a link for another one, signing out."""

from typing import TYPE_CHECKING, Annotated, Literal

import typer

from service.cli.household.care import WhichHousehold, opened_store
from service.cli.terminal.addresses import base_address
from service.cli.terminal.faults import report_faults
from service.cli.terminal.printing import AsJson, Reply, finish, minute, say, table
from service.domain.errors import BadInput
from service.domain.messages import message

if TYPE_CHECKING:
    from rich.console import Console

DeviceRights = Literal["keep", "pack", "take"]

devices = typer.Typer(help="Devices that are signed in: list, add, sign out.", no_args_is_help=True)


@devices.command("list")
def devices_list(household: WhichHousehold = None, as_json: AsJson = False) -> None:
    """List the devices of a household that are signed in, with when each was last used."""
    from service.jobs.household.access.devices import list_devices
    from service.jobs.household.transfer.export_household import the_household

    def show(out: "Console", reply: Reply) -> None:
        rows = table("id", "name", "rights", "child", "last used (UTC)", "signed in until")
        for one in reply["devices"]:
            cells = (
                one["id"],
                one["name"],
                one["rights"],
                one["child"] or "-",
                minute(one["last_used_at"], "never"),
                minute(one["ends_at"]),
            )
            rows.add_row(*cells)
        out.print(rows)

    with report_faults(as_json), opened_store() as store:
        one = the_household(store, household)
        with store.reading() as connection:
            found = list_devices(connection, one)
        finish({"devices": found}, as_json, show, 0)


@devices.command("add")
def devices_add(
    name: Annotated[str, typer.Argument(help="What it is called, e.g. 'kitchen tablet'.")] = "",
    rights: Annotated[
        DeviceRights,
        typer.Option(help="keep: everything; pack: see all, log what is packed for the day; take: one child's taking."),
    ] = "keep",
    child: Annotated[
        str | None, typer.Option(metavar="ID", help="Id of the child whose taking it shows; only with 'take'.")
    ] = None,
    at: Annotated[
        str | None,
        typer.Option(
            metavar="ADDRESS",
            help="How the device reaches the service, e.g. https://kitchen.local:8087; left out: by host and port of the "
            "settings.",
        ),
    ] = None,
    household: WhichHousehold = None,
    as_json: AsJson = False,
) -> None:
    """Print a link, and as a QR code, that signs in one device: it works once, for ten minutes."""
    from service.jobs.household.access.sign_in_links import NewLink, make_link
    from service.jobs.household.transfer.export_household import the_household
    from service.settings import settings

    with report_faults(as_json), opened_store() as store:
        base = base_address(settings()) if at is None else _address(at)
        asked = NewLink(name=name, rights=rights, child=child)
        one = the_household(store, household)
        with store.writing() as connection:
            link = make_link(connection, one, asked)
        address = base + link.path
        say(
            {"link": address, "rights": rights, "child": child, "ends_at": link.ends_at.isoformat()},
            as_json,
            f"Open this on the device, once, within ten minutes (until {link.ends_at.astimezone():%H:%M}):",
            f"    {address}",
            qr_code(address),
        )


@devices.command("sign-out")
def devices_sign_out(
    device: Annotated[str | None, typer.Argument(metavar="DEVICE_ID", help="Id of the device.")] = None,
    everywhere: Annotated[bool, typer.Option("--all", help="Sign out all devices of the household.")] = False,
    household: WhichHousehold = None,
    as_json: AsJson = False,
) -> None:
    """Sign a device out, or all of them; each needs a new link to come back."""
    from service.jobs.household.access.devices import sign_out, sign_out_all
    from service.jobs.household.transfer.export_household import the_household

    with report_faults(as_json), opened_store() as store:
        if (device is None) != everywhere:
            raise BadInput(
                pointer="DEVICE_ID",
                value=device or "",
                problem=message("fault.device-and-all") if everywhere else message("fault.neither-device-nor-all"),
            )
        one = the_household(store, household)
        with store.writing() as connection:
            if device is None:
                count = sign_out_all(connection, one)
            else:
                sign_out(connection, one, device)
                count = 1
        say({"signed_out": count}, as_json, f"{count} signed out.")


def qr_code(address: str) -> str:
    """An address as a QR code (ISO/IEC 18004), in characters; light on dark as most terminals are."""
    import io

    import segno

    drawn = io.StringIO()
    segno.make(address, error="m").terminal(drawn, compact=True)
    return drawn.getvalue()


def _address(given: str) -> str:
    from urllib.parse import urlsplit

    parts = urlsplit(given)
    if parts.scheme not in ("http", "https") or not parts.hostname or parts.path not in ("", "/") or parts.query:
        raise BadInput(
            pointer="--at",
            value=given,
            problem=message("fault.no-service-address"),
        )
    return f"{parts.scheme}://{parts.netloc}"
