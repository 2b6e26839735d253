"""Comparing two versions of a pack: what changed in words only, the version gate, and reports. All data is invented."""

from __future__ import annotations

import dataclasses
import json
from typing import Any

import pytest
from packaging.version import Version

from tests.authoring.comparing import BASE, at_most, edited, one, pack_of
from tirerules.authoring.comparing.change import Effect, Level
from tirerules.authoring.comparing.comparison import Comparison, compare, compare_packs
from tirerules.authoring.comparing.gate import left_behind, next_version
from tirerules.authoring.comparing.gate import violations as by_pack
from tirerules.authoring.comparing.reports import json_report, markdown, summary, text
from tirerules.authoring.comparing.sources import hold
from tirerules.errors import ConflictError, PackError, Problem
from tirerules.escaping import inert
from tirerules.values import replace


def violations(*said: Any) -> tuple[Problem, ...]:
    """Return what the version gate says of all packs."""
    return tuple(problem for found in by_pack(*said).values() for problem in found)


# --- words only -------------------------------------------------------------------------------------------------------

TEXTS = {
    "title": (("title: Invented State", "title: Invented"), 'title "Invented State" -> "Invented" (text)'),
    "reviewed": (("reviewed: 2026-11-25", "reviewed: 2026-11-26"), 'reviewed "2026-11-25" -> "2026-11-26" (text)'),
    "engine": (('">=1,<2"', '">=1"'), 'engine "<2,>=1" -> ">=1" (text)'),
    "says": (("An invented limit.", "A limit."), 'rule size says: "An invented limit." -> "A limit." (text)'),
    "note": (("\n    note: An invented doubt.", ""), 'rule size note: "An invented doubt." -> nothing (text)'),
    "url": (("example/1", "example/2"), 'source code-1 url: "https://law.example/1" -> "https://law.example/2" (text)'),
    "citation": (("Code § 2", "Code § 3"), 'source code-2 citation: "Invented Code § 2" -> "Invented Code § 3" (text)'),
    "evidence": (
        ("evidence: secondary", "evidence: text-read"),
        'source code-1 evidence: "secondary" -> "text-read" (evidence)',
    ),
    "read": (("read: 2026-01-01", "read: 2026-02-01"), 'source code-1 read: "2026-01-01" -> "2026-02-01" (evidence)'),
    "currency": (
        ("evidence: memory", "evidence: memory, currency: unconfirmed"),
        'source code-2 currency: "confirmed" -> "unconfirmed" (evidence)',
    ),
    "another source": (
        ("    source: code-1", "    source: code-2"),
        "rule size source: code-1 (secondary) -> code-2 (memory) (evidence)",
    ),
    "a new source": (
        ("rules:", "  code-3: {citation: Invented § 3, authority: statute, evidence: memory}\nrules:"),
        "source code-3 is new: Invented § 3 (memory) (text)",
    ),
    "notes": (
        ("- An invented note.", "- Another note.\n  - A third."),
        'notes gone: "An invented note." (text)|notes new: "Another note." (text)|notes new: "A third." (text)',
    ),
    "not-law": (
        ("outcome: died", "outcome: vetoed"),
        'not-law gone: "Bill 1: died. An invented figure." (text)|'
        'not-law new: "Bill 1: vetoed. An invented figure." (text)',
    ),
    "examples": (("verdict: undetermined", "verdict: outside-limits"), "examples 1 gone or changed, 1 new (text)"),
    "rename": (("id: zone", "id: place"), "rule zone is now called place (text)"),
    "unit": (
        ("at-most: 1/4 in", "at-most: 6.35 mm"),
        "rule size is stated otherwise and means the same: at most 1/4 in [used-tire-installation; tire.class is "
        "passenger or bus; 2020-01-01 to now] -> at most 6.35 mm [used-tire-installation; tire.class is passenger or "
        "bus; 2020-01-01 to now] (text)",
    ),
    "comment": (("rules:\n", "# a comment\nrules:\n"), "comments or layout differ (text)"),
    "coverage": (
        ("road-use: none-located", "road-use: not-reviewed"),
        "road-use: coverage none-located -> not-reviewed; a case could be decided and is now undetermined (coverage)",
    ),
    "coverage found": (
        ("road-use: none-located", "road-use: none-located, inspection: none-located"),
        "inspection: coverage not-reviewed -> none-located; a case was undetermined and can now be decided (coverage)",
    ),
    "coverage of repairs": (
        ("road-use: none-located", "road-use: none-located, repair: none-located"),
        "repair: coverage not-reviewed -> none-located (coverage)",
    ),
    "partial": (
        ("used-tire-installation: rules", "used-tire-installation: partial"),
        "used-tire-installation: coverage rules -> partial (coverage)",
    ),
}


