"""Makes clients from the published document with tools that know nothing of this project, compiles them, and asks with one.

``python -m tests.contract.generated_clients [DOCUMENT]``: a TypeScript client (npm: openapi-typescript, compiled by tsc) and a
Python client (pip: openapi-python-client, in an environment of its own). Not part of ``.ci/run``: it fetches packages and
takes minutes. Ends with 1 where a step fails, and shows the step's output.
"""

import json
import os
import subprocess
import sys
import tempfile
import venv
from pathlib import Path

from tests.served import ROOT, served

DOCUMENT = ROOT / "tests" / "contract" / "openapi.json"
EXAMPLES = ROOT / "openapi_examples"
ASKED = (
    ("check-lunch", "check_lunch", "LunchCheckRequest"),
    ("screen-allergens", "screen_allergens", "ScreeningRequest"),
    ("sum-up-week", "sum_up_week", "WeekRequest"),
    ("audit-offer", "audit_offer", "OfferAuditRequest"),
)
"""Operation, the module that the generator makes of it, and the model of its body."""
ASK = """
import importlib, json, pathlib, pkgutil, sys
port, operation, module, model, folder = sys.argv[1:]
package = next(p.name for p in pkgutil.iter_modules(["."]) if p.ispkg)
client = importlib.import_module(package).Client(base_url=f"http://127.0.0.1:{port}", raise_on_unexpected_status=True)
api = next(
    importlib.import_module(found.name)
    for found in pkgutil.walk_packages(importlib.import_module(package + ".api").__path__, package + ".api.")
    if found.name.endswith("." + module)
)
body_of = getattr(importlib.import_module(package + ".models"), model)
asked = 0
for file in sorted(pathlib.Path(folder, operation).glob("*.request.json")):
    if file.name.startswith(("error-", "of-a-household")):
        continue
    body = json.loads(file.read_bytes())
    made = body_of.from_dict(body)
    answer = api.sync_detailed(client=client, body=made)
    if answer.status_code == 200:
        assert answer.parsed is not None, file
        asked += 1
    else:
        print(operation, file.name, int(answer.status_code))
print(operation, asked, "answers read")
assert asked
"""


def step(name: str, *command: str, cwd: Path) -> None:
    """One step; its output only where it fails."""
    done = subprocess.run(command, cwd=cwd, capture_output=True, text=True, check=False)
    if done.returncode:
        sys.exit(f"{name} failed ({done.returncode})\n{done.stdout[-4000:]}\n{done.stderr[-4000:]}")
    print(f"{name}: ok {done.stdout.strip()[-200:] if name.startswith('ask') else ''}", flush=True)


def typescript(folder: Path, document: Path) -> None:
    """Types of every path and schema, compiled strictly."""
    step("npm", "npm", "install", "--silent", "--no-fund", "openapi-typescript", "typescript@5", cwd=folder)
    step("openapi-typescript", "npx", "openapi-typescript", str(document), "-o", "client.ts", cwd=folder)
    (folder / "use.ts").write_text(
        'import type { operations } from "./client";\n'
        'type Asked = operations["check-lunch"]["requestBody"]["content"]["application/json"];\n'
        'type Told = operations["check-lunch"]["responses"]["200"]["content"]["application/json"];\n'
        "export const verdict = (told: Told) => told.verdict;\n"
        'export const standard = (asked: Asked) => ("standard" in asked ? asked.standard : null);\n'
    )
    step("tsc", "npx", "tsc", "--strict", "--noEmit", "--skipLibCheck", "client.ts", "use.ts", cwd=folder)


def python(folder: Path, document: Path) -> None:
    """A package, compiled, that sends the examples to a running server and reads the answers."""
    venv.create(folder / "env", with_pip=True)
    run = str(folder / "env" / "bin" / "python")
    step("pip", run, "-m", "pip", "install", "--quiet", "openapi-python-client", cwd=folder)
    tool = str(folder / "env" / "bin" / "openapi-python-client")
    step("openapi-python-client", tool, "generate", "--path", str(document), "--output-path", "client", cwd=folder)
    step("compile", run, "-m", "compileall", "-q", "client", cwd=folder)
    with served() as server:
        for operation, module, model in ASKED:
            step(
                f"ask {operation}", run, "-c", ASK, str(server.port), operation, module, model, str(EXAMPLES),
                cwd=folder / "client",
            )  # fmt: skip


def main(document: Path) -> None:
    """Both clients."""
    os.environ.setdefault("NO_COLOR", "1")
    print(document, json.loads(document.read_bytes())["openapi"])
    with tempfile.TemporaryDirectory() as folder:
        for name, make in (("typescript", typescript), ("python", python)):
            place = Path(folder) / name
            place.mkdir()
            make(place, document.resolve())


if __name__ == "__main__":
    main(Path(sys.argv[1]) if len(sys.argv) > 1 else DOCUMENT)
