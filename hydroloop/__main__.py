"""The command line as a program: ``python -m hydroloop`` where `hydroloop` is not on the path."""

import signal


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
