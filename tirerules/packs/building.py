"""From a document to a pack: what the schema cannot say is checked here, and every mistake is told with its place."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType
from typing import Any

from packaging.specifiers import InvalidSpecifier

from tirerules.errors import PackError, nearest
from tirerules.escaping import shortened
from tirerules.jurisdictions import COUNTRIES, JURISDICTIONS, PRIVATE
from tirerules.packs.document import Document, Path
from tirerules.packs.files import digest
from tirerules.packs.pack import Example, NotLaw, Pack, Rest
from tirerules.packs.rule import Source
from tirerules.packs.rule_building import Collector, RuleBuilder
from tirerules.packs.versions import specifiers_of
from tirerules.vocabulary import Activity, answering

__all__ = ["build_pack", "merged", "misnamed", "read_pack"]


def read_pack(content: bytes, file: str) -> Pack:
    """Read a pack from the bytes of one file; `file` is named in messages.

    Raises PackError with every problem found.
    """
    from tirerules.packs.reading import read

    return build_pack(read(content, file), digest(content))


def build_pack(document: Document, sha256: str) -> Pack:
    """Build the pack that `document` states. Raises PackError with every problem found."""
    from tirerules.packs import schema  # here as YAML above

    found = schema.problems(document)
    if found:
        # Building goes on only from a document of the right shape: more messages would be guesses.
        raise PackError(found)
    return _Builder(document).pack(sha256)


def merged(given: Mapping[str, Any], case: Mapping[str, Any]) -> dict[str, Any]:
    """Return `case` laid over `given`, both plain data with text for keys.

    Mappings merge key by key, at every depth; a list or a scalar of `case` replaces what is given. A null in `case`
    removes the given key; where nothing is given under that key it stays, and says "unknown" as in any case.
    """
    whole = dict(given)
    for key, value in case.items():
        before = given.get(key)
        if value is None and key in given:
            del whole[key]
        else:
            whole[key] = merged(before, value) if isinstance(before, dict) and isinstance(value, dict) else value
    return whole


def misnamed(code: str, kind: str) -> tuple[str, str] | None:
    """Return why a pack of this kind cannot have the id `code`, and what to write instead; None where it can."""
    right = {
        "country": COUNTRIES,
        "jurisdiction": [place for place in JURISDICTIONS if place not in COUNTRIES],
    }.get(kind)
    own = PRIVATE.match(code) and ("-" in code) is (kind == "jurisdiction")
    if right is not None and code not in right and not own:
        offers = nearest(code, right)
        hint = f"did you mean {' or '.join(offers)}?" if offers else "see ISO 3166-2"
        return f"{code!r} is the code of no {kind}", hint
    if right is None and code[0].isupper():
        message = f"a pack of kind {kind} cannot take a jurisdiction's code"
        return message, "write a name of your own in small letters"
    if code == "engine":
        message = "the name 'engine' stands before what the library itself says of a case"
        return message, "write another name of your own"
    return None


class _Builder(Collector):
    """Builds one pack, collecting problems instead of stopping at the first."""

    def pack(self, sha256: str) -> Pack:
        self._engine()
        reviewed = self.date(("reviewed",))
        self._kind()
        coverage = self._coverage()
        sources = {key: self._source(key) for key in self.data["sources"]}
        builder = RuleBuilder(self.document, self.problems)
        rules = tuple(rule for index in range(len(self.data["rules"])) if (rule := builder.build(index, sources)))
        self._unique_ids()
        if self.problems:
            raise PackError(sorted(self.problems, key=lambda problem: (problem.line, problem.column)))
        # INVARIANT: where it is missing it left a problem.
        assert reviewed is not None
        return Pack(
            id=self.data["pack"],
            version_text=self.data["version"],
            engine_text=self.data["engine"],
            kind=self.data["kind"],
            title=self.data["title"],
            reviewed=reviewed,
            coverage=coverage,
            sources=MappingProxyType({key: source for key, source in sources.items() if source}),
            rules=rules,
            sha256=sha256,
            rest=self._rest(),
            file=self.document.file,
        )

    # --- the pack's head

    def _engine(self) -> None:
        try:
            specifiers_of(self.data["engine"])
        except InvalidSpecifier:
            message = f"{shortened(self.data['engine'])!r} is no version specifier"
            self.add("engine", ("engine",), message, 'write, for example, ">=1,<2" in quotes')

    def _kind(self) -> None:
        wrong = misnamed(self.data["pack"], self.data["kind"])
        if wrong:
            self.add("pack-code", ("pack",), *wrong)

    def _coverage(self) -> Mapping[Activity, str]:
        coverage = {Activity(name): said for name, said in self.data["coverage"].items()}
        regulated = {name for rule in self.data["rules"] for name in rule["activity"]}
        for activity, said in coverage.items():
            if activity not in regulated and not regulated.isdisjoint(answering(activity)):
                continue  # rules on an act that it implies bind it too: whether they are its law, the pack says
            if (said in ("rules", "partial")) != (activity in regulated):
                held = "rules" if activity in regulated else "no rules"
                message = f"coverage says {said!r} for {activity}, but the pack has {held} for it"
                self.add("coverage", ("coverage", activity), message, "make the two agree")
        for activity in sorted(regulated - set(coverage)):
            self.add(
                "coverage",
                ("coverage",),
                f"the pack has rules for {activity}, which coverage does not name",
                f"add {activity}: rules",
            )
        return MappingProxyType(coverage)

    def _source(self, key: str) -> Source:
        said = self.data["sources"][key]
        return Source(
            id=key,
            citation=said["citation"],
            authority=said["authority"],
            evidence=said["evidence"],
            url=said.get("url", ""),
            read=self.date(("sources", key, "read")) if "read" in said else None,
            confirmed=said.get("currency", "confirmed") == "confirmed",
            note=said.get("note", ""),
        )

    def _rest(self) -> Rest:
        examples = tuple(self._example(index) for index in range(len(self.data.get("examples", ()))))
        not_law = tuple(
            NotLaw(
                said["title"], said["outcome"], said["would-have-set"], str(said.get("year", "")), said.get("url", "")
            )
            for said in self.data.get("not-law", ())
        )
        return Rest(examples, tuple(self.data.get("notes", ())), not_law)

    def _example(self, index: int) -> Example:
        said = self.data["examples"][index]
        case = merged(self.data.get("given", {}), said["case"])
        line = self.document.values["examples", index][0]
        return Example(MappingProxyType(case), MappingProxyType(said["expect"]), line)

    def _unique_ids(self) -> None:
        first: dict[str, int] = {}
        for index, rule in enumerate(self.data["rules"]):
            path: Path = ("rules", index, "id")
            if rule["id"] in first:
                line = self.document.values["rules", first[rule["id"]], "id"][0]
                self.add(
                    "duplicate-rule", path, f"the id {rule['id']!r} stands already on line {line}", "give it another id"
                )
            first.setdefault(rule["id"], index)
