"""Writes every reply in openapi_examples anew, as the application answers now: ``python -m tests.contract.write_examples``.

Read the difference before you keep it: a reply that changed without a reason in CHANGELOG is a fault.
"""

import orjson

from tests.contract.example_files import as_written, asked, example_client, example_files, operations


def main() -> None:
    """Ask and write."""
    service = example_client()
    known = operations(service.get("/openapi.json").json())
    for example in example_files():
        told = as_written(*asked(service, known, example))
        written = orjson.dumps(told, option=orjson.OPT_INDENT_2 | orjson.OPT_APPEND_NEWLINE)
        if not example.reply_file.exists() or example.reply_file.read_bytes() != written:
            example.reply_file.write_bytes(written)
            print(f"wrote {example.id()}")


if __name__ == "__main__":
    main()
