"""Checking packs as CI does: reading, names and examples, each pack on top of those it stands on.

What the checks on meaning find (warnings, information) is tested in `test_checks.py`; here errors alone are looked at.

All packs and tickets here are invented. `US-UM` (no resident population) stands for a state of one's own.
"""

from __future__ import annotations

import pytest

from tests.support import pack_text
from tirerules import MissingDataError
from tirerules.authoring import checking
from tirerules.authoring.checking import Checked


def _rule(figure="5 mm", identity="size"):
    return f"""\
- id: {identity}
  says: Invented.
  activity: [repair]
  limit: {{fact: injury.diameter, at-most: {figure}}}
  source: text
"""


def _ticket(diameter, verdict, *, because="", places="jurisdictions: [US], ", more="", expect=""):
    """Return one example: a puncture of `diameter` in an invented passenger tire."""
    reasons = f", because: [{because}]" if because else ""
    return (
        f"  - case: {{activity: repair, {places}"
        f"tire: {{class: passenger, sealant_layer: false, tread_depth: 6/32 in}}, "
        f"vehicle: {{kind: passenger-car, use: private}}, "
        f"injuries: [{{kind: puncture, zone: crown, diameter: {diameter}, angle: 10 deg}}], "
        f"findings: [], earlier_repairs: []{more}}}\n"
        f"    expect: {{verdict: {verdict}{reasons}{expect}}}\n"
    )


def _write(place, *tickets, rules=None, pack="invented-shop", version="1.0.0", name=None, **head):
    place.mkdir(parents=True, exist_ok=True)
    examples = "examples:\n" + "".join(tickets) if tickets else ""
    file = place / f"{name or pack}.yaml"
    text = pack_text(_rule() if rules is None else rules, pack=pack, version=version, more=examples, **head)
    file.write_text(text, encoding="utf-8")
    return file


STATE = {"pack": "US-UM", "kind": "jurisdiction", "authority": "statute"}


pytestmark = pytest.mark.usefixtures("standing_on_few")


def check(*places):
    """Check `places` and return the errors."""
    checked = checking.check(*places)
    return Checked(checked.files, tuple(each for each in checked.problems if each.severity == "error"))


def _found(*places):
    return [(problem.code, problem.message) for problem in check(*places).problems]


# --- clean -----------------------------------------------------------------------------------------------------------


def test_a_good_pack_is_clean(tmp_path):
    _write(
        tmp_path,
        _ticket("5 mm", "within-limits", because="size"),
        _ticket("5.1 mm", "outside-limits", because="size"),
    )
    assert check(tmp_path) == Checked(1, ())


def test_a_pack_without_examples_is_clean(tmp_path):
    assert check(_write(tmp_path)) == Checked(1, ())


def test_several_places_are_checked_together(tmp_path):
    _write(tmp_path / "a")
    one = _write(tmp_path / "b", pack="invented-line")
    assert check(tmp_path / "a", str(one)).files == 2


def test_a_missing_place_is_an_error_and_not_a_clean_check(tmp_path):
    with pytest.raises(MissingDataError, match="no such file or folder"):
        check(tmp_path / "nowhere")


# --- problems --------------------------------------------------------------------------------------------------------


def test_the_problems_of_every_file_are_told_and_the_sound_files_are_still_run(tmp_path):
    (tmp_path / "tab.yaml").write_text("a:\n\tb: 1\n", encoding="utf-8")
    (tmp_path / "unit.yaml").write_text(pack_text(_rule("5"), pack="unit"), encoding="utf-8")
    _write(tmp_path, _ticket("5.1 mm", "within-limits"))
    checked = check(tmp_path)
    assert checked.files == 3
    assert sorted(problem.code for problem in checked.problems) == ["example", "wrong-type", "yaml-tab"]


def test_a_pack_for_another_library_is_told_even_where_another_version_fits(tmp_path):
    _write(tmp_path)
    _write(tmp_path, version="2.0.0", name="invented-shop@2.0.0", engine=">=99")
    assert [code for code, _ in _found(tmp_path)] == ["engine"]


@pytest.mark.parametrize("name", ["invented-shop", "invented-shop@1.0.0"])
def test_a_file_is_named_after_its_pack_or_its_version(tmp_path, name):
    assert _found(_write(tmp_path, name=name)) == []


