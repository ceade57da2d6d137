"""The list in reference_data/README.md of what is from memory or second hand, against the files."""

import re

from service.reference.files import data_path

STATUS = re.compile(r'^\s*status = "(memory|second_hand)"$', re.MULTILINE)
ROW = re.compile(r"^\| (`[^|]*) \| (\d+) \| (\d+) \|", re.MULTILINE)


def counted() -> dict[str, tuple[int, int]]:
    """File -> rows from memory and second-hand ones."""
    root = data_path("")
    found = {}
    for path in root.rglob("*.toml"):
        statuses = STATUS.findall(path.read_text("utf-8"))
        if statuses:
            found[path.relative_to(root).as_posix()] = (statuses.count("memory"), statuses.count("second_hand"))
    return found


def test_every_file_is_listed_with_its_rows() -> None:
    files = counted()
    listed = set()
    for names, memory, second_hand in ROW.findall(data_path("README.md").read_text("utf-8")):
        paths = re.findall(r"`([^`]+)`", names)
        folder = paths[0].rpartition("/")[0]
        paths = [one if one in files else f"{folder}/{one}" for one in paths]
        listed.update(paths)
        assert (int(memory), int(second_hand)) == tuple(map(sum, zip(*(files[one] for one in paths), strict=True))), (
            names
        )
    assert listed == set(files)
