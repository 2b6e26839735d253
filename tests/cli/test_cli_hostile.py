"""Text of others through every subcommand: whatever a pack, a case, a record or a file name holds, nothing acts.

The packs are built past the reader, which would refuse them, so that each output is held to it by itself. All invented.
"""

from __future__ import annotations

import contextlib
import io
import json
import re
import sys
from types import MappingProxyType

import pytest

from tests.cli.invented import shop_pack
from tests.support import pack_text, repair_case
from tirerules.authoring.checking import Checked
from tirerules.authoring.comparing.sources import Held
from tirerules.authoring.reports import FORMATS
from tirerules.authoring.reports import text as check_text
from tirerules.batch.against import Change
from tirerules.cli import asking, audit, check, compare, main
from tirerules.errors import PackError, Problem
from tirerules.escaping import inert, is_control
from tirerules.packs.building import read_pack
from tirerules.packs.pack import NotLaw, Rest
from tirerules.rulebook import Rulebook, load
from tirerules.values import replace

#: Repaints a terminal, begins lines of its own, turns text round, and speaks to two build services.
HOSTILE = "A\x1b[2J\x1b[32mREPAIRABLE\x9b0m\r\n::error::x\n##[error]y\u202ez\u2028 ::stop::w"


def safe(out: str) -> bool:
    """Whether printed text has no control but its line ends, and no line that a build service obeys."""
    acts = any(is_control(each) for each in out if each != "\n")
    return not acts and not any(line.strip().startswith("::") or "##[" in line for line in out.split("\n"))


def hostile_book() -> Rulebook:
    """The baseline and two places, with every text of every pack hostile."""
    return Rulebook([spoiled(pack) for pack in load().packs_for(["US-SC", "US-NJ"])])


def spoiled(pack):
    sources = {key: replace(each, citation=HOSTILE, note=HOSTILE) for key, each in pack.sources.items()}
    rules = tuple(replace(rule, says=HOSTILE, note=HOSTILE, source=sources[rule.source.id]) for rule in pack.rules)
    dead = (NotLaw(HOSTILE, "died", HOSTILE, HOSTILE, HOSTILE),)
    return replace(
        pack, title=HOSTILE, rules=rules, sources=MappingProxyType(sources), rest=Rest(pack.examples, (HOSTILE,), dead)
    )


@pytest.fixture(scope="module")
def book():
    return hostile_book()


@pytest.fixture
def printed(capsys, monkeypatch, book):
    """Run the command line on hostile packs and return what it printed, both streams together."""
    monkeypatch.setattr(asking, "load", lambda *_, **__: book)

    def call(*arguments: str, stdin: bytes = b"") -> str:
        monkeypatch.setattr(sys, "stdin", io.TextIOWrapper(io.BytesIO(stdin)))
        with contextlib.suppress(SystemExit):
            main(arguments)
        out, err = capsys.readouterr()
        assert "defect" not in err
        return out + err

    return call


FACTS = (
    "--tire-class",
    "passenger",
    "--tire-tread-depth",
    "6/32 in",
    "--findings",
    "none",
    "--earlier-repairs",
    "none",
)
INJURY = (
    "--injury-kind",
    "puncture",
    "--injury-zone",
    "crown",
    "--injury-angle",
    "20 deg",
    "--tire-sealant-layer",
    "no",
)


@pytest.mark.parametrize("more", [(), ("--full",), ("--line",), ("--json",)], ids=["text", "full", "line", "JSON"])
@pytest.mark.parametrize("size", ["5 mm", "8 mm"])
@pytest.mark.parametrize("known", [(), FACTS, (*FACTS, "--vehicle-use", "private")], ids=["nothing", "much", "all"])
def test_decide(printed, more, size, known):
    said = printed("decide", "--jurisdiction", "US-SC", "--injury-diameter", size, *INJURY, *known, *more)
    assert re.search("REPAIRABLE|CANNOT BE TOLD YET|Repairable|Not repairable|Cannot be told yet", said)
    assert safe(said)
    if more == ("--json",):
        assert HOSTILE in [each["says"] for each in json.loads(said)["reasons"]]  # nothing is lost


