"""Lines: where in a TOML text each key stands.

No reader of TOML tells the line of a value that is valid in itself. This scanner walks a text
that has been read already, so it need not check anything: it only skips strings, comments and
brackets rightly, and notes the line of each key, each table and each member of a list. (No key of
a scenario is a list of tables; where one is written, its tables count as one.)
"""

from __future__ import annotations

import re
import tomllib

_BLANK = re.compile(r"(?:[ \t\r\n,]|#[^\n]*)*")
_WORD = re.compile(r'[ \t]*(?:"((?:[^"\\]|\\.)*)"|\'([^\']*)\'|([A-Za-z0-9_-]+))[ \t]*')
_STRING = re.compile(
    r'"""(?:[^\\]|\\.)*?"{3,5}|\'\'\'.*?\'{3,5}|"(?:[^"\\]|\\.)*"|\'[^\']*\'', re.DOTALL
)
_PLAIN = re.compile(r"[^,\]}#\n]*")

Path = tuple[str | int, ...]


def line_numbers(text: str) -> dict[Path, int]:
    """Line of every key of a valid TOML text, from 1, by path of words and places in lists."""
    return _Scanner(text).scan()


def line_of(lines: dict[Path, int], path: Path) -> int:
    """Line of a key, or of the nearest table above it that stands in the text; 0 if none does."""
    for end in range(len(path), 0, -1):
        if path[:end] in lines:
            return lines[path[:end]]
    return 0


def _unescaped(word: str) -> str:
    """A word in double quotes as it is meant."""
    if "\\" not in word:
        return word
    try:
        return str(tomllib.loads(f'word = "{word}"')["word"])
    except ValueError:
        return word


class _Scanner:
    def __init__(self, text: str):
        self.text, self.at = text, 0
        self.lines: dict[Path, int] = {}
        self.counted, self.line = 0, 1

    def scan(self) -> dict[Path, int]:
        table: Path = ()
        while self._skip_blank():
            if self.text[self.at] == "[":
                self.at += 2 if self.text.startswith("[[", self.at) else 1
                table = self._key(())
                self.at = self._end_of_line()
            else:
                self._pair(table)
        return self.lines

    def _skip_blank(self) -> bool:
        match = _BLANK.match(self.text, self.at)
        self.at = match.end() if match else self.at
        return self.at < len(self.text)

    def _end_of_line(self) -> int:
        end = self.text.find("\n", self.at)
        return len(self.text) if end < 0 else end

    def _note(self, path: Path) -> None:
        self.line += self.text.count("\n", self.counted, self.at)
        self.counted = self.at
        self.lines.setdefault(path, self.line)

    def _key(self, above: Path) -> Path:
        """Read a dotted key; a table that only follows from it stands on the same line."""
        path = above
        while match := _WORD.match(self.text, self.at):
            word = next(word for word in match.groups() if word is not None)
            path = (*path, _unescaped(word) if match[1] else word)
            self._note(path)
            self.at = match.end()
            if not self.text.startswith(".", self.at):
                break
            self.at += 1
        return path

    def _pair(self, table: Path) -> None:
        start = self.at
        path = self._key(table)
        if self.at == start:  # not TOML after all: give up on this line, never hang
            self.at = self._end_of_line() + 1
            return
        self.at += 1  # the equals sign
        self._value(path)

    def _value(self, path: Path) -> None:
        while self.at < len(self.text) and self.text[self.at] in " \t":
            self.at += 1
        opening = self.text[self.at : self.at + 1]
        if opening == "{":
            self.at += 1
            while self._skip_blank() and self.text[self.at] != "}":
                self._pair(path)
            self.at += 1
        elif opening == "[":
            self.at += 1
            member = 0
            while self._skip_blank() and self.text[self.at] != "]":
                self._note((*path, member))
                self._value((*path, member))
                member += 1
            self.at += 1
        else:
            match = _STRING.match(self.text, self.at) or _PLAIN.match(self.text, self.at)
            self.at = max(match.end(), self.at + 1) if match else self.at + 1
