"""An editor reduced to its protocol: starts a language server, opens a text in it, asks what a person would be shown.

The Language Server Protocol 3.17 carries JSON-RPC 2.0 messages, each after a header with its length in bytes, over
standard input and output. Places are counted from nought, columns in UTF-16 units; here both are as a person counts,
from one, and no text of these tests leaves the basic plane, so that a unit is a character.
"""

from __future__ import annotations

import itertools
import json
import queue
import subprocess
import threading
import time
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from types import TracebackType
from typing import Any, BinaryIO, Final

__all__ = ["Completion", "Diagnostic", "LanguageServer", "Place", "Text"]

#: Where the cursor stands in a text of a test; taken out before the text is opened.
CURSOR: Final = "¦"
#: Seconds to wait for one answer. Far more than an answer takes, so that a busy machine fails no test.
_PATIENCE: Final = 30.0

Json = dict[str, Any]


@dataclass(frozen=True, slots=True)
class Place:
    """A line and a column, from one."""

    line: int
    column: int

    def as_sent(self) -> Json:
        """Return the place as the protocol counts, from nought."""
        return {"line": self.line - 1, "character": self.column - 1}


@dataclass(frozen=True, slots=True)
class Text:
    """A text that is open in the editor."""

    uri: str
    content: str
    cursor: Place | None


@dataclass(frozen=True, slots=True)
class Diagnostic:
    """A part of a text that is underlined, and what is said about it."""

    line: int
    underlined: str
    message: str


@dataclass(frozen=True, slots=True)
class Completion:
    """One line of the list that drops down while typing."""

    label: str
    about: str
    writes: str