@pytest.mark.parametrize(("edit", "said"), TEXTS.values(), ids=TEXTS)
def test_what_changed_in_words_only_is_told_as_such(edit, said):
    found = compare_packs(edited().pack, edited(edit).pack)
    assert "|".join(map(str, found)) == said
    assert {change.effect for change in found} == {Effect.NONE}
    settles = any("undetermined" in change.says for change in found)
    assert {change.level for change in found} == {Level.MINOR if settles else Level.PATCH}


def test_what_a_company_has_not_read_leaves_no_case_open():
    rules = [one(at_most("6 mm"))]
    old, new = pack_of(rules), pack_of(rules, coverage="{used-tire-installation: rules, road-use: none-located}")
    (change,) = compare_packs(old, new)
    assert (change.says, change.level) == ("not-reviewed -> none-located", Level.PATCH)


def test_the_same_bytes_are_the_same_pack():
    assert compare_packs(edited().pack, edited().pack) == ()


def test_a_rule_that_stays_without_effect_is_told_in_words():
    rule = """  - id: laxer
    says: An invented limit that never binds.
    activity: [used-tire-installation]
    when: {tire.class: bus}
    limit: {fact: repair.diameter, at-most: 1/2 in}
    source: code-1
    in-force: {from: 2021-01-01}
"""
    more = edited(("not-law:\n", f"{rule}not-law:\n"))
    assert [str(each) for each in compare_packs(edited().pack, more.pack)] == [
        "rule laxer is new, and the limits stay as they were (text)"
    ]
    assert [str(each) for each in compare_packs(more.pack, edited().pack)] == [
        "rule laxer is gone, and the limits stay as they were (text)"
    ]
    gone = edited((BASE[BASE.index("  - id: zone") : BASE.index("not-law")], ""))
    assert [str(each) for each in compare_packs(edited().pack, gone.pack)][-1] == "rule zone is gone (text)"


def test_long_texts_are_cut_to_where_they_differ():
    long = "An invented sentence that goes on and on without saying anything whatever about a tire, then it ends "
    old, new = (
        edited(("An invented limit.", f"{long}here.")),
        edited(("An invented limit.", f"{long}there, and goes on.")),
    )
    (change,) = compare_packs(old.pack, new.pack)
    assert change.says == (
        'says: "…er about a tire, then it ends here." -> "…er about a tire, then it ends there, and goes on."'
    )
    assert change.old == f"{long}here."


def test_another_kind_binds_other_cases():
    old, new = pack_of([one(at_most("6 mm"))]), pack_of([one(at_most("6 mm"))], kind="repair-material")
    assert [str(change) for change in compare_packs(old, new)] == [
        "kind company -> repair-material; the pack binds other cases (looser and tighter)"
    ]


# --- the version gate -------------------------------------------------------------------------------------------------

LOOSER = ("at-most: 1/4 in", "at-most: 3/8 in")
TIGHTER = ("at-most: 1/4 in", "at-most: 1/8 in")
WORDING = ("An invented limit.", "A limit.")
LATER = ("from: 2020-01-01", "from: 2021-01-01")
EARLIER = ("from: 2020-01-01", "from: 2019-01-01")
READ = ("used-tire-installation: rules, road-use: none-located", "used-tire-installation: rules")


