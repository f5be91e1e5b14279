"""``python -m hydroloop``: the command line, where its own command is not on the path."""

from hydroloop.cli.main import main

main(prog_name="hydroloop")
