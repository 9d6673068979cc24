"""The profile of all property tests: the same few examples in every run, however slow the machine; and kernels compiled first."""

import gc

import pytest
from hypothesis import HealthCheck, settings

from fuelsys.analysis.sweeping.first import compile_all
from fuelsys.kernels.compiled import never_compiled

settings.register_profile(
    "ci", deadline=None, derandomize=True, max_examples=25, suppress_health_check=[HealthCheck.too_slow]
)
settings.load_profile("ci")
gc.set_threshold(200_000, 20, 20)  # as in the program (cli/main.py)


def pytest_configure(config: pytest.Config) -> None:
    """On a new installation compile once, before the workers start: else some test's command would tell of the wait."""
    if not hasattr(config, "workerinput") and never_compiled():
        compile_all()


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """The longest begin first, so that no worker waits at the end for the other's last."""
    items.sort(key=lambda item: item.path.name != "test_metamorphic.py")


def pytest_collection_finish() -> None:
    """What is loaded by now stays: nothing of it is looked through for litter again."""
    gc.collect()
    gc.freeze()