@pytest.mark.parametrize(
    "name", ["shop", "Invented-Shop", "invented-shop@1.0.1", "invented-shop-1.0.0", "invented-shop@1"]
)
def test_any_other_file_name_is_told(tmp_path, name):
    (problem,) = check(_write(tmp_path, name=name)).problems
    assert (problem.code, problem.line, problem.column) == ("file-name", 1, 1)
    assert problem.message == f"the file {name!r} holds the pack 'invented-shop'"
    assert problem.hint == "name it invented-shop.yaml, or invented-shop@1.0.0.yaml for an older version kept beside it"


def test_one_version_with_two_contents_is_told_and_the_second_is_not_run(tmp_path):
    first = _write(tmp_path / "a")
    second = _write(tmp_path / "b", _ticket("1 mm", "outside-limits"), rules=_rule("4 mm"))
    (problem,) = check(tmp_path).problems
    assert (problem.code, problem.file) == ("pack-conflict", str(second))
    assert problem.message == f"pack invented-shop 1.0.0 stands with other content in {first}"
    assert problem.hint == "give the changed pack a new version"


def test_the_same_file_twice_is_no_conflict(tmp_path):
    _write(tmp_path / "a")
    _write(tmp_path / "b")
    assert check(tmp_path) == Checked(2, ())


# --- examples --------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("ticket", "message"),
    [
        (_ticket("5.1 mm", "within-limits"), "expected within-limits, got outside-limits"),
        (_ticket("4 mm", "outside-limits"), "expected outside-limits, got within-limits"),
        (_ticket("4 mm", "undetermined"), "expected undetermined, got within-limits"),
        (
            _ticket("5.1 mm", "outside-limits", because="industry/puncture-size"),
            "expected because of industry/puncture-size, which does not decide it",
        ),
        (
            _ticket("4 mm", "within-limits", because="no-such-rule"),
            "expected because of invented-shop/no-such-rule, which does not decide it",
        ),
        (
            _ticket("4 mm", "within-limits", expect=", methods: {one-piece: outside-limits}"),
            "expected one-piece outside-limits, got within-limits",
        ),
        (
            _ticket("4 mm", "within-limits", expect=", methods: {boot: within-limits}"),
            "expected boot within-limits, got no such method",
        ),
        (
            _ticket("4 mm", "within-limits", expect=", questions: [tire.age]"),
            "expected the questions ['tire.age'], got []",
        ),
        (_ticket("4", "within-limits"), "the case is wrong at injuries[0].diameter: 4 is a bare number without a unit"),
        (
            _ticket("4 mm", "within-limits", places="jurisdictions: [US-ZZ], "),
            "the case cannot be decided: 'US-ZZ' is no jurisdiction code (ISO 3166: US, CA, US-SC, CA-ON ...)",
        ),
        (_ticket("4 mm", "within-limits", places=""), None),
    ],
    ids=[
        "too lax",
        "too strict",
        "too unsure",
        "other reason",
        "no such rule",
        "other method",
        "no such method",
        "other question",
        "unit missing",
        "no such place",
        "no place",
    ],
)
def test_an_example_that_differs_is_told_at_its_line(tmp_path, ticket, message):
    good = _ticket("5 mm", "within-limits")
    file = _write(tmp_path, good, ticket)
    lines = file.read_text(encoding="utf-8").splitlines()
    (problem,) = check(file).problems
    line = [number for number, text in enumerate(lines, 1) if text.startswith("  - case")][1]
    place = problem.path.removeprefix("examples[1].")
    assert (problem.code, problem.file) == ("example", str(file))
    assert problem.line == (line if place.startswith("case") else line + 1)
    if message:
        assert problem.message == message
    else:
        assert problem.message.startswith("the case is wrong at ")


GIVEN = """\
given:
  jurisdictions: [US]
  tire: {class: passenger, sealant_layer: false, tread_depth: 6/32 in}
  vehicle: {kind: passenger-car, use: private}
  injuries: [{kind: puncture, zone: crown, diameter: 4 mm, angle: 10 deg}]
  findings: []
  earlier_repairs: []
examples:
  - case: {activity: repair}
    expect: {verdict: within-limits}
  - case: {activity: repair, injuries: [{kind: puncture, zone: crown, diameter: 5.1 mm, angle: 10 deg}]}
    expect: {verdict: outside-limits, because: [size]}
  - case: {activity: repair, vehicle: null, findings: null}
    expect: {verdict: undetermined, questions: [findings, vehicle.use]}
  - case: {activity: repair, tire: {class: medium-truck, load_range: G, sealant_layer: null}}
    expect: {verdict: within-limits}
"""


