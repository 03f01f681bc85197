"""What every test needs: repeatable examples, and no setting of the person who runs them."""

import os

import pytest
from hypothesis import settings

settings.register_profile("cutday", deadline=None, derandomize="CI" in os.environ)
settings.load_profile("cutday")


@pytest.fixture(autouse=True, scope="session")
def _default_settings() -> None:
    """Tests meet the defaults, whatever the environment sets; `CUTDAY_TEST_...` speaks to the tests themselves."""
    for name in [name for name in os.environ if name.startswith("CUTDAY_") and not name.startswith("CUTDAY_TEST_")]:
        del os.environ[name]
