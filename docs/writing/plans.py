"""The page of what a plan may hold."""

from __future__ import annotations

from writing.markdown import cell, code, table

from hydroloop.whatif import PLAN_KEYS, READY_MADE, STEP_KEYS

_HEAD = """# Keys of a plan

A plan is a file of its own, for `run --plan` and `compare --plan`: a table `[plan]`, and a table
`[[step]]` for each step, taken from first to last. A step has `what`, and at least one of `set`,
`scale` and `measure`. There is one in [ask what if](../howto/what-if.md); `hydroloop explain plan`
tells the same as this page.
"""
_READY_MADE = """
## Ready-made measures

Name one under `measure`; its options stand beside it as keys of the step.
"""


def page() -> str:
    """The page, written from the reader of plans and its ready-made measures."""
    parts = [_HEAD]
    for title, keys in (("plan", PLAN_KEYS), ("step", STEP_KEYS)):
        rows = [(code(key), cell(words)) for key, words in keys.items()]
        parts.append(f"\n## {title}\n\n{table(('key', 'meaning'), rows)}")
    rows = [
        (
            code(name),
            cell(one.meaning),
            "; ".join(f"{code(key)}: {cell(words)}" for key, words in one.options.items()),
        )
        for name, one in READY_MADE.items()
    ]
    return "".join([*parts, _READY_MADE, "\n", table(("measure", "what it does", "options"), rows)])
