"""The command line as a program; ``python -m hydroloop`` where its own command is not on the path.
"""

import signal


def main() -> None:
    """Load the command line and run it; until it is loaded, Ctrl-C ends it without a word."""
    heard = signal.getsignal(signal.SIGINT)
    if heard is signal.default_int_handler:
        signal.signal(signal.SIGINT, signal.SIG_DFL)
    from hydroloop.cli.main import main as commands

    if heard is signal.default_int_handler:
        signal.signal(signal.SIGINT, heard)
    commands(prog_name="hydroloop")


if __name__ == "__main__":
    main()