def _given(place, *changes):
    text = GIVEN
    for old, new in changes:
        assert old in text
        text = text.replace(old, new)
    file = place / "invented-shop.yaml"
    file.write_text(pack_text(_rule(), more=text), encoding="utf-8")
    return file


def _where(file, word):
    """The line and column of `word`, which stands once in the file."""
    lines = file.read_text(encoding="utf-8").splitlines()
    ((line, text),) = [(line, text) for line, text in enumerate(lines, 1) if word in text]
    return line, text.index(word) + 1


def test_an_example_is_decided_with_what_is_given(tmp_path):
    assert check(_given(tmp_path)).problems == ()
    # The same cases without what is given are other cases.
    bare = _given(tmp_path, (GIVEN.partition("examples:")[0], ""))
    assert {message.partition(" at ")[0] for _, message in _found(bare)} == {"the case is wrong"}


@pytest.mark.parametrize(
    ("change", "word", "path", "message"),
    [
        (
            ("tread_depth: 6/32 in", "tread_depth: 6 deg"),
            "6 deg",
            "given.tire.tread_depth",
            "the case is wrong at tire.tread_depth: '6 deg' is an angle where a length belongs",
        ),
        (
            ("jurisdictions: [US]", "jurisdictions: [US-ZZ]"),
            "[US-ZZ]",
            "given.jurisdictions",
            "the case cannot be decided: 'US-ZZ' is no jurisdiction code (ISO 3166: US, CA, US-SC, CA-ON ...)",
        ),
    ],
)
def test_a_given_fact_that_cannot_be_decided_is_told_once_where_it_is_given(tmp_path, change, word, path, message):
    file = _given(tmp_path, change)
    (problem,) = check(file).problems
    assert (problem.code, problem.path, problem.message) == ("example", path, message)
    assert (problem.line, problem.column) == _where(file, word)


@pytest.mark.parametrize(
    ("change", "word", "path"),
    [
        # In a block that merges, in a list that replaces, and in what replaces a list.
        (("load_range: G", "tread_depth: 7 deg"), "7 deg", "examples[3].case.tire.tread_depth"),
        (("diameter: 5.1 mm", "diameter: 51"), "51", "examples[1].case.injuries[0].diameter"),
        (("5.1 mm, angle: 10 deg", "5.1 mm, angle: 10 mm"), "10 mm", "examples[1].case.injuries[0].angle"),
        (("findings: null", "findings: {}"), "{}", "examples[2].case.findings"),
    ],
)
def test_what_an_example_itself_says_wrongly_is_told_in_the_example(tmp_path, change, word, path):
    file = _given(tmp_path, change)
    found = [each for each in check(file).problems if each.path == path]
    assert [(each.line, each.column) for each in found] == [_where(file, word)]


def test_a_difference_from_what_is_expected_stays_at_the_example(tmp_path):
    file = _given(tmp_path, ("earlier_repairs: []", "earlier_repairs: []\n  shop: {full_service: true}"))
    assert check(file).problems == ()
    file = _given(tmp_path, ("findings: []", "findings: [bulge]"))
    assert {each.path.partition(".")[0] for each in check(file).problems} >= {"examples[0]", "examples[3]"}


def test_what_decided_instead_is_told_beside_it(tmp_path):
    (problem,) = check(_write(tmp_path, _ticket("5.1 mm", "within-limits"))).problems
    assert "invented-shop/size fails (injury.diameter 5.1 mm, at most 5 mm)" in problem.hint
    (problem,) = check(_write(tmp_path, _ticket("4 mm", "outside-limits"))).problems
    assert "size fails" not in problem.hint


def test_every_difference_of_an_example_is_told(tmp_path):
    ticket = _ticket("5.1 mm", "within-limits", because="size", expect=", questions: [tire.age]")
    messages = [message for _, message in _found(_write(tmp_path, ticket))]
    assert messages == [
        "expected within-limits, got outside-limits",
        "expected the questions ['tire.age'], got []",
    ]