def version(number: str) -> tuple[str, str]:
    return "version: 1.0.0", f"version: {number}"


@pytest.mark.parametrize(
    ("edit", "number", "code", "write"),
    [
        (LOOSER, "1.0.0", "version-unbumped", "2.0.0"),
        (LOOSER, "1.9.9", "version-too-small", "2.0.0"),
        (LOOSER, "2.0.0", None, ""),
        (LOOSER, "3.1.0", None, ""),
        (LATER, "1.1.0", "version-too-small", "2.0.0"),
        (EARLIER, "1.0.1", "version-too-small", "1.1.0"),
        (EARLIER, "1.1.0", None, ""),
        (TIGHTER, "1.0.9", "version-too-small", "1.1.0"),
        (TIGHTER, "1.1.0", None, ""),
        (TIGHTER, "2.0.0", None, ""),
        (READ, "1.0.1", "version-too-small", "1.1.0"),
        (WORDING, "1.0.0", "version-unbumped", "1.0.1"),
        (WORDING, "1.0.1", None, ""),
        (WORDING, "0.9.0", "version-down", "1.0.1 or higher"),
        (LOOSER, "0.9.0", "version-down", "2.0.0 or higher"),
        (("id: zone", "id: place"), "1.0.1", None, ""),
        (version("1.0.1"), "1.0.1", None, ""),
    ],
)
def test_the_version_says_what_the_changes_are(edit, number, code, write):
    edits = [edit] if edit == version(number) else [edit, version(number)] if number != "1.0.0" else [edit]
    found = violations(compare([edited()], [edited(*edits)]))
    assert [problem.code for problem in found] == ([code] if code else [])
    for problem in found:
        assert problem.hint == f"write {write}"
        assert (problem.file, problem.line, problem.column, problem.path) == ("rulepacks/US-SC.yaml", 3, 10, "version")


def test_a_refusal_names_the_change_that_is_too_great():
    (problem,) = violations(compare([edited()], [edited(LOOSER, WORDING, version("1.1.0"))]))
    assert str(problem) == (
        "rulepacks/US-SC.yaml:3:10: [version-too-small] at version from 1.0.0 to 1.1.0 is too small a step; the first "
        "number must rise for: used-tire-installation, tire.class passenger or bus, from 2020-01-01: repair.diameter "
        "at most 1/4 in -> at most 3/8 in (looser) -- write 2.0.0"
    )


def test_the_next_version_resets_what_stands_behind():
    steps = [next_version(Version("1.2.3"), level) for level in (Level.PATCH, Level.MINOR, Level.MAJOR)]
    assert steps == ["1.2.4", "1.3.0", "2.0.0"]


def test_a_published_version_is_never_rewritten():
    old = [edited(), edited(TIGHTER, version("1.1.0"))]
    kept = [edited(WORDING), edited(TIGHTER, version("1.1.0"))]
    found = compare(old, kept)
    (problem,) = violations(found)
    assert (problem.code, problem.message) == ("version-rewritten", "US-SC 1.0.0 was published with other content")
    assert found.unchanged == ()
    assert [problem.code for problem in violations(found, "")] == ["version-rewritten"]
    assert violations(compare(old, old)) == ()
    # An older version may go, or be kept, when a new one comes.
    new = edited(WORDING, TIGHTER, version("1.1.1"))
    assert violations(compare(old, [new])) == violations(compare(old, [*old, new])) == ()
    assert "[version-rewritten]" in text(found, by_pack(found))


