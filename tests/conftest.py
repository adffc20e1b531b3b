"""What the tests share: a home of their own, a fixed pace for generated examples."""

import os
from pathlib import Path

import pytest
from hypothesis import HealthCheck, settings

settings.register_profile(
    "towscope",
    deadline=None,
    derandomize=True,
    print_blob=True,
    suppress_health_check=[HealthCheck.too_slow],
)
settings.load_profile("towscope")


@pytest.fixture(autouse=True)
def own_home(tmp_path_factory: pytest.TempPathFactory, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Keep what the tests store away from the user's own folder."""
    home = tmp_path_factory.mktemp("home")
    monkeypatch.setenv("TOWSCOPE_HOME", str(home))
    monkeypatch.delenv("TOWSCOPE_UNITS", raising=False)
    return home


os.environ.setdefault("MPLBACKEND", "Agg")
