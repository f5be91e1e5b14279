"""Files of pictures: whole or not at all, equal for equal pictures, text kept as text."""

from __future__ import annotations

import struct
import xml.etree.ElementTree as ElementTree
from concurrent.futures import ThreadPoolExecutor

import matplotlib
import pytest
from chart_tables import table_of

from hydroloop.charts import glass, save, season
from hydroloop.errors import AskError, OutputError

SHARES = [0.6, 0.3, 0.1]


def drawn():
    return glass(table_of(SHARES), "larkmill")


@pytest.mark.parametrize("draw", [glass, season])
def test_equal_pictures_give_equal_bytes(tmp_path, draw):
    """Drawn twice, under another style of the user, every file is the same to the byte."""
    first = save(draw(table_of(SHARES), "larkmill"), tmp_path / "first")
    with matplotlib.rc_context(
        {"font.size": 30, "lines.linewidth": 9, "svg.hashsalt": None, "axes.facecolor": "red"}
    ):
        second = save(draw(table_of(SHARES), "larkmill"), tmp_path / "second")
    assert [path.read_bytes() for path in first] == [path.read_bytes() for path in second]


def test_png_is_a_slide(tmp_path):
    """PNG files are 2000 by 1125 pixels: 16:9 at 150 dpi."""
    (path,) = save(drawn(), tmp_path / "glass", ["png"])
    assert struct.unpack(">II", path.read_bytes()[16:24]) == (2000, 1125)


def test_svg_keeps_text_and_caption(tmp_path):
    """In SVG files labels are text, and title and caption are in the file for who cannot see it."""
    picture = drawn()
    (path,) = save(picture, tmp_path / "glass", ["svg"])
    root = ElementTree.parse(path).getroot()
    texts = {
        "".join(node.itertext()).strip() for node in root.iter("{http://www.w3.org/2000/svg}text")
    }
    assert "never in a home 60 %" in texts
    text = path.read_text(encoding="utf-8")
    assert picture.caption in text.replace("\n", " ")
    assert "dc:date" not in text


def test_files_are_not_overwritten_unasked(tmp_path):
    """What is there stays unless `force` is given, and nothing else is left in the folder."""
    save(drawn(), tmp_path / "glass", ["png"])
    with pytest.raises(OutputError, match="is there already"):
        save(drawn(), tmp_path / "glass")
    assert [path.name for path in tmp_path.iterdir()] == ["glass.png"]
    save(drawn(), tmp_path / "glass", force=True)
    assert {path.name for path in tmp_path.iterdir()} == {"glass.png", "glass.svg"}


def test_what_cannot_be_written_is_said(tmp_path):
    """An unknown format and a missing folder are told in one line."""
    with pytest.raises(AskError, match="Choose from png, svg"):
        save(drawn(), tmp_path / "glass", ["gif"])
    with pytest.raises(OutputError, match="there is no folder"):
        save(drawn(), tmp_path / "nowhere" / "glass")


def test_threads_draw_the_same_and_leave_the_style_as_it_was(tmp_path):
    """Four at once: equal files, and the settings of the user's own pictures unchanged."""
    before = dict(matplotlib.rcParams)
    (tmp_path / "0").mkdir()
    alone = [path.read_bytes() for path in save(drawn(), tmp_path / "0" / "glass")]

    def draw_and_save(number):
        (tmp_path / str(number)).mkdir()
        return [path.read_bytes() for path in save(drawn(), tmp_path / str(number) / "glass")]

    with ThreadPoolExecutor(4) as pool:
        assert all(found == alone for found in pool.map(draw_and_save, range(1, 5)))
    assert dict(matplotlib.rcParams) == before
