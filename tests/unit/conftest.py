"""One made-up run for every test that only reads it."""

import pytest
from run_factory import fake_run

from heatwright.run import Run


@pytest.fixture(scope="session")
def made_up_run() -> Run:
    return fake_run()


@pytest.fixture(scope="session")
def short_run() -> Run:
    """The same kind of run, 20 min long."""
    return fake_run(hours=1 / 3)
