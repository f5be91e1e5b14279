"""The command line as a program: ``python -m hydroloop`` where `hydroloop` is not on the path."""

import signal
import sys

if "xarray" not in sys.modules and not any(one.startswith("--scheduler") for one in sys.argv):
    # Nothing else needs Dask: where it is installed, xarray would take half a second to load it. A
    # worker that is a copy of a process with xarray has found it already, and may look for it.
    sys.modules.setdefault("dask", None)  # type: ignore[arg-type]


def main() -> None:
    """Load the command line and run it. Until it is loaded Ctrl-C ends it without a word; when its
    work is over it ends by itself."""
    heard = signal.getsignal(signal.SIGINT)
    if heard is signal.default_int_handler:
        signal.signal(signal.SIGINT, signal.SIG_DFL)
    from hydroloop.cli.main import main as commands

    if heard is signal.default_int_handler:
        signal.signal(signal.SIGINT, heard)
    try:
        commands(prog_name="hydroloop")
    finally:
        signal.signal(signal.SIGINT, signal.SIG_IGN)


if __name__ == "__main__":
    main()
