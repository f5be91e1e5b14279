"""The page of commands, taken from what `--help` prints."""

from __future__ import annotations

import click

from hydroloop.cli.main import main

_HEAD = """# Commands

What `hydroloop --help` and `hydroloop COMMAND --help` print. Results go to standard output,
progress and messages to standard error. A command ends with 0, or with 2 and one clear message
when what it was given is wrong; it writes a file whole or not at all and replaces none without
`--force`.
"""


def page() -> str:
    """The page, written from the commands themselves."""
    top = click.Context(main, info_name="hydroloop", **main.context_settings)
    parts = [_HEAD, _help(main, top)]
    for name in main.list_commands(top):
        command = main.get_command(top, name)
        if command is None or command.hidden:
            continue
        inner = click.Context(command, info_name=name, parent=top, **command.context_settings)
        parts.append(f"## {name}\n\n{_help(command, inner)}")
    return "\n".join(parts)


def _help(command: click.Command, context: click.Context) -> str:
    context.max_content_width = 88
    return f"```text\n{command.get_help(context)}\n```\n"
