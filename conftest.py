"""What all tests share, examples in sources and docs included: a home and a pace of their own.

What a run inherits from whoever started it is set to what the tests need: a run begun in the
background has interrupts ignored, and so would all that it starts.
"""

import os
import signal
import threading
from pathlib import Path

import pytest
from hypothesis import HealthCheck, settings
from hypothesis.internal.conjecture import providers

# What a user may have chosen for a terminal; the tests see the program as it is without.
OWN_CHOICES = ("TOWSCOPE_UNITS", "TOWSCOPE_ZONE", "COLUMNS", "FORCE_COLOR", "NO_COLOR")
pytest_plugins = ["tests.unchecked"]

settings.register_profile(
    "towscope",
    deadline=None,
    derandomize=True,
    print_blob=True,
    suppress_health_check=[HealthCheck.too_slow],
)
settings.load_profile("towscope")
# Hypothesis mixes in constants of all sources that happen to be loaded: the examples of a test
# would follow from what its neighbours on the same worker import.
assert hasattr(providers, "is_local_module_file"), "look up where Hypothesis collects constants now"
providers.is_local_module_file = lambda file: False
os.environ.setdefault("MPLBACKEND", "Agg")
if threading.current_thread() is threading.main_thread():
    if signal.getsignal(signal.SIGINT) is signal.SIG_IGN:
        signal.signal(signal.SIGINT, signal.default_int_handler)
    if hasattr(signal, "SIGHUP") and signal.getsignal(signal.SIGHUP) is signal.SIG_IGN:
        signal.signal(signal.SIGHUP, signal.SIG_DFL)


@pytest.fixture(autouse=True)
def own_home(tmp_path_factory: pytest.TempPathFactory, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Keep what the tests store away from the user's own folder."""
    home = tmp_path_factory.mktemp("home")
    monkeypatch.setenv("TOWSCOPE_HOME", str(home))
    for name in OWN_CHOICES:
        monkeypatch.delenv(name, raising=False)
    return home