@pytest.mark.parametrize(
    "arguments", [("limits", "US-SC", "US-NJ"), ("limits", "US-NJ", "--json"), ("coverage",)], ids=str
)
def test_other_tables(printed, arguments):
    assert safe(printed(*arguments))


@pytest.mark.parametrize("form", ["json", "csv"])
def test_coverage_for_programs(printed, form):
    said = printed("coverage", "--format", form)
    assert "REPAIRABLE" in said
    assert safe(said)


def test_vectors(printed, monkeypatch, book):
    """Of each pack the last rule with each kind of body: thousands of vectors would say the same."""
    kinds = {pack.id: tuple({type(each.body): each for each in pack.rules}.values()) for pack in book.packs.values()}
    few = Rulebook([replace(pack, rules=kinds[pack.id]) for pack in book.packs.values()])
    monkeypatch.setattr(asking, "load", lambda *_, **__: few)
    said = printed("vectors", "US-NJ")
    assert "vectors written" in said
    assert safe(said)


# --- cases ------------------------------------------------------------------------------------------------------------

CASES = [
    {HOSTILE: 1, **repair_case()},
    repair_case(tire={HOSTILE: HOSTILE}),
    repair_case(tire={"class": HOSTILE, "size": HOSTILE, "tread_depth": HOSTILE}),
    repair_case(findings=[HOSTILE], jurisdictions=[HOSTILE], activity=HOSTILE, on=HOSTILE, method=HOSTILE),
    repair_case(repair_unit={"method": "one-piece", "rated_angle": "35 deg", "document": HOSTILE}),
    repair_case(jurisdictions=[HOSTILE]),
]


@pytest.mark.parametrize("case", CASES, ids=range(len(CASES)))
@pytest.mark.parametrize("raw", [False, True], ids=["escaped JSON", "raw JSON"])
def test_cases(printed, tmp_path, case, raw):
    text = json.dumps(case, ensure_ascii=not raw)
    (tmp_path / "ticket.json").write_text(text, encoding="utf-8")
    assert safe(printed("decide", str(tmp_path / "ticket.json")))
    assert safe(printed("decide", str(tmp_path / "ticket.json"), "--json"))
    assert safe(printed("decide", "-", stdin=text.encode()))


def test_flags(printed):
    for flag in ("--jurisdiction", "--tire-class", "--findings", "--activity", "--pin", "--on", HOSTILE):
        assert safe(printed("decide", "--jurisdiction", "US-SC", flag, HOSTILE))


def test_a_record(printed, tmp_path):
    record = json.loads(printed("decide", "--json", "--jurisdiction", "US-SC"))
    for key in ("verdict", "engine", "say"):
        (tmp_path / "record.json").write_text(json.dumps({**record, key: HOSTILE}), encoding="utf-8")
        assert safe(printed("replay", str(tmp_path / "record.json")))
    lock = {**record["packs"], HOSTILE: {"version": HOSTILE, "sha256": HOSTILE}}
    (tmp_path / "record.json").write_text(json.dumps({**record, "packs": lock}), encoding="utf-8")
    assert safe(printed("replay", str(tmp_path / "record.json")))


