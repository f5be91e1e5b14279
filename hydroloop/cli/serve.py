"""``hydroloop serve``: the page live, for a class on one network."""

from __future__ import annotations

from pathlib import Path

import click

from hydroloop.cli import options
from hydroloop.cli.progress import announce_compiling


@click.command(name="serve")
@click.argument("folder", required=False, metavar="[FOLDER]")
@click.option(
    "--host",
    default="127.0.0.1",
    show_default=True,
    metavar="ADDRESS",
    help="Address to listen at; 0.0.0.0 lets others on your network in.",
)
@click.option(
    "--port",
    type=click.IntRange(0, 65535),
    default=8017,
    show_default=True,
    help="Port to listen at; 0 takes one that is free.",
)
@click.option(
    "--processes",
    type=options.WholeNumber(1, 2),
    default=2,
    show_default=True,
    help="How many runs at once.",
)
@click.option(
    "--longest",
    type=click.FloatRange(0.1, 600.0),
    default=30.0,
    show_default=True,
    metavar="SECONDS",
    help="A run that takes longer is stopped.",
)
def command(folder: str | None, host: str, port: int, processes: int, longest: float) -> None:
    """The page from this computer, for a class: every setting of the dials is run when asked for.

    FOLDER holds scenario files; by default those that come with hydroloop. Only this folder is
    read. Only this computer is answered, unless --host says otherwise. Nothing is kept about those
    who ask. Ctrl-C ends it.
    """
    from hydroloop.errors import AskError, Problem
    from hydroloop.scenario.bundled import bundled_folder
    from hydroloop.web.served import scenarios_in
    from hydroloop.web.serving import addresses, serve

    place = Path(folder) if folder else bundled_folder()
    if not place.is_dir():
        raise AskError(
            Problem(
                "FOLDER",
                f'there is no folder "{place}".',
                "Name a folder that holds scenario files.",
            )
        )
    count = len(scenarios_in(place))
    if not count:
        raise AskError(
            Problem(
                "FOLDER",
                f'there is no scenario in "{place}".',
                "Put a scenario file (.toml) into it, or name another folder.",
            )
        )
    announce_compiling()
    click.echo("Getting ready ...", err=True)

    def begun(port: int) -> None:
        click.echo(_begun_words(addresses(host)[0], host, port, place, count))

    serve(place, (host, port), processes=processes, seconds=longest, begun=begun)
    click.echo("Stopped.", err=True)


def _begun_words(address: str, host: str, port: int, place: Path, count: int) -> str:
    """What a server tells when it listens."""
    import ipaddress

    name = f"[{address}]" if ":" in address else address
    url = f"http://{name}:{port}/"
    lines = [
        f"The page is at {url}",
        f"{count} scenario{'s' if count > 1 else ''} of {place}. Ctrl-C ends it.",
    ]
    if ipaddress.ip_address(host).is_loopback:
        return "\n".join([*lines, "Only this computer is answered; --host 0.0.0.0 lets others in."])
    import io

    import segno

    drawn = io.StringIO()
    segno.make(url).terminal(out=drawn, compact=True)
    return "\n".join(
        [
            *lines,
            "",
            drawn.getvalue(),
            "Everybody on this network can read the scenarios of this folder, and run "
            "them; nothing else of this computer. It is not encrypted: use it on a "
            "network that you trust.",
        ]
    )