def test_what_only_the_old_side_holds_is_left_behind():
    old = [edited(), edited(TIGHTER, version("1.1.0")), edited(base=BASE.replace("US-SC", "US-NC"))]
    assert left_behind(compare(old, old), "v1:rulepacks") == ()
    found = compare(old, [old[0], edited(TIGHTER, version("1.2.0"))])
    assert [(held.pack.id, str(held.pack.version)) for held in found.left] == [("US-NC", "1.0.0"), ("US-SC", "1.1.0")]
    assert left_behind(found, "v1:rulepacks") == (
        "records that name these versions replay only by the old packs: tirerules replay RECORD --packs v1:rulepacks",
        f"  US-NC 1.0.0 (sha256 {old[2].pack.sha256[:12]})",
        f"  US-SC 1.1.0 (sha256 {old[1].pack.sha256[:12]})",
    )
    # What is new leaves nobody behind, wherever it stands.
    assert compare([old[0]], old).left == ()


def test_one_version_twice_with_other_content_is_a_conflict():
    with pytest.raises(ConflictError):
        compare([edited()], [edited(), edited(WORDING)])
    assert compare([edited()], [edited(), edited()]).unchanged == ("US-SC",)


def test_the_newest_versions_are_compared():
    old = [edited(), edited(TIGHTER, version("1.10.0"))]
    (found,) = compare(old, [*old, edited(LOOSER, version("1.9.0")), edited(LOOSER, version("2.0.0"))]).packs
    assert found.old is not None
    assert found.new is not None
    assert (str(found.old.pack.version), str(found.new.pack.version)) == ("1.10.0", "2.0.0")
    assert found.effect is Effect.LOOSER


ENTRIES = {
    "an item": ("# Changes\n\n- US-SC 1.0.1: clearer words.\n", True),
    "an item of two lines": ("* Clearer words\n  in US-SC 1.0.1\n* other\n", True),
    "a paragraph": ("The words of US-SC are\nclearer in v1.0.1.\n", True),
    "a heading": ("## US-SC 1.0.1\n\nClearer words.\n", True),
    "with an at sign": ("1. US-SC@1.0.1, clearer words\n", True),
    "nothing": ("# Changes\n", False),
    "another pack": ("- US-NC 1.0.1: clearer words.\n", False),
    "a longer name": ("- US-SC-X 1.0.1, X-US-SC 1.0.1, US-SC1 1.0.1\n", False),
    "another version": ("- US-SC 1.0.10, 11.0.1, 1.0.1.2, 1.0.1-rc, 1.0\n", False),
    "in two items": ("- US-SC: clearer words.\n- US-NC 1.0.1\n", False),
    "in two paragraphs": ("US-SC\n\n1.0.1\n", False),
    "under a heading": ("## US-SC\n1.0.1\n", False),
}


@pytest.mark.parametrize(("changelog", "enough"), ENTRIES.values(), ids=ENTRIES)
def test_the_change_log_names_the_pack_and_its_version(changelog, enough):
    found = violations(compare([edited()], [edited(WORDING, version("1.0.1"))]), changelog)
    assert [str(problem) for problem in found] == (
        []
        if enough
        else [
            "rulepacks/US-SC.yaml:3:10: [changelog-missing] at version the change log has no entry for US-SC 1.0.1 -- "
            "say what changes for whom, as in: - US-SC 1.0.1: ..."
        ]
    )


def test_a_new_pack_needs_an_entry_and_one_that_is_gone_the_word_removed():
    added, removed = compare([], [edited()]), compare([edited()], [])
    assert [str(change) for found in (added, removed) for change in found.packs[0].changes] == [
        "pack is new: Invented State, 2 rules (added)",
        "pack is gone: Invented State, 2 rules (removed)",
    ]
    assert violations(added) == ()
    assert [problem.code for problem in violations(added, "")] == ["changelog-missing"]
    assert violations(added, "- US-SC 1.0.0\n") == ()
    (problem,) = violations(removed)
    assert str(problem) == (
        "rulepacks/US-SC.yaml:3:10: [pack-removed] at version the pack US-SC is gone: nobody whom its rules bind is "
        "told so by a version -- name a change log with `--changelog` that says so, as in: - US-SC removed: ..."
    )
    assert [each.code for each in violations(removed, "- US-SC 1.0.0\n")] == ["pack-removed"]
    assert violations(removed, "- US-SC removed, for the law fell.\n") == ()


