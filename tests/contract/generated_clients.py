"""Makes clients from the published document with tools that know nothing of this project, compiles them, and asks with one.

``python -m tests.contract.generated_clients [DOCUMENT]``: a TypeScript client (npm: openapi-typescript, compiled by tsc) and a
Python client (pip: openapi-python-client, in an environment of its own). Every good body of the README and of the examples
must be of the type that tsc knows for its operation, must pass through the Python client unchanged, and must be answered
2xx with a reply that the client reads. A body of the README is asked of the demo family, one of the examples of the
household of the examples, put back for each. Not part of ``.ci/run``: it fetches packages and takes minutes. Bodies
that fail are shown and do not stop those after them; it ends with 1 where one or a step failed, with the step's output.
"""

import json
import os
import re
import subprocess
import sys
import tempfile
import venv
from collections import Counter
from datetime import date
from pathlib import Path
from typing import Any, NamedTuple

from service.api.docs.examples import parts_of
from service.jobs.household.demo import keep_demo_household
from service.store.backup import restore_backup, write_backup
from service.store.migrate import open_store
from tests.contract.example_files import example_files, operations
from tests.contract.example_store import SECRET, example_file
from tests.served import ROOT, served

DOCUMENT = ROOT / "tests" / "contract" / "openapi.json"
KEPT_ON = date(2026, 11, 26)
"""The day up to which the demo family is kept; the README's bodies speak of others."""
SCHOOL_CHILD = "01900000-0000-7000-8000-000000000004"
"""The older of the demo's children, of school age as the README's."""
ASK = """
import importlib, json, pkgutil, sys
port, key, operation, model, given = sys.argv[1:]
given = json.loads(given)
package = next(p.name for p in pkgutil.iter_modules(["."]) if p.ispkg)
client = importlib.import_module(package).AuthenticatedClient(f"http://127.0.0.1:{port}", key, raise_on_unexpected_status=True)
api = next(
    importlib.import_module(found.name)
    for found in pkgutil.walk_packages(importlib.import_module(package + ".api").__path__, package + ".api.")
    if found.name.endswith("." + operation.replace("-", "_"))
)
# of a union the generator makes the single models alone: FHIR resources say which they are
models = [one for one in model.split("|") if one == given["body"].get("resourceType") or "|" not in model]
made = getattr(importlib.import_module(package + ".models"), models[0]).from_dict(given["body"])
assert made.to_dict() == given["body"], ("changed by the client", made.to_dict(), given["body"])
others = {
    name.lower().replace("-", "_"): value
    for place in ("path", "query", "headers")
    for name, value in given.get(place, {}).items()
}
answer = api.sync_detailed(client=client, body=made, **others)
assert 200 <= answer.status_code < 300, (answer.status_code, answer.content)
assert answer.parsed is not None, "the answer was not read"
print(int(answer.status_code))
"""


class Body(NamedTuple):
    """A body with the operation it is sent to, and where it is from. ``given``: with path, query and headers."""

    source: str
    operation: str
    given: dict[str, Any]


def bodies_of_examples(document: dict[str, Any]) -> list[Body]:
    """The good examples that have a body."""
    known = operations(document)
    return [
        Body(one.id(), one.operation, parts_of(one.request, bare=known[one.operation].bare))
        for one in example_files()
        if known[one.operation].media and not one.case.startswith("error-")
    ]


def bodies_of_readme(document: dict[str, Any]) -> list[Body]:
    """``lunch.json``, and what the family's first day sends; the shell's values are a child of the demo and a day."""
    text = (ROOT / "README.md").read_text("utf-8")
    lunch = json.loads(re.findall(r"```json\n(.*?)```", text, re.DOTALL)[0])
    found = [Body("README lunch.json", "check-lunch", {"body": lunch})]
    posts = {one.template: name for name, one in operations(document).items() if one.method == "POST"}
    for path, plain, quoted in re.findall(r"""ask (/v1/\S+) -d (?:'(.*?)'|"((?:\\.|[^"\\])*)")""", text, re.DOTALL):
        body = plain or re.sub(r"\\(.)", r"\1", quoted)
        body = body.replace("$CHILD", SCHOOL_CHILD).replace("$(date +%F)", "2026-10-27")
        found.append(Body(f"README {path}", posts[path], {"body": json.loads(body)}))
    return found


def step(name: str, *command: str, cwd: Path) -> None:
    """One step; its output only where it fails."""
    done = subprocess.run(command, cwd=cwd, capture_output=True, text=True, check=False)
    if done.returncode:
        sys.exit(f"{name} failed ({done.returncode})\n{done.stdout[-4000:]}\n{done.stderr[-4000:]}")
    print(f"{name}: ok", flush=True)


