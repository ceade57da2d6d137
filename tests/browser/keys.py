"""A person with a keyboard alone: Tab to what is wanted, then Enter, Space or arrows, as a browser has it."""

import time
from dataclasses import dataclass

from playwright.sync_api import Locator, Page, expect

from tests.served import GENEROUS

MOST_STEPS = 250
HAS_FOCUS = "one => one === document.activeElement"
IS_SEEN = """
one => {
  const box = one.getBoundingClientRect();
  const tall = Math.min(box.height, innerHeight);
  return [0.1, 0.5, 0.9].some((part) => {
    const top = document.elementFromPoint(box.left + box.width / 2, box.top + tall * part);
    return !!top && (one.contains(top) || top.contains(one) || !!top.closest("label")?.contains(one));
  });
}
"""
"""Not entirely hidden, as WCAG 2.2 wants it (2.4.11, minimum): a part of it may be out of the window."""
OF_FOCUS = f"""
  // Where it is within a part that the browser made itself, such as the button of a date, the browser marks it.
  if (!document.hasFocus() || one === document.body) return null;
  const seen = ({IS_SEEN})(one);
  const style = getComputedStyle(one);
  const marked = !one.matches(":focus") || (style.outlineStyle !== "none" && parseFloat(style.outlineWidth) >= 2);
  return {{ seen, marked, what: one.outerHTML.slice(0, 160) }};
"""


@dataclass
class Keys:
    """The keys of a page; what has the focus must be in sight and not behind anything (WCAG 2.2, 2.4.11)."""

    page: Page

    def to(self, wanted: Locator) -> None:
        """Tab from where the focus is until the one that is wanted has it."""
        expect(wanted).to_have_count(1)
        for _step in range(MOST_STEPS):
            if wanted.evaluate(HAS_FOCUS):
                until = time.monotonic() + GENEROUS  # what follows an earlier key may just be put in its place
                while not wanted.evaluate(IS_SEEN):
                    assert time.monotonic() < until, f"focused, but hidden: {wanted}"
                return
            self.page.keyboard.press("Tab")
        raise AssertionError(f"not reached by Tab: {wanted}")

    def step(self) -> bool:
        """Tab once; whether something of the page has the focus then. It must be in sight, and be seen to have the focus."""
        self.page.keyboard.press("Tab")
        found = self.page.evaluate(f"(() => {{ const one = document.activeElement; {OF_FOCUS} }})()")
        if found is None:
            return False
        assert found["seen"], f"focused, but hidden: {found['what']}"
        assert found["marked"], f"focused, but looks like all others: {found['what']}"
        return True

    def press(self, wanted: Locator, key: str = "Enter") -> None:
        """Tab to a button, link or box and press it."""
        self.to(wanted)
        self.page.keyboard.press(key)

    def button(self, name: str) -> None:
        """Press the only button of a name."""
        self.press(self.page.get_by_role("button", name=name, exact=True))

    def link(self, name: str) -> None:
        """Follow the only link of a name."""
        self.press(self.page.get_by_role("link", name=name, exact=True))

    def type(self, label: str, text: str) -> None:
        """Type into a field, in the place of what stands there."""
        field = self.page.get_by_label(label, exact=True)
        self.to(field)
        self.page.keyboard.press("Control+A")
        self.page.keyboard.type(text)

    def choose(self, wanted: Locator, first: str) -> None:
        """Choose from a list by the first letters of its words."""
        self.to(wanted)
        self.page.keyboard.type(first)
