"""Charts of a week as SVG for the printed page, drawn by matplotlib: patterns and words besides grey, never colour alone.

The same summary gives the same bytes: no date, no random ids.
"""

import io
import re
from typing import Any

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


def _figure(rows: int) -> Any:
    import matplotlib as mpl
    from matplotlib.figure import Figure

    mpl.rcParams["svg.hashsalt"] = "week"
    mpl.rcParams["svg.fonttype"] = "none"
    mpl.rcParams["hatch.linewidth"] = 0.5
    mpl.rcParams["font.family"] = "sans-serif"
    mpl.rcParams["font.size"] = FONT_POINTS
    figure = Figure(figsize=(WIDTH_IN, max(HEIGHT_IN, 0.35 + ROW_IN * rows)), layout="constrained")
    axes = figure.add_subplot()
    for side in ("top", "right"):
        axes.spines[side].set_visible(False)
    return figure, axes


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
    """Week means and totals in percent of their bound, one bar each; None where the standard has no such rows."""
    rows = []
    for one in reply["findings"]:
        bound = one["at_least"] or one["at_most"]
        if one["basis"] in ("week_mean", "week_total") and bound and one["over_days"] and one["status"] in HATCHES:
            rows.append((one, 100 * one["amount"] / bound))
    rows = rows[:MOST_BARS]
    if not rows:
        return None
    figure, axes = _figure(len(rows))
    for place, (one, percent) in enumerate(rows):
        length = min(percent, FURTHEST_PERCENT)
        status = one["status"]
        axes.barh(
            place, length, color=GREYS[status], edgecolor="black", linewidth=0.5, hatch=HATCHES[status], height=0.7
        )
        words = f"{percent:.0f} % {WORDS[status]}"
        axes.text(length + 3, place, words, va="center", bbox=WHITE_BEHIND)
    axes.axvline(100, color="black", linewidth=1, zorder=0)
    axes.set_yticks(range(len(rows)), [_short(one["label"]) for one, _percent in rows])
    axes.invert_yaxis()
    axes.set_xlim(0, FURTHEST_PERCENT + 75)
    axes.set_xticks([0, 50, 100, 150, 200])
    axes.set_xlabel("percent of the bound wanted")
    told = "; ".join(f"{one['label']} {percent:.0f} % ({WORDS[one['status']]})" for one, percent in rows)
    return _svg(figure, "targets", "The week against its targets", told + ".")


def _short(label: str) -> str:
    label = label.split(" (", maxsplit=1)[0].removesuffix(" in the week")
    return label if len(label) <= 30 else label[:29] + "…"


def days_chart(reply: dict[str, Any]) -> str | None:
    """Energy of each day, with the range wanted for the mean; a day without figures is named, not drawn as nothing."""
    days = [day for day in reply["days"] if day["kind"] != "none"]
    if not any(day["counted"] for day in days):
        return None
    figure, axes = _figure(1)
    told = []
    highest = max(day["totals"]["energy_kcal"]["amount"] for day in days if day["counted"])
    for place, day in enumerate(days):
        if not day["counted"]:
            why = "not logged" if day["kind"] == "missing" else "no figures"
            axes.text(place, 0, f" {why}", rotation=90, ha="center", va="bottom")
            told.append(f"{day['weekday']}: {why}")
            continue
        energy = day["totals"]["energy_kcal"]
        least = "" if energy["complete"] else "≥ "
        bought = day["kind"] == "bought"
        axes.bar(
            place,
            energy["amount"],
            color="1.0" if bought else "0.75",
            edgecolor="black",
            linewidth=0.5,
            hatch="\\\\\\\\" if bought else "",
            width=0.7,
        )
        axes.text(
            place, energy["amount"] / 2, f"{least}{energy['amount']:.0f}", ha="center", va="center", bbox=WHITE_BEHIND
        )
        told.append(f"{day['weekday']}: {least}{energy['amount']:.0f} kcal, {day['kind']}")
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
    weeks = [week for week in reply["trend"] if week["judged"]]
    if len(weeks) < 2:
        return None
    from matplotlib.ticker import MaxNLocator

    figure, axes = _figure(1)
    names = [week["week"][5:] for week in weeks]
    lines = (("met", "kept", "-", "o"), ("not_met", "not kept", "--", "s"), ("unknown", "cannot tell", ":", "^"))
    for key, words, style, marker in lines:
        values = [week[key] for week in weeks]
        axes.plot(range(len(weeks)), values, color="black", linestyle=style, marker=marker, markersize=3, linewidth=0.8)
        axes.text((len(weeks) - 1) + max(0.1, 0.025 * len(weeks)), values[-1], words, va="center")
    step = max(1, len(weeks) // 8)
    axes.set_xticks(range(0, len(weeks), step), names[::step])
    axes.set_xlim(-0.3, len(weeks) + max(0.5, len(weeks) * 0.25))
    axes.set_ylim(bottom=0)
    axes.yaxis.set_major_locator(MaxNLocator(4, integer=True))
    axes.set_ylabel("rules")
    told = "; ".join(
        f"{week['week']}: {week['met']} kept, {week['not_met']} not kept, {week['unknown']} not known" for week in weeks
    )
    return _svg(figure, "trend", "Rules kept, week by week", told + ".")