class LanguageServer:
    """A running server. Use it as a context: it ends with it."""

    def __init__(self, command: Sequence[str], root: Path, settings: Mapping[str, Any]) -> None:
        self.root = root
        self._settings = dict(settings)
        self._process = subprocess.Popen(
            list(command), stdin=subprocess.PIPE, stdout=subprocess.PIPE, stderr=subprocess.PIPE, cwd=root
        )
        self._numbers = itertools.count(1)
        self._messages: queue.Queue[Json | None] = queue.Queue()
        self._errors: list[bytes] = []
        self._published: dict[str, list[Json]] = {}
        threading.Thread(target=self._read, daemon=True).start()
        threading.Thread(target=self._read_errors, daemon=True).start()

    def __enter__(self) -> LanguageServer:
        self._ask(
            "initialize",
            {
                "processId": None,
                "rootUri": self.root.as_uri(),
                "workspaceFolders": [{"uri": self.root.as_uri(), "name": "invented"}],
                "capabilities": {
                    "workspace": {"configuration": True, "workspaceFolders": True},
                    "textDocument": {
                        "completion": {"completionItem": {"documentationFormat": ["markdown"]}},
                        "hover": {"contentFormat": ["markdown"]},
                        "publishDiagnostics": {},
                    },
                },
            },
        )
        self._tell("initialized", {})
        # Until it has asked for its settings, the server would look for schemas elsewhere.
        deadline = time.monotonic() + _PATIENCE
        while self._take(deadline, "question about settings").get("method") != "workspace/configuration":
            pass
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        try:
            if kind is None:
                self._ask("shutdown", None)
                self._tell("exit", None)
                self._process.wait(_PATIENCE)
        finally:
            self._process.kill()
            self._process.wait()

    # --- what a person does ------------------------------------------------------------------------------------------

    def open(self, name: str, content: str) -> Text:
        """Open a text under a path in the root; a `CURSOR` in it is taken out and remembered."""
        before, mark, after = content.partition(CURSOR)
        cursor = Place(before.count("\n") + 1, len(before) - before.rfind("\n")) if mark else None
        text = Text((self.root / name).as_uri(), before + after, cursor)
        document = {"uri": text.uri, "languageId": "yaml", "version": 1, "text": text.content}
        self._tell("textDocument/didOpen", {"textDocument": document})
        return text

    def underlined(self, text: Text) -> list[Diagnostic]:
        """Return what the server underlines in a text, in the order of the text."""
        deadline = time.monotonic() + _PATIENCE
        while text.uri not in self._published:
            self._take(deadline, f"diagnostics of {text.uri}")
        found = [_diagnostic(text, each) for each in self._published[text.uri]]
        return sorted(found, key=lambda each: each.line)

    def completions(self, text: Text) -> list[Completion]:
        """Return what the server offers at the cursor."""
        answer = self._ask("textDocument/completion", _at_cursor(text)) or []
        items = answer["items"] if isinstance(answer, dict) else answer
        return [
            Completion(
                each["label"],
                _words(each.get("documentation", "")),
                each["textEdit"]["newText"] if "textEdit" in each else each.get("insertText", each["label"]),
            )
            for each in items
        ]

    def hover(self, text: Text) -> str:
        """Return what the server says about the word at the cursor; empty where it says nothing."""
        answer = self._ask("textDocument/hover", _at_cursor(text))
        return _words(answer["contents"]) if answer else ""

    # --- the protocol ------------------------------------------------------------------------------------------------

    def _ask(self, method: str, params: Any) -> Any:
        number = next(self._numbers)
        self._send({"id": number, "method": method, "params": params})
        deadline = time.monotonic() + _PATIENCE
        while True:
            message = self._take(deadline, f"an answer to {method}")
            if message.get("id") == number and "method" not in message:
                if "error" in message:
                    raise AssertionError(f"{method}: {message['error']}")
                return message.get("result")

    def _tell(self, method: str, params: Any) -> None:
        self._send({"method": method, "params": params})

    def _send(self, message: Json) -> None:
        assert self._process.stdin is not None
        body = json.dumps({"jsonrpc": "2.0", **message}).encode()
        self._process.stdin.write(b"Content-Length: %d\r\n\r\n%s" % (len(body), body))
        self._process.stdin.flush()

    def _take(self, deadline: float, awaited: str) -> Json:
        """Take the next message, answering what the server asks for and keeping what it publishes."""
        try:
            message = self._messages.get(timeout=max(0.0, deadline - time.monotonic()))
        except queue.Empty:
            raise AssertionError(f"no {awaited} within {_PATIENCE:.0f} s; {self._said()}") from None
        if message is None:
            raise AssertionError(f"the server ended while {awaited} was awaited; {self._said()}")
        if message.get("method") == "textDocument/publishDiagnostics":
            self._published[message["params"]["uri"]] = message["params"]["diagnostics"]
        elif "method" in message and "id" in message:
            self._send({"id": message["id"], "result": self._answer(message)})
        return message

    def _answer(self, message: Json) -> Any:
        """Answer a question of the server's: its settings, section by section, and nothing else."""
        if message["method"] != "workspace/configuration":
            return None
        return [self._settings.get(item.get("section")) for item in message["params"]["items"]]

    def _read(self) -> None:
        assert self._process.stdout is not None
        while (message := _message(self._process.stdout)) is not None:
            self._messages.put(message)
        self._messages.put(None)

    def _read_errors(self) -> None:
        assert self._process.stderr is not None
        self._errors.extend(self._process.stderr)

    def _said(self) -> str:
        return "it wrote: " + (b"".join(self._errors).decode(errors="replace").strip() or "nothing")


def _message(stream: BinaryIO) -> Json | None:
    """Read one message; None where the stream ends."""
    length = 0
    while (header := stream.readline()) not in (b"\r\n", b""):
        name, _, value = header.partition(b":")
        if name.lower() == b"content-length":
            length = int(value)
    if not header:
        return None
    message: Json = json.loads(stream.read(length))
    return message


def _at_cursor(text: Text) -> Json:
    assert text.cursor is not None, "the text has no cursor"
    return {"textDocument": {"uri": text.uri}, "position": text.cursor.as_sent()}


def _diagnostic(text: Text, sent: Json) -> Diagnostic:
    start, end = sent["range"]["start"], sent["range"]["end"]
    line = text.content.split("\n")[start["line"]]
    until = end["character"] if end["line"] == start["line"] else len(line)
    return Diagnostic(start["line"] + 1, line[start["character"] : until], sent["message"])


def _words(documentation: str | Json) -> str:
    return documentation if isinstance(documentation, str) else str(documentation["value"])
