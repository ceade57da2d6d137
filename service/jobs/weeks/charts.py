"""Charts of a week as SVG for the printed page, drawn by matplotlib: patterns and words besides grey, never colour alone.

The same summary gives the same bytes: no date, no random ids.
"""

import io
import math
import re
from collections.abc import Sequence
from datetime import timedelta
from typing import Any, NamedTuple

from service.jobs.weeks.requests import monday_of, week_of

WIDTH_IN, HEIGHT_IN = 3.55, 1.2
ROW_IN = 0.13
FONT_POINTS = 6.5
WHITE_BEHIND = {"facecolor": "white", "edgecolor": "none", "pad": 0.4}
HATCHES = {"met": "", "short": "////", "over": "xxxx", "unknown": "...."}
GREYS = {"met": "0.75", "short": "0.95", "over": "0.85", "unknown": "1.0"}
WORDS = {"met": "kept", "short": "too little", "over": "too much", "unknown": "cannot tell"}
FURTHEST_PERCENT = 200.0
"""Where bars are cut off; the figure next to the bar tells the rest."""
MOST_BARS = 14


FLOOR, CEILING = "At least: a bar should reach the line", "At most: a bar should stay left of the line"


class Bar(NamedTuple):
    """One bar of the chart of targets: its finding, its length in percent of the bound, and what is written beside it."""

    row: dict[str, Any]
    percent: float
    words: str


def _figure(rows: Sequence[int]) -> tuple[Any, list[Any]]:
    """A figure with one chart above the other; ``rows``: how many rows each has room for."""
    import matplotlib as mpl
    from matplotlib.figure import Figure

    mpl.rcParams["svg.hashsalt"] = "week"
    mpl.rcParams["svg.fonttype"] = "none"
    mpl.rcParams["hatch.linewidth"] = 0.5
    mpl.rcParams["font.family"] = "sans-serif"
    mpl.rcParams["font.size"] = FONT_POINTS
    height = max(HEIGHT_IN, sum(0.35 + ROW_IN * one for one in rows))
    figure = Figure(figsize=(WIDTH_IN, height), layout="constrained")
    all_axes = figure.subplots(len(rows), 1, squeeze=False, height_ratios=[one + 1 for one in rows])[:, 0]
    for axes in all_axes:
        for side in ("top", "right"):
            axes.spines[side].set_visible(False)
    return figure, list(all_axes)


def _svg(figure: Any, name: str, title: str, told: str) -> str:
    """The figure as inline SVG with a name and a description for who cannot see it."""
    out = io.StringIO()
    figure.savefig(out, format="svg", metadata={"Date": None, "Creator": None, "Format": None, "Type": None})
    text = out.getvalue()
    text = text[text.index("<svg") :]
    text = re.sub(r"<metadata>.*?</metadata>", "", text, flags=re.DOTALL)
    text = re.sub(r'\bid="', f'id="{name}-', text)
    text = text.replace("url(#", f"url(#{name}-").replace('xlink:href="#', f'href="#{name}-')
    head = f'<svg role="img" aria-labelledby="{name}-title {name}-desc" '
    words = f'<title id="{name}-title">{_escaped(title)}</title><desc id="{name}-desc">{_escaped(told)}</desc>'
    first_end = text.index(">") + 1
    return head + text[len("<svg ") : first_end] + words + text[first_end:]


def _escaped(text: str) -> str:
    return text.replace("&", "&amp;").replace("<", "&lt;").replace(">", "&gt;").replace('"', "&quot;")


def targets_chart(reply: dict[str, Any]) -> str | None:
    """Week means and totals in percent of their bound: floors and ceilings apart, since a long bar is good for one and bad
    for the other; None where the standard has no such rows.
    """
    floors: list[Bar] = []
    ceilings: list[Bar] = []
    for one in reply["findings"]:
        if one["basis"] not in ("week_mean", "week_total") or not one["over_days"] or one["status"] not in HATCHES:
            continue
        # Too much is measured against the most, also where there is a least.
        against_most = not one["at_least"] or (one["status"] == "over" and one["at_most"])
        bound = one["at_most"] if against_most else one["at_least"]
        if bound:
            low, high = one["amount_low"], one["amount_high"]
            known = one["status"] != "unknown" or low == high
            share = 100 * (one["amount"] if known else low) / bound
            words = f"{share:.0f} %"
            if not known:
                words = f"≥ {words}" if high is None else f"{share:.0f} to {100 * high / bound:.0f} %"
            (ceilings if against_most else floors).append(Bar(one, share, f"{words} {WORDS[one['status']]}"))
    floors, ceilings = floors[:MOST_BARS], ceilings[:MOST_BARS]
    if not floors and not ceilings:
        return None
    panels = [(bars, words) for bars, words in ((floors, FLOOR), (ceilings, CEILING)) if bars]
    figure, all_axes = _figure([len(bars) for bars, _words in panels])
    for axes, (bars, words) in zip(all_axes, panels, strict=True):
        _draw_bars(axes, bars, words)
    told = "; ".join(
        f"{words}: " + ", ".join(f"{bar.row['label']} {bar.words}" for bar in bars) for bars, words in panels
    )
    return _svg(figure, "targets", "The week against its targets", told + ".")


