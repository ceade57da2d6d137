"""One figure of a benchmark: a ratio, its goal, and whether more or less is better."""

from dataclasses import dataclass


@dataclass(frozen=True)
class Figure:
    """A ratio measured in one run; ``at_most``: smaller is better."""

    name: str
    ratio: float
    goal: float
    at_most: bool = False
    detail: str = ""

    @property
    def ok(self) -> bool:
        """Whether the goal is reached."""
        return self.ratio <= self.goal if self.at_most else self.ratio >= self.goal

    def line(self) -> str:
        """Name, ratio, goal, ok or short."""
        sign = "<=" if self.at_most else ">="
        more = f"  ({self.detail})" if self.detail else ""
        return f"{self.name:44s} {self.ratio:8.3f}  {sign} {self.goal:g}  {'ok' if self.ok else 'short'}{more}"