def typescript(folder: Path, document: Path, bodies: list[Body]) -> None:
    """Types of every path and schema, and every body assigned to its operation's type, compiled strictly."""
    known = operations(json.loads(document.read_bytes()))
    step("npm", "npm", "install", "--silent", "--no-fund", "openapi-typescript", "typescript@5", cwd=folder)
    step(
        "openapi-typescript",
        "npx",
        "openapi-typescript",
        str(document),
        "--default-non-nullable",
        "false",
        "-o",
        "client.ts",
        cwd=folder,
    )
    lines = [
        'import type { operations } from "./client";',
        'type Reply = operations["check-lunch"]["responses"]["200"]["content"]["application/json"];',
        "export const verdict = (reply: Reply) => reply.verdict;",
    ]
    for number, body in enumerate(bodies):
        asked = f'operations["{body.operation}"]["requestBody"]["content"]["{known[body.operation].media}"]'
        lines.append(f"// {body.source}\nexport const body{number}: {asked} = {json.dumps(body.given['body'])};")
    (folder / "use.ts").write_text("\n".join(lines), "utf-8")
    step(
        f"tsc, {len(bodies)} bodies",
        "npx", "tsc", "--strict", "--noEmit", "--skipLibCheck", "client.ts", "use.ts",
        cwd=folder,
    )  # fmt: skip


def python(folder: Path, document: Path, bodies: list[Body]) -> None:
    """A package, compiled, that sends the bodies to a running server and reads the answers."""
    venv.create(folder / "env", with_pip=True)
    run = str(folder / "env" / "bin" / "python")
    step("pip", run, "-m", "pip", "install", "--quiet", "openapi-python-client", cwd=folder)
    tool = str(folder / "env" / "bin" / "openapi-python-client")
    os.environ["PATH"] = f"{folder / 'env' / 'bin'}{os.pathsep}{os.environ['PATH']}"  # the generator formats with ruff
    step(
        "openapi-python-client", tool, "generate", "--fail-on-warning", "--path", str(document), "--output-path", "client",
        cwd=folder,
    )  # fmt: skip
    step("compile", run, "-m", "compileall", "-q", "client", cwd=folder)
    whole = json.loads(document.read_bytes())
    models = {
        operation["operationId"]: models_of(whole, next(iter(operation["requestBody"]["content"].values()))["schema"])
        for methods in whole["paths"].values()
        for operation in methods.values()
        if "requestBody" in operation
    }
    address = f"sqlite:///{folder / 'store.sqlite3'}"
    store = open_store(address)
    of_examples, of_the_demo = households(folder)
    answers: Counter[str] = Counter()
    with served(PACKED_LUNCH_DATABASE_URL=address) as server:
        for body in bodies:
            kept = of_the_demo if body.source.startswith("README") else of_examples
            restore_backup(store, kept.backup)
            told = [str(server.port), kept.key, body.operation, models[body.operation], json.dumps(body.given)]
            done = subprocess.run(
                [run, "-c", ASK, *told], cwd=folder / "client", capture_output=True, text=True, check=False
            )
            answers[done.stdout.strip() if done.returncode == 0 else "failed"] += 1
            if done.returncode:
                print(f"{body.source} failed\n{done.stdout[-4000:]}\n{done.stderr[-4000:]}", flush=True)
    store.close()
    print(f"{len(bodies)} bodies asked; answers: {dict(sorted(answers.items()))}")
    if answers["failed"]:
        sys.exit(1)


def models_of(document: dict[str, Any], schema: dict[str, Any]) -> str:
    """The name of a schema that is referred to; of a union those of its members, separated by ``|``."""
    name = schema["$ref"].split("/")[-1]
    members = document["components"]["schemas"][name].get("oneOf", [])
    return "|".join(one["$ref"].split("/")[-1] for one in members) or str(name)


class Kept(NamedTuple):
    """A household that bodies presuppose: its key, and the file that its store is brought back from."""

    key: str
    backup: Path


def households(folder: Path) -> tuple[Kept, Kept]:
    """The household of the examples, and the demo family."""
    examples = open_store(f"sqlite:///{example_file()}")
    demo = open_store(f"sqlite:///{folder / 'demo.sqlite3'}")
    found = Kept(SECRET, folder / "examples"), Kept(keep_demo_household(demo, KEPT_ON).key, folder / "demo")
    for store, kept in zip((examples, demo), found, strict=True):
        write_backup(store, kept.backup)
        store.close()
    return found


def main(path: Path) -> None:
    """Both clients."""
    os.environ.setdefault("NO_COLOR", "1")
    document = json.loads(path.read_bytes())
    bodies = bodies_of_readme(document) + bodies_of_examples(document)
    print(path, document["openapi"], len(bodies), "bodies")
    with tempfile.TemporaryDirectory() as folder:
        for name, make in (("typescript", typescript), ("python", python)):
            place = Path(folder) / name
            place.mkdir()
            make(place, path.resolve(), bodies)


if __name__ == "__main__":
    main(Path(sys.argv[1]) if len(sys.argv) > 1 else DOCUMENT)