def test_an_example_is_decided_on_the_day_of_the_review_unless_it_names_one(tmp_path):
    file = _write(
        tmp_path,
        _ticket("5.5 mm", "outside-limits", because="size"),
        _ticket("5.5 mm", "within-limits", more=', "on": 2020-02-02'),
        _ticket("5.5 mm", "within-limits", more=', "on": 2020-02-04'),
        rules=_rule() + "  in-force: {from: 2020-02-03, until: 2020-02-04}\n",
    )
    text = file.read_text(encoding="utf-8")
    file.write_text(text.replace("reviewed: 2026-11-25", "reviewed: 2020-02-03"), encoding="utf-8")
    assert _found(file) == []


def test_the_trades_baseline_stands_under_a_company_pack(tmp_path):
    # The trade's 1/4 in (6 mm) for passenger tires binds below the invented company's 8 mm.
    file = _write(tmp_path, _ticket("7 mm", "outside-limits", because="industry/puncture-size"), rules=_rule("8 mm"))
    assert _found(file) == []


def test_a_company_pack_does_not_bind_the_examples_of_another(tmp_path):
    _write(tmp_path, _ticket("4 mm", "within-limits"), pack="invented-shop")
    _write(tmp_path, _ticket("4 mm", "outside-limits", because="size"), rules=_rule("3 mm"), pack="invented-line")
    assert _found(tmp_path) == []


def test_a_private_state_stands_on_the_built_in_country_and_baseline(tmp_path):
    file = _write(
        tmp_path,
        _ticket("5.5 mm", "outside-limits", because="size", places=""),
        _ticket("5 mm", "within-limits", because="industry/puncture-size", places=""),
        _ticket("5.5 mm", "within-limits", places="jurisdictions: [US], "),
        _ticket("5.5 mm", "outside-limits", because="size", places="jurisdictions: [US-UM, US-SC], "),
        **STATE,
    )
    assert _found(file) == []


def test_a_private_state_binds_a_company_pack_that_is_checked_with_it(tmp_path):
    _write(tmp_path, rules=_rule("3 mm"), **STATE)
    asked = _ticket("4 mm", "outside-limits", because="US-UM/size", places="jurisdictions: [US-UM], ")
    shop = _write(tmp_path, asked)
    assert _found(tmp_path) == []
    (problem,) = check(shop).problems  # alone, it speaks of a place that nobody speaks for
    assert problem.message.startswith("the case cannot be decided: this rulebook holds no pack for US-UM")


def test_a_checked_pack_stands_for_the_built_in_one_of_its_name(tmp_path):
    file = _write(
        tmp_path,
        _ticket("2 mm", "outside-limits", because="size", places=""),
        rules=_rule("1 mm"),
        pack="US-SC",
        kind="jurisdiction",
        authority="statute",
        version="99.0.0",
    )
    assert _found(file) == []


def test_a_broken_built_in_file_is_told_once_and_the_others_are_still_run(few, tmp_path, monkeypatch):
    for file in few.iterdir():
        (tmp_path / file.name).write_bytes(file.read_bytes())
    broken = tmp_path / "US-SC.yaml"
    broken.write_text(broken.read_text(encoding="utf-8").replace("\ntitle: ", "\ntitel: "), encoding="utf-8")
    monkeypatch.setattr(checking, "builtin", lambda: tmp_path)
    checked = check(tmp_path)
    assert checked.files == len(list(few.iterdir()))
    assert [(problem.code, problem.file) for problem in checked.problems] == [
        ("missing-key", str(broken)),
        ("unknown-key", str(broken)),
    ]


def test_two_versions_side_by_side_are_each_run_as_themselves(tmp_path):
    old = {**STATE, "version": "1.0.0", "name": "US-UM@1.0.0"}
    _write(tmp_path, _ticket("4 mm", "within-limits", places=""), rules=_rule("5 mm"), **old)
    _write(tmp_path, _ticket("4 mm", "outside-limits", places=""), rules=_rule("3 mm"), version="1.1.0", **STATE)
    assert _found(tmp_path) == []


def test_other_packs_stand_on_the_newest_of_two_versions(tmp_path):
    _write(tmp_path, rules=_rule("3 mm"), version="1.10.0", name="US-UM@1.10.0", **STATE)
    _write(tmp_path, rules=_rule("5 mm"), version="1.9.0", name="US-UM@1.9.0", **STATE)
    asked = _ticket("4 mm", "outside-limits", because="US-UM/size", places="jurisdictions: [US-UM], ")
    _write(tmp_path, asked, rules=_rule("6 mm"))
    assert _found(tmp_path) == []
