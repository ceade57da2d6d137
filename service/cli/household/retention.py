"""Commands on what is removed for its age: purge, and removed, which lists it and puts it back."""

from typing import TYPE_CHECKING, Annotated, Any

import typer

from service.cli.household.care import WhichHousehold, opened_store
from service.cli.terminal.faults import report_faults
from service.cli.terminal.printing import AsJson, counted, say

if TYPE_CHECKING:
    from collections.abc import Mapping

    from service.jobs.household.retention.purging import Purged

KINDS = {
    "lunches": ("lunch", "lunches"),
    "school_days": ("school day", "school days"),
    "stock": ("used-up entry of the stock", "used-up entries of the stock"),
    "stock_events": ("event of the stock", "events of the stock"),
}
"""What one and several records of a kind are called in a sentence."""


def install_retention(app: typer.Typer) -> None:
    """Add these commands to the command line."""
    app.command("purge")(purge_now)
    app.command("removed")(removed)


def purge_now(
    date_is_right: Annotated[
        bool,
        typer.Option(
            "--date-is-right",
            help="Say that you have checked this computer's date and that it is right: what it says is too old is then removed.",
        ),
    ] = False,
    as_json: AsJson = False,
) -> None:
    """Remove lunches, school days and used-up stock that are older than their household keeps them. The server does so too
    whenever it starts.

    What is removed can be put back for 30 days, with 'packed-lunch removed'. Where the computer's date looks wrong, nothing is
    removed until you say that it is right.
    """
    from service.jobs.household.access.households import today
    from service.jobs.household.retention.purging import purge

    with report_faults(as_json), opened_store() as store:
        done = purge(store, today(), sure=date_is_right)
        told = [line for one in done for line in purged_in_words(one)]
        reply = {"households": [_purged(one) for one in done]}
        say(reply, as_json, *(told or ["There is no household."]), code=int(any(one.held for one in done)))


def removed(
    put_back: Annotated[bool, typer.Option("--put-back", help="Put all of it back where it was.")] = False,
    household: WhichHousehold = None,
    as_json: AsJson = False,
) -> None:
    """List what was removed for its age and can still be put back; with --put-back, do so."""
    from service.jobs.household.access.households import today
    from service.jobs.household.retention.removed import months_kept, put_removed_back, removed_shown
    from service.jobs.household.transfer.export_household import the_household

    with report_faults(as_json), opened_store() as store:
        one = the_household(store, household)
        if put_back:
            done = put_removed_back(store, one, today())
            with store.reading() as connection:
                months = months_kept(connection, one)
            told = [f"Put back: {counted(row['count'], *KINDS[row['kind']])}.{_in_place(row)}" for row in done]
            told += [
                f"What is older than {months} months is removed again at the next start. To keep it, give more months with "
                "'packed-lunch household edit --retention-months'."
            ]
            say(
                {"household": str(one), "put_back": done},
                as_json,
                *(told if done else ["There is nothing to put back."]),
            )
            return
        with store.reading() as connection:
            rows = removed_shown(connection, one)
        told = [
            f"{counted(row['count'], *KINDS[row['kind']])} from {row['first_day']} to {row['last_day']}, removed since {row['removed_on']}"
            for row in rows
        ]
        told.append(
            "Put them back with 'packed-lunch removed --put-back'." if rows else "There is nothing to put back."
        )
        say({"household": str(one), "removed": rows}, as_json, *told)


def purged_in_words(one: "Purged") -> list[str]:
    """What a purge did for a household, a line each."""
    lines = [f"Removed: {_counted(one.removed)} before {one.first_day_kept} (household {one.household})."]
    if any(one.removed.values()):
        lines.append("They can be put back for 30 days, with 'packed-lunch removed --put-back'.")
    if one.held is not None:
        lines += [
            f"Not removed: {_counted(one.held.counts)} before {one.held.first_day_kept}. This computer says that today is "
            f"{one.held.today}, and before that the household was last used on {one.held.believed}.",
            "Check the computer's date. If it is wrong, set it right; nothing was lost. If it is right, run "
            "'packed-lunch purge --date-is-right'.",
        ]
    return lines


def _counted(counts: "Mapping[str, int]") -> str:
    some = [counted(count, *KINDS[kind]) for kind, count in counts.items() if count or kind == "lunches"]
    return ", ".join(some)


def _in_place(row: "Mapping[str, Any]") -> str:
    return f" Not put back: {row['in_place']:,}, as there are newer ones in their place." if row["in_place"] else ""


def _purged(one: "Purged") -> dict[str, Any]:
    held = None
    if one.held is not None:
        held = {
            "today": one.held.today.isoformat(),
            "believed": one.held.believed.isoformat(),
            "first_day_kept": one.held.first_day_kept.isoformat(),
            **one.held.counts,
        }
    return {
        "household": str(one.household),
        "first_day_kept": one.first_day_kept.isoformat(),
        "removed": one.removed.get("lunches", 0),
        "removed_by_kind": one.removed,
        "gone_for_good": one.dropped,
        "held_back": held,
    }
