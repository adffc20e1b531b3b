"""What all tests share, examples in sources and docs included: a home and a pace of their own."""

import os
from pathlib import Path

import pytest
from hypothesis import HealthCheck, settings

pytest_plugins = ["tests.unchecked"]

settings.register_profile(
    "towscope",
    deadline=None,
    derandomize=True,
    print_blob=True,
    suppress_health_check=[HealthCheck.too_slow],
)
settings.load_profile("towscope")
os.environ.setdefault("MPLBACKEND", "Agg")


@pytest.fixture(autouse=True)
def own_home(tmp_path_factory: pytest.TempPathFactory, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Keep what the tests store away from the user's own folder."""
    home = tmp_path_factory.mktemp("home")
    monkeypatch.setenv("TOWSCOPE_HOME", str(home))
    monkeypatch.delenv("TOWSCOPE_UNITS", raising=False)
    return home