def test_unchanged_packs_need_no_entry():
    assert violations(compare([edited()], [edited()]), "") == ()


# --- reading both sides -----------------------------------------------------------------------------------------------


def test_what_is_known_already_is_not_read_again_but_named_anew():
    first = edited()
    (again,) = hold([("other/US-SC.yaml", BASE.encode())], [first])
    assert again.pack == first.pack
    assert again.pack.file == "other/US-SC.yaml"
    assert again.pack.rules is first.pack.rules


def test_a_pack_for_another_library_is_a_problem_unless_a_newer_version_was_read():
    foreign = BASE.replace('">=1,<2"', '">=9"').encode()
    with pytest.raises(PackError, match=r"written for tirerules >=9"):
        hold([("US-SC.yaml", foreign)])
    newer = BASE.replace("version: 1.0.0", "version: 1.1.0").encode()
    (held,) = hold([("US-SC@1.0.0.yaml", foreign), ("US-SC.yaml", newer)])
    assert str(held.pack.version) == "1.1.0"
    older = BASE.replace("version: 1.0.0", "version: 0.1.0").encode()
    for version_line in ("version: 1.0.0", "version: other"):
        said = foreign.replace(b"version: 1.0.0", version_line.encode())
        with pytest.raises(PackError):
            hold([("US-SC.yaml", said), ("US-SC@0.1.0.yaml", older)])


def test_all_problems_of_all_files_are_told():
    with pytest.raises(PackError) as caught:
        hold([("a.yaml", b""), ("b.yaml", BASE.replace("1/4 in", "1/4").encode())])
    assert [problem.file for problem in caught.value.problems] == ["a.yaml", "b.yaml"]


# --- reports ----------------------------------------------------------------------------------------------------------


def reported() -> Comparison:
    old = [edited(), edited(base=BASE.replace("US-SC", "US-NC"))]
    new = [edited(LOOSER, LATER, WORDING), edited(base=BASE.replace("US-SC", "US-VA"))]
    return compare(old, new)


def test_the_text_tells_pack_by_pack():
    found = reported()
    problems = by_pack(found)
    assert text(found, problems).splitlines() == [
        "US-NC 1.0.0 (Invented State): removed",
        "  pack is gone: Invented State, 2 rules (removed)",
        *[f"  {problem}" for problem in problems["US-NC"]],
        "US-SC 1.0.0 (Invented State): looser; needs a new major version",
        "  used-tire-installation, tire.class passenger or bus, from 2020-01-01 until 2021-01-01: repair.diameter at "
        "most 1/4 in -> no limit (looser) [size]",
        "  used-tire-installation, tire.class passenger or bus, from 2021-01-01: repair.diameter at most 1/4 in -> at "
        "most 3/8 in (looser) [size]",
        '  rule size says: "An invented limit." -> "A limit." (text)',
        *[f"  {problem}" for problem in problems["US-SC"]],
        "US-VA 1.0.0 (Invented State): added",
        "  pack is new: Invented State, 2 rules (added)",
    ]
    assert summary(found, problems) == "3 packs changed, 0 unchanged; version gate: 2 problems"
    assert text(compare([], []), {}) == "nothing changed"
    same = compare([edited()], [edited()])
    assert summary(same, {}) == "0 packs changed, 1 unchanged; version gate: passes"


@pytest.mark.parametrize(
    ("edits", "said"),
    [
        ([version("1.0.1")], "US-SC 1.0.0 -> 1.0.1 (Invented State): nothing changed but the version"),
        ([WORDING], "US-SC 1.0.0 (Invented State): no limit changed; needs a new patch version"),
        (
            [READ],
            "US-SC 1.0.0 (Invented State): no limit changed, but what is left open did; needs a new minor version",
        ),
        (
            [("[bead]", "[sidewall]")],
            "US-SC 1.0.0 (Invented State): looser and tighter; needs a new major version",
        ),
    ],
)
def test_the_first_line_of_a_pack_says_what_it_comes_to(edits, said):
    assert text(compare([edited()], [edited(*edits)]), {}).splitlines()[0] == said


