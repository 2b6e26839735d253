"""The codes of what stops a pack from being read, built or run at all; every one is an error.

They arise where packs are read (`packs/`) and where files are gathered (`authoring/checking.py`). A test reads those
modules and holds this table to them.
"""

from __future__ import annotations

from typing import Final

from tirerules.authoring.checks._subject import Code

__all__ = ["CODES"]

_SAYS: Final = {
    "ambiguous-scalar": "an unquoted value that YAML readers take for different things",
    "bad-key": "the key of a source is not in small letters, digits and hyphens",
    "condition": "a condition that no value can satisfy, or `not` beside other tests",
    "contradicts": "a rule contradicts a finding that is no plain floor on tread of a baseline, without dates",
    "control-character": "a character that a terminal would obey, or that turns the order of text",
    "counted": "only a floor on tread depth is counted over grooves and places",
    "coverage": "coverage and rules do not agree on an activity",
    "date": "a date that is no day of the calendar",
    "dates-reversed": "a rule ends before it starts",
    "duplicate-key": "a key stands twice in one block",
    "duplicate-rule": "two rules of a pack have one id",
    "empty": "a text, list or block that must hold something is empty",
    "engine": "the pack needs another version of this library, or says so in a wrong form",
    "extension": "a limit is extendable that may not be",
    "file-name": "the file is not named after its pack",
    "file-too-large": "the file is larger than a pack may be",
    "limit-figure": "a limit has no figure, or more than one",
    "missing-key": "a key that must be there is missing",
    "not-utf-8": "the file is no UTF-8 text",
    "number-too-long": "a number with more digits than any limit has",
    "pack-code": "the pack's code does not go with its kind",
    "pack-conflict": "two files claim one version of one pack with different content",
    "quantity": "a figure that is no exact quantity of the wanted kind",
    "repeated": "a value stands twice in a list",
    "rule-body": "a rule has no body, or more than one",
    "schema": "the document differs from the pack schema",
    "share": "a share that is nothing, or more than the whole",
    "share-steps": "steps of a share that are out of order or incomplete",
    "unknown-key": "a key that no pack has; the nearest one is offered",
    "unknown-source": "a rule names a source that is not there",
    "unknown-word": "a word outside the vocabulary; the nearest one is offered",
    "wrong-form": "a text in a wrong form, such as a version",
    "wrong-type": "text where a list belongs, a bare number where a quantity belongs, and the like",
    "yaml-alias": "a YAML alias",
    "yaml-anchor": "a YAML anchor",
    "yaml-character": "a character that YAML does not allow",
    "yaml-directive": "a YAML directive",
    "yaml-documents": "more than one document in a file",
    "yaml-empty": "the file is empty",
    "yaml-key": "a key that is not plain text to every YAML reader",
    "yaml-syntax": "the file is no YAML",
    "yaml-tab": "a tab in the indentation",
    "yaml-tag": "a YAML tag",
    "yaml-too-deep": "more levels than a pack may have",
    "yaml-too-many-nodes": "more values than a pack may hold",
}

CODES: Final = tuple(Code(name, "error", says) for name, says in _SAYS.items())
