"""What changed in a pack besides its meaning: words, sources, evidence, coverage, examples.

Rules are paired by their ids, and what is left over by its meaning, so that a renamed rule is told as renamed.
"""

from __future__ import annotations

import itertools
from collections import Counter
from collections.abc import Collection, Hashable, Iterable, Iterator, Mapping
from typing import Any, Final

from tirerules.authoring.comparing.change import Change, Effect, Kind, Level
from tirerules.authoring.comparing.topics import channels, clauses_by_topic
from tirerules.packs.pack import Example, Pack
from tirerules.packs.rule import Limit, Rule, Source
from tirerules.vocabulary import Activity

__all__ = ["coverage_changes", "kind_changes", "wording_changes"]

#: What of a source says how far it can be relied on; everything else is text.
_EVIDENCE: Final = ("evidence", "read", "confirmed")
#: How many characters of a long text are shown, and how many of them before what changed.
_LONG: Final = 100
_BEFORE: Final = 30
_TEXT: Final = ("citation", "url", "authority", "note")


def kind_changes(old: Pack, new: Pack) -> Iterator[Change]:
    """Yield a change of the pack's kind: then it binds other cases, whatever its rules say."""
    if old.kind != new.kind:
        says = f"{old.kind} -> {new.kind}; the pack binds other cases"
        yield Change(Kind.MIXED, Level.MAJOR, "kind", old.kind, new.kind, says, Effect.MIXED)


def coverage_changes(old: Pack, new: Pack) -> Iterator[Change]:
    """Yield what the review found otherwise.

    Where nobody had read the law of a place on an act other than a repair, a case was undetermined; that changes
    answers. Anything else changes notices.
    """
    for activity in Activity:
        before, after = old.covers(activity), new.covers(activity)
        if before == after:
            continue
        says, level = f"{before} -> {after}", Level.PATCH
        if new.kind in ("country", "jurisdiction") and activity is not Activity.REPAIR:
            if before == "not-reviewed":
                says, level = f"{says}; a case was undetermined and can now be decided", Level.MINOR
            elif after == "not-reviewed":
                says, level = f"{says}; a case could be decided and is now undetermined", Level.MINOR
        yield Change(Kind.COVERAGE, level, "coverage", before, after, says, activities=(activity,))


def wording_changes(old: Pack, new: Pack, told: Collection[str]) -> Iterator[Change]:
    """Yield what changed in words only; `told` are the ids of the rules whose meaning changed, as is told elsewhere."""
    yield from _head(old, new)
    yield from _sources(old, new)
    pairs = _pairs(old.rules, new.rules)
    for before, after in pairs:
        yield from _rule(before, after, told)
    paired = {id(rule) for pair in pairs for rule in pair}
    for rule in old.rules:
        if id(rule) not in paired:
            says = "is gone" if rule.id in told else "is gone, and the limits stay as they were"
            yield _text(f"rule {rule.id}", rule.says, "", says)
    for rule in new.rules:
        if id(rule) not in paired:
            says = "is new" if rule.id in told else "is new, and the limits stay as they were"
            yield _text(f"rule {rule.id}", "", rule.says, says)
    yield from _lists(old, new)


def _text(subject: str, old: str, new: str, says: str = "", kind: Kind = Kind.TEXT) -> Change:
    return Change(kind, Level.PATCH, subject, old, new, says or _became(old, new))


def _became(old: str, new: str) -> str:
    """Return both texts, each quoted and cut to the part in which they differ."""
    same = sum(1 for _ in itertools.takewhile(lambda pair: pair[0] == pair[1], zip(old, new, strict=False)))
    start = max(same - _BEFORE, 0) if max(len(old), len(new)) > _LONG else 0
    return f"{_quoted(old, start)} -> {_quoted(new, start)}"


def _quoted(text: str, start: int = 0) -> str:
    if not text:
        return "nothing"
    shown = text[start : start + _LONG]
    return f'"{"…" if start else ""}{shown}{"…" if start + _LONG < len(text) else ""}"'


def _head(old: Pack, new: Pack) -> Iterator[Change]:
    for subject in ("title", "reviewed", "engine"):
        before, after = str(getattr(old, subject)), str(getattr(new, subject))
        if before != after:
            yield _text(subject, before, after)


# --- sources ----------------------------------------------------------------------------------------------------------


def _sources(old: Pack, new: Pack) -> Iterator[Change]:
    for key in sorted(old.sources.keys() | new.sources.keys()):
        before, after = old.sources.get(key), new.sources.get(key)
        if before is None or after is None:
            known, said = (before, "is gone") if before is not None else (after, "is new")
            assert known is not None  # INVARIANT: one of the two has the key
            yield _text(
                f"source {key}",
                known.citation if after is None else "",
                known.citation if before is None else "",
                f"{said}: {known.citation} ({known.evidence})",
            )
        else:
            yield from _source(f"source {key}", before, after)


