"""The picture that a command draws beside its words where --out says nothing."""

from __future__ import annotations

import os
from dataclasses import dataclass
from pathlib import Path

import click


@dataclass(frozen=True)
class OnePicture:
    """Where a command's picture goes, and whether it is drawn."""

    path: Path  # its file
    # whether another one stands there that nobody asked to replace, or that is not ours
    is_kept: bool
    cure: str = ""  # how it could be replaced

    @property
    def to_draw(self) -> Path | None:
        """The file to be drawn; None if none is."""
        return None if self.is_kept else self.path

    def tell(self) -> None:
        """Say that another one was left."""
        if self.is_kept:
            click.echo(
                f"note: {self.path} is there already and was left as it is: it may show "
                f"another run. {self.cure}--out names another.",
                err=True,
            )


def one_picture(usual: str | None, *, force: bool) -> OnePicture | None:
    """The picture under its usual name; one that stands there is replaced only with force."""
    from hydroloop.files.seal import is_sealed

    if usual is None:
        return None
    path = Path(usual)
    if not os.path.lexists(path):
        return OnePicture(path, False)
    ours = is_sealed(path)
    cure = "--force replaces it, " if ours else "It is not as hydroloop writes it: "
    return OnePicture(path, not (force and ours), cure)
