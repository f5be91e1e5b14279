"""The task of a challenge on one page: for the teams."""

from __future__ import annotations

from hydroloop.judging import Brief
from hydroloop.outputs.challenge.words import (
    example_step,
    points_words,
    price_words,
    targets_table,
    where_words,
    written_words,
)
from hydroloop.outputs.document import (
    Block,
    Document,
    Items,
    Listing,
    Paragraph,
    Section,
    TableBlock,
)
from hydroloop.outputs.document.cautions import SHORT
from hydroloop.outputs.document.table import Column, Table
from hydroloop.units.printing import System


def task_document(brief: Brief, system: System) -> Document:
    """What teams may do, what it costs, and what they are to reach."""
    allowed = list(brief.allow.values())
    steps = Table("allowed", "", [
        Column("what you may do", [one.what for one in allowed]),
        Column("where", [where_words(one, brief) for one in allowed]),
        Column("price for each town", [price_words(one) for one in allowed]),
        Column("written in a step as", [written_words(one) for one in allowed])])
    drought = [Paragraph(f"The drought: {' '.join(brief.drought_about.split())}")
               ] if brief.drought_about else []
    blocks: list[Block] = [
        *([Paragraph(" ".join(brief.about.split()))] if brief.about else []),
        Section("What shall be reached", [TableBlock(targets_table(brief, system)), Paragraph(
            "A target is met or it is not: near is not met. Where a target is about every town, "
            "the worst town counts."), *drought]),
        Section("What you may do", [
            Paragraph(f"You have {points_words(brief.points)} points. Between the two ends "
                      "of a range the price goes up evenly. Do each thing at most once in each "
                      "town."),
            TableBlock(steps)]),
        Section("How to hand in a plan", [
            Items(["Write a text file. Name it after your team, with a 1 at the end: heron-1.toml.",
                   "Put the name of your plan and of your team on top, then one part for each "
                   "step. Say why you take it.",
                   f"Write towns like this: {', '.join(brief.season.town)}.",
                   "See how it did. Find out what did most. Then write a second plan: "
                   "heron-2.toml."], is_ordered=True),
            Paragraph("A plan with one step looks like this:"),
            Listing(["[plan]", 'title = "Our first plan"', 'by = "Team Heron"', "",
                     *example_step(allowed[0], brief), 'why = "..."'])], keep_together=True)]
    return Document("challenge", brief.title, blocks, system, cautions=SHORT)
