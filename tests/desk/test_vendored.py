"""What is not ours is as it was published, and its licence stands beside it."""

import hashlib
import tomllib
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]


@pytest.mark.parametrize("folder", ["service/web/static", "tests/browser/vendored"])
def test_files_are_as_published(folder: str) -> None:
    described = tomllib.loads((ROOT / folder / "vendored.toml").read_text(encoding="utf-8"))
    for one in described.values():
        assert hashlib.sha512((ROOT / folder / one["file"]).read_bytes()).hexdigest() == one["sha512"]
        assert (ROOT / folder / one["licence"].rpartition(": ")[2]).is_file()