# --- file names -------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("name", ["a\nREPAIRABLE WITHIN", "::error::a", "a\x1b[2J", "\u202ea", "a\udcff", "##[error]a"])
def test_file_names(printed, monkeypatch, tmp_path, name):
    monkeypatch.chdir(tmp_path)
    monkeypatch.setattr(asking, "load", load)
    for command in (
        ("decide", name),
        ("check", name),
        ("replay", name),
        ("compare", name, name),
        ("new", "XA", "--to", name),
    ):
        assert safe(printed(*command))
    assert safe(printed("coverage", "--packs", name))
    assert safe(printed("audit", f"{name}.csv", "out"))
    (tmp_path / f"{name}.yaml").write_text("a: 1\na: 2\n", encoding="utf-8")
    (tmp_path / f"{name}.json").write_text("{", encoding="utf-8")
    assert safe(printed("check", "."))
    assert safe(printed("check", ".", "--format", "json"))
    assert safe(printed("check", ".", "--format", "sarif"))
    assert safe(printed("coverage", "--packs", "."))
    assert safe(printed("decide", f"{name}.json"))
    assert safe(printed("new", "XB", "--to", f"folder {name}", "--title", "Invented"))


# --- reports ----------------------------------------------------------------------------------------------------------

PROBLEM = Problem("example", HOSTILE, HOSTILE, HOSTILE, 1, 3, HOSTILE)


def test_findings_of_a_check(capsys, monkeypatch):
    found = Checked(1, (PROBLEM,), {HOSTILE: [HOSTILE]})
    monkeypatch.setattr(check, "check", lambda *_, **__: found)
    for form in ("text", "json", "sarif"):
        main(["check", "x", "--format", form])
        assert safe(capsys.readouterr().out)
    assert not any(map(is_control, check_text(found).replace("\n", "")))


def test_annotations_are_one_command_each():
    """What ends a property or a message (a colon, a comma, a line) and the percent sign stand as the service asks."""
    line = FORMATS["github"](Checked(1, (PROBLEM, replace(PROBLEM, file="a:b,c%d", message="e%0Af::g"))))
    first, second = line.split("\n")
    assert not any(map(is_control, line.replace("\n", "")))
    assert first.startswith("::error file=")
    head, _, message = first.removeprefix("::error ").partition("::")
    assert [each.partition("=")[0] for each in head.split(",")] == ["file", "line", "col", "title"]
    assert message.count("%0A") == 2 * HOSTILE.count("\n") + 1
    assert "file=a%3Ab%2Cc%25d," in second
    assert second.partition("::")[2].partition("::")[2].startswith("e%250Af::g")


@pytest.mark.parametrize("form", ["text", "markdown", "json"])
def test_a_comparison(capsys, monkeypatch, form):
    old, new = (read_pack(shop_pack(size, version).encode(), HOSTILE) for size, version in ((4, "1.0.0"), (5, "1.0.1")))
    sides = iter([(Held(spoiled(old), 1, 1),), (Held(spoiled(new), 1, 1),)])
    monkeypatch.setattr(compare, "from_place", lambda _: ())
    monkeypatch.setattr(compare, "hold", lambda *_: next(sides))
    main(["compare", "--format", form, "old", "new"])
    out = capsys.readouterr().out
    assert "REPAIRABLE" in out
    assert safe(out)
    if form == "markdown":
        rows = [line for line in out.splitlines() if line.startswith("| ")]
        assert {line.replace(r"\|", "").count("|") for line in rows} == {5}


def test_what_an_audit_tells():
    table = audit._table([Change(HOSTILE, HOSTILE, "within-limits", "outside-limits", 1)])
    assert len(table.splitlines()) == 2
    assert safe(inert(table))


# --- and where packs are read -----------------------------------------------------------------------------------------


@pytest.mark.parametrize("place", ["title: Invented pack", "citation: Invented Code § 1"])
def test_a_pack_that_holds_such_text_is_not_loaded(capsys, tmp_path, place):
    key = place.partition(":")[0]
    file = tmp_path / "invented-shop.yaml"
    file.write_text(pack_text().replace(place, f"{key}: {json.dumps(HOSTILE)}"), encoding="utf-8")
    with pytest.raises(PackError, match=r"\[control-character\] the character U\+001B"):
        assert load(str(file)).packs
    assert main(["decide", "--jurisdiction", "US-SC", "--packs", str(file)]) == 2
    assert safe(capsys.readouterr().err)
