"""Reads pages as a browser without script does: forms with their fields, links, text."""

from dataclasses import dataclass, field
from html.parser import HTMLParser
from typing import Any


@dataclass
class ReadForm:
    """A form: where it goes, how, its fields (name, value) as they are sent if nothing is touched, and its buttons."""

    action: str
    method: str
    fields: list[tuple[str, str]] = field(default_factory=list)
    buttons: list[tuple[str, str, str, bool]] = field(default_factory=list)
    """Name, value, text, and whether it can be pressed."""

    def data(self, button: str = "", **typed: Any) -> dict[str, list[str]]:
        """What is sent with some fields typed into, and a button pressed by its text."""
        sent: dict[str, list[str]] = {}
        for name, value in self.fields:
            sent.setdefault(name, []).append(value)
        for name, value in typed.items():
            sent[name] = list(value) if isinstance(value, list | tuple) else [str(value)]
        for name, value, text, _on in self.buttons:
            if button and button in text and name:
                sent.setdefault(name, []).append(value)
                break
        return sent


class Page(HTMLParser):
    """A page: its text, its title, its forms, its links."""

    def __init__(self, html: str) -> None:
        super().__init__()
        self.html = html
        self.words: list[str] = []
        self.forms: list[ReadForm] = []
        self.links: list[tuple[str, str]] = []
        self.images: list[dict[str, str | None]] = []
        self._in: list[str] = []
        self._open: dict[str, Any] = {}
        self.feed(html)

    @property
    def text(self) -> str:
        """All text, spaces narrowed."""
        return " ".join(" ".join(self.words).split())

    def form(self, action: str) -> ReadForm:
        """The first form that goes to an address that begins so."""
        return next(one for one in self.forms if one.action.startswith(action))

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        """Notes what opens."""
        found = dict(attrs)
        if tag == "form":
            self.forms.append(ReadForm(found.get("action") or "", (found.get("method") or "get").lower()))
            self._open["form"] = self.forms[-1]
        form: ReadForm | None = self._open.get("form")
        if tag == "input" and form is not None and found.get("name"):
            kind = found.get("type") or "text"
            if kind not in ("checkbox", "radio", "file", "submit") or "checked" in found:
                form.fields.append((str(found["name"]), found.get("value") or ""))
        if tag == "textarea" and form is not None:
            self._open["textarea"] = (str(found.get("name")), [])
        if tag == "select" and form is not None:
            self._open["select"] = [str(found.get("name")), None]
        if tag == "option" and "select" in self._open:
            select = self._open["select"]
            if "selected" in found or select[1] is None:
                select[1] = found.get("value") or ""
        if tag == "button":
            self._open["button"] = [found.get("name") or "", found.get("value") or "", [], "disabled" not in found]
        if tag == "a":
            self._open["a"] = [found.get("href") or "", []]
        if tag == "img":
            self.images.append(found)
        self._in.append(tag)

    def handle_endtag(self, tag: str) -> None:
        """Notes what closes."""
        form: ReadForm | None = self._open.get("form")
        if tag == "textarea" and "textarea" in self._open and form is not None:
            name, parts = self._open.pop("textarea")
            form.fields.append((name, "".join(parts)))
        if tag == "select" and "select" in self._open and form is not None:
            name, value = self._open.pop("select")
            form.fields.append((name, value or ""))
        if tag == "button" and "button" in self._open:
            name, value, parts, on = self._open.pop("button")
            if form is not None:
                form.buttons.append((name, value, " ".join("".join(parts).split()), on))
        if tag == "a" and "a" in self._open:
            address, parts = self._open.pop("a")
            self.links.append((address, " ".join("".join(parts).split())))
        if tag == "form":
            self._open.pop("form", None)

    def handle_data(self, data: str) -> None:
        """Notes text."""
        self.words.append(data)
        for name in ("button", "a"):
            if name in self._open:
                self._open[name][2 if name == "button" else 1].append(data)
        if "textarea" in self._open:
            self._open["textarea"][1].append(data)
