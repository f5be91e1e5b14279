"""The one picture that a command draws beside its words."""

from __future__ import annotations

import os
from dataclasses import dataclass
from pathlib import Path

import click


@dataclass(frozen=True)
class OnePicture:
    """Where a command's picture goes, and whether it is drawn.

    Attributes
    ----------
    path : Path or None
        Its file; None if there is to be none.
    is_kept : bool
        Whether another one stands there that nobody asked to replace, or that is not ours.
    cure : str
        How it could be replaced.
    """

    path: Path | None
    is_kept: bool
    cure: str = ""

    @property
    def to_draw(self) -> Path | None:
        """The file to be drawn; None if none is."""
        return None if self.is_kept else self.path

    @property
    def fact(self) -> str | None:
        """What a script is told: the file that shows this run."""
        return str(self.to_draw) if self.to_draw else None

    def tell(self, *, as_json: bool) -> None:
        """Say where it is, or that another one was left."""
        if self.is_kept:
            click.echo(f"note: {self.path} is there already and was left as it is: it may show "
                       f"another run. {self.cure}--out names another.", err=True)
        elif self.path and not as_json:
            click.echo(f"\nPicture: {self.path}")


def one_picture(out: str | None, usual: str | None, *, force: bool) -> OnePicture:
    """The picture of a command.

    Parameters
    ----------
    out : str or None
        Where it was asked for.
    usual : str or None
        Its file otherwise; None if there is to be none at all.
    force : bool
        Whether one that stands there may be replaced.

    Returns
    -------
    OnePicture
        Where it goes.

    Examples
    --------
    >>> one_picture(None, None, force=False).fact is None
    True
    """
    from hydroloop.files.seal import is_sealed

    path = None if usual is None else Path(out or usual)
    if path is None or out or not os.path.lexists(path):
        return OnePicture(path, False)
    ours = is_sealed(path)
    cure = "--force replaces it, " if ours else "It is not as hydroloop writes it: "
    return OnePicture(path, not (force and ours), cure)
