"""What was found and counted, by all threads together."""

import threading
import time
from collections import Counter
from dataclasses import dataclass, field


@dataclass
class Finding:
    """The first of its kind, with enough to repeat it, and how many there were."""

    kind: str
    first: str
    count: int = 1


@dataclass
class Notes:
    """Counts and findings of a run. ``fault``: what is being done to the service just now."""

    fault: str = "nothing"
    counts: Counter[str] = field(default_factory=Counter)
    findings: dict[str, Finding] = field(default_factory=dict)
    longest_s: float = 0.0
    starts_s: list[float] = field(default_factory=list)
    begun: float = field(default_factory=time.monotonic)
    _lock: threading.Lock = field(default_factory=threading.Lock)

    def count(self, what: str, more: int = 1) -> None:
        """Count something."""
        with self._lock:
            self.counts[what] += more

    def found(self, kind: str, told: str) -> None:
        """Note a fault of the service (or of this script); the first of a kind is printed at once."""
        with self._lock:
            if kind in self.findings:
                self.findings[kind].count += 1
                return
            one = Finding(kind, f"at {time.monotonic() - self.begun:.1f} s, during: {self.fault}\n{told}")
            self.findings[kind] = one
        print(f"FOUND: {one.kind}, {one.first}", flush=True)

    def started(self, seconds: float) -> None:
        """Remember how long a server took from its start to its first answer."""
        with self._lock:
            self.starts_s.append(seconds)

    def waited(self, seconds: float) -> None:
        """Remember the longest wait for an answer."""
        with self._lock:
            self.longest_s = max(self.longest_s, seconds)
