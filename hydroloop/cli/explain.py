"""``hydroloop explain``: what a key means."""

from __future__ import annotations

import json

import click

from hydroloop.cli import options


@click.command(name="explain")
@click.argument("key", required=False)
@options.as_json
def command(key: str | None, as_json: bool) -> None:
    """What a key of the scenario file means: unit, default, usual range, source.

    KEY may be the whole key (town.larkmill.mains.real_losses) or its last words (real_losses).
    Without KEY, all keys are listed. plan in place of KEY tells what a file for --plan may hold.
    """
    from hydroloop.outputs.keys import key_list, notes_as_records
    from hydroloop.scenario import explain

    if key == "plan":
        from hydroloop.outputs.plan_keys import plan_key_facts, plan_key_lines

        click.echo(json.dumps(plan_key_facts(), indent=2, ensure_ascii=False) if as_json
                   else "\n".join(plan_key_lines()))
    elif as_json:
        click.echo(json.dumps({"keys": notes_as_records(key)}, indent=2, ensure_ascii=False))
    elif key is None:
        click.echo("\n".join(key_list()))
    else:
        click.echo("\n".join(explain(key)))
