"""A case given as a dict: its text in TOML, and the way back from a place in that text to the key of the dict."""

from __future__ import annotations

import json
import os
import re
from collections.abc import Iterable, Mapping
from dataclasses import replace
from pathlib import Path
from typing import Any, Optional, Union

from .errors import CaseError

#: What a case may be given as.
Case = Union[str, "os.PathLike[str]", Mapping[str, Any]]

_BARE = re.compile(r"[A-Za-z0-9_-]+")


class CaseText:
    """The text of a dict, with the bytes at which each of its keys stands."""

    def __init__(self, case: Mapping[str, Any]) -> None:
        self._parts: list[str] = []
        self._length = 0
        self._places: list[tuple[int, int, str]] = []
        plain = {key: _plain(value, str(key)) for key, value in case.items()}
        for key, value in plain.items():
            if not isinstance(value, dict) and not _is_tables(value):
                self._entry(key, value, str(key), "\n")
        for key, value in plain.items():
            tables = [(str(key), value)] if isinstance(value, dict) else []
            if _is_tables(value):
                tables = [(f"{key}[{k}]", table) for k, table in enumerate(value)]
            for path, table in tables:
                start = self._length
                self._add(f"[{_key(key)}]\n" if isinstance(value, dict) else f"[[{_key(key)}]]\n")
                for inner, entry in table.items():
                    self._entry(inner, entry, f"{path}.{inner}", "\n")
                self._places.append((start, self._length, path))

    @property
    def text(self) -> str:
        """The text."""
        return "".join(self._parts)

    def key_at(self, start: Optional[int]) -> Optional[str]:
        """The innermost key whose text holds a byte."""
        if start is None:
            return None
        around = [(last - first, path) for first, last, path in self._places if first <= start < last]
        return min(around)[1] if around else None

    def _add(self, text: str) -> None:
        self._parts.append(text)
        self._length += len(text.encode())

    def _entry(self, key: Any, value: Any, path: str, end: str) -> None:
        start = self._length
        self._add(f"{_key(key)} = ")
        self._value(value, path)
        self._places.append((start, self._length, path))
        self._add(end)

    def _value(self, value: Any, path: str) -> None:
        if isinstance(value, dict):
            self._add("{")
            for k, (key, inner) in enumerate(value.items()):
                self._entry(key, inner, f"{path}.{key}", ", " if k + 1 < len(value) else "")
            self._add("}")
        elif isinstance(value, list):
            self._add("[")
            for k, inner in enumerate(value):
                start = self._length
                self._value(inner, f"{path}[{k}]")
                self._places.append((start, self._length, f"{path}[{k}]"))
                self._add(", " if k + 1 < len(value) else "")
            self._add("]")
        elif isinstance(value, bool):
            self._add("true" if value else "false")
        elif isinstance(value, str):
            self._add(json.dumps(value, ensure_ascii=False).replace("\x7f", "\\u007f"))
        else:
            self._add(repr(value))


def _key(key: Any) -> str:
    text = str(key)
    return text if _BARE.fullmatch(text) else json.dumps(text, ensure_ascii=False)


def _is_tables(value: Any) -> bool:
    return isinstance(value, list) and bool(value) and all(isinstance(entry, dict) for entry in value)


def _plain(value: Any, path: str) -> Any:
    """Plain values only: what numpy or pathlib made becomes what Python has."""
    if isinstance(value, Mapping):
        return {key: _plain(inner, f"{path}.{key}") for key, inner in value.items()}
    if isinstance(value, (bool, int, float, str)) and type(value) in (bool, int, float, str):
        return value
    if isinstance(value, os.PathLike):
        return os.fspath(value)
    if hasattr(value, "tolist"):
        return _plain(value.tolist(), path)
    if isinstance(value, (list, tuple)) or (isinstance(value, Iterable) and not isinstance(value, (str, bytes))):
        return [_plain(inner, f"{path}[{k}]") for k, inner in enumerate(value)]
    for kind in (bool, int, float, str):
        if isinstance(value, kind):
            return kind(value)
    message = f"this is of type {type(value).__name__}, which a case does not know"
    remedy = "give a number, a text with a unit, True or False, a list or a dict"
    found = {"message": message, "remedy": remedy, "key": path}
    raise CaseError(f"{path}: {message}\n  help: {remedy}", [found])


class Given:
    """A case as it was given: a file, or a dict with the folder that its files are relative to."""

    def __init__(self, case: Case, folder: Union[str, "os.PathLike[str]", None]) -> None:
        self._text: Optional[CaseText] = None
        if isinstance(case, Mapping):
            self._text = CaseText(case)
            self._file = Path(folder if folder is not None else ".") / "case"
        else:
            self._file = Path(case)

    @property
    def source(self) -> dict[str, Any]:
        """What the core takes."""
        return {"text": self._text.text if self._text else None, "file": self._file}

    def named(self, error: CaseError) -> CaseError:
        """The error with the keys of the dict in place of lines of a text that nobody wrote."""
        if self._text is None:
            return error
        problems = []
        for problem, start in zip(error.problems, error._starts):
            if problem.file == str(self._file):
                key = self._text.key_at(start)
                problem = replace(problem, file=None, line=None, column=None, key=key)
            problems.append(problem)
        changed = CaseError("\n".join(str(problem) for problem in problems), [])
        changed.problems = problems
        changed.remedy = problems[0].remedy if problems else None
        return changed
