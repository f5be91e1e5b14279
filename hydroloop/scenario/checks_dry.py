"""Cross-checks of the dry season and of minimum flows that follow a rule."""

from __future__ import annotations

from collections.abc import Iterator

from hydroloop.scenario.draft import Draft, Finding

_TABLE = "dry_season"
_PICKING = ("driest_year", "one_in_years", "year", "bootstrap")


def dry_checks(draft: Draft) -> Iterator[Finding]:
    """Find what is wrong with the dry season."""
    if not isinstance(draft.raw(_TABLE), dict):
        return
    method = draft.word(_TABLE, "method") or "scale"
    yield from _days(draft)
    if (_TABLE, "method") in draft.wrong:
        return
    yield from _method(draft, method)
    if method in _PICKING:
        yield from _record(draft, method)


def _days(draft: Draft) -> Iterator[Finding]:
    window = draft.quantity(_TABLE, "days")
    if window is None:
        return
    if window.low != window.high or (window.value > 1 and window.value % 1 > 1e-9):
        yield Finding(
            (_TABLE, "days"),
            f'"{window.text}" is not a whole number of days.',
            'Write for example "7 day".',
        )


def _method(draft: Draft, method: str) -> Iterator[Finding]:
    """Keys that do nothing with this method are a slip, not a wish."""
    factors = ("rain_scale", "flow_scale", "warmer_by")
    if method == "scale" and not any(draft.has(_TABLE, name) for name in factors):
        years = draft.has(_TABLE, "years")
        yield Finding(
            (_TABLE,),
            "scales nothing.",
            'Write method = "one_in_years", so that years counts.'
            if years
            else 'Write for example rain_scale = "60 %", or choose another method.',
        )
    if method == "year" and not draft.has(_TABLE, "year"):
        yield Finding((_TABLE, "year"), "is missing.", "Name a year of the files.")
    if method != "year" and draft.has(_TABLE, "year"):
        yield Finding(
            (_TABLE, "year"),
            f'does nothing with method = "{method}".',
            'Write method = "year", or leave it out.',
        )


def _record(draft: Draft, method: str) -> Iterator[Finding]:
    weather = draft.has("weather", "file")
    flow = any(draft.has("river", name, "inflow", "file") for name in draft.names("river"))
    judged_by = draft.word(_TABLE, "judged_by")
    if method in ("year", "bootstrap") and not (weather or flow):
        yield Finding(
            (_TABLE, "method"),
            f'"{method}" takes years from files, and there is none.',
            "Give a weather or inflow file, or choose driest_year or one_in_years.",
        )
    elif judged_by == "flow" and not flow:
        yield Finding(
            (_TABLE, "judged_by"),
            "no river has an inflow file to judge by.",
            'Write "rain", or leave it out.',
        )
    elif judged_by == "rain" and flow and not weather:
        yield Finding(
            (_TABLE, "judged_by"),
            "the rain is generated and the inflow measured: their years are not the same.",
            'Write "flow", or give a weather file.',
        )


def minimum_flow_checks(draft: Draft) -> Iterator[Finding]:
    """Find minimum flows whose rule has nothing to go by."""
    for name in draft.names("river"):
        path = ("river", name)
        rule = draft.word(*path, "minimum_flow_rule") or "fixed"
        if rule == "7q10" and not draft.has(*path, "inflow", "file"):
            yield Finding(
                (*path, "minimum_flow_rule"),
                "a 7Q10 needs years of measured inflow, and there is no inflow file.",
                'Give one, or write "share_of_mean".',
            )
        elif rule in ("share_of_mean", "tennant") and not draft.has(*path, "inflow"):
            yield Finding(
                (*path, "minimum_flow_rule"),
                "a share of the mean inflow needs an inflow, and the river has none of its own.",
                'Give one, or write "fixed" and a minimum_flow.',
            )
        if rule != "fixed" and draft.has(*path, "minimum_flow"):
            yield Finding(
                (*path, "minimum_flow"),
                f'is given, and so is the rule "{rule}".',
                "Leave one of them out.",
            )
        for key, needs in (
            ("minimum_flow_share", "share_of_mean"),
            ("minimum_flow_class", "tennant"),
        ):
            if draft.has(*path, key) and rule != needs:
                yield Finding(
                    (*path, key),
                    f'does nothing with minimum_flow_rule = "{rule}".',
                    f'Write minimum_flow_rule = "{needs}", or leave it out.',
                )
