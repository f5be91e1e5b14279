"""What a run is turned into: answers in words, tables, diaries, and a folder of results.

Each module is one of these things, and is loaded by itself, so that a command which only explains a
key loads no more than it needs.
"""

__all__ = [
    "answer",
    "cautions",
    "checked",
    "diary",
    "document",
    "glass",
    "inputs",
    "journey",
    "keys",
    "pictures",
    "place",
    "plants",
    "report",
    "result",
    "results",
    "starter",
    "table",
    "tables",
    "whatif",
    "wording",
]
