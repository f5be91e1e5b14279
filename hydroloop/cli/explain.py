"""``hydroloop explain``: what a key, a measure or a word means."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from hydroloop.cli import options
from hydroloop.cli.showing import show

if TYPE_CHECKING:
    from hydroloop.units.printing import System


@click.command(name="explain")
@click.argument("key", required=False)
@options.units
@options.as_json
def command(key: str | None, units: System, as_json: bool) -> None:
    """What a key of the scenario file, or a word of an answer, means.

    KEY may be the whole key (town.larkmill.mains.real_losses) or its last words (real_losses), or
    what a table prints ("used share"). Without KEY, all keys are listed; terms in place of KEY
    lists measures and words, plan tells what a file for --plan may hold.
    """
    from hydroloop.outputs.scenario.keys import key_document, keys_document

    if key == "plan":
        from hydroloop.outputs.scenario.plan_keys import plan_document

        show(plan_document(), as_json=as_json)
    elif key == "terms":
        from hydroloop.outputs.scenario.terms import terms_document

        show(terms_document(), as_json=as_json)
    else:
        show(keys_document() if key is None else key_document(key, units), as_json=as_json)