def _source(subject: str, old: Source, new: Source) -> Iterator[Change]:
    for kind, names in ((Kind.EVIDENCE, _EVIDENCE), (Kind.TEXT, _TEXT)):
        for name in names:
            before, after = _field(old, name), _field(new, name)
            if before != after:
                label = "currency" if name == "confirmed" else name
                yield _text(subject, before, after, f"{label}: {_became(before, after)}", kind)


def _field(source: Source, name: str) -> str:
    if name == "confirmed":
        return "confirmed" if source.confirmed else "unconfirmed"
    return str(getattr(source, name) or "")


# --- rules ------------------------------------------------------------------------------------------------------------


def _pairs(old: Iterable[Rule], new: Iterable[Rule]) -> list[tuple[Rule, Rule]]:
    """Return which rule became which: first by id, then, of what is left, by meaning."""
    later = {rule.id: rule for rule in new}
    pairs = [(rule, later.pop(rule.id)) for rule in old if rule.id in later]
    kept = {before.id for before, _ in pairs}
    meanings: dict[Hashable, list[Rule]] = {}
    for rule in later.values():
        meanings.setdefault(_meaning(rule), []).append(rule)
    for rule in old:
        alike = meanings.get(_meaning(rule), [])
        if rule.id not in kept and alike:
            pairs.append((rule, alike.pop(0)))
    return pairs


def _meaning(rule: Rule) -> Hashable:
    return frozenset(
        (topic, clause)
        for channel in channels([rule])
        for topic, clauses in clauses_by_topic([rule], channel).items()
        for clause in clauses
    )


def _rule(old: Rule, new: Rule, told: Collection[str]) -> Iterator[Change]:
    subject = f"rule {new.id}"
    if old.id != new.id:
        yield _text(f"rule {old.id}", old.id, new.id, f"is now called {new.id}")
    for name in ("says", "note"):
        before, after = getattr(old, name), getattr(new, name)
        if before != after:
            yield _text(subject, before, after, f"{name}: {_became(before, after)}")
    if old.source.id != new.source.id:
        weighs = old.source.evidence != new.source.evidence
        says = f"source: {old.source.id} ({old.source.evidence}) -> {new.source.id} ({new.source.evidence})"
        yield _text(subject, old.source.id, new.source.id, says, Kind.EVIDENCE if weighs else Kind.TEXT)
    before, after = _stated(old), _stated(new)
    if before != after and not {old.id, new.id} & set(told):
        yield _text(subject, before, after, f"is stated otherwise and means the same: {before} -> {after}")


def _stated(rule: Rule) -> str:
    """Return all that a rule demands, as it is written."""
    body = rule.body
    printed = rule.body.text()
    if isinstance(body, Limit) and body.also is not None:
        printed += f" ({body.also})"
    when = "; ".join(sorted(condition.text for condition in rule.conditions))
    days = f"{rule.start or 'unknown'} to {rule.end or 'now'}"
    extension = f", up to {rule.up_to}" if rule.up_to is not None else ""
    acts = ", ".join(sorted(rule.activities))
    return f"{printed}{extension} [{acts}; {when + '; ' if when else ''}{days}]"


# --- lists ------------------------------------------------------------------------------------------------------------


def _lists(old: Pack, new: Pack) -> Iterator[Change]:
    not_law = [
        [f"{each.title}: {each.outcome}. {each.would_set} {each.year} {each.url}" for each in pack.not_law]
        for pack in (old, new)
    ]
    yield from _list("notes", old.notes, new.notes)
    yield from _list("not-law", *not_law)
    before, after = ([_frozen(each) for each in pack.examples] for pack in (old, new))
    gone, added = Counter(before) - Counter(after), Counter(after) - Counter(before)
    if gone or added:
        says = f"{gone.total()} gone or changed, {added.total()} new"
        yield _text("examples", str(len(before)), str(len(after)), says)


def _list(subject: str, old: Iterable[str], new: Iterable[str]) -> Iterator[Change]:
    before, after = Counter(" ".join(each.split()) for each in old), Counter(" ".join(each.split()) for each in new)
    for text in before - after:
        yield _text(subject, text, "", f"gone: {_quoted(text)}")
    for text in after - before:
        yield _text(subject, "", text, f"new: {_quoted(text)}")


def _frozen(example: Example) -> Hashable:
    return _hashable(example.case), _hashable(example.expect)


def _hashable(value: Any) -> Hashable:
    if isinstance(value, Mapping):
        return frozenset((key, _hashable(each)) for key, each in value.items())
    return tuple(_hashable(each) for each in value) if isinstance(value, list) else (type(value).__name__, value)
