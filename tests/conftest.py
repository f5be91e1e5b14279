"""What all tests start from: interrupts are heard, the random cases are the same each time, and
tests that share a fixture run in one worker."""

import os
import signal

import pytest
from hypothesis import HealthCheck, settings

# A shell that starts the suite in the background, or with nohup, has these ignored, and so would
# have every process that a test begins: tests that interrupt a run could not pass.
for name in ("SIGINT", "SIGHUP"):
    number = getattr(signal, name, None)
    if number is not None and signal.getsignal(number) is signal.SIG_IGN:
        signal.signal(number, signal.default_int_handler if name == "SIGINT" else signal.SIG_DFL)

# The same commit gives the same answer, on a busy machine too: no case fails for taking long. New
# cases are looked for with HYDROLOOP_LONG_FUZZ=1.
settings.register_profile(
    "same_cases",
    derandomize=True,
    database=None,
    deadline=None,
    suppress_health_check=[HealthCheck.too_slow],
)
if not os.environ.get("HYDROLOOP_LONG_FUZZ"):
    settings.load_profile("same_cases")


def pytest_configure(config):
    """Where no machine code is kept yet, not every worker makes all of it."""
    if hasattr(config, "workerinput"):
        from one_compiler import compile_one_at_a_time

        compile_one_at_a_time()


@pytest.hookimpl(optionalhook=True)
def pytest_xdist_auto_num_workers(config):
    """One worker more than cores: many tests wait, for a server, a browser or a process to end."""
    asked = "PYTEST_XDIST_AUTO_NUM_WORKERS" in os.environ
    return None if asked else (os.cpu_count() or 1) + 1


@pytest.hookimpl(optionalhook=True)
def pytest_xdist_make_scheduler(config, log):
    """A file is one worker's, as what it makes once is then made once; the files with the most
    tests come first, so that the last ones are short and the workers end together."""
    from xdist.scheduler import LoadFileScheduling

    return LoadFileScheduling(config, log)
