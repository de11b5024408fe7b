"""What can go wrong, with the place and what can be done about it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Optional


@dataclass(frozen=True)
class Problem:
    """One mistake in a case or in a file that it names."""

    message: str
    remedy: str
    #: The file it stands in; of a case given as a dict none.
    file: Optional[str] = None
    #: Line and column, from 1, columns in characters.
    line: Optional[int] = None
    column: Optional[int] = None
    #: The key of the dict, such as ``obstacle[0].circle.centre``.
    key: Optional[str] = None

    def __str__(self) -> str:
        place = ":".join(str(part) for part in (self.key or self.file, self.line, self.column) if part is not None)
        return f"{place}: {self.message}\n  help: {self.remedy}" if place else f"{self.message}\n  help: {self.remedy}"


class Error(Exception):
    """Whatever can stop a run; ``remedy`` says what can be done about it, if anything."""

    remedy: Optional[str]

    def __init__(self, what: str, remedy: Optional[str] = None) -> None:
        super().__init__(f"{what}\nhelp: {remedy}" if remedy else what)
        self.remedy = remedy


class CaseError(Error):
    """The case, or a file that it names, is wrong. The attributes are those of the first mistake, ``problems`` holds all."""

    problems: list[Problem]

    def __init__(self, text: str, found: list[dict[str, Any]]) -> None:
        # where each stands in the text, which only a case given as a dict needs
        self._starts = [one.get("start") for one in found]
        super().__init__(text)
        self.problems = [Problem(**{name: value for name, value in one.items() if name != "start"}) for one in found]
        first = self.problems[0] if self.problems else Problem(text, "")
        self.remedy = first.remedy

    @property
    def _first(self) -> Optional[Problem]:
        return self.problems[0] if self.problems else None

    @property
    def file(self) -> Optional[str]:
        """The file of the first mistake."""
        return self._first.file if self._first else None

    @property
    def line(self) -> Optional[int]:
        """Its line."""
        return self._first.line if self._first else None

    @property
    def column(self) -> Optional[int]:
        """Its column."""
        return self._first.column if self._first else None

    @property
    def key(self) -> Optional[str]:
        """Its key, of a case given as a dict."""
        return self._first.key if self._first else None


class UsageError(Error, ValueError):
    """What was asked for cannot be done as it was put."""


class FolderError(Error):
    """The folder holds the results of another case."""


class FileError(Error, OSError):
    """A file could not be read or written."""


class TooLargeError(Error, MemoryError):
    """A mesh would not fit the memory that is free."""


class SolveError(Error, RuntimeError):
    """No mesh could be made, or a solver did not come to its end."""