def _draw_bars(axes: Any, bars: list["Bar"], title: str) -> None:
    for place, bar in enumerate(bars):
        length, status = min(bar.percent, FURTHEST_PERCENT), bar.row["status"]
        axes.barh(
            place, length, color=GREYS[status], edgecolor="black", linewidth=0.5, hatch=HATCHES[status], height=0.7
        )
        axes.text(length + 3, place, bar.words, va="center", bbox=WHITE_BEHIND)
    axes.axvline(100, color="black", linewidth=1, zorder=0)
    axes.set_title(title, fontsize=FONT_POINTS, loc="left")
    axes.set_yticks(range(len(bars)), [_short(bar.row["label"]) for bar in bars])
    axes.invert_yaxis()
    axes.set_xlim(0, FURTHEST_PERCENT + 75)
    axes.set_xticks([0, 50, 100, 150, 200])


def _short(label: str) -> str:
    label = label.split(" (", maxsplit=1)[0].removesuffix(" in the week")
    return label if len(label) <= 30 else label[:29] + "…"


def days_chart(reply: dict[str, Any]) -> str | None:
    """Energy of each day, with the range wanted for the mean; a day without figures is named, not drawn as nothing."""
    days = [day for day in reply["days"] if day["kind"] != "none"]
    if not any(day["counted"] for day in days):
        return None
    figure, (axes,) = _figure([1])
    told = []
    highest = max(day["totals"]["energy_kcal"]["low"] for day in days if day["counted"])
    for place, day in enumerate(days):
        if not day["counted"]:
            why = "not logged" if day["kind"] == "missing" else "no figures"
            axes.text(place, 0, f" {why}", rotation=90, ha="center", va="bottom")
            told.append(f"{day['weekday']}: {why}")
            continue
        energy = day["totals"]["energy_kcal"]
        least, known = "" if energy["complete"] else "≥ ", energy["low"]
        bought = day["kind"] == "bought"
        axes.bar(
            place,
            known,
            color="1.0" if bought else "0.75",
            edgecolor="black",
            linewidth=0.5,
            hatch="\\\\\\\\" if bought else "",
            width=0.7,
        )
        axes.text(place, known / 2, f"{least}{known:.0f}", ha="center", va="center", bbox=WHITE_BEHIND)
        told.append(f"{day['weekday']}: {least}{known:.0f} kcal, {day['kind']}")
    wanted = next((one for one in reply["findings"] if one["id"] == "energy" and one["basis"] == "week_mean"), None)
    if wanted is not None:
        for bound, words in ((wanted["at_least"], "least"), (wanted["at_most"], "most")):
            if bound is not None:
                axes.hlines(bound, -0.6, len(days) - 0.5, color="black", linewidth=0.8, linestyle="--", zorder=3)
                axes.text(len(days) - 0.45, bound, f"{words} {bound:.0f}", va="center", ha="left")
                highest = max(highest, bound)
    axes.set_xlim(-0.6, len(days) + 0.55)
    axes.set_ylim(0, highest * 1.18)
    axes.set_xticks(range(len(days)), [f"{day['weekday'][:3]}\n{day['kind']}" for day in days])
    axes.set_ylabel("kcal")
    return _svg(figure, "days", "Energy of each day's lunch", "; ".join(told) + ".")


def trend_chart(reply: dict[str, Any]) -> str | None:
    """How many rules were kept, not kept, or could not be decided, week by week; None for a single week."""
    weeks = [week for week in reply["trend"] if week["judged"] and week["counted_days"]]
    if len(weeks) < 2:
        return None
    from matplotlib.ticker import MaxNLocator

    figure, (axes,) = _figure([1])
    # A week without lunches has its place and no point, so that no line runs across it.
    first, last = (monday_of(week["week"]) for week in (weeks[0], weeks[-1]))
    every = [week_of(first + timedelta(weeks=place)) for place in range((last - first).days // 7 + 1)]
    known = {week["week"]: week for week in weeks}
    names = [week[5:] for week in every]
    lines = (("met", "kept", "-", "o"), ("not_met", "not kept", "--", "s"), ("unknown", "cannot tell", ":", "^"))
    for key, words, style, marker in lines:
        values = [known[week][key] if week in known else math.nan for week in every]
        axes.plot(range(len(every)), values, color="black", linestyle=style, marker=marker, markersize=3, linewidth=0.8)
        axes.text((len(every) - 1) + max(0.1, 0.025 * len(every)), values[-1], words, va="center")
    step = max(1, len(every) // 8)
    axes.set_xticks(range(0, len(every), step), names[::step])
    axes.set_xlim(-0.3, len(every) + max(0.5, len(every) * 0.25))
    axes.set_ylim(bottom=0)
    axes.yaxis.set_major_locator(MaxNLocator(4, integer=True))
    axes.set_ylabel("rules")
    told = "; ".join(
        f"{week['week']}: {week['met']} kept, {week['not_met']} not kept, {week['unknown']} not known" for week in weeks
    )
    return _svg(figure, "trend", "Rules kept, week by week", told + ".")