def test_the_json_names_everything():
    found = reported()
    problems = by_pack(found)
    said = json.loads(json_report(found, problems))
    assert (said["format"], said["unchanged"], said["problems"]) == (1, [], 2)
    assert [(left["pack"], left["version"]) for left in said["left"]] == [("US-NC", "1.0.0"), ("US-SC", "1.0.0")]
    gone, changed, new = said["packs"]
    assert (gone["pack"], gone["old_version"], gone["new_version"], gone["effect"]) == (
        "US-NC",
        "1.0.0",
        None,
        "looser",
    )
    assert (new["old_version"], new["new_version"], new["needs"]) == (None, "1.0.0", "none")
    assert (changed["title"], changed["effect"], changed["needs"]) == ("Invented State", "looser", "major")
    assert changed["changes"][0] == {
        "kind": "looser",
        "effect": "looser",
        "needs": "major",
        "activities": ["used-tire-installation"],
        "when": ["tire.class passenger or bus"],
        "from": "2020-01-01",
        "until": "2021-01-01",
        "subject": "repair.diameter",
        "old": "at most 1/4 in",
        "new": "no limit",
        "says": "at most 1/4 in -> no limit",
        "rules": ["size"],
    }
    assert changed["changes"][-1]["from"] is changed["changes"][-1]["until"] is None
    (problem,) = changed["problems"]
    assert (problem["code"], problem["file"], problem["line"], problem["column"]) == (
        "version-unbumped",
        "rulepacks/US-SC.yaml",
        3,
        10,
    )


def test_the_markdown_is_a_table_for_each_pack():
    found = reported()
    said = markdown(found, by_pack(found)).splitlines()
    assert said[:5] == [
        "## Rule packs: what changes for whom",
        "",
        "3 packs changed, 0 unchanged; version gate: 2 problems.",
        "",
        "**The version gate fails:**",
    ]
    assert "### US-SC 1.0.0 (Invented State)" in said
    assert any("must rise for: used-tire-installation" in line and "at most 1/4 in → no limit" in line for line in said)
    assert (
        "| **looser** | used-tire-installation, tire.class passenger or bus, from 2021-01-01 | "
        "repair.diameter at most 1/4 in → at most 3/8 in | size |"
    ) in said
    assert "**The version gate fails:**" not in markdown(compare([edited()], [edited()]), {})
    assert "| |" not in markdown(compare([edited()], [edited(version("1.0.1"))]), {})


def test_a_pack_cannot_speak_to_the_terminal_or_to_people():
    # Reading would refuse such a text; a report shows it safely all the same.
    hostile = "A \x1b[31mred\u202e | *bold* @someone #12 <b> `code` [link](x) tire_class\n::error::\n##[error]no"
    held = edited()
    rules = tuple(replace(rule, says=hostile) if rule.id == "size" else rule for rule in held.pack.rules)
    found = compare([edited()], [dataclasses.replace(held, pack=replace(held.pack, rules=rules, sha256="0" * 64))])
    plain_text = text(found, {})
    assert "\x1b" not in plain_text
    assert "\u202e" not in plain_text
    assert r"A \x1b[31mred\u202e | *bold* @someone" in plain_text
    assert not any(line.lstrip().startswith("::") for line in inert(plain_text).splitlines())
    assert "##[" not in inert(plain_text)
    row = next(line for line in markdown(found, {}).splitlines() if "rule size" in line)
    assert row.count("|") - row.count(r"\|") == 5
    for shown in (
        r"\*bold\*",
        "@<!-- -->someone",
        "#<!-- -->12",
        r"\<b\>",
        r"\`code\`",
        r"\[link\](x)",
        r"tire\_class",
    ):
        assert shown in row
