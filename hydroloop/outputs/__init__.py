"""What a run is turned into, by what a user asks.

`document` is the one document that every command makes, and its renderers; `run` what is said of
one run, `whatif` of changed ones, `plants` of the works, `scenario` of a file and its keys.

Each module is loaded by itself, so that a command which only explains a key loads no more than it
needs.
"""

__all__ = ["document", "plants", "run", "scenario", "whatif"]
