"""Builds the wheel, installs it alone into an empty environment, and runs the demo from another folder.

``python -m tests.install_check``; part of ``.ci/run``, not of the test command, since it fetches packages.
"""

import subprocess
import sys
import tempfile
import venv
from pathlib import Path

ROOT = Path(__file__).resolve().parents[1]


def run(*command: str, cwd: Path, codes: tuple[int, ...] = (0,)) -> str:
    """Run a command and return what it prints; stop with its output if it ends with another code."""
    done = subprocess.run(command, cwd=cwd, capture_output=True, text=True, check=False)
    if done.returncode not in codes:
        sys.exit(f"{' '.join(command)} ended with {done.returncode}\n{done.stdout}\n{done.stderr}")
    return done.stdout


def main() -> None:
    """Build, install, run."""
    with tempfile.TemporaryDirectory() as folder:
        place = Path(folder)
        run(sys.executable, "-m", "pip", "wheel", "--quiet", "--no-deps", "-w", str(place), str(ROOT), cwd=place)
        wheel = next(place.glob("*.whl"))
        venv.create(place / "env", with_pip=True)
        python = str(place / "env" / "bin" / "python")
        run(python, "-m", "pip", "install", "--quiet", str(wheel), cwd=place)
        told = run(python, "-m", "service", "demo", cwd=place, codes=(0, 1))
        if "Do not pack" not in told:
            sys.exit(f"the installed demo does not say what it should:\n{told}")
        print("installed wheel: demo runs")


if __name__ == "__main__":
    main()
